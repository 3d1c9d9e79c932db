//! What the crew does: the work of a plan, named by the order or chore it serves.

use super::decision::Decision;
use super::offers::chores;
use super::solve::model::Part;
use super::solve::roster::{self, Task};
use crate::event::{Event, OrderId};
use crate::flower::catalogue::Kind;

/// Something to do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Work {
    /// Placing the flowers of an order.
    Place(OrderId),
    /// Filling up the tubes of an order.
    TopUp(OrderId),
    /// A chore of the event, by its number; the number after the last is the last look over everything.
    Chore(usize),
}

/// Who does what of a plan, from when to when.
pub type Roster = roster::Roster<Work>;
/// One person of a plan.
pub type Person = roster::Person<Work>;
/// A stretch of one person's day.
pub type Assignment = roster::Assignment<Work>;

/// What the last look is called.
pub const LAST_LOOK: &str = "last look: swap what is tired, count tubes and pins";

/// The crew's day that follows from a decision.
pub fn roster(event: &Event, decision: &Decision) -> Roster {
    roster::roster(&decision.model, &decision.solution, &tasks(event, decision))
}

/// The tasks that a decision makes.
fn tasks(event: &Event, decision: &Decision) -> Vec<Task<Work>> {
    let few_skilled = event.means.skilled < event.means.people;
    let mut tasks = Vec::new();
    let mut add = |work: Work, part: &Part, earliest: f64, rank: u32| {
        let (wish, to) = (decision.slots[part.first].from, decision.slots[part.end - 1].to);
        let from = earliest.min(wish);
        tasks.push(Task {
            work,
            from,
            wish,
            to,
            skilled: part.skilled && few_skilled,
            hours: part.hours,
            rank,
        });
    };
    for (id, _, order) in event.orders() {
        let offer = decision.chosen(id);
        let rank = if order.flower.kind() == Kind::Foliage { 1 } else { 2 };
        for (i, part) in offer.candidate.parts.iter().enumerate() {
            match i {
                0 => add(Work::Place(id), part, offer.earliest, rank),
                _ => add(Work::TopUp(id), part, f64::INFINITY, rank),
            }
        }
    }
    for (c, chore) in chores(event, &decision.slots) {
        // The last look is the last thing of all that may be done then; other chores come before the flowers.
        let rank = if c == event.means.chores.len() { 3 } else { 0 };
        add(Work::Chore(c), &chore.parts[0], f64::INFINITY, rank);
    }
    tasks
}
