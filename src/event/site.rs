//! What the climates of all spaces depend on, and what is read of each.

use crate::climate::Climate;
use crate::climate::sun::Sky;
use crate::units::Scale;

/// The site of the event: where and when it takes place, as far as climates depend on it.
pub struct Site<'a> {
    /// Air pressure at the altitude, Pa.
    pub pressure: f64,
    /// The day of the event, and the sun over it.
    pub sky: Sky,
    /// The first and the last hour of interest, on the event's clock.
    pub span: (f64, f64),
    /// Fetches the text of a logger's file by the name in the event file.
    pub load: &'a dyn Fn(&str) -> std::io::Result<String>,
}

/// The climate of one space, and what to tell the florist about it.
pub struct SpaceClimate {
    /// The air by the hour.
    pub climate: Climate,
    /// Where it comes from, in words.
    pub from: String,
    /// What was assumed because the file does not say.
    pub assumptions: Vec<String>,
    /// How its temperatures were written, where they were.
    pub scale: Option<Scale>,
    /// The days of which the event meets one, the coolest first; none where its day is given.
    pub met: Vec<Met>,
    /// The air outside it, where it is a tent.
    pub outside: Option<Climate>,
}

/// One of the days that the event may meet.
#[derive(Debug, Clone, PartialEq)]
pub struct Met {
    /// What it is called.
    pub name: String,
    /// The year that it is of: days of one year are no independent witnesses.
    pub year: i32,
    /// The warmest of the day out of doors, C.
    pub high_c: f64,
}

impl SpaceClimate {
    /// A climate about which nothing was assumed.
    pub fn new(climate: Climate, from: String, scale: Option<Scale>) -> Self {
        SpaceClimate { climate, from, assumptions: Vec::new(), scale, met: Vec::new(), outside: None }
    }
}
