//! From simulated outcomes to a plan: every option of every order, the cheapest combination that meets the target, and
//! the people and material it needs.
//!
//! [`prospects`] simulates every option, [`decision`] picks the cheapest combination, [`plan`] works out the rest.
//! [`possible`] holds ways against each of the days that an event may meet, [`rule`] finds what to decide on the eve.
//! [`scenarios`] and [`trial`] test a finished plan under other conditions; [`hours`] and [`limits`] answer for one flower
//! without an event.

pub mod again;
pub mod alternatives;
pub mod bill;
pub mod curve;
pub mod decision;
pub mod duties;
pub mod hours;
pub mod limits;
pub mod middle;
pub mod offers;
pub mod options;
pub mod order;
pub mod packs;
pub mod placing;
pub mod plan;
pub mod possible;
pub mod prospects;
pub mod remedies;
pub mod rule;
pub mod scenarios;
pub mod slots;
pub mod solve;
pub mod swaps;
pub mod telling;
pub mod trial;
pub mod work;
