//! How long one flower lasts in constant air, out of water and in it: a quick answer without an event.

use super::middle::Middle;
use crate::climate::{Air, Climate, ClimateError};
use crate::error::{Problem, Result};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::{Handling, Method, Treatment};
use crate::simulate::journey::{Grid, Leg, Placing, Supply};
use crate::simulate::outcome::{HeadOutcome, presentable};
use crate::simulate::run::{Job, Knowledge, LOTS, Lots, cases};
use crate::stats::counts::Counts;
use crate::stats::{Band, Quantiles};

/// How far ahead an answer looks, h: 30 days.
pub const HORIZON: f64 = 30.0 * 24.0;
/// The shortest time that can be asked about, h: 5 minutes.
pub const SHORTEST: f64 = 1.0 / 12.0;
/// The number of heads of which an answer counts the fresh ones.
pub const COUNTED: u32 = 40;
/// The methods that an answer compares.
pub const METHODS: [Method; 3] = [Method::Tucked, Method::WaterTube, Method::BudVase];

/// A flower in constant air, and how long it must last.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The flower that is asked about.
    pub flower: &'a Flower,
    /// How it was prepared, how open it is, and what is known of it.
    pub handling: Handling,
    /// The air, constant over time.
    pub air: Air,
    /// How far off that air may be.
    pub error: ClimateError,
    /// How long it must last, h from placing: from [`SHORTEST`] to [`HORIZON`].
    pub until: f64,
    /// The nominal volume of a tube, ml.
    pub tube_ml: f64,
    /// The seed of the random numbers.
    pub seed: u64,
}

impl<'a> Question<'a> {
    /// The question with default handling, air that is known exactly, a tube of 10 ml and seed 1. Other values can be set afterwards.
    pub fn new(flower: &'a Flower, air: Air, until: f64) -> Question<'a> {
        Question {
            flower,
            handling: Handling::default(),
            air,
            error: ClimateError::NONE,
            until,
            tube_ml: 10.0,
            seed: 1,
        }
    }

    /// Checks that the question can be answered.
    ///
    /// # Errors
    /// If `until` is not from [`SHORTEST`] to [`HORIZON`], or `tube_ml` is not a positive number.
    fn checked(&self) -> Result<()> {
        if !(SHORTEST..=HORIZON).contains(&self.until) {
            let problem = Problem::new(format!("{} hours cannot be asked about", self.until));
            return Err(problem.expected("from 5 minutes to 30 days, in hours").help("8.0").into());
        }
        if !(self.tube_ml > 0.0 && self.tube_ml.is_finite()) {
            let problem = Problem::new(format!("{} ml is no tube", self.tube_ml));
            return Err(problem.expected("the volume of a tube, in ml").help("10.0").into());
        }
        Ok(())
    }
}

/// Of the heads of a middle delivery, so many are good if that is to need no care (judgement).
const NEARLY_ALL: f64 = 0.95;
/// Of a poor delivery, more than so many are good if nothing need be thought of at all (judgement).
const IN_A_POOR_ONE: f64 = 0.9;

impl Answer {
    /// Whether it will do until then with a usual delivery.
    pub fn will_do(&self) -> bool {
        self.presentable_at_until.p50 >= NEARLY_ALL
    }

    /// Whether it will do, and is no trouble with a poor delivery either.
    pub fn is_no_trouble(&self) -> bool {
        self.will_do() && self.presentable_at_until.p05 > IN_A_POOR_ONE
    }
}

/// How long the flower lasts with one method. Times are hours from placing.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Answer {
    /// How the heads are placed.
    #[serde(rename = "treatment")]
    pub method: Method,
    /// Hours to the first visible flagging, over heads and lots together.
    pub flagging_hours: Quantiles,
    /// Hours until heads are plainly wilted, over heads and lots together.
    pub wilted_hours: Quantiles,
    /// Hours until heads are past use, over heads and lots together: a third of their fresh mass is gone.
    pub past_use_hours: Quantiles,
    /// Of [`COUNTED`] heads, how many are still presentable at `until`, chance between heads included.
    pub fresh_of_40: Band,
    /// What a head in the middle takes up in an hour where it stands in water, g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub drinks_g_per_hour: Option<f64>,
    /// The share still presentable at `until`. The band covers lots and what we do not know.
    pub presentable_at_until: Band,
    /// Fresh mass lost by then, %, over heads and lots together.
    pub fresh_mass_loss_percent_at_until: Band,
    /// Hours until the tube runs empty, for heads whose tube works.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tube_empty_hours: Option<Quantiles>,
}

/// Answers for each of [`METHODS`], in their order.
///
/// # Errors
/// If `until` is not from [`SHORTEST`] to [`HORIZON`], or `tube_ml` is not a positive number.
pub fn answer(question: &Question) -> Result<Vec<Answer>> {
    question.checked()?;
    let climate = [Climate::constant(question.air, question.error)];
    // Short enough for `until` and for flowers that fail within minutes: end-points are interpolated within a step.
    let step = (question.until / 8.0).clamp(SHORTEST, 0.5);
    let step = question.until / (question.until / step).ceil();
    let grid = Grid::covering(0.0, HORIZON, step);
    let job = Job {
        flower: question.flower,
        handling: question.handling,
        spaces: &climate,
        touched: &[0],
        grid,
        seed: question.seed,
        lots: LOTS,
    };
    let placing = Placing {
        after: vec![Leg { space: 0, from: 0, to: grid.steps, supply: Supply::Dry }],
        ask: grid.index(question.until),
        ..Placing::default()
    };
    let treatments = Treatment::all(&METHODS, question.tube_ml);
    let cases = cases(&[placing], &treatments);
    let lots = Lots::new(job)?.simulate(Knowledge::AsItIs, &cases, |_, outcomes| outcomes.to_vec())?;
    let answers = METHODS
        .iter()
        .enumerate()
        .map(|(t, &method)| {
            let by_lot: Vec<&Vec<HeadOutcome>> = lots.iter().map(|lot| &lot[t]).collect();
            let over = |value: &dyn Fn(&HeadOutcome) -> f64| -> Vec<(f64, f64)> {
                by_lot.iter().flat_map(|lot| lot.iter().map(|f| (value(f), f.weight))).collect()
            };
            let shares: Vec<f64> =
                by_lot.iter().map(|lot| presentable(lot, &[question.until], |f| f.flagging)[0]).collect();
            let loss = Quantiles::of(over(&|f| 100.0 * f.loss)).expect("a job has lots");
            let certain = |q: Option<f64>| q.unwrap_or(0.0);
            Answer {
                method,
                flagging_hours: Quantiles::of(over(&|f| f.flagging)).expect("a job has lots"),
                wilted_hours: Quantiles::of(over(&|f| f.wilted)).expect("a job has lots"),
                past_use_hours: Quantiles::of(over(&|f| f.past_use)).expect("a job has lots"),
                fresh_of_40: Counts::of(&shares, COUNTED).expect("a job has lots").band(),
                drinks_g_per_hour: (!method.is_dry())
                    .then(|| Middle::of(question.flower, &question.handling).drinks(&question.air)),
                presentable_at_until: Band::of(&shares).expect("a job has lots"),
                fresh_mass_loss_percent_at_until: Band {
                    p05: certain(loss.p05),
                    p50: certain(loss.p50),
                    p95: certain(loss.p95),
                },
                tube_empty_hours: (method == Method::WaterTube)
                    .then(|| {
                        let working = by_lot.iter().flat_map(|lot| lot.iter()).filter(|f| f.weight > 0.5);
                        Quantiles::of(working.map(|f| (f.empty, f.weight)).collect())
                    })
                    .flatten(),
            }
        })
        .collect();
    Ok(answers)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;

    #[test]
    fn a_question_without_sense_is_refused() {
        let rose = Catalogue::shipped().find("rose").expect("a flower");
        let fine = Question::new(rose, Air::reference(), 8.0);
        for until in [0.0, -1.0, f64::NAN, f64::INFINITY, 1000.0] {
            assert!(answer(&Question { until, ..fine }).is_err(), "{until} h");
        }
        for tube_ml in [0.0, -5.0, f64::NAN, f64::INFINITY] {
            assert!(answer(&Question { tube_ml, ..fine }).is_err(), "{tube_ml} ml");
        }
        assert_eq!(answer(&fine).expect("an answer").len(), METHODS.len());
    }
}
