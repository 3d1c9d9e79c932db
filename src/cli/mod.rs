//! The command line, with a file for each command. Only this module reads files, writes them and prints.

mod again;
mod air;
mod buy;
mod check;
mod events;
mod files;
mod flags;
mod flowers;
mod habits;
mod hours;
mod limits;
mod manuals;
mod new;
mod notebook;
mod open;
mod output;
mod papers;
mod pictures;
mod plan;
mod progress;
mod rooms;
mod schema;
mod season;
mod swaps;
mod trial;
mod validate;
mod whatif;

use crate::error::{Error, Problem};
use crate::flower::catalogue::Catalogue;
use crate::numerics::dispatch;
use clap::{CommandFactory, Parser, Subcommand};
use std::io::Write;
use std::process::ExitCode;

/// How long each cut flower stays presentable out of water, in this room, on this day, and what to do about it.
#[derive(Debug, Parser)]
#[command(name = "headwater", version, about, max_term_width = 100, after_help = EXAMPLES)]
struct Cli {
    /// What to do; without it, the page opens in the browser.
    #[command(subcommand)]
    command: Option<Command>,
    /// No progress and no remarks: only what was asked for, and what is wrong.
    #[arg(long, short, global = true)]
    quiet: bool,
}

const EXAMPLES: &str = "Examples:
  headwater hours dahlia --room \"warm barn\" --until 6h
  headwater hours rose --temperature 72F --humidity 50
  headwater new supper.toml
  headwater plan supper.toml --out plan
  headwater trial start dahlia --on 2027-06-13 --at 9:00 --air \"22C 48%\"

Exit codes: 0 all is well; 1 the plan has a flower that cannot last; 2 the input or the program failed.";

#[derive(Debug, Subcommand)]
enum Command {
    /// How long one flower lasts in one air, by treatment: the quick answer, without a file.
    Hours(hours::Args),
    /// Where dry stops being enough: up to which temperature dry, a tube or a vase will do; sheets for the wall.
    Limits(limits::Args),
    /// Plan an event: what to do with every flower, when to place it, and why.
    Plan(plan::Args),
    /// The papers of an event: a page for the client, the run sheet for the crew, the buying list.
    Papers(papers::Args),
    /// The plan on another day: hotter, drier, late, the cooling gone; and what matters most.
    Whatif(whatif::Args),
    /// Many events at once: a line each with its stems, hands and cost, and what falls short.
    Season(season::Args),
    /// Plan again on the morning on which too little came, or something came soft.
    Again(again::Args),
    /// One order to the wholesaler for several events: by day, in whole bunches.
    Buy(buy::Args),
    /// What to use instead of a flower: stand-ins of its size, shape, colour and price, and how they would fare.
    Swaps(swaps::Args),
    /// Write, plan and try out an event in a browser on this computer.
    Open(open::Args),
    /// Check an event file and say what was understood.
    Check(check::Args),
    /// Write a commented event file to start from.
    New(new::Args),
    /// Keep your prices, minutes and stock once for all events: writes or checks habits.toml.
    Habits(habits::Args),
    /// Search the catalogue; with a room and a time, which of them survive there.
    Flowers(flowers::Args),
    /// The words for rooms and the air behind them.
    Rooms,
    /// Keep a notebook of your own trials and past events, and learn from it.
    Trial(trial::Args),
    /// Hold the model against published experiments.
    Validate(validate::Args),
    /// The JSON Schema of an event file or of a plan, for other programs.
    Schema(schema::Args),
    /// Write completions for a shell to standard output.
    Completions {
        /// Which shell.
        shell: clap_complete::Shell,
    },
    /// Write the manual pages, and the completions of all shells, into a folder.
    Manuals(manuals::Args),
}

/// The environment variable that limits vectors to some number of doubles, to check that all processors give the same
/// results.
const LANES: &str = "HEADWATER_LANES";

/// Runs the program and returns its exit code.
pub fn main() -> ExitCode {
    if let Some(lanes) = std::env::var(LANES).ok().and_then(|text| text.parse().ok()) {
        dispatch::at_most(lanes);
    }
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(e) if e.kind() == clap::error::ErrorKind::InvalidSubcommand && flower_asked().is_some() => {
            return failed(flower_asked().unwrap_or_default().into());
        }
        Err(e) => {
            // Asking for help is a success; a wrong flag is an input error.
            return match e.print() {
                Ok(()) if !e.use_stderr() => ExitCode::SUCCESS,
                Err(failure) if !e.use_stderr() => {
                    output::printed(Err(failure)).map_or_else(failed, |()| ExitCode::SUCCESS)
                }
                _ => ExitCode::from(2),
            };
        }
    };
    if cli.quiet {
        output::be_quiet();
    }
    let outcome = match cli.command {
        None => open::run_and_show(),
        Some(Command::Hours(args)) => hours::run(&args),
        Some(Command::Limits(args)) => limits::run(&args),
        Some(Command::Plan(args)) => plan::run(&args),
        Some(Command::Whatif(args)) => whatif::run(&args),
        Some(Command::Season(args)) => season::run(&args),
        Some(Command::Again(args)) => again::run(&args),
        Some(Command::Buy(args)) => buy::run(&args),
        Some(Command::Swaps(args)) => swaps::run(&args),
        Some(Command::Papers(args)) => papers::run(&args),
        Some(Command::Open(args)) => open::run(&args),
        Some(Command::Check(args)) => check::run(&args),
        Some(Command::New(args)) => new::run(&args),
        Some(Command::Habits(args)) => habits::run(&args),
        Some(Command::Flowers(args)) => flowers::run(&args),
        Some(Command::Rooms) => rooms::run(),
        Some(Command::Trial(args)) => trial::run(&args),
        Some(Command::Validate(args)) => validate::run(&args),
        Some(Command::Schema(args)) => schema::run(&args),
        Some(Command::Completions { shell }) => {
            output::print(&manuals::completions(shell, Cli::command())).map(|()| ExitCode::SUCCESS)
        }
        Some(Command::Manuals(args)) => manuals::run(&args, Cli::command()),
    };
    outcome.unwrap_or_else(failed)
}

/// What to type for a flower typed where a command belongs, if it is one.
fn flower_asked() -> Option<Problem> {
    let words = std::env::args_os().skip(1).map(|word| word.to_string_lossy().into_owned());
    let typed: Vec<String> = words.take_while(|word| !word.starts_with('-')).collect();
    let name = typed.join(" ");
    let flower =
        Catalogue::shipped().find(&name).ok().or_else(|| Catalogue::shipped().find(typed.first()?).ok())?;
    let problem = Problem::new(format!("{name:?} is no command"))
        .expected("a command, such as plan or hours; `headwater --help` lists them");
    Some(problem.help(format!("headwater hours {} --room \"warm barn\" --until 6h", flower.id())))
}

/// Prints an error to standard error, if that still works.
fn failed(error: Error) -> ExitCode {
    let _ = writeln!(std::io::stderr(), "{error}");
    ExitCode::from(2)
}
