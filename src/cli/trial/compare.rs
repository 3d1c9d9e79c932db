//! `headwater trial compare`: compares two groups of trials.

use crate::calibrate::compare::compare;
use crate::cli::flags::Book;
use crate::cli::{notebook, output, progress};
use crate::error::Result;
use crate::report::comparison::{self, sides};
use crate::report::render::terminal::Text;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial compare 3 4
  headwater trial compare 1,3,5 2,4,6      the second against the first")]
pub struct Args {
    /// The plain trials, by their numbers.
    first: String,
    /// The others.
    second: String,
    #[command(flatten)]
    book: Book,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let (first, second) = sides(&notes, &args.first, &args.second)?;
    let flower = first[0].flower;
    let found = progress::during("Comparing", || compare(flower, &first, &second));
    let mut out = Text::new(output::width());
    out.lines(&comparison::told(&first, &second, &found));
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}
