//! The Monte Carlo engine. It knows numbers and steps, a flower by its id, no text, no files.
//!
//! A [`journey`] is turned into a course of steps for one lot; the [`kernel`] lives every head of the lot along it;
//! [`run`] does so for all lots, placings and treatments, with the draws of [`random`].

pub mod journey;
pub mod kernel;
pub mod random;
pub mod run;
