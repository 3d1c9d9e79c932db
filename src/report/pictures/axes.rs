//! What pictures by the clock share: the plotting area with hours along the bottom, and labels that do not touch.

use super::canvas::{Area, Canvas, Drawn, fine, font, stroke};
use super::sketch::{Anchor, Point, Sketch};
use super::style::{Colour, FAINT, SOFT};
use crate::event::Event;
use plotters::coord::ranged1d::{DefaultFormatting, KeyPointHint, Ranged};
use plotters::prelude::*;
use std::ops::Range;

/// The margins left and right of the plotting area: numbers stand at the left, names of lines at the right.
const MARGINS: (f64, f64) = (56.0, 196.0);
/// The room for numbers below and at the left of the plotting area.
const NUMBERS: f64 = 50.0;
/// Labels keep this distance from the axis, as twice the length of a tick.
const TICK: f64 = 4.0;

/// A chart of the plotting library, its axes in hours of the event's clock and in what the picture shows.
pub type Chart<'a, 'b> = ChartContext<'a, Canvas<'b>, Cartesian2d<Scale, Scale>>;

/// An axis of a chart: the range of its values, and those that have a mark.
pub struct Scale {
    range: (f64, f64),
    marked: Vec<f64>,
}

impl Ranged for Scale {
    type FormatOption = DefaultFormatting;
    type ValueType = f64;

    fn map(&self, value: &f64, (from, to): (i32, i32)) -> i32 {
        let share = (value - self.range.0) / (self.range.1 - self.range.0);
        from + (share * f64::from(to - from)).round() as i32
    }

    fn key_points<Hint: KeyPointHint>(&self, hint: Hint) -> Vec<f64> {
        // Between the marks there are none.
        if hint.weight().allow_light_points() { Vec::new() } else { self.marked.clone() }
    }

    fn range(&self) -> Range<f64> {
        self.range.0..self.range.1
    }
}

/// A plotting area by the clock.
pub struct Axes<'a> {
    event: &'a Event,
    /// The first and the last hour.
    hours: (f64, f64),
    /// The lowest and the highest value.
    values: (f64, f64),
    /// Left, top, right and bottom of the plotting area, in pixels.
    edges: (f64, f64, f64, f64),
}

impl<'a> Axes<'a> {
    /// Hours and values between the margins of a sheet of some width, from a top down to a base.
    pub fn new(
        event: &'a Event,
        hours: (f64, f64),
        values: (f64, f64),
        width: u32,
        (top, base): (f64, f64),
    ) -> Axes<'a> {
        Axes { event, hours, values, edges: (MARGINS.0, top, f64::from(width) - MARGINS.1, base) }
    }

    /// Where an hour stands across the sheet.
    pub fn x(&self, hour: f64) -> f64 {
        let (left, _, right, _) = self.edges;
        left + (hour - self.hours.0) / (self.hours.1 - self.hours.0) * (right - left)
    }

    /// Where a value stands down the sheet.
    pub fn y(&self, value: f64) -> f64 {
        let (_, top, _, base) = self.edges;
        base - (value - self.values.0) / (self.values.1 - self.values.0) * (base - top)
    }

    /// Grid lines at some values, with their numbers.
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

    /// Hours of the day along the bottom, each new day with its date.
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

/// A line of a chart in the look of its kind: whole, or dashed by so many pixels on and off.
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

/// A band of a chart between an upper and a lower edge, each from left to right.
pub fn band(chart: &mut Chart, upper: &[Point], lower: &[Point], style: ShapeStyle) -> Drawn<()> {
    let corners: Vec<Point> = upper.iter().chain(lower.iter().rev()).copied().collect();
    chart.draw_series(std::iter::once(Polygon::new(corners, style)))?;
    Ok(())
}

/// Labels at some heights, moved apart where they would touch, none below a floor; rising afterwards.
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
