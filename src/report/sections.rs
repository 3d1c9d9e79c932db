//! A plan as a document, section by section. The same document serves the terminal, the page and paper.

use super::advice::{advice, dry_hours};
use super::cautions;
use super::clock::{clock, day_and_clock};
use super::crew::{self, planned};
use super::document::{Block, Document, Table};
use super::eve;
use super::facts::{AssignmentFacts, Facts, OrderFacts, PersonFacts};
use super::money;
use super::words::{called, capital, heading, heads, path, space, times, treatment_name};
use crate::decide::bill::Thing;
use crate::decide::options::PlacingOption;
use crate::decide::order::Grade;
use crate::event::{Criterion, Event, Piece, Way};
use crate::flower::treatment::Treatment;
use crate::units::{Span, short};

/// The document of a whole plan.
pub fn plan(facts: &Facts) -> Document {
    let event = facts.event;
    let mut blocks = vec![Block::Title(event.name.clone())];
    blocks.extend(heading(event, facts.hotter).into_iter().map(Block::Text));
    blocks.extend(first_access(facts).map(Block::Text));
    blocks.push(Block::Table(summary(facts)));
    blocks.push(Block::Text(in_all(facts)));
    blocks.extend(eve::days_sentence(facts).map(Block::Text));
    blocks.extend(shortfall(facts));
    blocks.extend(risks(facts).map(Block::Points));
    blocks.extend(on_the_eve(facts));
    blocks.extend(who_and_when(facts));
    blocks.push(Block::Heading("To buy".to_string()));
    blocks.extend(buying(facts));
    blocks.push(Block::Heading("Other ways to do it".to_string()));
    blocks.extend(alternatives(facts));
    for (piece, orders) in facts.pieces() {
        blocks.push(Block::Heading(piece_name(piece)));
        blocks.push(Block::Text(capital(&whereabouts(event, piece))));
        for order in orders {
            blocks.push(Block::Subheading(order_title(order)));
            blocks.push(Block::Points(advice(event, order)));
            blocks.push(Block::Table(options(event, order)));
            blocks.push(Block::Small(dry_hours(order.order)));
        }
    }
    blocks.extend(list("The air", air(event)));
    blocks.extend(list("Assumed", event.assumptions.clone()));
    blocks.extend(list("Take care", cautions::of(facts)));
    blocks.push(Block::Rule);
    blocks.push(Block::Small(simulated(facts)));
    Document { title: event.name.clone(), blocks }
}

/// What is decided on the eve, by the forecast; nothing if there is no such rule.
pub fn on_the_eve(facts: &Facts) -> Vec<Block> {
    eve::rule_points(facts).map_or(Vec::new(), |(heading, points)| list(&heading, points))
}

/// Points below a heading; nothing if there are none.
fn list(title: &str, points: Vec<String>) -> Vec<Block> {
    match points.is_empty() {
        true => Vec::new(),
        false => vec![Block::Heading(title.to_string()), Block::Points(points)],
    }
}

/// The summary, a row for each order: flower, treatment, times, and how many last.
pub fn summary(facts: &Facts) -> Table {
    let event = facts.event;
    let row = |order: &OrderFacts| {
        let grade = match order.grade {
            Grade::Fine => "",
            Grade::Borderline => "  borderline",
            Grade::Short => "  FALLS SHORT",
        };
        vec![
            if order.first_of_piece { piece_name(order.piece) } else { String::new() },
            order.heads.to_string(),
            order.called(),
            way(order, order.treatment()),
            day_and_clock(event, order.window.0),
            planned(event, order).map_or("no time".to_string(), |(from, to)| format!("{from}-{to}")),
            order.count.p50.to_string(),
            format!("{}{grade}", times(order.sure)),
        ]
    };
    let head = ["piece", ">heads", "flower", "do this", ">not before", ">planned", ">good", "how sure"];
    Table::new(&head, facts.orders.iter().map(row).collect())
}

/// What the whole plan takes, in one line.
fn in_all(facts: &Facts) -> String {
    let bunches: u32 = facts.bill.lines.iter().map(|l| l.bunches).sum();
    let mut parts: Vec<String> = facts.bill.things.iter().map(money::thing).collect();
    parts.push(format!("{bunches} bunches"));
    parts.push(format!("{} paid hours", short((facts.bill.paid_hours * 4.0).round() / 4.0)));
    parts.extend(money::total(facts.event, facts.bill.total()));
    format!("It takes {}.", parts.join(", "))
}

/// The most risks that are told first.
const RISKS: usize = 3;

/// What can still go wrong, the worst first: the orders of which a poor delivery keeps fewest. `None` if a poor delivery
/// does no harm.
fn risks(facts: &Facts) -> Option<Vec<String>> {
    let kept = |o: &OrderFacts| o.count.p05 / f64::from(o.order.heads);
    let mut poor: Vec<&OrderFacts> =
        facts.orders.iter().filter(|o| o.count.p05 < f64::from(o.wanted) && o.lasts()).collect();
    poor.sort_by(|a, b| kept(a).total_cmp(&kept(b)));
    let told = |o: &&OrderFacts| {
        format!(
            "Risk: in a poor delivery, one in twenty, {} of {} {} are still good on the {} at {}.",
            o.count.p05,
            o.heads,
            o.called(),
            o.piece.name,
            clock(facts.event, o.piece.until)
        )
    };
    let told: Vec<String> = poor.iter().take(RISKS).map(told).collect();
    (!told.is_empty()).then_some(told)
}

/// What the plan lacks and what would help; `None` if it works.
pub fn shortfall(facts: &Facts) -> Option<Block> {
    if facts.lasts {
        return None;
    }
    let mut lines: Vec<String> = money::lacking(facts.event, facts.lacking)
        .into_iter()
        .map(|line| format!("The plan takes {line}."))
        .collect();
    for (i, remedy) in facts.remedies.iter().enumerate() {
        let begins = if i == 0 { "What would help:" } else { "Or" };
        lines.push(format!("{begins} {}.", money::remedy(facts, remedy)));
    }
    if facts.remedies.is_empty() {
        lines.push(
            "Tried one by one, none of these is enough: more people, more tubes or vases, more access, cooler rooms, \
             other flowers."
                .to_string(),
        );
    }
    Some(Block::Points(lines))
}

/// When people are on site, and the day of each.
pub fn who_and_when(facts: &Facts) -> Vec<Block> {
    let mut blocks = vec![Block::Heading("Who and when".to_string())];
    blocks.extend(calls(facts));
    for person in &facts.people {
        blocks.push(Block::Subheading(day(facts.event, person)));
        blocks.push(Block::Points(assignments(facts, person)));
    }
    blocks
}

/// When people are on site, and whether their hours are tight.
pub fn calls(facts: &Facts) -> Vec<Block> {
    let mut blocks = vec![Block::Points(facts.calls.iter().map(|c| crew::call(facts.event, c)).collect())];
    if facts.unplaced_hours > 0.2 {
        let left = Span { hours: facts.unplaced_hours };
        let tight = format!("The hours are tight: about {left} of work found no time of its own.");
        blocks.push(Block::Text(tight));
    }
    blocks
}

/// A person's name, and when the person arrives and leaves.
pub fn day(event: &Event, person: &PersonFacts) -> String {
    let (from, to) = (day_and_clock(event, person.from), event.moment(person.to).clock());
    format!("{}, {from} to {to}", crew::name(person))
}

/// A person's assignments, a line for each.
pub fn assignments(facts: &Facts, person: &PersonFacts) -> Vec<String> {
    let clock = |hours: f64| facts.event.moment(hours).clock();
    let line =
        |a: &AssignmentFacts| format!("{} to {}: {}", clock(a.from), clock(a.to), crew::work(facts, a));
    person.assignments.iter().map(line).collect()
}

/// What to buy, and what the whole event costs.
pub fn buying(facts: &Facts) -> Vec<Block> {
    let thing = |t: &Thing| match money::of_thing(facts.event, t) {
        Some(cost) => format!("{}: {cost}", money::thing(t)),
        None => money::thing(t),
    };
    let things = facts.bill.things.iter().map(thing).collect();
    vec![Block::Table(flowers_to_buy(facts)), Block::Points(things), Block::Text(money::costs(facts))]
}

/// The flowers to buy as a table.
fn flowers_to_buy(facts: &Facts) -> Table {
    let lines = facts.bill.lines.iter().map(|l| {
        let mut row = vec![called(&l.sort)];
        row.extend([l.heads, l.spares, l.breakage, l.stems].map(|n| n.to_string()));
        row.push(format!("{} of {}", l.bunches, l.sort.flower.stems_per_bunch()));
        row.push(l.left_over.to_string());
        row.extend(money::shown(facts.event, l.cost(), l.own_price));
        row
    });
    let head = [
        "flower",
        ">heads in the pieces",
        ">spare",
        ">for breakage",
        ">stems",
        ">bunches",
        ">stems left over",
        ">cost",
    ];
    let columns = if facts.event.means.guessed.everything() { head.len() - 1 } else { head.len() };
    Table::new(&head[..columns], lines.collect())
}

/// The alternative plans for the whole event, and why some do not work.
pub fn alternatives(facts: &Facts) -> Vec<Block> {
    let event = facts.event;
    let rows = facts.alternatives.iter().map(|a| {
        let mut row = vec![money::alternative(a.way).to_string()];
        row.extend(money::total(event, a.cost));
        row.extend([
            a.people.to_string(),
            Span { hours: (a.paid_hours * 4.0).round() / 4.0 }.to_string(),
            a.tubes.to_string(),
            a.vases.to_string(),
            match a.works() {
                true => times(a.sure),
                false => "does not work".to_string(),
            },
        ]);
        row
    });
    let priced = !event.means.guessed.everything();
    let mut head = vec!["way"];
    head.extend(priced.then_some(">cost"));
    head.extend([">people", ">paid", ">tubes", ">vases", "how sure of all"]);
    let mut blocks = Vec::new();
    if priced {
        let what = "The cost is that of flowers in whole bunches, hands, tubes and vases together.";
        blocks.push(Block::Small(what.to_string()));
    }
    blocks.push(Block::Table(Table::new(&head, rows.collect())));
    let not = facts.alternatives.iter().filter(|a| !a.works());
    let not: Vec<String> = not
        .map(|a| format!("{}: {}.", capital(money::alternative(a.way)), money::obstacle(facts, a)))
        .collect();
    if !not.is_empty() {
        blocks.push(Block::Points(not));
    }
    blocks
}

/// The answer to what every client asks first: whether it can all be set up on the first access, and at what price.
pub fn first_access(facts: &Facts) -> Option<String> {
    let first = facts.alternatives.iter().find(|a| a.way == Way::FirstAccess)?;
    let event = facts.event;
    let (from, to) = event.access[0];
    if facts.alternatives[0].way == Way::FirstAccess {
        let (from, to) = (day_and_clock(event, from), event.moment(to).clock());
        return Some(format!("All of it is set up {from} to {to}, as you chose."));
    }
    let answer = if first.fails.is_empty() && !first.works() {
        let lacking = money::lacking(event, &first.lacking).join(" and ");
        format!("Only with {lacking}, {}", money::instead(facts, first))
    } else if first.works() {
        format!("Yes, {}", money::instead(facts, first))
    } else {
        format!("No: {}", money::obstacle(facts, first))
    };
    let (from, to) = (day_and_clock(event, from), event.moment(to).clock());
    Some(format!("Can it all be set up {from} to {to}? {answer}."))
}

/// Where a piece stands, and until when it must last.
pub fn whereabouts(event: &Event, piece: &Piece) -> String {
    let mut what = Vec::new();
    if piece.count > 1 {
        what.push(format!("{} alike", piece.count));
    }
    if let Some(length) = &piece.length {
        what.push(format!("{}{length}", if piece.count > 1 { "each " } else { "" }));
    }
    if let Some(vessel) = &piece.vessel {
        let litres = short((vessel.ml / 100.0).round() / 10.0);
        let many = if vessel.number == 1 {
            vessel.name.clone()
        } else {
            format!("{} {}s", vessel.number, vessel.name)
        };
        what.push(format!(
            "{many} with {litres} l of water{}",
            if vessel.number > 1 { " in each" } else { "" }
        ));
    }
    what.push(path(event, piece));
    format!("{}, until {}", what.join(", "), clock(event, piece.until))
}

/// The name of a piece, and how many there are of it.
pub fn piece_name(piece: &Piece) -> String {
    match piece.count {
        1 => piece.name.clone(),
        count => format!("{} ({count} alike)", piece.name),
    }
}

/// The flower of an order, how many heads, stems and bunches, and until when a head counts.
fn order_title(order: &OrderFacts) -> String {
    let n = |n: u32, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let ordered = match order.is_foliage() {
        true => n(order.order.heads, "sprig", "sprigs"),
        false => heads(order.order.heads),
    };
    let to_a_stem = match (order.order.handling.split, order.order.heads_per_stem()) {
        (Some(parts), _) => format!(" (each cut into {parts})"),
        (None, 1) => String::new(),
        (None, faces) => format!(" ({faces} heads to a stem)"),
    };
    let counts = match order.order.counts {
        Criterion::Flagging => "counts until its first softening",
        Criterion::Wilted => "counts until it is limp",
    };
    format!(
        "{}: {ordered}, {}{to_a_stem}, {} without spares; {counts}",
        capital(order.order.flower_name()),
        n(order.stems(), "stem", "stems"),
        n(order.bunches(), "bunch", "bunches"),
    )
}

/// The air of every space, and the source of its climate.
pub fn air(event: &Event) -> Vec<String> {
    event.spaces.iter().map(|s| space(event, s)).collect()
}

/// How the numbers were simulated, and what the ranges mean.
fn simulated(facts: &Facts) -> String {
    let run = facts.simulation;
    format!(
        "Simulated: {} deliveries of {} heads for every treatment and time, seed {}; the simulation's own error of an \
         expected share is about {:.1} heads in 100. Ranges hold nine times out of ten: they contain the luck of \
         the heads, of the delivery and of the weather, and what nobody has measured. Most flower numbers are trade \
         practice from memory; `headwater flowers NAME` shows where each comes from, and \
         reference-data/README.md where all other numbers do.",
        run.lots,
        run.heads_per_lot,
        run.seed,
        100.0 * run.error
    )
}

/// The most placing times shown for an order.
const COLUMNS: usize = 5;

/// How many heads are still good, by treatment and placing time, with the recommended option marked.
fn options(event: &Event, order: &OrderFacts) -> Table {
    let times = shown_times(order);
    let first = format!(
        "{} of {}, and how sure of {}",
        if order.order.counts == Criterion::Flagging { "fresh" } else { "upright" },
        order.order.heads,
        order.wanted
    );
    let mut head = vec![first];
    head.extend(times.iter().map(|t| format!(">{} ", day_and_clock(event, *t))));
    let rows = shown_treatments(order).into_iter().map(|shown| {
        let name = way(order, shown.0);
        let name = if shown.1.is_some() { format!("{name} refilled") } else { name };
        std::iter::once(name).chain(times.iter().map(|t| cell(order, shown, *t))).collect()
    });
    Table { head, rows: rows.collect(), keys: 0 }
}

/// A treatment, and when its tubes are filled up, h on the event's clock, if they are.
type Shown = (Treatment, Option<f64>);

/// How many of the heads placed at a time are still good. Tubes are filled up at the times for which that was
/// simulated.
fn cell(order: &OrderFacts, (treatment, top_up): Shown, time: f64) -> String {
    let option: &PlacingOption = order
        .options
        .iter()
        .filter(|o| o.treatment == treatment && (o.top_up == top_up || o.top_up.is_none()))
        .filter(|o| o.place_at == time)
        .max_by_key(|o| o.top_up == top_up)
        .expect("every time is tried");
    let mark = if std::ptr::eq(option, order.recommended()) { "*" } else { " " };
    format!("{}, {}{mark}", option.count.p50, times(option.assurance))
}

/// The name of a treatment, with that of the vessel where there is one.
fn way(order: &OrderFacts, treatment: Treatment) -> String {
    match &order.piece.vessel {
        Some(vessel) => format!("in the {}", vessel.name),
        None => treatment_name(treatment),
    }
}

/// The treatments that have a row: every method once, with the recommended tube or else the smallest, filled up if that
/// is recommended.
fn shown_treatments(order: &OrderFacts) -> Vec<Shown> {
    let chosen = order.recommended();
    let mut shown: Vec<Shown> = Vec::new();
    for o in order.options.iter() {
        if !shown.iter().any(|(t, _)| t.method == o.treatment.method) {
            let recommended = o.treatment.method == chosen.treatment.method;
            shown.push(if recommended { (chosen.treatment, chosen.top_up) } else { (o.treatment, None) });
        }
    }
    shown
}

/// The placing times that have a column: both ends of every access, the recommended time, and times between.
fn shown_times(order: &OrderFacts) -> Vec<f64> {
    let chosen = order.recommended();
    let all: Vec<f64> = order.of(chosen.treatment).map(|o| o.place_at).collect();
    let mut times = vec![chosen.place_at, all[0], all[all.len() - 1]];
    // An access ends where the next time is more than the usual half hour later.
    for pair in all.windows(2) {
        if pair[1] - pair[0] > 0.75 {
            times.extend([pair[1], pair[0]]);
        }
    }
    // Columns left over go to the middle of the widest gaps.
    loop {
        times.sort_unstable_by(f64::total_cmp);
        times.dedup();
        if times.len() >= COLUMNS {
            return times;
        }
        let between = times
            .windows(2)
            .filter_map(|w| {
                let inside: Vec<f64> = all.iter().copied().filter(|t| *t > w[0] && *t < w[1]).collect();
                (!inside.is_empty()).then(|| (inside.len(), inside[inside.len() / 2]))
            })
            .max_by_key(|(n, _)| *n);
        match between {
            Some((_, t)) => times.push(t),
            None => return times,
        }
    }
}
