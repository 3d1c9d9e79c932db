//! The protocol of a kitchen trial, to print.

use crate::cli::output;
use crate::error::Result;
use crate::report::protocol;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  headwater trial protocol trial.html     then open it in a browser and print its two pages")]
pub struct Args {
    /// The page to write; - for standard output.
    #[arg(default_value = "trial.html")]
    file: PathBuf,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    if args.file.as_os_str() == "-" {
        output::print(&protocol::html())?;
        return Ok(ExitCode::SUCCESS);
    }
    output::write(&args.file, protocol::html().as_bytes())?;
    output::print(&format!(
        "Written: {}. Open it in a browser and print its two pages.\n",
        args.file.display()
    ))?;
    Ok(ExitCode::SUCCESS)
}
