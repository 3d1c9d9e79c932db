//! headwater: how long each cut flower stays presentable out of water.
pub mod climate;
pub mod physics;
