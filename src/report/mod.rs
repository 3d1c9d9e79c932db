//! What is told: one record of a plan, and the forms it takes. Every form is bytes; nothing here writes or prints.

pub mod causes;
pub mod cautions;
pub mod chances;
pub mod chart;
pub mod document;
pub mod html;
pub mod learned_words;
pub mod learning;
pub mod lesson;
pub mod papers;
pub mod pdf;
pub mod protocol;
pub mod rooms;
pub mod schema;
pub mod sketch;
pub mod style;
pub mod tables;
pub mod takealong;
pub mod terminal;
pub mod trials;
pub mod validation;
pub mod validation_words;
pub mod whatif;
pub mod words;
pub mod work;

use crate::decide::plan::{Curve, FlowerPlan, Grade, PiecePlan, PlacingOption, Plan};
use crate::event::{Criterion, Event, Order};
use crate::flower::learned::Learned;
use crate::flower::population::HEADS;
use crate::flower::treatment::Treatment;
use crate::simulate::kernel::Cause;
use crate::stats::Band;
use schemars::JsonSchema;
use serde::Serialize;

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
    pub others: Vec<work::OtherReport>,
    /// Who does what.
    pub crew: Vec<work::PersonReport>,
    /// Flowers to buy.
    pub buy: Vec<work::BuyReport>,
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

impl LearnedReport {
    fn of(order: &Order) -> Option<LearnedReport> {
        let known = order.handling.learned.filter(|_| order.handling.own_dry_hours.is_none())?;
        Some(LearnedReport {
            trials: known.trials,
            events: known.events,
            of_this_delivery: known.of_this_lot,
            middle_head_hours: learning::next(&known, order.flower),
            middle_head_hours_of_the_table: learning::next(
                &Learned::nothing(order.flower.confidence()),
                order.flower,
            ),
        })
    }
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

impl Report {
    /// The report of a plan.
    pub fn of(plan: &Plan) -> Report {
        let event = &plan.event;
        let spaces = event.spaces.iter().map(|s| words::space(event, s)).collect();
        Report {
            event: event.name.clone(),
            place: event.place.clone(),
            heading: words::heading(event, plan.settings.hotter),
            date: event.date.to_string(),
            doors: iso(event, event.doors),
            end: iso(event, event.end),
            marks: event
                .marks
                .iter()
                .map(|(name, at)| Mark { name: name.clone(), at: iso(event, *at) })
                .collect(),
            lasts: plan.lasts(),
            target: Target { presentable: event.target_share, assurance: event.assurance },
            simulation: Simulation {
                seed: plan.settings.seed,
                lots: plan.settings.lots,
                heads_per_lot: HEADS,
                error: plan.error(),
            },
            pieces: plan.pieces.iter().map(|p| piece(event, p)).collect(),
            lacking: work::lacking(event, &plan.lacking),
            remedies: work::remedies(plan),
            others: work::others(plan),
            crew: work::rota(plan),
            buy: work::flowers(plan),
            cost: Cost {
                currency: event.means.currency.sign.clone(),
                flowers: plan.bill.flowers(),
                material: plan.bill.material(),
                hands: plan.bill.hands,
                total: plan.bill.total(),
                gap: plan.gap,
            },
            spaces,
            assumptions: event.assumptions.clone(),
            cautions: cautions::of(plan),
        }
    }

    /// The report as JSON.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(self).expect("a report is plain data")
    }
}

fn piece(event: &Event, plan: &PiecePlan) -> PieceReport {
    PieceReport {
        name: plan.piece.name.clone(),
        space: words::path(event, &plan.piece),
        until: iso(event, plan.piece.until),
        flowers: plan.flowers.iter().map(|f| flower(event, plan, f)).collect(),
    }
}

fn flower(event: &Event, piece: &PiecePlan, plan: &FlowerPlan) -> FlowerReport {
    let (option, flower) = (plan.recommended(), plan.order.flower);
    let stems = plan.order.heads.div_ceil(flower.faces_per_stem());
    FlowerReport {
        flower: flower.name().to_string(),
        botanical: flower.botanical().to_string(),
        counts: plan.order.counts,
        heads: plan.order.heads,
        stems,
        bunches: stems.div_ceil(flower.stems_per_bunch()),
        recommended: Recommended {
            treatment: option.treatment,
            top_up_at: option.top_up.map(|at| iso(event, at)),
            heads_placed: plan.heads(),
            heads_for_repairs: plan.repairs,
            place_at: iso(event, option.place_at),
            place_by: iso(event, plan.window.1),
            lasts: plan.lasts,
            grade: plan.grade(),
            presentable: option.share,
            presentable_if_flower_known: plan.share_if_known,
            heads_presentable: plan.count,
            boxes_may_wait_dry_hours: plan.dry_wait.map(|w| w.0),
        },
        advice: words::advice(event, &piece.piece, plan),
        options: plan.options.iter().map(|c| option_report(event, c)).collect(),
        causes: plan.causes.iter().map(|&(cause, share)| CauseReport { cause, share }).collect(),
        dry_hours: words::dry_hours(&plan.order),
        learned: LearnedReport::of(&plan.order),
        curves: plan.curves.iter().map(|c| curve(event, c)).collect(),
    }
}

fn option_report(event: &Event, option: &PlacingOption) -> OptionReport {
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

fn curve(event: &Event, curve: &Curve) -> CurveReport {
    CurveReport {
        treatment: curve.treatment,
        place_at: iso(event, curve.place_at),
        points: curve
            .points
            .iter()
            .map(|(h, presentable)| PointReport { at: iso(event, *h), presentable: *presentable })
            .collect(),
    }
}

/// A time of the event's clock as ISO 8601 writes a local time.
pub fn iso(event: &Event, hours: f64) -> String {
    let (day, minute) = event.moment(hours).day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    format!("{date}T{:02}:{:02}", minute / 60, minute % 60)
}
