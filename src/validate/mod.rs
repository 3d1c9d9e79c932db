//! The model held against published experiments, each from its own conditions.
//!
//! `reference-data/experiments.csv` has a row for every published outcome: what was observed, under which conditions,
//! by whom, and whether the program was set from it (`fitted`), does not hold what it would take (`not modelled`), or
//! can be judged by it (`check`). Here is, for each row that can be predicted, the prediction: nothing is tuned. The
//! rules, each with its reason, are in reference-data/README.md, "The rules of the comparison".

pub mod influence;
mod naive;
mod predict;

use crate::climate::ClimateError;
use crate::stats::scores::interval_score;
use crate::stats::{Band, quantile};
use std::sync::LazyLock;

/// What an experiment is to the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
pub enum Use {
    /// It judges the program.
    #[serde(rename = "check")]
    Check,
    /// A parameter was set from it: it no longer counts.
    #[serde(rename = "fitted")]
    Fitted,
    /// The program does not hold what it would take, or is not told of it; a prediction beside it is an attempt.
    #[serde(rename = "not modelled")]
    NotModelled,
}

/// What the ends of an outcome say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reads {
    /// A value, or a range whose middle stands for it.
    Value,
    /// All that is known is that it lay between: "at least", "less than", "no significant".
    Bound,
}

/// How the air of an experiment is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum AirKnown {
    /// The paper gives it.
    Published,
    /// By a logger nearby.
    Logger,
    /// The paper does not say; a common air is assumed.
    Assumed,
}

impl AirKnown {
    /// How far off it may be: what the program allows a florist's own figures.
    pub fn error(self) -> ClimateError {
        match self {
            AirKnown::Published => ClimateError::TYPED,
            AirKnown::Logger => ClimateError::LOGGED,
            AirKnown::Assumed => ClimateError::GUESSED,
        }
    }
}

/// Stems of a treatment where the paper's abstract does not say how many (a common number, from memory).
const STEMS: usize = 10;

/// A published outcome.
#[derive(Debug, Clone, serde::Deserialize, serde::Serialize)]
pub struct Experiment {
    /// Short name.
    pub id: String,
    /// What was observed.
    pub what: String,
    /// Its unit.
    pub unit: String,
    /// The lower end of what was observed; both ends are equal for a single value.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// What the two ends say.
    pub reads: Reads,
    /// What it is to the program.
    #[serde(rename = "use")]
    pub role: Use,
    /// The id of its source in sources.csv.
    pub source: String,
    /// The flower of the catalogue that stands for it, where one does.
    pub flower: Option<String>,
    /// Temperature of the air, C.
    pub air_c: Option<f64>,
    /// Relative humidity, %.
    pub humidity: Option<f64>,
    /// How the air is known, where it plays a part.
    pub air_known: Option<AirKnown>,
    /// Stems of a treatment, where the paper says.
    pub stems: Option<usize>,
    /// Under which conditions.
    pub conditions: String,
    /// What to know about it.
    pub note: String,
    /// What it means for a florist if the prediction misses.
    pub miss: String,
}

impl Experiment {
    /// How many stems the mean of a treatment is of.
    fn stems(&self) -> usize {
        self.stems.unwrap_or(STEMS)
    }

    /// What the prediction goes by, in words that lead to the sources.
    fn from(&self, prediction: &predict::Prediction) -> String {
        let flower = self.flower.iter().map(|id| format!("`headwater flowers {id}`"));
        let air = self.air_known.iter().map(|known| {
            let error = known.error();
            let how = match known {
                AirKnown::Published => "as published",
                AirKnown::Logger => "by a logger nearby",
                AirKnown::Assumed => "assumed",
            };
            let off = match (self.humidity, known) {
                (None, AirKnown::Published) => format!("{} C", error.kelvin),
                _ => format!("{} C and {} %", error.kelvin, 100.0 * error.rh),
            };
            format!("air {how}, {off} off either way")
        });
        let mean = prediction.mean.then(|| match self.stems {
            Some(n) => format!("means of {n} stems"),
            None => format!("means of {STEMS} stems (a common number, from memory)"),
        });
        flower.chain(air).chain(mean).chain([prediction.by.to_string()]).collect::<Vec<_>>().join("; ")
    }
}

/// An outcome beside its prediction.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Comparison {
    /// The outcome.
    #[serde(flatten)]
    pub experiment: Experiment,
    /// The prediction with its 90 % interval, where the program makes one.
    pub predicted: Option<Band>,
    /// What the prediction goes by.
    pub from: Option<String>,
    /// The interval score of the prediction, and that of one that knows neither flower nor air, where there is such a
    /// one; less is better.
    pub scores: Option<[f64; 2]>,
    /// How the two lie to each other.
    pub verdict: Option<Verdict>,
}

/// How a prediction lies to what was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The 90 % interval holds what was observed, or the middle of its range; half of the prediction keeps a bound.
    Inside,
    /// The interval meets the observed range, but no more.
    Overlaps,
    /// It does not.
    Outside,
}

impl Verdict {
    /// Of equally likely values; none where there is but one of them.
    fn of(experiment: &Experiment, draws: &[f64], predicted: &Band) -> Option<Verdict> {
        let (low, high) = (experiment.low, experiment.high);
        let holds = match experiment.reads {
            Reads::Value => (predicted.p05..=predicted.p95).contains(&(0.5 * (low + high))),
            Reads::Bound => 2 * draws.iter().filter(|d| (low..=high).contains(*d)).count() >= draws.len(),
        };
        (draws.len() > 1).then_some(if holds {
            Verdict::Inside
        } else if predicted.p05 <= high && low <= predicted.p95 {
            Verdict::Overlaps
        } else {
            Verdict::Outside
        })
    }
}

/// All published outcomes.
pub fn experiments() -> &'static [Experiment] {
    static ALL: LazyLock<Vec<Experiment>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("../../reference-data/experiments.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("the shipped table of experiments reads")
    });
    &ALL
}

/// Every outcome beside its prediction.
pub fn compare(seed: u64) -> Vec<Comparison> {
    experiments()
        .iter()
        .map(|experiment| {
            let experiment = experiment.clone();
            let Some(prediction) = predict::predict(&experiment, seed) else {
                return Comparison { experiment, predicted: None, from: None, scores: None, verdict: None };
            };
            let band = Band::of(&prediction.draws).expect("a prediction has draws");
            Comparison {
                predicted: Some(band),
                from: Some(experiment.from(&prediction)),
                scores: prediction.naive.as_ref().map(|naive| {
                    // Of a bound the value that the interval likes best: no more is known.
                    [band, Band::of(naive).expect("a prediction has draws")].map(|b| {
                        let outcome = match experiment.reads {
                            Reads::Value => 0.5 * (experiment.low + experiment.high),
                            Reads::Bound => b.p50.clamp(experiment.low, experiment.high),
                        };
                        interval_score((b.p05, b.p95), 0.9, outcome)
                    })
                }),
                verdict: Verdict::of(&experiment, &prediction.draws, &band),
                experiment,
            }
        })
        .collect()
}

/// How sharp the predictions of the outcomes that judge the program are: that an interval holds what was observed is worth
/// nothing if it holds everything.
#[derive(Debug, Clone)]
pub struct Sharpness {
    /// How many times its lower end the upper end of an interval is, where both are above 0: the 5, 50 and 95 % points
    /// over outcomes.
    pub factor: Band,
    /// By unit: how many outcomes a forecast can be made of that knows neither flower nor air, and the sum of the
    /// program's interval scores over the sum of that forecast's.
    pub against_naive: Vec<(&'static str, usize, f64)>,
}

/// How sharp the predictions are.
pub fn sharpness(comparisons: &[Comparison]) -> Sharpness {
    let judging = || comparisons.iter().filter(|c| c.experiment.role == Use::Check);
    let mut factors: Vec<f64> =
        judging().filter_map(|c| c.predicted).filter(|p| p.p05 > 0.0).map(|p| p.p95 / p.p05).collect();
    factors.sort_by(f64::total_cmp);
    let against = |unit: &'static str| {
        let scores: Vec<[f64; 2]> =
            judging().filter(|c| c.experiment.unit == unit).filter_map(|c| c.scores).collect();
        let sum = |i: usize| scores.iter().map(|s| s[i]).sum::<f64>();
        (unit, scores.len(), sum(0) / sum(1))
    };
    Sharpness {
        factor: Band {
            p05: quantile(&factors, 0.05).expect("a prediction has draws"),
            p50: quantile(&factors, 0.5).expect("a prediction has draws"),
            p95: quantile(&factors, 0.95).expect("a prediction has draws"),
        },
        against_naive: vec![against("%"), against("d"), against("h")],
    }
}

/// How many of the outcomes that judge the program lie inside, how many are met at the edge, of how many.
pub fn score(comparisons: &[Comparison]) -> (usize, usize, usize) {
    let judged: Vec<Verdict> =
        comparisons.iter().filter(|c| c.experiment.role == Use::Check).filter_map(|c| c.verdict).collect();
    let count = |verdict: Verdict| judged.iter().filter(|v| **v == verdict).count();
    (count(Verdict::Inside), count(Verdict::Overlaps), judged.len())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_outcome_has_a_source_and_a_prediction_or_a_reason() {
        for c in compare(1) {
            let e = &c.experiment;
            assert_ne!(crate::flower::catalogue::source(&e.source), "no source", "{}", e.id);
            assert!(e.low <= e.high && !e.conditions.is_empty(), "{}", e.id);
            match e.role {
                Use::Check => assert!(c.predicted.is_some(), "{} has no prediction", e.id),
                Use::Fitted | Use::NotModelled => assert!(!e.note.is_empty(), "{} gives no reason", e.id),
            }
            let missed = e.role == Use::Check && c.verdict.is_some_and(|v| v != Verdict::Inside);
            assert!(!missed || !e.miss.is_empty(), "{}: a miss without a word on it", e.id);
        }
    }

    #[test]
    fn three_of_four_checks_lie_inside_and_they_are_sharp() {
        let comparisons = compare(1);
        let (inside, overlaps, all) = score(&comparisons);
        assert!(all >= 20 && inside * 4 >= all * 3, "{inside} of {all}");
        assert!((inside + overlaps) * 4 >= all * 3, "{inside} and {overlaps} of {all}");
        let Sharpness { factor, against_naive } = sharpness(&comparisons);
        assert!(factor.p50 < 5.0, "{factor:?}");
        let mass_and_life = against_naive.iter().filter(|(_, n, _)| *n >= 6);
        assert_eq!(mass_and_life.filter(|(_, _, ratio)| *ratio < 1.0).count(), 2, "{against_naive:?}");
    }

    #[test]
    fn a_bound_asks_for_half_of_the_prediction_and_a_value_for_its_middle() {
        let verdict = |reads, draws: &[f64]| {
            let experiment = Experiment { reads, low: 0.0, high: 5.0, ..experiments()[0].clone() };
            Verdict::of(&experiment, draws, &Band::of(draws).expect("a prediction has draws"))
        };
        let (low, high) = ([0.5, 1.0, 2.0], [2.0, 6.0, 7.0]);
        assert_eq!(verdict(Reads::Bound, &low), Some(Verdict::Inside));
        assert_eq!(verdict(Reads::Bound, &high), Some(Verdict::Overlaps));
        assert_eq!(verdict(Reads::Value, &low), Some(Verdict::Overlaps));
        assert_eq!(verdict(Reads::Value, &high), Some(Verdict::Inside));
        assert_eq!(verdict(Reads::Bound, &[6.0, 7.0, 8.0]), Some(Verdict::Outside));
        assert_eq!(verdict(Reads::Value, &[2.5]), None);
    }

    #[test]
    fn plants_of_one_species_vary_as_the_open_data_say() {
        // Sydney flower longevity, CC BY 4.0: `sydney-longevity` in reference-data/sources.csv.
        let text = include_str!("../../reference-data/open/sydney-flower-longevity.csv");
        let mut lives: std::collections::BTreeMap<String, Vec<f64>> = Default::default();
        let mut reader = csv::Reader::from_reader(text.as_bytes());
        let header = reader.headers().unwrap().clone();
        let column = |name: &str| header.iter().position(|h| h == name).unwrap();
        let (species, life) = (column("species"), column("longevity_days"));
        for row in reader.records() {
            let row = row.unwrap();
            if let Ok(days) = row[life].parse() {
                lives.entry(row[species].to_string()).or_default().push(days);
            }
        }
        let mut variations: Vec<f64> =
            lives.values().filter(|l| l.len() >= 4).map(|l| predict::variation(l)).collect();
        variations.sort_by(f64::total_cmp);
        let at = |p: f64| crate::stats::quantile(&variations, p).expect("a prediction has draws");
        let known = experiments().iter().find(|e| e.id == "S1-plants").unwrap();
        assert!(
            (at(0.25) - known.low).abs() < 0.02 && (at(0.75) - known.high).abs() < 0.02,
            "{} {}",
            at(0.25),
            at(0.75)
        );
    }
}
