//! What a notebook holds, and the columns of its file.

use crate::calibrate::trial::{Outcome, Trial};

/// The columns of a notebook, in the order in which a new one has them.
pub const COLUMNS: [&str; 24] = [
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
    "lying",
    "treated",
    "air",
    "presentable",
    "flagging",
    "wilted",
    "weight",
    "drunk",
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
    /// The number for the next trial or event: one above the highest so far.
    pub fn next_number(&self) -> u32 {
        let numbers = self.trials.iter().map(|t| t.number).chain(self.outcomes.iter().map(|o| o.number));
        numbers.max().unwrap_or(0) + 1
    }
}
