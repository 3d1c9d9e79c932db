//! Orders by their number: what one flower of one piece is called from the file to the page.

use super::model::{Event, Order, Piece};

/// The number of an order in its event, counted from 0 through the pieces in their order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OrderId(usize);

impl OrderId {
    /// The place of the order in any list that has one entry for each order of the event.
    pub fn index(self) -> usize {
        self.0
    }
}

impl Event {
    /// All orders with their numbers and pieces, in the order of the file.
    pub fn orders(&self) -> impl Iterator<Item = (OrderId, &Piece, &Order)> {
        let all = self.pieces.iter().flat_map(|p| p.orders.iter().map(move |o| (p, o)));
        all.enumerate().map(|(i, (piece, order))| (OrderId(i), piece, order))
    }

    /// The number of the order that is listed at `index`, where there is one.
    pub fn order_id(&self, index: usize) -> Option<OrderId> {
        self.orders().nth(index).map(|(id, ..)| id)
    }

    /// The order of that number, with its piece.
    ///
    /// # Panics
    /// Where the number is of another event, with more orders.
    pub fn order(&self, id: OrderId) -> (&Piece, &Order) {
        let (_, piece, order) = self.orders().nth(id.0).expect("a number of this event");
        (piece, order)
    }

    /// The order of that number, to be changed.
    ///
    /// # Panics
    /// As [`Event::order`].
    pub fn order_mut(&mut self, id: OrderId) -> &mut Order {
        self.pieces.iter_mut().flat_map(|p| &mut p.orders).nth(id.0).expect("a number of this event")
    }
}
