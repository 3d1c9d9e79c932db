//! A picture as a list of shapes. Charts are drawn into it by the plotting library (`canvas`); titles, names of lines and
//! notes are put beside them by hand; [`Sketch::svg`], [`Sketch::png`] and the PDF are renderings of the same list.
//!
//! Coordinates are pixels at which the text is meant to be read, and need not be whole numbers.

use super::style::Colour;

/// A point of a picture: across and down, in pixels.
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

    /// Its width and height, in pixels.
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

    /// A line through points.
    pub fn line(&mut self, points: &[Point], colour: Colour, thick: f64) {
        self.shapes.push(Shape::Line { points: points.to_vec(), colour, thick });
    }

    /// A filled polygon.
    pub fn area(&mut self, points: Vec<Point>, colour: Colour, opacity: f64) {
        self.shapes.push(Shape::Area { points, colour, opacity });
    }

    /// A filled rectangle between two corners.
    pub fn rectangle(&mut self, a: Point, b: Point, colour: Colour, opacity: f64) {
        self.area(vec![a, (b.0, a.1), b, (a.0, b.1)], colour, opacity);
    }

    /// A filled circle.
    pub fn dot(&mut self, at: Point, radius: f64, colour: Colour) {
        self.shapes.push(Shape::Dot { at, radius, colour });
    }

    /// A dashed line through points; dashes follow the line round its corners.
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
