//! What the florist's own trials and past events teach: a notebook read, a posterior for every flower, and the next trial.
//!
//! [`notebook`] reads the notes, [`trial`] is what they hold, [`evidence`] carries each note through the physics' clock,
//! [`fit`] learns from them by the density of `model`, [`teach`] gives what was learned to the orders of an event.

pub mod compare;
pub mod design;
pub mod evidence;
pub mod fit;
pub mod forecast;
pub mod influence;
mod model;
pub mod notebook;
pub mod score;
pub mod teach;
pub mod trial;
