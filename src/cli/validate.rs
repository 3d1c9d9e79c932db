//! `headwater validate`: compares the model with published experiments, or tells which inputs drive its answer.

use super::files::Folder;
use super::{output, progress};
use crate::error::Result;
use crate::report::render::terminal;
use crate::report::validation::document;
use crate::report::{pictures, validation_words};
use crate::validate::{compare, influence, left_out};
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
    let out = args.out.as_deref().map(Folder::open).transpose()?;
    let comparisons = progress::during("Predicting experiments", || compare(args.seed));
    if let Some(folder) = &out {
        let svg = pictures::validation::picture(&comparisons).svg();
        folder.write(&[("validation.svg".to_string(), svg.into_bytes())], &|_| false)?;
    }
    let text = if args.json {
        validation_words::json(&comparisons)
    } else {
        let left_out = progress::during("Leaving groups of statements out", left_out);
        terminal::text(&document(&comparisons, &left_out), output::width())
    };
    output::print(&text)?;
    Ok(ExitCode::SUCCESS)
}
