//! Which trial would help a coming event most, in words.

use super::document::Line;
use super::learning::number;
use super::words::short_name;
use crate::calibrate::design::{Kind, Value};
use crate::event::Event;

/// The least saving that is worth a trial, as a share of an hour's wage.
const WORTH_WHILE: f64 = 0.1;

/// The trials that are worth their trouble, the best first, and a blank line after them.
pub fn told(event: &Event, values: &[Value]) -> Vec<Line> {
    let show = |amount: f64| event.means.currency.show(amount);
    let mut lines = vec![Line::new(format!("WHICH TRIAL WOULD HELP {} MOST", event.name.to_uppercase()))];
    let worth: Vec<&Value> = values.iter().filter(|v| v.saves >= WORTH_WHILE * event.means.hourly).collect();
    match worth.first() {
        None => {
            let most = values.first().map_or(String::new(), |v| {
                let what = format!("{}, {}", short_name(&v.name), where_and_what(v.kind));
                format!(" The most that one could be expected to save is {}: {what}.", show(v.saves))
            });
            lines.push(Line::new(format!(
                "No trial is worth its trouble for this event: what is not known of these flowers would hardly change what you do \
                 with them.{most}"
            )));
        }
        Some(best) => {
            lines.push(Line::new(format!("Try {}: {}.", short_name(&best.name), where_and_what(best.kind))));
            lines.push(Line::new(format!(
                "Allow about {} h; in a good delivery {} h. {} are to be expected to be saved, of {} that knowing it for sure would save.",
                number(best.hours[0]),
                number(best.hours[1]),
                show(best.saves),
                show(best.saves_at_most)
            )));
            lines.push(Line::blank());
            lines.extend(worth.iter().map(|value| {
                Line::item(format!(
                    "- {}, {}: {}",
                    short_name(&value.name),
                    where_and_what(value.kind),
                    show(value.saves)
                ))
            }));
        }
    }
    lines.push(Line::blank());
    lines
}

/// What is counted as saved, a lost head as `lost` in the event's money.
pub fn counted(event: &Event, lost: f64) -> String {
    format!(
        "Ten heads, looked at every hour. Saved, in the event's money, are work at the wage, tubes and vases by a surer choice, and \
         heads that are not lost, each counted as {}",
        event.means.currency.show(lost)
    )
}

/// What a kind of trial tries, and where.
fn where_and_what(kind: Kind) -> &'static str {
    match kind {
        Kind::EarlierInTheKitchen => "any earlier delivery, in the kitchen",
        Kind::EarlierInSuchAir => "any earlier delivery, in air as warm and dry as at the event",
        Kind::ItselfInTheKitchen => "ten heads of the very delivery the day before, in the kitchen",
        Kind::ItselfInSuchAir => "ten heads of the very delivery the day before, in air as at the event",
    }
}
