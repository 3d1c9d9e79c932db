//! Reads a TOML table key by key, and remembers every problem with its place.

use super::clocks::passed;
use crate::error::{Place, Problem, nearest, unseen};
use crate::units::{Moment, Turn, UnitError, exactly};
use jiff::civil::Date;
use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::ops::Range;
use std::str::FromStr;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Finding the line of a problem takes time, and nobody reads so many: more are not remembered.
const MOST_PROBLEMS: usize = 500;
/// The days around that of the event, each weekday once, that a weekday can name.
const DAYS_AROUND: std::ops::RangeInclusive<i64> = -4..=2;

/// Words that are used for a key: taken for it where the section knows it.
const OTHER_WORDS: [(&str, &str); 22] = [
    ("begin", "from"),
    ("count", "heads"),
    ("crew", "people"),
    ("day", "date"),
    ("finish", "end"),
    ("flowers", "flower"),
    ("how_many", "heads"),
    ("location", "place"),
    ("max", "high"),
    ("min", "low"),
    ("number", "heads"),
    ("opens", "doors"),
    ("qty", "heads"),
    ("quantity", "heads"),
    ("rh", "humidity"),
    ("staff", "people"),
    ("start", "from"),
    ("temp", "temperature"),
    ("till", "until"),
    ("title", "name"),
    ("venue", "place"),
    ("wage", "hourly"),
];

/// The key of `known` that a word stands for: another word for it, or the nearest.
fn key_meant<'a>(word: &str, known: &[&'a str]) -> Option<&'a str> {
    let lower = word.to_lowercase();
    let other =
        OTHER_WORDS.iter().find(|(other, key)| *other == lower && known.contains(key)).map(|(_, key)| *key);
    let other = other.and_then(|key| known.iter().find(|k| **k == key).copied());
    other.or_else(|| nearest(word, known.iter().copied()))
}

/// A time, first as one after noon where it is the time of a party and nobody said which half of the day.
fn of_day(key: &str, text: String) -> Vec<String> {
    let party = matches!(key, "doors" | "end" | "until");
    let early = text.parse::<u8>().is_ok_and(|hour| (1..12).contains(&hour));
    if party && early { vec![format!("{text} pm"), text] } else { vec![text] }
}

/// The text being read, and the problems found in it so far.
pub struct Source<'a> {
    /// The file's name as the user gave it.
    pub file: &'a str,
    /// The text of the file.
    pub text: &'a str,
    /// Every problem found so far.
    pub problems: RefCell<Vec<Problem>>,
    /// The event's day, once it is read: from then on a weekday names a day near it.
    pub date: Cell<Option<Date>>,
    /// The change of the clocks near the event, once it is known: from then on times across it are read as the clock shows them.
    pub turn: Cell<Option<Turn>>,
    /// The hours that have a name, once they are read: from then on the name stands for the hour, in h.
    pub marks: RefCell<Vec<(String, f64)>>,
}

impl<'a> Source<'a> {
    /// A file of which nothing is read yet.
    pub fn new(file: &'a str, text: &'a str) -> Self {
        Source {
            file,
            text,
            problems: RefCell::default(),
            date: Cell::new(None),
            turn: Cell::new(None),
            marks: RefCell::default(),
        }
    }

    /// A time written as the name of a mark or with a weekday, in the words that every time can be written in; other
    /// text as it is.
    pub fn plain_time<'t>(&self, text: &'t str) -> Cow<'t, str> {
        let lower = text.trim().to_lowercase();
        let bare = |name: &str| name.strip_prefix("the ").unwrap_or(name).to_string();
        let is_meant = |mark: &str| bare(&mark.to_lowercase()) == bare(&lower);
        if let Some((_, hours)) = self.marks.borrow().iter().find(|(mark, _)| is_meant(mark)) {
            return Moment { turn: self.turn.get(), ..Moment::at(*hours) }.to_string().into();
        }
        let Some(date) = self.date.get() else { return text.into() };
        let word: String = lower.chars().take_while(|c| c.is_alphabetic()).collect();
        for day in DAYS_AROUND {
            let weekday =
                date.saturating_add(jiff::Span::new().days(day)).strftime("%A").to_string().to_lowercase();
            if word.len() >= 3 && weekday.starts_with(&word) {
                let clock = lower[word.len()..].trim_start_matches(['.', ',', ' ']);
                return match day {
                    0 => clock.to_string(),
                    -1 => format!("day before {clock}"),
                    1 => format!("next day {clock}"),
                    d if d < 0 => format!("{} days before {clock}", -d),
                    d => format!("{d} days later {clock}"),
                }
                .into();
            }
        }
        text.into()
    }

    /// A time as it was read off the clock, in the hours that pass; `None` for one that the clock leaps over, which is
    /// remembered as a problem.
    pub fn on_the_clock(&self, read: Moment, span: Range<usize>) -> Option<Found<Moment>> {
        match passed(read, self.turn.get()) {
            Ok(value) => Some(Found { value, span }),
            Err(problem) => {
                self.wrong(span, problem);
                None
            }
        }
    }

    /// Remembers a problem at a place.
    pub fn wrong(&self, span: Range<usize>, problem: Problem) {
        if !self.is_full() {
            self.problems.borrow_mut().push(problem.at(Place::of(self.file, self.text, span)));
        }
    }

    /// How many problems are remembered so far.
    pub fn count(&self) -> usize {
        self.problems.borrow().len()
    }

    /// Whether more problems would not be remembered.
    pub fn is_full(&self) -> bool {
        self.count() >= MOST_PROBLEMS
    }
}

/// A value with its place.
#[derive(Debug, Clone)]
pub struct Found<T> {
    /// The value that was read.
    pub value: T,
    /// Its bytes in the text.
    pub span: Range<usize>,
}

/// One table of the file. Its reader asks for each key that it knows, then calls [`Section::finish`].
pub struct Section<'a> {
    /// The text being read.
    pub source: &'a Source<'a>,
    /// What the table is called, for messages.
    pub name: String,
    /// Where its header stands.
    pub span: Range<usize>,
    table: Option<&'a DeTable<'a>>,
    path: String,
    known: RefCell<Vec<&'static str>>,
    lacking: RefCell<Vec<(String, Problem)>>,
}

impl<'a> Section<'a> {
    /// The section that is the whole file, of which every text is first looked through for what cannot be seen.
    pub fn file(source: &'a Source<'a>, table: &'a DeTable<'a>) -> Self {
        look_through(source, table);
        Section::new(source, "the file".to_string(), String::new(), Some(table), 0..0)
    }

    fn new(
        source: &'a Source<'a>,
        name: String,
        path: String,
        table: Option<&'a DeTable<'a>>,
        span: Range<usize>,
    ) -> Self {
        // The header alone, not the whole body, is where a problem with the section is shown.
        let first_line =
            source.text[span.start.min(source.text.len())..].find('\n').map_or(span.end, |i| span.start + i);
        let span = span.start..span.end.min(first_line);
        Section { source, name, path, span, table, known: RefCell::default(), lacking: RefCell::default() }
    }

    /// The key as it stands in a heading, after the headings above it.
    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_string() } else { format!("{}.{key}", self.path) }
    }

    /// Where the value of a key stands; the section's own place where it is absent.
    pub fn place_of(&self, key: &'static str) -> Range<usize> {
        self.raw(key).map_or_else(|| self.span.clone(), Spanned::span)
    }

    /// Whether a key that nobody asked for is probably one of these, misspelt.
    pub fn misspells(&self, keys: &[&str]) -> bool {
        let known = self.known.borrow();
        self.table.is_some_and(|table| {
            let mut unknown =
                table.iter().map(|(key, _)| key.get_ref()).filter(|k| !known.iter().any(|n| n == k));
            unknown.any(|word| key_meant(word, &known).is_some_and(|near| keys.contains(&near)))
        })
    }

    /// Whether the file has this section at all.
    pub fn is_present(&self) -> bool {
        self.table.is_some()
    }

    fn raw(&self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        self.known.borrow_mut().push(key);
        self.table?.get(key)
    }

    /// Whether the section has a key.
    pub fn has(&self, key: &'static str) -> bool {
        self.raw(key).is_some()
    }

    /// A value as text: strings as they are, numbers and dates as they were written.
    pub fn text(&self, key: &'static str) -> Option<Found<String>> {
        let raw = self.raw(key)?;
        let span = raw.span();
        match written(self.source, raw) {
            Some(value) => Some(Found { value, span }),
            None => {
                let problem = Problem::new(format!("`{key}` should be a single value"))
                    .expected("text in quotes, or a number")
                    .help(format!("{key} = \"...\""));
                self.source.wrong(span, problem);
                None
            }
        }
    }

    /// A quantity read from its text; `None` if absent, or wrong and remembered as a problem.
    pub fn quantity<T: FromStr<Err = UnitError>>(&self, key: &'static str) -> Option<Found<T>> {
        let Found { value, span } = self.text(key)?;
        self.parsed(key, &value, span)
    }

    fn parsed<T: FromStr<Err = UnitError>>(
        &self,
        key: &str,
        value: &str,
        span: Range<usize>,
    ) -> Option<Found<T>> {
        match self.source.plain_time(value).parse() {
            Ok(value) => Some(Found { value, span }),
            Err(e) => {
                let reads = |text: &String| self.source.plain_time(text).parse::<T>().is_ok();
                let [metres, feet] = [format!("{value} m"), format!("{value} ft")];
                let help = match exactly(value).into_iter().flat_map(|t| of_day(key, t)).find(reads) {
                    Some(exact) => format!("{key} = \"{exact}\""),
                    None if reads(&metres) && reads(&feet) => {
                        format!("{key} = \"{metres}\" for metres, or {key} = \"{feet}\" for feet")
                    }
                    // A number with its unit is a text, and a text needs quotes.
                    None if !self.source.text[span.clone()].starts_with(['"', '\'']) => {
                        format!("in quotes, {}", e.help)
                    }
                    None => e.help,
                };
                let problem =
                    Problem::new(format!("`{key}` cannot be {value:?}")).expected(e.expected).help(help);
                self.source.wrong(span, problem);
                None
            }
        }
    }

    /// A time on the event's clock; `None` if absent, or wrong and remembered as a problem.
    pub fn moment(&self, key: &'static str) -> Option<Found<Moment>> {
        let Found { value, span } = self.quantity::<Moment>(key)?;
        self.source.on_the_clock(value, span)
    }

    /// A time on the event's clock that must be there: what it is, and how it may be written.
    pub fn required_moment(&self, key: &'static str, what: &str, example: &str) -> Option<Found<Moment>> {
        let Found { value, span } = self.required::<Moment>(key, what, example)?;
        self.source.on_the_clock(value, span)
    }

    /// A list of times on the event's clock, without those that are wrong, which are remembered.
    pub fn moments(&self, key: &'static str) -> Vec<Found<Moment>> {
        let read = self.quantities::<Moment>(key).into_iter();
        read.filter_map(|f| self.source.on_the_clock(f.value, f.span)).collect()
    }

    /// A quantity that must be there: what it is, and how it may be written.
    pub fn required<T: FromStr<Err = UnitError>>(
        &self,
        key: &'static str,
        what: &str,
        example: &str,
    ) -> Option<Found<T>> {
        if !self.has(key) {
            self.missing(key, what, example);
            return None;
        }
        self.quantity(key)
    }

    /// Text that must be there: what it is, and how it may be written.
    pub fn required_text(&self, key: &'static str, what: &str, example: &str) -> Option<Found<String>> {
        if !self.has(key) {
            self.missing(key, what, example);
            return None;
        }
        let found = self.text(key)?;
        if found.value.trim().is_empty() {
            let problem =
                Problem::new(format!("`{key}` is empty")).expected(what).help(format!("{key} = {example}"));
            self.source.wrong(found.span, problem);
            return None;
        }
        Some(found)
    }

    /// Remembers that a key is missing. A section that is missing altogether does not miss its keys as well.
    pub fn missing(&self, key: &str, what: &str, example: &str) {
        if self.is_present() {
            let problem = Problem::new(format!("{} has no `{key}`", self.name))
                .expected(what)
                .help(format!("add {key} = {example}"));
            self.lacking.borrow_mut().push((key.to_string(), problem));
        }
    }

    /// Remembers that a section is missing: what it is for, and its first line.
    pub fn missing_section(&self, key: &'static str, heading: &str, what: &str, line: &str) {
        if self.has(key) {
            return; // written as something else: told where it was read
        }
        let problem = Problem::new(format!("{} has no {heading}", self.name))
            .expected(what)
            .help(format!("add {heading} and under it {line}"));
        self.lacking.borrow_mut().push((key.to_string(), problem));
    }

    /// A word out of several; `None` if absent, or wrong and remembered.
    pub fn option<T: Copy>(&self, key: &'static str, words: &[(&str, T)]) -> Option<T> {
        let Found { value, span } = self.text(key)?;
        let wanted = value.trim().to_lowercase();
        if let Some((_, option)) = words.iter().find(|(w, _)| *w == wanted) {
            return Some(*option);
        }
        let all: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
        let help = nearest(&wanted, all.iter().copied()).unwrap_or(all[0]);
        let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
            .expected(format!("one of: {}", all.join(", ")))
            .help(format!("{key} = \"{help}\""));
        self.source.wrong(span, problem);
        None
    }

    /// A yes or a no; `None` if absent, or wrong and remembered.
    pub fn flag(&self, key: &'static str) -> Option<bool> {
        self.option(key, &[("true", true), ("false", false), ("yes", true), ("no", false)])
    }

    /// A list of texts; one text alone is a list of one.
    pub fn texts(&self, key: &'static str) -> Vec<Found<String>> {
        let Some(raw) = self.raw(key) else {
            return Vec::new();
        };
        let items: Vec<&Spanned<DeValue>> = match raw.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            _ => vec![raw],
        };
        let mut found = Vec::new();
        for item in items {
            match written(self.source, item) {
                Some(value) => found.push(Found { value, span: item.span() }),
                None => self.source.wrong(
                    item.span(),
                    Problem::new(format!("`{key}` should be a list of texts"))
                        .expected("texts in quotes, between [ and ]")
                        .help(format!("{key} = [\"...\", \"...\"]")),
                ),
            }
        }
        found
    }

    /// A list of quantities, without those that are wrong, which are remembered.
    pub fn quantities<T: FromStr<Err = UnitError>>(&self, key: &'static str) -> Vec<Found<T>> {
        self.texts(key).into_iter().filter_map(|f| self.parsed(key, &f.value, f.span)).collect()
    }

    /// The table under a key; an empty one if it is absent, or wrong and remembered.
    pub fn section(&self, key: &'static str) -> Section<'a> {
        let path = self.path_of(key);
        let name = format!("[{path}]");
        let (table, span) = match self.raw(key) {
            Some(raw) => match raw.get_ref() {
                DeValue::Table(table) => (Some(table), raw.span()),
                _ => {
                    let problem = Problem::new(format!("`{key}` should be one section of its own"))
                        .expected(format!("{name} on a line by itself, with its lines under it"))
                        .help(name.clone());
                    self.source.wrong(raw.span(), problem);
                    (None, raw.span())
                }
            },
            None => (None, self.span.clone()),
        };
        Section::new(self.source, name, path, table, span)
    }

    /// The tables under a key, of which there must be at least one: if not, the problem says what it is for and its first line.
    pub fn required_sections(
        &self,
        key: &'static str,
        heading: &str,
        what: &str,
        line: &str,
    ) -> Vec<Section<'a>> {
        let sections = self.sections(key);
        if sections.is_empty() {
            self.missing_section(key, heading, what, line);
        }
        sections
    }

    /// The tables under a key, as written with `[[key]]`.
    pub fn sections(&self, key: &'static str) -> Vec<Section<'a>> {
        let Some(raw) = self.raw(key) else {
            return Vec::new();
        };
        let items: Vec<&'a Spanned<DeValue<'a>>> = match raw.get_ref() {
            DeValue::Array(items) => items.iter().collect(),
            _ => vec![raw],
        };
        items
            .into_iter()
            .enumerate()
            .filter_map(|(i, item)| match item.get_ref() {
                DeValue::Table(table) => Some(Section::new(
                    self.source,
                    format!("[[{}]] number {}", self.path_of(key), i + 1),
                    self.path_of(key),
                    Some(table),
                    item.span(),
                )),
                _ => {
                    let heading = format!("[[{}]]", self.path_of(key));
                    let problem = Problem::new(format!("`{key}` should be a section of its own"))
                        .expected(format!("{heading} on a line by itself, with its lines under it"))
                        .help(heading);
                    self.source.wrong(item.span(), problem);
                    None
                }
            })
            .collect()
    }

    /// The keys of a free table with their texts, in the order of the file: what each value is, and how it may be written.
    pub fn entries(&self, what: &str, example: &str) -> Vec<(String, Found<String>)> {
        let Some(table) = self.table else {
            return Vec::new();
        };
        let mut entries = Vec::new();
        for (key, raw) in table.iter() {
            match written(self.source, raw) {
                Some(value) => entries.push((key.get_ref().to_string(), Found { value, span: raw.span() })),
                None => {
                    let problem = Problem::new(format!("`{}` should be a single value", key.get_ref()))
                        .expected(what)
                        .help(format!("{} = \"{example}\"", key.get_ref()));
                    self.source.wrong(raw.span(), problem);
                }
            }
        }
        entries.sort_by_key(|(_, f)| f.span.start);
        entries
    }

    /// Remembers every key that was not asked for, and every missing key unless one of those is probably a misspelling of it.
    pub fn finish(&self) {
        for (key, problem) in self.lacking.take() {
            if !self.misspells(&[&key]) {
                self.source.wrong(self.span.clone(), problem.lacks(&key));
            }
        }
        let Some(table) = self.table else { return };
        let mut known = self.known.take();
        known.sort_unstable();
        known.dedup();
        for (key, _) in table.iter() {
            let word: &str = key.get_ref();
            if known.contains(&word) {
                continue;
            }
            if self.source.is_full() {
                break;
            }
            let help = key_meant(word, &known)
                .map_or_else(|| format!("take {word} out, or call it one of these"), str::to_string);
            let problem = Problem::new(format!("{} has no use for `{word}`", self.name))
                .expected(format!("one of: {}", known.join(", ")))
                .help(help);
            self.source.wrong(key.span(), problem);
        }
    }
}

/// Remembers every name and text below a table that holds what cannot be seen.
fn look_through(source: &Source, table: &DeTable) {
    for (key, value) in table {
        if let Some(problem) = unseen(key.get_ref()) {
            source.wrong(key.span(), problem);
        }
        look_into(source, value);
    }
}

/// Remembers every text in a value that holds what cannot be seen.
fn look_into(source: &Source, value: &Spanned<DeValue>) {
    match value.get_ref() {
        DeValue::String(text) => {
            if let Some(problem) = unseen(text) {
                source.wrong(value.span(), problem);
            }
        }
        DeValue::Array(items) => items.iter().for_each(|item| look_into(source, item)),
        DeValue::Table(table) => look_through(source, table),
        _ => {}
    }
}

/// A single value as it was written; `None` for a list or a table.
fn written(source: &Source, raw: &Spanned<DeValue>) -> Option<String> {
    match raw.get_ref() {
        DeValue::String(text) => Some(text.to_string()),
        DeValue::Array(_) | DeValue::Table(_) => None,
        DeValue::Integer(_) | DeValue::Float(_) => Some(source.text[raw.span()].replace('_', "")),
        _ => Some(source.text[raw.span()].to_string()),
    }
}
