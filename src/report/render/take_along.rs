//! The page to take along: one file for a phone without a network that answers "it is 31 C in here now: what changes?"

use super::{calendar, html};
use crate::decide::scenarios::{Scenario, ScenarioOutcome};
use crate::event::{Shape, stood_in};
use crate::flower::treatment::Method;
use crate::report::clock::iso;
use crate::report::document::Block;
use crate::report::facts::{Facts, OrderFacts, PersonFacts};
use crate::report::papers::run_sheet;
use crate::report::sections;
use crate::report::words::{capital, range, treatment_name};
use crate::units::Scale;
use maud::{Markup, PreEscaped, html};
use serde_json::json;

/// How much hotter a day is, in degrees of the event's scale, and how every order fares on it.
type Day = (i32, Vec<ScenarioOutcome>);

/// Simulates the days that the page knows, from the coolest to the hottest.
fn days(facts: &Facts) -> Vec<Day> {
    let (degrees, factor): (Vec<i32>, f64) = match facts.event.scale {
        Scale::Celsius => ((-4..=10).step_by(2).collect(), 1.0),
        Scale::Fahrenheit => ((-8..=20).step_by(4).collect(), 1.8),
    };
    let scenarios = degrees.iter().map(|d| Scenario::Warmer(f64::from(*d) / factor)).collect();
    degrees.into_iter().zip(facts.days(scenarios)).map(|(d, day)| (d, day.outcomes)).collect()
}

/// The page to take along, as HTML.
pub fn page(facts: &Facts) -> String {
    let event = facts.event;
    let days = days(facts);
    let fahrenheit = event.scale == Scale::Fahrenheit;
    let shown = |celsius: f64| if fahrenheit { celsius * 1.8 + 32.0 } else { celsius };
    let day = |(degrees, outcomes): &Day| {
        let lines = facts.orders.iter().zip(outcomes).map(|(order, o)| {
            let (c, heads) = (o.count, order.heads);
            json!({ "now": format!("{} of {heads}{}", c.p50, range(&c, " to ")), "lasts": o.lasts })
        });
        json!({ "degrees": degrees, "lines": lines.collect::<Vec<_>>() })
    };
    let stood = stood_in(event.pieces.iter());
    let room = |s: &usize| {
        let by_half_hour: Vec<f64> =
            (0..48).map(|h| shown(event.spaces[*s].climate.at(f64::from(h) / 2.0).temperature_c)).collect();
        json!({ "name": event.spaces[*s].name, "by_half_hour": by_half_hour })
    };
    let scale = if fahrenheit { "F" } else { "C" };
    let told = json!({
        "scale": scale,
        "days": days.iter().map(day).collect::<Vec<_>>(),
        "rooms": stood.iter().map(room).collect::<Vec<_>>(),
        "event": format!("headwater {}", calendar::identifier(event)),
        "instead": facts.orders.iter().map(instead).collect::<Vec<_>>(),
        "people": facts.people.iter().map(|p| json!({ "work": work(facts, p) })).collect::<Vec<_>>(),
    });
    // So that no text in the data can close the script element that holds it.
    let told = told.to_string().replace('<', "\\u003c");
    let (first, last) = (days.first().map_or(0, |d| d.0), days.last().map_or(0, |d| d.0));
    let step = days.get(1).map_or(1, |d| d.0 - first);
    let sheet = run_sheet(facts);
    let body = html! {
        main {
            h1 { (event.name) }
            @if !facts.people.is_empty() {
                h2 { "Mine" }
                p { label { "I am " select id="who" { @for p in &facts.people { option { (person(p)) } } } } }
                dl { dt { "Now" } dd id="now" {} dt { "Next" } dd id="next" {} }
            }
            h2 { "It is hotter in here than we thought: what changes?" }
            p.fields {
                label { "Room " select id="room" { @for s in &stood { option { (event.spaces[*s].name) } } } }
                label { "Clock " input id="clock" type="time"; }
                label { "Thermometer, " (scale) " " input id="reading" type="text" inputmode="decimal" size="5"; }
            }
            p id="planned" class="small" {}
            p { label { "Or by hand: " output id="said" { "as planned" } br;
                input id="hotter" type="range" min=(first) max=(last) step=(step) value="0"
                    aria-label="How much hotter than planned"; } }
            p id="verdict" role="status" { "The plan holds." }
            div.scroll tabindex="0" role="region" aria-label="what becomes of the flowers" {
                table {
                    thead { tr { th scope="col" { "flower" } th scope="col" { "how" } th scope="col" { "good at its hour, about" } th scope="col" { "lasts?" } } }
                    tbody {
                        @for (i, order) in facts.orders.iter().enumerate() {
                            tr data-line=(i) {
                                td { (capital(&order.called())) ", " (order.piece.name) }
                                td { (treatment_name(order.treatment())) }
                                td.now { (order.count.p50) " of " (order.heads) " (" (order.count.p05) " to " (order.count.p95) ")" }
                                td.mark {}
                            }
                        }
                    }
                }
            }
            @for block in &sheet.blocks { (to_tap(&demoted(block))) }
            p.small { "Worked out beforehand: nothing is looked up, and nothing leaves this phone." }
        }
        script type="application/json" id="told" { (PreEscaped(told)) }
        script { (PreEscaped(include_str!("take_along.js"))) }
    };
    let title = format!("{}, to take along", event.name);
    html::whole(&title, &html::own_style(), &body).into_string()
}

/// What helps a line that may not last any more, by what it stands in.
fn instead(order: &OrderFacts) -> &'static str {
    match order.treatment().method {
        Method::Tucked | Method::Wired => "tube or swap it",
        Method::WaterTube if order.piece.shape == Shape::Table => "vase or swap it",
        Method::WaterTube | Method::BudVase | Method::Vessel => "swap it",
    }
}

/// A person's name in a list.
fn person(person: &PersonFacts) -> String {
    format!("person {}", person.number)
}

/// A person's work, each part with the times from and to which it goes.
fn work(facts: &Facts, person: &PersonFacts) -> Vec<serde_json::Value> {
    let times = person.assignments.iter().map(|a| (iso(facts.event, a.from), iso(facts.event, a.to)));
    let lines = sections::assignments(facts, person);
    times.zip(lines).map(|((from, to), what)| json!({ "from": from, "to": to, "what": what })).collect()
}

/// A block on a phone: what is ticked off can be tapped.
fn to_tap(block: &Block) -> Markup {
    match block {
        Block::Ticks(points) => html! {
            ul.ticks.tapped { @for point in points { li { label { input type="checkbox"; " " (point) } } } }
        },
        other => html::block(other),
    }
}

/// The block with a title turned into a heading, since a page has one title.
fn demoted(block: &Block) -> Block {
    match block {
        Block::Title(text) => Block::Heading(text.clone()),
        other => other.clone(),
    }
}
