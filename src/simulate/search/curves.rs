//! Piecewise curves, and the search for the step at which one first reaches a limit.

use crate::simulate::outcome::{NEVER, crossing};

/// Part of a curve: its values at the beginnings of steps, and the highest value up to each.
#[derive(Clone, Copy)]
pub(super) struct Segment<'a> {
    /// The step at which it begins, counted on the event's grid.
    pub first: usize,
    pub peaks: &'a [f64],
    pub values: &'a [f64],
    /// Added to peaks and values.
    pub base: f64,
}

/// Fills the unused places of a [`Curve`].
pub(super) const NO_SEGMENT: Segment = Segment { first: 0, peaks: &[], values: &[], base: 0.0 };

/// A curve made of up to five segments end to end.
#[derive(Clone, Copy)]
pub(super) struct Curve<'a> {
    segments: [Segment<'a>; 5],
    len: usize,
}

impl<'a> Curve<'a> {
    pub fn new(segments: &[Segment<'a>]) -> Self {
        let mut all = [NO_SEGMENT; 5];
        all[..segments.len()].copy_from_slice(segments);
        Curve { segments: all, len: segments.len() }
    }

    /// The fractional step at which a limit is first reached, and the number of the segment in which it is; [`NEVER`] and
    /// the number of segments where it is not.
    pub fn first_reach(&self, limit: f64) -> (f64, usize) {
        for (i, segment) in self.segments[..self.len].iter().enumerate() {
            let wanted = limit - segment.base;
            if segment.peaks[segment.peaks.len() - 1] < wanted {
                continue;
            }
            let k = segment.peaks.partition_point(|v| *v < wanted);
            let within = match k {
                0 => 0.0,
                k => (k - 1) as f64 + crossing(segment.values[k - 1], segment.values[k], wanted),
            };
            return (segment.first as f64 + within, i);
        }
        (NEVER, self.len)
    }

    /// The value at the beginning of a step, and the highest value up to there.
    pub fn at(&self, step: usize) -> (f64, f64) {
        let mut highest = f64::NEG_INFINITY;
        for segment in &self.segments[..self.len] {
            let last = segment.values.len() - 1;
            if step <= segment.first + last {
                let n = step.saturating_sub(segment.first);
                return (segment.base + segment.values[n], highest.max(segment.base + segment.peaks[n]));
            }
            highest = highest.max(segment.base + segment.peaks[last]);
        }
        let last = &self.segments[self.len - 1];
        (last.base + last.values[last.values.len() - 1], highest)
    }
}

/// What ends a head, as curves: deficit in h of the reference air, age in days at 20 C, dose of heat.
#[derive(Clone, Copy)]
pub(super) struct HeadCurves<'a> {
    pub deficit: Curve<'a>,
    pub age: Curve<'a>,
    pub heat: Curve<'a>,
}
