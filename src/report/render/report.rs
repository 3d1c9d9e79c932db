//! The shape of a plan as JSON. Its schema is made of these types and their docstrings.

use crate::decide::order::Grade;
use crate::event::Criterion;
use crate::flower::treatment::Treatment;
use crate::simulate::outcome::Cause;
use crate::stats::Band;
use schemars::JsonSchema;
use serde::Serialize;

/// The plan of an event.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Report {
    /// The name of the event.
    pub event: String,
    /// Where the event takes place.
    pub place: Option<String>,
    /// The day, the times and the target, in words.
    pub heading: Vec<String>,
    /// The day of the event.
    pub date: String,
    /// When the doors open, by which everything must stand.
    pub doors: String,
    /// When the event ends.
    pub end: String,
    /// Other times that the event file names.
    pub marks: Vec<Mark>,
    /// Whether every flower meets the target with the people and stock there are.
    pub lasts: bool,
    /// The target for every flower.
    pub target: Target,
    /// The settings and precision of the simulation.
    pub simulation: Simulation,
    /// The pieces with their flowers.
    pub pieces: Vec<PieceReport>,
    /// The people, tubes and vases that the plan needs beyond those there are.
    pub lacking: Vec<String>,
    /// Changes that would make the plan possible; empty if it already is.
    pub remedies: Vec<String>,
    /// Alternative plans for the whole event, this plan first.
    pub others: Vec<OtherReport>,
    /// Who does which work, and when.
    pub crew: Vec<PersonReport>,
    /// The flowers to buy.
    pub buy: Vec<BuyReport>,
    /// What the whole event costs.
    pub cost: Cost,
    /// How it fares on each of the days that the event may meet; absent where its day is given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub days: Option<DaysReport>,
    /// What to decide on the eve; absent where there is nothing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rule: Option<RuleReport>,
    /// The climate of every space, in words.
    pub spaces: Vec<String>,
    /// The assumptions that the plan rests on.
    pub assumptions: Vec<String>,
    /// What to be careful about.
    pub cautions: Vec<String>,
}

/// How a plan fares on the days that its event may meet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DaysReport {
    /// In words.
    pub words: String,
    /// The share of the days on which it holds: no flower is much less sure than is wanted, 0 to 1.
    pub share: f64,
    /// The standard error of that share, by years.
    pub error: Option<f64>,
    /// The high above which it fails, C, where that tells the days.
    pub fails_above_c: Option<f64>,
    /// The days that were looked at, the coolest first.
    pub days: Vec<DayReport>,
}

/// One of the days that an event may meet.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct DayReport {
    /// What it is called.
    pub name: String,
    /// The year that it is of.
    pub year: i32,
    /// The warmest of the day out of doors, C.
    pub high_c: f64,
    /// The chance that the least sure flower keeps enough heads, 0 to 1.
    pub sure: f64,
    /// Whether it holds.
    pub lasts: bool,
}

/// A rule for the eve.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct RuleReport {
    /// In words: the question, then what to do.
    pub words: Vec<String>,
    /// The forecast high above which the event is done the hot way, C.
    pub above_c: f64,
    /// The share of days on which that will be forecast, 0 to 1.
    pub hot_share: f64,
    /// On the days that it was found on: the best plan that does not look at the forecast.
    pub fixed: ScoreReport,
    /// The same with the rule.
    pub with_rule: ScoreReport,
    /// The same if the day were known.
    pub knowing: ScoreReport,
    /// Found on half of the years and scored on the other: without the forecast, and with the rule.
    pub left_out: Option<[ScoreReport; 2]>,
}

/// What a way of deciding costs, and how sure it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ScoreReport {
    /// Flowers, tubes, vases and wages, in money.
    pub cost: f64,
    /// The chance that the least sure flower keeps enough heads, on average over days, 0 to 1.
    pub sure: f64,
}

/// A time that the event file names.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Mark {
    /// What happens at that time.
    pub name: String,
    /// The local date and time.
    pub at: String,
}

/// The target for every flower.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Target {
    /// The share of heads that must be presentable at the piece's hour.
    pub presentable: f64,
    /// The probability with which that share must be reached.
    pub assurance: f64,
}

/// The settings and precision of the simulation.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct Simulation {
    /// The seed of the random numbers.
    pub seed: u64,
    /// How many lots (deliveries) were simulated.
    pub lots: usize,
    /// How many heads were simulated in each lot.
    pub heads_per_lot: usize,
    /// The simulation's own standard error of an expected share: the root mean square over all options.
    pub error: f64,
}

/// What the whole event costs, in money.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Cost {
    /// The sign or code of the currency; empty if the event names none.
    pub currency: String,
    /// The cost of the flowers.
    pub flowers: f64,
    /// The cost of tubes and vases.
    pub material: f64,
    /// The wages of the crew.
    pub hands: f64,
    /// The cost of everything together.
    pub total: f64,
    /// The optimality gap: the most by which a cheaper plan could undercut this one, as a share.
    pub gap: f64,
}

/// A piece of the event.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PieceReport {
    /// The name of the piece.
    pub name: String,
    /// How many there are of it, all alike; its flowers are those of all.
    pub count: u32,
    /// The vessel in which all its flowers stand.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub vessel: Option<String>,
    /// Where it stands, and where it is moved to and when.
    pub space: String,
    /// The local date and time until which it must last.
    pub until: String,
    /// The flowers of the piece.
    pub flowers: Vec<FlowerReport>,
}

/// A flower of a piece.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct FlowerReport {
    /// The common name of the flower.
    pub flower: String,
    /// The botanical name of the flower.
    pub botanical: String,
    /// The end-point until which a head counts as presentable.
    pub counts: Criterion,
    /// How many heads were ordered.
    pub heads: u32,
    /// How many stems these heads make, without spares.
    pub stems: u32,
    /// How many whole bunches these stems make.
    pub bunches: u32,
    /// What to do with it, and when.
    pub recommended: Recommended,
    /// The recommendation in plain words, with its reasons.
    pub advice: Vec<String>,
    /// Every option that was simulated.
    pub options: Vec<OptionReport>,
    /// The causes of failure by the piece's hour.
    pub causes: Vec<CauseReport>,
    /// The flower's dry hours and their source.
    pub dry_hours: String,
    /// What a notebook taught about its dry hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub learned: Option<LearnedReport>,
    /// Survival curves over the event's clock.
    pub curves: Vec<CurveReport>,
}

/// What a notebook taught about a flower's dry hours.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct LearnedReport {
    /// How many trials taught it.
    pub trials: u32,
    /// How many past events taught it.
    pub events: u32,
    /// Whether there was a trial of this very delivery.
    pub of_this_delivery: bool,
    /// The dry hours of the median head of the delivery, h.
    pub middle_head_hours: Band,
    /// The same by the catalogue, h.
    pub middle_head_hours_of_the_table: Band,
}

/// What to do with a flower, and what to expect.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Recommended {
    /// How the heads are placed.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// When to fill up its tubes, if that is worth while: local date and time.
    pub top_up_at: Option<String>,
    /// How many heads to place, spares included.
    pub heads_placed: u32,
    /// How many heads to keep in water for the last look.
    pub heads_for_repairs: u32,
    /// The local date and time of the placing that was simulated: the last one tried before the crew begins.
    pub place_at: String,
    /// The latest local date and time to place it.
    pub place_by: String,
    /// Whether it meets the target.
    pub lasts: bool,
    /// The chance that enough of the heads placed are presentable, 0 to 1.
    pub sure: f64,
    /// How well it lasts.
    pub grade: Grade,
    /// The share presentable at the piece's hour.
    pub presentable: Band,
    /// The same with everything uncertain about the flower at its median.
    pub presentable_if_flower_known: Band,
    /// How many of the heads placed are presentable at the piece's hour.
    pub heads_presentable: Band,
    /// The longest that boxes may wait dry on site just before the latest placing, h.
    pub boxes_may_wait_dry_hours: Option<f64>,
    /// Share of fresh mass that the head in the middle has lost by the piece's hour.
    pub mass_lost: f64,
    /// The same had it been placed dry; null if it is.
    pub mass_lost_if_dry: Option<f64>,
    /// What the head in the middle drinks in an hour, g; null out of water.
    pub drinks_g_per_hour: Option<f64>,
    /// How long after it went soft it still comes back, recut and in a tube, h; 0 where that is not sure.
    pub comes_back_within_hours: f64,
}

/// One treatment at one placing time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OptionReport {
    /// How the heads are placed.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// When its tubes are filled up: local date and time.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub top_up_at: Option<String>,
    /// The local date and time of placing.
    pub place_at: String,
    /// The share presentable at the piece's hour.
    pub presentable: Band,
    /// The mean of that share over all lots.
    pub expected: f64,
    /// The simulation's own standard error of `expected`.
    pub error: f64,
    /// How many of the heads ordered are presentable at the piece's hour.
    pub heads_presentable: Band,
    /// The probability that enough of the heads ordered are presentable.
    pub assurance: f64,
}

/// A cause of failure and its share.
#[derive(Debug, Clone, Copy, Serialize, JsonSchema)]
pub struct CauseReport {
    /// What made the heads fail.
    pub cause: Cause,
    /// Its share of all failures.
    pub share: f64,
}

/// A survival curve: the share presentable over time.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CurveReport {
    /// How the heads are placed.
    #[serde(flatten)]
    pub treatment: Treatment,
    /// The local date and time of placing.
    pub place_at: String,
    /// The points of the curve.
    pub points: Vec<PointReport>,
}

/// A point of a survival curve.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PointReport {
    /// The local date and time.
    pub at: String,
    /// The share still presentable then.
    pub presentable: Band,
}

/// A stretch of one person's day spent on one piece of work.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AssignmentReport {
    /// When it begins, on the venue's clock.
    pub from: String,
    /// When it ends, on the venue's clock.
    pub to: String,
    /// The work that is done.
    pub what: String,
}

/// The day of one person.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PersonReport {
    /// The name of the person on paper.
    pub name: String,
    /// Whether the person must have skills that only some of the crew have.
    pub skilled: bool,
    /// When the person arrives, with the weekday if needed.
    pub from: String,
    /// When the person leaves.
    pub to: String,
    /// The person's assignments, in order of time.
    #[serde(rename = "stints")]
    pub assignments: Vec<AssignmentReport>,
}

/// A row of the buying list.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BuyReport {
    /// The name of the flower.
    pub what: String,
    /// Heads ordered for the pieces.
    pub in_pieces: u32,
    /// Spare heads placed beyond those ordered.
    pub spares: u32,
    /// Heads of those left over to keep in water for the last look.
    pub repairs: u32,
    /// Heads beyond those placed: for breakage before that, or by the florist's habit.
    pub breakage: u32,
    /// Stems needed for all of these heads.
    pub stems: u32,
    /// How many stems make a bunch.
    pub stems_per_bunch: u32,
    /// Whole bunches to buy.
    pub bunches: u32,
    /// Stems in those bunches beyond `stems`.
    pub left_over: u32,
    /// The cost of the bunches, in money.
    pub cost: f64,
    /// Whether that rests on the florist's own price; else it is a guess or scaled from her other prices.
    pub own_price: bool,
}

/// A plan for the whole event: this one or an alternative.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OtherReport {
    /// The name of the plan.
    pub name: String,
    /// Whether every flower meets the target with the people and stock there are.
    pub works: bool,
    /// Flowers in whole bunches, wages, tubes, vases and vessels, in money.
    pub cost: f64,
    /// The chance that its least sure flower keeps enough heads, 0 to 1.
    pub sure: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Paid hours, all people together, h.
    pub paid_hours: f64,
    /// How many tubes it uses.
    pub tubes: u32,
    /// How many vases it uses.
    pub vases: u32,
    /// Why it does not work; empty if it does.
    pub but: String,
}
