//! Hands, material and money as an optimisation that knows no flowers: the model, its solver, and the roster that follows.

pub mod model;
pub mod roster;
mod shifts;
mod solver;
