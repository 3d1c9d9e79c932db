//! `headwater trial`: the florist's notebook, and what it teaches.

mod compare;
mod event;
mod learned;
mod next;
mod note;
mod paper;
mod show;

use super::flags::Book;
use crate::error::Result;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "A trial, from the first note to the plan:
  headwater trial protocol                                    how to do one, and a form to print
  headwater trial start dahlia --on 2027-06-13 --at 9:00 --air \"22C 48%\" --lot \"Grower A, June\"
  headwater trial look --at 12:00 --presentable 7
  headwater trial look --at 13:00 --presentable 3 --wilted 1
  headwater trial learned dahlia                              what it taught
  headwater plan supper.toml                                  plans with it: trials.csv lies beside the event")]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, clap::Subcommand)]
enum Command {
    /// Begin a trial: some heads of one delivery, held dry.
    Start(note::Start),
    /// Note a look at a trial: how many are presentable, limp, what they weigh.
    Look(note::Look),
    /// Take the last entry out again.
    Undo(Book),
    /// Show the trials and what they say by themselves.
    Show(show::Args),
    /// What the notebook taught about a flower, and which note moved it.
    Learned(learned::Args),
    /// Compare two ways, such as sprayed and plain.
    Compare(compare::Args),
    /// Note what became of a flower at an event, against what was forecast.
    Happened(event::Happened),
    /// How good the forecasts were, and whether their ranges were wide enough.
    Score(event::Score),
    /// Which trial would help the coming event most.
    Next(next::Args),
    /// Write the page that says how to do a kitchen trial, with a form to print.
    Protocol(paper::Args),
}

pub fn run(args: &Args) -> Result<ExitCode> {
    match &args.command {
        Command::Start(args) => note::start(args),
        Command::Look(args) => note::look(args),
        Command::Undo(args) => note::undo(args),
        Command::Show(args) => show::run(args),
        Command::Learned(args) => learned::run(args),
        Command::Compare(args) => compare::run(args),
        Command::Happened(args) => event::happened(args),
        Command::Score(args) => event::score(args),
        Command::Next(args) => next::run(args),
        Command::Protocol(args) => paper::run(args),
    }
}
