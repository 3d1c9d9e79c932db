//! The morning it goes wrong: what becomes of an event of which too few stems came, or soft ones.

use super::packs::BREAKAGE;
use crate::event::{Criterion, Event, OrderId};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Conditioning;

/// How an order is thinned out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Thinned {
    /// The order that has fewer heads now.
    pub id: OrderId,
    /// How many heads it was to have.
    pub ordered: u32,
    /// How many it gets.
    pub gets: u32,
}

/// The event with so many `stems` of a flower, and what became of its orders. Pieces that are seen across a room are
/// thinned out first, in proportion to their size; those that are looked at closely only if that is not enough.
pub fn with_fewer(event: &Event, flower: &Flower, stems: u32) -> (Event, Vec<Thinned>) {
    let mut with = event.clone();
    let own: Vec<(OrderId, u32, bool, u32)> = event
        .orders()
        .filter(|(.., o)| o.flower.id() == flower.id())
        .map(|(id, _, o)| (id, o.heads, o.counts == Criterion::Flagging, o.heads_per_stem()))
        .collect();
    let a_stem = own.first().map_or(1, |o| o.3);
    let heads = (f64::from(stems * a_stem) / (1.0 + BREAKAGE)).floor() as u32;
    let close: u32 = own.iter().filter(|o| o.2).map(|o| o.1).sum();
    let far: u32 = own.iter().filter(|o| !o.2).map(|o| o.1).sum();
    // What is left for those seen across a room, after those looked at closely have theirs.
    let (for_close, for_far) = (heads.min(close), heads.saturating_sub(close).min(far));
    let mut thinned = Vec::new();
    for (is_close, all, left) in [(true, close, for_close), (false, far, for_far)] {
        let (mut all, mut left) = (all, left);
        for &(id, ordered, ..) in own.iter().filter(|o| o.2 == is_close) {
            // Each its part of what is left, so that the parts add up.
            let gets = (f64::from(left) * f64::from(ordered) / f64::from(all)).round() as u32;
            (all, left) = (all - ordered, left - gets);
            if gets < ordered {
                thinned.push(Thinned { id, ordered, gets });
            }
            with.order_mut(id).heads = gets;
        }
    }
    for piece in &mut with.pieces {
        piece.orders.retain(|o| o.heads > 0);
    }
    with.pieces.retain(|p| !p.orders.is_empty());
    thinned.sort_by_key(|t| t.id.index());
    (with, thinned)
}

/// The event with a flower that came soft: it is worth what one straight from the box is (judgement).
pub fn soft(event: &Event, flower: &Flower) -> Event {
    let mut with = event.clone();
    let orders = with.pieces.iter_mut().flat_map(|p| &mut p.orders);
    orders
        .filter(|o| o.flower.id() == flower.id())
        .for_each(|o| o.handling.conditioning = Conditioning::FromTheBox);
    with
}
