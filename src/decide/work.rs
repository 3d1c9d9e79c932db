//! The crew's work in a plan, named after the order or chore that it serves.

use super::decision::Decision;
pub use super::duties::Work;
use super::duties::besides;
use super::solve::model::Part;
use super::solve::roster::{self, Task};
use crate::event::Event;
use crate::flower::catalogue::Kind;

/// Who does which work, and when.
pub type Roster = roster::Roster<Work>;
/// One person in the roster.
pub type Person = roster::Person<Work>;
/// A stretch of one person's day spent on one piece of work.
pub type Assignment = roster::Assignment<Work>;

/// The name of the last look on paper.
pub const LAST_LOOK: &str = "last look: swap what is tired, count tubes and pins";

/// The roster that carries out a decision.
pub fn roster(event: &Event, decision: &Decision) -> Roster {
    roster::roster(&decision.model, &decision.solution, &tasks(event, decision))
}

/// The tasks that follow from a decision.
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
    for (work, candidate) in besides(event, &decision.slots) {
        // Chores come before the flowers, and the last look after everything else.
        let rank = if work == Work::LastLook { 3 } else { 0 };
        add(work, &candidate.parts[0], f64::INFINITY, rank);
    }
    tasks
}
