//! Variance-based sensitivity: which inputs an output depends on most.

use crate::numerics::random::Key;
use rayon::prelude::*;

/// A number estimated by sampling, with its standard error.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Estimate {
    /// The value that was estimated.
    pub value: f64,
    /// Standard error of the value.
    pub error: f64,
}

/// Sobol indices: how the variance of an output divides among its inputs.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Sobol {
    /// Mean of the output over the inputs.
    pub mean: Estimate,
    /// Variance of the output over the inputs.
    pub variance: Estimate,
    /// First-order index of each input: the share of the variance that would go if it alone were known.
    pub first: Vec<Estimate>,
    /// Total index of each input: the share of the variance that would stay if all others were known.
    pub total: Vec<Estimate>,
}

/// The Sobol indices of a function of `inputs` independent uniform inputs, from `n (inputs + 2)` evaluations. They are NaN
/// for a constant function, and for an `n` below 2.
///
/// # Formula
/// With `A` and `B` two samples, `C` the sample `A` with one input taken from `B`, and outputs counted from their mean:
/// first-order index `mean f(B) (f(C) - f(A)) / V`, total index `mean (f(A) - f(C))^2 / 2V`. Standard errors are those of
/// a ratio of means over independent rows. The inputs are stratified, which makes the true errors smaller.
///
/// # Source
/// Sobol (1993); Saltelli et al. (2010), table 2 (b); Jansen (1999) for the total index.
///
/// # Examples
/// ```
/// use headwater::numerics::random::Key;
/// let shares = headwater::stats::sensitivity::sobol(2, 4096, Key::named(1, "example"), |u| 3.0 * u[0] + u[1]);
/// assert!((shares.first[0].value - 0.9).abs() < 0.02);
/// ```
pub fn sobol(inputs: usize, n: usize, key: Key, f: impl Fn(&[f64]) -> f64 + Sync) -> Sobol {
    let rows: Vec<Row> = key
        .table(2 * inputs, n)
        .par_iter()
        .map(|draws| {
            let (a, b) = draws.split_at(inputs);
            let mixed = (0..inputs).map(|i| {
                let mut c = a.to_vec();
                c[i] = b[i];
                f(&c)
            });
            Row { a: f(a), b: f(b), mixed: mixed.collect() }
        })
        .collect();
    let mean = mean_of(&rows, |r| 0.5 * (r.a + r.b));
    let square = |r: &Row| 0.5 * ((r.a - mean.value).powi(2) + (r.b - mean.value).powi(2));
    let variance = mean_of(&rows, square);
    let share = |part: &dyn Fn(&Row) -> f64| {
        let value = mean_of(&rows, part).value / variance.value;
        let error = mean_of(&rows, |row| part(row) - value * square(row)).error / variance.value;
        Estimate { value, error }
    };
    Sobol {
        mean,
        variance,
        first: (0..inputs).map(|i| share(&|r| (r.b - mean.value) * (r.mixed[i] - r.a))).collect(),
        total: (0..inputs).map(|i| share(&|r| 0.5 * (r.a - r.mixed[i]).powi(2))).collect(),
    }
}

/// The outputs of a row of `A`, of `B`, and of `A` with each input taken from `B`.
struct Row {
    a: f64,
    b: f64,
    mixed: Vec<f64>,
}

/// The mean of something over rows, and its standard error.
fn mean_of<R>(rows: &[R], part: impl Fn(&R) -> f64) -> Estimate {
    let n = rows.len() as f64;
    let value = rows.iter().map(&part).sum::<f64>() / n;
    let spread = rows.iter().map(|r| (part(r) - value).powi(2)).sum::<f64>() / (n - 1.0);
    Estimate { value, error: (spread / n).sqrt() }
}
