//! The roster in words.

use super::clock::day_and_clock;
use super::facts::{AssignmentFacts, Call, Facts, OrderFacts, Part, PersonFacts, WorkFacts};
use super::words::treatment_name;
use crate::decide::work::LAST_LOOK;
use crate::event::Event;
use crate::flower::treatment::Method;

/// The name of a person on paper.
pub fn name(person: &PersonFacts) -> String {
    format!("Person {}{}", person.number, if person.trained { " (trained)" } else { "" })
}

/// A number of people in words.
pub fn people(n: u32) -> String {
    if n == 1 { "1 person".to_string() } else { format!("{n} people") }
}

/// How many people come together, and when they arrive and leave.
pub fn call(event: &Event, call: &Call) -> String {
    format!(
        "{}: {} to {}",
        people(call.people),
        day_and_clock(event, call.from),
        event.moment(call.to).clock()
    )
}

/// When placing an order begins, with its weekday if needed, and when it ends; `None` if nobody has the time.
pub fn planned(event: &Event, order: &OrderFacts) -> Option<(String, String)> {
    let (from, to) = order.placed?;
    Some((day_and_clock(event, from), event.moment(to).clock()))
}

/// The work of an assignment in words.
pub fn work(facts: &Facts, assignment: &AssignmentFacts) -> String {
    match assignment.work {
        WorkFacts::Place(id, heads, part) => {
            let order = facts.order(id);
            let of = if part == Part::All { String::new() } else { format!(" of {}", order.heads) };
            let (piece, flower) = (&order.piece.name, order.called());
            format!("{piece}: {heads}{of} {flower} {}{}", done(order), each(order))
        }
        WorkFacts::TopUp(id) => {
            let order = facts.order(id);
            let flower = order.called();
            format!("{}: fill up the tubes of the {flower}", order.piece.name)
        }
        WorkFacts::Chore(name) => name.to_string(),
        WorkFacts::LastLook => LAST_LOOK.to_string(),
        WorkFacts::Move(piece, space) => format!("{piece}: move it to the {space}"),
    }
}

/// How many heads go on each of several pieces that are alike; empty for one piece.
fn each(order: &OrderFacts) -> String {
    match order.piece.count {
        1 => String::new(),
        count => {
            let (least, most) = (order.heads / count, order.heads.div_ceil(count));
            let range = if least == most { least.to_string() } else { format!("{least} or {most}") };
            format!(", {range} on each of {count}")
        }
    }
}

/// How a flower is placed, to follow its name.
pub fn done(order: &OrderFacts) -> String {
    match order.treatment().method {
        Method::Tucked => "tucked dry".to_string(),
        Method::Wired => "wired and tucked".to_string(),
        Method::WaterTube => format!("in {}s", treatment_name(order.treatment())),
        Method::BudVase => "in bud vases".to_string(),
        Method::Vessel => format!("in {}", vessels(order)),
    }
}

/// The vessels in which the flowers of an order stand: "the 6 bowls".
fn vessels(order: &OrderFacts) -> String {
    match &order.piece.vessel {
        Some(vessel) if vessel.number > 1 => format!("the {} {}s", vessel.number, vessel.name),
        Some(vessel) => format!("the {}", vessel.name),
        None => "the vessel".to_string(),
    }
}
