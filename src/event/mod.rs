//! An event as the florist writes it: a TOML file, read whole, with every problem reported at once.

mod access;
mod as_meant;
mod building;
mod climate;
mod clocks;
mod cooling;
mod faults;
mod habits;
mod heading;
mod hours;
mod log;
mod looks;
mod means;
mod model;
mod order_id;
mod orders;
mod parse;
mod pieces;
mod section;
mod site;
mod spaces;
mod travel;
mod vessels;

pub use habits::{Florist, HABITS_FILE, HABITS_TEMPLATE, Habits};
pub use means::{Chore, Guessed, Means, Minutes, Stems, Tube, VesselStock};
pub use model::{Criterion, Event, Near, Order, Piece, Shape, Space, StemPrice, Travel, Vessel, stood_in};
pub use order_id::OrderId;
pub use pieces::MOST_ORDERS;
pub use spaces::MOST_SPACES;

/// The commented event that `headwater new` writes.
pub const TEMPLATE: &str = include_str!("../../reference-data/demo/template.toml");
