//! A paper as a list of blocks, the same for the page and for the PDF.

use super::sketch::Sketch;

/// A paper.
#[derive(Debug, Clone)]
pub struct Document {
    /// What it is called.
    pub title: String,
    /// What is on it, from the top.
    pub blocks: Vec<Block>,
}

/// A part of a paper.
#[derive(Debug, Clone)]
pub enum Block {
    /// The one title.
    Title(String),
    /// A heading.
    Heading(String),
    /// A paragraph.
    Text(String),
    /// Small print.
    Small(String),
    /// Points.
    Points(Vec<String>),
    /// Points with a box to tick.
    Ticks(Vec<String>),
    /// Rows in columns under their heads.
    Table(Table),
    /// Ruled lines to write in, under the heads of their columns.
    Form(Vec<String>, usize),
    /// What follows begins on a new sheet.
    NewSheet,
    /// A picture, and what share of the paper's width it takes where it is printed.
    Picture(Sketch, f32),
    /// Lines to sign on, with what stands under each.
    Sign(Vec<String>),
}

/// Rows in columns.
#[derive(Debug, Clone)]
pub struct Table {
    /// The heads of the columns; one that is numbers starts with `>`.
    pub head: Vec<String>,
    /// The rows.
    pub rows: Vec<Vec<String>>,
}

impl Table {
    /// Rows under the heads of their columns.
    pub fn new(head: &[&str], rows: Vec<Vec<String>>) -> Table {
        Table { head: head.iter().map(|h| (*h).to_string()).collect(), rows }
    }

    /// Whether a column holds numbers, and its head without the mark.
    pub fn column(&self, c: usize) -> (bool, &str) {
        let head = self.head[c].as_str();
        head.strip_prefix('>').map_or((false, head), |plain| (true, plain))
    }
}
