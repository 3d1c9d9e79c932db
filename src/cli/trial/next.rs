//! Which trial would help the coming event most.

use crate::calibrate::design::{Kind, LOST_HEAD_MINUTES, TROUBLE_MINUTES, Value, values};
use crate::cli::hours::option;
use crate::cli::{output, plan};
use crate::error::Result;
use crate::report::learning::number;
use crate::report::terminal::Text;
use crate::report::words::{capital, short_name};
use crate::units::Span;
use std::path::PathBuf;
use std::process::ExitCode;

/// Less than this is not worth a trial, min.
const WORTH_WHILE: f64 = 5.0;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial next supper.toml
  headwater trial next supper.toml --lost-head 20min")]
pub struct Args {
    /// The coming event.
    event: PathBuf,
    /// How many minutes of work one head past its best weighs like.
    #[arg(long, value_name = "MINUTES", default_value = "30min")]
    lost_head: String,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let lost = option::<Span>("lost-head", Some(&args.lost_head), &mut problems);
    if let Some(problem) = problems.pop() {
        return Err(problem.into());
    }
    let lost = lost.map_or(LOST_HEAD_MINUTES, |s| 60.0 * s.hours);
    let event = plan::taught(&args.event, plan::read(&args.event)?, None)?;
    let values = values(&event, lost, 1);
    if args.json {
        output::print(&format!("{}\n", serde_json::to_string_pretty(&values).expect("plain data")))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut out = Text { width: output::width().clamp(60, 110), text: String::new() };
    out.line(&format!("WHICH TRIAL WOULD HELP {} MOST", event.name.to_uppercase()), 0);
    let worth: Vec<&Value> = values.iter().filter(|v| v.minutes >= WORTH_WHILE).collect();
    match worth.first() {
        None => out.line(
            "No trial is worth its trouble for this event: what is not known of these flowers would not change what you do with them.",
            0,
        ),
        Some(best) => {
            out.line(&format!("Try {}: {}.", short_name(&best.name), where_and_what(best.kind)), 0);
            out.line(
                &format!(
                    "Allow about {} h; in a good delivery {} h. {} saved are to be expected, of {} that knowing it for sure would save.",
                    number(best.hours[0]),
                    number(best.hours[1]),
                    capital(&minutes(best.minutes)),
                    minutes(best.minutes_at_most)
                ),
                0,
            );
            out.blank();
            for value in &worth {
                out.line(&format!("- {}, {}: {}", short_name(&value.name), where_and_what(value.kind), minutes(value.minutes)), 2);
            }
        }
    }
    out.blank();
    out.line(
        &format!(
            "Ten heads, looked at every hour. Saved are minutes of work by a surer choice, and heads that are not lost, each counted \
             as {} of work (change it with --lost-head). A tube counts {} min more than placing it, a vase {}, to buy, fill and count out \
             (judgement).",
            minutes(lost),
            TROUBLE_MINUTES.0,
            TROUBLE_MINUTES.1
        ),
        0,
    );
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

fn where_and_what(kind: Kind) -> &'static str {
    match kind {
        Kind::EarlierInTheKitchen => "any earlier delivery, in the kitchen",
        Kind::EarlierInSuchAir => "any earlier delivery, in air as warm and dry as at the event",
        Kind::ItselfInTheKitchen => "ten heads of the very delivery the day before, in the kitchen",
        Kind::ItselfInSuchAir => "ten heads of the very delivery the day before, in air as at the event",
    }
}

fn minutes(minutes: f64) -> String {
    Span { hours: minutes.round().max(1.0) / 60.0 }.to_string()
}
