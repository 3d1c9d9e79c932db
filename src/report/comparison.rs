//! Two groups of trials against each other, in words.

use super::document::Line;
use super::learning::number;
use super::trials::prepared;
use super::words::capital;
use crate::calibrate::compare::{Comparison, half};
use crate::calibrate::notebook::Notebook;
use crate::calibrate::trial::Trial;
use crate::error::{Problem, Result};

/// The trials with the numbers in a list.
fn group<'a>(notes: &'a Notebook, list: &str) -> Result<Vec<&'a Trial>> {
    let known: Vec<String> = notes.trials.iter().map(|t| t.number.to_string()).collect();
    list.split(',')
        .map(|number| {
            let found =
                number.trim().parse::<u32>().ok().and_then(|n| notes.trials.iter().find(|t| t.number == n));
            found.ok_or_else(|| {
                let known = if known.is_empty() { "none yet".to_string() } else { known.join(", ") };
                Problem::new(format!("there is no trial {:?} in the notebook", number.trim()))
                    .expected(format!("numbers of trials with commas between them, of: {known}"))
                    .help("headwater trial show lists them")
                    .into()
            })
        })
        .collect()
}

/// The two groups whose numbers stand in two lists, if they can be compared.
///
/// # Errors
/// If a number is no trial, if they are not all of one flower, if a trial stands on both sides, or if one side has no look.
pub fn sides<'a>(notes: &'a Notebook, first: &str, second: &str) -> Result<(Vec<&'a Trial>, Vec<&'a Trial>)> {
    let (first, second) = (group(notes, first)?, group(notes, second)?);
    let flower = first[0].flower;
    if let Some(other) = first.iter().chain(&second).find(|t| t.flower.id() != flower.id()) {
        let problem = Problem::new(format!(
            "trial {} is of {}, trial {} of {}",
            first[0].number,
            flower.name(),
            other.number,
            other.flower.name()
        ));
        return Err(problem
            .expected("trials of one flower")
            .help("compare two ways with the same flower")
            .into());
    }
    if let Some(both) = first.iter().find(|t| second.iter().any(|o| o.number == t.number)) {
        let problem = Problem::new(format!("trial {} stands on both sides", both.number));
        return Err(problem.help("give each trial once").into());
    }
    let seen = |group: &[&Trial]| group.iter().any(|t| !t.endings().is_empty());
    if !seen(&first) || !seen(&second) {
        return Err(Problem::new("one side has no look yet")
            .help("headwater trial look --trial NUMBER ...")
            .into());
    }
    Ok((first, second))
}

/// What was found of two groups of trials.
///
/// # Panics
/// If a group is empty, which [`sides`] gives none of.
pub fn told(first: &[&Trial], second: &[&Trial], found: &Comparison) -> Vec<Line> {
    let flower = first[0].flower;
    let mut lines = Vec::new();
    lines.push(Line::new(format!(
        "{}: {} against {}",
        capital(flower.name()),
        called(second),
        called(first)
    )));
    for (group, endings) in [first, second].into_iter().zip(&found.endings) {
        let heads: f64 = endings.iter().map(|e| e.count).sum();
        let ended = match half(endings) {
            Some((a, b)) => format!("half had ended between {} and {} h", number(a), number(b)),
            None => "fewer than half had ended".to_string(),
        };
        lines.push(Line::item(format!(
            "- {}: {heads:.0} heads, {ended} (carried into 21 C and 45 %)",
            called(group)
        )));
    }
    let chance = found.test.p_value;
    let chance = if chance < 0.001 {
        "less than once in a thousand".to_string()
    } else {
        format!("{:.0} in 1000", 1000.0 * chance)
    };
    lines.push(Line::new(format!(
        "By the counts alone (log-rank test, chi-square {:.2}): a difference as large would come by chance {chance} times.",
        found.test.chi_square
    )));
    if !found.trusted {
        lines.push(Line::new(
            "The sampling behind the rest fails its check, so no more can be said: look for a slip in the notes.",
        ));
    } else {
        let f = found.factor;
        lines.push(Line::new(format!(
            "By all that is known: they last {:.2} times as long (nine times out of ten {:.2} to {:.2}), and it is {:.0} in 100 that \
             they last longer at all.",
            f.p50,
            f.p05,
            f.p95,
            100.0 * found.better
        )));
    }
    let lots = |group: &[&Trial]| -> Vec<Option<String>> { group.iter().map(|t| t.lot.clone()).collect() };
    if !lots(first).iter().all(|l| l.is_some() && lots(second).contains(l)) {
        lines.push(Line::new(
            "These are not of the same deliveries, as far as the notes say, so the deliveries may have made the difference. Next time take \
             twenty heads of one, ten for each.",
        ));
    }
    lines
}

/// The name of a group of trials, after what was done to the first.
fn called(group: &[&Trial]) -> String {
    let numbers: Vec<String> = group.iter().map(|t| t.number.to_string()).collect();
    let what = if group[0].treated.is_empty() { prepared(group[0]) } else { group[0].treated.clone() };
    format!("{what} (trial{} {})", if group.len() == 1 { "" } else { "s" }, numbers.join(", "))
}
