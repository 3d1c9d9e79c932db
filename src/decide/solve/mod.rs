//! Work, stock and money as an optimisation that knows nothing of flowers: the model, its solver, and the roster.

pub mod model;
mod programme;
pub mod roster;
mod shifts;
mod solver;
