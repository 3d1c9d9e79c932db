//! A plan as a document, section by section. The same document serves the terminal, the page and paper.

use super::advice::{advice, dry_hours};
use super::cautions;
use super::clock::{clock, day_and_clock};
use super::crew::{self, planned};
use super::document::{Block, Document, Table};
use super::facts::{AssignmentFacts, Facts, OrderFacts, PersonFacts};
use super::money;
use super::words::{called, capital, heading, heads, path, range, space, treatment_name};
use crate::decide::alternatives::Kind;
use crate::decide::options::PlacingOption;
use crate::decide::order::Grade;
use crate::event::{Criterion, Event, Piece};
use crate::flower::treatment::Treatment;
use crate::units::Span;

/// The document of a whole plan.
pub fn plan(facts: &Facts) -> Document {
    let event = facts.event;
    let mut blocks = vec![Block::Title(event.name.clone())];
    blocks.extend(heading(event, facts.hotter).into_iter().map(Block::Text));
    blocks.extend(first_access(facts).map(Block::Text));
    blocks.push(Block::Table(summary(facts)));
    blocks.extend(shortfall(facts));
    blocks.push(Block::Heading("Who and when".to_string()));
    blocks.extend(calls(facts));
    for person in &facts.people {
        blocks.push(Block::Subheading(day(event, person)));
        blocks.push(Block::Points(assignments(facts, person)));
    }
    blocks.push(Block::Heading("To buy".to_string()));
    blocks.extend(buying(facts));
    blocks.push(Block::Heading("Other ways to do it".to_string()));
    blocks.extend(alternatives(facts));
    for (piece, orders) in facts.pieces() {
        blocks.push(Block::Heading(piece.name.clone()));
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
            if order.first_of_piece { order.piece.name.clone() } else { String::new() },
            order.heads.to_string(),
            order.called(),
            treatment_name(order.treatment()),
            day_and_clock(event, order.window.0),
            planned(event, order).map_or("no time".to_string(), |(from, to)| format!("{from}-{to}")),
            format!("{}{}{grade}", order.count.p50, range(&order.count, "-")),
        ]
    };
    let head = ["piece", ">heads", "flower", "what to do", ">not before", ">planned", "good at the end"];
    Table::new(&head, facts.orders.iter().map(row).collect())
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
            "Nothing that was tried makes it all last: more people, more access, cooler rooms.".to_string(),
        );
    }
    Some(Block::Points(lines))
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

/// A person's assignments, a line for each. Those shorter than five minutes as rounded are left out.
pub fn assignments(facts: &Facts, person: &PersonFacts) -> Vec<String> {
    let clock = |hours: f64| facts.event.moment(hours).clock();
    let line =
        |a: &AssignmentFacts| format!("{} to {}: {}", clock(a.from), clock(a.to), crew::work(facts, a));
    person.assignments.iter().map(line).collect()
}

/// What to buy, and what the whole event costs.
pub fn buying(facts: &Facts) -> Vec<Block> {
    let currency = &facts.event.means.currency;
    let things = facts.bill.things.iter();
    let things = things.map(|t| format!("{}: {}", money::thing(t), currency.show(t.cost))).collect();
    vec![Block::Table(flowers_to_buy(facts)), Block::Points(things), Block::Text(money::costs(facts))]
}

/// The flowers to buy as a table.
fn flowers_to_buy(facts: &Facts) -> Table {
    let lines = facts.bill.lines.iter().map(|l| {
        let mut row = vec![called(l.own_name.as_deref(), l.flower)];
        row.extend([l.heads, l.spares, l.repairs, l.breakage, l.stems].map(|n| n.to_string()));
        row.push(format!("{} of {}", l.bunches, l.flower.stems_per_bunch()));
        row.push(l.left_over.to_string());
        row.push(facts.event.means.currency.show(l.cost()));
        row
    });
    let head = [
        "flower",
        ">in the pieces",
        ">spare",
        ">last look",
        ">breakage",
        ">stems",
        ">bunches",
        ">left over",
        ">cost",
    ];
    Table::new(&head, lines.collect())
}

/// The alternative plans for the whole event, and why some do not work.
pub fn alternatives(facts: &Facts) -> Vec<Block> {
    let rows = facts.alternatives.iter().map(|a| {
        vec![
            money::alternative(a.kind).to_string(),
            facts.event.means.currency.show(a.cost),
            a.people.to_string(),
            Span { hours: (a.paid_hours * 4.0).round() / 4.0 }.to_string(),
            a.tubes.to_string(),
            a.vases.to_string(),
            if a.works() { "works" } else { "does not" }.to_string(),
        ]
    });
    let head = ["way", ">cost", ">people", ">paid", ">tubes", ">vases", "as wanted"];
    let mut blocks = vec![
        Block::Small("Hands, tubes, vases and spare stems together.".to_string()),
        Block::Table(Table::new(&head, rows.collect())),
    ];
    let not = facts.alternatives.iter().filter(|a| !a.works());
    let not: Vec<String> = not
        .map(|a| format!("{}: {}.", capital(money::alternative(a.kind)), money::obstacle(facts, a)))
        .collect();
    if !not.is_empty() {
        blocks.push(Block::Points(not));
    }
    blocks
}

/// The answer to what every client asks first: whether it can all be set up on the first access, and at what price.
pub fn first_access(facts: &Facts) -> Option<String> {
    let first = facts.alternatives.iter().find(|a| a.kind == Kind::FirstAccess)?;
    let (event, money) = (facts.event, &facts.event.means.currency);
    let (from, to) = event.access[0];
    let answer = if first.works() {
        let (cost, planned) = (money.show(first.cost), money.show(facts.alternatives[0].cost));
        format!("Yes, for {cost} of hands, tubes, vases and spares instead of {planned}")
    } else {
        format!("No: {}", money::obstacle(facts, first))
    };
    let (from, to) = (day_and_clock(event, from), event.moment(to).clock());
    Some(format!("Can it all be set up {from} to {to}? {answer}."))
}

/// Where a piece stands, and until when it must last.
pub fn whereabouts(event: &Event, piece: &Piece) -> String {
    format!("{}, until {}", path(event, piece), clock(event, piece.until))
}

/// The flower of an order, how many heads, stems and bunches, and until when a head counts.
fn order_title(order: &OrderFacts) -> String {
    let n = |n: u32, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let ordered = match order.is_foliage() {
        true => n(order.order.heads, "sprig", "sprigs"),
        false => heads(order.order.heads),
    };
    let faces = order.flower().faces_per_stem();
    let to_a_stem = if faces > 1 { format!(" ({faces} heads to a stem)") } else { String::new() };
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
        "{} of {} by placing time",
        if order.order.counts == Criterion::Flagging { "fresh" } else { "upright" },
        order.order.heads
    );
    let mut head = vec![first];
    head.extend(times.iter().map(|t| format!(">{} ", day_and_clock(event, *t))));
    let rows = shown_treatments(order).into_iter().map(|shown| {
        let name = treatment_name(shown.0);
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
    format!("{}{}{mark}", option.count.p50, range(&option.count, "-"))
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
