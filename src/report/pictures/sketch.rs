//! A picture as a list of shapes, and its rendering as SVG and PNG.
//!
//! Coordinates are pixels at which the text is meant to be read, and may be broken numbers.

use super::style::{Colour, PAPER};
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::sync::Once;

/// The vector picture is drawn on a canvas this many times larger, because the library's coordinates are whole numbers.
const FINE: u32 = 10;
/// The pixel picture has this many pixels for each.
const SHARP: u32 = 2;

/// A point of a picture.
pub type Point = (f64, f64);
/// What a failing library says.
pub type Failure = Box<dyn std::error::Error>;

/// Which point of a text its coordinates are: across, then along the height.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// Left and top.
    TopLeft,
    /// Left, half way up.
    Left,
    /// Right, half way up.
    Right,
    /// In the middle, top.
    Top,
    /// In the middle, bottom.
    Bottom,
}

/// A shape of a picture.
#[derive(Debug, Clone)]
#[allow(missing_docs, reason = "the fields say what they are")]
pub enum Shape {
    Text { words: String, at: Point, size: f64, colour: Colour, bold: bool, anchor: Anchor },
    Line { points: Vec<Point>, colour: Colour, thick: f64 },
    Area { points: Vec<Point>, colour: Colour, opacity: f64 },
    Dot { at: Point, radius: f64, colour: Colour },
}

/// A picture.
#[derive(Debug, Clone)]
pub struct Sketch {
    size: (u32, u32),
    description: String,
    shapes: Vec<Shape>,
}

impl Sketch {
    /// An empty sheet, and what the picture shows for those who cannot see it.
    pub fn new(size: (u32, u32), description: String) -> Sketch {
        Sketch { size, description, shapes: Vec::new() }
    }

    /// Its width and height.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }

    /// What it shows, for those who cannot see it.
    pub fn description(&self) -> &str {
        &self.description
    }

    /// Its shapes, in the order of painting.
    pub fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Text on one line.
    pub fn text(&mut self, words: &str, at: Point, size: f64, colour: Colour, bold: bool, anchor: Anchor) {
        self.shapes.push(Shape::Text { words: words.to_string(), at, size, colour, bold, anchor });
    }

    /// A broken line.
    pub fn line(&mut self, points: &[Point], colour: Colour, thick: f64) {
        self.shapes.push(Shape::Line { points: points.to_vec(), colour, thick });
    }

    /// A filled area.
    pub fn area(&mut self, points: Vec<Point>, colour: Colour, opacity: f64) {
        self.shapes.push(Shape::Area { points, colour, opacity });
    }

    /// A filled rectangle between two corners.
    pub fn rectangle(&mut self, a: Point, b: Point, colour: Colour, opacity: f64) {
        self.area(vec![a, (b.0, a.1), b, (a.0, b.1)], colour, opacity);
    }

    /// A dot.
    pub fn dot(&mut self, at: Point, radius: f64, colour: Colour) {
        self.shapes.push(Shape::Dot { at, radius, colour });
    }

    /// A broken line in dashes, each following the line round its corners.
    pub fn dashed(&mut self, points: &[Point], colour: Colour, thick: f64, (on, off): (f64, f64)) {
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
                    self.line(&run, colour, thick);
                }
                run = vec![from];
                drawing = !drawing;
                left = if drawing { on } else { off };
            }
        }
        if drawing && run.len() > 1 {
            self.line(&run, colour, thick);
        }
    }

    /// The picture as SVG.
    ///
    /// # Errors
    /// When the drawing library fails, which the shipped font and a picture in memory leave no cause for.
    pub fn svg(&self) -> Result<String, Failure> {
        let (width, height) = self.size;
        let mut text = String::new();
        {
            let root = SVGBackend::with_string(&mut text, (width * FINE, height * FINE)).into_drawing_area();
            root.fill(&rgb(PAPER))?;
            self.draw(&root, f64::from(FINE))?;
            root.present()?;
        }
        // Shown at its natural size: the viewBox keeps the fine coordinates.
        let fine = format!("width=\"{}\" height=\"{}\"", width * FINE, height * FINE);
        let alt = escape(&self.description);
        let shown = format!("width=\"{width}\" height=\"{height}\" role=\"img\" aria-label=\"{alt}\"");
        Ok(text
            .replacen(&fine, &shown, 1)
            .replace("font-family=\"Inter\"", "font-family=\"Inter, sans-serif\""))
    }

    /// The picture as PNG.
    ///
    /// # Errors
    /// As [`Sketch::svg`].
    pub fn png(&self) -> Result<Vec<u8>, Failure> {
        let (width, height) = (self.size.0 * SHARP, self.size.1 * SHARP);
        let mut pixels = [PAPER.0, PAPER.1, PAPER.2].repeat((width * height) as usize);
        {
            let root = BitMapBackend::with_buffer(&mut pixels, (width, height)).into_drawing_area();
            self.draw(&root, f64::from(SHARP))?;
            root.present()?;
        }
        let mut bytes = Vec::new();
        let mut encoder = png::Encoder::new(&mut bytes, width, height);
        encoder.set_color(png::ColorType::Rgb);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_compression(png::Compression::Fast);
        encoder.set_adaptive_filter(png::AdaptiveFilterType::Adaptive);
        encoder.write_header()?.write_image_data(&pixels)?;
        Ok(bytes)
    }

    fn draw<B: DrawingBackend>(&self, root: &DrawingArea<B, Shift>, scale: f64) -> Result<(), Failure>
    where
        B::ErrorType: 'static,
    {
        fonts();
        let px = |n: f64| (n * scale).round() as i32;
        let at = |p: &Point| (px(p.0), px(p.1));
        for shape in &self.shapes {
            match shape {
                Shape::Text { words, at: point, size, colour, bold, anchor } => {
                    let style = if *bold { FontStyle::Bold } else { FontStyle::Normal };
                    let (h, v) = match anchor {
                        Anchor::TopLeft => (HPos::Left, VPos::Top),
                        Anchor::Left => (HPos::Left, VPos::Center),
                        Anchor::Right => (HPos::Right, VPos::Center),
                        Anchor::Top => (HPos::Center, VPos::Top),
                        Anchor::Bottom => (HPos::Center, VPos::Bottom),
                    };
                    let font = FontDesc::new(FontFamily::Name("Inter"), size * scale, style);
                    root.draw_text(words, &font.color(&rgb(*colour)).pos(Pos::new(h, v)), at(point))?;
                }
                Shape::Line { points, colour, thick } => {
                    let style = rgb(*colour).stroke_width(px(*thick).max(1) as u32);
                    root.draw(&PathElement::new(points.iter().map(at).collect::<Vec<_>>(), style))?;
                }
                Shape::Area { points, colour, opacity } => {
                    let style = rgb(*colour).mix(*opacity).filled();
                    root.draw(&Polygon::new(points.iter().map(at).collect::<Vec<_>>(), style))?;
                }
                Shape::Dot { at: point, radius, colour } => {
                    root.draw(&Circle::new(at(point), px(*radius), rgb(*colour).filled()))?;
                }
            }
        }
        Ok(())
    }
}

fn rgb((r, g, b): Colour) -> RGBColor {
    RGBColor(r, g, b)
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// Gives the drawing library the shipped font, once; it asks for `sans-serif` too.
fn fonts() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let regular = include_bytes!("../../../reference-data/fonts/Inter-Regular.otf");
        let bold = include_bytes!("../../../reference-data/fonts/Inter-Bold.otf");
        for family in ["Inter", "sans-serif"] {
            for (style, bytes) in [(FontStyle::Normal, &regular[..]), (FontStyle::Bold, &bold[..])] {
                if plotters::style::register_font(family, style, bytes).is_err() {
                    unreachable!("the shipped font reads");
                }
            }
        }
    });
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_cover_their_share_of_a_line() {
        let mut sketch = Sketch::new((100, 100), String::new());
        sketch.dashed(&[(0.0, 0.0), (30.0, 40.0), (130.0, 40.0)], (0, 0, 0), 1.0, (10.0, 5.0));
        let length =
            |p: &[Point]| -> f64 { p.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum() };
        let drawn: f64 = sketch
            .shapes
            .iter()
            .map(|s| if let Shape::Line { points, .. } = s { length(points) } else { 0.0 })
            .sum();
        assert!((drawn - 100.0).abs() < 1e-9, "{drawn} of 150");
    }

    #[test]
    fn a_description_cannot_break_out_of_the_picture() {
        let sketch = Sketch::new((100, 100), "\"<script>".to_string());
        assert!(sketch.svg().unwrap().contains("aria-label=\"&quot;&lt;script&gt;\""));
    }
}
