//! headwater: how long each cut flower stays presentable out of water.
pub mod cli;
pub mod climate;
pub mod decide;
pub mod error;
pub mod event;
pub mod flower;
pub mod physics;
pub mod report;
pub mod simulate;
pub mod stats;
pub mod units;
