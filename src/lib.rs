//! How long each cut flower stays presentable out of water, in this room, on this day, and what to do about it.
//!
//! ```
//! use headwater::{climate::{Air, room::Room}, flower::catalogue::Catalogue, hours};
//!
//! fn main() -> Result<(), Box<dyn std::error::Error>> {
//!     let dahlia = Catalogue::shipped().find("dahlia")?;
//!     let barn = Room::find("warm barn")?.afternoon(Air::SEA_LEVEL);
//!     for answer in hours::answer(&hours::Question::new(dahlia, barn, 6.0))? {
//!         println!("{}: {:.0} % fresh after 6 h", answer.method, 100.0 * answer.presentable_at_until.p50);
//!     }
//!     Ok(())
//! }
//! ```
//!
//! And a whole event, read from its file and planned:
//!
//! ```
//! use headwater::{event::{Event, TEMPLATE}, plan::{Settings, plan}};
//!
//! fn main() -> Result<(), Box<dyn std::error::Error>> {
//!     let event = Event::read("supper.toml", TEMPLATE, &|log| std::fs::read_to_string(log))?;
//!     let plan = plan(event, Settings { lots: 32, ..Settings::default() })?;
//!     for (id, piece, order) in plan.event.orders() {
//!         let todo = plan.order(id).recommended();
//!         println!("{}: {} {}", piece.name, order.flower_name(), todo.treatment.method);
//!     }
//!     Ok(())
//! }
//! ```
//!
//! # Words
//!
//! A **head** is one flower as it is used. It is *presentable* until it **flags** (first visible softening) and
//! **wilted** when plainly limp. Its **dry hours** are hours to flagging, tucked dry, in the reference air of 21 C and
//! 45 % relative humidity. A **lot** is one delivery: heads of a lot differ by chance, lots differ by grower and
//! season. A **piece** is what the florist makes of heads and greens, in a **space** with its own air; an **order** is the
//! heads of one flower in one piece.
//!
//! # Where to begin
//!
//! | to ask | begin at |
//! |---|---|
//! | how long one flower lasts in one air | [`hours`] |
//! | what to do with every flower of an event | [`event`], then [`plan`] |
//! | what air does: moisture, sun, rooms, buildings, logger records | [`climate`] |
//! | how fast petals lose water and age | [`physics`] |
//! | what is known of a flower, and on whose word | [`flower`] |
//! | what a florist's own trials teach | [`calibrate`] |
//! | survival curves, limits, scores | [`stats`] |
//! | how the model stands against published experiments | [`validate`] |
//!
//! Everything is computed on the spot from its arguments: no clock, no network, no files but those handed over. The same
//! seed gives the same bits on every machine, with any number of threads.
//!
//! # Features
//!
//! All are on by default. `papers` draws pictures and papers, `page` serves the page in a browser, `cli` is the program;
//! with `default-features = false` there are the numbers alone.

pub mod calibrate;
pub mod climate;
pub mod error;
pub mod event;
pub mod flower;
pub mod physics;
pub mod stats;
pub mod units;
pub mod validate;

#[doc(inline)]
pub use decide::{hours, plan};

// Open to the program, its tests and its benches; not promised to stay as they are.
#[doc(hidden)]
pub mod decide;
#[doc(hidden)]
pub mod numerics;
#[cfg(feature = "papers")]
#[doc(hidden)]
pub mod report;
#[doc(hidden)]
pub mod simulate;
#[cfg(feature = "page")]
#[doc(hidden)]
pub mod web;

#[cfg(feature = "cli")]
mod cli;

/// Runs the program on the arguments it was started with.
#[cfg(feature = "cli")]
#[doc(hidden)]
pub use cli::main;
