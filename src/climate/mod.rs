//! The air around a flower: moist air, sun, and how a day of it is described.
pub mod air;
pub mod sun;
