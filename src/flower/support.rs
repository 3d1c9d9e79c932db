//! What stands behind the dry hours of a flower, and how their spread divides.
//!
//! The trade's three points hold how heads and lots differ, and what the trade does not know. Public statements are pooled
//! with them (`calibrate::pooling`), and where petals were measured water loss bears witness beside them
//! (`calibrate::witnesses`): they move the middle, and say how well it is known. That spread is added to the spread between
//! heads and between lots, and replaces neither.

use crate::numerics::elementary::{exp, ln};
use crate::numerics::normal::Z90;

/// Standard deviation of the logarithm of the level that the dry hours of all flowers share: public statements leave open
/// when a flower counts as gone, so that they cannot tell it (judgement).
pub const LEVEL_SD: f64 = 0.35;

/// How well the trade agrees on a flower's dry hours.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Confidence {
    /// The trade hardly agrees.
    Low,
    /// The trade agrees fairly well.
    Med,
    /// The trade agrees well.
    High,
}

impl Confidence {
    /// Shares of the variance of the trade's points that lie between the heads of a lot, and between lots (judgement); the
    /// rest is what the trade does not know.
    pub fn shares(self) -> [f64; 2] {
        match self {
            Confidence::High => [0.40, 0.35],
            Confidence::Med => [0.35, 0.30],
            Confidence::Low => [0.25, 0.25],
        }
    }
}

/// Shares of the variance of the logarithm of dry hours, which sum to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Between the heads of a lot.
    pub head: f64,
    /// Between the lots of a flower.
    pub lot: f64,
    /// Ignorance: what is not known of the flower.
    pub ignorance: f64,
}

/// What is known of the middle of a flower's dry hours.
#[derive(Debug, Clone, serde::Deserialize)]
pub struct Support {
    pub(super) id: String,
    /// The median of dry hours by the trade and by what is said in public, h.
    pub said_hours: f64,
    /// Standard deviation of what is not known of its logarithm, the level that all flowers share left out.
    pub said_ln_sd: f64,
    /// How many independent groups speak of it in public.
    pub groups: u32,
    /// The chance that water loss is what ends it first, given both witnesses; `None` where water loss bears no witness.
    pub by_water: Option<f64>,
    /// The median of dry hours by all witnesses, h.
    pub dry_hours: f64,
    /// Standard deviation of all that is not known of its logarithm, the level included.
    pub ln_sd: f64,
    /// Share of fresh mass lost by then, where water loss bears witness.
    pub softening_loss: Option<f64>,
    /// Standard deviation of what is not known of the logarithm of that loss beyond where petals soften.
    pub softening_ln_sd: Option<f64>,
}

impl Support {
    /// The 10, 50 and 90 % points of dry hours with all that spreads them, from those of the trade, and how their variance
    /// divides.
    ///
    /// # Formula
    /// With `s` the trade's standard deviation, `h` and `l` its shares of heads and lots: the variance is
    /// `(h + l) s^2 + sd^2`; the trade's points are spread about the median in proportion.
    pub(super) fn points(&self, trade: [f64; 3], confidence: Confidence) -> ([f64; 3], Shares) {
        let [low, middle, high] = trade;
        let sd = ln(high / low) / (2.0 * Z90);
        let [head, lot] = confidence.shares();
        let ignorance = (self.ln_sd * self.ln_sd) / (sd * sd);
        let all = head + lot + ignorance;
        let at = |point: f64| significant(self.dry_hours * exp(all.sqrt() * ln(point / middle)));
        let shares = Shares { head: head / all, lot: lot / all, ignorance: ignorance / all };
        ([at(low), self.dry_hours, at(high)], shares)
    }
}

/// A positive value with three significant digits.
///
/// ```
/// use headwater::flower::support::significant;
/// assert_eq!((significant(13.4712), significant(0.98765), significant(168.4)), (13.5, 0.988, 168.0));
/// ```
pub fn significant(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}
