//! Texts that are nearly right, and texts that are not.

use crate::run::MOST_BYTES;
use rand::RngExt;
use rand::seq::IndexedRandom;
use std::collections::BTreeMap;

/// Words that mean something somewhere.
pub const WORDS: &[&str] = &[
    "[event]",
    "[[space]]",
    "[[piece]]",
    "[[piece.flower]]",
    "[[piece.move]]",
    "[[access]]",
    "[crew]",
    "[[tubes]]",
    "[[chore]]",
    "[space.building]",
    "[[space.guests]]",
    "[[space.hour]]",
    "[travel]",
    "[target]",
    "[marks]",
    " = ",
    "\"",
    "\"\"\"",
    "'''",
    "#",
    "\n",
    "\r\n",
    "\t",
    "{",
    "}",
    "[",
    "]",
    ",",
    ";",
    "\u{feff}",
    "\u{0}",
    "é",
    "𝄞",
    "−",
    "°",
    "½",
    "NaN",
    "nan",
    "inf",
    "-inf",
    "1e308",
    "1e-308",
    "-0",
    "0",
    "-1",
    "1",
    "99999999999999999999",
    "4294967296",
    "65536",
    "0x7f",
    "1_000",
    "1,000",
    "24:00",
    "00:00",
    "12:60",
    "23:59:60",
    "day before 18:00",
    "next day 00:30",
    "3 days before 18:00",
    "7 days later 24:00",
    "noon",
    "midnight",
    "12 am",
    "4 pm",
    "2027-02-29",
    "2028-02-29",
    "-9999-01-01",
    "9999-12-31",
    "2027-08-14T14:30",
    "2027-08-14 14:30Z",
    "2027-10-31 02:30+02:00",
    "22 C",
    "72 F",
    "-20 C",
    "60 C",
    "140F",
    "100 %",
    "1 %",
    "0.5",
    "4500 m",
    "-400 m",
    "60 days",
    "1h 30",
    "£1.20",
    "1.20 EUR",
    "kr",
    "dahlia",
    "hydrangea",
    "ruscus",
    "wired",
    "water tube",
    "bud vase",
    "warm barn",
    "full sun",
    "cool store",
    "true",
    "false",
    "start",
    "look",
    "event",
    "undo",
    "afternoon.csv",
    "gap.csv",
    "whole-day.csv",
    "../x.csv",
    "<script>",
    "&amp;",
    "%00",
    "%2e%2e%2f",
    "\\",
    "..",
];

/// How the texts of a corpus are built, so that a part can stand where another of its kind stood.
#[derive(Clone, Copy, PartialEq)]
pub enum Form {
    /// Lines, told apart by what stands before the first of these characters.
    Lines(&'static [char]),
    /// Rows of cells under a first line that names them.
    Cells,
    /// Rows of cells in a fixed order, under lines that begin with a word.
    Rows,
    /// Nothing that matters.
    Words,
}

/// Texts to begin with.
pub struct Corpus {
    texts: Vec<String>,
    form: Form,
    /// Lines by their key, or cells by the name of their column.
    parts: BTreeMap<String, Vec<String>>,
}

impl Corpus {
    /// A corpus of these texts, which are drawn alike.
    pub fn new(texts: Vec<String>, form: Form) -> Corpus {
        let mut parts: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for text in &texts {
            match form {
                Form::Lines(ends) => {
                    text.lines().for_each(|l| parts.entry(key(l, ends)).or_default().push(l.to_string()));
                }
                Form::Cells => {
                    let names: Vec<&str> = text.lines().next().unwrap_or("").split(',').collect();
                    let cells = text.lines().skip(1).flat_map(|l| names.iter().zip(l.split(',')));
                    cells.for_each(|(n, c)| parts.entry(n.to_string()).or_default().push(c.to_string()));
                }
                Form::Rows => {
                    let cells = text.lines().filter(|l| is_row(l)).flat_map(|l| l.split(',').enumerate());
                    cells.for_each(|(i, c)| parts.entry(i.to_string()).or_default().push(c.to_string()));
                }
                Form::Words => {}
            }
        }
        for part in parts.values_mut() {
            part.sort_unstable();
            part.dedup();
        }
        Corpus { texts, form, parts }
    }

    /// A text of the corpus, spoilt a little or a lot.
    pub fn spoilt(&self, generator: &mut impl rand::Rng) -> String {
        let mut text = self.texts.choose(generator).expect("a corpus").clone();
        if generator.random_bool(0.6) {
            for _ in 0..generator.random_range(1..4) {
                text = self.changed(&text, generator);
            }
            text
        } else {
            self.broken(text.into_bytes(), generator)
        }
    }

    /// The text with one change that leaves its lines as they are made.
    fn changed(&self, text: &str, generator: &mut impl rand::Rng) -> String {
        let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
        if lines.is_empty() {
            return text.to_string();
        }
        let at = generator.random_range(0..lines.len());
        match generator.random_range(0..8) {
            0..4 => lines[at] = self.another(&lines, at, generator),
            4 | 5 => {
                let digits: Vec<usize> = lines[at]
                    .bytes()
                    .enumerate()
                    .filter(|(_, b)| b.is_ascii_digit())
                    .map(|(i, _)| i)
                    .collect();
                if let Some(digit) = digits.choose(generator) {
                    let new = char::from(b'0' + generator.random_range(0..10)).to_string();
                    lines[at].replace_range(*digit..=*digit, &new);
                }
            }
            6 => drop(lines.remove(at)),
            _ => {
                let to = generator.random_range(0..=lines.len());
                lines.insert(to, ["", "# ", " ", "\r"].choose(generator).expect("a line").to_string());
            }
        }
        lines.join("\n") + "\n"
    }

    /// A line like this one out of another text.
    fn another(&self, lines: &[String], at: usize, generator: &mut impl rand::Rng) -> String {
        let line = &lines[at];
        let other = |key: &str, generator: &mut _| self.parts.get(key).and_then(|p| p.choose(generator));
        match self.form {
            Form::Lines(ends) => other(&key(line, ends), generator).unwrap_or(line).clone(),
            Form::Cells if at > 0 => {
                let mut cells: Vec<&str> = line.split(',').collect();
                let names: Vec<&str> = lines[0].split(',').collect();
                let column = generator.random_range(0..names.len());
                if let (Some(cell), Some(other)) = (cells.get_mut(column), other(names[column], generator)) {
                    *cell = other;
                }
                cells.join(",")
            }
            Form::Rows if is_row(line) => {
                let mut cells: Vec<&str> = line.split(',').collect();
                let column = generator.random_range(0..cells.len());
                if let Some(other) = other(&column.to_string(), generator) {
                    cells[column] = other;
                }
                cells.join(",")
            }
            _ => line.clone(),
        }
    }

    /// The text with a few changes that regard nothing.
    fn broken(&self, mut text: Vec<u8>, generator: &mut impl rand::Rng) -> String {
        for _ in 0..*[1, 1, 1, 2, 2, 3, 5].choose(generator).expect("a number") {
            let at = generator.random_range(0..=text.len());
            let to = (at + generator.random_range(0..40)).min(text.len());
            let lines: Vec<usize> =
                text.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(i, _)| i + 1).collect();
            let line = |generator: &mut _| lines.choose(generator).copied().unwrap_or(0);
            match generator.random_range(0..10) {
                0 => {
                    text.splice(at..to, []);
                }
                1 | 2 => {
                    let word = WORDS.choose(generator).expect("words");
                    text.splice(at..at, word.bytes());
                }
                3 => {
                    let word = WORDS.choose(generator).expect("words");
                    text.splice(at..to, word.bytes());
                }
                4 => {
                    let again = text[at..to].to_vec();
                    text.splice(at..at, again.repeat(generator.random_range(1..30)));
                }
                5 => {
                    // A line, or a few, elsewhere.
                    let (from, into) = (line(generator), line(generator));
                    let end = lines.iter().copied().find(|l| *l > from).unwrap_or(text.len());
                    let moved = text[from..end].to_vec();
                    text.splice(into..into, moved);
                }
                6 => {
                    // A value given another's.
                    if let Some(equals) = text[at..].iter().position(|b| *b == b'=' || *b == b',') {
                        let from = at + equals + 1;
                        let end = text[from..]
                            .iter()
                            .position(|b| *b == b'\n' || *b == b',')
                            .map_or(text.len(), |n| from + n);
                        let word = WORDS.choose(generator).expect("words");
                        let quoted = if generator.random_bool(0.5) {
                            format!(" \"{word}\"")
                        } else {
                            format!(" {word}")
                        };
                        text.splice(from..end, quoted.bytes());
                    }
                }
                7 => {
                    if let Some(byte) = text.get_mut(at) {
                        *byte = generator.random_range(0..=255);
                    }
                }
                8 => {
                    let other = self.texts.choose(generator).expect("a corpus").as_bytes();
                    let from = generator.random_range(0..=other.len());
                    text.splice(at..to, other[from..(from + 200).min(other.len())].iter().copied());
                }
                _ => text.truncate(to.max(1)),
            }
            text.truncate(MOST_BYTES);
        }
        String::from_utf8_lossy(&text).into_owned()
    }
}

/// Whether a line of numbers begins here.
fn is_row(line: &str) -> bool {
    line.starts_with(|c: char| c.is_ascii_digit())
}

/// What tells a line from others of its kind.
fn key(line: &str, ends: &[char]) -> String {
    line.split(ends).next().unwrap_or("").trim().to_string()
}
