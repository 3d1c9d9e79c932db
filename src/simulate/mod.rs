//! The Monte Carlo simulation. It knows numbers and steps, and a flower by its parameters; no text and no files.
//!
//! A [`journey`] becomes the forcing of a lot, step by step. The [`kernel`] integrates every head over it; the [`search`]
//! comes to the same outcomes by looking limits up in running sums that heads, treatments and placing times share. [`run`]
//! does so for all sampled lots, and [`outcome`] says what share of heads is left. [`steady`] has the same in closed form for
//! air that does not change.

pub mod journey;
pub mod kernel;
pub mod outcome;
pub mod run;
pub mod search;
pub mod steady;
