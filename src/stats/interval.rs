//! What a count of heads says of a share, and a share of a count.

use super::survival::bisect;
use crate::numerics::normal;
use statrs::distribution::{Binomial, DiscreteCDF};
use statrs::function::beta::{beta_reg, ln_beta};
use statrs::function::factorial::ln_binomial;

/// Limits of the share behind `k` of `n`, good for small counts.
///
/// # Source
/// Wilson (1927).
///
/// # Examples
/// ```
/// let (low, high) = headwater::stats::interval::wilson(9, 10, 0.95);
/// assert!((0.59..0.60).contains(&low) && (0.98..0.99).contains(&high));
/// ```
pub fn wilson(k: u32, n: u32, level: f64) -> (f64, f64) {
    let (k, n, z) = (f64::from(k), f64::from(n), normal::quantile(0.5 + 0.5 * level));
    let centre = (k + 0.5 * z * z) / (n + z * z);
    let reach = z / (n + z * z) * (k * (n - k) / n + 0.25 * z * z).sqrt();
    ((centre - reach).max(0.0), (centre + reach).min(1.0))
}

/// Limits of the share behind `k` of `n` about Wilson's centre, simpler and a little wider.
///
/// # Source
/// Agresti & Coull (1998).
pub fn agresti_coull(k: u32, n: u32, level: f64) -> (f64, f64) {
    let (k, n, z) = (f64::from(k), f64::from(n), normal::quantile(0.5 + 0.5 * level));
    let n = n + z * z;
    let centre = (k + 0.5 * z * z) / n;
    let reach = z * (centre * (1.0 - centre) / n).sqrt();
    ((centre - reach).max(0.0), (centre + reach).min(1.0))
}

/// Limits of the share behind `k` of `n` that never hold less often than they say.
///
/// # Source
/// Clopper & Pearson (1934).
pub fn clopper_pearson(k: u32, n: u32, level: f64) -> (f64, f64) {
    let (ended, well, tail) = (f64::from(k), f64::from(n - k), 0.5 - 0.5 * level);
    let low = if k == 0 { 0.0 } else { beta_quantile(ended, well + 1.0, tail) };
    let high = if k == n { 1.0 } else { beta_quantile(ended + 1.0, well, 1.0 - tail) };
    (low, high)
}

/// Limits of the share behind `k` of `n` from a prior that knows nothing.
///
/// # Source
/// Jeffreys (1946); Brown, Cai & DasGupta (2001).
pub fn jeffreys(k: u32, n: u32, level: f64) -> (f64, f64) {
    let (a, b, tail) = (f64::from(k) + 0.5, f64::from(n - k) + 0.5, 0.5 - 0.5 * level);
    (beta_quantile(a, b, tail), beta_quantile(a, b, 1.0 - tail))
}

/// A quantile of the beta law.
pub fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    bisect(0.0, 1.0, |x| beta_reg(a, b, x) < p)
}

/// How many of `n` heads will be presentable where the share itself differs from lot to lot by a beta law.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BetaBinomial {
    /// Heads.
    pub n: u32,
    /// First parameter of the beta law.
    pub alpha: f64,
    /// Second parameter of the beta law.
    pub beta: f64,
}

impl BetaBinomial {
    /// The chance of exactly `k`.
    ///
    /// # Formula
    /// `C(n, k) B(k + alpha, n - k + beta) / B(alpha, beta)`.
    pub fn chance(&self, k: u32) -> f64 {
        let rest = f64::from(self.n - k);
        (ln_binomial(u64::from(self.n), u64::from(k)) + ln_beta(f64::from(k) + self.alpha, rest + self.beta)
            - ln_beta(self.alpha, self.beta))
        .exp()
    }

    /// The chance of no more than `k`.
    pub fn up_to(&self, k: u32) -> f64 {
        (0..=k.min(self.n)).map(|i| self.chance(i)).sum()
    }

    /// The smallest count that is not passed with probability `p`.
    pub fn quantile(&self, p: f64) -> u32 {
        let mut sum = 0.0;
        let reached = |k: &u32| {
            sum += self.chance(*k);
            sum >= p
        };
        (0..self.n).find(reached).unwrap_or(self.n)
    }

    /// Mean.
    pub fn mean(&self) -> f64 {
        f64::from(self.n) * self.alpha / (self.alpha + self.beta)
    }

    /// Variance.
    pub fn variance(&self) -> f64 {
        let (n, size) = (f64::from(self.n), self.alpha + self.beta);
        self.mean() * self.beta / size * (size + n) / (size + 1.0)
    }
}

/// The smallest number of heads to place so that at least `needed` stay presentable with probability `service`, and
/// that probability, where each stays so with probability `share`.
///
/// # Examples
/// ```
/// let (heads, sure) = headwater::stats::interval::heads_to_place(40, 0.9, 0.95);
/// assert!(heads == 48 && sure > 0.95);
/// ```
pub fn heads_to_place(needed: u32, share: f64, service: f64) -> (u32, f64) {
    let sure = |n: u32| {
        let law = Binomial::new(share, u64::from(n)).expect("a share is a probability");
        needed.checked_sub(1).map_or(1.0, |k| law.sf(u64::from(k)))
    };
    let n = (needed..).find(|n| sure(*n) >= service).expect("the range is endless");
    (n, sure(n))
}
