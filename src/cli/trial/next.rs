//! `headwater trial next`: which trial would help the coming event most.

use crate::calibrate::design::{Kind, LOST_HEAD_HOURS, Value, values};
use crate::cli::flags::option;
use crate::cli::{events, output, progress};
use crate::error::Result;
use crate::report::learning::number;
use crate::report::render::terminal::Text;
use crate::report::words::short_name;
use crate::units::Money;
use std::path::PathBuf;
use std::process::ExitCode;

/// The least saving that is worth a trial, as a share of an hour's wage.
const WORTH_WHILE: f64 = 0.1;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial next supper.toml
  headwater trial next supper.toml --lost-head 15")]
pub struct Args {
    /// The coming event.
    event: PathBuf,
    /// What one head past its best weighs like, in the event's money [default: half an hour's wage].
    #[arg(long, value_name = "MONEY")]
    lost_head: Option<String>,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let lost = option::<Money>("lost-head", args.lost_head.as_deref(), &mut problems);
    if let Some(problem) = problems.pop() {
        return Err(problem.into());
    }
    let event = events::known(&args.event)?;
    let lost = lost.map_or(LOST_HEAD_HOURS * event.means.hourly, |m| m.amount);
    let show = |amount: f64| event.means.currency.show(amount);
    let values = progress::during("Weighing trials", || values(&event, lost, 1));
    if args.json {
        output::print(&format!("{}\n", serde_json::to_string_pretty(&values).expect("plain data")))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut out = Text::new(output::width());
    out.line(&format!("WHICH TRIAL WOULD HELP {} MOST", event.name.to_uppercase()), 0);
    let worth: Vec<&Value> = values.iter().filter(|v| v.saves >= WORTH_WHILE * event.means.hourly).collect();
    match worth.first() {
        None => {
            let most = values.first().map_or(String::new(), |v| {
                let what = format!("{}, {}", short_name(&v.name), where_and_what(v.kind));
                format!(" The most that one could be expected to save is {}: {what}.", show(v.saves))
            });
            out.line(
                &format!(
                    "No trial is worth its trouble for this event: what is not known of these flowers would hardly change what you do \
                     with them.{most}"
                ),
                0,
            );
        }
        Some(best) => {
            out.line(&format!("Try {}: {}.", short_name(&best.name), where_and_what(best.kind)), 0);
            out.line(
                &format!(
                    "Allow about {} h; in a good delivery {} h. {} are to be expected to be saved, of {} that knowing it for sure would save.",
                    number(best.hours[0]),
                    number(best.hours[1]),
                    show(best.saves),
                    show(best.saves_at_most)
                ),
                0,
            );
            out.blank();
            for value in &worth {
                out.line(
                    &format!(
                        "- {}, {}: {}",
                        short_name(&value.name),
                        where_and_what(value.kind),
                        show(value.saves)
                    ),
                    2,
                );
            }
        }
    }
    out.blank();
    out.line(
        &format!(
            "Ten heads, looked at every hour. Saved, in the event's money, are work at the wage, tubes and vases by a surer choice, and \
             heads that are not lost, each counted as {} (change it with --lost-head).",
            show(lost)
        ),
        0,
    );
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
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
