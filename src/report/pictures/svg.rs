//! Renders a picture as SVG.

use super::sketch::{Anchor, Point, Shape, Sketch};
use super::style::{Colour, PAPER};
use std::fmt::Write;

impl Sketch {
    /// The picture as SVG 1.1 (W3C, 2011) at its own size, with its description for those who cannot see it.
    pub fn svg(&self) -> String {
        let (width, height) = self.size();
        let mut out = format!(
            "<svg width=\"{width}\" height=\"{height}\" role=\"img\" aria-label=\"{}\" viewBox=\"0 0 {width} {height}\" \
             xmlns=\"http://www.w3.org/2000/svg\">\n<rect width=\"{width}\" height=\"{height}\" fill=\"{}\"/>\n",
            escaped(self.description()),
            hex(PAPER)
        );
        for shape in self.shapes() {
            element(&mut out, shape);
        }
        out.push_str("</svg>\n");
        out
    }
}

fn element(out: &mut String, shape: &Shape) {
    let written = match shape {
        Shape::Text { words, at, size, colour, bold, anchor } => {
            let (held, down) = match anchor {
                Anchor::TopLeft => ("start", "0.76em"),
                Anchor::Left => ("start", "0.5ex"),
                Anchor::Right => ("end", "0.5ex"),
                Anchor::Top => ("middle", "0.76em"),
                Anchor::Bottom => ("middle", "-0.5ex"),
            };
            let weight = if *bold { " font-weight=\"bold\"" } else { "" };
            writeln!(
                out,
                "<text x=\"{}\" y=\"{}\" dy=\"{down}\" text-anchor=\"{held}\" font-family=\"Inter, sans-serif\" \
                 font-size=\"{}\" fill=\"{}\"{weight}>{}</text>",
                short(at.0),
                short(at.1),
                short(size / LINE_TO_EM),
                hex(*colour),
                escaped(words)
            )
        }
        Shape::Line { points, colour, thick } => writeln!(
            out,
            "<polyline fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" points=\"{}\"/>",
            hex(*colour),
            short(*thick),
            listed(points)
        ),
        Shape::Area { points, colour, opacity } => writeln!(
            out,
            "<polygon fill=\"{}\" fill-opacity=\"{}\" points=\"{}\"/>",
            hex(*colour),
            short(*opacity),
            listed(points)
        ),
        Shape::Dot { at, radius, colour } => writeln!(
            out,
            "<circle cx=\"{}\" cy=\"{}\" r=\"{}\" fill=\"{}\"/>",
            short(at.0),
            short(at.1),
            short(*radius),
            hex(*colour)
        ),
    };
    written.expect("a text grows");
}

/// The height of a line of text, which is its size in a picture, divided by the font size (em).
pub(super) const LINE_TO_EM: f64 = 1.24;

fn hex((r, g, b): Colour) -> String {
    format!("#{r:02x}{g:02x}{b:02x}")
}

/// A coordinate rounded to hundredths of a pixel.
fn short(x: f64) -> f64 {
    let short = (x * 100.0).round() / 100.0;
    // Turns minus zero into zero.
    short + 0.0
}

fn listed(points: &[Point]) -> String {
    points.iter().map(|(x, y)| format!("{},{}", short(*x), short(*y))).collect::<Vec<_>>().join(" ")
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_name_can_break_out_of_the_picture() {
        let mut sketch = Sketch::new((100, 100), "\"<script>".to_string());
        sketch.text("<b>&", (1.0, 2.0), 12.4, (0, 0, 0), false, Anchor::Left);
        let svg = sketch.svg();
        assert!(
            svg.contains("aria-label=\"&quot;&lt;script&gt;\"") && svg.contains(">&lt;b&gt;&amp;<"),
            "{svg}"
        );
        assert!(svg.contains("font-size=\"10\""), "{svg}");
    }
}
