//! Values of general-purpose statistics programs and printed tables, row by row, against the program's own functions.
//!
//! The tables and their columns are described in `reference-data/checks/README.md`.

mod checks;

use checks::{Got, Row, check, folder};
use headwater::numerics::normal;
use headwater::numerics::random::Key;
use headwater::stats::scores;
use headwater::stats::sensitivity::{Estimate, Sobol, sobol};
use headwater::stats::survival::{Ending, KaplanMeier, Scale, Turnbull, log_rank};
use headwater::stats::{Quantiles, quantile, stratified_error};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::sync::LazyLock;

const TABLE: &str = "published-statistics.csv";

/// One line of a data set.
type Line = BTreeMap<String, String>;

/// The lines of the row's data set that its group or subset names.
fn lines(row: &Row) -> Vec<Line> {
    let file = row.inputs["file"].as_str().expect("a file");
    let chosen = row.inputs["group"].as_str().or(row.inputs["subset"].as_str()).unwrap_or("");
    let keep = |line: &Line| {
        if let Some((column, least)) = chosen.split_once('>') {
            return line[column.trim()].parse::<f64>().unwrap() > least.trim().parse().unwrap();
        }
        chosen
            .split_once("==")
            .is_none_or(|(column, value)| line[column.trim()] == value.trim().trim_matches('\''))
    };
    csv::Reader::from_path(folder().join(file))
        .expect("a data set")
        .deserialize()
        .map(|line| line.expect("a line"))
        .filter(keep)
        .collect()
}

fn number(line: &Line, column: &str) -> f64 {
    line[column].parse().unwrap_or_else(|_| panic!("{column}: {line:?}"))
}

fn ending(line: &Line) -> Ending {
    if line.contains_key("left") {
        let count = line.get("count").map_or(1.0, |c| c.parse().expect("a count"));
        return Ending::between(number(line, "left"), number(line, "right")).times(count);
    }
    let time = number(line, "time");
    if line["event"] == "1" { Ending::at(time) } else { Ending::later_than(time) }
}

fn endings(row: &Row) -> Vec<Ending> {
    lines(row).iter().map(ending).collect()
}

fn non_parametric(row: &Row) -> Option<f64> {
    const LEVEL: f64 = 0.95;
    if row.topic == "log-rank" {
        return test_of_groups(row);
    }
    let curve = KaplanMeier::of(&endings(row));
    let t = || row.get("t");
    let scale = || match row.variant.as_str() {
        v if v.contains("log-log") || v.starts_with("log(-log S)") => Some(Scale::LogLog),
        v if v.starts_with("log S") || v.ends_with("via log limits") => Some(Scale::Log),
        v if v.starts_with("plain") => Some(Scale::Plain),
        _ => None,
    };
    let side = |(low, high): (f64, f64)| {
        if row.quantity.ends_with("lower") { low } else { high }
    };
    let p = if row.quantity.starts_with("25%") { 0.25 } else { 0.5 };
    Some(match (row.topic.as_str(), row.quantity.as_str()) {
        ("Kaplan-Meier", "S(t)") => curve.survival(t()),
        ("Kaplan-Meier", "number at risk just before t") => curve.at_risk(t()),
        ("Kaplan-Meier", "95% lower" | "95% upper") => side(curve.limits(t(), scale()?, LEVEL)?),
        ("quantiles", "median" | "25% quantile of T") => curve.quantile(p)?,
        _ => return None,
    })
}

/// The groups of a column, in the order of the alphabet.
fn test_of_groups(row: &Row) -> Option<f64> {
    let mut groups: BTreeMap<String, Vec<Ending>> = BTreeMap::new();
    let column = row.inputs["group"].as_str()?;
    for line in lines(row) {
        groups.entry(line[column].clone()).or_default().push(ending(&line));
    }
    let groups: Vec<Vec<Ending>> = groups.into_values().collect();
    let rho = if row.variant.contains("rho=1") { 1.0 } else { 0.0 };
    let test = log_rank(&groups[0], &groups[1], rho);
    Some(match row.quantity.as_str() {
        "chi-square" => test.chi_square,
        "p value" => test.p_value,
        "observed events, first group" => test.observed,
        "expected events, first group" => test.expected,
        "variance of O-E, first group" => test.variance,
        _ => return None,
    })
}

fn between_looks(row: &Row) -> Option<f64> {
    let curve = Turnbull::of(&endings(row));
    Some(match row.quantity.as_str() {
        "S(t)" => curve.survival(row.get("t")),
        "probability mass on (L,R]" => {
            let stretch = |m: &&Ending| (m.after, m.by) == (row.get("L"), row.get("R"));
            curve.masses.iter().find(stretch)?.count
        }
        _ => return None,
    })
}

fn distributions(row: &Row) -> Option<f64> {
    Some(match (row.topic.as_str(), row.quantity.as_str(), row.variant.as_str()) {
        // As the population's correlated traits are drawn.
        ("correlated normals", quantity, _) => {
            let (mu, sd, z) = (row.list("mu"), row.list("sd"), DVector::from_vec(row.list("z")));
            let corr = |i: usize, j: usize| row.inputs["corr"][i][j].as_f64().expect("a number");
            let root = DMatrix::from_fn(z.len(), z.len(), corr).cholesky()?.l();
            let digits: Vec<usize> =
                quantity.matches(|c: char| c.is_ascii_digit()).map(|d| d.parse().expect("a digit")).collect();
            if quantity.starts_with('L') {
                root[(digits[0], digits[1])]
            } else {
                mu[digits[0]] + sd[digits[0]] * (root * z)[digits[0]]
            }
        }
        ("Kolmogorov-Smirnov", _, "exact finite n") => {
            let (n, held) = (row.get("n") as usize, 1.0 - row.get("alpha"));
            let (mut low, mut high) = (0.5 / n as f64, 1.0);
            for _ in 0..60 {
                let middle = 0.5 * (low + high);
                *if scores::kolmogorov(n, middle) < held { &mut low } else { &mut high } = middle;
            }
            low
        }
        ("scoring", "PIT value", _) => normal::upper_tail((row.get("mu") - row.get("y")) / row.get("sigma")),
        ("scoring", "CRPS", form) if row.has("ensemble") => {
            scores::crps(&row.list("ensemble"), row.get("y"), form.contains("fair"))
        }
        ("scoring", "Brier score", _) => {
            let happened = row.list("o").into_iter().map(|o| o == 1.0);
            scores::brier(&row.list("p").into_iter().zip(happened).collect::<Vec<_>>())
        }
        ("sample quantile", _, "type 7 (numpy/R default)") => quantile(&row.list("x"), row.get("p")).unwrap(),
        ("sample quantile", _, "type 1 (inverse ECDF)") => {
            let q = Quantiles::of(row.list("x").into_iter().map(|x| (x, 1.0)).collect()).unwrap();
            match row.get("p") {
                0.05 => q.p05?,
                0.25 => q.p25?,
                0.5 => q.p50?,
                0.95 => q.p95?,
                _ => return None,
            }
        }
        // Greenwood's standard error is the binomial one where all ends are seen.
        ("Monte Carlo", _, _) => {
            let (n, ended) = (row.get("n"), (row.get("n") * row.get("p")).round());
            let heads = [Ending::at(1.0).times(ended), Ending::at(2.0).times(n - ended)];
            let curve = KaplanMeier::of(&heads);
            let step = curve.step(1.0)?;
            step.survival * step.greenwood.sqrt()
        }
        _ => return None,
    })
}

/// Samples enough to hold every index of these functions to a hundredth.
const SAMPLES: usize = 1 << 17;

fn ishigami() -> &'static Sobol {
    static SHARES: LazyLock<Sobol> = LazyLock::new(|| {
        sobol(3, SAMPLES, Key::named(1, "Ishigami"), |u| {
            let x: Vec<f64> = u.iter().map(|u| PI * (2.0 * u - 1.0)).collect();
            x[0].sin() + 7.0 * x[1].sin().powi(2) + 0.1 * x[2].powi(4) * x[0].sin()
        })
    });
    &SHARES
}

fn sobol_g() -> &'static Sobol {
    static SHARES: LazyLock<Sobol> = LazyLock::new(|| {
        const A: [f64; 8] = [0.0, 1.0, 4.5, 9.0, 99.0, 99.0, 99.0, 99.0];
        sobol(8, SAMPLES, Key::named(1, "Sobol g"), |u| {
            u.iter().zip(A).map(|(u, a)| ((4.0 * u - 2.0).abs() + a) / (1.0 + a)).product()
        })
    });
    &SHARES
}

fn linear() -> &'static Sobol {
    static SHARES: LazyLock<Sobol> = LazyLock::new(|| {
        sobol(3, SAMPLES, Key::named(1, "linear"), |u| {
            u.iter().enumerate().map(|(i, u)| (i + 1) as f64 * normal::quantile(*u)).sum()
        })
    });
    &SHARES
}

impl From<Estimate> for Got {
    fn from(estimate: Estimate) -> Self {
        Got { value: estimate.value, error: estimate.error }
    }
}

fn sensitivity(row: &Row) -> Option<Estimate> {
    let shares = match row.topic.as_str() {
        "Ishigami" => {
            assert_eq!((row.get("a"), row.get("b")), (7.0, 0.1), "{}", row.id);
            ishigami()
        }
        "Sobol g" => sobol_g(),
        "linear model" => linear(),
        _ => return None,
    };
    let number = |prefix: &str| -> Option<usize> {
        let rest = row.quantity.strip_prefix(prefix)?;
        let digits = rest.trim_start_matches('[').chars().next()?;
        Some(digits.to_digit(10)? as usize - 1)
    };
    Some(match row.quantity.as_str() {
        "mean" => shares.mean,
        "var" | "variance" => shares.variance,
        // "S1[2] estimate", "ST[2]", "ST2", "S[2]", "S2"
        q if q.starts_with("ST") => shares.total[number("ST")?],
        q if q.starts_with("S1[") => shares.first[number("S1")?],
        _ => shares.first[number("S")?],
    })
}

#[test]
fn notes_of_heads_are_summed_up_as_elsewhere() {
    check(TABLE, "A3", non_parametric, 257, 0);
}

#[test]
fn notes_between_looks_are_summed_up_as_elsewhere() {
    check(TABLE, "A4", between_looks, 22, 0);
}

#[test]
fn distributions_and_scores_agree_with_published_values() {
    check(TABLE, "A5", distributions, 40, 38);
}

#[test]
fn shares_of_variance_agree_with_closed_forms() {
    check(TABLE, "A7", sensitivity, 38, 1);
    for shares in [ishigami(), sobol_g(), linear()] {
        assert!(shares.first.iter().chain(&shares.total).all(|s| s.error < 0.006));
    }
}

/// Of one draw, two and three the chance can be worked out on paper. One keeps within `d` of an even spread if it lies between
/// `1 - d` and `d`. Of two the smaller must lie between `1/2 - d` and `d`, the larger between `1 - d` and `1/2 + d`: from a
/// half on, neither both below `1 - d` nor both above `d`. Of three, between a third and a half: the first in `[0, d]`, the
/// second in `[2/3 - d, 1/3 + d]`, the third in `[1 - d, 1]`, less where neighbours change places, each `(2d - 2/3)^2 d / 2`.
#[test]
fn few_draws_keep_to_an_even_spread_as_on_paper() {
    for d in [0.5, 0.6, 0.75, 0.9, 1.0] {
        assert!((scores::kolmogorov(1, d) - (2.0 * d - 1.0)).abs() < 1e-12, "{d}");
        assert!((scores::kolmogorov(2, d) - (1.0 - 2.0 * (1.0 - d).powi(2))).abs() < 1e-12, "{d}");
    }
    for d in [0.25, 0.3, 0.4, 0.45, 0.5] {
        assert!((scores::kolmogorov(2, d) - 2.0 * (2.0 * d - 0.5).powi(2)).abs() < 1e-12, "{d}");
    }
    for d in [0.34_f64, 0.4, 0.45, 0.49] {
        let volume = d * d * (2.0 * d - 1.0 / 3.0) - d * (2.0 * d - 2.0 / 3.0).powi(2);
        assert!((scores::kolmogorov(3, d) - 6.0 * volume).abs() < 1e-12, "{d}");
    }
    assert_eq!(scores::kolmogorov(5, 0.0), 0.0);
}

/// Jumps of 1, 1 and 1 between four strata: sqrt(3 / 2 / 3 / 4).
#[test]
fn the_error_of_four_strata_is_as_on_paper() {
    assert!((stratified_error(&[0.0, 1.0, 0.0, 1.0]).unwrap() - 0.125f64.sqrt()).abs() < 1e-12);
}

/// Heads that ended at whole hours, or were last seen then.
fn notes() -> impl Strategy<Value = Vec<Ending>> {
    let note = (1u32..20, any::<bool>(), 1u32..4).prop_map(|(hour, seen, count)| {
        let hour = f64::from(hour);
        let end = if seen { Ending::at(hour) } else { Ending::later_than(hour) };
        end.times(f64::from(count))
    });
    proptest::collection::vec(note, 1..30)
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: Some(Box::new(FileFailurePersistence::WithSource("regressions"))),
        ..ProptestConfig::default()
    })]

    #[test]
    fn both_estimators_agree_on_exact_and_open_ends(notes in notes(), hour in 0.0..21.0_f64) {
        let (product, masses) = (KaplanMeier::of(&notes), Turnbull::of(&notes));
        prop_assert!((product.survival(hour) - masses.survival(hour)).abs() < 1e-6);
    }

    #[test]
    fn a_count_is_as_many_heads(notes in notes(), hour in 0.0..21.0_f64) {
        let one_by_one: Vec<Ending> =
            notes.iter().flat_map(|n| vec![n.times(1.0); n.count as usize]).collect();
        let (counted, listed) = (KaplanMeier::of(&notes), KaplanMeier::of(&one_by_one));
        prop_assert_eq!(counted.step(hour), listed.step(hour));
        prop_assert_eq!(counted.quantile(0.5), listed.quantile(0.5));
    }
}
