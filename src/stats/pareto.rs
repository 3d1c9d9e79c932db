//! Pareto-smoothed importance weights, and the shape of their tail, which says whether they can be trusted.

/// Shape and scale of a generalised Pareto distribution fitted to positive exceedances in rising order.
///
/// # Formula
/// The quasi-Bayesian profile estimator, with the shape drawn weakly towards one half as ten exceedances would.
///
/// # Source
/// Zhang & Stephens (2009); Vehtari, Simpson, Gelman, Yao & Gabry (2024) for the prior on the shape, from memory.
///
/// # Panics
/// Without exceedances.
pub fn fit(sorted: &[f64]) -> (f64, f64) {
    let n = sorted.len();
    let points = 30 + (n as f64).sqrt().floor() as usize;
    let quartile = sorted[((n as f64 / 4.0 + 0.5).floor() as usize).max(1) - 1];
    let largest = sorted[n - 1];
    let grid: Vec<f64> = (1..=points)
        .map(|i| (1.0 - (points as f64 / (i as f64 - 0.5)).sqrt()) / (3.0 * quartile) + 1.0 / largest)
        .collect();
    let shape_at = |b: f64| sorted.iter().map(|x| (-b * x).ln_1p()).sum::<f64>() / n as f64;
    let profile: Vec<f64> = grid
        .iter()
        .map(|&b| {
            let k = shape_at(b);
            n as f64 * ((-b / k).ln() - k - 1.0)
        })
        .collect();
    let weights: Vec<f64> =
        profile.iter().map(|l| 1.0 / profile.iter().map(|m| (m - l).exp()).sum::<f64>()).collect();
    let total: f64 = weights.iter().sum();
    let b = grid.iter().zip(&weights).map(|(b, w)| b * w / total).sum::<f64>();
    let k = shape_at(b);
    let shape = (n as f64 * k + 10.0 * 0.5) / (n as f64 + 10.0);
    (shape, -k / b)
}

/// Smoothed importance weights, and how heavy their tail is.
#[derive(Debug, Clone)]
pub struct Smoothed {
    /// The weights, which sum to 1.
    pub weights: Vec<f64>,
    /// The shape of the tail: below about 0.7 the weights can be trusted.
    pub k: f64,
    /// Effective sample size: the number of equally weighted draws that they are worth.
    pub effective: f64,
}

/// Replaces the largest weights by the quantiles of a generalised Pareto distribution fitted to them.
///
/// # Panics
/// With fewer than two weights.
///
/// # Source
/// Vehtari, Simpson, Gelman, Yao & Gabry (2024), "Pareto smoothed importance sampling", from memory; checked against
/// a general-purpose library in `tests/learning.rs`.
///
/// # Examples
/// ```
/// let even = headwater::stats::pareto::smooth(&[0.0; 100]);
/// assert!((even.effective - 100.0).abs() < 1e-9);
/// ```
pub fn smooth(log_weights: &[f64]) -> Smoothed {
    let n = log_weights.len();
    let top = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut logs: Vec<f64> = log_weights.iter().map(|w| w - top).collect();
    let tail = (0.2 * n as f64).min(3.0 * (n as f64).sqrt()).ceil() as usize;
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| logs[a].total_cmp(&logs[b]));
    let cutoff = logs[order[n - tail - 1]].max(f64::MIN_POSITIVE.ln());
    let beyond: Vec<usize> = order.iter().copied().filter(|&i| logs[i] > cutoff).collect();
    let mut k = f64::NEG_INFINITY;
    if beyond.len() > 4 {
        let floor = cutoff.exp();
        let exceed: Vec<f64> = beyond.iter().map(|&i| logs[i].exp() - floor).collect();
        let (shape, scale) = fit(&exceed);
        k = shape;
        if shape.is_finite() {
            for (rank, &i) in beyond.iter().enumerate() {
                let p = (rank as f64 + 0.5) / beyond.len() as f64;
                let quantile = if shape == 0.0 {
                    -scale * (-p).ln_1p()
                } else {
                    scale * (-shape * (-p).ln_1p()).exp_m1() / shape
                };
                logs[i] = (quantile + floor).ln().min(0.0);
            }
        }
    }
    let total: f64 = logs.iter().map(|l| l.exp()).sum();
    let weights: Vec<f64> = logs.iter().map(|l| l.exp() / total).collect();
    let effective = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
    Smoothed { weights, k, effective }
}
