//! Drawings for hands that have never done it: each kind of work in four steps, in lines that a black-and-white print keeps.

use super::sketch::{Anchor, Point, Sketch};
use super::style::{Colour, FAINT, INK, SOFT};

/// A kind of work that is shown in four steps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Craft {
    /// Laying greens along a table.
    Greens,
    /// Tucking cut heads into greens.
    Tuck,
    /// A head in a water tube.
    Tube,
    /// A head in a low vase beside the runner.
    Vase,
}

/// Width of a strip and of each of its steps, the height of a strip, and the height of the table top in it, pixels.
const WIDTH: f64 = 700.0;
const STEP: f64 = WIDTH / 4.0;
const HEIGHT: f64 = 146.0;
const TABLE: f64 = 88.0;
/// The size of the text, pixels: 10 points where the strip is as wide as the print of an A4 sheet.
const TEXT: f64 = 14.5;
const LEAF: Colour = (46, 110, 62);
const PETAL: Colour = (150, 34, 78);
const WATER: Colour = (90, 140, 190);

impl Craft {
    /// What is said below each of the four steps, on two lines.
    pub fn steps(self) -> [[&'static str; 2]; 4] {
        match self {
            Craft::Greens => [
                ["Begin in the middle,", "tip outward"],
                ["The next one covers", "half of the first"],
                ["The other half of the", "table the other way"],
                ["One more over the", "middle: no stem shows"],
            ],
            Craft::Tuck => [
                ["Leaves off, cut as", "short as a finger"],
                ["Part the greens,", "push the stem in deep"],
                ["Turn the face", "up, to the guests"],
                ["Three together, then", "a gap: not a row"],
            ],
            Craft::Tube => [
                ["Fill to the brim,", "cap on, no bubble"],
                ["Cut aslant, push in", "at once, to the bottom"],
                ["Lay it into the greens", "with the cap up"],
                ["Pull a leaf over:", "no tube shows"],
            ],
            Craft::Vase => [
                ["Water two thirds up,", "wipe it dry outside"],
                ["Cut aslant, no leaf", "below the water"],
                ["Close to the runner,", "lower than eyes"],
                ["Face to the guests,", "away from elbows"],
            ],
        }
    }

    /// The strip of its four steps.
    pub fn strip(self) -> Sketch {
        let steps = self.steps();
        let told: Vec<String> =
            steps.iter().enumerate().map(|(n, words)| format!("{}. {}", n + 1, words.join(" "))).collect();
        let mut sketch =
            Sketch::new((WIDTH as u32, HEIGHT as u32), format!("Four steps. {}.", told.join(". ")));
        for (n, words) in steps.iter().enumerate() {
            let left = n as f64 * STEP;
            if n > 0 {
                sketch.line(&[(left, 4.0), (left, HEIGHT - 4.0)], FAINT, 1.0);
            }
            sketch.text(&format!("{}", n + 1), (left + 8.0, 3.0), TEXT, SOFT, true, Anchor::TopLeft);
            for (line, words) in words.iter().enumerate() {
                let at = (left + STEP / 2.0, 104.0 + 19.0 * line as f64);
                sketch.text(words, at, TEXT, INK, false, Anchor::Top);
            }
            self.step(&mut sketch, n, (left + STEP / 2.0, TABLE));
        }
        sketch
    }

    /// Draws one step above the middle of its piece of table.
    fn step(self, sketch: &mut Sketch, n: usize, (x, y): Point) {
        let hand = (x, y - 40.0);
        match (self, n) {
            (Craft::Greens, n) => {
                table(sketch, (x, y));
                let laid = [(4.0, 1.0), (-22.0, 1.0), (-4.0, -1.0), (22.0, -1.0)];
                let shown: &[(f64, f64)] = match n {
                    0 => &laid[..1],
                    1 => &laid[..2],
                    _ => &laid,
                };
                for (from, way) in shown {
                    // Tips point away from the middle of the table.
                    sprig(sketch, (x + from, y - 7.0), -way, 46.0);
                }
                if n == 3 {
                    sprig(sketch, (x + 22.0, y - 13.0), -1.0, 44.0);
                }
            }
            (Craft::Tuck, 0) => {
                head(sketch, (x, y - 66.0), 13.0);
                stem(sketch, &[(x, y - 53.0), (x, y - 22.0)]);
                sketch.dashed(&[(x, y - 18.0), (x, y + 2.0)], SOFT, 1.6, (4.0, 3.0));
                scissors(sketch, (x, y - 20.0));
            }
            (Craft::Tuck, 1) => {
                greens(sketch, (x, y));
                head(sketch, hand, 13.0);
                stem(sketch, &[(x, y - 27.0), (x, y - 6.0)]);
                arrow(sketch, (x + 30.0, y - 52.0), (x + 30.0, y - 24.0));
            }
            (Craft::Tuck, 2) => {
                greens(sketch, (x, y));
                head(sketch, (x, y - 22.0), 14.0);
                arrow(sketch, (x, y - 42.0), (x, y - 70.0));
            }
            (Craft::Tuck, _) => {
                greens(sketch, (x, y));
                for (dx, dy) in [(-48.0, -16.0), (-28.0, -21.0), (-36.0, -33.0), (40.0, -19.0)] {
                    head(sketch, (x + dx, y + dy), 10.0);
                }
            }
            (Craft::Tube, 0) => {
                tube(sketch, (x, y - 66.0), (0.0, 1.0));
                arrow(sketch, (x + 26.0, y - 80.0), (x + 26.0, y - 56.0));
            }
            (Craft::Tube, 1) => {
                stem(sketch, &[(x, y - 62.0), (x, y - 12.0)]);
                tube(sketch, (x, y - 46.0), (0.0, 1.0));
                head(sketch, (x, y - 70.0), 12.0);
            }
            (Craft::Tube, 2) => {
                tube(sketch, (x + 2.0, y - 18.0), (-0.94, 0.26));
                stem(sketch, &[(x + 2.0, y - 18.0), (x + 24.0, y - 30.0)]);
                head(sketch, (x + 30.0, y - 34.0), 12.0);
                table(sketch, (x, y));
                sprig(sketch, (x + 36.0, y - 4.0), -1.0, 76.0);
            }
            (Craft::Tube, _) => {
                greens(sketch, (x, y));
                sprig(sketch, (x + 16.0, y - 18.0), -1.0, 62.0);
                head(sketch, (x + 26.0, y - 26.0), 13.0);
            }
            (Craft::Vase, 0) => {
                table(sketch, (x, y));
                vase(sketch, (x, y));
            }
            (Craft::Vase, 1) => {
                table(sketch, (x, y));
                stem(sketch, &[(x, y - 58.0), (x, y - 8.0)]);
                vase(sketch, (x, y));
                head(sketch, (x, y - 66.0), 13.0);
                leaf(sketch, (x, y - 48.0), -0.5, 18.0);
            }
            (Craft::Vase, n) => {
                table(sketch, (x, y));
                for from in [4.0, -22.0, -48.0] {
                    sprig(sketch, (x + from, y - 6.0), -1.0, 25.0);
                }
                let at = (x + 34.0, y);
                stem(sketch, &[(at.0, y - 44.0), (at.0, y - 8.0)]);
                vase(sketch, at);
                head(sketch, (at.0, y - 52.0), 12.0);
                if n == 3 {
                    arrow(sketch, (at.0 - 18.0, y - 58.0), (at.0 - 46.0, y - 66.0));
                }
            }
        }
    }
}

/// A piece of table top.
fn table(sketch: &mut Sketch, (x, y): Point) {
    sketch.line(&[(x - 76.0, y), (x + 76.0, y)], INK, 2.0);
}

/// Greens that lie along the table.
fn greens(sketch: &mut Sketch, (x, y): Point) {
    table(sketch, (x, y));
    for (from, way) in [(70.0, -1.0), (-70.0, 1.0), (20.0, -1.0), (-20.0, 1.0)] {
        sprig(sketch, (x + from, y - 7.0), way, 56.0);
    }
}

/// A sprig that lies from its cut end to the right (1) or the left (-1), so many pixels long.
fn sprig(sketch: &mut Sketch, (x, y): Point, way: f64, long: f64) {
    let tip = (x + way * long, y - 4.0);
    sketch.line(&[(x, y), tip], LEAF, 1.8);
    let turned = |angle: f64| if way > 0.0 { angle } else { std::f64::consts::PI - angle };
    for n in 1..=4 {
        let at = (x + way * long * f64::from(n) / 4.6, y - 4.0 * f64::from(n) / 4.6);
        leaf(sketch, at, turned(-0.7), 14.0);
        leaf(sketch, at, turned(0.55), 11.0);
    }
    leaf(sketch, tip, turned(-0.1), 13.0);
}

/// A leaf from its foot, at an angle in radians clockwise from the right, so many pixels long.
fn leaf(sketch: &mut Sketch, (x, y): Point, angle: f64, long: f64) {
    let (along, across) = ((angle.cos(), angle.sin()), (-angle.sin(), angle.cos()));
    let at =
        |a: f64, b: f64| (x + long * (a * along.0 + b * across.0), y + long * (a * along.1 + b * across.1));
    sketch.area(
        vec![at(0.0, 0.0), at(0.35, 0.22), at(0.7, 0.16), at(1.0, 0.0), at(0.7, -0.16), at(0.35, -0.22)],
        LEAF,
        1.0,
    );
}

/// A head seen from the front.
fn head(sketch: &mut Sketch, centre: Point, radius: f64) {
    for n in 0..8 {
        let angle = f64::from(n) * std::f64::consts::TAU / 8.0;
        sketch.dot(
            (centre.0 + 0.62 * radius * angle.cos(), centre.1 + 0.62 * radius * angle.sin()),
            0.4 * radius,
            PETAL,
        );
    }
    sketch.dot(centre, 0.6 * radius, PETAL);
    sketch.dot(centre, 0.26 * radius, (255, 255, 255));
}

fn stem(sketch: &mut Sketch, points: &[Point]) {
    sketch.line(points, LEAF, 2.4);
}

/// A water tube from its cap, and the way in which it lies.
fn tube(sketch: &mut Sketch, (x, y): Point, (across, down): (f64, f64)) {
    let at = |a: f64, b: f64| (x + a * across - b * down, y + a * down + b * across);
    sketch.area(vec![at(6.0, -6.0), at(44.0, -6.0), at(50.0, 0.0), at(44.0, 6.0), at(6.0, 6.0)], WATER, 0.45);
    sketch.line(&[at(4.0, -7.0), at(44.0, -7.0), at(52.0, 0.0), at(44.0, 7.0), at(4.0, 7.0)], INK, 1.4);
    sketch.area(vec![at(0.0, -9.0), at(6.0, -9.0), at(6.0, 9.0), at(0.0, 9.0)], INK, 1.0);
}

/// A low vase that stands on the table, two thirds full.
fn vase(sketch: &mut Sketch, (x, y): Point) {
    sketch.area(
        vec![(x - 14.0, y - 22.0), (x + 14.0, y - 22.0), (x + 12.0, y - 2.0), (x - 12.0, y - 2.0)],
        WATER,
        0.45,
    );
    let outline = [
        (x - 9.0, y - 38.0),
        (x - 15.0, y - 26.0),
        (x - 12.0, y),
        (x + 12.0, y),
        (x + 15.0, y - 26.0),
        (x + 9.0, y - 38.0),
    ];
    sketch.line(&outline, INK, 1.6);
}

/// Two blades and two rings, which cut at a point.
fn scissors(sketch: &mut Sketch, (x, y): Point) {
    for side in [-1.0, 1.0] {
        sketch.line(&[(x - 12.0, y + 4.0 * side), (x + 34.0, y - 9.0 * side)], INK, 1.8);
        let ring: Vec<Point> = (0..=12)
            .map(|n| f64::from(n) * std::f64::consts::TAU / 12.0)
            .map(|turn| (x + 40.0 + 6.0 * turn.cos(), y - 11.0 * side + 6.0 * turn.sin()))
            .collect();
        sketch.line(&ring, INK, 1.6);
    }
}

/// An arrow from one point to another.
fn arrow(sketch: &mut Sketch, from: Point, to: Point) {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let long = dx.hypot(dy);
    let (ux, uy) = (dx / long, dy / long);
    sketch.line(&[from, (to.0 - 6.0 * ux, to.1 - 6.0 * uy)], INK, 1.8);
    let foot = (to.0 - 9.0 * ux, to.1 - 9.0 * uy);
    sketch.area(
        vec![to, (foot.0 - 5.0 * uy, foot.1 + 5.0 * ux), (foot.0 + 5.0 * uy, foot.1 - 5.0 * ux)],
        INK,
        1.0,
    );
}
