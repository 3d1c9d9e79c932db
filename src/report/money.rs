//! Purchases, costs, alternatives and remedies in words.

use super::clock::clock;
use super::crew::people;
use super::facts::Facts;
use super::words::short_name;
use crate::decide::alternatives::{Alternative, Kind};
use crate::decide::bill::Thing;
use crate::decide::remedies::{Change, Remedy};
use crate::decide::solve::model::Lacking;
use crate::event::{Event, OrderId};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;
use crate::units::{Scale, Span, short};
use std::collections::BTreeSet;

/// The number and kind of some tubes or vases.
pub fn thing(thing: &Thing) -> String {
    match thing.treatment.method {
        Method::BudVase => format!("{} bud vases", thing.number),
        _ => format!("{} water tubes of {} ml", thing.number, short(thing.treatment.tube_ml)),
    }
}

/// The costs of the whole event, and how much a cheaper plan could save.
pub fn costs(facts: &Facts) -> String {
    let (bill, money) = (facts.bill, &facts.event.means.currency);
    format!(
        "Flowers {}, tubes and vases {}, hands {} ({} paid for {} of work): {} in all{}. {}",
        money.show(bill.flowers()),
        money.show(bill.material()),
        money.show(bill.hands),
        Span { hours: bill.paid_hours },
        Span { hours: (bill.work_hours * 12.0).round() / 12.0 },
        money.show(bill.total()),
        if money.sign.is_empty() { ", in your money" } else { "" },
        if facts.gap < 1e-6 {
            "No plan with the same flowers is cheaper.".to_string()
        } else {
            format!(
                "A plan with the same flowers could save {:.1} % of hands and material at most.",
                100.0 * facts.gap
            )
        }
    )
}

/// The name of an alternative plan.
pub fn alternative(kind: Kind) -> &'static str {
    match kind {
        Kind::Cheapest => "the cheapest mix",
        Kind::AllDry => "all dry, as late as it must be",
        Kind::Tubes => "tubes where dry does not last",
        Kind::Vases => "vases where dry does not last",
        Kind::FirstAccess => "everything on the first access",
    }
}

/// Why an alternative does not work; empty if it does.
pub fn obstacle(facts: &Facts, alternative: &Alternative) -> String {
    let name = |id: &OrderId| facts.order(*id).called();
    let fails: BTreeSet<String> = alternative.fails.iter().map(name).collect();
    let mut lines = Vec::new();
    if !fails.is_empty() {
        lines.push(format!("not enough would last of: {}", joined(fails)));
    }
    let lacking = lacking(facts.event, &alternative.lacking);
    if !lacking.is_empty() {
        lines.push(format!("it takes {}", lacking.join(" and ")));
    }
    lines.join("; ")
}

fn joined(names: impl IntoIterator<Item = String>) -> String {
    names.into_iter().collect::<Vec<_>>().join(", ")
}

/// A change that would make the plan possible, and what the plan would cost then.
pub fn remedy(facts: &Facts, remedy: &Remedy) -> String {
    let money = &facts.event.means.currency;
    format!(
        "{}: everything lasts then, and the work and material come to {} instead of {}",
        change(facts, &remedy.change),
        money.show(remedy.then.cost),
        money.show(facts.alternatives[0].cost)
    )
}

fn change(facts: &Facts, change: &Change) -> String {
    let event = facts.event;
    let name = |id: &OrderId| facts.order(*id).called();
    match change {
        Change::People(n) => format!("{} more", people(*n)),
        Change::Things(more) => {
            lacking(event, &Lacking { stock: more.clone(), ..Lacking::default() }).join(" and ")
        }
        Change::Access(from, to) => {
            format!("access from {} to {} besides", clock(event, *from), clock(event, *to))
        }
        Change::Cooling(celsius, from) => {
            let at = match event.scale {
                Scale::Celsius => format!("{celsius:.0} C"),
                Scale::Fahrenheit => format!("{:.0} F", celsius * 1.8 + 32.0),
            };
            format!("the rooms kept at {at} from {} on", clock(event, *from))
        }
        Change::Shade => "shade over what stands in the sun".to_string(),
        Change::Water(which) => {
            let mut names: Vec<String> = which.iter().map(name).collect();
            names.dedup();
            format!("water tubes for the {}", joined(names))
        }
        Change::Swap(swaps) => {
            let one =
                |(id, to): &(OrderId, &Flower)| format!("{} instead of {}", short_name(to.name()), name(id));
            joined(swaps.iter().map(one).collect::<BTreeSet<String>>())
        }
    }
}

/// The people and stock that a plan needs beyond those there are, one line each.
pub fn lacking(event: &Event, lacking: &Lacking) -> Vec<String> {
    let mut lines = Vec::new();
    if lacking.people > 0 {
        lines.push(format!("{} more than the {} there are", people(lacking.people), event.means.people));
    }
    if lacking.skilled > 0 {
        lines.push(format!(
            "{} more who can wire or work on a ladder than the {} there are",
            people(lacking.skilled),
            event.means.skilled
        ));
    }
    for (n, i) in lacking.stock.iter().zip(0..).filter(|(n, _)| **n > 0) {
        lines.push(match event.means.tubes.get(i) {
            Some(tube) => format!("{n} more water tubes of {} ml", short(tube.ml)),
            None => format!("{n} more bud vases"),
        });
    }
    lines
}
