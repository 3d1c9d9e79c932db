//! How a plan fares in other scenarios, in words.

use super::clock::clock;
use super::crew;
use super::document::{Block, Document, Table};
use super::eve;
use super::facts::{DayFacts, Facts, OrderFacts};
use super::money;
use super::words::{capital, degrees, range, treatment_name};
use crate::decide::scenarios::{Factor, Scenario};
use crate::event::Event;
use crate::units::{Scale, Span};

/// The short name of a scenario.
pub fn title(event: &Event, scenario: Scenario) -> String {
    match scenario {
        Scenario::None => "as planned".to_string(),
        Scenario::Warmer(k) => format!("{} {}", degrees(event, k), if k < 0.0 { "cooler" } else { "hotter" }),
        Scenario::Moister(rh) => {
            let towards = if rh < 0.0 { "drier" } else { "moister" };
            format!("{:.0} pts {towards}", 100.0 * rh.abs())
        }
        Scenario::CoolingFails(at) => format!("cooling off {}", event.moment(at).clock()),
        Scenario::Late(h) => {
            format!("{} {}", Span { hours: h.abs() }, if h < 0.0 { "early" } else { "late" })
        }
        Scenario::PlacedEarlier(h) => {
            format!("placed {} {}", Span { hours: h.abs() }, if h < 0.0 { "later" } else { "earlier" })
        }
    }
}

/// What a factor changes, from its unfavourable end to its favourable one.
pub fn factor(event: &Event, factor: Factor) -> String {
    let hours = |hours: f64| match hours {
        1.0 => "an hour".to_string(),
        hours => Span { hours }.to_string(),
    };
    match factor {
        Factor::Delivery => "the delivery, poor to good".to_string(),
        Factor::Temperature(by) => {
            let by = degrees(event, by);
            format!("the air, {by} hotter to {by} cooler")
        }
        Factor::Humidity(by) => {
            let by = format!("{:.0} points", 100.0 * by);
            format!("the air, {by} drier to {by} moister")
        }
        Factor::End(by) => format!("the party, {} late to {} early", hours(by), hours(by)),
        Factor::Placing(by) => format!("placing, {} earlier to {} later", hours(by), hours(by)),
    }
}

/// A difference in temperature, K, as whole degrees of the event's scale.
pub fn whole_degrees(event: &Event, kelvin: f64) -> f64 {
    let degree = if event.scale == Scale::Celsius { 1.0 } else { 1.0 / 1.8 };
    (kelvin / degree).round() * degree
}

/// The scenarios that a client is told about, the plan's own conditions first.
pub fn usual(event: &Event) -> Vec<Scenario> {
    let cooled = event.spaces.iter().any(|s| s.cooled);
    let warmer = whole_degrees(event, 3.0);
    let mut days =
        vec![Scenario::None, Scenario::Warmer(warmer), Scenario::Moister(-0.15), Scenario::Late(1.0)];
    days.extend(cooled.then_some(Scenario::CoolingFails(event.doors)));
    days
}

/// The document on some scenarios, the plan's own conditions first. `robust` is how many kelvin hotter another plan
/// assumes it to be, and the facts of that plan.
pub fn document(facts: &Facts, days: &[DayFacts], robust: Option<(f64, &Facts)>) -> Document {
    let event = facts.event;
    let mut blocks = vec![
        Block::Title(format!("What if: {}", event.name)),
        Block::Text(
            "The plan as it is, on other days than the one it was made for. Heads still good at each piece's hour, \
             placed when the crew places them; ! where fewer last than are wanted, or less surely."
                .to_string(),
        ),
        Block::Table(table(facts, days)),
        Block::Points(failing(facts, days)),
    ];
    blocks.extend(eve::days_sentence(facts).map(Block::Text));
    if let Some((heading, points)) = eve::rule_points(facts) {
        blocks.extend([Block::Heading(heading), Block::Points(points)]);
    }
    if let Some((kelvin, other)) = robust {
        let (verdict, changes) = robustly(facts, kelvin, other);
        blocks.push(Block::Rule);
        blocks.push(Block::Text(verdict));
        blocks.push(Block::Points(changes));
    }
    Document { title: format!("What if: {}", event.name), blocks }
}

/// The heads that last, a row for each order and a column for each scenario.
fn table(facts: &Facts, days: &[DayFacts]) -> Table {
    let mut head: Vec<String> = ["piece", ">placed", "flower"].map(String::from).to_vec();
    head.extend(days.iter().map(|d| format!(">{} ", title(facts.event, d.scenario))));
    let row = |(i, order): (usize, &OrderFacts)| {
        let mut row = vec![
            if order.first_of_piece { order.piece.name.clone() } else { String::new() },
            order.heads.to_string(),
            format!("{}, {}", order.called(), treatment_name(order.treatment())),
        ];
        row.extend(days.iter().map(|d| {
            let o = &d.outcomes[i];
            format!("{}{}{}", o.count.p50, range(&o.count, "-"), if o.lasts { " " } else { "!" })
        }));
        row
    };
    Table { head, rows: facts.orders.iter().enumerate().map(row).collect(), keys: 3 }
}

/// The orders that last as planned and no longer do in another scenario.
pub fn lost<'a>(facts: &'a Facts<'a>, planned: &DayFacts, day: &DayFacts) -> Vec<&'a OrderFacts<'a>> {
    let outcomes = planned.outcomes.iter().zip(&day.outcomes);
    let orders = facts.orders.iter().zip(outcomes);
    orders.filter(|(_, (planned, then))| planned.lasts && !then.lasts).map(|(order, _)| order).collect()
}

/// A sentence for each scenario after the first: whether the plan holds, and which orders fail.
pub fn failing(facts: &Facts, days: &[DayFacts]) -> Vec<String> {
    let sentence = |day: &DayFacts| {
        let lost = lost(facts, &days[0], day);
        let names = lost.iter().map(|o| format!("{} of the {}", o.called(), o.piece.name));
        let title = capital(&title(facts.event, day.scenario));
        match lost.len() {
            0 => format!("{title}: the plan holds."),
            1..=4 => format!("{title}: no longer sure are {}.", names.collect::<Vec<_>>().join(", ")),
            n => format!("{title}: no longer sure are {n} of its {} lines.", facts.orders.len()),
        }
    };
    days[1..].iter().map(sentence).collect()
}

/// How much more a plan made for a hotter day costs, and what it does differently.
fn robustly(facts: &Facts, kelvin: f64, other: &Facts) -> (String, Vec<String>) {
    let event = facts.event;
    let more = other.bill.total() - facts.bill.total();
    let by = degrees(event, kelvin);
    let verdict = if other.lasts {
        format!(
            "To be safe if it is {by} hotter: a plan made for that day {}, and holds on the day you expect too.",
            match money::total(event, more.abs()) {
                Some(cost) => format!("costs {cost} {}", if more < 0.0 { "less" } else { "more" }),
                None => {
                    let hours = other.bill.paid_hours - facts.bill.paid_hours;
                    let word = if hours < 0.0 { "fewer" } else { "more" };
                    format!("takes {:.1} paid hours {word}", hours.abs())
                }
            }
        )
    } else {
        format!("If it is {by} hotter, no plan within your means holds everything.")
    };
    let differ = |(now, then): &(&OrderFacts, &OrderFacts)| {
        now.treatment() != then.treatment() || now.window.0 != then.window.0 || now.heads != then.heads
    };
    let change = |(now, then): (&OrderFacts, &OrderFacts)| {
        let what =
            |o: &OrderFacts| format!("{} {} not before {}", o.heads, crew::done(o), clock(event, o.window.0));
        let short = if then.lasts() { "" } else { "; and still not enough" };
        let flower = now.called();
        format!("{}, {flower}: {}, instead of {}{short}", now.piece.name, what(then), what(now))
    };
    let pairs = facts.orders.iter().zip(&other.orders);
    (verdict, pairs.filter(differ).map(change).collect())
}
