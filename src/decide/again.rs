//! The morning it goes wrong: what becomes of an event of which too few stems came, or soft ones.

use super::packs::BREAKAGE;
use super::plan::Plan;
use crate::error::Problem;
use crate::event::{Criterion, Event, Order, OrderId, Sort};
use crate::flower::catalogue::Catalogue;
use crate::flower::treatment::Conditioning;

/// What some words mean among the flowers of an event.
///
/// # Errors
/// If no piece has any.
pub fn meant(event: &Event, words: &str) -> Result<Sort, Problem> {
    let own = |o: &Order| o.own_name.as_ref().is_some_and(|name| name.eq_ignore_ascii_case(words.trim()));
    if let Some((.., order)) = event.orders().find(|(.., o)| own(o)) {
        return Ok(order.sort());
    }
    let catalogue = Catalogue::shipped();
    let flower = catalogue.find(words)?;
    let sort = Sort { flower, own_name: None, colour: catalogue.colour_in(words) };
    if event.orders().any(|(.., o)| is(&sort, o)) {
        return Ok(sort);
    }
    let mut all: Vec<&str> = event.orders().map(|(.., o)| o.flower_name()).collect();
    all.dedup();
    let problem = Problem::new(format!("no piece has any {}", words.trim()));
    Err(problem.expected("a flower of this event").help(format!("one of: {}", all.join(", "))))
}

/// Whether an order is one of those that are meant: without a colour, those of all colours.
fn is(sort: &Sort, order: &Order) -> bool {
    let any_colour = Sort { colour: None, ..order.sort() };
    *sort == order.sort() || *sort == any_colour
}

/// How an order is thinned out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Thinned {
    /// The order that has fewer heads now.
    pub id: OrderId,
    /// How many heads it was to have, spares aside.
    pub ordered: u32,
    /// How many it gets, spares aside.
    pub gets: u32,
}

/// The event with so many `stems` of a flower, and what became of its orders. Pieces that are seen across a room are
/// thinned out first, in proportion to their size; those that are looked at closely only if that is not enough.
pub fn with_fewer(event: &Event, sort: &Sort, stems: u32) -> (Event, Vec<Thinned>) {
    let mut with = event.clone();
    let mut left = unbroken(stems);
    let mut thinned = Vec::new();
    for criterion in [Criterion::Flagging, Criterion::Wilted] {
        let these = || event.orders().filter(|(.., o)| is(sort, o) && o.counts == criterion);
        let mut wanted: f64 = these().map(|(.., o)| stems_of(o, o.heads)).sum();
        for (id, _, order) in these() {
            // Each its part of what is left, so that the parts add up.
            let there = left * f64::from(order.heads_per_stem()) + 1e-9;
            let part = f64::from(order.heads) * (left / wanted).min(1.0);
            let gets = part.round().min(there.floor()) as u32;
            wanted -= stems_of(order, order.heads);
            left -= stems_of(order, gets);
            if gets < order.heads {
                thinned.push(Thinned { id, ordered: order.heads, gets });
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

/// How many stems to count on instead, where a plan that `counted` on so many sets out more than `came`: its spares are to
/// be among them. `None` where there are enough.
pub fn to_count_on(plan: &Plan, sort: &Sort, came: u32, counted: u32) -> Option<u32> {
    let orders = plan.event.orders().filter(|(.., o)| is(sort, o));
    let placed: f64 = orders.map(|(id, _, o)| stems_of(o, plan.order(id).heads)).sum();
    let fewer = f64::from(counted) * unbroken(came) / placed;
    (placed > unbroken(came) + 1e-9).then(|| (fewer.floor() as u32).min(counted - 1))
}

/// How many of some stems there are once those that break are gone.
fn unbroken(stems: u32) -> f64 {
    f64::from(stems) / (1.0 + BREAKAGE)
}

fn stems_of(order: &Order, heads: u32) -> f64 {
    f64::from(heads) / f64::from(order.heads_per_stem())
}

/// The event with a flower that came soft: it is worth what one straight from the box is (judgement).
pub fn soft(event: &Event, sort: &Sort) -> Event {
    let mut with = event.clone();
    let orders = with.pieces.iter_mut().flat_map(|p| &mut p.orders);
    orders.filter(|o| is(sort, o)).for_each(|o| o.handling.conditioning = Conditioning::FromTheBox);
    with
}
