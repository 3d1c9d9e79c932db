//! The decision for all orders together: the cheapest combination of offers.

use super::duties::duties;
use super::offers::{Offer, model, offers};
use super::options::PlacingOption;
use super::packs::Kinds;
use super::prospects::Prospects;
use super::slots::slots;
use super::solve::model::{Model, Slot, Solution};
use crate::event::{Event, OrderId, Piece};

/// The offers for every order, and the ones that were taken.
pub struct Decision {
    /// The time in which people can be on site, cut into slots.
    pub slots: Vec<Slot>,
    /// The offers, by order number.
    pub offers: Vec<Vec<Offer>>,
    /// The optimisation model that was solved.
    pub model: Model,
    /// The solution of that model.
    pub solution: Solution,
}

impl Decision {
    /// The offer that was taken for an order.
    ///
    /// # Panics
    /// If `id` belongs to another event with more orders.
    pub fn chosen(&self, id: OrderId) -> &Offer {
        &self.offers[id.index()][self.solution.chosen[id.index()]]
    }

    /// The most people on site at one time.
    pub fn most_people(&self) -> u32 {
        let at = |slot: usize| -> u32 {
            self.solution.shifts.iter().filter(|s| s.first <= slot && slot < s.end).map(|s| s.people).sum()
        };
        (0..self.slots.len()).map(at).max().unwrap_or(0)
    }

    /// Paid hours, all people together, h.
    pub fn paid_hours(&self) -> f64 {
        self.solution.shifts.iter().map(|s| self.model.paid_hours(s)).sum()
    }
}

impl Prospects {
    /// The cheapest decision that `event` has the people and stock for or, if there is none, the one that lacks least.
    ///
    /// Only options within the event's access for which `allowed` holds are considered; `allowed` is called with the
    /// order, all its options and the option in question. An order left with no option may use any within access or, if
    /// there is none either, any at all.
    pub fn decide(
        &self,
        event: &Event,
        allowed: impl Fn(OrderId, &[PlacingOption], &PlacingOption) -> bool,
    ) -> Decision {
        let slots = slots(event, &duties(event));
        let kinds = Kinds::new(event);
        let offers: Vec<Vec<Offer>> = event
            .orders()
            .zip(&self.options)
            .map(|((id, piece, order), options)| {
                let open: Vec<usize> =
                    (0..options.len()).filter(|i| within(event, piece, &options[*i])).collect();
                let fine: Vec<usize> =
                    open.iter().copied().filter(|i| allowed(id, options, &options[*i])).collect();
                // An order with no allowed option falls back on those within access, then on all.
                let open = match (fine.is_empty(), open.is_empty()) {
                    (false, _) => fine,
                    (true, false) => open,
                    (true, true) => (0..options.len()).collect(),
                };
                let some: Vec<PlacingOption> = open.iter().map(|i| options[*i].clone()).collect();
                let mut offers = offers(event, &slots, (piece, order, kinds.of[id.index()]), &some);
                offers.iter_mut().for_each(|o| o.first = open[o.first]);
                offers
            })
            .collect();
        let model = model(event, &slots, &kinds, &offers);
        let solution = model.within_means().unwrap_or_else(|| model.at_a_stretch());
        Decision { slots, offers, model, solution }
    }
}

/// Whether an option is placed when the event allows the piece to be placed.
fn within(event: &Event, piece: &Piece, option: &PlacingOption) -> bool {
    let windows = event.windows(piece);
    windows.iter().any(|(a, b)| *a - 1e-9 <= option.place_at && option.place_at <= b + 1e-9)
}
