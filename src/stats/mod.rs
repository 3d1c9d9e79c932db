//! Summaries of samples: quantiles, bands, counts of heads. What notes on heads say, and how good a forecast was.

pub mod counts;
pub mod interval;
pub mod lifetime;
pub mod pareto;
pub mod scores;
pub mod sensitivity;
pub mod survival;

/// The 5, 25, 50, 75 and 95 % points of a sample; `None` beyond its horizon.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Quantiles {
    /// 5 %.
    pub p05: Option<f64>,
    /// 25 %.
    pub p25: Option<f64>,
    /// 50 %.
    pub p50: Option<f64>,
    /// 75 %.
    pub p75: Option<f64>,
    /// 95 %.
    pub p95: Option<f64>,
}

impl Quantiles {
    /// Of weighted values, infinite ones counting as beyond the horizon.
    ///
    /// The quantile is the smallest value at which the weight up to and with it reaches the wanted share.
    pub fn of(mut sample: Vec<(f64, f64)>) -> Quantiles {
        sample.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let total: f64 = sample.iter().map(|s| s.1).sum();
        let at = |p: f64| {
            let mut up_to = 0.0;
            let found = sample.iter().find(|(_, weight)| {
                up_to += weight;
                up_to >= p * total * (1.0 - 1e-12)
            });
            found.map(|f| f.0).filter(|v| v.is_finite())
        };
        Quantiles { p05: at(0.05), p25: at(0.25), p50: at(0.50), p75: at(0.75), p95: at(0.95) }
    }
}

/// A median with its 90 % range.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Band {
    /// 5 % point.
    pub p05: f64,
    /// Median.
    pub p50: f64,
    /// 95 % point.
    pub p95: f64,
}

impl Band {
    /// Of equally likely values, at least one.
    pub fn of(values: &[f64]) -> Band {
        // Only what lies about the three points need stand in its place; the rest is left in disorder.
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
        Band { p05: quantile(&values, 0.05), p50: quantile(&values, 0.5), p95: quantile(&values, 0.95) }
    }
}

/// A quantile of sorted values, linear between the order statistics.
///
/// # Source
/// Definition 7 of Hyndman & Fan (1996).
///
/// ```
/// assert_eq!(headwater::stats::quantile(&[1.0, 2.0, 4.0], 0.75), 3.0);
/// ```
pub fn quantile(sorted: &[f64], p: f64) -> f64 {
    let at = p * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    let high = (low + 1).min(sorted.len() - 1);
    // Infinite times stay infinite: no arithmetic on them.
    if part == 0.0 || sorted[low] == sorted[high] {
        sorted[low]
    } else {
        sorted[low] + part * (sorted[high] - sorted[low])
    }
}

/// The standard error of the mean of a stratified sample in the order of its strata.
///
/// # Formula
/// `sqrt(sum (x_{i+1} - x_i)^2 / 2 / (n - 1) / n)`: neighbours differ by what the strata do not explain.
///
/// # Source
/// The successive-difference estimator of survey sampling; the formula is from memory.
///
/// ```
/// use headwater::stats::stratified_error;
/// assert_eq!(stratified_error(&[0.5; 10]), 0.0);
/// let line: Vec<f64> = (0..100).map(|i| f64::from(i) / 100.0).collect();
/// assert!(stratified_error(&line) < 0.001);
/// ```
pub fn stratified_error(in_order: &[f64]) -> f64 {
    let n = in_order.len() as f64;
    let jumps: f64 = in_order.windows(2).map(|w| (w[1] - w[0]).powi(2)).sum();
    (jumps / 2.0 / (n - 1.0) / n).sqrt()
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
            let band = Band::of(&values);
            assert_eq!([band.p05, band.p50, band.p95], [0.05, 0.5, 0.95].map(|p| quantile(&sorted, p)));
        }
    }

    #[test]
    fn quantiles_beyond_the_horizon_are_none() {
        let sample = (1..=10).map(|i| (if i > 6 { f64::INFINITY } else { f64::from(i) }, 1.0)).collect();
        let q = Quantiles::of(sample);
        assert_eq!((q.p05, q.p50, q.p75), (Some(1.0), Some(5.0), None));
    }
}
