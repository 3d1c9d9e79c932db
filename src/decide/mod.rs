//! From simulated fates to what to do: every way of every order, the cheapest that will do, the hands and things it takes.

pub mod assign;
pub mod buying;
pub mod crew;
pub mod flower;
pub mod options;
pub mod otherwise;
pub mod placing;
pub mod plan;
pub mod quick;
pub mod slide;
mod staff;
pub mod swaps;
pub mod tasks;
pub mod whatif;
