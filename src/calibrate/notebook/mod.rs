//! The notebook: a plain CSV that opens in a spreadsheet, read whole, with every problem found at once.
//!
//! Each line is one entry: a trial's `start`, a `look` at it, or what became of a flower at an `event`. Columns may stand
//! in any order, and columns of the florist's own are left alone.

mod cells;
mod entries;
mod notes;
mod sheet;

use super::trial::{Outcome, Trial};
use crate::error::Result;
use sheet::Sheet;

pub use notes::{Said, When, begun, last_entry, looked, with_entry, without_last};

/// The columns of a notebook, in the order in which a new one has them.
pub const COLUMNS: [&str; 22] = [
    "entry",
    "trial",
    "date",
    "at",
    "flower",
    "lot",
    "heads",
    "conditioning",
    "stage",
    "leaves",
    "treated",
    "air",
    "presentable",
    "flagging",
    "wilted",
    "weight",
    "piece",
    "hours",
    "worth",
    "give or take",
    "forecast",
    "note",
];

/// All that a florist noted.
#[derive(Debug, Clone, Default)]
pub struct Notebook {
    /// Trials, in the order of the file.
    pub trials: Vec<Trial>,
    /// What became of flowers at events, in the order of the file.
    pub outcomes: Vec<Outcome>,
}

/// Fetches a logger's file by the name written in the notebook.
pub type Load<'a> = &'a dyn Fn(&str) -> std::io::Result<String>;

impl Notebook {
    /// Reads a notebook. `load` fetches a logger's file that an entry names.
    ///
    /// # Errors
    /// Every problem in it, each with its line, what was expected and what to type.
    ///
    /// # Examples
    /// ```
    /// use headwater::calibrate::notebook::Notebook;
    /// let text = "entry,trial,date,at,flower,heads,air,presentable\n\
    ///             start,1,2027-06-13,09:00,dahlia,10,21 C 45 %,\n\
    ///             look,1,,12:00,,,,7\n";
    /// let notes = Notebook::read("trials.csv", text, &|_| unreachable!("it names no log")).unwrap();
    /// assert_eq!(notes.trials[0].looks[0].presentable, Some(7));
    /// ```
    pub fn read(file: &str, text: &str, load: Load) -> Result<Notebook> {
        entries::read(&Sheet::of(file, text)?, load)
    }

    /// The number for the next trial or event.
    pub fn next_number(&self) -> u32 {
        let numbers = self.trials.iter().map(|t| t.number).chain(self.outcomes.iter().map(|o| o.number));
        numbers.max().unwrap_or(0) + 1
    }
}
