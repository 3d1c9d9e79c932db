//! The quick answer: one flower, one air, no event.

use crate::climate::{Air, Climate, ClimateError};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::{Handling, Method, Treatment};
use crate::simulate::journey::{Grid, Leg, Placing, Supply};
use crate::simulate::outcome::{HeadOutcome, presentable};
use crate::simulate::run::{Job, Knowledge, LOTS, Lots, cases};
use crate::stats::{Band, Quantiles};

/// How far ahead the quick answer looks, h.
pub const HORIZON: f64 = 30.0 * 24.0;
/// The shortest time that it can be asked about, h.
pub const SHORTEST: f64 = 1.0 / 12.0;
/// The treatments that it compares.
pub const METHODS: [Method; 3] = [Method::Tucked, Method::WaterTube, Method::BudVase];

/// A flower in an air.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The flower.
    pub flower: &'a Flower,
    /// Its state.
    pub handling: Handling,
    /// The air.
    pub air: Air,
    /// Until when it matters, h from placing.
    pub until: f64,
    /// Nominal volume of a tube, ml.
    pub tube_ml: f64,
    /// The seed.
    pub seed: u64,
}

/// What a treatment does for it.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Answer {
    /// The method.
    #[serde(rename = "treatment")]
    pub method: Method,
    /// Hours to the first visible flagging, over heads and lots together.
    pub flagging_hours: Quantiles,
    /// Hours to plainly wilted.
    pub wilted_hours: Quantiles,
    /// Share still presentable at the hour asked about: the band is over lots and what we do not know.
    pub presentable_at_until: Band,
    /// Fresh mass lost by then, %, over heads and lots together.
    pub fresh_mass_loss_percent_at_until: Band,
    /// When the tube runs empty, h.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub tube_empty_hours: Option<Quantiles>,
}

/// Answers for each of [`METHODS`].
pub fn answer(question: &Question) -> Vec<Answer> {
    let climate = [Climate::constant(question.air, ClimateError::NONE)];
    // Steps short enough for the hour asked about, and for flowers that go in minutes: crossings are interpolated.
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
    let lots = Lots::new(job)
        .and_then(|lots| lots.simulate(Knowledge::AsItIs, &cases, |_, outcomes| outcomes.to_vec()))
        .expect("air that was checked");
    METHODS
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
        .collect()
}
