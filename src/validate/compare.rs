//! Published outcomes beside their predictions: how many are met, and how sharp the predictions are.

use super::experiments::{Class, Experiment, Reads, Use, experiments};
use super::predict::{Model, predict};
use crate::stats::scores::interval_score;
use crate::stats::{Band, quantile};
use statrs::distribution::{Beta, ContinuousCDF};

/// A published outcome beside its prediction.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// What was published about it.
    pub experiment: Experiment,
    /// The prediction with its 90 % interval, where the program makes one.
    pub predicted: Option<Band>,
    /// What the prediction rests on.
    pub basis: Option<Basis>,
    /// The interval score of the prediction, and that of a forecast that knows neither flower nor air, where there is
    /// one; less is better.
    pub scores: Option<[f64; 2]>,
    /// Whether the prediction meets the outcome, where it has a spread.
    pub verdict: Option<Verdict>,
}

/// What a prediction rests on, beside the flower and the air of the experiment.
#[derive(Debug, Clone, Copy)]
pub struct Basis {
    /// The part of the program that makes it.
    pub model: Model,
    /// Whether it is of means of stems, or of differences of such.
    pub of_means: bool,
}

/// Whether a prediction meets what was observed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Verdict {
    /// The 90 % interval holds what was observed, or the middle of its range; of a bound, half of the draws keep it.
    Inside,
    /// The interval meets the observed range, but no more.
    Overlaps,
    /// The interval does not meet the observed range.
    Outside,
}

impl Verdict {
    /// The verdict on a prediction of equally likely `draws`; `None` where there is only one of them.
    fn of(experiment: &Experiment, draws: &[f64], predicted: &Band) -> Option<Verdict> {
        let (low, high) = (experiment.low, experiment.high);
        let holds = match experiment.reads {
            Reads::Value => (predicted.p05..=predicted.p95).contains(&experiment.middle()),
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

/// Compares every published outcome with its prediction. The same seed gives the same bits.
pub fn compare(seed: u64) -> Vec<Comparison> {
    experiments()
        .iter()
        .map(|experiment| {
            let experiment = experiment.clone();
            let Some(prediction) = predict(&experiment, seed) else {
                return Comparison { experiment, predicted: None, basis: None, scores: None, verdict: None };
            };
            let band = Band::of(&prediction.draws).expect("a prediction has draws");
            Comparison {
                predicted: Some(band),
                basis: Some(Basis { model: prediction.model, of_means: prediction.of_means }),
                scores: prediction.naive.as_ref().map(|naive| {
                    // A bound is scored at the value nearest to the median that keeps it: no more is known.
                    [band, Band::of(naive).expect("a prediction has draws")].map(|b| {
                        let outcome = match experiment.reads {
                            Reads::Value => experiment.middle(),
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

/// How sharp the predictions of the outcomes that judge the program are. That an interval holds what was observed is worth
/// nothing if it would hold everything.
#[derive(Debug, Clone)]
pub struct Sharpness {
    /// The upper end of an interval over its lower end, where both are above 0: the 5, 50 and 95 % points over outcomes.
    pub factor: Band,
    /// For each unit: the number of outcomes for which a forecast exists that knows neither flower nor air, and the sum of
    /// the program's interval scores over the sum of that forecast's.
    pub against_naive: Vec<(&'static str, usize, f64)>,
}

/// The sharpness of the predictions.
///
/// # Panics
/// If no prediction of an outcome that judges the program lies above 0.
pub fn sharpness(comparisons: &[Comparison]) -> Sharpness {
    let judging = || comparisons.iter().filter(|c| c.experiment.role == Use::Check);
    let mut factors: Vec<f64> =
        judging().filter_map(|c| c.predicted).filter(|p| p.p05 > 0.0).map(|p| p.p95 / p.p05).collect();
    factors.sort_by(f64::total_cmp);
    let against = |unit: &'static str| {
        // In the cold or in film the store or the film decides, not the flower.
        let skilled = |c: &&Comparison| {
            let class = c.experiment.class;
            c.experiment.unit == unit && !matches!(class, Class::Pack | Class::Store | Class::Handbook)
        };
        let scores: Vec<[f64; 2]> = judging().filter(skilled).filter_map(|c| c.scores).collect();
        let sum = |i: usize| scores.iter().map(|s| s[i]).sum::<f64>();
        (unit, scores.len(), sum(0) / sum(1))
    };
    Sharpness {
        factor: Band {
            p05: quantile(&factors, 0.05).expect("some outcomes are compared"),
            p50: quantile(&factors, 0.5).expect("some outcomes are compared"),
            p95: quantile(&factors, 0.95).expect("some outcomes are compared"),
        },
        against_naive: vec![against("%"), against("d"), against("h")],
    }
}

/// Of the outcomes that judge the program: how many lie inside, how many are only met at the edge, and how many there are.
pub fn score(comparisons: &[Comparison]) -> (usize, usize, usize) {
    let judged: Vec<Verdict> =
        comparisons.iter().filter(|c| c.experiment.role == Use::Check).filter_map(|c| c.verdict).collect();
    let count = |verdict: Verdict| judged.iter().filter(|v| **v == verdict).count();
    (count(Verdict::Inside), count(Verdict::Overlaps), judged.len())
}

/// How the outcomes of one class that judge the program fared.
#[derive(Debug, Clone, Copy)]
pub struct Covered {
    /// The class.
    pub class: Class,
    /// How many lie inside.
    pub inside: usize,
    /// How many there are.
    pub all: usize,
    /// The 90 % interval of the share inside.
    pub share: [f64; 2],
}

/// How each class fared of which any outcome judges the program.
///
/// # Formula
/// With `k` of `n` inside: the 5 and 95 % points of the beta distribution `B(k + 1/2, n - k + 1/2)`.
///
/// # Source
/// Jeffreys' interval: Brown, Cai & DasGupta (2001), from memory.
pub fn by_class(comparisons: &[Comparison]) -> Vec<Covered> {
    let covered = |class: Class| {
        let verdicts: Vec<Verdict> = comparisons
            .iter()
            .filter(|c| c.experiment.role == Use::Check && c.experiment.class == class)
            .filter_map(|c| c.verdict)
            .collect();
        let (inside, all) = (verdicts.iter().filter(|v| **v == Verdict::Inside).count(), verdicts.len());
        let (hits, misses) = (inside as f64 + 0.5, (all - inside) as f64 + 0.5);
        let beta = Beta::new(hits, misses).expect("both are above 0");
        let share = [beta.inverse_cdf(0.05), beta.inverse_cdf(0.95)];
        (all > 0).then_some(Covered { class, inside, all, share })
    };
    Class::ALL.into_iter().filter_map(covered).collect()
}

#[cfg(test)]
mod tests {
    use super::super::naive::variation;
    use super::*;

    #[test]
    fn every_outcome_has_a_source_and_a_prediction_or_a_reason() {
        for c in compare(1) {
            let e = &c.experiment;
            assert_ne!(crate::flower::catalogue::source(&e.source), "no source", "{}", e.id);
            assert!(e.low <= e.high && !e.conditions.is_empty(), "{}", e.id);
            match e.role {
                Use::Check => assert!(c.predicted.is_some(), "{} has no prediction", e.id),
                Use::Fitted | Use::Member | Use::NotModelled => {
                    assert!(!e.note.is_empty(), "{} gives no reason", e.id)
                }
            }
            let missed = e.role == Use::Check && c.verdict.is_some_and(|v| v != Verdict::Inside);
            assert!(!missed || !e.miss.is_empty(), "{}: a miss without a word on it", e.id);
        }
    }

    #[test]
    fn lives_are_held_losses_of_mass_are_sharp_and_the_weakest_are_those_named() {
        let comparisons = compare(1);
        let (_, _, all) = score(&comparisons);
        assert!(all >= 45, "{all}");
        let judged =
            |class: Class| by_class(&comparisons).iter().find(|c| c.class == class).map_or(0, |c| c.all);
        assert!(judged(Class::Dry) + judged(Class::Petal) >= 8);
        let classes = by_class(&comparisons);
        let share = |class: Class| {
            let found = classes.iter().find(|c| c.class == class).expect("the class is judged");
            found.inside as f64 / found.all as f64
        };
        assert!(share(Class::Life) >= 0.8, "{classes:?}");
        // README says so in its first sentence about trust.
        let weak = [Class::Petal, Class::Dry, Class::Store];
        let held: Vec<usize> =
            weak.iter().filter_map(|w| classes.iter().find(|c| c.class == *w)).map(|c| c.inside).collect();
        let weakest = classes
            .iter()
            .all(|c| weak.contains(&c.class) || weak.iter().all(|w| share(*w) <= share(c.class)));
        assert!(
            weakest && held == [3, 4, 7],
            "{classes:?}: README says that these three are weakest, and how weak"
        );
        let Sharpness { factor, against_naive } = sharpness(&comparisons);
        assert!(factor.p50 < 7.0, "{factor:?}");
        assert!(against_naive.iter().any(|(unit, n, ratio)| *unit == "%" && *n >= 3 && *ratio < 1.0));
    }

    #[test]
    fn a_bound_asks_for_half_of_the_prediction_and_a_value_for_its_middle() {
        let verdict = |reads, draws: &[f64]| {
            let experiment = Experiment { reads, low: 0.0, high: 5.0, ..experiments()[0].clone() };
            Verdict::of(&experiment, draws, &Band::of(draws).expect("draws"))
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
            lives.values().filter(|l| l.len() >= 4).map(|l| variation(l)).collect();
        variations.sort_by(f64::total_cmp);
        let at = |p: f64| quantile(&variations, p).expect("plants");
        let known = experiments().iter().find(|e| e.id == "S1-plants").unwrap();
        assert!(
            (at(0.25) - known.low).abs() < 0.02 && (at(0.75) - known.high).abs() < 0.02,
            "{} {}",
            at(0.25),
            at(0.75)
        );
    }
}
