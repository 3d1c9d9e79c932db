//! From simulated outcomes to what to do: every option of every order, the cheapest that will do, the hands and things it
//! takes.
//!
//! [`prospects`] tries everything, [`decision`] picks the cheapest, [`plan`] works out what follows. [`scenarios`] and
//! [`trial`] ask what would become of a plan otherwise; [`hours`] answers for one flower without an event.

pub mod alternatives;
pub mod bill;
pub mod curve;
pub mod decision;
pub mod hours;
pub mod offers;
pub mod options;
pub mod order;
pub mod placing;
pub mod plan;
pub mod prospects;
pub mod remedies;
pub mod scenarios;
pub mod solve;
pub mod swaps;
pub mod trial;
pub mod work;
