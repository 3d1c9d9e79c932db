//! Flowers in whole bunches: which orders share them, and how many stems an order takes, spares and breakage included once.

use super::solve::model::Pack;
use crate::event::{Event, Order};

/// Share of a delivery that is lost before anything is placed: broken, crushed, eaten. Source: see `processing-loss` in
/// reference-data/sources.csv.
pub const BREAKAGE: f64 = 0.05;

/// The kinds of flowers of an event, each bought together: one flower in one colour under one name at one price.
pub struct Kinds<'a> {
    /// The first order of each kind.
    pub firsts: Vec<&'a Order>,
    /// The number of its kind, by order number.
    pub of: Vec<usize>,
}

impl<'a> Kinds<'a> {
    /// The kinds of an event's orders, in the order in which it names them.
    pub fn new(event: &'a Event) -> Kinds<'a> {
        let mut kinds = Kinds { firsts: Vec::new(), of: Vec::new() };
        for (_, _, order) in event.orders() {
            let known = kinds.firsts.iter().position(|first| same(first, order));
            kinds.of.push(known.unwrap_or(kinds.firsts.len()));
            if known.is_none() {
                kinds.firsts.push(order);
            }
        }
        kinds
    }

    /// The bunches of each kind.
    pub fn packs(&self) -> Vec<Pack> {
        let pack = |order: &&Order| {
            let holds = f64::from(order.flower.stems_per_bunch());
            Pack { holds, price: holds * order.stem_price() }
        };
        self.firsts.iter().map(pack).collect()
    }
}

fn same(a: &Order, b: &Order) -> bool {
    a.sort() == b.sort() && a.stem_price() == b.stem_price()
}

/// The stems that an order takes with so many spare heads. They are added once: the spares that the simulation asks for
/// and the breakage, or the florist's own habit if that is more. A stem may be shared with another order, so the number
/// need not be whole.
pub fn stems(event: &Event, order: &Order, spares: u32) -> f64 {
    let habit =
        event.means.spares.iter().find(|(f, _)| f.id() == order.flower.id()).map_or(0.0, |(_, share)| *share);
    let needed = f64::from(order.heads + spares) * (1.0 + BREAKAGE);
    needed.max(f64::from(order.heads) * (1.0 + habit)) / f64::from(order.heads_per_stem())
}
