//! The physics of a cut flower: water loss, ageing, heat.
//!
//! [`transpiration`] is the fast route through the energy balance, [`leaf`] the exact one that tests hold it to.

pub mod ageing;
pub mod leaf;
pub mod transpiration;
