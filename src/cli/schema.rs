//! `headwater schema`: prints the JSON Schema of an event file or of a plan.

use super::output;
use crate::error::Result;
use crate::report::render::schema::{EVENT, result};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater schema event > event.schema.json
  headwater schema result > plan.schema.json")]
pub struct Args {
    /// Of what.
    of: Of,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum Of {
    /// An event file, its TOML told as JSON.
    Event,
    /// What `headwater plan --json` prints.
    Result,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    match args.of {
        Of::Event => output::print(EVENT)?,
        Of::Result => output::print(&result())?,
    }
    Ok(ExitCode::SUCCESS)
}
