//! Values of general-purpose statistics programs and printed tables, row by row, against the program's own functions.
//!
//! The tables and their columns are described in `reference-data/checks/README.md`.

mod checks;

use checks::{Got, Row, check, folder};
use headwater::numerics::normal;
use headwater::numerics::random::Key;
use headwater::stats::lifetime::{Distribution, Fit, Lifetime};
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
        ("Kaplan-Meier", "standard error of S(t)") => curve.standard_error(t()),
        ("Kaplan-Meier", "95% lower" | "95% upper") => side(curve.limits(t(), scale()?, LEVEL)?),
        ("Nelson-Aalen", "H(t)") => curve.step(t())?.hazard,
        ("Nelson-Aalen", "standard error of H(t)") => curve.step(t())?.hazard_variance.sqrt(),
        ("quantiles", "median" | "25% quantile of T") => curve.quantile(p)?,
        ("quantiles", _) => {
            let (low, high) = curve.quantile_limits(p, scale()?, LEVEL);
            if row.quantity.ends_with("lower") { low? } else { high? }
        }
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

fn distribution(row: &Row) -> Option<Distribution> {
    Some(match row.variant.split([' ', ',']).next()? {
        "weibull" => Distribution::Weibull,
        "lognormal" => Distribution::Lognormal,
        "loglogistic" => Distribution::LogLogistic,
        _ => return None,
    })
}

fn censored_fits(row: &Row) -> Option<f64> {
    const LEVEL: f64 = 0.95;
    if row.topic == "Turnbull" {
        let curve = Turnbull::of(&endings(row));
        return Some(match row.quantity.as_str() {
            "S(t)" => curve.survival(row.get("t")),
            "probability mass on (L,R]" => {
                let stretch = |m: &&Ending| (m.after, m.by) == (row.get("L"), row.get("R"));
                curve.masses.iter().find(stretch)?.count
            }
            _ => return None,
        });
    }
    let circumstances = |line: &Line| match row.inputs["formula"].as_str() {
        Some("~ x") => vec![1000.0 / (273.2 + number(line, "temp_C"))],
        Some("~ log(load)") => vec![number(line, "load").ln()],
        _ => Vec::new(),
    };
    let heads: Vec<_> = lines(row).iter().map(|l| (ending(l), circumstances(l))).collect();
    let fit = Fit::of(distribution(row)?, &heads)?;
    let last = fit.coefficients.len();
    let side = |(low, high): (f64, f64)| if row.quantity.contains("lower") { low } else { high };
    // The scale of a Weibull distribution is the quantile at which 63.2 % have ended.
    let scale = -(-1.0f64).exp_m1();
    Some(match row.quantity.as_str() {
        "mu (location of ln T)" | "coefficient (Intercept)" => fit.coefficients[0],
        "coefficient x" | "coefficient log(load)" => fit.coefficients[1],
        "sigma (scale of ln T)" | "sigma" => fit.sigma,
        "log likelihood" => fit.log_likelihood,
        "standard error of mu" | "standard error (Intercept)" => fit.standard_error(0),
        "standard error x" | "standard error log(load)" => fit.standard_error(1),
        "standard error of ln sigma" => fit.standard_error(last),
        "AIC" => fit.aic(),
        "shape" => 1.0 / fit.sigma,
        "scale (63.2% life)" => fit.at(&[]).quantile(scale),
        "standard error of scale" => fit.at(&[]).quantile(scale) * fit.standard_error(0),
        "95% lower of scale" | "95% upper of scale" => side(fit.quantile_limits(scale, &[], LEVEL)),
        "quantile" => fit.at(&[]).quantile(row.get("p")),
        "quantile 95% lower" | "quantile 95% upper" if !row.variant.contains("likelihood ratio") => {
            side(fit.quantile_limits(row.get("p"), &[], LEVEL))
        }
        "S(t) of fit" => fit.at(&[]).survival(row.get("t")),
        _ => return None,
    })
}

/// A lifetime with the parameters of a row.
fn lifetime(row: &Row) -> Option<Lifetime> {
    if row.has("mu") {
        return Some(Lifetime {
            distribution: Distribution::Lognormal,
            mu: row.get("mu"),
            sigma: row.get("sigma"),
        });
    }
    Some(Lifetime {
        distribution: distribution(row)?,
        mu: row.get("scale").ln(),
        sigma: 1.0 / row.get("shape"),
    })
}

fn distributions(row: &Row) -> Option<f64> {
    Some(match (row.topic.as_str(), row.quantity.as_str(), row.variant.as_str()) {
        ("lognormal", "median", _) => lifetime(row)?.quantile(0.5),
        ("lognormal", "5% quantile", _) => lifetime(row)?.quantile(0.05),
        ("lognormal", "95% quantile", _) => lifetime(row)?.quantile(0.95),
        ("distribution", "S(t)", _) => lifetime(row)?.survival(row.get("t")),
        ("distribution", "quantile", _) => lifetime(row)?.quantile(row.get("p")),
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
            KaplanMeier::of(&heads).standard_error(1.0)
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
    check(TABLE, "A3", non_parametric, 376, 0);
}

#[test]
fn distributions_are_fitted_as_elsewhere() {
    check(TABLE, "A4", censored_fits, 342, 0);
}

#[test]
fn distributions_and_scores_agree_with_published_values() {
    check(TABLE, "A5", distributions, 67, 63);
}

#[test]
fn shares_of_variance_agree_with_closed_forms() {
    check(TABLE, "A7", sensitivity, 38, 1);
    for shares in [ishigami(), sobol_g(), linear()] {
        assert!(shares.first.iter().chain(&shares.total).all(|s| s.error < 0.006));
    }
}

#[test]
fn notes_without_an_end_hold_no_fit() {
    for distribution in [Distribution::Weibull, Distribution::Lognormal, Distribution::LogLogistic] {
        assert!(Fit::to(distribution, &[]).is_none());
        assert!(Fit::to(distribution, &[Ending::later_than(5.0).times(8.0)]).is_none());
        assert!(
            Fit::to(distribution, &[Ending::at(5.0).times(8.0)]).is_none(),
            "{distribution:?}: all alike"
        );
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

/// It does not matter from where circumstances are counted: limits at 22 C are those at 0 K above 22 C.
#[test]
fn limits_do_not_hang_on_where_circumstances_are_counted_from() {
    let hours =
        [(20.0, 30.0), (20.0, 41.0), (22.0, 25.0), (22.0, 19.0), (25.0, 17.0), (25.0, 12.0), (25.0, 21.0)];
    let heads = |origin: f64| -> Vec<(Ending, Vec<f64>)> {
        hours.iter().map(|&(c, h)| (Ending::between(0.9 * h, 1.1 * h), vec![c - origin])).collect()
    };
    for distribution in [Distribution::Weibull, Distribution::Lognormal, Distribution::LogLogistic] {
        let (plain, shifted) = (
            Fit::of(distribution, &heads(0.0)).expect("a fit"),
            Fit::of(distribution, &heads(22.0)).expect("a fit"),
        );
        for p in [0.1, 0.5] {
            let (here, there) = (plain.at(&[22.0]).quantile(p), shifted.at(&[0.0]).quantile(p));
            assert!((here / there - 1.0).abs() < 1e-6, "{distribution:?}: {here} {there}");
            let (low, high) = plain.quantile_limits(p, &[22.0], 0.9);
            let (other_low, other_high) = shifted.quantile_limits(p, &[0.0], 0.9);
            assert!(
                (low / other_low - 1.0).abs() < 1e-5 && (high / other_high - 1.0).abs() < 1e-5,
                "{distribution:?}: {low} to {high}, {other_low} to {other_high}"
            );
            assert!(low < here && here < high, "{distribution:?}: {low} {here} {high}");
        }
    }
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

    #[test]
    fn a_fit_scales_with_the_clock(hours in proptest::collection::vec(1.0..50.0_f64, 4..20), pace in 0.1..10.0_f64) {
        let looks = |k: f64| -> Vec<Ending> {
            hours.iter().map(|h| Ending::between(k * 0.8 * h, k * 1.2 * h)).collect()
        };
        for distribution in [Distribution::Weibull, Distribution::Lognormal, Distribution::LogLogistic] {
            let (Some(here), Some(there)) = (Fit::to(distribution, &looks(1.0)), Fit::to(distribution, &looks(pace))) else {
                continue; // the looks overlap so much that one time would explain them all
            };
            let median = |fit: &Fit| fit.at(&[]).quantile(0.5);
            prop_assert!((median(&there) / median(&here) / pace - 1.0).abs() < 1e-6);
            prop_assert!((there.sigma / here.sigma - 1.0).abs() < 1e-6);
        }
    }
}
