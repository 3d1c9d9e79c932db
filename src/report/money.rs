//! Purchases, costs, alternatives and remedies in words.

use super::clock::clock;
use super::crew::people;
use super::facts::Facts;
use super::words::{listed, short_name};
use crate::decide::alternatives::Alternative;
use crate::decide::bill::Thing;
use crate::decide::remedies::{Change, Remedy};
use crate::decide::solve::model::Lacking;
use crate::event::{Event, Guessed, OrderId, Stems, Way};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;
use crate::units::{Scale, Span, short};
use std::collections::BTreeSet;

/// The number and kind of some tubes, vases or vessels.
pub fn thing(thing: &Thing) -> String {
    let n = thing.number;
    format!("{n} {}", kind(thing, if n == 1 { "" } else { "s" }))
}

/// The kind of some tubes, vases or vessels, with `s` after its noun.
pub fn kind(thing: &Thing, s: &str) -> String {
    let ml = thing.treatment.tube_ml;
    match (&thing.vessel, thing.treatment.method) {
        (Some(vessel), _) => format!("{vessel}{s} for {} l of water", short((ml / 100.0).round() / 10.0)),
        (None, Method::BudVase) => format!("bud vase{s}"),
        (None, _) => format!("water tube{s} of {} ml", short(ml)),
    }
}

/// An amount of money, with a mark if it does not rest on the florist's `own` prices alone; `None` where she has given no
/// price at all, so that money means nothing.
pub fn shown(event: &Event, amount: f64, own: bool) -> Option<String> {
    let mark = if own { "" } else { "~" };
    let means = &event.means;
    (!means.guessed.everything()).then(|| format!("{mark}{}", means.currency.show(amount)))
}

/// The cost of flowers, hands and material together.
pub fn total(event: &Event, amount: f64) -> Option<String> {
    shown(event, amount, event.means.guessed == Guessed { stems: Stems::Given, ..Guessed::default() })
}

/// The cost of some tubes, vases or vessels; `None` where nothing is known of it.
pub fn of_thing(event: &Event, thing: &Thing) -> Option<String> {
    match &thing.vessel {
        Some(_) => (thing.cost > 0.0).then(|| shown(event, thing.cost, true)).flatten(),
        None => shown(event, thing.cost, is_own(event, thing)),
    }
}

/// Whether the florist has given the price of some tubes, vases or vessels.
pub fn is_own(event: &Event, thing: &Thing) -> bool {
    let guessed = event.means.guessed;
    match (&thing.vessel, thing.treatment.method) {
        (Some(_), _) => true,
        (None, Method::BudVase) => !guessed.vases,
        (None, _) => !guessed.tubes,
    }
}

/// What another plan comes to instead of this one: in money or, where there is none, in hours and things.
pub fn instead(facts: &Facts, other: &Alternative) -> String {
    let (event, planned) = (facts.event, &facts.alternatives[0]);
    match total(event, other.cost).zip(total(event, planned.cost)) {
        Some((cost, planned)) => format!("for {cost} in all instead of {planned}"),
        None => {
            let hours = |a: &Alternative| Span { hours: (a.paid_hours * 4.0).round() / 4.0 }.to_string();
            let mut told = vec![(format!("{} paid", hours(other)), hours(planned))];
            for (what, theirs, ours) in
                [("tubes", other.tubes, planned.tubes), ("vases", other.vases, planned.vases)]
            {
                if theirs > 0 || ours > 0 {
                    told.push((format!("{theirs} {what}"), ours.to_string()));
                }
            }
            let (theirs, ours): (Vec<String>, Vec<String>) = told.into_iter().unzip();
            format!("with {} instead of {}", listed(&theirs), listed(&ours))
        }
    }
}

/// The costs of the whole event, and how much a cheaper plan could save.
pub fn costs(facts: &Facts) -> String {
    let (event, bill) = (facts.event, facts.bill);
    let guessed = event.means.guessed;
    let hours = format!(
        "{} paid for {} of work",
        Span { hours: bill.paid_hours },
        Span { hours: (bill.work_hours * 12.0).round() / 12.0 }
    );
    let flowers = bill.lines.iter().all(|l| l.own_price);
    let tube = |t: &Thing| t.treatment.method == Method::WaterTube;
    let guess = |t: &Thing| if tube(t) { guessed.tubes } else { t.vessel.is_none() && guessed.vases };
    let material = !bill.things.iter().any(guess);
    let amounts = [
        shown(event, bill.flowers(), flowers),
        shown(event, bill.material(), material),
        shown(event, bill.hands, !guessed.wage),
        shown(event, bill.total(), flowers && material && !guessed.wage),
    ];
    let [Some(flowers), Some(material), Some(hands), Some(total)] = amounts else {
        return format!("Hands: {hours}. No price is known, so money is left out.");
    };
    let things = match (bill.things.iter().any(tube), bill.things.iter().any(|t| !tube(t))) {
        (false, false) => String::new(),
        (true, false) => format!(", tubes {material}"),
        (false, true) => format!(", vases and vessels {material}"),
        (true, true) => format!(", tubes and vases {material}"),
    };
    let way = match facts.alternatives[0].way {
        Way::Cheapest => "",
        _ => ", set in the way you chose,",
    };
    let gap = match facts.gap < 1e-6 {
        true => format!("No plan with the same flowers{way} is cheaper."),
        false => {
            format!("No plan with the same flowers{way} is cheaper by more than {:.1} %.", 100.0 * facts.gap)
        }
    };
    format!("Flowers {flowers}{things}, hands {hands} ({hours}): {total} in all. {gap}")
}

/// The name of an alternative plan.
pub fn alternative(way: Way) -> &'static str {
    match way {
        Way::Cheapest => "the cheapest mix",
        Way::AllDry => "all dry, as late as it must be",
        Way::Tubes => "tubes where dry does not last",
        Way::Vases => "vases where dry does not last",
        Way::FirstAccess => "everything on the first access",
        Way::LastHours => "everything in the last two hours",
        Way::FewestHands => "with the fewest hands",
        Way::Calm => "calm: bears one person missing or half an hour lost",
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
    format!("{}: everything lasts then, {}", change(facts, &remedy.change), instead(facts, &remedy.then))
}

/// A change to an event, in words.
pub fn change(facts: &Facts, change: &Change) -> String {
    let event = facts.event;
    let name = |id: &OrderId| facts.order(*id).called();
    let things =
        |more: &[u32]| lacking(event, &Lacking { stock: more.to_vec(), ..Lacking::default() }).join(" and ");
    match change {
        Change::People(n) => format!("{} more", people(*n)),
        Change::Things(more) => things(more),
        Change::PeopleAndThings(n, more) => format!("{} more and {}", people(*n), things(more)),
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
