//! The model held against published experiments, each from its own conditions.
//!
//! `reference-data/experiments.csv` has a row for every published outcome: what was observed, under which conditions, by
//! whom, and whether a parameter was set from it (`fitted`), the program lacks what it would take (`not modelled`), or it
//! judges the program (`check`). Each row that can be predicted is predicted here; nothing is tuned to the outcomes. The
//! rules, each with its reason, are in reference-data/README.md, "The rules of the comparison".

mod compare;
mod experiments;
pub mod influence;
mod left_out;
mod naive;
mod petals;
mod predict;

pub use compare::{Basis, Comparison, Covered, Sharpness, Verdict, by_class, compare, score, sharpness};
pub use experiments::{AirKnown, Class, Experiment, Reads, STEMS, Use, experiments};
pub use left_out::{Fared, LeftOut, left_out};
pub use predict::Model;
