//! A set-up time as a strip over the two days, whose ends are drawn by mouse, by touch or with the arrow keys.

use super::sheet::{Sheet, id};
use crate::units::{ClockStyle, Moment};
use maud::{Markup, html};

/// Half hours from midnight of the day to the ends of the strip.
const ENDS: (i32, i32) = (-48, 48);
/// What is named below it, every twelve hours.
const NAMED: [&str; 4] = ["the day before", "noon", "the day", "noon"];

/// The strip of a set-up time; nothing while its ends are no times.
pub fn strip(sheet: &Sheet, time: &str) -> Markup {
    let end = |key: &str| sheet.draft.get(&format!("{time}.{key}")).parse::<Moment>().ok();
    let (Some(from), Some(to)) = (end("from"), end("to")) else { return html! {} };
    let at = |moment: &Moment| ((2.0 * moment.hours).round() as i32).clamp(ENDS.0, ENDS.1);
    let (begin, stop) = (at(&from), at(&to));
    let wide = ENDS.1 - ENDS.0;
    let halves = from.style == ClockStyle::TwelveHour;
    html! {
        div.strip role="group" aria-label="Set-up time, drawn" data-halves=(halves) {
            svg viewBox={ "0 0 " (wide) " 14" } preserveAspectRatio="none" aria-hidden="true" {
                rect.day x="0" y="0" width=(wide) height="14" {}
                rect.span x=(begin - ENDS.0) y="0" width=((stop - begin).max(0)) height="14" {}
                @for hour in (ENDS.0..=ENDS.1).step_by(12) { line x1=(hour - ENDS.0) x2=(hour - ENDS.0) y1="0" y2="14" {} }
            }
            @for (key, words, value, said) in [("from", "Set up from", begin, &from), ("to", "Set up until", stop, &to)] {
                @let path = format!("{time}.{key}");
                input type="range" id={ (id(&path)) "-drawn" } data-end=(path) min=(ENDS.0) max=(ENDS.1) value=(value)
                    aria-label={ (words) ", drawn" } aria-valuetext=(said);
            }
            div.hours aria-hidden="true" { @for word in NAMED { span { (word) } } }
        }
    }
}
