//! Distributions of what the trade knows by three points, and the parts that the variance of dry hours consists of.

use super::catalogue::{Confidence, Parameter};
use crate::numerics::elementary::{exp, ln};
use crate::numerics::normal::Z90;

/// Shares of the variance of the logarithm of dry hours, which sum to 1 (judgement; less is unknown where the trade agrees).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Between the heads of a lot.
    pub head: f64,
    /// Between the lots of a flower.
    pub lot: f64,
    /// Ignorance: what is not known of the flower.
    pub ignorance: f64,
}

impl Shares {
    /// The shares for a flower on which the trade agrees this well.
    pub fn of(confidence: Confidence) -> Shares {
        match confidence {
            Confidence::High => Shares { head: 0.40, lot: 0.35, ignorance: 0.25 },
            Confidence::Med => Shares { head: 0.35, lot: 0.30, ignorance: 0.35 },
            Confidence::Low => Shares { head: 0.25, lot: 0.25, ignorance: 0.50 },
        }
    }
}

/// The value at standard normal `z` of a two-piece lognormal distribution through a parameter's 10, 50 and 90 % points.
///
/// # Formula
/// `value exp(z s / 1.2816)`, with `s = ln(value / low)` below the median and `ln(high / value)` above it.
pub fn two_piece(p: &Parameter, z: f64) -> f64 {
    TwoPiece::of(p).at(z)
}

/// The distribution of [`two_piece`], with its logarithms taken once.
pub(super) struct TwoPiece {
    pub middle: f64,
    below: f64,
    above: f64,
}

impl TwoPiece {
    pub fn of(p: &Parameter) -> TwoPiece {
        TwoPiece { middle: p.value, below: ln(p.value / p.low), above: ln(p.high / p.value) }
    }

    #[inline(always)]
    pub fn at(&self, z: f64) -> f64 {
        self.middle * exp(z * if z < 0.0 { self.below } else { self.above } / Z90)
    }
}

/// The inverse of [`two_piece`]: the standard normal at which it gives a positive value.
pub fn two_piece_z(p: &Parameter, value: f64) -> f64 {
    let far = ln(value / p.value);
    let side = if far < 0.0 { ln(p.value / p.low) } else { ln(p.high / p.value) };
    far * Z90 / side
}
