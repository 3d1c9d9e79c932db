//! What the florist's own trials and past events teach.
//!
//! [`notebook`] reads the notes, [`trial`] holds them, [`evidence`] carries each through the drying clock to the reference
//! air, [`wet`] and [`drinking`] learn from heads in water, [`fit`] draws from the posterior density of `model`, and [`teach`] gives what was learned to the orders of an event.
//! [`score`] holds past forecasts against what happened, [`influence`] says which note moved the answer, [`compare`] sets two
//! groups of trials side by side, and [`design`] values the next trial. [`pooling`] and [`witnesses`] make the table of dry hours
//! that the catalogue reads.

pub mod compare;
pub mod design;
pub mod drinking;
pub mod evidence;
pub mod fit;
pub mod forecast;
pub mod influence;
mod laplace;
mod model;
pub mod notebook;
pub mod pooling;
pub mod score;
pub mod teach;
pub mod trial;
pub mod wet;
pub mod witnesses;
