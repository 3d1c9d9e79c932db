//! `headwater buy`: one order to the wholesaler for several events.

use super::flags::Basis;
use super::season::{files, planned, read};
use super::{output, progress};
use crate::decide::plan::Plan;
use crate::error::{Error, Result};
use crate::report::facts::Facts;
use crate::report::order::combined;
use crate::report::render::terminal;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater buy supper.toml lunch.toml
  headwater buy weddings")]
pub struct Args {
    /// Event files, or folders of them.
    #[arg(required = true)]
    events: Vec<PathBuf>,
    #[command(flatten)]
    basis: Basis,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let events = read(files(&args.events)?, &args.basis, &mut problems);
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let settings = args.basis.settings();
    let mut plans = progress::during("Planning", || planned(events, settings, |_, plan| plan))?;
    plans.sort_by(|a, b| (a.event.date, &a.event.name).cmp(&(b.event.date, &b.event.name)));
    let facts: Vec<Facts> = plans.iter().map(Facts::of).collect();
    output::print(&terminal::text(&combined(&facts), output::width()))?;
    let fine = plans.iter().all(Plan::lasts);
    Ok(if fine { ExitCode::SUCCESS } else { ExitCode::from(1) })
}
