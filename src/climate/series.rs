//! The air of a space at many instants.

use super::Air;
use std::ops::Range;

/// Air at many instants, quantity by quantity, so that a processor can go through several instants at a time.
#[derive(Debug, Clone, Default)]
pub struct ClimateSeries {
    /// The number of the first instant, where they are part of more.
    pub first: usize,
    /// Air temperature, C.
    pub temperature_c: Vec<f64>,
    /// Vapour pressure, Pa.
    pub vapour_pressure: Vec<f64>,
    /// Air pressure, Pa.
    pub pressure: Vec<f64>,
    /// Air speed past the flower, m/s.
    pub speed: Vec<f64>,
    /// Sunshine on a level surface, W/m2.
    pub sun: Vec<f64>,
    /// Instants that follow each other under the same sky.
    pub stretches: Vec<Stretch>,
}

/// Instants under one sky.
#[derive(Debug, Clone, PartialEq)]
pub struct Stretch {
    /// Which.
    pub instants: Range<usize>,
    /// Whether the sun shines.
    pub sunny: bool,
    /// Out of doors.
    pub outdoors: bool,
}

impl ClimateSeries {
    /// How many instants there are.
    pub fn len(&self) -> usize {
        self.sun.len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.sun.is_empty()
    }

    fn push(&mut self, air: Air) {
        let (n, sunny, outdoors) = (self.len(), air.sun > 0.0, air.outdoors);
        self.temperature_c.push(air.temperature_c);
        self.vapour_pressure.push(air.vapour_pressure);
        self.pressure.push(air.pressure);
        self.speed.push(air.speed);
        self.sun.push(air.sun);
        match self.stretches.last_mut() {
            Some(s) if (s.sunny, s.outdoors) == (sunny, outdoors) => s.instants.end = n + 1,
            _ => self.stretches.push(Stretch { instants: n..n + 1, sunny, outdoors }),
        }
    }
}

/// An even climate is kept as the one instant that it is.
impl FromIterator<Air> for ClimateSeries {
    fn from_iter<I: IntoIterator<Item = Air>>(instants: I) -> ClimateSeries {
        let (mut series, mut first, mut even) = (ClimateSeries::default(), None, true);
        for air in instants {
            even &= *first.get_or_insert(air) == air;
            series.push(air);
        }
        match first {
            Some(air) if even && series.len() > 1 => std::iter::once(air).collect(),
            _ => series,
        }
    }
}
