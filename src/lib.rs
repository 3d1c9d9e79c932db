//! How long each cut flower stays presentable out of water, in this room, on this day, and what to do about it.
//!
//! # Words
//!
//! A **head** is one flower as it is used. It is *presentable* until it **flags** (first visible softening) and
//! **wilted** when plainly limp. Its **dry hours** are hours to flagging, tucked dry, in the reference air of 21 C and
//! 45 % relative humidity. A **lot** is one delivery: heads of a lot differ by chance, lots differ by grower and
//! season. A **piece** is what the florist makes of heads and greens, in a **space** with its own air.
//!
//! # Map
//!
//! [`units`] and [`error`] read what people write, [`numerics`] is arithmetic. [`climate`] is the air, [`physics`] what it does, [`flower`] to what.
//! [`event`] is the user's file. [`simulate`] lives the heads, [`stats`] sums them up, [`decide`] chooses,
//! [`calibrate`] learns from the florist's own trials, [`report`] tells, [`web`] shows it in a
//! browser, and [`cli`] is the program.
//!
//! # Example
//!
//! ```
//! use headwater::decide::plan::{plan, Settings};
//! use headwater::event::{Event, TEMPLATE};
//!
//! let event = Event::read("supper.toml", TEMPLATE, &|_| unreachable!("it names no log")).unwrap();
//! let plan = plan(event, Settings { lots: 32, ..Settings::default() });
//! let roses = &plan.pieces[0].flowers[0];
//! assert!(roses.recommended().share.p50 > 0.9);
//! ```

pub mod calibrate;
pub mod cli;
pub mod climate;
pub mod decide;
pub mod error;
pub mod event;
pub mod flower;
pub mod numerics;
pub mod physics;
pub mod report;
pub mod simulate;
pub mod stats;
pub mod units;
pub mod validate;
pub mod web;
