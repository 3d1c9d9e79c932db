//! Distributions of what is known by three points.

use super::catalogue::Parameter;
use crate::numerics::elementary::{exp, ln};
use crate::numerics::normal::Z90;

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
