//! `headwater new`: writes a commented event file to start from.

use super::{files, output};
use crate::error::Result;
use crate::event::{EXAMPLES, TEMPLATE};
use clap::builder::PossibleValuesParser;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater new supper.toml
  headwater new --demo harvest-supper
  headwater new - > supper.toml")]
pub struct Args {
    /// The file to write; - for standard output. An existing file is left alone.
    file: Option<PathBuf>,
    /// One of the invented events that are shipped, instead of an empty one.
    #[arg(long, value_name = "NAME", value_parser = PossibleValuesParser::new(EXAMPLES.map(|(name, ..)| name)))]
    demo: Option<String>,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let demo = args.demo.as_deref().and_then(|name| EXAMPLES.iter().find(|example| example.0 == name));
    let text = demo.map_or(TEMPLATE, |example| example.2);
    let file = args.file.clone().unwrap_or_else(|| format!("{}.toml", demo.map_or("event", |e| e.0)).into());
    if file.as_os_str() == files::STDIN {
        output::print(text)?;
        return Ok(ExitCode::SUCCESS);
    }
    let shown = file.display();
    files::create(&file, text.as_bytes())?;
    let then = if demo.is_some() { "Look at it" } else { "Change it to your event" };
    output::remark(&format!("Written: {shown}. {then}, then: headwater plan {shown}\n"))?;
    Ok(ExitCode::SUCCESS)
}
