//! `headwater habits`: the florist's own prices, minutes and stock, kept once for all her events.

use super::{events, files, output};
use crate::error::Result;
use crate::event::{Event, HABITS_FILE, HABITS_TEMPLATE, Habits, TEMPLATE};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater habits
  headwater habits weddings/2027

It writes a commented habits.toml to fill in, or checks the one that is there. Every event beside it is planned with it.")]
pub struct Args {
    /// The folder of your events.
    #[arg(default_value = ".")]
    folder: PathBuf,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let Some((file, text)) = events::habits(&args.folder)? else {
        let path = args.folder.join(HABITS_FILE);
        files::create(&path, HABITS_TEMPLATE.as_bytes())?;
        let shown = path.display();
        output::print(&format!(
            "Written: {shown}. Fill in what you know; the events beside it are planned with it.\n"
        ))?;
        return Ok(ExitCode::SUCCESS);
    };
    // Read over an event that says nothing of its own where the habits do.
    let habits = Habits { file: &file, text: &text };
    let load = |name: &str| files::log(&Path::new("").join(name));
    let event = Event::read_with("an example", TEMPLATE, Some(habits), &load)?;
    let name = event.florist.name.map_or(String::new(), |name| format!(": {name}"));
    output::print(&format!("{file} reads well{name}.\n"))?;
    Ok(ExitCode::SUCCESS)
}
