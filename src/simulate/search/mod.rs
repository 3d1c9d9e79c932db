//! The lives of the heads of a lot without stepping each of them: a search in running sums that they share.
//!
//! A head's way to flagging is linear in its rate `r`: out of water `d(v/r) = D dt`, in water `d(v/r) = D dt - S (v/r) dt`.
//! So all heads of a lot that have water alike go one way `x = v/r`, and each flags when `x` first reaches its own `1/r`.
//! Nor does what they drink set them apart: a tube is empty when the sum of what `x` drinks reaches its water over `r` and
//! the head's size. Only then does a head go its own way, which is again a sum: that of the dry. The way before placing
//! is the same for all placing times but for where it stops, and so is the air after it.

mod lines;
mod placed;
mod routes;
mod share;
mod sums;

pub use placed::{Placed, Wet};
pub use routes::Routes;
pub use sums::{Lives, Water};
