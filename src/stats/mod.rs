//! Statistics: summaries of samples ([`Quantiles`], [`Band`], [`counts`]), survival analysis of censored observations
//! ([`survival`]), scores of forecasts ([`scores`]), importance weights ([`pareto`]) and variance-based
//! sensitivity ([`sensitivity`]).

pub mod counts;
pub mod pareto;
pub mod scores;
pub mod sensitivity;
pub mod survival;

/// The 5, 25, 50, 75 and 95 % points of a sample of times; `None` where a point lies beyond the horizon of the simulation.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Quantiles {
    /// The 5 % point.
    pub p05: Option<f64>,
    /// The 25 % point.
    pub p25: Option<f64>,
    /// The median, or 50 % point.
    pub p50: Option<f64>,
    /// The 75 % point.
    pub p75: Option<f64>,
    /// The 95 % point.
    pub p95: Option<f64>,
}

impl Quantiles {
    /// The quantiles of (value, weight) pairs, infinite values being beyond the horizon; `None` without pairs, and where a
    /// value is NaN, a weight negative or NaN, or all weights 0.
    ///
    /// A quantile is the smallest value at which the cumulative weight reaches the wanted share: definition 1 of Hyndman &
    /// Fan (1996).
    pub fn of(mut sample: Vec<(f64, f64)>) -> Option<Quantiles> {
        if !sample.iter().all(|(value, weight)| !value.is_nan() && *weight >= 0.0) {
            return None;
        }
        sample.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let total: f64 = sample.iter().map(|s| s.1).sum();
        if !(total > 0.0 && total.is_finite()) {
            return None;
        }
        let at = |p: f64| {
            let mut up_to = 0.0;
            let found = sample.iter().find(|(_, weight)| {
                up_to += weight;
                up_to >= p * total * (1.0 - 1e-12)
            });
            found.map(|f| f.0).filter(|v| v.is_finite())
        };
        Some(Quantiles { p05: at(0.05), p25: at(0.25), p50: at(0.50), p75: at(0.75), p95: at(0.95) })
    }
}

/// A median with the 5 and 95 % points, which hold nine values in ten.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Band {
    /// The 5 % point.
    pub p05: f64,
    /// The 50 % point, or median.
    pub p50: f64,
    /// The 95 % point.
    pub p95: f64,
}

impl Band {
    /// The band of equally likely values, by [`quantile`]; `None` without values.
    pub fn of(values: &[f64]) -> Option<Band> {
        if values.is_empty() {
            return None;
        }
        // A partial sort: only the values next to the three points must be in their places.
        let mut values = values.to_vec();
        let mut done = 0;
        for p in [0.05, 0.5, 0.95] {
            let low = (p * (values.len() - 1) as f64).floor() as usize;
            for place in [low, (low + 1).min(values.len() - 1)] {
                if place >= done {
                    values[done..].select_nth_unstable_by(place - done, f64::total_cmp);
                    done = place + 1;
                }
            }
        }
        Some(Band {
            p05: quantile(&values, 0.05)?,
            p50: quantile(&values, 0.5)?,
            p95: quantile(&values, 0.95)?,
        })
    }
}

/// The quantile of sorted values at a probability `p`, linear between order statistics; `None` without values, and where `p`
/// is not from 0 to 1.
///
/// # Source
/// Definition 7 of Hyndman & Fan (1996).
///
/// ```
/// use headwater::stats::quantile;
/// assert_eq!(quantile(&[1.0, 2.0, 4.0], 0.75), Some(3.0));
/// assert_eq!(quantile(&[], 0.75), None);
/// ```
pub fn quantile(sorted: &[f64], p: f64) -> Option<f64> {
    if sorted.is_empty() || !(0.0..=1.0).contains(&p) {
        return None;
    }
    let at = p * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    // No arithmetic on infinite times: their difference would be NaN.
    if part == 0.0 || sorted[low] == sorted[high] {
        Some(sorted[low])
    } else {
        Some(sorted[low] + part * (sorted[high] - sorted[low]))
    }
}

/// The standard error of the mean of a stratified sample, given in the order of its strata; `None` for fewer than two values.
///
/// # Formula
/// `sqrt(sum (x_{i+1} - x_i)^2 / 2 / (n - 1) / n)`: neighbours differ by what the strata do not explain.
///
/// # Source
/// The successive-difference estimator of survey sampling; the formula is from memory.
///
/// ```
/// use headwater::stats::stratified_error;
/// assert_eq!(stratified_error(&[0.5; 10]), Some(0.0));
/// assert_eq!(stratified_error(&[0.5]), None);
/// let line: Vec<f64> = (0..100).map(|i| f64::from(i) / 100.0).collect();
/// assert!(stratified_error(&line).unwrap() < 0.001);
/// ```
pub fn stratified_error(in_order: &[f64]) -> Option<f64> {
    if in_order.len() < 2 {
        return None;
    }
    let n = in_order.len() as f64;
    let jumps: f64 = in_order.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
    Some((jumps / 2.0 / (n - 1.0) / n).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_band_is_that_of_the_sorted_values() {
        for n in 1..80u32 {
            let values: Vec<f64> = (0..n).map(|i| f64::from(i * 37 % 83)).collect();
            let mut sorted = values.clone();
            sorted.sort_by(f64::total_cmp);
            let band = Band::of(&values).unwrap();
            assert_eq!(
                [band.p05, band.p50, band.p95],
                [0.05, 0.5, 0.95].map(|p| quantile(&sorted, p).unwrap())
            );
        }
    }

    #[test]
    fn quantiles_beyond_the_horizon_are_none() {
        let sample = (1..=10).map(|i| (if i > 6 { f64::INFINITY } else { f64::from(i) }, 1.0)).collect();
        let q = Quantiles::of(sample).unwrap();
        assert_eq!((q.p05, q.p50, q.p75), (Some(1.0), Some(5.0), None));
    }

    #[test]
    fn nothing_has_no_quantiles() {
        assert_eq!((Band::of(&[]), quantile(&[], 0.5), Quantiles::of(vec![])), (None, None, None));
        assert_eq!((quantile(&[1.0], -0.1), quantile(&[1.0], f64::NAN)), (None, None));
        for sample in
            [vec![(1.0, 0.0)], vec![(1.0, f64::NAN)], vec![(f64::NAN, 1.0)], vec![(1.0, -1.0), (2.0, 3.0)]]
        {
            assert_eq!(Quantiles::of(sample.clone()), None, "{sample:?}");
        }
        assert_eq!((stratified_error(&[]), stratified_error(&[1.0])), (None, None));
    }
}
