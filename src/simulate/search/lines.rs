//! Looking up when something that runs on reaches a limit.

use crate::simulate::outcome::{NEVER, crossing};

/// A stretch of something that runs on: its values at the beginnings of steps, and the highest up to there.
#[derive(Clone, Copy)]
pub(super) struct Line<'a> {
    /// The step at which it begins, on the event's clock.
    pub first: usize,
    pub peaks: &'a [f64],
    pub values: &'a [f64],
    /// To be added to both.
    pub base: f64,
}

pub(super) const NO_LINE: Line = Line { first: 0, peaks: &[], values: &[], base: 0.0 };

/// Stretches end to end.
#[derive(Clone, Copy)]
pub(super) struct Lines<'a> {
    lines: [Line<'a>; 5],
    len: usize,
}

impl<'a> Lines<'a> {
    pub fn new(lines: &[Line<'a>]) -> Self {
        let mut all = [NO_LINE; 5];
        all[..lines.len()].copy_from_slice(lines);
        Lines { lines: all, len: lines.len() }
    }

    /// The (broken) step at which a limit is first reached, and in which stretch.
    pub fn reach(&self, limit: f64) -> (f64, usize) {
        for (i, line) in self.lines[..self.len].iter().enumerate() {
            let wanted = limit - line.base;
            if line.peaks[line.peaks.len() - 1] < wanted {
                continue;
            }
            let k = line.peaks.partition_point(|v| *v < wanted);
            let within = match k {
                0 => 0.0,
                k => (k - 1) as f64 + crossing(line.values[k - 1], line.values[k], wanted),
            };
            return (line.first as f64 + within, i);
        }
        (NEVER, self.len)
    }

    /// The value at the beginning of a step, and the highest up to there.
    pub fn at(&self, step: usize) -> (f64, f64) {
        let mut highest = f64::NEG_INFINITY;
        for line in &self.lines[..self.len] {
            let last = line.values.len() - 1;
            if step <= line.first + last {
                let n = step.saturating_sub(line.first);
                return (line.base + line.values[n], highest.max(line.base + line.peaks[n]));
            }
            highest = highest.max(line.base + line.peaks[last]);
        }
        let last = &self.lines[self.len - 1];
        (last.base + last.values[last.values.len() - 1], highest)
    }
}

/// What runs on for a head: its way, its age, its heat.
#[derive(Clone, Copy)]
pub(super) struct Clock<'a> {
    pub way: Lines<'a>,
    pub age: Lines<'a>,
    pub heat: Lines<'a>,
}
