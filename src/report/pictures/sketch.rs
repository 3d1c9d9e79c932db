//! A picture as a list of shapes. The plotting library draws charts into it (`canvas`); titles, names of lines and
//! notes are added by hand. [`Sketch::svg`], [`Sketch::png`] and the PDF render the same list.
//!
//! Coordinates are pixels at the size at which the text is meant to be read. They need not be whole numbers.

use super::style::Colour;

/// A point of a picture: across and down, in pixels.
pub type Point = (f64, f64);
/// The error of a library that fails.
pub type Failure = Box<dyn std::error::Error>;

/// The point of a text that stands at its coordinates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Anchor {
    /// The top left corner.
    TopLeft,
    /// The left end, half way up.
    Left,
    /// The right end, half way up.
    Right,
    /// The middle of the top.
    Top,
    /// The middle of the bottom.
    Bottom,
}

/// One shape of a picture. Lengths are pixels; opacity is from 0 to 1.
#[derive(Debug, Clone)]
#[allow(missing_docs, reason = "the fields say what they are")]
pub enum Shape {
    Text { words: String, at: Point, size: f64, colour: Colour, bold: bool, anchor: Anchor },
    Line { points: Vec<Point>, colour: Colour, thick: f64 },
    Area { points: Vec<Point>, colour: Colour, opacity: f64 },
    Dot { at: Point, radius: f64, colour: Colour },
}

/// A picture with its description.
#[derive(Debug, Clone)]
pub struct Sketch {
    size: (u32, u32),
    description: String,
    shapes: Vec<Shape>,
}

impl Sketch {
    /// An empty picture of some width and height in pixels, with a description for those who cannot see it.
    pub fn new(size: (u32, u32), description: String) -> Sketch {
        Sketch { size, description, shapes: Vec::new() }
    }

    /// The width and height, pixels.
    pub fn size(&self) -> (u32, u32) {
        self.size
    }

    /// The description for those who cannot see the picture.
    pub fn description(&self) -> &str {
        &self.description
    }

    /// The shapes, in the order of painting.
    pub fn shapes(&self) -> &[Shape] {
        &self.shapes
    }

    /// Adds text on one line, `size` pixels high.
    pub fn text(&mut self, words: &str, at: Point, size: f64, colour: Colour, bold: bool, anchor: Anchor) {
        self.shapes.push(Shape::Text { words: words.to_string(), at, size, colour, bold, anchor });
    }

    /// Adds a line through points, `thick` pixels wide.
    pub fn line(&mut self, points: &[Point], colour: Colour, thick: f64) {
        self.shapes.push(Shape::Line { points: points.to_vec(), colour, thick });
    }

    /// Adds a filled polygon, its opacity from 0 to 1.
    pub fn area(&mut self, points: Vec<Point>, colour: Colour, opacity: f64) {
        self.shapes.push(Shape::Area { points, colour, opacity });
    }

    /// Adds a filled rectangle between two corners.
    pub fn rectangle(&mut self, a: Point, b: Point, colour: Colour, opacity: f64) {
        self.area(vec![a, (b.0, a.1), b, (a.0, b.1)], colour, opacity);
    }

    /// Adds a filled circle, its radius in pixels.
    pub fn dot(&mut self, at: Point, radius: f64, colour: Colour) {
        self.shapes.push(Shape::Dot { at, radius, colour });
    }

    /// Adds a dashed line through points, its dashes `on` and `off` pixels long. They follow the line round its
    /// corners.
    ///
    /// # Panics
    /// If there are no points.
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
}
