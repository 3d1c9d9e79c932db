//! The papers of an event: a page for the client, the run sheet for the crew, the buying list.

use super::chart;
use super::document::{Block, Document, Table};
use super::words::{self, capital, clock, short_name};
use super::work::{self, day_and_clock, nearest_five};
use super::{Report, cautions, whatif};
use crate::decide::plan::{FlowerPlan, PiecePlan, PlacingOption, Plan};
use crate::decide::whatif::Scenario;
use crate::event::stood_in;
use crate::flower::catalogue::Kind;
use crate::flower::treatment::Method;
use crate::units::Scale;

/// The papers by the names of their files, and what they are.
pub const PAPERS: [(&str, &str); 3] =
    [("client", "For the client"), ("run-sheet", "Run sheet"), ("buying", "Buying list")];

/// The paper of that name.
pub fn paper(plan: &Plan, report: &Report, name: &str) -> Option<Document> {
    match name {
        "client" => Some(brief(plan, report, &whatif::days(plan, days_told(plan)))),
        "run-sheet" => Some(run_sheet(plan, report)),
        "buying" => Some(buying(plan, report)),
        _ => None,
    }
}

/// One page for the client: what, when, why, what would change it, and what they must see to.
pub fn brief(plan: &Plan, report: &Report, days: &[whatif::Day]) -> Document {
    let event = &plan.event;
    let mut blocks = vec![Block::Title(event.name.clone())];
    let day = event.date.strftime("%A %-d %B %Y").to_string();
    let place = event.place.as_ref().map_or(String::new(), |p| format!("{p}, "));
    blocks.push(Block::Text(format!(
        "{place}{day}. Guests from {}, until {}. How your flowers will be set, when, and why.",
        event.moment(event.doors).clock(),
        clock(event, event.end)
    )));
    blocks.push(Block::Table(what_stands(plan)));
    if !report.lasts {
        blocks.push(Block::Heading("As things stand this cannot be promised".to_string()));
        let short: Vec<String> =
            plan.flowers().filter(|f| !f.lasts).map(|f| short_name(f.order.flower.name())).collect();
        let mut lines = Vec::new();
        if !short.is_empty() {
            lines.push(format!("Not enough would last: {}.", short.join(", ")));
        }
        lines.extend(report.lacking.iter().map(|l| format!("It takes {l}.")));
        lines.extend(report.remedies.iter().map(|r| format!("What would help: {r}.")));
        blocks.push(Block::Points(lines));
    }
    blocks.push(Block::Heading("Why this way".to_string()));
    let why: Vec<String> = plan
        .pieces
        .iter()
        .flat_map(|p| p.flowers.iter().filter_map(move |f| told(plan, p, f)))
        .take(MOST_REASONS)
        .collect();
    if !why.is_empty() {
        blocks.push(Block::Points(why));
    }
    if let Some((piece, flower)) = most_telling(plan) {
        blocks.push(Block::Picture(chart::survival_sized(event, piece, flower, PICTURE), 1.0));
    }
    blocks.push(Block::Heading("The weather and the rooms we count on".to_string()));
    blocks.push(Block::Points(spaces(plan)));
    blocks.push(Block::Heading("What would change it".to_string()));
    blocks.push(Block::Points(changes(plan, days)));
    blocks.push(Block::Heading("What we need from you".to_string()));
    blocks.push(Block::Ticks(needs(plan)));
    blocks.push(Block::Heading("Take care".to_string()));
    blocks.push(Block::Small(cautions::for_client(plan).join(" ")));
    blocks.push(Block::Small(
        "Flowers are alive, and no two deliveries are alike. \"About 33 of 40 (25 to 38)\" means that 33 is the likeliest, and \
         that nine times out of ten it will be between 25 and 38. The numbers come from a simulation of drying and ageing; \
         most of what it knows of each flower is the trade's experience, not measurement."
            .to_string(),
    ));
    blocks.push(Block::Sign(["Client, date", "Florist, date"].map(String::from).to_vec()));
    Document { title: format!("{}: the flowers", event.name), blocks }
}

/// The picture's size, in pixels: wide and low, so that all stands on one page.
const PICTURE: (u32, u32) = (860, 300);
/// A client reads no more reasons than this.
const MOST_REASONS: usize = 4;

/// What stands where, from when, and how many will be good.
fn what_stands(plan: &Plan) -> Table {
    let mut rows = Vec::new();
    for (p, piece) in plan.pieces.iter().enumerate() {
        for (o, flower) in piece.flowers.iter().enumerate() {
            let until = plan.event.moment(piece.piece.until).clock();
            rows.push(vec![
                if o == 0 { capital(&piece.piece.name) } else { String::new() },
                format!("{} {}", flower.heads(), plural(flower)),
                set(flower).to_string(),
                placed(plan, p, o),
                good(flower, &until),
            ]);
        }
    }
    Table::new(&["", "flowers", "how they are set", "placed", "still good, about"], rows)
}

/// How many will still be good at some hour, with the range where there is one.
fn good(flower: &FlowerPlan, until: &str) -> String {
    let count = flower.count;
    match flower.heads() {
        heads if count.p05 >= f64::from(heads) => format!("all {heads} at {until}"),
        _ => format!("{}{} at {until}", count.p50, words::range(&count, " to ")),
    }
}

fn plural(flower: &FlowerPlan) -> String {
    let name = short_name(flower.order.flower.name());
    let greens = flower.order.flower.kind() == Kind::Foliage;
    if greens { format!("sprigs of {name}") } else { name }
}

/// How a flower is set, in a client's words.
fn set(flower: &FlowerPlan) -> &'static str {
    match flower.recommended().treatment.method {
        Method::Tucked if flower.order.flower.kind() == Kind::Foliage => "laid dry",
        Method::Tucked => "tucked in dry",
        Method::Wired => "wired, dry",
        Method::WaterTube => "in water tubes",
        Method::BudVase => "in low vases",
    }
}

fn placed(plan: &Plan, p: usize, o: usize) -> String {
    let not_before = || day_and_clock(&plan.event, nearest_five(plan.pieces[p].flowers[o].window.0));
    work::planned(plan, p, o).map_or_else(not_before, |(from, _)| from)
}

/// One sentence on one flower: what would become of it set earlier or dry, against what becomes of it now.
fn told(plan: &Plan, piece: &PiecePlan, flower: &FlowerPlan) -> Option<String> {
    let event = &plan.event;
    let heads = flower.order.heads;
    let gone = |c: &PlacingOption| heads - (c.share.p50 * f64::from(heads)).round() as u32;
    let dry = |c: &&PlacingOption| c.treatment.method.is_dry();
    let early = flower.options.iter().find(dry)?;
    let late = flower.options.iter().rev().find(dry)?;
    let now = gone(flower.recommended());
    let before = |c: &PlacingOption| gone(c) >= now + heads.div_ceil(10);
    let limp = words::gone(flower.order.counts);
    let name = format!("{}, {}", capital(&short_name(flower.order.flower.name())), piece.piece.name);
    let until = event.moment(piece.piece.until).clock();
    let many = |n: u32| match n {
        0 => "hardly one".to_string(),
        n if n == heads => format!("all {heads}"),
        n => format!("about {n} of {heads}"),
    };
    let at = |c: &PlacingOption| clock(event, c.place_at);
    let here = match flower.recommended().treatment.method {
        Method::Tucked | Method::Wired => format!("set at {}", at(flower.recommended())),
        Method::WaterTube => "in tubes of water".to_string(),
        Method::BudVase => "in vases".to_string(),
    };
    if before(early) && early.place_at < late.place_at && !before(late) {
        Some(format!(
            "{name}: set at {} without water, {} would be {limp} by {until}; {here}, {}.",
            at(early),
            many(gone(early)),
            many(now)
        ))
    } else if before(late) {
        Some(format!(
            "{name}: without water, even set at {}, {} would be {limp} by {until}; {here}, {}.",
            at(late),
            many(gone(late)),
            many(now)
        ))
    } else {
        None
    }
}

/// The flower whose curves show most: what dry heads of the first hour lose against the choice.
fn most_telling(plan: &Plan) -> Option<(&PiecePlan, &FlowerPlan)> {
    let gain = |f: &FlowerPlan| {
        let dry = f.options.iter().filter(|c| c.treatment.method.is_dry()).map(|c| c.expected);
        f64::from(f.order.heads) * (f.recommended().expected - dry.fold(1.0, f64::min))
    };
    let all = plan.pieces.iter().flat_map(|p| p.flowers.iter().map(move |f| (p, f)));
    all.max_by(|a, b| gain(a.1).total_cmp(&gain(b.1)))
}

/// The air of the rooms that pieces stand in.
fn spaces(plan: &Plan) -> Vec<String> {
    let event = &plan.event;
    let stood = stood_in(event.pieces.iter());
    stood.into_iter().map(|s| words::air_of(event, &event.spaces[s])).collect()
}

/// What another day would do, in a sentence each.
fn changes(plan: &Plan, days: &[whatif::Day]) -> Vec<String> {
    let event = &plan.event;
    let planned: Vec<bool> = days[0].outcomes.iter().map(|o| o.lasts).collect();
    days[1..]
        .iter()
        .map(|day| {
            let flowers = plan.flowers().zip(&day.outcomes).zip(&planned);
            let mut lost: Vec<String> = flowers
                .filter(|((_, o), planned)| **planned && !o.lasts)
                .map(|((f, _), _)| short_name(f.order.flower.name()))
                .collect();
            lost.sort_unstable();
            lost.dedup();
            let what = match day.scenario {
                Scenario::Warmer(k) => format!("{} hotter than that", words::degrees(event, k)),
                Scenario::Moister(rh) if rh < 0.0 => "Much drier air".to_string(),
                Scenario::Late(_) => "The party an hour late".to_string(),
                Scenario::CoolingFails(at) => format!("Cooling that fails at {}", event.moment(at).clock()),
                other => whatif::title(event, other),
            };
            if lost.is_empty() {
                format!("{what}: the plan holds.")
            } else {
                format!("{what}: we could no longer vouch for {}.", lost.join(", "))
            }
        })
        .collect()
}

/// What the client must see to.
fn needs(plan: &Plan) -> Vec<String> {
    let event = &plan.event;
    let mut needs = Vec::new();
    for (from, to) in &event.access {
        let there = || plan.rota.people.iter().filter(|p| p.from >= *from - 1e-9 && p.to <= *to + 1e-9);
        let (first, last) =
            (there().map(|p| p.from).reduce(f64::min), there().map(|p| p.to).reduce(f64::max));
        if let (Some(first), Some(last)) = (first, last) {
            needs.push(format!(
                "Access for {}, from {} to {}",
                work::people(there().count() as u32),
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

/// The run sheet for planner and crew.
pub fn run_sheet(plan: &Plan, report: &Report) -> Document {
    let event = &plan.event;
    let mut blocks = vec![Block::Title(format!("Run sheet: {}", event.name))];
    blocks.extend(report.heading.iter().take(1).map(|line| Block::Text(line.clone())));
    blocks.push(Block::Points(work::calls(plan)));
    let rows: Vec<Vec<String>> = plan
        .pieces
        .iter()
        .flat_map(|p| p.flowers.iter().map(move |f| (p, f)))
        .map(|(p, f)| {
            vec![
                p.piece.name.clone(),
                format!("{} {}", f.heads(), short_name(f.order.flower.name())),
                words::treatment(f.recommended().treatment),
                day_and_clock(event, f.window.0),
                event.moment(f.window.1).clock(),
                boxes(f),
            ]
        })
        .collect();
    let head = ["piece", "flowers", "how", "not before", "not after", "boxes may wait dry"];
    blocks.push(Block::Table(Table::new(&head, rows)));
    for person in &report.crew {
        blocks.push(Block::Heading(format!("{}, {} to {}", person.name, person.from, person.to)));
        let ticks =
            person.assignments.iter().map(|s| format!("{} to {}: {}", s.from, s.to, s.what)).collect();
        blocks.push(Block::Ticks(ticks));
    }
    let later = later(plan);
    if !later.is_empty() {
        blocks.push(Block::Heading("Later".to_string()));
        blocks.push(Block::Ticks(later));
    }
    blocks.push(Block::Heading("Take care".to_string()));
    blocks.push(Block::Points(report.cautions.clone()));
    Document { title: format!("Run sheet: {}", event.name), blocks }
}

fn boxes(flower: &FlowerPlan) -> String {
    match flower.dry_wait {
        Some((0.0, _)) => "not at all".to_string(),
        Some((hours, _)) => crate::units::Span { hours }.to_string(),
        None => "no".to_string(),
    }
}

/// What happens once the crew has gone: moves, and tubes that run empty.
fn later(plan: &Plan) -> Vec<String> {
    let event = &plan.event;
    let mut later: Vec<(f64, String)> = Vec::new();
    for piece in &plan.pieces {
        for (at, to) in &piece.piece.moves {
            later.push((*at, format!("move the {} to the {}", piece.piece.name, event.spaces[*to].name)));
        }
        for flower in &piece.flowers {
            let empty = flower.tube_empty.as_ref().and_then(|q| q.p05);
            if let Some(at) = empty.filter(|t| *t < piece.piece.until && *t > event.doors) {
                let name = short_name(flower.order.flower.name());
                later.push((at, format!("first tubes of the {name} in the {} run empty", piece.piece.name)));
            }
        }
    }
    later.sort_by(|a, b| a.0.total_cmp(&b.0));
    later.into_iter().map(|(at, what)| format!("{}: {what}", clock(event, nearest_five(at)))).collect()
}

/// The buying list.
pub fn buying(plan: &Plan, report: &Report) -> Document {
    let money = &plan.event.means.currency;
    let things = work::things(plan).into_iter().map(|(what, cost)| format!("{what}: {}", money.show(cost)));
    let mut blocks = vec![
        Block::Title(format!("To buy: {}", plan.event.name)),
        Block::Table(work::buying(plan, report)),
        Block::Points(things.collect()),
        Block::Text(work::costs(plan)),
    ];
    blocks.extend(plan.event.assumptions.iter().map(|a| Block::Small(capital(a))));
    Document { title: format!("To buy: {}", plan.event.name), blocks }
}

/// The days that a client is told of.
pub fn days_told(plan: &Plan) -> Vec<Scenario> {
    let cooled = plan.event.spaces.iter().any(|s| s.cooled);
    // Whole degrees in the user's scale.
    let warmer = if plan.event.scale == Scale::Celsius { 3.0 } else { 5.0 / 1.8 };
    let mut days =
        vec![Scenario::None, Scenario::Warmer(warmer), Scenario::Moister(-0.15), Scenario::Late(1.0)];
    days.extend(cooled.then_some(Scenario::CoolingFails(plan.event.doors)));
    days
}
