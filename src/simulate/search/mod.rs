//! The fast route to the outcomes of a lot: limits are looked up in running sums that its heads share.
//!
//! The equation of a head's deficit `u` does not contain the head: out of water `du = D dt`, in water `du = D dt - S u dt`.
//! So all heads of a lot with the same supply of water follow one curve `u(t)`, and the head of rate `r` flags when the
//! curve first reaches `1/r`. Nor do they differ in what they drink: a tube runs empty when the sum of what is drunk
//! reaches the tube's water, in the head's own unit. Only from then on does a head follow a curve of its own, which is
//! again a shared sum: that of the heads out of water, less what its tube held. Whether a head is left at an hour is
//! therefore told without looking for when its tube ran empty. The curve before placement is the same for all placing
//! times, up to the step at which each of them leaves it, and so is the forcing after placement.

mod curves;
mod placed;
mod routes;
mod share;
mod sums;

pub use placed::{Placed, WetCurves};
pub use routes::Routes;
pub use sums::{LotSums, Water};
