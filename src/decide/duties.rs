//! The crew's work, and that of it which places no flowers: chores, the last look, moves after the doors open.

use super::slots::{before, between};
use super::solve::model::{Candidate, Part, Slot};
use crate::event::{Event, OrderId, Shape};
use crate::flower::treatment::Method;

/// A piece of work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Placing the flowers of an order.
    Place(OrderId),
    /// Filling up the tubes of an order.
    TopUp(OrderId),
    /// A chore of the event, by its number.
    Chore(usize),
    /// The last look over everything.
    LastLook,
    /// A move of a piece, by the numbers of both.
    Move(usize, usize),
}

/// How long filling up tubes and the last look may take before they must be finished, h.
pub const FILLED_UP_WITHIN: f64 = 1.0;
const LAST_LOOK_WITHIN: f64 = 0.5;
/// How many heads a minute one person checks in the last look (judgement).
const LOOKED_OVER_A_MINUTE: f64 = 20.0;
/// How long a move may take, h, and the work that it is: two people for a quarter of an hour (judgement).
const MOVED_WITHIN: f64 = 0.5;
const MOVE_HOURS: f64 = 0.5;
/// How long before its time somebody comes to fill up tubes, where nobody is on site anyway, h.
const REFILL_WITHIN: f64 = 0.5;

/// The times of all work that places no flowers, as far as they are known: for these people must be on site.
pub fn duties(event: &Event) -> Vec<(f64, f64)> {
    let moves = event.pieces.iter().filter(|p| !p.moved_by_venue).flat_map(|p| &p.moves);
    let moves = moves.map(|(at, _)| (*at, at + MOVED_WITHIN));
    let tubed = event.orders().filter(|(.., order)| order.methods.contains(&Method::WaterTube));
    let refills = tubed.flat_map(|(.., order)| order.refills.iter().map(|at| (at - REFILL_WITHIN, *at)));
    event.means.chores.iter().map(|c| c.window).chain(moves).chain(refills).collect()
}

/// The work that places no flowers, each with its candidate. Chores for which there is no time are left out; the
/// assumptions of the event say so.
pub fn besides(event: &Event, slots: &[Slot]) -> Vec<(Work, Candidate)> {
    let mut all = Vec::new();
    let mut add = |work: Work, (first, end): (usize, usize), skilled: bool, hours: f64| {
        let parts = vec![Part { first, end, skilled, hours }];
        all.push((work, Candidate { parts, cost: 0.0, regret: 0.0, uses: no_stock(event), takes: None }));
    };
    for (c, chore) in event.means.chores.iter().enumerate() {
        if let Some(when) = between(slots, chore.window.0, chore.window.1) {
            add(Work::Chore(c), when, chore.skilled, chore.hours);
        }
    }
    for (p, piece) in event.pieces.iter().enumerate().filter(|(_, p)| !p.moved_by_venue) {
        for (m, (at, _)) in piece.moves.iter().enumerate() {
            if let Some(when) = between(slots, *at, at + MOVED_WITHIN) {
                add(Work::Move(p, m), when, piece.shape == Shape::Arch, MOVE_HOURS);
            }
        }
    }
    let heads: u32 = event.pieces.iter().flat_map(|p| &p.orders).map(|o| o.heads).sum();
    let over = event.access.last().map(|w| w.1.min(event.doors));
    if let Some(when) = over.and_then(|over| before(slots, over, LAST_LOOK_WITHIN)) {
        let hours = f64::from(heads) / LOOKED_OVER_A_MINUTE / 60.0 * (1.0 + event.means.slack);
        add(Work::LastLook, when, false, hours);
    }
    all
}

/// A use of stock that uses nothing: 0 for each size of tube, and for vases.
pub fn no_stock(event: &Event) -> Vec<u32> {
    vec![0; event.means.tubes.len() + 1]
}
