//! `headwater new`: writes a commented event file to start from.

use super::{files, output};
use crate::error::Result;
use crate::event::TEMPLATE;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater new supper.toml
  headwater new - > supper.toml")]
pub struct Args {
    /// The file to write; - for standard output. An existing file is left alone.
    #[arg(default_value = "event.toml")]
    file: PathBuf,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    if args.file.as_os_str() == "-" {
        output::print(TEMPLATE)?;
        return Ok(ExitCode::SUCCESS);
    }
    let shown = args.file.display();
    files::create(&args.file, TEMPLATE.as_bytes())?;
    output::print(&format!("Written: {shown}. Change it to your event, then: headwater plan {shown}\n"))?;
    Ok(ExitCode::SUCCESS)
}
