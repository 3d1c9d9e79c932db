//! The model held against published experiments, each from its own conditions.
//!
//! `reference-data/experiments.csv` has a row for every published outcome: what was observed, under which conditions,
//! by whom, and whether the program was set from it (`fitted`), does not hold what it would take (`not modelled`), or
//! can be judged by it (`check`). Here is, for each row that can be predicted, the prediction: nothing is tuned. The
//! rules, each with its reason, are in reference-data/README.md, "The rules of the comparison".

mod compare;
mod experiments;
pub mod influence;
mod naive;
mod predict;

pub use compare::{Basis, Comparison, Sharpness, Verdict, compare, score, sharpness};
pub use experiments::{AirKnown, Experiment, Reads, STEMS, Use, experiments};
pub use predict::Model;
