//! The Monte Carlo engine. It knows numbers and steps, a flower by its id, no text, no files.
//!
//! A [`journey`] is turned into what a lot meets step by step. The [`kernel`] lives every head of the lot along it; the
//! [`search`] comes to the same fates by looking limits up in sums that heads, treatments and placing times share.
//! [`run`] does so for all lots, with the draws of [`crate::numerics::random`].

pub mod journey;
pub mod kernel;
pub mod outcome;
pub mod run;
pub mod search;
