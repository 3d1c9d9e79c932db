//! The picture of one flower's limits: hours against the temperature of the room, with the regions in which dry, a tube and
//! a vase will do.

use super::axes::{Scale as Axis, apart, line};
use super::canvas::{Area, Drawn, fill, fine, font, stroke};
use super::sketch::{Anchor, Point, Sketch};
use super::style::{FAINT, INK, PAPER, SOFT, colour, dashes};
use crate::decide::hours::METHODS;
use crate::decide::limits::{LONGEST, Limits};
use crate::report::limits::{COOLEST, degrees, dry_sentence, heading, method_name, need_sentence};
use crate::report::words::{capital, times};
use crate::units::{Scale, Span};
use plotters::prelude::*;

const SIZE: (u32, u32) = (960, 500);
const LEFT: f64 = 64.0;
const RIGHT: f64 = 800.0;
const TOP: f64 = 92.0;
const BASE: f64 = 444.0;

/// The picture of a flower, with a line at the hours that are asked about.
pub fn picture(limits: &Limits, until: Span, scale: Scale) -> Sketch {
    let told = format!(
        "{}: {}. {}",
        heading(limits),
        dry_sentence(limits, scale),
        need_sentence(limits, until, scale)
    );
    let mut sheet = Sketch::new(SIZE, told);
    let name = format!("{}: where dry stops being enough", heading(limits));
    sheet.text(&name, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = format!(
        "Hours that nine of ten heads last, sure {}, by the temperature of the room; {:.0} % humidity, shade, still air",
        times(limits.asked.sure),
        100.0 * limits.humidity
    );
    sheet.text(&under, (16.0, 42.0), 14.0, SOFT, false, Anchor::TopLeft);
    let points: Vec<(f64, &[f64; METHODS.len()])> = limits
        .temperatures
        .iter()
        .copied()
        .zip(&limits.hours)
        .filter(|(c, _)| *c >= COOLEST - 1e-9)
        .collect();
    let (first, last) = (points[0].0, points[points.len() - 1].0);
    let tallest = [6.0, 12.0, LONGEST].into_iter().find(|h| *h >= 1.6 * until.hours).unwrap_or(LONGEST);
    let y = |hours: f64| BASE - hours.min(tallest) / tallest * (BASE - TOP);
    let curve = |m: usize| -> Vec<Point> { points.iter().map(|(c, h)| (*c, h[m].min(tallest))).collect() };
    // A method is worth its line only where it does better than those with less work.
    let best = |m: usize| -> Vec<Point> {
        points
            .iter()
            .map(|(c, h)| (*c, h[..=m].iter().fold(0.0, |a: f64, b| a.max(*b)).min(tallest)))
            .collect()
    };
    let marked: Vec<f64> = points.iter().map(|p| p.0).step_by(points.len().div_ceil(12)).collect();
    let every = tallest / 6.0;
    sheet.plot((LEFT - 50.0, TOP), (RIGHT, BASE + 50.0), |area: &Area| -> Drawn<()> {
        let mut chart = ChartBuilder::on(area)
            .set_label_area_size(LabelAreaPosition::Left, fine(50.0))
            .set_label_area_size(LabelAreaPosition::Bottom, fine(50.0))
            .build_cartesian_2d(
                Axis::marking((first, last), marked),
                Axis::marking((0.0, tallest), (0..=6).map(|i| every * f64::from(i)).collect()),
            )?;
        chart
            .configure_mesh()
            .axis_style(stroke(SOFT, 1.0))
            .bold_line_style(stroke(FAINT, 1.0))
            .label_style(font(13.0, SOFT))
            .set_all_tick_mark_size(fine(4.0))
            .x_label_formatter(&|c| degrees(*c, scale))
            .y_label_formatter(&|h| format!("{h:.0} h"))
            .draw()?;
        for m in (0..METHODS.len()).rev() {
            let floor = [(last, 0.0), (first, 0.0)];
            let corners: Vec<Point> = best(m).into_iter().chain(floor).collect();
            let (shade, opacity) =
                if m == 0 { (PAPER, 1.0) } else { (colour(METHODS[m]), [0.0, 0.16, 0.38][m]) };
            if m > 0 {
                let paper = corners.clone();
                chart.draw_series(std::iter::once(Polygon::new(paper, fill(PAPER, 1.0))))?;
            }
            chart.draw_series(std::iter::once(Polygon::new(corners, fill(shade, opacity))))?;
        }
        for (m, method) in METHODS.iter().enumerate() {
            line(&mut chart, &curve(m), colour(*method), 2.4, dashes(*method))?;
        }
        line(&mut chart, &[(first, until.hours), (last, until.hours)], INK, 1.2, Some((2.0, 3.0)))
    });
    within(&mut sheet, &points, tallest);
    let mut labels: Vec<(f64, usize)> = (0..METHODS.len())
        .map(|m| (y(points[points.len() - 1].1[m]), m))
        .chain([(y(until.hours), METHODS.len())])
        .collect();
    apart(&mut labels, 17.0, BASE);
    for (height, m) in labels {
        let (words, shade) = match METHODS.get(m) {
            Some(method) => (capital(&method_name(*method, limits.asked.tube_ml)), colour(*method)),
            None => (format!("asked: {until}"), INK),
        };
        sheet.text(&words, (RIGHT + 8.0, height), 14.0, shade, m < METHODS.len(), Anchor::Left);
    }
    sheet
}

/// Says in each region what will do there, where it is tall enough for words.
fn within(sheet: &mut Sketch, points: &[(f64, &[f64; METHODS.len()])], tallest: f64) {
    let (first, last) = (points[0].0, points[points.len() - 1].0);
    let x = |c: f64| LEFT + (c - first) / (last - first) * (RIGHT - LEFT);
    let y = |hours: f64| BASE - hours / tallest * (BASE - TOP);
    let words = ["dry will do", "a tube will do", "a vase will do", "nothing will do"];
    for (m, words) in words.into_iter().enumerate() {
        let edges = |hours: &[f64; METHODS.len()]| {
            let up_to = |m: usize| hours[..m].iter().fold(0.0, |a: f64, b| a.max(*b)).min(tallest);
            (up_to(m), if m == METHODS.len() { tallest } else { up_to(m + 1) })
        };
        // Where the region is tallest over the width of its words.
        let room = |i: usize| {
            let near =
                points.iter().filter(|(c, _)| (x(*c) - x(points[i].0)).abs() < 4.5 * words.len() as f64);
            near.map(|(_, h)| edges(h))
                .fold((0.0, tallest), |(low, high), (a, b)| (f64::max(low, a), f64::min(high, b)))
        };
        let inside = |i: &usize| {
            let half = 4.5 * words.len() as f64;
            x(points[*i].0) - half > LEFT && x(points[*i].0) + half < RIGHT
        };
        let tall = |(low, high): (f64, f64)| high - low;
        let best = (0..points.len()).filter(inside).max_by(|a, b| tall(room(*a)).total_cmp(&tall(room(*b))));
        let Some((i, (low, high))) = best.map(|i| (i, room(i))) else { continue };
        if y(low) - y(high) > 24.0 {
            let at = (x(points[i].0), 0.5 * (y(low) + y(high)) - 8.0);
            sheet.text(words, at, 15.0, INK, true, Anchor::Top);
        }
    }
}
