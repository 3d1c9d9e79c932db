//! The model held against published experiments, each from its own conditions.
//!
//! `reference-data/experiments.csv` has a row for every published outcome: what was observed, under which conditions,
//! by whom, and whether the program was set from it (`fitted`), does not hold what it would take (`not modelled`), or
//! can be judged by it (`check`). Here is, for each row that can be predicted, the prediction: nothing is tuned.

pub mod influence;
mod predict;

use crate::stats::Band;
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
    /// The program does not hold what it would take.
    #[serde(rename = "not modelled")]
    NotModelled,
}

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
    /// What it is to the program.
    #[serde(rename = "use")]
    pub role: Use,
    /// The id of its source in sources.csv.
    pub source: String,
    /// Under which conditions.
    pub conditions: String,
    /// What to know about it.
    pub note: String,
    /// What it means for a florist if the prediction misses.
    pub miss: String,
}

/// An outcome beside its prediction.
#[derive(Debug, Clone, serde::Serialize)]
pub struct Comparison {
    /// The outcome.
    #[serde(flatten)]
    pub experiment: Experiment,
    /// The prediction with its 90 % interval, where the program makes one.
    pub predicted: Option<Band>,
    /// Whether the interval holds what was observed.
    pub inside: Option<bool>,
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

/// Every outcome beside its prediction. An interval holds an outcome if it meets the observed range.
pub fn compare(seed: u64) -> Vec<Comparison> {
    experiments()
        .iter()
        .map(|experiment| {
            let predicted = predict::predict(&experiment.id, seed);
            let inside = predicted.map(|p| p.p05 <= experiment.high && experiment.low <= p.p95);
            Comparison { experiment: experiment.clone(), predicted, inside }
        })
        .collect()
}

/// How many of the outcomes that judge the program lie inside, of how many.
pub fn score(comparisons: &[Comparison]) -> (usize, usize) {
    let judged: Vec<bool> =
        comparisons.iter().filter(|c| c.experiment.role == Use::Check).filter_map(|c| c.inside).collect();
    (judged.iter().filter(|i| **i).count(), judged.len())
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
            let missed = e.role == Use::Check && c.inside == Some(false);
            assert!(!missed || !e.miss.is_empty(), "{}: a miss without a word on it", e.id);
        }
    }

    #[test]
    fn four_of_five_checks_lie_inside() {
        let (inside, all) = score(&compare(1));
        assert!(all >= 25 && inside * 5 >= all * 4, "{inside} of {all}");
    }
}
