//! Who does what, in words.

use super::clock::day_and_clock;
use super::facts::{AssignmentFacts, Call, Facts, OrderFacts, Part, PersonFacts, WorkFacts};
use super::words::{short_name, treatment_name};
use crate::decide::work::LAST_LOOK;
use crate::event::Event;
use crate::flower::treatment::Method;

/// What a person is called on paper.
pub fn name(person: &PersonFacts) -> String {
    format!("Person {}{}", person.number, if person.trained { " (trained)" } else { "" })
}

/// A number of people.
pub fn people(n: u32) -> String {
    if n == 1 { "1 person".to_string() } else { format!("{n} people") }
}

/// When people are on site: how many, from when to when.
pub fn call(event: &Event, call: &Call) -> String {
    format!(
        "{}: {} to {}",
        people(call.people),
        day_and_clock(event, call.from),
        event.moment(call.to).clock()
    )
}

/// From when, with its day, to when an order is placed; nothing where nobody has the time.
pub fn planned(event: &Event, order: &OrderFacts) -> Option<(String, String)> {
    let (from, to) = order.placed?;
    Some((day_and_clock(event, from), event.moment(to).clock()))
}

/// What is done in a stretch of time.
pub fn work(facts: &Facts, assignment: &AssignmentFacts) -> String {
    match assignment.work {
        WorkFacts::Place(id, heads, part) => {
            let order = facts.order(id);
            let of = if part == Part::All { String::new() } else { format!(" of {}", order.heads) };
            let (piece, flower) = (&order.piece.name, short_name(order.flower().name()));
            format!("{piece}: {heads}{of} {flower} {}", done(order))
        }
        WorkFacts::TopUp(id) => {
            let order = facts.order(id);
            let flower = short_name(order.flower().name());
            format!("{}: fill up the tubes of the {flower}", order.piece.name)
        }
        WorkFacts::Chore(name) => name.to_string(),
        WorkFacts::LastLook => LAST_LOOK.to_string(),
    }
}

/// What is done to a flower, after its name.
fn done(order: &OrderFacts) -> String {
    match order.treatment().method {
        Method::Tucked => "tucked dry".to_string(),
        Method::Wired => "wired and tucked".to_string(),
        Method::WaterTube => format!("in {}s", treatment_name(order.treatment())),
        Method::BudVase => "in bud vases".to_string(),
    }
}
