//! The physics of a cut flower: water loss, ageing and heat injury.
//!
//! [`transpiration`] solves the energy balance fast, for loops; [`leaf`] solves it exactly, and tests compare the two.

pub mod ageing;
pub mod leaf;
pub mod transpiration;
