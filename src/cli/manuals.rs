//! `headwater manuals`: the manual pages and the completions, all in one folder.

use super::files::Folder;
use super::output;
use crate::climate::room::Room;
use crate::error::{Problem, Result};
use crate::flower::catalogue::Catalogue;
use clap::ValueEnum;
use clap::builder::PossibleValuesParser;
use clap_complete::Shell;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater manuals manuals
  man manuals/headwater-plan.1")]
pub struct Args {
    /// The folder to write into.
    folder: PathBuf,
}

/// Writes the pages and the completions of the whole program, given as its command.
pub fn run(args: &Args, mut program: clap::Command) -> Result<ExitCode> {
    let folder = Folder::open(&args.folder)?;
    let mut files = Vec::new();
    for shell in Shell::value_variants() {
        files.push((format!("headwater.{shell}"), completions(*shell, program.clone()).into_bytes()));
    }
    program.build();
    pages(&program, &mut files)?;
    folder.write(&files, &|_| false)?;
    output::remark(&format!(
        "Written to {}: manual pages, and completions named after their shells.\n",
        folder.display()
    ))?;
    Ok(ExitCode::SUCCESS)
}

/// The manual pages of a command and of those under it, each with the name of its file.
fn pages(command: &clap::Command, files: &mut Vec<(String, Vec<u8>)>) -> Result<()> {
    let name = command.get_display_name().unwrap_or(command.get_name());
    let mut page = Vec::new();
    let failed = |e| Problem::new(format!("the manual of {name} cannot be made: {e}"));
    clap_mangen::Man::new(command.clone()).date(String::new()).render(&mut page).map_err(failed)?;
    files.push((format!("{name}.1"), page));
    command.get_subcommands().filter(|c| c.get_name() != "help").try_for_each(|below| pages(below, files))
}

/// The completions of a command for a shell, rooms and, where the shell has them of words without a flag, flowers among them.
pub fn completions(shell: Shell, mut command: clap::Command) -> String {
    let flowers = || PossibleValuesParser::new(Catalogue::shipped().all().iter().map(|f| f.id().to_string()));
    // Shells part words at blanks; rooms are found by words with hyphens, too.
    let rooms =
        || PossibleValuesParser::new(Room::all().iter().flat_map(|room| room.aliases()).map(hyphened));
    for (name, argument) in [("hours", "flower"), ("flowers", "words"), ("swaps", "flower")] {
        command = command.mut_subcommand(name, |c| c.mut_arg(argument, |a| a.value_parser(flowers())));
    }
    for name in ["hours", "flowers"] {
        command = command.mut_subcommand(name, |c| c.mut_arg("room", |a| a.value_parser(rooms())));
    }
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut command, "headwater", &mut script);
    String::from_utf8_lossy(&script).into_owned()
}

fn hyphened(words: &str) -> String {
    words.replace(' ', "-")
}
