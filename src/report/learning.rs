//! What a notebook taught, in words and as a picture.

use super::sketch::{Anchor, Sketch};
use super::style::{Colour, FAINT, INK, SOFT, colour};
use super::words::{capital, short_name};
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::Learned;
use crate::flower::spread::two_piece_z;
use crate::flower::treatment::Method;
use crate::stats::Band;
use crate::units::short;

/// Hours with the digits that they deserve, without a unit.
pub fn number(hours: f64) -> String {
    if hours >= 20.0 { format!("{hours:.0}") } else { short(hours) }
}

/// Hours with their range.
pub fn range(band: &Band) -> String {
    format!("{} h ({} to {} h)", number(band.p50), number(band.p05), number(band.p95))
}

/// The range of what is known of the middle head of the next delivery.
pub fn next(known: &Learned, flower: &Flower) -> Band {
    let at = |z: f64| known.hours(flower, z);
    Band { p05: at(-1.644_854), p50: at(0.0), p95: at(1.644_854) }
}

/// What the notebook taught, from how many notes.
pub fn from_notes(known: &Learned) -> String {
    let n = |n: u32, what: &str| match n {
        0 => None,
        1 => Some(format!("one {what}")),
        n => Some(format!("{} {what}s", small(n))),
    };
    let parts: Vec<String> =
        [n(known.trials, "trial"), n(known.events, "past event")].into_iter().flatten().collect();
    parts.join(" and ")
}

fn small(n: u32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
        "twelve",
    ];
    WORDS.get(n as usize).map_or_else(|| n.to_string(), |w| (*w).to_string())
}

/// The sentence of a plan: what is believed of a flower, and what the trade's table would say.
pub fn sentence(flower: &Flower, known: &Learned) -> String {
    let (now, table) = (next(known, flower), next(&Learned::nothing(flower.confidence()), flower));
    if known.trials + known.events == 0 {
        return format!(
            "{} dry hours in an ordinary room by the trade's table, its range as wide as your past forecasts say",
            range(&now)
        );
    }
    let whose =
        if known.of_this_lot { "this delivery holds" } else { "the middle head of your next delivery holds" };
    format!(
        "After your {}, {whose} {} dry in an ordinary room; the trade's table says {}",
        from_notes(known),
        range(&now),
        range(&table)
    )
}

/// A trial's notes in the picture: its name, and the hours of the reference air between which half of its heads ended.
pub type Mark = (String, Option<(f64, f64)>);

const SIZE: (u32, u32) = (960, 394);
const LEFT: f64 = 40.0;
const RIGHT: f64 = 920.0;
const TOP: f64 = 92.0;

/// What was believed before and after, of the middle head of the next delivery, with the trials under it.
pub fn picture(flower: &Flower, known: &Learned, marks: &[Mark]) -> Sketch {
    let table = Learned::nothing(flower.confidence());
    let shown = &marks[..marks.len().min(8)];
    let size = (SIZE.0, SIZE.1 + 22 * shown.len() as u32);
    let base = 330.0;
    let (before, after) = (next(&table, flower), next(known, flower));
    let alt = format!("Before: {}. After {}: {}.", range(&before), from_notes(known), range(&after));
    let mut sheet = Sketch::new(size, alt);
    let name = capital(&short_name(flower.name()));
    let title = format!("{name}: what your {} taught", from_notes(known));
    sheet.text(&title, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = "Dry hours of the middle head of the next delivery, in an ordinary room (21 C, 45 %). The higher, the likelier";
    sheet.text(under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
    let dry = flower.parameter(Quantity::DryHours);
    let (from, to) =
        (0.6 * table.hours(flower, -2.2).min(known.hours(flower, -2.2)), 1.3 * table.hours(flower, 2.2));
    let x = |hours: f64| LEFT + (hours / from).ln() / (to / from).ln() * (RIGHT - LEFT);
    // Both halves of the two-piece law have the same middle: its density is told by the normal behind it.
    let density = |known: &Learned, hours: f64| {
        let sd = known.spread.hypot(known.lot);
        let z = (two_piece_z(dry, hours) - known.middle) / sd;
        (-0.5 * z * z).exp() / sd
    };
    let points = |known: &Learned| -> Vec<(f64, f64)> {
        let at = |i: i32| from * (to / from).powf(f64::from(i) / 240.0);
        (0..=240).map(|i| (at(i), density(known, at(i)))).collect()
    };
    let (old, new) = (points(&table), points(known));
    let top = old.iter().chain(&new).map(|p| p.1).fold(0.0, f64::max);
    let y = |d: f64| base - d / top * (base - TOP - 26.0);
    let ticks =
        [0.25, 0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, 12.0, 16.0, 24.0, 36.0, 48.0, 72.0, 96.0, 144.0, 240.0];
    let mut last = f64::NEG_INFINITY;
    for hours in ticks.into_iter().filter(|h| (from..=to).contains(h) && x(*h) < RIGHT - 10.0) {
        if x(hours) - last < 44.0 {
            continue;
        }
        last = x(hours);
        sheet.line(&[(last, TOP), (last, base + 4.0)], FAINT, 1.0);
        sheet.text(&format!("{} h", short_tick(hours)), (last, base + 8.0), 13.0, SOFT, false, Anchor::Top);
    }
    sheet.line(&[(LEFT, base), (RIGHT, base)], SOFT, 1.0);
    for (curve, shade, opacity, thick) in
        [(&old, SOFT, 0.14, 1.6), (&new, colour(Method::WaterTube), 0.25, 2.8)]
    {
        let drawn: Vec<(f64, f64)> = curve.iter().map(|(h, d)| (x(*h), y(*d))).collect();
        let area = drawn.iter().copied().chain([(RIGHT, base), (LEFT, base)]).collect();
        sheet.area(area, shade, opacity);
        sheet.line(&drawn, shade, thick);
    }
    let label = |sheet: &mut Sketch, words: String, row: f64, shade: Colour, bold: bool| {
        sheet.text(&words, (16.0, row), 14.5, shade, bold, Anchor::TopLeft);
    };
    label(&mut sheet, format!("The trade's table: {}", range(&before)), 64.0, SOFT, false);
    label(&mut sheet, format!("With your notes: {}", range(&after)), 84.0, colour(Method::WaterTube), true);
    for (i, (words, bracket)) in shown.iter().enumerate() {
        let row = base + 42.0 + 22.0 * i as f64;
        let held = |h: f64| x(h.clamp(from, to));
        match bracket {
            Some((a, b)) => {
                let (a, b) = (held(a.max(from)), held(*b));
                sheet.line(&[(a, row), (b, row)], INK, 2.4);
                sheet.dot((a, row), 3.2, INK);
                sheet.dot((b, row), 3.2, INK);
                let right = b + 8.0 + 6.6 * words.chars().count() as f64 > RIGHT;
                let (at, anchor) = if right { (a - 8.0, Anchor::Right) } else { (b + 8.0, Anchor::Left) };
                sheet.text(words, (at, row), 12.5, INK, false, anchor);
            }
            None => sheet.text(
                &format!("{words} (fewer than half ended)"),
                (LEFT, row),
                12.5,
                INK,
                false,
                Anchor::Left,
            ),
        }
    }
    if !shown.is_empty() {
        let row = base + 42.0 + 22.0 * shown.len() as f64;
        let words =
            "Black: the looks between which half of a trial's heads ended, carried into an ordinary room";
        sheet.text(words, (16.0, row - 4.0), 12.5, SOFT, false, Anchor::TopLeft);
    }
    sheet
}

fn short_tick(hours: f64) -> String {
    if hours < 1.0 { format!("{hours}") } else { format!("{hours:.0}") }
}
