//! Flags that several commands share.

use super::events;
use super::notebook::{self, NAME};
use crate::calibrate::notebook::Notebook;
use crate::decide::hours::{HORIZON, SHORTEST};
use crate::decide::plan::Settings;
use crate::error::{Problem, Result};
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::report::render::pdf::Sheet;
use crate::units::{Span, UnitError, Volume, Warming};
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// What every plan of an event goes by.
#[derive(Debug, clap::Args)]
pub struct Basis {
    /// Leave the notebook of trials out, and go by the catalogue.
    #[arg(long)]
    pub without_trials: bool,
    /// Seed of the random draws: the same seed gives the same plan.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

impl Basis {
    /// Reads an event file with what its notebook teaches, unless that is to be left out.
    pub fn event(&self, path: &Path) -> Result<Event> {
        if self.without_trials { events::read(path) } else { events::known(path) }
    }

    /// The settings of a plan.
    pub fn settings(&self) -> Settings {
        Settings { seed: self.seed, ..Settings::default() }
    }
}

/// Other weather for all rooms at once.
#[derive(Debug, clap::Args)]
pub struct Hotter {
    /// What if all rooms were this much hotter, such as 5C or 9F?
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    hotter: Option<String>,
}

impl Hotter {
    /// How much hotter, K; 0 if nothing is given.
    pub fn kelvin(&self, problems: &mut Vec<Problem>) -> f64 {
        option::<Warming>("hotter", self.hotter.as_deref(), problems).map_or(0.0, |w| w.kelvin)
    }
}

/// Reads the value of a flag; if it cannot be read, adds a problem and returns `None`.
pub fn option<T: FromStr<Err = UnitError>>(
    flag: &str,
    text: Option<&str>,
    problems: &mut Vec<Problem>,
) -> Option<T> {
    match text?.parse() {
        Ok(value) => Some(value),
        Err(e) => {
            let read = text.unwrap_or_default();
            problems
                .push(Problem::new(format!("--{flag} cannot be {read:?}")).expected(e.expected).help(e.help));
            None
        }
    }
}

/// Reads `--until`, from [`SHORTEST`] to [`HORIZON`]; if it is anything else, adds a problem and returns `None`.
pub fn until(text: &str, problems: &mut Vec<Problem>) -> Option<Span> {
    let until = option::<Span>("until", Some(text), problems)?;
    if (SHORTEST..=HORIZON).contains(&until.hours) {
        return Some(until);
    }
    let problem = Problem::new(format!("--until cannot be {text:?}")).expected("from 5 minutes to 30 days");
    problems.push(problem.help("--until 8h"));
    None
}

/// Leaves each flower once, where it was first named.
pub fn once(flowers: &mut Vec<&Flower>) {
    let mut seen = std::collections::BTreeSet::new();
    flowers.retain(|flower| seen.insert(flower.id()));
}

/// The sheet that papers are printed on, as it is asked for.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Page {
    A4,
    Letter,
}

impl From<Page> for Sheet {
    fn from(page: Page) -> Sheet {
        match page {
            Page::A4 => Sheet::A4,
            Page::Letter => Sheet::Letter,
        }
    }
}

/// What a question without an event goes by.
#[derive(Debug, Clone, clap::Args)]
pub struct Known {
    /// Leave the notebook of trials out, and go by the catalogue.
    #[arg(long)]
    pub without_trials: bool,
    #[command(flatten)]
    book: Book,
}

impl Known {
    /// The notes to go by; none where they are to be left out or there is no notebook.
    pub fn notes(&self) -> Result<Notebook> {
        if self.without_trials { Ok(Notebook::default()) } else { notebook::read(&self.book.notebook) }
    }
}

/// What a question about a flower goes by, besides the flower and the air.
#[derive(Debug, clap::Args)]
pub struct Asking {
    /// Volume of a water tube.
    #[arg(long, value_name = "VOLUME", default_value = "10ml")]
    tube: String,
    #[command(flatten)]
    pub known: Known,
    /// Seed of the random draws.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

impl Asking {
    /// The volume of a tube; if it cannot be read, adds a problem and returns `None`.
    pub fn tube(&self, problems: &mut Vec<Problem>) -> Option<Volume> {
        option("tube", Some(&self.tube), problems)
    }
}

/// Which notebook.
#[derive(Debug, Clone, clap::Args)]
pub struct Book {
    /// The notebook, a CSV that opens in a spreadsheet.
    #[arg(long, value_name = "FILE", default_value = NAME)]
    pub notebook: PathBuf,
}
