//! The picture of what a notebook teaches about a flower: what was believed before and after, and its trials.

use super::canvas::{fill, fine, font, stroke};
use super::sketch::{Anchor, Sketch};
use super::style::{Colour, FAINT, INK, SOFT, colour};
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::Learned;
use crate::flower::spread::two_piece_z;
use crate::flower::treatment::Method;
use crate::report::learning::{from_notes, next, range};
use crate::report::words::{capital, short_name};
use plotters::prelude::*;

/// A trial in the picture: its name, and the hours in reference air between which half of its heads failed; `None` if
/// fewer did.
pub type Mark = (String, Option<(f64, f64)>);

const SIZE: (u32, u32) = (960, 394);
const LEFT: f64 = 40.0;
const RIGHT: f64 = 920.0;
const TOP: f64 = 92.0;
const BASE: f64 = 330.0;
/// The room for numbers below the curves, pixels.
const NUMBERS: f64 = 30.0;
/// The hours that may be marked below the curves.
const TICKS: [f64; 17] =
    [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 36.0, 48.0, 72.0, 96.0, 144.0, 240.0];

/// The picture of what was believed of the median head of the next delivery, before and after, with up to eight trials
/// below.
pub fn picture(flower: &Flower, known: &Learned, marks: &[Mark]) -> Sketch {
    let table = Learned::nothing(flower);
    let shown = &marks[..marks.len().min(8)];
    let size = (SIZE.0, SIZE.1 + 22 * shown.len() as u32);
    let (before, after) = (next(&table, flower), next(known, flower));
    let alt = format!("Before: {}. After {}: {}.", range(&before), from_notes(known), range(&after));
    let mut sheet = Sketch::new(size, alt);
    let name = capital(&short_name(flower.name()));
    let title = format!("{name}: what your {} taught", from_notes(known));
    sheet.text(&title, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = "Dry hours of the middle head of the next delivery, in an ordinary room (21 C, 45 %). The higher, the likelier";
    sheet.text(under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
    let hours = Hours {
        from: 0.6 * table.hours(flower, -2.2).min(known.hours(flower, -2.2)),
        to: 1.3 * table.hours(flower, 2.2),
    };
    curves(&mut sheet, &hours, flower, &table, known);
    let label = |sheet: &mut Sketch, words: String, row: f64, shade: Colour, bold: bool| {
        sheet.text(&words, (16.0, row), 14.5, shade, bold, Anchor::TopLeft);
    };
    label(&mut sheet, format!("The catalogue: {}", range(&before)), 64.0, SOFT, false);
    label(&mut sheet, format!("With your notes: {}", range(&after)), 84.0, colour(Method::WaterTube), true);
    trials(&mut sheet, &hours, shown);
    sheet
}

/// The hours across the picture, on a logarithmic scale.
struct Hours {
    from: f64,
    to: f64,
}

impl Hours {
    /// Where some hours are across the picture, pixels.
    fn x(&self, hours: f64) -> f64 {
        LEFT + (hours / self.from).ln() / (self.to / self.from).ln() * (RIGHT - LEFT)
    }

    /// The hours to mark, far enough apart for their labels.
    fn ticks(&self) -> Vec<f64> {
        let mut last = f64::NEG_INFINITY;
        TICKS
            .into_iter()
            .filter(|hours| (self.from..=self.to).contains(hours) && self.x(*hours) < RIGHT - 10.0)
            .filter(|hours| {
                let apart = self.x(*hours) - last >= 44.0;
                last = if apart { self.x(*hours) } else { last };
                apart
            })
            .collect()
    }
}

/// Draws the densities of what was believed before and after.
fn curves(sheet: &mut Sketch, hours: &Hours, flower: &Flower, table: &Learned, known: &Learned) {
    let dry = flower.parameter(Quantity::DryHours);
    let (from, to) = (hours.from, hours.to);
    // Both halves of the two-piece distribution have the same median, so the density of the normal behind it is drawn.
    let density = |known: &Learned, hours: f64| {
        let sd = known.spread.hypot(known.lot);
        let z = (two_piece_z(dry, hours) - known.middle) / sd;
        (-0.5 * z * z).exp() / sd
    };
    let points = |known: &Learned| -> Vec<(f64, f64)> {
        let at = |i: i32| from * (to / from).powf(f64::from(i) / 240.0);
        (0..=240).map(|i| (at(i), density(known, at(i)))).collect()
    };
    let (old, new) = (points(table), points(known));
    let top = old.iter().chain(&new).map(|p| p.1).fold(0.0, f64::max);
    sheet.plot((LEFT, TOP), (RIGHT, BASE + NUMBERS), |area| {
        let mut chart = ChartBuilder::on(area)
            .set_label_area_size(LabelAreaPosition::Bottom, fine(NUMBERS))
            .build_cartesian_2d(
                (from..to).log_scale().with_key_points(hours.ticks()),
                0.0..top * (BASE - TOP) / (BASE - TOP - 26.0),
            )?;
        chart
            .configure_mesh()
            .disable_y_mesh()
            .bold_line_style(stroke(FAINT, 1.0))
            .light_line_style(TRANSPARENT)
            .axis_style(stroke(SOFT, 1.0))
            .label_style(font(13.0, SOFT))
            .set_all_tick_mark_size(fine(4.0))
            .x_label_formatter(&|hours| format!("{} h", short_tick(*hours)))
            .draw()?;
        for (curve, shade, opacity, thick) in
            [(&old, SOFT, 0.14, 1.6), (&new, colour(Method::WaterTube), 0.25, 2.8)]
        {
            let area = AreaSeries::new(curve.iter().copied(), 0.0, fill(shade, opacity));
            chart.draw_series(area.border_style(stroke(shade, thick)))?;
        }
        Ok(())
    });
}

/// Draws the trials below the curves, a row for each, and what their lines mean.
fn trials(sheet: &mut Sketch, hours: &Hours, shown: &[Mark]) {
    let row = |i: usize| BASE + 42.0 + 22.0 * i as f64;
    for (i, (words, bracket)) in shown.iter().enumerate() {
        let row = row(i);
        let held = |h: f64| hours.x(h.clamp(hours.from, hours.to));
        match bracket {
            Some((a, b)) => {
                let (a, b) = (held(a.max(hours.from)), held(*b));
                sheet.line(&[(a, row), (b, row)], INK, 2.4);
                sheet.dot((a, row), 3.2, INK);
                sheet.dot((b, row), 3.2, INK);
                let right = b + 8.0 + 6.6 * words.chars().count() as f64 > RIGHT;
                let (at, anchor) = if right { (a - 8.0, Anchor::Right) } else { (b + 8.0, Anchor::Left) };
                sheet.text(words, (at, row), 12.5, INK, false, anchor);
            }
            None => {
                let words = format!("{words} (fewer than half ended)");
                sheet.text(&words, (LEFT, row), 12.5, INK, false, Anchor::Left);
            }
        }
    }
    if !shown.is_empty() {
        let words =
            "Black: the looks between which half of a trial's heads ended, carried into an ordinary room";
        sheet.text(words, (16.0, row(shown.len()) - 4.0), 12.5, SOFT, false, Anchor::TopLeft);
    }
}

/// Hours as the label of a mark.
fn short_tick(hours: f64) -> String {
    if hours < 1.0 { format!("{hours}") } else { format!("{hours:.0}") }
}
