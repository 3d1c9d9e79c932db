//! Pictures of facts, each with a description for those who cannot see it.

pub mod axes;
mod canvas;
pub mod chances;
pub mod days;
pub mod hands;
pub mod heads;
pub mod learned;
pub mod limits;
mod png;
pub mod rooms;
pub mod sensitivities;
pub mod sketch;
pub mod style;
pub mod survival;
mod svg;
pub mod validation;
pub mod wall;
