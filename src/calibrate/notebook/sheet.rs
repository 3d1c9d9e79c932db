//! The notebook as rows of cells, each with its place.

use super::book::COLUMNS;
use crate::error::{CSV_END, Error, Place, Problem, Result, csv_line, unclosed_quote, unseen};
use csv::StringRecord;
use std::io::Read;

/// The rows of a notebook as they were written.
pub struct Sheet<'a> {
    /// The file's name as the user gave it.
    pub file: &'a str,
    /// The text of the file.
    pub text: &'a str,
    /// What stands between two cells: a comma or a semicolon.
    pub delimiter: u8,
    /// The names of its columns, in lower case.
    pub columns: Vec<String>,
    /// The rows below the first line, without empty ones.
    pub rows: Vec<StringRecord>,
}

impl<'a> Sheet<'a> {
    /// Divides a notebook into rows and cells.
    ///
    /// # Errors
    /// If it is not CSV, a quotation mark is never closed, or a column that every notebook has is missing.
    pub fn of(file: &'a str, text: &'a str) -> Result<Sheet<'a>> {
        // A spreadsheet may set semicolons where commas are decimal signs.
        let written = |line: &&str| !line.trim_start_matches('\u{feff}').trim().is_empty();
        let first = text.lines().find(written).unwrap_or("");
        let delimiter = if first.matches(';').count() > first.matches(',').count() { b';' } else { b',' };
        let mut sheet = Sheet { file, text, delimiter, columns: Vec::new(), rows: Vec::new() };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .has_headers(false)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes().chain(CSV_END.as_bytes()));
        for row in reader.records() {
            let row = row.map_err(|e| {
                let line = csv_line(text, e.position());
                let problem = Problem::new("this line cannot be read as CSV").at(sheet.place(line, ""));
                Error::from(problem.help("save the notebook again as CSV in UTF-8"))
            })?;
            if row.iter().all(str::is_empty) {
                continue;
            }
            let line = sheet.line(&row);
            if row.iter().any(|cell| cell.contains(CSV_END)) {
                // Everything to the end is one cell, which would swallow the entries there and those to come.
                return Err(unclosed_quote().at(sheet.place(line, "\"")).into());
            }
            if let Some((cell, problem)) = row.iter().find_map(|cell| Some((cell, unseen(cell)?))) {
                return Err(problem.at(sheet.place(line, cell)).into());
            }
            if row.iter().eq([CSV_END.trim()]) {
                break;
            }
            if sheet.columns.is_empty() {
                let name = |cell: &str| cell.trim_start_matches('\u{feff}').trim().to_lowercase();
                sheet.columns = row.iter().map(name).collect();
            } else {
                sheet.rows.push(row);
            }
        }
        let lacking: Vec<&str> =
            ["entry", "trial", "at"].into_iter().filter(|c| !sheet.columns.iter().any(|n| n == c)).collect();
        if lacking.is_empty() {
            return Ok(sheet);
        }
        let problem = Problem::new(format!("the first line names no column \"{}\"", lacking.join("\", \"")))
            .at(sheet.place(1, ""))
            .expected(format!("a first line such as: {}", COLUMNS.join(",")))
            .help("headwater trial start begins a new notebook");
        Err(problem.into())
    }

    /// The number of the line on which a row stands.
    pub fn line(&self, row: &StringRecord) -> usize {
        csv_line(self.text, row.position())
    }

    /// The place of a cell on a line, or of the whole line where the cell is empty.
    pub fn place(&self, line: usize, cell: &str) -> Place {
        let text = self.text.lines().nth(line.saturating_sub(1)).unwrap_or("");
        let at = if cell.is_empty() { 0 } else { text.find(cell).unwrap_or(0) };
        let end = if cell.is_empty() { text.len() } else { at + cell.len() };
        Place::on(self.file, line, text, at..end)
    }
}
