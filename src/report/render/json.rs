//! A plan as JSON, for other programs. Its schema is derived from the types here.

use crate::decide::alternatives::Alternative;
use crate::decide::bill::Line;
use crate::decide::curve::Curve;
use crate::decide::options::PlacingOption;
use crate::decide::order::Grade;
use crate::event::{Criterion, Event, Order, Piece};
use crate::flower::learned::Learned;
use crate::flower::treatment::Treatment;
use crate::report::advice::{advice, dry_hours};
use crate::report::clock::{day_and_clock, iso};
use crate::report::facts::{AssignmentFacts, DayFacts, Facts, OrderFacts, PersonFacts};
use crate::report::sections::air;
use crate::report::words::{heading, path, short_name};
use crate::report::{cautions, crew, days, learning, money};
use crate::simulate::outcome::Cause;
use crate::stats::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// A plan as JSON.
pub fn plan(facts: &Facts) -> String {
    serde_json::to_string_pretty(&Report::of(facts)).expect("a report is plain data")
}

/// What becomes of every order of a plan on some days, as JSON.
pub fn days(facts: &Facts, days: &[DayFacts]) -> String {
    let rows = days.iter().flat_map(|day| {
        facts.orders.iter().zip(&day.outcomes).map(|(order, outcome)| OutcomeReport {
            piece: order.piece.name.clone(),
            flower: order.flower().name().to_string(),
            day: days::title(facts.event, day.scenario),
            heads: order.heads,
            presentable: outcome.count,
            lasts: outcome.lasts,
        })
    });
    serde_json::to_string_pretty(&rows.collect::<Vec<_>>()).expect("a report is plain data")
}

/// A flower on one day.
#[derive(Debug, Clone, Serialize)]
struct OutcomeReport {
    piece: String,
    flower: String,
    #[serde(rename = "if")]
    day: String,
    heads: u32,
    presentable: Band,
    lasts: bool,
}

/// A plan, ready to be shown in any form.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    /// The event's name.
    pub event: String,
    /// Where.
    pub place: Option<String>,
    /// Its day, and what is wanted, in words.
    pub heading: Vec<String>,
    /// Its day.
    pub date: String,
    /// By when everything stands.
    pub doors: String,
    /// When it ends.
    pub end: String,
    /// Other times marked on its clock.
    pub marks: Vec<Mark>,
    /// Whether every flower lasts as wanted.
    pub lasts: bool,
    /// What is wanted.
    pub target: Target,
    /// The seed and the size of the simulation.
    pub simulation: Simulation,
    /// What is made.
    pub pieces: Vec<PieceReport>,
    /// What hands and things there are too few of.
    pub lacking: Vec<String>,
    /// What would help where the plan cannot be done.
    pub remedies: Vec<String>,
    /// Other ways to do the whole event, the plan's own first.
    pub others: Vec<OtherReport>,
    /// Who does what.
    pub crew: Vec<PersonReport>,
    /// Flowers to buy.
    pub buy: Vec<BuyReport>,
    /// What it all costs.
    pub cost: Cost,
    /// The climates, in words.
    pub spaces: Vec<String>,
    /// What was assumed.
    pub assumptions: Vec<String>,
    /// What to be careful of.
    pub cautions: Vec<String>,
}

/// A marked time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Mark {
    /// What happens.
    pub name: String,
    /// When.
    pub at: String,
}

/// What is wanted.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Target {
    /// Share of heads presentable.
    pub presentable: f64,
    /// Share of lots in which it is met.
    pub assurance: f64,
}

/// How the numbers came about.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Simulation {
    /// The seed.
    pub seed: u64,
    /// How many lots.
    pub lots: usize,
    /// How many heads a lot.
    pub heads_per_lot: usize,
    /// The simulation's own standard error of an expected share, in the root mean square over all options.
    pub error: f64,
}

/// What a plan costs.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Cost {
    /// The sign or code of the money; empty where the event names none.
    pub currency: String,
    /// Flowers.
    pub flowers: f64,
    /// Tubes and vases.
    pub material: f64,
    /// Hands.
    pub hands: f64,
    /// All together.
    pub total: f64,
    /// By what share of it a cheaper plan might undercut it at most.
    pub gap: f64,
}

/// A piece.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PieceReport {
    /// Its name.
    pub name: String,
    /// Where it stands.
    pub space: String,
    /// Until when it must look good.
    pub until: String,
    /// Its flowers.
    pub flowers: Vec<FlowerReport>,
}

/// A flower of a piece.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FlowerReport {
    /// Its common name.
    pub flower: String,
    /// Its botanical name.
    pub botanical: String,
    /// What counts as still good.
    pub counts: Criterion,
    /// How many heads.
    pub heads: u32,
    /// How many stems and bunches that is, without spares.
    pub stems: u32,
    /// Whole bunches.
    pub bunches: u32,
    /// What to do.
    pub recommended: Recommended,
    /// The same in plain words, with the reasons.
    pub advice: Vec<String>,
    /// Everything tried.
    pub options: Vec<OptionReport>,
    /// Shares of failures by cause at the piece's hour.
    pub causes: Vec<CauseReport>,
    /// What the flower's own number is and where it comes from.
    pub dry_hours: String,
    /// What the notebook taught of it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub learned: Option<LearnedReport>,
    /// Survival curves by the clock.
    pub curves: Vec<CurveReport>,
}

/// What the notebook taught of a flower.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct LearnedReport {
    /// From how many trials.
    pub trials: u32,
    /// From how many past events.
    pub events: u32,
    /// Whether the delivery itself was tried.
    pub of_this_delivery: bool,
    /// Dry hours of the middle head of the delivery.
    pub middle_head_hours: Band,
    /// The same by the trade's table.
    pub middle_head_hours_of_the_table: Band,
}

/// What to do with a flower.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Recommended {
    /// What to do.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// When to fill up its tubes, where they are worth filling up.
    pub top_up_at: Option<String>,
    /// Heads to place, spares among them.
    pub heads_placed: u32,
    /// Heads to keep in water for the last look.
    pub heads_for_repairs: u32,
    /// When to place it: the earliest time that meets the target.
    pub place_at: String,
    /// The latest time.
    pub place_by: String,
    /// Whether it meets the target.
    pub lasts: bool,
    /// How well it lasts.
    pub grade: Grade,
    /// Share presentable at the piece's hour.
    pub presentable: Band,
    /// The same with what is not known of the flower at its median.
    pub presentable_if_flower_known: Band,
    /// How many heads.
    pub heads_presentable: Band,
    /// Longest the boxes may wait dry on site just before, h.
    pub boxes_may_wait_dry_hours: Option<f64>,
}

/// One treatment at one time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OptionReport {
    /// What is done.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// When its tubes are filled up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub top_up_at: Option<String>,
    /// When.
    pub place_at: String,
    /// Share presentable at the piece's hour.
    pub presentable: Band,
    /// The share to be expected, all told.
    pub expected: f64,
    /// The simulation's own standard error of that.
    pub error: f64,
    /// How many heads.
    pub heads_presentable: Band,
    /// How sure it is that enough of the heads ordered are presentable.
    pub assurance: f64,
}

/// A cause of failure.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct CauseReport {
    /// The cause.
    pub cause: Cause,
    /// Its share of failures.
    pub share: f64,
}

/// A survival curve.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CurveReport {
    /// What is done.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// When it is placed.
    pub place_at: String,
    /// Points of the curve.
    pub points: Vec<PointReport>,
}

/// A point of a survival curve.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PointReport {
    /// The clock time.
    pub at: String,
    /// Share still presentable.
    pub presentable: Band,
}

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

impl Report {
    /// The report of a plan.
    pub fn of(facts: &Facts) -> Report {
        let event = facts.event;
        Report {
            event: event.name.clone(),
            place: event.place.clone(),
            heading: heading(event, facts.hotter),
            date: event.date.to_string(),
            doors: iso(event, event.doors),
            end: iso(event, event.end),
            marks: event
                .marks
                .iter()
                .map(|(name, at)| Mark { name: name.clone(), at: iso(event, *at) })
                .collect(),
            lasts: facts.lasts,
            target: Target { presentable: event.target_share, assurance: event.assurance },
            simulation: Simulation {
                seed: facts.simulation.seed,
                lots: facts.simulation.lots,
                heads_per_lot: facts.simulation.heads_per_lot,
                error: facts.simulation.error,
            },
            pieces: facts.pieces().map(|(piece, orders)| piece_report(event, piece, orders)).collect(),
            lacking: money::lacking(event, facts.lacking),
            remedies: facts.remedies.iter().map(|r| money::remedy(facts, r)).collect(),
            others: facts.alternatives.iter().map(|a| other(facts, a)).collect(),
            crew: facts.people.iter().map(|p| person(facts, p)).collect(),
            buy: facts.bill.lines.iter().map(buy).collect(),
            cost: Cost {
                currency: event.means.currency.sign.clone(),
                flowers: facts.bill.flowers(),
                material: facts.bill.material(),
                hands: facts.bill.hands,
                total: facts.bill.total(),
                gap: facts.gap,
            },
            spaces: air(event),
            assumptions: event.assumptions.clone(),
            cautions: cautions::of(facts),
        }
    }
}

fn piece_report(event: &Event, piece: &Piece, orders: &[OrderFacts]) -> PieceReport {
    PieceReport {
        name: piece.name.clone(),
        space: path(event, piece),
        until: iso(event, piece.until),
        flowers: orders.iter().map(|order| flower(event, order)).collect(),
    }
}

fn flower(event: &Event, order: &OrderFacts) -> FlowerReport {
    let flower = order.flower();
    FlowerReport {
        flower: flower.name().to_string(),
        botanical: flower.botanical().to_string(),
        counts: order.order.counts,
        heads: order.order.heads,
        stems: order.stems(),
        bunches: order.bunches(),
        recommended: recommended(event, order),
        advice: advice(event, order),
        options: order.options.iter().map(|o| option(event, o)).collect(),
        causes: order.causes.iter().map(|&(cause, share)| CauseReport { cause, share }).collect(),
        dry_hours: dry_hours(order.order),
        learned: learned(order.order),
        curves: order.curves.iter().map(|c| curve(event, c)).collect(),
    }
}

fn recommended(event: &Event, order: &OrderFacts) -> Recommended {
    let option = order.recommended();
    Recommended {
        treatment: option.treatment,
        top_up_at: option.top_up.map(|at| iso(event, at)),
        heads_placed: order.heads,
        heads_for_repairs: order.repairs,
        place_at: iso(event, option.place_at),
        place_by: iso(event, order.window.1),
        lasts: order.lasts(),
        grade: order.grade,
        presentable: option.share,
        presentable_if_flower_known: order.share_if_known,
        heads_presentable: order.count,
        boxes_may_wait_dry_hours: order.dry_wait.map(|w| w.hours),
    }
}

fn option(event: &Event, option: &PlacingOption) -> OptionReport {
    OptionReport {
        treatment: option.treatment,
        top_up_at: option.top_up.map(|at| iso(event, at)),
        place_at: iso(event, option.place_at),
        presentable: option.share,
        expected: option.expected,
        error: option.error,
        heads_presentable: option.count,
        assurance: option.assurance,
    }
}

fn learned(order: &Order) -> Option<LearnedReport> {
    let known = order.handling.learned.filter(|_| order.handling.own_dry_hours.is_none())?;
    let table = Learned::nothing(order.flower.confidence());
    Some(LearnedReport {
        trials: known.trials,
        events: known.events,
        of_this_delivery: known.of_this_lot,
        middle_head_hours: learning::next(&known, order.flower),
        middle_head_hours_of_the_table: learning::next(&table, order.flower),
    })
}

fn curve(event: &Event, curve: &Curve) -> CurveReport {
    let points = curve.points.iter();
    CurveReport {
        treatment: curve.treatment,
        place_at: iso(event, curve.place_at),
        points: points.map(|(h, band)| PointReport { at: iso(event, *h), presentable: *band }).collect(),
    }
}

fn person(facts: &Facts, person: &PersonFacts) -> PersonReport {
    PersonReport {
        name: crew::name(person),
        skilled: person.trained,
        from: day_and_clock(facts.event, person.from),
        to: facts.event.moment(person.to).clock(),
        assignments: person.assignments.iter().map(|a| assignment(facts, a)).collect(),
    }
}

fn assignment(facts: &Facts, assignment: &AssignmentFacts) -> AssignmentReport {
    AssignmentReport {
        from: facts.event.moment(assignment.from).clock(),
        to: facts.event.moment(assignment.to).clock(),
        what: crew::work(facts, assignment),
    }
}

fn buy(line: &Line) -> BuyReport {
    BuyReport {
        what: short_name(line.flower.name()),
        in_pieces: line.heads,
        spares: line.spares,
        repairs: line.repairs,
        breakage: line.breakage,
        stems: line.stems,
        stems_per_bunch: line.flower.stems_per_bunch(),
        bunches: line.bunches,
        left_over: line.left_over,
        cost: line.cost(),
    }
}

fn other(facts: &Facts, alternative: &Alternative) -> OtherReport {
    OtherReport {
        name: money::alternative(alternative.kind).to_string(),
        works: alternative.works(),
        cost: alternative.cost,
        people: alternative.people,
        paid_hours: alternative.paid_hours,
        tubes: alternative.tubes,
        vases: alternative.vases,
        but: money::obstacle(facts, alternative),
    }
}
