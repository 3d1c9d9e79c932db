//! The picture of survival curves over the event's clock.

use super::axes::{Axes, apart, band, line};
use super::canvas::{fill, fine};
use super::sketch::{Anchor, Point, Sketch};
use super::style::{FAINT, INK, PAPER, SOFT, colour, dashes, title_size};
use crate::decide::curve::Curve;
use crate::event::Event;
use crate::report::clock::clock;
use crate::report::facts::OrderFacts;
use crate::report::words::{capital, kept, title};
use crate::stats::Band;
use plotters::element::Circle;

/// The usual width and height of the picture, pixels.
pub const SIZE: (u32, u32) = (960, 560);
const TOP: f64 = 122.0;
const BOTTOM: f64 = 48.0;
/// The least distance between labels on the right, pixels.
const LABEL_HEIGHT: f64 = 38.0;

/// The picture of the survival curves of an order: of each way the latest placing alone, so that the hours that are in
/// question take the width.
pub fn picture(event: &Event, order: &OrderFacts) -> Sketch {
    let later =
        |c: &Curve| order.curves.iter().any(|o| o.treatment == c.treatment && o.place_at > c.place_at + 1e-9);
    let shown: Vec<Curve> = order
        .curves
        .iter()
        .enumerate()
        .filter(|(i, c)| *i == 0 || !later(c))
        .map(|(_, c)| c.clone())
        .collect();
    sized(event, order, &shown, SIZE)
}

/// The picture of some survival curves of an order, the most important first, at a width and height in pixels.
pub fn sized(event: &Event, order: &OrderFacts, curves: &[Curve], size: (u32, u32)) -> Sketch {
    let first = curves.iter().map(|c| c.place_at).fold(f64::INFINITY, f64::min);
    let hours = (first, event.span().1);
    let base = f64::from(size.1) - BOTTOM;
    let axes = Axes::new(event, hours, (0.0, f64::from(order.order.heads)), size.0, (TOP, base));
    let sheet = Sketch::new(size, description(event, order, curves));
    let mut picture = Picture { event, order, curves, hours, axes, sheet };
    picture.draw();
    picture.sheet
}

/// The description of the picture for those who cannot see it.
fn description(event: &Event, order: &OrderFacts, curves: &[Curve]) -> String {
    let until = clock(event, order.piece.until);
    let line = |curve: &Curve| {
        let heads = left(order, curve);
        let (method, from) = (curve.treatment.method, clock(event, curve.place_at));
        format!("{method} from {from}: about {heads:.0} at {until}")
    };
    format!(
        "{}, heads {} by the clock. {}.",
        title(&order.piece.name, &order.called(), order.order.heads),
        kept(order.order.counts),
        curves.iter().map(line).collect::<Vec<_>>().join("; ")
    )
}

/// How many heads of an order a curve has left at the piece's hour, in the middle delivery.
fn left(order: &OrderFacts, curve: &Curve) -> f64 {
    let i = curve.points.partition_point(|(h, _)| *h <= order.piece.until).saturating_sub(1);
    curve.points[i].1.p50 * f64::from(order.order.heads)
}

/// What the picture shows, in one line.
fn finding(event: &Event, order: &OrderFacts, curves: &[Curve]) -> String {
    let (heads, until) = (order.order.heads, clock(event, order.piece.until));
    let told = |(i, curve): (usize, &Curve)| {
        let of = if i == 0 { format!(" of {heads}") } else { String::new() };
        format!("{} {:.0}{of}", curve.treatment.method.words(), left(order, curve))
    };
    let mut ways: Vec<String> = curves.iter().enumerate().map(told).collect();
    ways.dedup();
    format!("{}, {} at {until}: {}", capital(&order.called()), order.piece.name, ways.join(", "))
}

struct Picture<'a> {
    event: &'a Event,
    order: &'a OrderFacts<'a>,
    curves: &'a [Curve],
    hours: (f64, f64),
    axes: Axes<'a>,
    sheet: Sketch,
}

impl Picture<'_> {
    fn draw(&mut self) {
        let order = self.order.order;
        let found = finding(self.event, self.order, self.curves);
        self.sheet.text(&found, (16.0, 14.0), title_size(&found), INK, true, Anchor::TopLeft);
        let under = format!(
            "{}: how many are {}, by the clock. Shaded: where nine deliveries in ten lie",
            self.event.name,
            kept(order.counts)
        );
        self.sheet.text(&under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
        self.axes.grid(&mut self.sheet, &ticks(f64::from(order.heads)));
        self.axes.clock(&mut self.sheet);
        self.marks();
        self.series();
        self.labels();
    }

    /// Draws lines at the doors, the piece's hour, its moves and other times that the event names.
    fn marks(&mut self) {
        let (event, piece, (first, last)) = (self.event, self.order.piece, self.hours);
        let mut marks =
            vec![("doors".to_string(), event.doors, false), ("wanted until".to_string(), piece.until, true)];
        marks.extend(event.marks.iter().map(|(name, at)| (name.clone(), *at, false)));
        marks.extend(
            piece.moves.iter().map(|(at, to)| (format!("to the {}", event.spaces[*to].name), *at, false)),
        );
        marks.retain(|(_, at, _)| (first..=last).contains(at));
        marks.sort_by(|a, b| a.1.total_cmp(&b.1));
        let base = self.axes.y(0.0);
        let mut ends = [f64::NEG_INFINITY; 4];
        let mut names = Vec::new();
        for (name, hour, strong) in marks {
            let ink = if strong { INK } else { SOFT };
            let half = 3.5 * name.chars().count() as f64 + 4.0;
            // Names stay left of the names of the curves.
            let line = self.axes.x(hour);
            let x = line.min(self.axes.x(last) - half);
            // The lowest row in which the name touches no other.
            let row = ends.iter().position(|end| x - half >= *end).unwrap_or(0);
            ends[row] = x + half;
            let y = TOP - 6.0 - 15.0 * row as f64;
            let (shade, thick) = if strong { (SOFT, 1.6) } else { (FAINT, 1.2) };
            self.sheet.line(&[(line, y + 1.0), (line, base)], shade, thick);
            names.push((name, (x, y), half, ink, strong));
        }
        // Names come last, each on a background of its own, so that no line runs through them.
        for (name, (x, y), half, ink, strong) in names {
            self.sheet.rectangle((x - half, y - 14.0), (x + half, y), PAPER, 1.0);
            self.sheet.text(&name, (x, y), 12.5, ink, strong, Anchor::Bottom);
        }
    }

    /// Draws all bands, the first curve's the darkest, then all curves, the first on top.
    fn series(&mut self) {
        let heads = f64::from(self.order.order.heads);
        let edge = |curve: &Curve, of: fn(&Band) -> f64| -> Vec<Point> {
            curve.points.iter().map(|(hour, share)| (*hour, heads * of(share))).collect()
        };
        let curves = self.curves;
        self.axes.plot(&mut self.sheet, |chart| {
            for (i, curve) in curves.iter().enumerate().rev() {
                let style = fill(colour(curve.treatment.method), if i == 0 { 0.18 } else { 0.07 });
                band(chart, &edge(curve, |b| b.p95), &edge(curve, |b| b.p05), style)?;
            }
            for (i, curve) in curves.iter().enumerate().rev() {
                let (shade, thick) = (colour(curve.treatment.method), if i == 0 { 3.2 } else { 2.0 });
                let middle = edge(curve, |b| b.p50);
                line(chart, &middle, shade, thick, dashes(curve.treatment.method))?;
                let dot = Circle::new(middle[0], fine(3.6), fill(shade, 1.0));
                chart.draw_series(std::iter::once(dot))?;
            }
            Ok(())
        });
    }

    /// Draws the names of the curves at their ends, moved apart where they would touch.
    fn labels(&mut self) {
        let heads = f64::from(self.order.order.heads);
        let end =
            |(i, c): (usize, &Curve)| c.points.last().map(|(_, share)| (self.axes.y(heads * share.p50), i));
        let mut labels: Vec<(f64, usize)> = self.curves.iter().enumerate().filter_map(end).collect();
        apart(&mut labels, LABEL_HEIGHT, self.axes.y(0.0) - 12.0);
        let x = self.axes.x(self.hours.1) + 10.0;
        for (y, i) in labels {
            let curve = &self.curves[i];
            let shade = colour(curve.treatment.method);
            self.sheet.text(curve.treatment.method.words(), (x, y), 14.0, shade, i == 0, Anchor::Left);
            let placed = format!("placed {}", clock(self.event, curve.place_at));
            self.sheet.text(&placed, (x, y + 15.0), 11.5, SOFT, false, Anchor::Left);
        }
    }
}

/// Whole numbers of heads to mark on the vertical axis, from none to all in about five steps.
fn ticks(heads: f64) -> Vec<f64> {
    let step = [1.0, 2.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0, 200.0, 500.0, 1000.0, 5000.0, 20_000.0]
        .into_iter()
        .find(|s| heads / s <= 6.0)
        .unwrap_or(heads);
    let mut ticks: Vec<f64> =
        (0..).map(|i| f64::from(i) * step).take_while(|n| *n <= heads - 0.6 * step).collect();
    ticks.push(heads);
    ticks
}
