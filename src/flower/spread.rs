//! How a quantity that the trade knows by three points spreads, and what the spread of dry hours is made of.

use super::catalogue::{Confidence, Parameter};
use crate::numerics::elementary::{exp, ln};
use crate::numerics::normal::Z90;

/// How the variance of the logarithm of dry hours divides (judgement; less is unknown where the trade agrees).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// Head to head within a lot.
    pub head: f64,
    /// Lot to lot.
    pub lot: f64,
    /// What we do not know.
    pub ignorance: f64,
}

impl Shares {
    /// The shares at a confidence.
    pub fn of(confidence: Confidence) -> Shares {
        match confidence {
            Confidence::High => Shares { head: 0.40, lot: 0.35, ignorance: 0.25 },
            Confidence::Med => Shares { head: 0.35, lot: 0.30, ignorance: 0.35 },
            Confidence::Low => Shares { head: 0.25, lot: 0.25, ignorance: 0.50 },
        }
    }
}

/// A quantile of a two-piece lognormal through a parameter's 10, 50 and 90 % points, at standard normal `z`.
pub fn two_piece(p: &Parameter, z: f64) -> f64 {
    Pieces::of(p).at(z)
}

/// The law of [`two_piece`], to be asked many times.
pub(super) struct Pieces {
    pub middle: f64,
    below: f64,
    above: f64,
}

impl Pieces {
    pub fn of(p: &Parameter) -> Pieces {
        Pieces { middle: p.value, below: ln(p.value / p.low), above: ln(p.high / p.value) }
    }

    #[inline(always)]
    pub fn at(&self, z: f64) -> f64 {
        self.middle * exp(z * if z < 0.0 { self.below } else { self.above } / Z90)
    }
}

/// The standard normal at which [`two_piece`] gives a value: its inverse.
pub fn two_piece_z(p: &Parameter, value: f64) -> f64 {
    let far = ln(value / p.value);
    let side = if far < 0.0 { ln(p.value / p.low) } else { ln(p.high / p.value) };
    far * Z90 / side
}
