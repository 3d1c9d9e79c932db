//! The client's page: what will stand where and when, why, what would change it, and what the client must see to.

use crate::decide::options::PlacingOption;
use crate::decide::scenarios::Scenario;
use crate::event::{Event, stood_in};
use crate::flower::treatment::Method;
use crate::report::cautions;
use crate::report::clock::{clock, day_and_clock, nearest_five};
use crate::report::crew::{people, planned};
use crate::report::days::{lost, title, usual};
use crate::report::document::{Block, Document, Table};
use crate::report::facts::{DayFacts, Facts, OrderFacts};
use crate::report::money;
use crate::report::pictures::survival;
use crate::report::words::{air_of, capital, degrees, gone, range};

/// The size of the picture, pixels: wide and low, so that everything fits on one page.
const PICTURE: (u32, u32) = (860, 300);
/// The most reasons that the page gives.
const MOST_REASONS: usize = 4;

/// The client's page of an event.
pub fn client(facts: &Facts) -> Document {
    let event = facts.event;
    let mut blocks = vec![Block::Title(event.name.clone())];
    let day = event.date.strftime("%A %-d %B %Y").to_string();
    let place = event.place.as_ref().map_or(String::new(), |p| format!("{p}, "));
    blocks.push(Block::Text(format!(
        "{place}{day}. Guests from {}, until {}. How your flowers will be set, when, and why.",
        event.moment(event.doors).clock(),
        clock(event, event.end)
    )));
    blocks.push(Block::Table(what_stands(facts)));
    if !facts.lasts {
        blocks.push(Block::Heading("As things stand this cannot be promised".to_string()));
        blocks.push(Block::Points(shortfall(facts)));
    }
    blocks.push(Block::Heading("Why this way".to_string()));
    let why: Vec<String> =
        facts.orders.iter().filter_map(|order| why(event, order)).take(MOST_REASONS).collect();
    if !why.is_empty() {
        blocks.push(Block::Points(why));
    }
    if let Some(order) = most_telling(facts) {
        blocks.push(Block::Picture(survival::sized(event, order, &order.curves, PICTURE), 1.0));
    }
    blocks.push(Block::Heading("The weather and the rooms we count on".to_string()));
    let stood = stood_in(event.pieces.iter());
    blocks.push(Block::Points(stood.into_iter().map(|s| air_of(event, &event.spaces[s])).collect()));
    blocks.push(Block::Heading("What would change it".to_string()));
    blocks.push(Block::Points(changes(facts, &facts.days(usual(event)))));
    blocks.push(Block::Heading("What we need from you".to_string()));
    blocks.push(Block::Ticks(needs(facts)));
    blocks.push(Block::Heading("Take care".to_string()));
    blocks.push(Block::Small(cautions::for_client(facts).join(" ")));
    blocks.push(Block::Small(
        "Flowers are alive, and no two deliveries are alike. \"About 33 of 40 (25 to 38)\" means that 33 is the likeliest, and \
         that nine times out of ten it will be between 25 and 38. The numbers come from a simulation of drying and ageing; \
         most of what it knows of each flower is the trade's experience, not measurement."
            .to_string(),
    ));
    blocks.push(Block::Sign(["Client, date", "Florist, date"].map(String::from).to_vec()));
    Document { title: format!("{}: the flowers", event.name), blocks }
}

/// The flowers of every piece: how they are set, from when, and how many will last.
fn what_stands(facts: &Facts) -> Table {
    let event = facts.event;
    let row = |order: &OrderFacts| {
        let not_before = || day_and_clock(event, nearest_five(order.window.0));
        vec![
            if order.first_of_piece { capital(&order.piece.name) } else { String::new() },
            format!("{} {}", order.heads, plural(order)),
            set(order).to_string(),
            planned(event, order).map_or_else(not_before, |(from, _)| from),
            good(order, &event.moment(order.piece.until).clock()),
        ]
    };
    let head = ["", "flowers", "how they are set", "placed", "still good, about"];
    Table::new(&head, facts.orders.iter().map(row).collect())
}

/// How many heads will still be good at the piece's hour, with the range.
fn good(order: &OrderFacts, until: &str) -> String {
    let count = order.count;
    match order.heads {
        heads if count.p05 >= f64::from(heads) => format!("all {heads} at {until}"),
        _ => format!("{}{} at {until}", count.p50, range(&count, " to ")),
    }
}

/// The name of a flower to follow a number.
fn plural(order: &OrderFacts) -> String {
    let name = order.called();
    if order.is_foliage() { format!("sprigs of {name}") } else { name }
}

/// How flowers are set, in a client's words.
fn set(order: &OrderFacts) -> &'static str {
    match order.treatment().method {
        Method::Tucked if order.is_foliage() => "laid dry",
        Method::Tucked => "tucked in dry",
        Method::Wired => "wired, dry",
        Method::WaterTube => "in water tubes",
        Method::BudVase => "in low vases",
        Method::Vessel => "arranged in water",
    }
}

/// What would not last or is lacking, and what would help.
fn shortfall(facts: &Facts) -> Vec<String> {
    let short: Vec<String> = facts.orders.iter().filter(|o| !o.lasts()).map(|o| o.called()).collect();
    let mut lines = Vec::new();
    if !short.is_empty() {
        lines.push(format!("Not enough would last: {}.", short.join(", ")));
    }
    lines.extend(money::lacking(facts.event, facts.lacking).iter().map(|l| format!("It takes {l}.")));
    lines.extend(facts.remedies.iter().map(|r| format!("What would help: {}.", money::remedy(facts, r))));
    lines
}

/// A sentence on what one order would lose if set earlier or dry, compared with the plan; `None` if it would lose
/// hardly more.
fn why(event: &Event, order: &OrderFacts) -> Option<String> {
    let heads = order.order.heads;
    let (early, late) = (order.dry_options().next()?, order.dry_options().next_back()?);
    let now = order.lost(order.recommended());
    let worse = |option: &PlacingOption| order.lost(option) >= now + heads.div_ceil(10);
    let many = |n: u32| match n {
        0 => "hardly one".to_string(),
        n if n == heads => format!("all {heads}"),
        n => format!("about {n} of {heads}"),
    };
    let at = |option: &PlacingOption| clock(event, option.place_at);
    let (without, then) = if worse(early) && early.place_at < late.place_at && !worse(late) {
        (format!("set at {} without water", at(early)), early)
    } else if worse(late) {
        (format!("without water, even set at {}", at(late)), late)
    } else {
        return None;
    };
    let here = match order.treatment().method {
        Method::Tucked | Method::Wired => format!("set at {}", at(order.recommended())),
        Method::WaterTube => "in tubes of water".to_string(),
        Method::BudVase => "in vases".to_string(),
        Method::Vessel => "arranged in water".to_string(),
    };
    Some(format!(
        "{}, {}: {without}, {} would be {} by {}; {here}, {}.",
        capital(&order.called()),
        order.piece.name,
        many(order.lost(then)),
        gone(order.order.counts),
        event.moment(order.piece.until).clock(),
        many(now)
    ))
}

/// The order whose curves show most: the one whose recommended option saves most heads over the worst dry one.
fn most_telling<'a>(facts: &'a Facts) -> Option<&'a OrderFacts<'a>> {
    let gain = |order: &OrderFacts| {
        let dry = order.dry_options().map(|o| o.expected).fold(1.0, f64::min);
        f64::from(order.order.heads) * (order.recommended().expected - dry)
    };
    facts.orders.iter().max_by(|a, b| gain(a).total_cmp(&gain(b)))
}

/// How the plan fares in each scenario but the first, a sentence for each.
fn changes(facts: &Facts, days: &[DayFacts]) -> Vec<String> {
    let event = facts.event;
    let sentence = |day: &DayFacts| {
        let names = lost(facts, &days[0], day).into_iter().map(|o| o.called());
        let mut names: Vec<String> = names.collect();
        names.sort_unstable();
        names.dedup();
        let what = match day.scenario {
            Scenario::Warmer(k) => format!("{} hotter than that", degrees(event, k)),
            Scenario::Moister(rh) if rh < 0.0 => "Much drier air".to_string(),
            Scenario::Late(_) => "The party an hour late".to_string(),
            Scenario::CoolingFails(at) => format!("Cooling that fails at {}", event.moment(at).clock()),
            other => title(event, other),
        };
        match names.is_empty() {
            true => format!("{what}: the plan holds."),
            false => format!("{what}: we could no longer vouch for {}.", names.join(", ")),
        }
    };
    days[1..].iter().map(sentence).collect()
}

/// The list of what the client must see to.
fn needs(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut needs = Vec::new();
    for (from, to) in &event.access {
        let there = || facts.people.iter().filter(|p| p.from >= *from - 1e-9 && p.to <= *to + 1e-9);
        let (first, last) =
            (there().map(|p| p.from).reduce(f64::min), there().map(|p| p.to).reduce(f64::max));
        if let (Some(first), Some(last)) = (first, last) {
            needs.push(format!(
                "Access for {}, from {} to {}",
                people(there().count() as u32),
                day_and_clock(event, first),
                event.moment(last).clock()
            ));
        }
    }
    if event.spaces.iter().any(|s| s.cooled) {
        needs.push("The cooling on, and left on, from before we come until the end".to_string());
    }
    needs.push("Water within reach, and a shaded place for buckets".to_string());
    let sunny = event.pieces.iter().any(|p| event.spaces[p.space].climate.at(14.0).sun > 50.0);
    if sunny {
        needs.push("Shade over what stands in the sun, wherever it can be had".to_string());
    }
    for piece in &event.pieces {
        for (at, to) in &piece.moves {
            needs.push(format!(
                "Two people to move the {} to the {} at {}",
                piece.name,
                event.spaces[*to].name,
                event.moment(*at).clock()
            ));
        }
    }
    needs.push("Nobody moves, waters or sprays the flowers once they stand".to_string());
    needs
}
