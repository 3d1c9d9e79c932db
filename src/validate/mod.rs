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
    /// How the two lie to each other.
    pub verdict: Option<Verdict>,
}

/// How a prediction lies to what was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The 90 % interval holds what was observed, or the middle of its range.
    Inside,
    /// It meets the observed range, but not its middle.
    Overlaps,
    /// It does not.
    Outside,
}

impl Verdict {
    fn of(experiment: &Experiment, predicted: &Band) -> Verdict {
        let (low, high) = (experiment.low, experiment.high);
        let middle = 0.5 * (low + high);
        if (predicted.p05..=predicted.p95).contains(&middle) {
            Verdict::Inside
        } else if predicted.p05 <= high && low <= predicted.p95 {
            Verdict::Overlaps
        } else {
            Verdict::Outside
        }
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
            let predicted = predict::predict(&experiment.id, seed);
            let verdict = predicted.map(|p| Verdict::of(experiment, &p));
            Comparison { experiment: experiment.clone(), predicted, verdict }
        })
        .collect()
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
    fn two_of_three_checks_lie_inside_and_few_outside() {
        let (inside, overlaps, all) = score(&compare(1));
        assert!(all >= 20 && inside * 3 >= all * 2, "{inside} of {all}");
        assert!((inside + overlaps) * 4 >= all * 3, "{inside} and {overlaps} of {all}");
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
        let at = |p: f64| crate::stats::quantile(&variations, p);
        let known = experiments().iter().find(|e| e.id == "S1-plants").unwrap();
        assert!(
            (at(0.25) - known.low).abs() < 0.02 && (at(0.75) - known.high).abs() < 0.02,
            "{} {}",
            at(0.25),
            at(0.75)
        );
    }
}
