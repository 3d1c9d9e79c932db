//! `headwater trial next`: which trial would help the coming event most.

use crate::calibrate::design::{LOST_HEAD_HOURS, values};
use crate::cli::flags::option;
use crate::cli::{events, output, progress};
use crate::error::Result;
use crate::report::next_trial;
use crate::report::render::terminal::Text;
use crate::units::Money;
use std::path::PathBuf;
use std::process::ExitCode;

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
    let values = progress::during("Weighing trials", || values(&event, lost, 1));
    if args.json {
        output::print(&format!("{}\n", serde_json::to_string_pretty(&values).expect("plain data")))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut out = Text::new(output::width());
    out.lines(&next_trial::told(&event, &values));
    out.line(&format!("{} (change it with --lost-head).", next_trial::counted(&event, lost)), 0);
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}
