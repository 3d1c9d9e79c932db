//! One sheet of the wall chart: flowers by temperature, each cell with its dry hours and shaded by what it needs.

use super::sketch::{Anchor, Sketch};
use super::style::{FAINT, INK, PAPER, SOFT, colour};
use crate::decide::hours::METHODS;
use crate::decide::limits::{Limits, need};
use crate::flower::treatment::Method;
use crate::report::limits::{degrees, method_name, need_sentence, rounded};
use crate::report::words::{capital, short_name};
use crate::units::{Scale, Span};

/// How many flowers stand below one another on a sheet, and in how many columns.
pub const ROWS: usize = 44;
pub const COLUMNS: usize = 2;
/// The temperatures of a chart, C: what people write in either scale.
pub const CELSIUS: [f64; 8] = [16.0, 19.0, 22.0, 25.0, 28.0, 31.0, 34.0, 37.0];
const FAHRENHEIT: [f64; 8] = [60.0, 66.0, 72.0, 78.0, 84.0, 90.0, 95.0, 100.0];

/// The temperatures of the columns, C.
pub fn temperatures(scale: Scale) -> Vec<f64> {
    match scale {
        Scale::Celsius => CELSIUS.to_vec(),
        Scale::Fahrenheit => FAHRENHEIT.iter().map(|f| (f - 32.0) / 1.8).collect(),
    }
}

const WIDTH: f64 = 900.0;
const TOP: f64 = 62.0;
const ROW: f64 = 25.0;
const NAME: f64 = 172.0;
const GUTTER: f64 = 22.0;
/// The least darkness that still tells a tube from dry in grey.
const TUBE: f64 = 0.15;

/// A sheet of at most [`ROWS`] times [`COLUMNS`] flowers.
pub fn picture(all: &[Limits], until: Span, scale: Scale) -> Sketch {
    let rows = all.len().div_ceil(if all.len() > ROWS { COLUMNS } else { 1 });
    let told: Vec<String> = all
        .iter()
        .map(|l| {
            format!("{}. {}", capital(&short_name(l.asked.flower.name())), need_sentence(l, until, scale))
        })
        .collect();
    let mut sheet = Sketch::new((WIDTH as u32, (TOP + ROW * rows as f64 + 8.0) as u32), told.join(" "));
    let wide = (WIDTH - GUTTER) / COLUMNS as f64;
    key(&mut sheet, all, until);
    for (c, column) in all.chunks(rows.max(1)).enumerate() {
        let left = c as f64 * (wide + GUTTER);
        let temperatures = &column[0].temperatures;
        let cell = (wide - NAME) / temperatures.len() as f64;
        for (i, t) in temperatures.iter().enumerate() {
            let at = (left + NAME + cell * (i as f64 + 0.5), TOP - 8.0);
            sheet.text(
                degrees(*t, scale).trim_end_matches([' ', 'C', 'F']),
                at,
                14.0,
                INK,
                true,
                Anchor::Bottom,
            );
        }
        let unit = if scale == Scale::Celsius { "room, C" } else { "room, F" };
        sheet.text(unit, (left + NAME - 8.0, TOP - 8.0 - 5.0), 12.0, SOFT, false, Anchor::Right);
        for (r, flower) in column.iter().enumerate() {
            let y = TOP + ROW * r as f64;
            let name = fitting(&listed(flower.asked.flower.name()));
            sheet.text(&name, (left + NAME - 8.0, y + ROW / 2.0), 13.0, INK, true, Anchor::Right);
            for (i, hours) in flower.hours.iter().enumerate() {
                let a = (left + NAME + cell * i as f64, y);
                let b = (a.0 + cell, a.1 + ROW);
                let needed = need(hours, until.hours).map(|m| METHODS[m]);
                shaded(&mut sheet, a, b, needed);
                let light = matches!(needed, Some(Method::BudVase));
                let at = ((a.0 + b.0) / 2.0, y + 5.5);
                sheet.text(&rounded(hours[0]), at, 13.0, if light { PAPER } else { INK }, true, Anchor::Top);
            }
            let (from, to) = (left + NAME, left + wide);
            sheet.line(&[(left, y), (to, y)], FAINT, 0.7);
            // The line at which dry stops being enough.
            let dry = flower.hours.iter().take_while(|h| need(h, until.hours) == Some(0)).count();
            let x = from + cell * dry as f64;
            sheet.line(&[(x, y), (x, y + ROW)], INK, 2.0);
        }
    }
    sheet
}

/// What the shades mean, along the top.
fn key(sheet: &mut Sketch, all: &[Limits], until: Span) {
    let tube = all.first().map_or(10.0, |l| l.asked.tube_ml);
    let named = [
        (Some(Method::Tucked), "dry will do".to_string()),
        (Some(Method::WaterTube), method_name(Method::WaterTube, tube)),
        (Some(Method::BudVase), "vase".to_string()),
        (None, format!("too warm for {until}, even in a vase")),
    ];
    let mut x = 0.0;
    for (method, words) in named {
        shaded(sheet, (x, 3.0), (x + 34.0, 21.0), method);
        sheet.line(&[(x, 3.0), (x + 34.0, 3.0), (x + 34.0, 21.0), (x, 21.0), (x, 3.0)], INK, 1.0);
        sheet.text(&words, (x + 42.0, 12.0), 14.0, INK, true, Anchor::Left);
        x += 72.0 + 8.2 * words.len() as f64;
    }
}

/// The shade of a need, distinct in grey: none, light with rising lines, dark, and grey with falling lines.
fn shaded(sheet: &mut Sketch, a: (f64, f64), b: (f64, f64), needed: Option<Method>) {
    match needed {
        Some(Method::WaterTube) => {
            sheet.rectangle(a, b, colour(Method::WaterTube), TUBE);
            let step = (b.0 - a.0) / 4.0;
            for i in 0..4 {
                let x = a.0 + step * f64::from(i);
                let shade = (168, 199, 222);
                sheet.line(&[(x, b.1), (x + step, a.1)], shade, 1.2);
            }
        }
        Some(Method::BudVase | Method::Vessel) => sheet.rectangle(a, b, colour(Method::BudVase), 1.0),
        Some(_) => {}
        None => {
            sheet.rectangle(a, b, SOFT, 0.7);
            let step = (b.0 - a.0) / 2.0;
            for i in 0..2 {
                let x = a.0 + step * f64::from(i);
                sheet.line(&[(x, a.1), (x + step, b.1)], PAPER, 1.6);
            }
        }
    }
}

/// A name as a list has it, by its noun: "Dahlia, ball".
fn listed(name: &str) -> String {
    let short = short_name(name);
    let noun = name.split_once(", ").map(|(noun, _)| noun);
    let kind = noun.and_then(|noun| Some((noun, short.strip_suffix(noun)?.trim())));
    capital(&kind.map_or(short.clone(), |(noun, kind)| format!("{noun}, {kind}")))
}

/// A name cut to the room there is for it.
fn fitting(name: &str) -> String {
    const MOST: usize = 23;
    if name.chars().count() <= MOST {
        name.to_string()
    } else {
        name.chars().take(MOST - 1).chain(['.']).collect()
    }
}
