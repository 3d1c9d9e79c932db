//! Renders a picture as PNG with the plotting library.

use super::sketch::{Anchor, Failure, Shape, Sketch};
use super::style::{Colour, PAPER};
use plotters::coord::Shift;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};
use std::sync::Once;

/// How many pixels of the PNG make a pixel of the picture, so that it is sharp on paper and on fine screens.
const SHARP: u32 = 2;

impl Sketch {
    /// The picture as PNG.
    ///
    /// # Errors
    /// If the library fails, for which the shipped font and a picture in memory leave no cause.
    pub fn png(&self) -> Result<Vec<u8>, Failure> {
        let (width, height) = (self.size().0 * SHARP, self.size().1 * SHARP);
        let mut pixels = [PAPER.0, PAPER.1, PAPER.2].repeat((width * height) as usize);
        {
            let root = BitMapBackend::with_buffer(&mut pixels, (width, height)).into_drawing_area();
            self.paint(&root)?;
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

    fn paint(&self, root: &DrawingArea<BitMapBackend, Shift>) -> Result<(), Failure> {
        fonts();
        let scale = f64::from(SHARP);
        let px = |n: f64| (n * scale).round() as i32;
        let at = |p: &(f64, f64)| (px(p.0), px(p.1));
        for shape in self.shapes() {
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

/// Registers the shipped font with the plotting library, once. The library asks for `sans-serif` as well.
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
