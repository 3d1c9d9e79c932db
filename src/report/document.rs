//! A paper as a list of blocks, the same for the page and for the PDF.

use super::pictures::sketch::Sketch;

/// A paper, or a plan on a screen.
#[derive(Debug, Clone)]
pub struct Document {
    /// What it is called.
    pub title: String,
    /// What is on it, from the top.
    pub blocks: Vec<Block>,
}

/// A part of a document.
#[derive(Debug, Clone)]
pub enum Block {
    /// The one title of the paper.
    Title(String),
    /// The heading of a section.
    Heading(String),
    /// The heading of a part of a section.
    Subheading(String),
    /// A paragraph of its own.
    Text(String),
    /// A paragraph in small print.
    Small(String),
    /// Points, one below the other.
    Points(Vec<String>),
    /// Points, each with a box to tick.
    Ticks(Vec<String>),
    /// Rows in columns under their heads.
    Table(Table),
    /// Ruled lines to write in, under the heads of their columns.
    Form(Vec<String>, usize),
    /// What follows begins on a new sheet.
    NewSheet,
    /// A line across.
    Rule,
    /// A picture, and what share of the paper's width it takes where it is printed.
    Picture(Sketch, f32),
    /// Lines to sign on, with what stands under each.
    Sign(Vec<String>),
}

/// Rows in columns under their heads.
#[derive(Debug, Clone)]
pub struct Table {
    /// The heads of the columns; one that is numbers starts with `>`.
    pub head: Vec<String>,
    /// The rows, each with a cell for every column.
    pub rows: Vec<Vec<String>>,
    /// How many columns at the left say what a row is about: where a table is too wide for a screen, they are repeated
    /// beside the columns that go on below. With none it is never divided.
    pub keys: usize,
}

impl Table {
    /// Rows under the heads of their columns.
    pub fn new(head: &[&str], rows: Vec<Vec<String>>) -> Table {
        Table { head: head.iter().map(|h| (*h).to_string()).collect(), rows, keys: 0 }
    }

    /// Whether a column holds numbers, and its head without the mark.
    pub fn column(&self, c: usize) -> (bool, &str) {
        let head = self.head[c].as_str();
        head.strip_prefix('>').map_or((false, head), |plain| (true, plain))
    }
}
