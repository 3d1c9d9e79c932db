//! `headwater validate`: the model held against published experiments, and what drives its answer.

use super::{output, progress};
use crate::error::Result;
use crate::report::{validation, validation_words};
use crate::validate::{compare, influence};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater validate
  headwater validate --out plots
  headwater validate --influence")]
pub struct Args {
    /// Print JSON.
    #[arg(long)]
    json: bool,
    /// Show instead which inputs drive the answer, and what to measure first.
    #[arg(long, conflicts_with = "out")]
    influence: bool,
    /// Seed of the random draws.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Also write the picture of predicted against observed into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    if args.influence {
        let influences = progress::during("Drawing at random", || influence::influences(args.seed));
        let text = if args.json {
            validation_words::influence_json(&influences)
        } else {
            validation_words::influence(&influences)
        };
        output::print(&text)?;
        return Ok(ExitCode::SUCCESS);
    }
    let comparisons = progress::during("Predicting experiments", || compare(args.seed));
    if let Some(folder) = &args.out {
        let svg = validation::picture(&comparisons)
            .svg()
            .map_err(|e| crate::error::Problem::new(format!("the picture cannot be drawn: {e}")))?;
        output::folder(folder)?;
        output::write(&folder.join("validation.svg"), svg.as_bytes())?;
    }
    let text = if args.json {
        validation_words::json(&comparisons)
    } else {
        validation::text(&comparisons, output::width())
    };
    output::print(&text)?;
    Ok(ExitCode::SUCCESS)
}
