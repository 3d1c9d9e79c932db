//! What pictures by the clock share: where an hour stands, the hours along the bottom, labels that do not touch.

use super::sketch::{Anchor, Sketch};
use super::style::SOFT;
use crate::event::Event;

/// The margin at the left, where the numbers of the vertical axis stand.
pub const LEFT: f64 = 56.0;
/// The margin at the right, where the names of the lines stand.
const RIGHT: f64 = 196.0;

/// Where an hour stands between the margins of a sheet that shows some hours.
pub fn across(hour: f64, (first, last): (f64, f64), width: u32) -> f64 {
    LEFT + (hour - first) / (last - first) * (f64::from(width) - LEFT - RIGHT)
}

/// Labels at some heights, moved apart where they would touch, none below a floor; rising afterwards.
pub fn apart(labels: &mut [(f64, usize)], height: f64, floor: f64) {
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    for i in 1..labels.len() {
        labels[i].0 = labels[i].0.max(labels[i - 1].0 + height);
    }
    let mut ceiling = floor;
    for label in labels.iter_mut().rev() {
        label.0 = label.0.min(ceiling);
        ceiling = label.0 - height;
    }
}

/// Hours of the day along the bottom.
pub fn hours(
    sheet: &mut Sketch,
    event: &Event,
    (first, last): (f64, f64),
    x: impl Fn(f64) -> f64,
    base: f64,
) {
    sheet.line(&[(x(first), base), (x(last), base)], SOFT, 1.0);
    let span = last - first;
    let every = [1.0, 2.0, 3.0, 4.0, 6.0, 12.0, 24.0].into_iter().find(|e| span / e <= 9.0).unwrap_or(24.0);
    let mut hour = (first / every).ceil() * every;
    let mut dated = None;
    while hour <= last + 1e-9 {
        let moment = event.moment(hour);
        sheet.line(&[(x(hour), base), (x(hour), base + 5.0)], SOFT, 1.0);
        sheet.text(&moment.clock(), (x(hour), base + 8.0), 13.0, SOFT, false, Anchor::Top);
        let (day, _) = moment.day_and_minute();
        if dated != Some(day) {
            let date = event.date.saturating_add(jiff::Span::new().days(day));
            let words = date.strftime("%a %-d %b").to_string();
            sheet.text(&words, (x(hour), base + 24.0), 11.5, SOFT, false, Anchor::Top);
            dated = Some(day);
        }
        hour += every;
    }
}
