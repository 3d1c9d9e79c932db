//! The ribbon: the days of an event in a row for each flower, from the first set-up time to the end. It shows when a flower
//! may be set and how sure that is, when it is planned, and until when it counts.

use super::glyphs;
use super::helps::place_of;
use super::layout::encoded;
use crate::decide::options::PlacingOption;
use crate::event::Event;
use crate::report::clock::{clock, day_and_clock};
use crate::report::facts::{Facts, OrderFacts};
use crate::report::words::{capital, times, treatment_name};
use maud::{Markup, html};

/// Hours without anything to show, more than these, are squeezed.
const GAP: f64 = 3.0;
/// The width of a squeezed gap, in hundredths of the ribbon.
const SQUEEZED: f64 = 4.0;
/// Hours beyond this are not named, since their names would not fit, in hundredths of the ribbon.
const LAST_NAMED: f64 = 96.0;
/// How much is shown before and after what is of interest, h.
const MARGIN: f64 = 0.5;

/// Where the hours of an event stand on the ribbon.
struct Axis(Vec<Stretch>);

/// Hours that are drawn to one scale: from, to, and the same in hundredths of the ribbon.
struct Stretch {
    hours: (f64, f64),
    at: (f64, f64),
}

impl Axis {
    /// The axis of an event: its set-up times, and from the last of them to the last hour that counts.
    fn of(event: &Event) -> Axis {
        let last = event.span().1;
        let mut spans: Vec<(f64, f64)> = event.access.iter().map(|(a, b)| (a - MARGIN, b + MARGIN)).collect();
        spans.push((event.doors - MARGIN, last + MARGIN));
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut joined: Vec<(f64, f64)> = Vec::new();
        for (from, to) in spans {
            match joined.last_mut() {
                Some(before) if from - before.1 <= GAP => before.1 = before.1.max(to),
                _ => joined.push((from, to)),
            }
        }
        let hours: f64 = joined.iter().map(|(a, b)| b - a).sum();
        let scale = (100.0 - SQUEEZED * (joined.len() - 1) as f64) / hours;
        let mut at = 0.0;
        Axis(
            joined
                .into_iter()
                .map(|(from, to)| {
                    let wide = (to - from) * scale;
                    let stretch = Stretch { hours: (from, to), at: (at, at + wide) };
                    at += wide + SQUEEZED;
                    stretch
                })
                .collect(),
        )
    }

    /// Where an hour stands, in hundredths of the ribbon.
    fn at(&self, hour: f64) -> f64 {
        for stretch in &self.0 {
            let ((from, to), (left, right)) = (stretch.hours, stretch.at);
            if hour <= to {
                return left + (right - left) * ((hour - from) / (to - from)).max(0.0);
            }
        }
        100.0
    }

    /// The hours that are named: every third.
    fn ticks(&self) -> Vec<f64> {
        let every = |s: &Stretch| {
            let (from, to) = s.hours;
            let first = (from / 3.0).ceil() as i64;
            (first..).map(|n| 3.0 * n as f64).take_while(move |h| *h <= to).collect::<Vec<_>>()
        };
        self.0.iter().flat_map(every).collect()
    }
}

/// An hour on the axis, as short as it can be: "6 pm" for 6:00 pm.
fn tick(event: &Event, hour: f64) -> String {
    let clock = event.moment(hour).clock();
    if clock.ends_with('m') { clock.replace(":00", "") } else { clock }
}

/// The ribbon of a plan.
pub fn ribbon(file: &str, facts: &Facts) -> Markup {
    let event = facts.event;
    let axis = Axis::of(event);
    html! {
        section #ribbon aria-labelledby="ribbon-title" {
            (glyphs::defs())
            h2 #ribbon-title { "When to set what" }
            p.small { "Move a black block by mouse, by touch or with the arrow keys: it answers at once what would come of it." }
            p.key aria-hidden="true" {
                span { i.band.sure {} "may be set, sure " (times(event.assurance)) } span { i.band.fair {} "at least " (fair(event)) " in 10" } span { i.band.poor {} "less" }
                span { i.blk {} "planned" } span { i.until {} "good until" }
            }
            div.rib {
                div.axis aria-hidden="true" {
                    @for stretch in &axis.0 {
                        b data-x=(x(stretch.at.0)) { (event.date.saturating_add(jiff::Span::new().days((stretch.hours.0 / 24.0).floor() as i64)).strftime("%a %-d %b")) }
                    }
                    @for hour in axis.ticks().into_iter().filter(|h| axis.at(*h) < LAST_NAMED) { span data-x=(x(axis.at(hour))) { (tick(event, hour)) } }
                }
                @for (piece, orders) in facts.pieces() {
                    div.prow {
                        p.pn { b { (capital(&piece.name)) } span { "good until " (clock(event, piece.until)) } }
                        @for order in orders { (strip(file, facts, &axis, order)) }
                    }
                }
            }
            div #ask.ask hidden role="group" aria-label="What if it is set at another time?" {
                p { b #ask-what {} br; span #ask-then role="status" aria-live="polite" {} }
                div #ask-heads {}
                p.row {
                    button type="button" data-shift="-0.25" aria-label="a quarter of an hour earlier" { "\u{2212} 15 min" }
                    button type="button" data-shift="0.25" aria-label="a quarter of an hour later" { "+ 15 min" }
                    button type="button" #ask-back { "Back" }
                    button.main type="button" #ask-keep { "Keep" }
                }
            }
        }
    }
}

/// A place on the ribbon, for the script.
fn x(at: f64) -> String {
    format!("{at:.2}")
}

/// One flower of a piece on the ribbon.
fn strip(file: &str, facts: &Facts, axis: &Axis, order: &OrderFacts) -> Markup {
    let event = facts.event;
    let chosen = order.recommended();
    let (piece, flower) = place_of(facts, order.id);
    let tried: Vec<_> = order
        .options
        .iter()
        .filter(|o| o.treatment == chosen.treatment && o.top_up.is_none())
        .map(|o| Tried { at: o.place_at, sure: sure(event, order, o), enough: enough(order, o), option: o })
        .collect();
    let windows = event.windows(order.piece);
    let (from, to) = order.placed.unwrap_or((chosen.place_at, chosen.place_at + 0.25));
    let name = order.called();
    let how = treatment_name(chosen.treatment);
    let data = serde_json::json!({
        "tried": tried.iter().map(Tried::told).collect::<Vec<_>>(),
        "windows": windows, "from": from, "to": to, "heads": order.order.heads, "name": name, "piece": order.piece.name,
        "path": format!("piece.{piece}"),
        "axis": axis.0.iter().map(|s| [s.hours.0, s.hours.1, s.at.0, s.at.1]).collect::<Vec<_>>(),
        "turn": event.turn.map(|turn| [turn.at, turn.by]),
        "twelve": event.moment(0.0).clock().ends_with('m'),
    });
    let lasts = order.lasts();
    let now = tried.iter().rev().find(|t| t.at <= from + 1e-9).or(tried.first()).map_or(0, |t| t.sure);
    html! {
        div.srow {
            p.fl {
                a href={ "why?file=" (encoded(file)) "&piece=" (piece) "&flower=" (flower) } { (name) }
                ", " (how) @if !lasts { b.wrong { " will not last" } }
            }
            div.strip tabindex="0" role="slider" data-strip=(data.to_string())
                aria-label={ (order.piece.name) ", " (name) ", " (how) } aria-valuemin="0" aria-valuemax="100"
                aria-valuenow=(format!("{:.0}", axis.at(from)))
                aria-valuetext={ "set " (day_and_clock(event, from)) ", sure " (now) " in 10" } {
                @for (left, right, grade) in bands(axis, &windows, &tried, fair(event)) {
                    i.band.(grade) data-x=(x(left)) data-w=(x(right - left)) {}
                }
                i.life data-x=(x(axis.at(from))) data-w=(x(axis.at(order.piece.until) - axis.at(from))) {}
                @for (at, _) in &order.piece.moves { i.mv data-x=(x(axis.at(*at))) {} }
                i.door data-x=(x(axis.at(event.doors))) {}
                i.until data-x=(x(axis.at(order.piece.until))) {}
                i.blk.wont[!lasts] data-x=(x(axis.at(from))) data-w=(x(axis.at(to) - axis.at(from))) {}
            }
        }
    }
}

/// A set-up time that was tried.
struct Tried<'a> {
    at: f64,
    /// How many times in ten enough heads last.
    sure: u32,
    /// Whether that is as sure as is wanted.
    enough: bool,
    option: &'a PlacingOption,
}

impl Tried<'_> {
    /// For the script: when, how sure, and how many are still good in a usual delivery and in a poor one.
    fn told(&self) -> [f64; 4] {
        let count = &self.option.count;
        [self.at, f64::from(self.sure), count.p50.floor(), count.p05.floor()]
    }
}

/// A chance in tenths, rounded down.
fn tenths(chance: f64) -> u32 {
    (10.0 * chance + 1e-9).floor() as u32
}

/// So many times in ten is nearly as sure as is wanted.
fn fair(event: &Event) -> u32 {
    tenths(event.assurance).saturating_sub(2)
}

/// Whether enough heads last, with the spares that are planned, if they are set so.
fn enough(order: &OrderFacts, option: &PlacingOption) -> bool {
    option.spares.is_some_and(|spares| spares <= order.spares)
}

/// How many times in ten enough heads last if they are set so, with the spares that are planned.
fn sure(event: &Event, order: &OrderFacts, option: &PlacingOption) -> u32 {
    let alone = tenths(option.assurance);
    if enough(order, option) { alone.max(tenths(event.assurance)) } else { alone }
}

/// The stretches of the set-up times with one grade of sureness, in hundredths of the ribbon.
fn bands(axis: &Axis, windows: &[(f64, f64)], tried: &[Tried], fair: u32) -> Vec<(f64, f64, &'static str)> {
    let mut bands: Vec<(f64, f64, &'static str)> = Vec::new();
    for (from, to) in windows {
        let inside: Vec<_> = tried.iter().filter(|t| t.at >= from - 1e-9 && t.at <= to + 1e-9).collect();
        for (i, now) in inside.iter().enumerate() {
            let end = inside.get(i + 1).map_or(*to, |next| next.at);
            let grade = match now.enough {
                true => "sure",
                false if now.sure >= fair => "fair",
                false => "poor",
            };
            let (left, right) = (axis.at(now.at), axis.at(end.max(now.at + 0.1)));
            match bands.last_mut() {
                Some(last) if last.2 == grade && (last.1 - left).abs() < 1e-6 => last.1 = right,
                _ => bands.push((left, right, grade)),
            }
        }
    }
    bands
}
