//! The air of a space at many instants, one array for each quantity.

use super::Air;
use std::ops::Range;

/// Air at many instants, one array for each quantity, so that vector instructions handle several instants at a time.
///
/// Built from an iterator of [`Air`]. A constant climate is kept as one instant.
#[derive(Debug, Clone, Default)]
pub struct ClimateSeries {
    /// The number of the first instant, where the series is part of a longer one.
    pub first: usize,
    /// Temperature of the air, C.
    pub temperature_c: Vec<f64>,
    /// Vapour pressure of the air, Pa.
    pub vapour_pressure: Vec<f64>,
    /// Pressure of the air, Pa.
    pub pressure: Vec<f64>,
    /// Air speed past the flower, m/s.
    pub speed: Vec<f64>,
    /// Sunshine on a level surface, W/m2.
    pub sun: Vec<f64>,
    /// Runs of consecutive instants under the same sky.
    pub skies: Vec<Sky>,
}

/// A run of consecutive instants, all sunny or all in the shade, all outdoors or all indoors.
#[derive(Debug, Clone, PartialEq)]
pub struct Sky {
    /// The indices of the instants.
    pub instants: Range<usize>,
    /// Whether there is sunshine on the flowers.
    pub sunny: bool,
    /// Whether they are out of doors.
    pub outdoors: bool,
}

impl ClimateSeries {
    /// The number of instants that are kept.
    pub fn len(&self) -> usize {
        self.sun.len()
    }

    /// Whether there are no instants.
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
        match self.skies.last_mut() {
            Some(s) if (s.sunny, s.outdoors) == (sunny, outdoors) => s.instants.end = n + 1,
            _ => self.skies.push(Sky { instants: n..n + 1, sunny, outdoors }),
        }
    }
}

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
