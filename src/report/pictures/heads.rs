//! The picture that shows a client why flowers are set when they are: heads drawn one by one at the hour that counts. Fresh,
//! softened and limp differ in form, so that a print without colour says the same.

use super::sketch::{Anchor, Point, Sketch};
use super::style::{Colour, FAINT, INK, SOFT};
use crate::decide::telling::{Look, Side, Telling};
use crate::event::Criterion;
use crate::report::clock::day_and_clock;
use crate::report::facts::Facts;
use crate::report::words::treatment_name;

/// How a head looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Head {
    Fresh,
    Softened,
    Limp,
}

/// The most heads that are drawn; of more, so many stand for all.
const DRAWN: u32 = 24;
/// Heads in a row, the width of one and the height of a row, pixels.
const IN_A_ROW: u32 = 12;
const STEP: f64 = 27.0;
const ROW: f64 = 44.0;
/// The left edge of a side, its width, and what lies between two that are beside each other, pixels.
const LEFT: f64 = 8.0;
const SIDE: f64 = IN_A_ROW as f64 * STEP;
const BETWEEN: f64 = 32.0;
/// What stays free above, pixels.
const TOP: f64 = 10.0;
/// The size of the text, pixels: 11 points where the picture is as wide as the print of an A4 sheet.
const TEXT: f64 = 16.0;
const PETAL: Colour = (150, 34, 78);
const PALE: Colour = (214, 140, 168);
const LEAF: Colour = (46, 110, 62);

/// How many heads are drawn for an order of so many, and what is said of the others.
pub fn drawn(heads: u32) -> (u32, String) {
    match heads <= DRAWN {
        true => (heads, String::new()),
        false => (20, " of every 20".to_string()),
    }
}

/// How many of some heads are fresh, softened and limp. They add up.
pub fn counts(look: &Look, heads: u32) -> [u32; 3] {
    let fresh = (look.fresh * f64::from(heads)).round() as u32;
    let limp = ((look.limp * f64::from(heads)).round() as u32).min(heads - fresh);
    [fresh, heads - fresh - limp, limp]
}

/// How many of some heads still count.
pub fn kept(look: &Look, heads: u32, counts_as: Criterion) -> u32 {
    let [fresh, softened, _] = counts(look, heads);
    match counts_as {
        Criterion::Flagging => fresh,
        Criterion::Wilted => fresh + softened,
    }
}

/// How the two sides of the picture stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Beside each other, for paper.
    Beside,
    /// One below the other, for a phone.
    Below,
}

/// The picture of what shows most in a plan.
pub fn picture(facts: &Facts, telling: &Telling, sides: Sides) -> Sketch {
    let order = facts.order(telling.id);
    let counts_as = order.order.counts;
    let (heads, _) = drawn(order.order.heads);
    let rows = f64::from(heads.div_ceil(IN_A_ROW));
    let block = 48.0 + rows * ROW;
    let side = 30.0 + 2.0 * block;
    let (width, height, next) = match sides {
        Sides::Beside => (2.0 * (LEFT + SIDE) + BETWEEN + 4.0, side, (SIDE + BETWEEN, 0.0)),
        Sides::Below => (2.0 * LEFT + SIDE, 2.0 * side + BETWEEN, (0.0, side + BETWEEN)),
    };
    let height = TOP + height + 52.0;
    let mut sketch = Sketch::new((width as u32, height as u32), described(facts, telling));
    let second = (LEFT + next.0, TOP + next.1, ", as we plan");
    for (side, (x, y, how)) in [&telling.early, &telling.planned].into_iter().zip([(LEFT, TOP, ""), second]) {
        let way = treatment_name(side.treatment);
        let head = format!("Set {}{how}", day_and_clock(facts.event, side.place_at));
        sketch.text(&head, (x, y), TEXT, INK, true, Anchor::TopLeft);
        let same = telling.early.treatment == telling.planned.treatment;
        if !same {
            let at = (x + 9.0 * head.len() as f64, y + 1.0);
            sketch.text(&way, at, TEXT, SOFT, false, Anchor::TopLeft);
        }
        let deliveries = [("A usual delivery", &side.usual), ("A poor one, one in twenty", &side.poor)];
        for (n, (name, look)) in deliveries.into_iter().enumerate() {
            let top = y + 30.0 + n as f64 * block;
            sketch.line(&[(x, top), (x + SIDE, top)], FAINT, 1.0);
            sketch.text(name, (x, top + 5.0), TEXT, SOFT, false, Anchor::TopLeft);
            let good = match counts_as {
                Criterion::Flagging => "fresh",
                Criterion::Wilted => "standing",
            };
            let until = facts.event.moment(order.piece.until).clock();
            let said = format!("{} of {heads} {good} at {until}", kept(look, heads, counts_as));
            sketch.text(&said, (x, top + 23.0), TEXT, INK, true, Anchor::TopLeft);
            let [fresh, softened, limp] = counts(look, heads);
            let all = [(Head::Fresh, fresh), (Head::Softened, softened), (Head::Limp, limp)];
            let all = all.into_iter().flat_map(|(head, n)| std::iter::repeat_n(head, n as usize));
            for (i, head) in all.enumerate() {
                let (column, row) = (i as u32 % IN_A_ROW, i as u32 / IN_A_ROW);
                let at = (x + STEP * (f64::from(column) + 0.5), top + 46.0 + ROW * f64::from(row));
                draw(&mut sketch, head, at);
            }
        }
    }
    let mut x = LEFT;
    for (head, word) in [(Head::Fresh, "fresh"), (Head::Softened, "softened"), (Head::Limp, "limp")] {
        draw(&mut sketch, head, (x + 12.0, height - 48.0));
        sketch.text(word, (x + 30.0, height - 26.0), TEXT, INK, false, Anchor::Left);
        x += 110.0;
    }
    sketch
}

/// The picture in words, for those who cannot see it.
fn described(facts: &Facts, telling: &Telling) -> String {
    let order = facts.order(telling.id);
    let (heads, of_every) = drawn(order.order.heads);
    let side = |side: &Side| {
        let told = |look: &Look| {
            let [fresh, softened, limp] = counts(look, heads);
            format!("{fresh} fresh, {softened} softened, {limp} limp")
        };
        format!(
            "set {}, {}: in a usual delivery {}; in a poor one {}",
            day_and_clock(facts.event, side.place_at),
            treatment_name(side.treatment),
            told(&side.usual),
            told(&side.poor)
        )
    };
    format!(
        "{heads}{of_every} {} of the {} at {}. If {}. If {}.",
        order.called(),
        order.piece.name,
        facts.event.moment(order.piece.until).clock(),
        side(&telling.early),
        side(&telling.planned)
    )
}

/// Points on a circle, from an angle in degrees on, so many degrees far.
fn arc(centre: Point, radius: f64, from: f64, far: f64) -> Vec<Point> {
    let steps = 12;
    let point = |n: i32| {
        let angle = (from + far * f64::from(n) / f64::from(steps)).to_radians();
        (centre.0 + radius * angle.cos(), centre.1 + radius * angle.sin())
    };
    (0..=steps).map(point).collect()
}

/// The outline of a head with petals, from an angle in degrees on, so many degrees far.
fn petals(centre: Point, radius: f64, from: f64, far: f64) -> Vec<Point> {
    const PETALS: f64 = 8.0;
    let steps = (far / 9.0) as i32;
    let point = |n: i32| {
        let degrees = far * f64::from(n) / f64::from(steps);
        let out = radius * (0.86 + 0.14 * (PETALS * degrees).to_radians().cos());
        let angle = (from + degrees).to_radians();
        (centre.0 + out * angle.cos(), centre.1 + out * angle.sin())
    };
    let whole = far >= 360.0;
    (0..=steps).map(point).chain((!whole).then_some(centre)).collect()
}

/// Draws one head with its stem, `at` the middle of its top.
fn draw(sketch: &mut Sketch, head: Head, (x, y): Point) {
    match head {
        // Upright, full petals.
        Head::Fresh => {
            let centre = (x, y + 10.0);
            sketch.line(&[(x, y + 18.0), (x, y + 38.0)], LEAF, 1.6);
            sketch.area(vec![(x, y + 31.0), (x + 7.0, y + 25.0), (x + 5.0, y + 31.0)], LEAF, 1.0);
            sketch.area(petals(centre, 9.0, 0.0, 360.0), PETAL, 1.0);
            sketch.dot(centre, 2.2, (255, 255, 255));
        }
        // Leaning, paler, a petal on the floor.
        Head::Softened => {
            let centre = (x + 5.0, y + 14.0);
            sketch.line(&[(x + 3.0, y + 20.0), (x - 1.0, y + 29.0), (x - 1.0, y + 38.0)], LEAF, 1.6);
            sketch.area(petals(centre, 8.0, 20.0, 250.0), PALE, 1.0);
            sketch.dot((x + 8.0, y + 37.0), 2.0, PALE);
        }
        // Hanging from a bent stem, an outline alone.
        Head::Limp => {
            let mut stem = vec![(x - 5.0, y + 38.0), (x - 5.0, y + 14.0)];
            stem.extend(arc((x, y + 12.0), 5.0, 180.0, 180.0));
            sketch.line(&stem, INK, 1.3);
            for drop in [-5.0, 0.0, 5.0] {
                let tip = (x + 5.0 + drop, y + 29.0 - drop.abs() * 0.4);
                let petal = [
                    (x + 5.0, y + 13.0),
                    (x + 3.0 + drop, y + 20.0),
                    tip,
                    (x + 7.0 + drop, y + 20.0),
                    (x + 5.0, y + 13.0),
                ];
                sketch.line(&petal, INK, 1.0);
            }
        }
    }
}
