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
                // The library fills a wide area column by column, and blends rows several times as fast.
                Shape::Area { points, colour, opacity } if *opacity < 1.0 => {
                    let style = rgb(*colour).mix(*opacity).filled();
                    let corners: Vec<_> = points.iter().map(|(x, y)| (x * scale, y * scale)).collect();
                    for (y, from, to) in rows(&corners) {
                        root.draw(&Rectangle::new([(from, y), (to, y + 1)], style))?;
                    }
                }
                Shape::Area { points, colour, .. } => {
                    let style = rgb(*colour).filled();
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

/// The rows of pixels of a polygon: each with its first pixel and the one after its last.
fn rows(corners: &[(f64, f64)]) -> Vec<(i32, i32, i32)> {
    let row = |y: f64| (y - 0.5).ceil() as i32;
    let first = corners.iter().map(|c| row(c.1)).min().unwrap_or(0);
    let end = corners.iter().map(|c| row(c.1)).max().unwrap_or(0);
    // Where sides cross the middle of each row.
    let mut crossings = vec![Vec::new(); (end - first) as usize];
    for (a, b) in corners.iter().zip(corners.iter().cycle().skip(1)) {
        let (top, bottom) = if a.1 <= b.1 { (a, b) } else { (b, a) };
        for y in row(top.1)..row(bottom.1) {
            let down = (f64::from(y) + 0.5 - top.1) / (bottom.1 - top.1);
            crossings[(y - first) as usize].push(top.0 + down * (bottom.0 - top.0));
        }
    }
    let mut rows = Vec::new();
    for (y, mut x) in (first..).zip(crossings) {
        x.sort_unstable_by(f64::total_cmp);
        rows.extend(x.chunks_exact(2).map(|x| (y, x[0].round() as i32, x[1].round() as i32)));
    }
    rows.retain(|(_, from, to)| from < to);
    rows
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

#[cfg(test)]
mod tests {
    use super::rows;

    /// A triangle over four rows, by hand: their middles lie at 0.5 to 3.5, where it is 0.5, 1.5, 2.5 and 3.5 wide.
    #[test]
    fn an_area_is_its_rows() {
        let triangle = [(0.0, 0.0), (4.0, 4.0), (0.0, 4.0)];
        assert_eq!(rows(&triangle), [(0, 0, 1), (1, 0, 2), (2, 0, 3), (3, 0, 4)]);
        // Two teeth side by side, from row 1 on.
        let teeth =
            [(0.0, 1.0), (2.0, 1.0), (2.0, 2.0), (4.0, 2.0), (4.0, 1.0), (6.0, 1.0), (6.0, 3.0), (0.0, 3.0)];
        assert_eq!(rows(&teeth), [(1, 0, 2), (1, 4, 6), (2, 0, 6)]);
        assert_eq!(rows(&[]), []);
    }
}
