//! Axes for pictures over time: a plotting area with hours along the bottom, and labels that do not touch.

use super::canvas::{Area, Canvas, Drawn, fine, font, stroke};
use super::sketch::{Anchor, Point, Sketch};
use super::style::{Colour, FAINT, SOFT};
use crate::event::Event;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::prelude::*;
use std::ops::Range;

/// The margins left and right of the plotting area, pixels: numbers stand at the left, names of lines at the right.
const MARGINS: (f64, f64) = (56.0, 196.0);
/// The room for numbers below and left of the plotting area, pixels.
const NUMBERS: f64 = 50.0;
/// The length of a tick, pixels; labels are twice that from the axis.
const TICK: f64 = 4.0;

/// A chart of the plotting library over hours of the event's clock and the values of the picture.
pub type Chart<'a, 'b> = ChartContext<'a, Canvas<'b>, Cartesian2d<Scale, Scale>>;

/// An axis of a chart: the range of its values, and the values that are marked.
pub struct Scale {
    range: (f64, f64),
    marked: Vec<f64>,
}

impl Scale {
    /// An axis over a range, with some values marked.
    pub fn marking(range: (f64, f64), marked: Vec<f64>) -> Scale {
        Scale { range, marked }
    }
}

impl Ranged for Scale {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        let share = (value - self.range.0) / (self.range.1 - self.range.0);
        from + (share * f64::from(to - from)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        // There are no lighter lines between the marked ones.
        if hint.weight().allow_light_points() { Vec::new() } else { self.marked.clone() }
    }

    fn range(&self) -> Range<f64> {
        self.range.0..self.range.1
    }
}

/// A plotting area over the event's clock.
pub struct Axes<'a> {
    event: &'a Event,
    /// The first and the last hour on the event's clock.
    hours: (f64, f64),
    /// The lowest and the highest value.
    values: (f64, f64),
    /// Left, top, right and bottom of the plotting area, in pixels.
    edges: (f64, f64, f64, f64),
}

impl<'a> Axes<'a> {
    /// A plotting area between the margins of a sheet `width` pixels wide, from `top` down to `base`.
    pub fn new(
        event: &'a Event,
        hours: (f64, f64),
        values: (f64, f64),
        width: u32,
        (top, base): (f64, f64),
    ) -> Axes<'a> {
        Axes { event, hours, values, edges: (MARGINS.0, top, f64::from(width) - MARGINS.1, base) }
    }

    /// Where an hour is across the sheet, pixels.
    pub fn x(&self, hour: f64) -> f64 {
        let (left, _, right, _) = self.edges;
        left + (hour - self.hours.0) / (self.hours.1 - self.hours.0) * (right - left)
    }

    /// Where a value is down the sheet, pixels.
    pub fn y(&self, value: f64) -> f64 {
        let (_, top, _, base) = self.edges;
        base - (value - self.values.0) / (self.values.1 - self.values.0) * (base - top)
    }

    /// Draws grid lines at some values, with their numbers.
    pub fn grid(&self, sheet: &mut Sketch, values: &[f64]) {
        self.chart(sheet, (Vec::new(), values.to_vec()), |chart| {
            chart
                .configure_mesh()
                .disable_x_axis()
                .axis_style(TRANSPARENT)
                .bold_line_style(stroke(FAINT, 1.0))
                .label_style(font(13.0, SOFT))
                .set_all_tick_mark_size(fine(TICK))
                .y_label_formatter(&|v| format!("{v:.0}"))
                .draw()
        });
    }

    /// Draws hours along the bottom, with the date at the first hour of each day.
    pub fn clock(&self, sheet: &mut Sketch) {
        let (first, last) = self.hours;
        let steps = [1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0];
        let every = steps.into_iter().find(|e| (last - first) / e <= 9.0).unwrap_or(24.0);
        let begin = (first / every).ceil() as i32;
        let hours: Vec<f64> =
            (begin..).map(|n| f64::from(n) * every).take_while(|h| *h <= last + 1e-9).collect();
        self.chart(sheet, (hours.clone(), Vec::new()), |chart| {
            chart
                .configure_mesh()
                .disable_mesh()
                .disable_y_axis()
                .axis_style(stroke(SOFT, 1.0))
                .label_style(font(13.0, SOFT))
                .set_all_tick_mark_size(fine(TICK))
                .x_label_formatter(&|h| self.event.moment(*h).clock())
                .draw()
        });
        let mut dated = None;
        for hour in hours {
            let (day, _) = self.event.moment(hour).day_and_minute();
            if dated != Some(day) {
                let date = self.event.date.saturating_add(jiff::Span::new().days(day));
                let words = date.strftime("%a %-d %b").to_string();
                sheet.text(&words, (self.x(hour), self.edges.3 + 24.0), 11.5, SOFT, false, Anchor::Top);
                dated = Some(day);
            }
        }
    }

    /// Draws series into the plotting area.
    pub fn plot(&self, sheet: &mut Sketch, draw: impl FnOnce(&mut Chart) -> Drawn<()>) {
        self.chart(sheet, (Vec::new(), Vec::new()), draw);
    }

    /// Draws with a chart on the plotting area, some hours and values marked.
    fn chart(
        &self,
        sheet: &mut Sketch,
        (hours, values): (Vec<f64>, Vec<f64>),
        draw: impl FnOnce(&mut Chart) -> Drawn<()>,
    ) {
        let (left, top, right, base) = self.edges;
        sheet.plot((left - NUMBERS, top), (right, base + NUMBERS), |area: &Area| {
            let mut chart = ChartBuilder::on(area)
                .set_label_area_size(LabelAreaPosition::Left, fine(NUMBERS))
                .set_label_area_size(LabelAreaPosition::Bottom, fine(NUMBERS))
                .build_cartesian_2d(
                    Scale { range: self.hours, marked: hours },
                    Scale { range: self.values, marked: values },
                )?;
            draw(&mut chart)
        });
    }
}

/// Draws a line into a chart, `thick` pixels wide: solid, or with dashes of some pixels on and off.
pub fn line(
    chart: &mut Chart,
    points: &[Point],
    shade: Colour,
    thick: f64,
    dashes: Option<(f64, f64)>,
) -> Drawn<()> {
    let points = points.iter().copied();
    match dashes {
        Some((on, off)) => {
            chart.draw_series(DashedLineSeries::new(points, fine(on), fine(off), stroke(shade, thick)))?;
        }
        None => {
            chart.draw_series(LineSeries::new(points, stroke(shade, thick)))?;
        }
    }
    Ok(())
}

/// Draws a band into a chart between an upper and a lower edge, each from left to right.
pub fn band(chart: &mut Chart, upper: &[Point], lower: &[Point], style: ShapeStyle) -> Drawn<()> {
    let corners: Vec<Point> = upper.iter().chain(lower.iter().rev()).copied().collect();
    chart.draw_series(std::iter::once(Polygon::new(corners, style)))?;
    Ok(())
}

/// Moves labels apart that would touch: at least `height` pixels from each other, none below `floor`. They are sorted
/// from the top down afterwards.
pub fn apart(labels: &mut [(f64, usize)], height: f64, floor: f64) {
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    for i in 1..labels.len() {
        labels[i].0 = labels[i].0.max(labels[i - 1].0 + height);
    }
    let mut ceiling = floor;
    for label in labels.iter_mut().rev() {
        label.0 = label.0.min(ceiling);
        ceiling = label.0 - height;
    }
}
