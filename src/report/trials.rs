//! Trials in words, and what their counts say without a model.

use super::learning::number;
use super::words::capital;
use crate::calibrate::compare::half;
use crate::calibrate::evidence::in_reference_air;
use crate::calibrate::trial::{Look, Outcome, Trial};
use crate::flower::treatment::{Handling, Lying, Stage};
use crate::simulate::outcome::EndPoint;
use crate::stats::survival::{KaplanMeier, Scale};
use crate::units::{Moment, Span};

/// How shares and medians were computed.
pub const NOTE: &str = "Shares with their 90 % limits, from the counts alone (Kaplan-Meier, log-log); the stretch in which half \
                        ended is Turnbull's.";

/// A look at a trial, in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The clock time of the look.
    pub at: String,
    /// How long after the start it was.
    pub after: String,
    /// The counts and the weight, such as "of 10, 7 presentable".
    pub seen: String,
    /// The share still good with its 90 % limits; empty if the counts do not tell.
    pub share: String,
}

/// How the heads of a trial were prepared, such as "overnight in the cool, blown, leaves on, in a heap".
pub fn prepared(trial: &Trial) -> String {
    let Handling { conditioning, stage, leaves_on, lying, .. } = trial.handling;
    let mut words = vec![conditioning.words()];
    words.extend((stage != Stage::default()).then_some(stage.words()));
    words.extend(leaves_on.then_some("leaves on"));
    words.extend((lying != Lying::default()).then_some(lying.words()));
    words.join(", ")
}

/// The flower of a trial, and how it was begun.
pub fn heading(trial: &Trial) -> String {
    let treated = if trial.treated.is_empty() { String::new() } else { format!(", {}", trial.treated) };
    let lot = trial.lot.as_ref().map_or(String::new(), |l| format!(" of \"{l}\""));
    let weight = trial.fresh_g.map_or(String::new(), |g| format!(" of {g:.1} g together"));
    format!(
        "{}{lot}, {} heads{weight}{treated}, on {} from {}; {}; air: {}",
        capital(trial.flower.name()),
        trial.heads,
        trial.date,
        Moment::at(trial.start),
        prepared(trial),
        trial.air
    )
}

/// The looks at a trial, in order of time.
pub fn looks(trial: &Trial) -> Vec<Told> {
    let curve = KaplanMeier::of(&trial.endings());
    let told = |look: &Look| {
        let hours = look.at - trial.start;
        let count = |n: Option<u32>, what: &str| n.map_or(String::new(), |n| format!(", {n} {what}"));
        let shares = match trial.end_point() {
            EndPoint::Flagging => look.presentable.is_some(),
            EndPoint::Wilted => look.wilted.is_some(),
        };
        Told {
            at: Moment::at(look.at).to_string(),
            after: Span { hours }.to_string(),
            seen: format!(
                "of {}{}{}{}{}",
                look.of,
                count(look.presentable, "presentable"),
                count(look.wilted, "limp"),
                look.weight_g.map_or(String::new(), |g| format!(", {g:.1} g")),
                look.drunk_g.map_or(String::new(), |g| format!(", {g:.1} g drunk")),
            ),
            share: if shares { limits(&curve, hours) } else { String::new() },
        }
    };
    trial.looks.iter().map(told).collect()
}

fn limits(curve: &KaplanMeier, hours: f64) -> String {
    let share = 100.0 * curve.survival(hours);
    match curve.limits(hours, Scale::LogLog, 0.9) {
        Some((low, high)) if low < high => {
            format!("{share:.0} % good ({:.0} to {:.0} %)", 100.0 * low, 100.0 * high)
        }
        _ => format!("{share:.0} % good"),
    }
}

/// When half of the heads of a trial had failed, in its own air and, out of water, in reference air.
pub fn ended(trial: &Trial) -> String {
    let end = if trial.end_point() == EndPoint::Flagging { "softened" } else { "gone limp" };
    let endings = trial.endings();
    if endings.is_empty() {
        return "No heads were counted.".to_string();
    }
    match (half(&endings), half(&in_reference_air(trial))) {
        (Some((a, b)), _) if trial.in_water() => {
            format!("Half had {end} between {} and {} h, in water.", number(a), number(b))
        }
        (Some((a, b)), Some((c, d))) => format!(
            "Half had {end} between {} and {} h, which is {} to {} h in an ordinary room (21 C, 45 %).",
            number(a),
            number(b),
            number(c),
            number(d)
        ),
        _ => format!("Fewer than half had {end} at the last look."),
    }
}

/// The outcome of a flower at a past event.
pub fn outcome(o: &Outcome) -> String {
    let forecast = match (o.forecast.first(), o.forecast.last()) {
        (Some(low), Some(high)) => format!("; forecast {low:.0} to {high:.0}"),
        _ => String::new(),
    };
    format!(
        "{}, {}, on {}; {} of {} good after {}{forecast}",
        o.flower.name(),
        o.method,
        o.date,
        o.presentable,
        o.of,
        Span { hours: o.hours }
    )
}
