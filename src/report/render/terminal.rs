//! A document as text for a terminal of a given width.

use crate::report::document::{Block, Document, Line, Table};

/// The least and the greatest width of text, in characters.
const WIDTHS: (usize, usize) = (60, 110);

/// The document as text, wrapped at `width` characters.
pub fn text(document: &Document, width: usize) -> String {
    let mut out = Text::new(width);
    for block in &document.blocks {
        out.block(block);
    }
    out.text
}

impl Text {
    /// Adds lines, each set in as far as it says.
    pub fn lines(&mut self, lines: &[Line]) {
        for line in lines {
            if line.text.is_empty() { self.blank() } else { self.line(&line.text, line.indent) }
        }
    }

    fn block(&mut self, block: &Block) {
        match block {
            Block::Title(title) => self.line(&title.to_uppercase(), 0),
            Block::Heading(heading) => {
                self.gap();
                self.rule();
                self.line(&heading.to_uppercase(), 0);
            }
            Block::Subheading(heading) => {
                self.gap();
                self.line(heading, 0);
            }
            Block::Text(text) | Block::Small(text) => self.line(text, 0),
            Block::Points(points) => points.iter().for_each(|point| self.line(&format!("- {point}"), 2)),
            Block::Ticks(points) => points.iter().for_each(|point| self.line(&format!("[ ] {point}"), 2)),
            Block::Table(table) => {
                self.gap();
                self.table(table);
                self.gap();
            }
            Block::Rule => {
                self.gap();
                self.rule();
            }
            Block::Picture(sketch, _) => self.line(sketch.description(), 0),
            Block::Form(head, _) => self.line(&head.join(" | "), 0),
            Block::Sign(lines) => {
                lines.iter().for_each(|line| self.line(&format!("{line}: ____________"), 0))
            }
            Block::NewSheet => self.gap(),
        }
    }

    /// A table below its heads. If it is too wide it continues below, with its key columns repeated.
    fn table(&mut self, table: &Table) {
        let width = |c: usize| {
            let cells = table.rows.iter().map(|r| r[c].chars().count());
            cells.fold(table.column(c).1.chars().count(), usize::max) + 2
        };
        let all = table.head.len();
        let mut from = table.keys;
        loop {
            let wide = |to: usize| (0..table.keys).chain(from..to).map(width).sum::<usize>();
            let mut to = (from + 1).min(all);
            while to < all && (table.keys == 0 || wide(to + 1) <= self.width) {
                to += 1;
            }
            let shown: Vec<usize> = (0..table.keys).chain(from..to).collect();
            let head = shown.iter().map(|c| table.column(*c).1.to_string()).collect();
            let row = |r: &Vec<String>| shown.iter().map(|c| r[*c].clone()).collect();
            let rows: Vec<Vec<String>> = std::iter::once(head).chain(table.rows.iter().map(row)).collect();
            let left: Vec<bool> = shown.iter().map(|c| !table.column(*c).0).collect();
            columns(self, &rows, &left, 0);
            from = to;
            if from >= all {
                return;
            }
            self.blank();
        }
    }
}

/// Rows in columns two blanks apart, `indent` blanks from the left. `left` says for each column whether it is aligned
/// at the left.
pub fn columns(out: &mut Text, rows: &[Vec<String>], left: &[bool], indent: usize) {
    let widths: Vec<usize> =
        (0..rows[0].len()).map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0)).collect();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .zip(left)
            .map(
                |((cell, &width), left)| {
                    if *left { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
                },
            )
            .collect();
        out.text.push_str(&format!("{}{}\n", " ".repeat(indent), cells.join("  ").trim_end()));
    }
}

/// Text that is wrapped as it is written.
pub struct Text {
    /// The width in characters.
    pub width: usize,
    /// The text so far.
    pub text: String,
}

impl Text {
    /// An empty text, its width limited to [`WIDTHS`].
    pub fn new(width: usize) -> Text {
        Text { width: width.clamp(WIDTHS.0, WIDTHS.1), text: String::new() }
    }

    /// Adds a line, wrapped at blanks and indented by `indent` blanks. Further lines of a list item are indented to its
    /// text.
    pub fn line(&mut self, line: &str, indent: usize) {
        let hang = indent
            + match line {
                l if l.starts_with("[ ] ") => 4,
                l if l.starts_with("- ") || l.starts_with("! ") || l.starts_with("  ") => 2,
                _ => 0,
            };
        let mut column = indent;
        self.text.push_str(&" ".repeat(indent));
        if let Some(rest) = line.strip_prefix("  ") {
            self.text.push_str("  ");
            column += 2;
            self.words(rest, column, hang);
        } else {
            self.words(line, column, hang);
        }
        self.text.push('\n');
    }

    fn words(&mut self, line: &str, mut column: usize, hang: usize) {
        let mut first = true;
        for word in line.split(' ') {
            let length = word.chars().count();
            if !first && column + 1 + length > self.width {
                self.text.push('\n');
                self.text.push_str(&" ".repeat(hang));
                column = hang;
                first = true;
            }
            if !first {
                self.text.push(' ');
                column += 1;
            }
            self.text.push_str(word);
            column += length;
            first = false;
        }
    }

    /// Adds an empty line unless the text ends with one.
    fn gap(&mut self) {
        if !self.text.is_empty() && !self.text.ends_with("\n\n") {
            self.blank();
        }
    }

    /// Adds an empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// Adds a rule across the width.
    pub fn rule(&mut self) {
        self.text.push_str(&"-".repeat(self.width));
        self.text.push('\n');
    }
}
