//! A day that nobody knows yet, in words: on how many of the days the plan lasts, and what to decide on the eve.

use super::clock::day_and_clock;
use super::facts::Facts;
use super::limits::degrees;
use super::money;
use super::words::{capital, small, times, treatment_name};
use crate::decide::possible::{Placement, sure_enough};
use crate::decide::rule::{Rule, Score, is_looked_for};
use crate::event::OrderId;
use crate::units::{Span, short};

/// A placing that moves by less, h, as hands are free, is not told (judgement).
const WORTH_TELLING: f64 = 1.0;
/// Of how many days a share is told.
const OF: f64 = 20.0;

/// On how many of the days that the event may meet the plan lasts, and which fail; `None` where its day is given.
pub fn days_sentence(facts: &Facts) -> Option<String> {
    let days = facts.on_days?;
    let event = facts.event;
    let lasting = (OF * days.share).round();
    let fail = OF - lasting;
    let give_or_take = match days.error.map(|error| (1.64 * OF * error).round()) {
        Some(error) if error >= 1.0 => format!(" (give or take {})", small(error as u32)),
        _ => String::new(),
    };
    let middle = degrees(event.met[event.met.len() / 2].high_c.round(), event.scale);
    let all = event.met.len();
    let looked_at = if days.days.len() < all {
        format!("{} looked at among the ", days.days.len())
    } else {
        String::new()
    };
    let what = format!("{looked_at}{all} days that it may meet, of {middle} in the middle");
    let sure = format!("no flower less sure than {}", times(sure_enough(event)));
    let hottest = days.days.last().map_or(0.0, |day| event.met[*day].high_c);
    let told = match (days.lasts.iter().filter(|l| !**l).count(), days.fails_above) {
        (0, _) => format!(
            "Of {what}, the plan lasts on every one, up to {}.",
            degrees(hottest.round(), event.scale)
        ),
        (n, _) if n == days.lasts.len() => format!(
            "Of {what}, the plan holds on none: on each there is a flower less sure than {}.",
            times(sure_enough(event))
        ),
        (_, Some(above)) if fail >= 1.0 => format!(
            "Of {what}, the plan holds on {lasting:.0} of {OF:.0}{give_or_take}, {sure}; the {} of {OF:.0} that {} {} above {} in the afternoon.",
            small(fail as u32),
            if fail == 1.0 { "fails" } else { "fail" },
            if fail == 1.0 { "is" } else { "are" },
            degrees(above, event.scale)
        ),
        (_, Some(above)) => format!(
            "Of {what}, the plan holds on all but the rarest{give_or_take}, {sure}: those above {} in the afternoon.",
            degrees(above, event.scale)
        ),
        (_, None) => format!(
            "Of {what}, the plan holds on {lasting:.0} of {OF:.0}{give_or_take}, {sure}; heat alone does not tell which fail: dry air and wind count, too."
        ),
    };
    let no_rule = facts.rule.is_none() && is_looked_for(event);
    Some(if no_rule { format!("{told} Nothing is gained by waiting for the forecast.") } else { told })
}

/// The threshold of a rule, as it is said.
fn above(facts: &Facts, rule: &Rule) -> String {
    degrees(rule.above_c, facts.event.scale)
}

/// How an order is done, in a few words.
fn way(facts: &Facts, way: &Placement) -> String {
    let filled =
        way.top_up.map_or(String::new(), |at| format!(", filled up {}", day_and_clock(facts.event, at)));
    format!("{} from {}{filled}", treatment_name(way.treatment), day_and_clock(facts.event, way.place_at))
}

/// What is done otherwise than planned on the other side of the threshold, a line for each order.
fn instead(facts: &Facts, rule: &Rule) -> Vec<String> {
    let line = |(id, mild, hot): (OrderId, Placement, Placement)| {
        let order = facts.order(id);
        let (planned, other) = if rule.hot_is_planned { (hot, mild) } else { (mild, hot) };
        let moved = (other.place_at - planned.place_at).abs() >= WORTH_TELLING;
        let same = other.treatment == planned.treatment && other.top_up == planned.top_up;
        let at = |way: &Placement| day_and_clock(facts.event, way.place_at);
        let way = match (same, moved) {
            (true, false) => None,
            (true, true) => Some(format!("from {} instead of {}", at(&other), at(&planned))),
            _ => Some(format!("{} instead of {}", way(facts, &other), way(facts, &planned))),
        };
        let spares = match i64::from(other.heads) - i64::from(planned.heads) {
            0 => None,
            n if n > 0 => Some(format!("{n} more of them")),
            n => Some(format!("{} fewer of them", -n)),
        };
        let told: Vec<String> = way.into_iter().chain(spares).collect();
        let told = told.join(", and ");
        (!told.is_empty()).then(|| format!("{}, {}: {told}", order.piece.name, order.called()))
    };
    rule.differs(facts.event).filter_map(line).collect()
}

/// The rule for the eve as points of a plan, what it is worth last; nothing where there is none.
pub fn rule_points(facts: &Facts) -> Option<(String, Vec<String>)> {
    let rule = facts.rule?;
    let event = facts.event;
    let threshold = above(facts, rule);
    let heading = format!("On the eve: is more than {threshold} forecast for the afternoon?");
    let mut points = vec![format!("Decide now: {}.", decided_now(rule))];
    let often = |share: f64| format!("about {:.0} times in {OF:.0}", (OF * share).round());
    let sides = [
        (format!("Up to {threshold}, {}", often(1.0 - rule.hot_share)), &rule.mild),
        (format!("Above {threshold}, {}", often(rule.hot_share)), &rule.hot),
    ];
    let [planned, other] = if rule.hot_is_planned { [1, 0] } else { [0, 1] }.map(|side: usize| &sides[side]);
    points.push(format!("{}: as planned.", planned.0));
    points.push(format!(
        "{}: {}, and these otherwise than planned:",
        other.0,
        crew(other.1.people, other.1.paid_hours)
    ));
    points.extend(instead(facts, rule));
    let told = |score: &Score| {
        let cost = money::total(event, score.cost).map_or(String::new(), |cost| format!("{cost}, "));
        format!("{cost}sure {:.0} times in 100", 100.0 * score.sure)
    };
    let [fixed, with, known] = &rule.found;
    points.push(format!(
        "On average over the {} days: the plan, whatever the forecast, {}; with the rule {}; if the day were known {}.",
        event.met.len(),
        told(fixed),
        told(with),
        told(known)
    ));
    points.push(match &rule.left_out {
        Some([fixed, with]) => format!(
            "Found on half of the years and tried on the other half: without the forecast {}; with the rule {}.",
            told(fixed),
            told(with)
        ),
        None => "It could not be tried on years that it was not found on: there is one year only.".to_string(),
    });
    Some((heading, points))
}

fn crew(people: u32, hours: f64) -> String {
    format!("{}, {} paid hours", super::crew::people(people), short((4.0 * hours).round() / 4.0))
}

/// What is bought and booked before anybody knows.
fn decided_now(rule: &Rule) -> String {
    let mut parts: Vec<String> =
        rule.tubes.iter().map(|(ml, n)| format!("{n} water tubes of {} ml in the van", short(*ml))).collect();
    if rule.vases > 0 {
        parts.push(format!("{} bud vases", rule.vases));
    }
    parts.push(format!(
        "flowers for either, and {} booked",
        super::crew::people(rule.mild.people.max(rule.hot.people))
    ));
    parts.join(", ")
}

/// On how many of the days of the season it holds, in a line for the client; `None` where the day is given.
pub fn days_for_client(facts: &Facts) -> Option<String> {
    let days = facts.on_days?;
    let holds = (OF * days.share).round();
    let tight = match days.fails_above {
        Some(above) => {
            format!("; above {} in the afternoon it is less sure", degrees(above, facts.event.scale))
        }
        None => String::new(),
    };
    Some(format!("On {holds:.0} of {OF:.0} days such as yours may be, what this page says holds{tight}."))
}

/// The rule in a line for the client.
pub fn for_client(facts: &Facts) -> Option<String> {
    let rule = facts.rule?;
    let differs: Vec<(OrderId, Placement, Placement)> = rule.differs(facts.event).collect();
    let later = differs.iter().map(|(_, mild, hot)| hot.place_at - mild.place_at).fold(0.0, f64::max);
    let water: u32 = differs
        .iter()
        .filter(|(_, mild, hot)| mild.treatment.method.is_dry() && !hot.treatment.method.is_dry())
        .map(|(_, _, hot)| hot.heads)
        .sum();
    // What the hot way has beyond the mild one is done where it is hot, or spared where it is not.
    let spares = rule.hot_is_planned;
    let mut does = Vec::new();
    if later >= 0.5 {
        let when = if spares { "earlier" } else { "later" };
        does.push(format!("set some of the flowers up to {} {when}", Span { hours: later }));
    }
    if water > 0 {
        does.push(if spares {
            format!("leave {water} of them dry")
        } else {
            format!("give {water} more of them water")
        });
    }
    if does.is_empty() {
        does.push("set them in another way".to_string());
    }
    Some(format!(
        "If {} than {} is forecast for the afternoon, we {}. We decide the day before, and tell you.",
        if spares { "no more" } else { "more" },
        above(facts, rule),
        does.join(" and ")
    ))
}

/// The rule as the first line of the crew's page, to be ticked.
pub fn for_crew(facts: &Facts) -> Vec<String> {
    let Some(rule) = facts.rule else { return Vec::new() };
    let side = if rule.hot_is_planned { "No more than" } else { "More than" };
    let mut lines = vec![format!(
        "Forecast on the eve for the afternoon: ________. {side} {}: do these otherwise than this sheet says.",
        above(facts, rule)
    )];
    lines.extend(instead(facts, rule).iter().map(|line| capital(line)));
    lines
}
