//! The client's page: one sentence, the picture that shows why, what can be counted on, what else could be done, and what
//! is asked of the client. No cost of the florist's, no spare heads and no promise that fails stands on it.

use super::needs::{moves, needs};
use crate::decide::scenarios::Scenario;
use crate::decide::telling::Telling;
use crate::event::{Criterion, Event, Piece, Way};
use crate::report::cautions;
use crate::report::clock::{clock, nearest_five};
use crate::report::crew::people;
use crate::report::days::{lost, title, usual};
use crate::report::document::{Block, Document, Table};
use crate::report::eve;
use crate::report::facts::{DayFacts, Facts, OrderFacts, WorkFacts};
use crate::report::money;
use crate::report::pictures::heads::{self, Sides, drawn, kept};
use crate::report::words::{capital, degrees, gone, how_often, listed, several};
use std::collections::BTreeSet;

/// The most promises that the page makes; what is left is promised in one line.
const PROMISES: usize = 3;
/// The most that is said of other weather.
const CHANGES: usize = 2;

/// The client's page of an event.
pub fn client(facts: &Facts) -> Document {
    let event = facts.event;
    let headline = headline(facts);
    let mut blocks = vec![Block::Title(headline), Block::Small(from_whom(event))];
    if let Some(telling) = facts.telling {
        blocks.push(Block::Heading(finding(facts, telling)));
        let picture = |sides| heads::picture(facts, telling, sides);
        blocks.push(Block::Picture(picture(Sides::Beside), Some(picture(Sides::Below))));
    }
    if facts.orders.iter().any(|o| o.lasts()) {
        blocks.push(Block::Heading("What you can count on".to_string()));
        blocks.push(Block::Table(promises(facts)));
    }
    let advice = advised_against(facts);
    if !advice.is_empty() {
        blocks.push(Block::Heading("What we advise against".to_string()));
        blocks.push(Block::Points(advice));
    }
    if let Some((question, answer, choice)) = evening_before(facts) {
        blocks.push(Block::Heading(question));
        blocks.push(Block::Text(answer));
        blocks.extend(choice.map(|choice| Block::Ticks(vec![choice])));
    }
    let mut changes = changes(facts, &facts.days(usual(event)));
    // A rule for the eve says it better than what one hotter day would change.
    if let Some(rule) = eve::for_client(facts) {
        changes = vec![rule];
    }
    changes.splice(0..0, eve::days_for_client(facts));
    if !changes.is_empty() {
        blocks.push(Block::Heading("If the day turns out otherwise".to_string()));
        blocks.push(Block::Points(changes));
    }
    blocks.push(Block::Heading("What we need from you".to_string()));
    blocks.push(Block::Ticks(needs(facts).into_iter().chain(moves(facts)).collect()));
    blocks.push(Block::Heading("Please take care".to_string()));
    blocks.push(Block::Text(cautions::for_client(facts).join(" ")));
    blocks.push(Block::Small(
        "The numbers come from a simulation of drying and ageing. Most of what it knows of each flower is the trade's \
         experience, not measurement."
            .to_string(),
    ));
    blocks.push(Block::Sign(["Client, date", "Venue, date", "Florist, date"].map(String::from).to_vec()));
    Document { title: format!("{}: the flowers", event.name), blocks }
}

/// When most of the flowers are set, in one sentence.
fn headline(facts: &Facts) -> String {
    let event = facts.event;
    let placings = facts.people.iter().flat_map(|p| &p.assignments);
    let placings: Vec<(f64, f64)> =
        placings.filter(|a| matches!(a.work, WorkFacts::Place(..))).map(|a| (a.from, a.to)).collect();
    let day_of = |hours: f64| event.moment(hours).day_and_minute().0;
    let days: BTreeSet<i64> = placings.iter().map(|p| day_of(p.0)).collect();
    let worked =
        |day: i64| -> f64 { placings.iter().filter(|p| day_of(p.0) == day).map(|p| p.1 - p.0).sum() };
    let Some(main) = days.iter().copied().max_by(|a, b| worked(*a).total_cmp(&worked(*b))) else {
        return format!("Your flowers: {}", event.name);
    };
    let of_day = || placings.iter().filter(|p| day_of(p.0) == main);
    let from = of_day().map(|p| nearest_five(p.0)).fold(f64::INFINITY, f64::min);
    let to = of_day().map(|p| nearest_five(p.1)).fold(f64::NEG_INFINITY, f64::max);
    let date = event.date.saturating_add(jiff::Span::new().days(main));
    let most = if days.len() > 1 { "most of your flowers" } else { "your flowers" };
    format!(
        "We set {most} on {} between {} and {}.{}",
        date.strftime("%A"),
        event.moment(from).clock(),
        event.moment(to).clock(),
        if facts.telling.is_some() { " Here is why." } else { "" }
    )
}

/// A weekday and a time, such as "Friday 17:00".
fn weekday_and_clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    let date = event.date.saturating_add(jiff::Span::new().days(moment.day_and_minute().0));
    format!("{} {}", date.strftime("%A"), moment.clock())
}

/// Who makes the flowers, for what, where and when.
fn from_whom(event: &Event) -> String {
    let florist = [&event.florist.name, &event.florist.telephone].map(|part| part.clone());
    let mut parts: Vec<String> = florist.into_iter().flatten().collect();
    parts.push(event.name.clone());
    parts.extend(event.place.clone());
    parts.push(event.date.strftime("%A %-d %B %Y").to_string());
    let guests = format!("guests from {}", event.moment(event.doors).clock());
    parts.push(guests);
    parts.join(", ")
}

/// What the picture shows, in one sentence or two.
fn finding(facts: &Facts, telling: &Telling) -> String {
    let (event, order) = (facts.event, facts.order(telling.id));
    let counts_as = order.order.counts;
    let (heads, of_every) = drawn(order.order.heads);
    let lost = |look| heads - kept(look, heads, counts_as);
    let (usual, poor) = (lost(&telling.early.usual), lost(&telling.early.poor));
    let how_many = |n: u32| match n {
        0 => "hardly one".to_string(),
        n if n == heads => "all".to_string(),
        n => format!("{n}{of_every}"),
    };
    let are = |n: u32| if n <= 1 && heads > 1 && of_every.is_empty() { "is" } else { "are" };
    let which = if of_every.is_empty() { format!("of the {heads}") } else { "of the".to_string() };
    let water = match telling.early.treatment == telling.planned.treatment {
        true => "",
        false => " without water",
    };
    format!(
        "Set on {}{water}, {} {} {} on the {} {} {} at {}. In a poor delivery {} {}.",
        weekday_and_clock(event, telling.early.place_at),
        how_many(usual),
        which,
        several(&order.called()),
        order.piece.name,
        are(usual),
        gone(counts_as),
        event.moment(order.piece.until).clock(),
        how_many(poor),
        are(poor),
    )
}

/// What is promised of each piece: how many of its heads at its hour, and how often. The pieces looked at closely come
/// first, then the largest; of the rest one line.
fn promises(facts: &Facts) -> Table {
    let event = facts.event;
    let mut pieces: Vec<(&Piece, Vec<&OrderFacts>)> = facts
        .pieces()
        .map(|(piece, orders)| (piece, orders.iter().filter(|o| o.lasts() && !o.is_foliage()).collect()))
        .filter(|(_, orders): &(_, Vec<&OrderFacts>)| !orders.is_empty())
        .collect();
    let close = |orders: &[&OrderFacts]| orders.iter().any(|o| o.order.counts == Criterion::Flagging);
    let heads = |orders: &[&OrderFacts]| orders.iter().map(|o| o.order.heads).sum::<u32>();
    pieces.sort_by_key(|(_, orders)| (!close(orders), std::cmp::Reverse(heads(orders))));
    let kept = |counts: Criterion| match counts {
        Criterion::Flagging => "fresh from close by",
        Criterion::Wilted => "standing",
    };
    let mut rows: Vec<Vec<String>> = pieces
        .iter()
        .take(PROMISES)
        .map(|(piece, orders)| {
            let many =
                |o: &&&OrderFacts| format!("{} of {} {}", o.wanted, o.order.heads, several(&o.called()));
            let flowers: Vec<String> = orders.iter().map(|o| many(&o)).collect();
            let sure = orders.iter().map(|o| o.sure).fold(1.0, f64::min);
            let at = event.moment(piece.until).clock();
            vec![
                format!("{}, {at}", capital(&piece.name)),
                format!("{} still {}: {}", listed(&flowers), kept(orders[0].order.counts), how_often(sure)),
            ]
        })
        .collect();
    if pieces.len() > PROMISES {
        let names: Vec<&str> = pieces[PROMISES..].iter().map(|(piece, _)| piece.name.as_str()).collect();
        let sure =
            pieces[PROMISES..].iter().flat_map(|(_, orders)| orders).map(|o| o.sure).fold(1.0, f64::min);
        let share = (10.0 * event.target_share).floor();
        rows.push(vec![
            capital(&names.join(", ")),
            format!("{share:.0} of 10 still good at their hours: {}", how_often(sure)),
        ]);
    }
    Table::new(&["at its hour", "how many, and how often"], rows)
}

/// What would not last, with what the plan found to use or do instead.
fn advised_against(facts: &Facts) -> Vec<String> {
    let advice = |o: &OrderFacts| {
        format!(
            "{} on the {}: too few would be good at {}. We would rather use a hardier flower there.",
            capital(&several(&o.called())),
            o.piece.name,
            facts.event.moment(o.piece.until).clock()
        )
    };
    facts.orders.iter().filter(|o| !o.lasts()).map(advice).collect()
}

/// The question of every client, whether it could all be set on the first access, and its answer; what they may choose if
/// it can.
fn evening_before(facts: &Facts) -> Option<(String, String, Option<String>)> {
    let first = facts.alternatives.iter().find(|a| a.way == Way::FirstAccess)?;
    let planned = &facts.alternatives[0];
    if planned.way == Way::FirstAccess {
        return None;
    }
    let event = facts.event;
    let (from, to) = event.access[0];
    let when = format!("on {} to {}", weekday_and_clock(event, from), event.moment(to).clock());
    if !first.fails.is_empty() {
        let names: BTreeSet<String> =
            first.fails.iter().map(|id| several(&facts.order(*id).called())).collect();
        let names = listed(&names.into_iter().collect::<Vec<_>>());
        let question = format!("Could it all be set {when}? No.");
        return Some((
            question,
            format!("Even in water, too few {names} would last until they are wanted."),
            None,
        ));
    }
    if !first.works() {
        let lacking = money::lacking(event, &first.lacking).join(" and ");
        return Some((
            format!("Could it all be set {when}? Not with the hands and vases we have."),
            format!("It would take {lacking}."),
            None,
        ));
    }
    let mut how = Vec::new();
    if first.vases > planned.vases {
        how.push(format!("{} flowers stand in small vases instead of {}", first.vases, planned.vases));
    }
    if first.tubes != planned.tubes {
        how.push(format!("{} in tubes of water instead of {}", first.tubes, planned.tubes));
    }
    if first.people > event.means.people {
        how.push(format!("{} come instead of {}", people(first.people), planned.people));
    }
    let how = if how.is_empty() { "in the same way".to_string() } else { how.join(", ") };
    let question = format!("Could it all be set {when}? Yes, in another way.");
    let answer = format!("Then {how}. It is as sure as our plan: {}.", how_often(first.sure));
    Some((question, answer, Some("We would like this, for ______________ more.".to_string())))
}

/// What other weather or hours would cost us to promise, a sentence for each of the first that does.
fn changes(facts: &Facts, days: &[DayFacts]) -> Vec<String> {
    let event = facts.event;
    let told = |day: &DayFacts| {
        let names = lost(facts, &days[0], day).into_iter();
        let names: BTreeSet<String> =
            names.map(|o| if o.is_foliage() { o.called() } else { several(&o.called()) }).collect();
        let what = match day.scenario {
            Scenario::Warmer(k) => format!("{} hotter", degrees(event, k)),
            Scenario::Moister(rh) if rh < 0.0 => "much drier air".to_string(),
            Scenario::Late(_) => "the party an hour late".to_string(),
            Scenario::CoolingFails(at) => format!("cooling that fails at {}", clock(event, at)),
            other => title(event, other),
        };
        (!names.is_empty()).then_some((names, what))
    };
    // Days on which the same flowers suffer are one line.
    let mut lines: Vec<(BTreeSet<String>, Vec<String>)> = Vec::new();
    for (names, what) in days[1..].iter().filter_map(told) {
        match lines.iter_mut().find(|(of_line, _)| *of_line == names) {
            Some((_, whats)) => whats.push(what),
            None => lines.push((names, vec![what])),
        }
    }
    let sentence = |(names, whats): (BTreeSet<String>, Vec<String>)| {
        let names = listed(&names.into_iter().collect::<Vec<_>>());
        let whats = capital(&whats.join(", or "));
        format!(
            "{whats}: fewer of the {names} would last. We follow the forecast, and tell you the day before what we would \
             change."
        )
    };
    lines.into_iter().take(CHANGES).map(sentence).collect()
}
