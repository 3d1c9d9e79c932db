//! Survival curves over the event's clock, as SVG and PNG.

use super::style::{Colour, FAINT, INK, PAPER, SOFT, colour, dashes};
use super::words::{kept, title};
use crate::decide::plan::{Curve, FlowerPlan, PiecePlan};
use crate::event::Event;
use crate::stats::Band;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::sync::Once;

/// Width and height of a picture, in pixels at which its text is meant to be read.
const SIZE: (u32, u32) = (960, 560);
/// The vector picture is drawn on a canvas this many times larger, because the library's coordinates are whole numbers.
const FINE: u32 = 10;
/// The pixel picture has this many pixels for each.
const SHARP: u32 = 2;
/// Room to the left, right, top and bottom of the plot.
const MARGIN: (i32, i32, i32, i32) = (56, 196, 122, 48);
/// Labels on the right keep this distance.
const LABEL_HEIGHT: f64 = 38.0;

type Result<T> = std::result::Result<T, Box<dyn std::error::Error>>;

/// The survival curves of one flower of a piece as SVG.
///
/// # Errors
/// When the drawing library fails, which the shipped font and a picture in memory leave no cause for.
pub fn svg(event: &Event, piece: &PiecePlan, flower: &FlowerPlan) -> Result<String> {
    let mut text = String::new();
    {
        let root = SVGBackend::with_string(&mut text, (SIZE.0 * FINE, SIZE.1 * FINE)).into_drawing_area();
        Picture { event, piece, flower, scale: f64::from(FINE) }.draw(&root)?;
        root.present()?;
    }
    // Shown at its natural size: the viewBox keeps the fine coordinates.
    let alt = escape(&description(event, piece, flower));
    let fine = format!("width=\"{}\" height=\"{}\"", SIZE.0 * FINE, SIZE.1 * FINE);
    let shown = format!("width=\"{}\" height=\"{}\" role=\"img\" aria-label=\"{alt}\"", SIZE.0, SIZE.1);
    Ok(text.replacen(&fine, &shown, 1).replace("font-family=\"Inter\"", "font-family=\"Inter, sans-serif\""))
}

/// The same as PNG.
///
/// # Errors
/// As [`svg`].
pub fn png(event: &Event, piece: &PiecePlan, flower: &FlowerPlan) -> Result<Vec<u8>> {
    let (width, height) = (SIZE.0 * SHARP, SIZE.1 * SHARP);
    let mut pixels = vec![255; (width * height * 3) as usize];
    {
        let root = BitMapBackend::with_buffer(&mut pixels, (width, height)).into_drawing_area();
        Picture { event, piece, flower, scale: f64::from(SHARP) }.draw(&root)?;
        root.present()?;
    }
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Best);
    encoder.set_adaptive_filter(png::AdaptiveFilterType::Adaptive);
    encoder.write_header()?.write_image_data(&pixels)?;
    Ok(bytes)
}

/// What the picture shows, for those who cannot see it.
pub fn description(event: &Event, piece: &PiecePlan, flower: &FlowerPlan) -> String {
    let lines: Vec<String> = flower
        .curves
        .iter()
        .map(|curve| {
            let at = ends_at(curve, piece.piece.until);
            format!(
                "{} from {}: about {:.0} at {}",
                curve.treatment,
                super::words::clock(event, curve.place_at),
                at.p50 * f64::from(flower.order.heads),
                super::words::clock(event, piece.piece.until)
            )
        })
        .collect();
    format!(
        "{}, heads {} by the clock. {}.",
        title(&piece.piece.name, flower.order.flower.name(), flower.order.heads),
        kept(piece.piece.counts),
        lines.join("; ")
    )
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn fonts() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let regular = include_bytes!("../../reference-data/fonts/Inter-Regular.otf");
        let bold = include_bytes!("../../reference-data/fonts/Inter-Bold.otf");
        for family in ["Inter", "sans-serif"] {
            for (style, bytes) in [(FontStyle::Normal, &regular[..]), (FontStyle::Bold, &bold[..])] {
                if plotters::style::register_font(family, style, bytes).is_err() {
                    unreachable!("the shipped font reads");
                }
            }
        }
    });
}

/// The band of a curve at an hour, or at its last one before.
fn ends_at(curve: &Curve, hour: f64) -> Band {
    let i = curve.points.partition_point(|(h, _)| *h <= hour).saturating_sub(1);
    curve.points[i].1
}

struct Picture<'a> {
    event: &'a Event,
    piece: &'a PiecePlan,
    flower: &'a FlowerPlan,
    scale: f64,
}

impl Picture<'_> {
    fn px(&self, n: f64) -> i32 {
        (n * self.scale).round() as i32
    }

    fn font<'b>(&self, size: f64, colour: Colour, bold: bool) -> TextStyle<'b> {
        let style = if bold { FontStyle::Bold } else { FontStyle::Normal };
        let (r, g, b) = colour;
        FontDesc::new(FontFamily::Name("Inter"), size * self.scale, style).color(&RGBColor(r, g, b))
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        fonts();
        root.fill(&rgb(PAPER))?;
        let piece = &self.piece.piece;
        let heads = f64::from(self.flower.order.heads);
        let (left, right, top, bottom) = MARGIN;
        let (width, height) = (SIZE.0 as i32 - left - right, SIZE.1 as i32 - top - bottom);
        let first = self.flower.curves.iter().map(|c| c.place_at).fold(f64::INFINITY, f64::min);
        let last = self.event.span().1;
        let at = |x: f64, y: f64| (self.px(x), self.px(y));
        let x = |hour: f64| f64::from(left) + (hour - first) / (last - first) * f64::from(width);
        let y = |share: f64| f64::from(top) + (1.0 - share) * f64::from(height);

        root.draw_text(
            &title(&piece.name, self.flower.order.flower.name(), self.flower.order.heads),
            &self.font(21.0, INK, true),
            at(f64::from(left) - 40.0, 14.0),
        )?;
        let sub = format!("How many are {}, by the clock", kept(piece.counts));
        root.draw_text(&sub, &self.font(14.5, SOFT, false), at(f64::from(left) - 40.0, 40.0))?;

        // Faint lines at whole numbers of heads, and the clock below.
        for n in ticks(heads) {
            let height = y(n / heads);
            self.line(root, &[(x(first), height), (x(last), height)], FAINT, 1.0)?;
            let style = self.font(13.0, SOFT, false).pos(Pos::new(HPos::Right, VPos::Center));
            root.draw_text(&format!("{n:.0}"), &style, at(f64::from(left) - 8.0, height))?;
        }
        self.clock(root, first, last, &x, y(0.0))?;
        self.marks(root, first, last, &x, (y(1.0), y(0.0)))?;

        // The band of the choice, then all curves, the choice last and on top.
        let chosen = &self.flower.curves[0];
        let upper = chosen.points.iter().map(|(h, b)| at(x(*h), y(b.p95)));
        let lower = chosen.points.iter().rev().map(|(h, b)| at(x(*h), y(b.p05)));
        let band: Vec<(i32, i32)> = upper.chain(lower).collect();
        root.draw(&Polygon::new(band, rgb(colour(chosen.treatment)).mix(0.16).filled()))?;
        for (i, curve) in self.flower.curves.iter().enumerate().rev() {
            let points: Vec<(f64, f64)> = curve.points.iter().map(|(h, b)| (x(*h), y(b.p50))).collect();
            let thick = if i == 0 { 3.2 } else { 2.0 };
            self.dashed(root, &points, colour(curve.treatment), thick, dashes(curve.treatment))?;
            let (px, py) = points[0];
            root.draw(&Circle::new(at(px, py), self.px(3.6), rgb(colour(curve.treatment)).filled()))?;
        }
        self.labels(root, x(last) + 10.0, &y)
    }

    /// Hours of the day along the bottom.
    fn clock<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        first: f64,
        last: f64,
        x: &dyn Fn(f64) -> f64,
        base: f64,
    ) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        self.line(root, &[(x(first), base), (x(last), base)], SOFT, 1.0)?;
        let every = [1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0]
            .into_iter()
            .find(|e| (last - first) / e <= 9.0)
            .unwrap_or(24.0);
        let mut hour = (first / every).ceil() * every;
        while hour <= last + 1e-9 {
            self.line(root, &[(x(hour), base), (x(hour), base + 5.0)], SOFT, 1.0)?;
            let style = self.font(13.0, SOFT, false).pos(Pos::new(HPos::Center, VPos::Top));
            let moment = self.event.moment(hour);
            root.draw_text(&moment.clock(), &style, (self.px(x(hour)), self.px(base + 8.0)))?;
            if moment.day_and_minute().1 == 0 || hour - every < first {
                let day = self.event.date.saturating_add(jiff::Span::new().days(moment.day_and_minute().0));
                let style = self.font(11.5, SOFT, false).pos(Pos::new(HPos::Center, VPos::Top));
                let text = day.strftime("%a %-d %b").to_string();
                root.draw_text(&text, &style, (self.px(x(hour)), self.px(base + 24.0)))?;
            }
            hour += every;
        }
        Ok(())
    }

    /// Doors, the piece's own hour, the moves, and what else the user marked.
    fn marks<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        first: f64,
        last: f64,
        x: &dyn Fn(f64) -> f64,
        (top, base): (f64, f64),
    ) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        let piece = &self.piece.piece;
        let mut marks = vec![
            ("doors".to_string(), self.event.doors, false),
            ("wanted until".to_string(), piece.until, true),
        ];
        marks.extend(self.event.marks.iter().map(|(name, at)| (name.clone(), *at, false)));
        marks.extend(
            piece
                .moves
                .iter()
                .map(|(at, to)| (format!("to the {}", self.event.spaces[*to].name), *at, false)),
        );
        marks.retain(|(_, at, _)| (first..=last).contains(at));
        marks.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut ends = [f64::NEG_INFINITY; 4];
        let mut names = Vec::new();
        for (name, hour, strong) in marks {
            let (at, ink) = (x(hour), if strong { INK } else { SOFT });
            // The lowest row of labels in which nothing is in the way.
            let half = 3.5 * name.chars().count() as f64 + 4.0;
            let row = ends.iter().position(|end| at - half >= *end).unwrap_or(0);
            ends[row] = at + half;
            let height = top - 6.0 - 15.0 * row as f64;
            self.line(
                root,
                &[(at, height + 1.0), (at, base)],
                if strong { SOFT } else { FAINT },
                if strong { 1.6 } else { 1.2 },
            )?;
            names.push((name, ink, strong, at, height, half));
        }
        // Names last, on paper of their own, so that no line of another mark runs through them.
        for (name, ink, strong, at, height, half) in names {
            let corners =
                [(self.px(at - half), self.px(height - 14.0)), (self.px(at + half), self.px(height))];
            root.draw(&Rectangle::new(corners, rgb(PAPER).filled()))?;
            let style = self.font(12.5, ink, strong).pos(Pos::new(HPos::Center, VPos::Bottom));
            root.draw_text(&name, &style, (self.px(at), self.px(height)))?;
        }
        Ok(())
    }

    /// Names of the curves at their ends, moved apart where they would touch.
    fn labels<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        x: f64,
        y: &dyn Fn(f64) -> f64,
    ) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        let mut labels: Vec<(f64, usize)> = self
            .flower
            .curves
            .iter()
            .enumerate()
            .map(|(i, c)| (y(c.points.last().expect("a curve has points").1.p50), i))
            .collect();
        labels.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (top, base) = (y(1.0), y(0.0) - 12.0);
        for i in 1..labels.len() {
            labels[i].0 = labels[i].0.max(labels[i - 1].0 + LABEL_HEIGHT);
        }
        let over = labels.last().map_or(0.0, |l| (l.0 - base).max(0.0));
        let mut floor = f64::INFINITY;
        for label in labels.iter_mut().rev() {
            label.0 =
                (label.0 - if floor.is_infinite() { over } else { 0.0 }).min(floor - LABEL_HEIGHT).max(top);
            floor = label.0;
        }
        for (height, i) in labels {
            let curve = &self.flower.curves[i];
            let style =
                self.font(14.0, colour(curve.treatment), i == 0).pos(Pos::new(HPos::Left, VPos::Center));
            root.draw_text(curve.treatment.words(), &style, (self.px(x), self.px(height)))?;
            let placed = format!("placed {}", super::words::clock(self.event, curve.place_at));
            let style = self.font(11.5, SOFT, false).pos(Pos::new(HPos::Left, VPos::Center));
            root.draw_text(&placed, &style, (self.px(x), self.px(height + 15.0)))?;
        }
        Ok(())
    }

    fn line<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        points: &[(f64, f64)],
        colour: Colour,
        thick: f64,
    ) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        let style = rgb(colour).stroke_width(self.px(thick).max(1) as u32);
        let points: Vec<(i32, i32)> = points.iter().map(|(x, y)| (self.px(*x), self.px(*y))).collect();
        Ok(root.draw(&PathElement::new(points, style))?)
    }

    /// A line in dashes of whole runs of the path.
    fn dashed<B: DrawingBackend>(
        &self,
        root: &DrawingArea<B, Shift>,
        points: &[(f64, f64)],
        colour: Colour,
        thick: f64,
        dashes: Option<(u32, u32)>,
    ) -> Result<()>
    where
        B::ErrorType: 'static,
    {
        let Some((on, off)) = dashes else { return self.line(root, points, colour, thick) };
        let (on, off) = (f64::from(on), f64::from(off));
        let mut run = vec![points[0]];
        let (mut left, mut drawing) = (on, true);
        for pair in points.windows(2) {
            let (mut from, to) = (pair[0], pair[1]);
            loop {
                let length = (to.0 - from.0).hypot(to.1 - from.1);
                if length < left {
                    left -= length;
                    run.push(to);
                    break;
                }
                let w = left / length;
                from = (from.0 + w * (to.0 - from.0), from.1 + w * (to.1 - from.1));
                run.push(from);
                if drawing {
                    self.line(root, &run, colour, thick)?;
                }
                run = vec![from];
                drawing = !drawing;
                left = if drawing { on } else { off };
            }
        }
        if drawing && run.len() > 1 {
            self.line(root, &run, colour, thick)?;
        }
        Ok(())
    }
}

fn rgb((r, g, b): Colour) -> RGBColor {
    RGBColor(r, g, b)
}

/// Whole numbers of heads for the vertical axis: none to all, about five steps.
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
