//! A document as a list of blocks, the same for every renderer.

use super::pictures::sketch::Sketch;

/// A paper, or a plan shown on a screen.
#[derive(Debug, Clone)]
pub struct Document {
    /// The title of the document.
    pub title: String,
    /// Its blocks, from the top.
    pub blocks: Vec<Block>,
}

/// A part of a document.
#[derive(Debug, Clone)]
pub enum Block {
    /// The title; a document has one.
    Title(String),
    /// The heading of a section.
    Heading(String),
    /// The heading of a part of a section.
    Subheading(String),
    /// A paragraph of text.
    Text(String),
    /// A paragraph in small print.
    Small(String),
    /// A list with a point for each item.
    Points(Vec<String>),
    /// A list with a box to tick for each item.
    Ticks(Vec<String>),
    /// A table of rows and columns.
    Table(Table),
    /// A form to fill in: the heads of its columns, and the number of empty rows.
    Form(Vec<String>, usize),
    /// The next block begins on a new sheet.
    NewSheet,
    /// A horizontal rule across the page.
    Rule,
    /// A picture, and another of the same for narrow screens where it is too wide for them.
    Picture(Sketch, Option<Sketch>),
    /// Lines to sign on, with the text below each.
    Sign(Vec<String>),
}

/// A table of rows and columns.
#[derive(Debug, Clone)]
pub struct Table {
    /// The heads of the columns. That of a column of numbers starts with `>`.
    pub head: Vec<String>,
    /// The rows, each with a cell for every column.
    pub rows: Vec<Vec<String>>,
    /// How many columns at the left identify a row. If a table is too wide for a screen, the columns that do not fit
    /// are shown below, beside these once more. With 0 a table is never divided.
    pub keys: usize,
}

impl Table {
    /// A table that is never divided.
    pub fn new(head: &[&str], rows: Vec<Vec<String>>) -> Table {
        Table { head: head.iter().map(|h| (*h).to_string()).collect(), rows, keys: 0 }
    }

    /// Whether a column holds numbers, and its head without the mark.
    ///
    /// # Panics
    /// If there is no column `c`.
    pub fn column(&self, c: usize) -> (bool, &str) {
        let head = self.head[c].as_str();
        head.strip_prefix('>').map_or((false, head), |plain| (true, plain))
    }
}

/// A line of a text that the terminal prints and the page lists.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The words of the line; empty for a blank one.
    pub text: String,
    /// How far it is set in, in letters.
    pub indent: usize,
}

impl Line {
    /// A line of its own.
    pub fn new(text: impl Into<String>) -> Line {
        Line { text: text.into(), indent: 0 }
    }

    /// A line of a list.
    pub fn item(text: impl Into<String>) -> Line {
        Line { text: text.into(), indent: 2 }
    }

    /// A line with nothing on it.
    pub fn blank() -> Line {
        Line::new("")
    }
}
