//! `headwater trial show`: the trials, and what their counts say without a model.

use crate::calibrate::trial::Trial;
use crate::cli::flags::Book;
use crate::cli::{notebook, output};
use crate::error::{Problem, Result};
use crate::report::render::terminal::Text;
use crate::report::trials;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial show
  headwater trial show 3")]
pub struct Args {
    /// Only this trial.
    trial: Option<u32>,
    #[command(flatten)]
    book: Book,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let wanted = |number: u32| args.trial.is_none_or(|n| n == number);
    let tried: Vec<&Trial> = notes.trials.iter().filter(|t| wanted(t.number)).collect();
    let outcomes: Vec<_> = notes.outcomes.iter().filter(|o| wanted(o.number)).collect();
    if tried.is_empty() && outcomes.is_empty() {
        let book = args.book.notebook.display();
        let problem = match args.trial {
            Some(number) => Problem::new(format!("{book} has no trial {number}"))
                .help("headwater trial show lists them all"),
            None => Problem::new(format!("{book} has no trial yet"))
                .help("headwater trial start FLOWER --on DAY --at TIME --air AIR"),
        };
        return Err(problem.into());
    }
    let mut out = Text::new(output::width());
    for trial in tried {
        one(&mut out, trial);
        out.blank();
    }
    for o in outcomes {
        out.line(&format!("EVENT {}: {}", o.number, trials::outcome(o)), 0);
    }
    out.line(trials::NOTE, 0);
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

/// Adds one trial with its looks.
fn one(out: &mut Text, trial: &Trial) {
    out.line(&format!("TRIAL {}: {}", trial.number, trials::heading(trial)), 0);
    for look in trials::looks(trial) {
        let share = if look.share.is_empty() { String::new() } else { format!("; {}", look.share) };
        out.line(&format!("{:>9} after {:<10} {}{share}", look.at, look.after, look.seen), 2);
    }
    out.line(&trials::ended(trial), 2);
}
