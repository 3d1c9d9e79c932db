//! A backend of the plotting library that turns what it draws into shapes of a picture.
//!
//! The library has whole coordinates, so its canvas has ten steps to a pixel of the picture.

use super::sketch::{Anchor, Point, Sketch};
use super::style::Colour;
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};
use plotters_backend::{BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingErrorKind};
use std::convert::Infallible;

/// How many steps of the canvas make a pixel of the picture.
pub const FINE: i32 = 10;

/// A part of a picture, as a canvas of the plotting library.
pub type Area<'a> = DrawingArea<Canvas<'a>, Shift>;

/// The result of drawing. Adding to a list in memory never fails.
pub type Drawn<T> = Result<T, DrawingAreaErrorKind<Infallible>>;

/// A picture that the plotting library draws into.
pub struct Canvas<'a>(&'a mut Sketch);

impl Sketch {
    /// Lets the plotting library draw between two corners of the picture, pixels.
    ///
    /// # Panics
    /// If the library refuses what `draw` asks for, which the charts of this module never do.
    pub fn plot(&mut self, from: Point, to: Point, draw: impl FnOnce(&Area) -> Drawn<()>) {
        let whole = Canvas(self).into_drawing_area();
        let fine = |x: f64| (x * f64::from(FINE)).round() as i32;
        let area = whole.shrink(
            (fine(from.0), fine(from.1)),
            ((fine(to.0) - fine(from.0)) as u32, (fine(to.1) - fine(from.1)) as u32),
        );
        draw(&area).expect("a list of shapes takes any shape");
    }
}

/// The style of a line, `thick` pixels wide.
pub fn stroke((r, g, b): Colour, thick: f64) -> ShapeStyle {
    Color::stroke_width(&RGBColor(r, g, b), (thick * f64::from(FINE)).round() as u32)
}

/// The style of a filled area, with an opacity from 0 to 1.
pub fn fill((r, g, b): Colour, opacity: f64) -> ShapeStyle {
    RGBColor(r, g, b).mix(opacity).filled()
}

/// The style of text, `size` pixels high.
pub fn font(size: f64, (r, g, b): Colour) -> TextStyle<'static> {
    let font = FontDesc::new(FontFamily::Name("Inter"), size * f64::from(FINE), FontStyle::Normal);
    font.color(&RGBColor(r, g, b))
}

/// Pixels of the picture as steps of the canvas.
pub fn fine(pixels: f64) -> i32 {
    (pixels * f64::from(FINE)).round() as i32
}

fn point((x, y): BackendCoord) -> Point {
    (f64::from(x) / f64::from(FINE), f64::from(y) / f64::from(FINE))
}

fn thickness(style: &impl BackendStyle) -> f64 {
    f64::from(style.stroke_width()) / f64::from(FINE)
}

fn colour(color: BackendColor) -> Colour {
    color.rgb
}

type Outcome = Result<(), DrawingErrorKind<Infallible>>;

impl DrawingBackend for Canvas<'_> {
    type ErrorType = Infallible;

    fn get_size(&self) -> (u32, u32) {
        let (width, height) = self.0.size();
        (width * FINE as u32, height * FINE as u32)
    }

    fn ensure_prepared(&mut self) -> Outcome {
        Ok(())
    }

    fn present(&mut self) -> Outcome {
        Ok(())
    }

    fn draw_pixel(&mut self, at: BackendCoord, color: BackendColor) -> Outcome {
        self.0.dot(point(at), 0.5 / f64::from(FINE), colour(color));
        Ok(())
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Outcome {
        self.draw_path([from, to], style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        a: BackendCoord,
        b: BackendCoord,
        style: &S,
        filled: bool,
    ) -> Outcome {
        let corners = [a, (b.0, a.1), b, (a.0, b.1)];
        match filled {
            true => self.fill_polygon(corners, style),
            false => self.draw_path(corners.into_iter().chain([a]), style),
        }
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Outcome {
        let points: Vec<Point> = path.into_iter().map(point).collect();
        if style.color().alpha > 0.0 && !points.is_empty() {
            self.0.line(&points, colour(style.color()), thickness(style));
        }
        Ok(())
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        centre: BackendCoord,
        radius: u32,
        style: &S,
        _filled: bool,
    ) -> Outcome {
        self.0.dot(point(centre), f64::from(radius) / f64::from(FINE), colour(style.color()));
        Ok(())
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        corners: I,
        style: &S,
    ) -> Outcome {
        let color = style.color();
        self.0.area(corners.into_iter().map(point).collect(), colour(color), color.alpha);
        Ok(())
    }

    fn draw_text<S: BackendTextStyle>(&mut self, text: &str, style: &S, at: BackendCoord) -> Outcome {
        let anchor = match (style.anchor().h_pos, style.anchor().v_pos) {
            (HPos::Left, VPos::Center | VPos::Bottom) => Anchor::Left,
            (HPos::Left, VPos::Top) => Anchor::TopLeft,
            (HPos::Right, _) => Anchor::Right,
            (HPos::Center, VPos::Bottom) => Anchor::Bottom,
            (HPos::Center, _) => Anchor::Top,
        };
        let bold = matches!(style.style(), FontStyle::Bold);
        self.0.text(text, point(at), style.size() / f64::from(FINE), colour(style.color()), bold, anchor);
        Ok(())
    }
}
