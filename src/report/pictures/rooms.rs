//! The picture of temperature and humidity over time in the spaces where flowers stand.

use super::axes::{Axes, apart, band, line};
use super::canvas::fill;
use super::sketch::{Anchor, Point, Sketch};
use super::style::{Colour, INK, SOFT, title_size};
use crate::climate::Air;
use crate::event::{Event, Space, stood_in};
use crate::numerics::normal::quantile;
use crate::report::clock::clock;
use crate::report::words::capital;
use crate::units::Scale;

const SIZE: (u32, u32) = (960, 600);
/// The top and the base of each of the two panels, pixels.
const PANELS: [(f64, f64); 2] = [(100.0, 330.0), (384.0, 540.0)];
/// The colours and dashes of the lines, which also differ in lightness.
const LOOKS: [(Colour, Option<(f64, f64)>); 4] = [
    ((18, 62, 48), None),
    ((190, 92, 38), Some((4.0, 4.0))),
    ((38, 110, 168), Some((12.0, 5.0))),
    ((105, 110, 115), Some((2.0, 6.0))),
];
/// The time between two points of a line, h.
const EVERY: f64 = 0.25;

/// What a panel shows: its name, the value for an air, the error of that value in a space, the steps of its grid that
/// may be chosen, the greatest possible value, and whether hours stand below it.
struct Measure<'a> {
    name: String,
    value: &'a dyn Fn(&Air) -> f64,
    error: &'a dyn Fn(&Space) -> f64,
    steps: &'a [f64],
    most: f64,
    with_clock: bool,
}

/// The picture of the air at an event.
pub fn picture(event: &Event) -> Sketch {
    let spaces: Vec<&Space> = stood_in(event.pieces.iter()).into_iter().map(|s| &event.spaces[s]).collect();
    let fahrenheit = event.scale == Scale::Fahrenheit;
    let factor = if fahrenheit { 1.8 } else { 1.0 };
    let degrees = |air: &Air| if fahrenheit { air.temperature_c * 1.8 + 32.0 } else { air.temperature_c };
    // Nine in ten lie within the 5 % and the 95 % point, as everywhere.
    let nine_in_ten = quantile(0.95);
    let kelvin = |s: &Space| nine_in_ten * factor * s.climate.error.kelvin;
    let humidity = |air: &Air| 100.0 * air.relative_humidity();
    let points = |s: &Space| nine_in_ten * 100.0 * s.climate.error.rh;
    let unit = if fahrenheit { "F" } else { "C" };
    let mut sheet = Sketch::new(SIZE, described(event, &spaces, &degrees, unit));
    let hottest = |s: &&Space| {
        let all = (0..96).map(|quarter| degrees(&s.climate.at(f64::from(quarter) / 4.0)));
        format!("{}: {:.0} {unit} at most", s.name, all.fold(f64::NEG_INFINITY, f64::max))
    };
    let found = capital(&spaces.iter().map(hottest).collect::<Vec<_>>().join(", "));
    sheet.text(&found, (16.0, 14.0), title_size(&found), INK, true, Anchor::TopLeft);
    let under = format!("{}: the rooms the flowers stand in. Shaded: nine days in ten lie there", event.name);
    sheet.text(&under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
    let temperature = Measure {
        name: format!("Temperature, {unit}"),
        value: &degrees,
        error: &kelvin,
        steps: &[1.0, 2.0, 5.0, 10.0, 20.0],
        most: f64::INFINITY,
        with_clock: false,
    };
    let moisture = Measure {
        name: "Relative humidity, %".to_string(),
        value: &humidity,
        error: &points,
        steps: &[5.0, 10.0, 20.0],
        most: 100.0,
        with_clock: true,
    };
    panel(&mut sheet, event, &spaces, PANELS[0], &temperature);
    panel(&mut sheet, event, &spaces, PANELS[1], &moisture);
    sheet
}

/// Draws one panel, with a line and a band of errors for each space.
fn panel(sheet: &mut Sketch, event: &Event, spaces: &[&Space], (top, base): (f64, f64), measure: &Measure) {
    let (first, last) = event.span();
    let n = ((last - first) / EVERY).floor() as usize;
    let clock: Vec<f64> = (0..=n).map(|i| first + EVERY * i as f64).collect();
    let course =
        |s: &Space| -> Vec<f64> { clock.iter().map(|h| (measure.value)(&s.climate.at(*h))).collect() };
    let courses: Vec<Vec<f64>> = spaces.iter().map(|s| course(s)).collect();
    let ends = |off: f64| {
        spaces
            .iter()
            .zip(&courses)
            .flat_map(move |(s, c)| c.iter().map(move |v| v + off * (measure.error)(s)))
    };
    let (low, high) = (ends(-1.0).fold(f64::INFINITY, f64::min), ends(1.0).fold(f64::NEG_INFINITY, f64::max));
    let step = measure.steps.iter().copied().find(|s| (high - low) / s <= 6.0).unwrap_or(50.0);
    let (low, high) = ((low / step).floor() * step, ((high / step).ceil() * step).min(measure.most));
    // Constant air still needs an axis.
    let low = if high - low < step { high - step } else { low };
    let axes = Axes::new(event, (first, last), (low, high), SIZE.0, (top, base));
    sheet.text(&measure.name, (16.0, top - 24.0), 13.0, INK, true, Anchor::TopLeft);
    let steps = ((high - low) / step + 1e-9).floor() as u32;
    axes.grid(sheet, &(0..=steps).map(|n| low + step * f64::from(n)).collect::<Vec<_>>());
    for (name, at) in [("doors", event.doors), ("end", event.end)] {
        sheet.line(&[(axes.x(at), top), (axes.x(at), base)], SOFT, 1.0);
        sheet.text(name, (axes.x(at), top - 4.0), 12.5, SOFT, false, Anchor::Bottom);
    }
    let look = |s: usize| LOOKS[s % LOOKS.len()];
    axes.plot(sheet, |chart| {
        for (s, (space, course)) in spaces.iter().zip(&courses).enumerate() {
            let (shade, dashes) = look(s);
            let edge = |by: f64| -> Vec<Point> {
                clock.iter().zip(course).map(|(h, v)| (*h, (v + by).clamp(low, high))).collect()
            };
            let off = (measure.error)(space);
            band(chart, &edge(off), &edge(-off), fill(shade, 0.10))?;
            line(chart, &edge(0.0), shade, 2.6, dashes)?;
        }
        Ok(())
    });
    let end = |(s, course): (usize, &Vec<f64>)| course.last().map(|v| (axes.y(v.clamp(low, high)), s));
    let mut labels: Vec<(f64, usize)> = courses.iter().enumerate().filter_map(end).collect();
    apart(&mut labels, 17.0, base);
    for (height, s) in labels {
        let at = (axes.x(last) + 10.0, height);
        sheet.text(&spaces[s].name, at, 14.0, look(s).0, false, Anchor::Left);
    }
    if measure.with_clock {
        axes.clock(sheet);
    }
}

/// The description of the picture for those who cannot see it.
fn described(event: &Event, spaces: &[&Space], degrees: &dyn Fn(&Air) -> f64, unit: &str) -> String {
    let (first, last) = event.span();
    let hours = || (0..=((last - first) as usize)).map(|h| first + h as f64);
    let told: Vec<String> = spaces
        .iter()
        .map(|s| {
            let at = |h: &f64| degrees(&s.climate.at(*h));
            let hottest = hours().max_by(|a, b| at(a).total_cmp(&at(b))).unwrap_or(first);
            let coolest = hours().min_by(|a, b| at(a).total_cmp(&at(b))).unwrap_or(first);
            format!(
                "{}: from {:.0} {unit} at {} to {:.0} {unit} at {}",
                s.name,
                at(&coolest),
                clock(event, coolest),
                at(&hottest),
                clock(event, hottest)
            )
        })
        .collect();
    format!("The air of the rooms by the hour. {}.", told.join("; "))
}
