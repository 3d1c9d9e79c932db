//! What is wrong with something the user wrote, in the user's terms.
//!
//! One [`Error`] carries every [`Problem`] found, so that a file can be mended in one go. A problem says what was read and
//! where, what was expected there, and what to type instead. Both are errors of the standard library, so that `?` works in a
//! function that returns `Result<(), Box<dyn std::error::Error>>`:
//!
//! ```
//! use headwater::event::Event;
//! use headwater::flower::catalogue::Catalogue;
//!
//! fn dry_hours(flower: &str) -> Result<f64, Box<dyn std::error::Error>> {
//!     let event = Event::read("supper.toml", headwater::event::TEMPLATE, &|log| std::fs::read_to_string(log))?;
//!     assert!(!event.pieces.is_empty());
//!     Ok(Catalogue::shipped().find(flower)?.median(headwater::flower::catalogue::Quantity::DryHours))
//! }
//! assert!((1.0..8.0).contains(&dry_hours("dahlia").unwrap()));
//! assert!(dry_hours("dalia").unwrap_err().to_string().contains("try: dahlia"));
//! ```

use std::fmt::{self, Display};

/// The result of reading what a user wrote.
pub type Result<T> = std::result::Result<T, Error>;

/// One or more problems, none of which hides another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Error {
    /// Every problem found, in the order of the file.
    pub problems: Vec<Problem>,
}

/// One thing that is wrong, and how to mend it.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// What is wrong, naming what was read.
    pub message: String,
    /// Where it stands, if it stands in a file.
    pub place: Option<Box<Place>>,
    /// What should stand there.
    pub expected: Option<String>,
    /// What to type or do instead.
    pub help: Option<String>,
    /// The key or section that is missing at the place, if that is what is wrong.
    pub lacks: Option<String>,
}

/// A range of characters in one line of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Place {
    /// The file's name as the user gave it.
    pub file: String,
    /// The number of the line, from 1.
    pub line: usize,
    /// The column of the first character, from 1.
    pub column: usize,
    /// How many characters it covers.
    pub width: usize,
    /// The text of the line, or the part around the place if the line is very long.
    pub text: String,
    /// How many characters of `text` come before the place.
    pub lead: usize,
}

/// A line of more characters than this is not shown whole.
const LONGEST_LINE: usize = 200;
/// How many characters before the place are shown of such a line.
const BEFORE: usize = 60;
/// At most this many problems are shown; beyond that they are only counted.
const MOST_SHOWN: usize = 50;

impl Place {
    /// The place of the byte range `span` in `source`, as far as it lies on one line.
    pub fn of(file: &str, source: &str, span: std::ops::Range<usize>) -> Self {
        let start = span.start.min(source.len());
        let line_start = source[..start].rfind('\n').map_or(0, |i| i + 1);
        let line_end = source[start..].find('\n').map_or(source.len(), |i| start + i);
        let end = span.end.clamp(start, line_end.max(start));
        let line = source[..start].matches('\n').count() + 1;
        Place::on(file, line, source[line_start..line_end].trim_end(), start - line_start..end - line_start)
    }

    /// The place of the byte range `span` in the text of one line; bytes beyond its end are left out.
    pub fn on(file: &str, line: usize, text: &str, span: std::ops::Range<usize>) -> Self {
        let before = text[..span.start.min(text.len())].chars().count();
        let width =
            text.get(span.start..span.end.min(text.len())).map_or(0, |meant| meant.chars().count()).max(1);
        let all = text.chars().count();
        let skipped = if all > LONGEST_LINE { before.saturating_sub(BEFORE) } else { 0 };
        let shown: String = text.chars().skip(skipped).take(LONGEST_LINE).collect();
        Place {
            file: file.to_string(),
            line,
            column: before + 1,
            width,
            text: printable(&shown),
            lead: before - skipped,
        }
    }
}

/// Text that is safe to print: control characters, which could move the cursor or ring the bell, become a visible one.
pub fn printable(text: &str) -> String {
    text.chars().map(|c| if c.is_control() && c != '\t' { '\u{fffd}' } else { c }).collect()
}

/// The problem of a text that holds what nobody can see: a control character, which could move the cursor of a terminal or
/// end a line of a calendar, or a mark that turns the order of letters round. Tabs and line breaks are none.
pub fn unseen(text: &str) -> Option<Problem> {
    let is_unseen = |c: char| {
        c.is_control() && !matches!(c, '\t' | '\n' | '\r')
            || matches!(c, '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
    };
    let first = text.chars().find(|&c| is_unseen(c))?;
    let plain: String = text.chars().filter(|&c| !is_unseen(c)).collect();
    let problem = Problem::new(format!(
        "a character that cannot be seen stands in this text (U+{:04X})",
        u32::from(first)
    ));
    Some(problem.expected("letters, figures and marks").help(format!("type it again: {plain:?}")))
}

/// The reason why a file could not be read or written, in plain words.
pub fn reason(e: &std::io::Error) -> String {
    use std::io::ErrorKind;
    match e.kind() {
        ErrorKind::NotFound => "there is nothing of that name".to_string(),
        ErrorKind::PermissionDenied => "you are not allowed to".to_string(),
        ErrorKind::InvalidData => "it is not a text file in UTF-8".to_string(),
        ErrorKind::IsADirectory => "it is a folder".to_string(),
        ErrorKind::NotADirectory => "a part of its path is a file, not a folder".to_string(),
        _ => e.to_string(),
    }
}

impl Problem {
    /// A problem with no place in a file.
    pub fn new(message: impl Into<String>) -> Self {
        Problem { message: message.into(), ..Problem::default() }
    }

    /// Adds the place where it stands.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(Box::new(place));
        self
    }

    /// Adds what should stand there instead.
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.expected = Some(expected.into());
        self
    }

    /// Adds what to type or do instead.
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says which key or section is missing at the place.
    pub fn lacks(mut self, key: &str) -> Self {
        self.lacks = Some(key.to_string());
        self
    }

    /// Adds another way out to what to type or do.
    pub fn or(self, other: &str) -> Self {
        let help = self.help.as_ref().map_or(other.to_string(), |help| format!("{help}, or {other}"));
        self.help(help)
    }
}

impl From<Problem> for Error {
    fn from(problem: Problem) -> Self {
        Error { problems: vec![problem] }
    }
}

impl Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "problem: {}", printable(&self.message))?;
        if let Some(p) = &self.place {
            write!(f, "\n  in {}, line {}, column {}", p.file, p.line, p.column)?;
            write!(f, "\n    {}", p.text)?;
            let indent: String =
                p.text.chars().take(p.lead).map(|c| if c == '\t' { '\t' } else { ' ' }).collect();
            let left = p.text.chars().count().saturating_sub(p.lead).max(1);
            write!(f, "\n    {indent}{}", "^".repeat(p.width.min(left)))?;
        }
        if let Some(expected) = &self.expected {
            write!(f, "\n  expected: {}", printable(expected))?;
        }
        if let Some(help) = &self.help {
            write!(f, "\n  try: {}", printable(help))?;
        }
        Ok(())
    }
}

impl Display for Error {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        for (i, problem) in self.problems.iter().take(MOST_SHOWN).enumerate() {
            if i > 0 {
                f.write_str("\n\n")?;
            }
            problem.fmt(f)?;
        }
        match self.problems.len().saturating_sub(MOST_SHOWN) {
            0 => Ok(()),
            more => write!(f, "\n\nand {more} more problems: mend these first"),
        }
    }
}

impl std::error::Error for Error {}
impl std::error::Error for Problem {}

/// A line added to the end of a CSV before it is read: if it is not read as a line of its own, a quotation mark was never
/// closed.
pub const CSV_END: &str = "\nend of the file";

/// The number of the line, from 1, on which a row of a CSV stands. A reader's position lies behind the row before, so that
/// what is left of its end and empty lines may come first.
pub fn csv_line(text: &str, position: Option<&csv::Position>) -> usize {
    let Some(position) = position else { return 1 };
    let from_there = text.as_bytes().get(position.byte() as usize..).unwrap_or_default();
    let ends = from_there.iter().take_while(|b| matches!(b, b'\r' | b'\n')).filter(|b| **b == b'\n').count();
    position.line() as usize + ends
}

/// The problem of a quotation mark that begins a cell and is never closed.
pub fn unclosed_quote() -> Problem {
    Problem::new("a quotation mark begins a cell here, or on a line below, and none ends it")
        .expected("quotation marks in pairs")
        .help("take the lone \" out, or close it at the end of its cell")
}

/// The candidate nearest to `word` by edit distance; `None` where none is near enough to be meant. Of equally near ones it is
/// the first in the alphabet.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase();
    let long = word.chars().count();
    // Each letter more or fewer is a change: a candidate of a very different length need not be compared.
    let may_be_near = |c: &&str| {
        let other = c.chars().count();
        long.abs_diff(other) as f64 <= 0.4 * long.max(other) as f64 + 1.0
    };
    candidates
        .into_iter()
        .filter(may_be_near)
        .map(|c| (strsim::normalized_damerau_levenshtein(&word, &c.to_lowercase()), c))
        .filter(|(score, _)| *score >= 0.6)
        .max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(a.1)))
        .map(|(_, c)| c)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_counts_characters_and_stays_on_its_line() {
        let source = "é = 1\nname = \"äb\"\n";
        let at = source.find("\"äb\"").unwrap();
        let place = Place::of("x.toml", source, at..at + 40);
        assert_eq!((place.line, place.column, place.width), (2, 8, 4));
        assert_eq!(place.text, "name = \"äb\"");
    }

    /// With either end of a line, and empty lines between.
    #[test]
    fn a_row_of_a_csv_stands_on_the_line_that_an_editor_shows() {
        for end in ["\n", "\r\n"] {
            let text = ["a,b", "1,2", "", "", "3,4", "5,6"].join(end);
            let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(text.as_bytes());
            let lines = reader.records().map(|row| csv_line(&text, row.unwrap().position()));
            assert_eq!(lines.collect::<Vec<_>>(), [1, 2, 5, 6], "{end:?}");
        }
        assert_eq!(csv_line("a", None), 1);
    }

    #[test]
    fn a_very_long_line_is_shown_around_the_place() {
        let source = format!("{}x{}", "é".repeat(1000), "y".repeat(1000));
        let place = Place::of("x.toml", &source, 2000..3001);
        assert_eq!((place.column, place.width, place.lead), (1001, 1001, BEFORE));
        assert_eq!(place.text.chars().nth(place.lead), Some('x'));
        let shown = Problem::new("long").at(place).to_string();
        assert!(shown.lines().all(|l| l.chars().count() <= LONGEST_LINE + 4), "{shown}");
    }

    #[test]
    fn more_problems_than_anybody_reads_are_only_counted() {
        let error = Error { problems: vec![Problem::new("one"); MOST_SHOWN + 7] };
        assert_eq!(error.to_string().matches("problem: one").count(), MOST_SHOWN);
        assert!(error.to_string().ends_with("and 7 more problems: mend these first"));
    }

    #[test]
    fn the_nearest_word_is_stable() {
        assert_eq!(nearest("hidrangea", ["rose", "hydrangea"]), Some("hydrangea"));
        assert_eq!(nearest("xyzzy", ["rose", "hydrangea"]), None);
        assert_eq!(nearest("bab", ["bac", "baa"]), Some("baa"));
    }
}
