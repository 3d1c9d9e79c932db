//! Who does what and what to buy, in words: the same rows for every form a plan takes.

use super::Report;
use super::document::Table;
use super::words::{clock, short_name, treatment};
use crate::decide::assign::Lacking;
use crate::decide::crew::{Assignment, Person, Work};
use crate::decide::otherwise::{Change, Other, Remedy};
use crate::decide::plan::{FlowerPlan, Plan};
use crate::decide::tasks::LAST_LOOK;
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;
use crate::units::{Scale, Span, short};
use schemars::JsonSchema;
use serde::Serialize;

/// One stretch of one person's day.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AssignmentReport {
    /// From when, on the venue's clock.
    pub from: String,
    /// To when.
    pub to: String,
    /// What is done.
    pub what: String,
}

/// One person's day.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PersonReport {
    /// What the person is called here.
    pub name: String,
    /// Whether skilled hands are needed.
    pub skilled: bool,
    /// When they come.
    pub from: String,
    /// When they go.
    pub to: String,
    /// What they do.
    #[serde(rename = "stints")]
    pub assignments: Vec<AssignmentReport>,
}

/// The days of the crew. A number of heads in a stint is the part of it that its time is worth.
pub fn rota(plan: &Plan) -> Vec<PersonReport> {
    let event = &plan.event;
    let people = plan.rota.people.iter().enumerate();
    people
        .map(|(i, person)| PersonReport {
            name: name(plan, i, person),
            skilled: person.skilled && event.means.skilled < event.means.people,
            from: day_and_clock(event, person.from),
            to: event.moment(person.to).clock(),
            assignments: person
                .assignments
                .iter()
                .map(|s| assignment(plan, s))
                .filter(|s| s.from != s.to)
                .collect(),
        })
        .collect()
}

fn name(plan: &Plan, i: usize, person: &Person) -> String {
    let trained = person.skilled && plan.event.means.skilled < plan.event.means.people;
    format!("Person {}{}", i + 1, if trained { " (trained)" } else { "" })
}

fn assignment(plan: &Plan, assignment: &Assignment) -> AssignmentReport {
    let fine = |hours: f64| plan.event.moment(nearest_five(hours)).clock();
    AssignmentReport { from: fine(assignment.from), to: fine(assignment.to), what: what(plan, assignment) }
}

/// A clock time, with its weekday where setting up begins on another day than the event's own.
pub fn day_and_clock(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    let (day, _) = moment.day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    let several = event.access.iter().any(|w| w.0 < 0.0);
    let weekday = if several || day != 0 { format!("{} ", date.strftime("%a")) } else { String::new() };
    format!("{weekday}{}", moment.clock())
}

/// To the nearest five minutes, which are as fine as anybody works to.
pub fn nearest_five(hours: f64) -> f64 {
    (hours * 12.0).round() / 12.0
}

/// From when, with its day, to when an order is placed, to five minutes; nothing where nobody has the time.
pub fn planned(plan: &Plan, piece: usize, order: usize) -> Option<(String, String)> {
    let (from, to) = plan.rota.span(Work::Place(piece, order))?;
    let to = plan.event.moment(nearest_five(to)).clock();
    Some((day_and_clock(&plan.event, nearest_five(from)), to))
}

/// What is done in a stint.
pub fn what(plan: &Plan, assignment: &Assignment) -> String {
    let of = |p: usize, o: usize| (&plan.pieces[p].piece.name, &plan.pieces[p].flowers[o]);
    match assignment.work {
        Work::Place(p, o) => {
            let (piece, flower) = of(p, o);
            let total: f64 =
                all_stints(plan).filter(|s| s.work == assignment.work).map(|s| s.to - s.from).sum();
            let share = (assignment.to - assignment.from) / total;
            let heads = (f64::from(flower.heads()) * share).round().max(1.0);
            let part = if share > 0.999 { String::new() } else { format!(" of {}", flower.heads()) };
            format!("{piece}: {heads}{part} {} {}", short_name(flower.order.flower.name()), done(flower))
        }
        Work::TopUp(p, o) => {
            let (piece, flower) = of(p, o);
            format!("{piece}: fill up the tubes of the {}", short_name(flower.order.flower.name()))
        }
        Work::Chore(c) => {
            plan.event.means.chores.get(c).map_or(LAST_LOOK.to_string(), |chore| chore.name.clone())
        }
    }
}

/// What is done to a flower, after its name.
fn done(flower: &FlowerPlan) -> String {
    match flower.recommended().treatment.method {
        Method::Tucked => "tucked dry".to_string(),
        Method::Wired => "wired and tucked".to_string(),
        Method::WaterTube => format!("in {}s", treatment(flower.recommended().treatment)),
        Method::BudVase => "in bud vases".to_string(),
    }
}

fn all_stints(plan: &Plan) -> impl Iterator<Item = &Assignment> {
    plan.rota.people.iter().flat_map(|p| &p.assignments)
}

/// When people are on site, in one line a call: how many, from when to when.
pub fn calls(plan: &Plan) -> Vec<String> {
    let event = &plan.event;
    let mut calls: Vec<(f64, f64, u32)> = Vec::new();
    for person in &plan.rota.people {
        match calls.iter_mut().find(|c| (c.0, c.1) == (person.from, person.to)) {
            Some(call) => call.2 += 1,
            None => calls.push((person.from, person.to, 1)),
        }
    }
    calls
        .into_iter()
        .map(|(from, to, n)| {
            format!("{}: {} to {}", people(n), day_and_clock(event, from), event.moment(to).clock())
        })
        .collect()
}

/// A number of people.
pub fn people(n: u32) -> String {
    if n == 1 { "1 person".to_string() } else { format!("{n} people") }
}

/// A row of the buying list.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BuyReport {
    /// What.
    pub what: String,
    /// Heads in the pieces; tubes or vases.
    pub in_pieces: u32,
    /// Heads placed beyond those ordered.
    pub spares: u32,
    /// Heads kept for the last look.
    pub repairs: u32,
    /// Heads lost to breakage and sorting.
    pub breakage: u32,
    /// Stems needed.
    pub stems: u32,
    /// Stems in a bunch.
    pub stems_per_bunch: u32,
    /// Whole bunches.
    pub bunches: u32,
    /// Stems left over.
    pub left_over: u32,
    /// What it costs.
    pub cost: f64,
}

/// The flowers to buy.
pub fn flowers(plan: &Plan) -> Vec<BuyReport> {
    plan.bill
        .lines
        .iter()
        .map(|l| BuyReport {
            what: short_name(l.flower.name()),
            in_pieces: l.heads,
            spares: l.spares,
            repairs: l.repairs,
            breakage: l.breakage,
            stems: l.stems,
            stems_per_bunch: l.flower.stems_per_bunch(),
            bunches: l.bunches,
            left_over: l.left_over,
            cost: l.cost(),
        })
        .collect()
}

/// The flowers to buy, in columns.
pub fn buying(plan: &Plan, report: &Report) -> Table {
    let money = &plan.event.means.currency;
    let row = |l: &BuyReport| {
        vec![
            l.what.clone(),
            l.in_pieces.to_string(),
            l.spares.to_string(),
            l.repairs.to_string(),
            l.breakage.to_string(),
            l.stems.to_string(),
            format!("{} of {}", l.bunches, l.stems_per_bunch),
            l.left_over.to_string(),
            money.show(l.cost),
        ]
    };
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
    Table::new(&head, report.buy.iter().map(row).collect())
}

/// Tubes and vases to have, in words with their cost.
pub fn things(plan: &Plan) -> Vec<(String, f64)> {
    let things = plan.bill.things.iter();
    things
        .map(|t| match t.method {
            Method::BudVase => (format!("{} bud vases", t.number), t.cost),
            _ => (format!("{} water tubes of {} ml", t.number, short(t.tube_ml)), t.cost),
        })
        .collect()
}

/// What it all costs.
pub fn costs(plan: &Plan) -> String {
    let (bill, money) = (&plan.bill, &plan.event.means.currency);
    format!(
        "Flowers {}, tubes and vases {}, hands {} ({} paid for {} of work): {} in all{}. {}",
        money.show(bill.flowers()),
        money.show(bill.material()),
        money.show(bill.hands),
        Span { hours: bill.paid_hours },
        Span { hours: (bill.work_hours * 12.0).round() / 12.0 },
        money.show(bill.total()),
        if money.sign.is_empty() { ", in your money" } else { "" },
        if plan.gap < 1e-6 {
            "No plan with the same flowers is cheaper.".to_string()
        } else {
            format!(
                "A plan with the same flowers could save {:.1} % of hands and material at most.",
                100.0 * plan.gap
            )
        }
    )
}

/// Another way to do the whole event, ready to be shown.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OtherReport {
    /// What is done.
    pub name: String,
    /// Whether it keeps every flower with the hands and things there are.
    pub works: bool,
    /// Hands, tubes, vases and spare stems, in money.
    pub cost: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Hours paid.
    pub paid_hours: f64,
    /// Tubes.
    pub tubes: u32,
    /// Vases.
    pub vases: u32,
    /// What stands in its way.
    pub but: String,
}

/// Other ways to do the whole event, the plan's own first.
pub fn others(plan: &Plan) -> Vec<OtherReport> {
    let names: Vec<String> = plan.flowers().map(|f| short_name(f.order.flower.name())).collect();
    plan.others.iter().map(|o| other(plan, o, &names)).collect()
}

/// Other ways to do the whole event, in columns.
pub fn others_side_by_side(plan: &Plan, report: &Report) -> Table {
    let row = |o: &OtherReport| {
        vec![
            o.name.clone(),
            plan.event.means.currency.show(o.cost),
            o.people.to_string(),
            Span { hours: (o.paid_hours * 4.0).round() / 4.0 }.to_string(),
            o.tubes.to_string(),
            o.vases.to_string(),
            if o.works { "works" } else { "does not" }.to_string(),
        ]
    };
    let head = ["way", ">cost", ">people", ">paid", ">tubes", ">vases", "as wanted"];
    Table::new(&head, report.others.iter().map(row).collect())
}

fn other(plan: &Plan, other: &Other, names: &[String]) -> OtherReport {
    let mut fails: Vec<&str> = other.fails.iter().map(|i| names[*i].as_str()).collect();
    fails.sort_unstable();
    fails.dedup();
    let mut but = Vec::new();
    if !fails.is_empty() {
        but.push(format!("not enough would last of: {}", fails.join(", ")));
    }
    let lacking = lacking(&plan.event, &other.lacking);
    if !lacking.is_empty() {
        but.push(format!("it takes {}", lacking.join(" and ")));
    }
    OtherReport {
        name: other.name.clone(),
        works: other.works(),
        cost: other.cost,
        people: other.people,
        paid_hours: other.paid_hours,
        tubes: other.tubes,
        vases: other.vases,
        but: but.join("; "),
    }
}

/// What would help where the plan cannot be done, the cheapest first.
pub fn remedies(plan: &Plan) -> Vec<String> {
    let event = &plan.event;
    let money = &event.means.currency;
    let now = plan.others[0].cost;
    let names: Vec<String> = plan.flowers().map(|f| short_name(f.order.flower.name())).collect();
    let named = |which: &[usize]| {
        let mut some: Vec<&str> = which.iter().map(|i| names[*i].as_str()).collect();
        some.dedup();
        some.join(", ")
    };
    let told = |r: &Remedy| {
        let change = match &r.change {
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
            Change::Water(which) => format!("water tubes for the {}", named(which)),
            Change::Swap(swaps) => {
                let one = |(i, to): &(usize, &Flower)| {
                    format!("{} instead of {}", short_name(to.name()), named(&[*i]))
                };
                let told: std::collections::BTreeSet<String> = swaps.iter().map(one).collect();
                told.into_iter().collect::<Vec<_>>().join(", ")
            }
        };
        format!(
            "{change}: everything lasts then, and the work and material come to {} instead of {}",
            money.show(r.then.cost),
            money.show(now)
        )
    };
    plan.remedies.iter().map(told).collect()
}

/// What a plan needs beyond what there is; nothing where it needs nothing.
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
