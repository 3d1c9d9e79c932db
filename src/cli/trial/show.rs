//! The trials, and what they say by themselves, with no model.

use super::Book;
use crate::calibrate::compare::half;
use crate::calibrate::evidence::in_reference_air;
use crate::calibrate::trial::{Sign, Trial};
use crate::cli::{notebook, output};
use crate::error::{Problem, Result};
use crate::report::learning::number;
use crate::report::terminal::Text;
use crate::report::words::capital;
use crate::stats::survival::{KaplanMeier, Scale};
use crate::units::{Moment, Span};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial show
  headwater trial show 3")]
pub struct Args {
    /// Only this trial.
    trial: Option<u32>,
    #[command(flatten)]
    book: Book,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let wanted = |number: u32| args.trial.is_none_or(|n| n == number);
    let trials: Vec<&Trial> = notes.trials.iter().filter(|t| wanted(t.number)).collect();
    let outcomes: Vec<_> = notes.outcomes.iter().filter(|o| wanted(o.number)).collect();
    if trials.is_empty() && outcomes.is_empty() {
        let book = args.book.notebook.display();
        let problem = match args.trial {
            Some(number) => Problem::new(format!("{book} has no trial {number}"))
                .help("headwater trial show lists them all"),
            None => Problem::new(format!("{book} has no trial yet"))
                .help("headwater trial start FLOWER --on DAY --at TIME --air AIR"),
        };
        return Err(problem.into());
    }
    let mut out = Text { width: output::width().clamp(60, 110), text: String::new() };
    for trial in trials {
        one(&mut out, trial);
        out.blank();
    }
    for o in outcomes {
        let forecast = match (o.forecast.first(), o.forecast.last()) {
            (Some(low), Some(high)) => format!("; forecast {low:.0} to {high:.0}"),
            _ => String::new(),
        };
        out.line(
            &format!(
                "EVENT {}: {}, {}, on {}; {} of {} good after {}{forecast}",
                o.number,
                o.flower.name(),
                o.treatment,
                o.date,
                o.presentable,
                o.of,
                Span { hours: o.hours }
            ),
            0,
        );
    }
    out.line(
        "Shares with their 90 % limits, from the counts alone (Kaplan-Meier, log-log); the stretch in which half ended is Turnbull's.",
        0,
    );
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

fn one(out: &mut Text, trial: &Trial) {
    let treated = if trial.treated.is_empty() { String::new() } else { format!(", {}", trial.treated) };
    let lot = trial.lot.as_ref().map_or(String::new(), |l| format!(" of \"{l}\""));
    let weight = trial.fresh_g.map_or(String::new(), |g| format!(" of {g:.1} g together"));
    out.line(
        &format!(
            "TRIAL {}: {}{lot}, {} heads{weight}{treated}, on {} from {}; {}; air: {}",
            trial.number,
            capital(trial.flower.name()),
            trial.heads,
            trial.date,
            Moment::at(trial.start),
            trial.handling.conditioning.words(),
            trial.air
        ),
        0,
    );
    let endings = trial.endings();
    let curve = KaplanMeier::of(&endings);
    for look in &trial.looks {
        let hours = look.at - trial.start;
        let count = |n: Option<u32>, what: &str| n.map_or(String::new(), |n| format!(", {n} {what}"));
        let share = match trial.sign() {
            Sign::Softening if look.presentable.is_some() => limits(&curve, hours),
            Sign::Limpness if look.wilted.is_some() => limits(&curve, hours),
            _ => String::new(),
        };
        out.line(
            &format!(
                "{:>9} after {:<10} of {}{}{}{}{share}",
                Moment::at(look.at).to_string(),
                Span { hours }.to_string(),
                look.of,
                count(look.presentable, "presentable"),
                count(look.wilted, "limp"),
                look.weight_g.map_or(String::new(), |g| format!(", {g:.1} g")),
            ),
            2,
        );
    }
    let end = if trial.sign() == Sign::Softening { "softened" } else { "gone limp" };
    let told = match (half(&endings), half(&in_reference_air(trial))) {
        (Some((a, b)), Some((c, d))) => format!(
            "Half had {end} between {} and {} h, which is {} to {} h in an ordinary room (21 C, 45 %).",
            number(a),
            number(b),
            number(c),
            number(d)
        ),
        _ => format!("Fewer than half had {end} at the last look."),
    };
    out.line(&told, 2);
}

fn limits(curve: &KaplanMeier, hours: f64) -> String {
    let share = 100.0 * curve.survival(hours);
    match curve.limits(hours, Scale::LogLog, 0.9) {
        Some((low, high)) if low < high => {
            format!("; {share:.0} % good ({:.0} to {:.0} %)", 100.0 * low, 100.0 * high)
        }
        _ => format!("; {share:.0} % good"),
    }
}
