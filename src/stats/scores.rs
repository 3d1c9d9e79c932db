//! Scores of forecasts against outcomes (smaller is better), and a test of their calibration.

use nalgebra::DMatrix;

/// The continuous ranked probability score of equally likely members; NaN without members, and for a fair score of one.
///
/// # Formula
/// `mean |x - y| - 1/2 mean |x - x'|`, the second mean over all pairs. `fair` leaves out the pairs of a member with
/// itself, so that forecasts with few members are not penalised for it.
///
/// # Source
/// Gneiting & Raftery (2007), equation 21; Ferro (2014) for the fair form, from memory.
///
/// # Examples
/// ```
/// use headwater::stats::scores::crps;
/// assert_eq!(crps(&[1.0, 2.0, 3.0, 4.0], 2.5, false), 0.375);
/// ```
pub fn crps(members: &[f64], outcome: f64, fair: bool) -> f64 {
    let mut sorted = members.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let m = sorted.len() as f64;
    let far = sorted.iter().map(|x| (x - outcome).abs()).sum::<f64>() / m;
    // The sum of |x - x'| over pairs, each counted once.
    let apart: f64 = sorted.iter().enumerate().map(|(i, x)| x * (2.0 * i as f64 + 1.0 - m)).sum();
    far - apart / (m * if fair { m - 1.0 } else { m })
}

/// The interval score of a forecast interval that is to hold the outcome with probability `level`, below 1.
///
/// # Formula
/// Its width, and `2 / (1 - level)` times how far outside the outcome lies.
///
/// # Source
/// Gneiting & Raftery (2007), equation 43, from memory.
///
/// # Examples
/// ```
/// use headwater::stats::scores::interval_score;
/// assert_eq!(interval_score((2.0, 5.0), 0.5, 3.0), 3.0);
/// assert_eq!(interval_score((2.0, 5.0), 0.5, 6.0), 3.0 + 4.0);
/// ```
pub fn interval_score((low, high): (f64, f64), level: f64, outcome: f64) -> f64 {
    let outside = (low - outcome).max(0.0) + (outcome - high).max(0.0);
    high - low + 2.0 / (1.0 - level) * outside
}

/// The Brier score: mean squared difference between forecast probabilities and what happened; NaN without forecasts.
///
/// # Source
/// Brier (1950).
pub fn brier(forecasts: &[(f64, bool)]) -> f64 {
    forecasts.iter().map(|(p, happened)| (p - f64::from(u8::from(*happened))).powi(2)).sum::<f64>()
        / forecasts.len() as f64
}

/// The probability that the empirical distribution of `n` uniform values stays within `d` of the uniform one everywhere.
///
/// One minus it is the p-value of the Kolmogorov-Smirnov test.
///
/// # Source
/// Marsaglia, Tsang & Wang (2003), from memory.
pub fn kolmogorov(n: usize, d: f64) -> f64 {
    let reach = n as f64 * d;
    let k = reach.ceil() as usize;
    if k == 0 {
        return 0.0;
    }
    let (m, h) = (2 * k - 1, k as f64 - reach);
    let factorial = |i: usize| (1..=i).map(|f| f as f64).product::<f64>();
    let paths = DMatrix::from_fn(m, m, |i, j| {
        if i + 1 < j {
            return 0.0;
        }
        let steps = i + 1 - j;
        let mut paths = 1.0;
        if j == 0 {
            paths -= h.powi(steps as i32);
        }
        if i == m - 1 {
            paths -= h.powi(steps as i32);
        }
        if j == 0 && i == m - 1 {
            paths += (2.0 * h - 1.0).max(0.0).powi(m as i32);
        }
        paths / factorial(steps)
    });
    // The factor n!/n^n is applied step by step, which keeps the powers of the matrix in range.
    let mut row = DMatrix::zeros(1, m);
    row[(0, k - 1)] = 1.0;
    for i in 1..=n {
        row = row * &paths * (i as f64 / n as f64);
    }
    row[(0, k - 1)]
}
