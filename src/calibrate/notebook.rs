//! The notebook: a plain CSV that opens in a spreadsheet, read whole, with every problem found at once.
//!
//! Each line is one entry: a trial's `start`, a `look` at it, or what became of a flower at an `event`. Columns may stand
//! in any order, and columns of the florist's own are left alone.

use super::trial::{Look, Outcome, READ_HERE, Trial};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::record::Record;
use crate::climate::room::Room;
use crate::climate::{Air, Climate};
use crate::error::{Error, Place, Problem, Result, nearest, printable, reason};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::treatment::{Conditioning, Handling, Stage, Treatment};
use crate::units::{Humidity, Moment, Temperature, UnitError};
use csv::StringRecord;
use jiff::civil::Date;
use std::str::FromStr;

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
/// A file that is no notebook is wrong on every line: this many problems are enough to see it.
const MOST_PROBLEMS: usize = 20;

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
        let sheet = Sheet::of(file, text)?;
        let mut reading = Reading {
            sheet: &sheet,
            load,
            notes: Notebook::default(),
            airs: Vec::new(),
            problems: Vec::new(),
        };
        for row in &sheet.rows {
            reading.entry(row);
            if reading.problems.len() >= MOST_PROBLEMS {
                break;
            }
        }
        reading.finish()
    }

    /// The number for the next trial or event.
    pub fn next_number(&self) -> u32 {
        let numbers = self.trials.iter().map(|t| t.number).chain(self.outcomes.iter().map(|o| o.number));
        numbers.max().unwrap_or(0) + 1
    }
}

/// A notebook's text with one more entry; a new notebook where there is none.
///
/// # Errors
/// When the notebook has no column for something that the entry says.
pub fn with_entry(file: &str, text: Option<&str>, entry: &[(&str, String)]) -> Result<String> {
    let text = match text {
        Some(text) if !text.trim().is_empty() => text.to_string(),
        _ => format!("{}\n", COLUMNS.join(",")),
    };
    let sheet = Sheet::of(file, &text)?;
    let lacking =
        entry.iter().find(|(column, value)| !value.is_empty() && !sheet.columns.iter().any(|c| c == column));
    if let Some((column, _)) = lacking {
        let problem = Problem::new(format!("the notebook has no column \"{column}\""))
            .at(sheet.place(1, ""))
            .expected("the columns of a fresh notebook, in any order")
            .help(format!("add a column called {column} to its first line"));
        return Err(problem.into());
    }
    let cells = sheet
        .columns
        .iter()
        .map(|c| entry.iter().find(|(column, _)| column == c).map_or("", |(_, v)| v.as_str()));
    let mut writer =
        csv::WriterBuilder::new().delimiter(sheet.delimiter).flexible(true).from_writer(Vec::new());
    writer.write_record(cells).expect("a record in memory is written");
    let line =
        String::from_utf8(writer.into_inner().expect("a record in memory is written")).expect("it was UTF-8");
    let end = if text.ends_with('\n') { "" } else { "\n" };
    Ok(format!("{text}{end}{line}"))
}

/// A notebook's text without its last entry, and that entry as it stood; none where it has none.
///
/// # Errors
/// When the text is no CSV.
pub fn without_last(file: &str, text: &str) -> Result<Option<(String, String)>> {
    let sheet = Sheet::of(file, text)?;
    Ok(sheet.rows.last().map(|row| {
        let at = row.position().map_or(text.len(), |p| p.byte() as usize);
        (text[..at].to_string(), text[at..].trim().to_string())
    }))
}

/// The cells of a notebook.
struct Sheet<'a> {
    file: &'a str,
    text: &'a str,
    delimiter: u8,
    columns: Vec<String>,
    rows: Vec<StringRecord>,
}

impl<'a> Sheet<'a> {
    fn of(file: &'a str, text: &'a str) -> Result<Sheet<'a>> {
        // A spreadsheet may set semicolons where commas are decimal signs.
        let first = text.lines().next().unwrap_or("");
        let delimiter = if first.matches(';').count() > first.matches(',').count() { b';' } else { b',' };
        let mut sheet = Sheet { file, text, delimiter, columns: Vec::new(), rows: Vec::new() };
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(delimiter)
            .flexible(true)
            .has_headers(false)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        for row in reader.records() {
            let row = row.map_err(|e| {
                let line = e.position().map_or(1, |p| p.line() as usize);
                let problem = Problem::new("this line cannot be read as CSV").at(sheet.place(line, ""));
                Error::from(problem.help("save the notebook again as CSV in UTF-8"))
            })?;
            if row.iter().all(str::is_empty) {
                continue;
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

    /// The place of a cell on a line, or of the line.
    fn place(&self, line: usize, cell: &str) -> Place {
        let text = self.text.lines().nth(line.saturating_sub(1)).unwrap_or("");
        let at = if cell.is_empty() { 0 } else { text.find(cell).unwrap_or(0) };
        let width = if cell.is_empty() { text.chars().count() } else { cell.chars().count() };
        Place {
            file: self.file.to_string(),
            line,
            column: text[..at].chars().count() + 1,
            width: width.max(1),
            text: printable(text),
        }
    }
}

/// A notebook being read.
struct Reading<'a> {
    sheet: &'a Sheet<'a>,
    load: Load<'a>,
    notes: Notebook,
    /// The air of each trial, as far as it is known.
    airs: Vec<Noted>,
    problems: Vec<Problem>,
}

/// The air of a trial: the line of its start, the readings at its start and looks, and what its start says.
struct Noted {
    line: usize,
    readings: Vec<(f64, Air)>,
    kind: Option<Said>,
}

impl<'a> Reading<'a> {
    fn cell<'r>(&self, row: &'r StringRecord, column: &str) -> &'r str {
        self.sheet.columns.iter().position(|c| c == column).and_then(|i| row.get(i)).unwrap_or("")
    }

    fn wrong(&mut self, row: &StringRecord, cell: &str, problem: Problem) {
        let line = row.position().map_or(1, |p| p.line() as usize);
        self.problems.push(problem.at(self.sheet.place(line, cell)));
    }

    /// A cell as a value; `None` where it is empty, or wrong and remembered.
    fn value<T>(
        &mut self,
        row: &StringRecord,
        column: &str,
        read: impl Fn(&str) -> std::result::Result<T, Problem>,
    ) -> Option<T> {
        let cell = self.cell(row, column).to_string();
        if cell.is_empty() {
            return None;
        }
        match read(&cell) {
            Ok(value) => Some(value),
            Err(problem) => {
                self.wrong(row, &cell, problem);
                None
            }
        }
    }

    /// A cell that must not be empty.
    fn needed<T>(
        &mut self,
        row: &StringRecord,
        column: &str,
        example: &str,
        read: impl Fn(&str) -> std::result::Result<T, Problem>,
    ) -> Option<T> {
        if self.cell(row, column).is_empty() {
            let entry = self.cell(row, "entry").to_string();
            let problem = Problem::new(format!("this {entry} says nothing under \"{column}\""));
            self.wrong(
                row,
                "",
                problem
                    .expected(format!("something such as {example}"))
                    .help(format!("fill in \"{column}\", or take the line out")),
            );
            return None;
        }
        self.value(row, column, read)
    }

    fn entry(&mut self, row: &StringRecord) {
        match self.cell(row, "entry").to_lowercase().as_str() {
            "start" => self.start(row),
            "look" => self.look(row),
            "event" => self.event(row),
            other => {
                let near = nearest(other, ["start", "look", "event"]).unwrap_or("look");
                let problem = Problem::new(format!("an entry cannot be {other:?}"));
                self.wrong(row, other, problem.expected("start, look or event").help(near));
            }
        }
    }

    /// What starts and events have in common: number, day, flower, delivery, how it was prepared.
    fn common(
        &mut self,
        row: &StringRecord,
    ) -> (Option<u32>, Option<Date>, Option<&'static Flower>, Option<String>, Handling) {
        let number = self.needed(row, "trial", "1", count(1, 1_000_000));
        let date = self.needed(row, "date", "2027-06-13", day);
        let flower = self.needed(row, "flower", "dahlia", |name| Catalogue::shipped().find(name));
        let lot = Some(self.cell(row, "lot").to_string()).filter(|l| !l.is_empty());
        let conditioning =
            self.value(row, "conditioning", |w| words(Conditioning::from_words(w), w, Conditioning::WORDS));
        let stage = self.value(row, "stage", |w| words(Stage::from_words(w), w, Stage::WORDS));
        let leaves_on = self.value(row, "leaves", |w| match w.to_lowercase().as_str() {
            "on" => Ok(true),
            "off" => Ok(false),
            _ => Err(Problem::new(format!("leaves cannot be {w:?}")).expected("on or off").help("off")),
        });
        let handling = Handling {
            conditioning: conditioning.unwrap_or_default(),
            stage: stage.unwrap_or_default(),
            leaves_on: leaves_on.unwrap_or(false),
            ..Handling::default()
        };
        (number, date, flower, lot, handling)
    }

    fn start(&mut self, row: &StringRecord) {
        let (number, date, flower, lot, handling) = self.common(row);
        let at = self.needed(row, "at", "09:00", clock);
        let heads = self.needed(row, "heads", "10", count(1, 10_000));
        let air = self.cell(row, "air").to_string();
        let fresh_g = self.value(row, "weight", weight);
        let load = self.load;
        let said = self.needed(row, "air", "21 C 45 %", |words| self::air(words, load));
        if let Some(number) = number
            && self.notes.trials.iter().any(|t| t.number == number)
        {
            let problem = Problem::new(format!("trial {number} is begun a second time"));
            let free = self.notes.next_number();
            self.wrong(
                row,
                &number.to_string(),
                problem.expected("a number of its own for each trial").help(free.to_string()),
            );
        }
        let (Some(number), Some(date), Some(start), Some(flower), Some(heads)) =
            (number, date, at, flower, heads)
        else {
            return;
        };
        let readings = match said {
            Some(Said::Reading(air)) => vec![(start, air)],
            _ => Vec::new(),
        };
        let line = row.position().map_or(1, |p| p.line() as usize);
        self.airs.push(Noted { line, readings, kind: said });
        let treated = self.cell(row, "treated").to_string();
        let climate = Climate::constant(Air::reference(), READ_HERE); // known once all its looks are
        self.notes.trials.push(Trial {
            number,
            date,
            start,
            flower,
            lot,
            heads,
            handling,
            treated,
            climate,
            air,
            fresh_g,
            looks: Vec::new(),
        });
    }

    fn look(&mut self, row: &StringRecord) {
        let number = self.needed(row, "trial", "1", count(1, 1_000_000));
        let at = self.needed(row, "at", "12:00", clock);
        let of = self.value(row, "heads", count(0, 10_000));
        let presentable = self.value(row, "presentable", count(0, 10_000));
        let flagging = self.value(row, "flagging", count(0, 10_000));
        let wilted = self.value(row, "wilted", count(0, 10_000));
        let weight_g = self.value(row, "weight", weight);
        let load = self.load;
        let said = self.value(row, "air", |words| match self::air(words, load)? {
            Said::Reading(air) => Ok(air),
            _ => Err(Problem::new(format!("the air at a look cannot be {words:?}"))
                .expected("a temperature and a humidity, read there and then")
                .help("21 C 45 %")),
        });
        let Some(number) = number else { return };
        let Some(t) = self.notes.trials.iter().position(|t| t.number == number) else {
            let known: Vec<String> = self.notes.trials.iter().map(|t| t.number.to_string()).collect();
            let problem = Problem::new(format!("no trial {number} was begun above this line"))
                .expected("a look at a trial that has a start before it");
            let help = if known.is_empty() {
                "add its start above".to_string()
            } else {
                format!("one of {}", known.join(", "))
            };
            return self.wrong(row, &number.to_string(), problem.help(help));
        };
        let Some(at) = at else { return };
        let trial = &self.notes.trials[t];
        let last = trial.looks.last();
        let (before, had) = (last.map_or(trial.start, |l| l.at), last.map_or(trial.heads, |l| l.of));
        let faded = trial.looks.iter().rev().find_map(|l| Some(l.of - l.presentable?)).unwrap_or(0);
        let limp = trial.looks.iter().rev().find_map(|l| l.wilted).unwrap_or(0);
        let of = of.unwrap_or(had);
        let presentable = presentable.or_else(|| of.checked_sub(flagging? + wilted?));
        let told = presentable.unwrap_or(0) + wilted.unwrap_or(0) + flagging.unwrap_or(0);
        let whole = presentable.is_some() && flagging.is_some() && wilted.is_some();
        let cell = self.cell(row, "at").to_string();
        let mut wrong = Vec::new();
        if at <= before {
            let what = if last.is_some() { "the look before it" } else { "the start of the trial" };
            wrong.push(
                Problem::new(format!(
                    "this look at {} does not come after {what} at {}",
                    Moment::at(at),
                    Moment::at(before)
                ))
                .expected("looks in rising order of time")
                .help("sort them, or write \"next day\" before a time after midnight"),
            );
        }
        if of > had {
            wrong.push(
                Problem::new(format!("{of} heads at this look, and {had} before it"))
                    .expected(format!("at most {had}"))
                    .help("a new trial for new heads"),
            );
        }
        if told > of || (whole && told < of) {
            wrong.push(
                Problem::new(format!("presentable, flagging and wilted make {told} of {of} heads"))
                    .expected(format!("counts that make {of}"))
                    .help("count again; if heads were taken away, say under \"heads\" how many are left"),
            );
        } else if presentable.is_some_and(|p| of - p < faded) && of <= had {
            wrong.push(
                Problem::new(format!(
                    "{} heads are past their best here, and {faded} were before",
                    of - presentable.unwrap_or(0)
                ))
                .expected("no head that recovers out of water")
                .help("count again, or mend the look before"),
            );
        }
        if wilted.is_some_and(|w| w < limp) {
            wrong.push(
                Problem::new(format!("{} heads are limp here, and {limp} were before", wilted.unwrap_or(0)))
                    .expected("no head that recovers out of water")
                    .help("count again, or mend the look before"),
            );
        }
        if presentable.is_none() && wilted.is_none() && weight_g.is_none() && said.is_none() {
            wrong.push(
                Problem::new("this look says nothing")
                    .expected("how many were presentable, or limp, or what they weighed, or their air")
                    .help("fill in a count, or take the line out"),
            );
        }
        let sound = wrong.is_empty();
        for problem in wrong {
            self.wrong(row, &cell, problem);
        }
        if sound {
            self.airs[t].readings.extend(said.map(|air| (at, air)));
            self.notes.trials[t].looks.push(Look { at, of, presentable, wilted, weight_g });
        }
    }

    fn event(&mut self, row: &StringRecord) {
        let (number, date, flower, lot, handling) = self.common(row);
        let of = self.needed(row, "heads", "40", count(1, 100_000));
        let presentable = self.needed(row, "presentable", "31", count(0, 100_000));
        let treatment = self.needed(row, "treated", "tucked dry", |words| {
            words.parse::<Treatment>().map_err(|near| {
                Problem::new(format!("{words:?} is not a way to set a head"))
                    .expected("tucked dry, wired, water tube or bud vase")
                    .help(near)
            })
        });
        let piece = self.cell(row, "piece").to_string();
        let hours = self.needed(row, "hours", "6.5", number_from(0.0));
        let worth = self.value(row, "worth", number_from(0.0));
        let give = self.value(row, "give or take", number_from(0.0));
        let forecast = self.value(row, "forecast", |list| {
            let members: std::result::Result<Vec<f64>, Problem> =
                list.split_whitespace().map(number_from(0.0)).collect();
            members
        });
        let (
            Some(number),
            Some(date),
            Some(flower),
            Some(of),
            Some(presentable),
            Some(treatment),
            Some(hours),
        ) = (number, date, flower, of, presentable, treatment, hours)
        else {
            return;
        };
        if presentable > of {
            let problem = Problem::new(format!("{presentable} of {of} heads were presentable"))
                .expected(format!("at most {of}"));
            return self.wrong(row, &presentable.to_string(), problem.help("swap the two?"));
        }
        let worth = worth.filter(|w| *w > 0.0).map(|w| (w, give.unwrap_or(0.15)));
        self.notes.outcomes.push(Outcome {
            number,
            date,
            piece,
            flower,
            lot,
            treatment,
            handling,
            of,
            presentable,
            hours,
            worth,
            forecast: forecast.unwrap_or_default(),
        });
    }

    /// Gives every trial its air, now that all its looks are known.
    fn finish(mut self) -> Result<Notebook> {
        for (trial, noted) in self.notes.trials.iter_mut().zip(std::mem::take(&mut self.airs)) {
            let end = trial.looks.last().map_or(trial.start, |l| l.at);
            match noted.kind {
                _ if !noted.readings.is_empty() => trial.climate = Climate::over(noted.readings, READ_HERE),
                Some(Said::Room(room)) => trial.climate = room.climate(Air::SEA_LEVEL, |_| 0.0),
                Some(Said::Log(name, record)) if !record.covers(trial.date, trial.start, end) => {
                    let (from, to) = (Moment::at(trial.start), Moment::at(end));
                    let problem = Problem::new(format!(
                        "the log \"{name}\" does not hold the hours of trial {}",
                        trial.number
                    ))
                    .expected(format!("readings on {} from {from} to {to}", trial.date))
                    .help("export more of the log, or write the air as 21 C 45 %");
                    self.problems.push(problem.at(self.sheet.place(noted.line, &name)));
                }
                Some(Said::Log(_, record)) => {
                    trial.climate =
                        record.climate(trial.date, trial.start, end, Air::SEA_LEVEL, Air::STILL, false);
                    trial.climate.error = READ_HERE;
                }
                Some(Said::Reading(_)) | None => {} // the second was told already
            }
        }
        if self.problems.is_empty() {
            return Ok(self.notes);
        }
        self.problems.sort_by_key(|p| p.place.as_ref().map_or(0, |place| place.line));
        Err(Error { problems: self.problems })
    }
}

/// What a cell says of the air.
enum Said {
    Reading(Air),
    Room(&'static Room),
    Log(String, Record),
}

/// An air as it is written in one cell: `21 C 45 %`, plain words for a room, or the name of a logger's CSV.
fn air(words: &str, load: Load) -> std::result::Result<Said, Problem> {
    if words.to_lowercase().ends_with(".csv") {
        let text = load(words).map_err(|e| {
            Problem::new(format!("the log \"{words}\" cannot be read: {}", reason(&e)))
                .expected("a logger's CSV, as plain text in UTF-8")
                .help("give its name as seen from the folder of the notebook")
        })?;
        return match Record::read(words, &text) {
            Ok(record) => Ok(Said::Log(words.to_string(), record)),
            // The first says enough: the log has a reader of its own to mend it with.
            Err(e) => Err(e.problems.into_iter().next().unwrap_or_default()),
        };
    }
    if !words.contains(|c: char| c.is_ascii_digit()) {
        return Room::find(words).map(Said::Room);
    }
    reading(words).map(Said::Reading)
}

/// A temperature and a humidity in one text.
///
/// # Errors
/// What is wrong with it, and how to write it.
pub fn reading(words: &str) -> std::result::Result<Air, Problem> {
    let cuts = words
        .char_indices()
        .filter(|(_, c)| c.is_whitespace() || matches!(c, ',' | ';' | '/'))
        .map(|(i, _)| i);
    let pair = cuts.rev().find_map(|cut| {
        let clean = |part: &str| {
            part.trim_matches(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '/')).to_string()
        };
        let temperature: Temperature = clean(&words[..cut]).parse().ok()?;
        let humidity: Humidity = clean(&words[cut..]).parse().ok()?;
        Some((temperature, humidity))
    });
    let Some((temperature, humidity)) = pair else {
        return Err(Problem::new(format!("{words:?} is not an air that can be read"))
            .expected("a temperature with its unit and a relative humidity, or plain words for a room, or a logger's CSV")
            .help("write it like 21 C 45 % or 70F 45%"));
    };
    let saturated = saturation_vapour_pressure(temperature.celsius);
    Ok(Air {
        temperature_c: temperature.celsius,
        vapour_pressure: humidity.percent / 100.0 * saturated,
        ..Air::indoors(temperature.celsius, 0.5)
    })
}

fn count(least: u32, most: u32) -> impl Fn(&str) -> std::result::Result<u32, Problem> {
    move |text| match text.parse::<u32>() {
        Ok(n) if (least..=most).contains(&n) => Ok(n),
        _ => Err(Problem::new(format!("{text:?} is not a number of things"))
            .expected(format!("a whole number from {least} to {most}"))
            .help("count again")),
    }
}

fn number_from(least: f64) -> impl Fn(&str) -> std::result::Result<f64, Problem> {
    move |text| match text.replace(',', ".").parse::<f64>() {
        Ok(n) if n >= least && n.is_finite() => Ok(n),
        _ => Err(Problem::new(format!("{text:?} is not a number"))
            .expected(format!("a number from {least}"))
            .help("leave it as it was written")),
    }
}

/// A weight as it is read off a scale.
///
/// # Errors
/// What is wrong with it.
pub fn weight(text: &str) -> std::result::Result<f64, Problem> {
    let lower = text.trim().to_lowercase().replace(',', ".");
    let units = [("kg", 1000.0), ("oz", 28.349_523_125), ("g", 1.0), ("", 1.0)];
    let (unit, factor) = *units.iter().find(|(u, _)| lower.ends_with(u)).expect("the last fits all");
    match lower.strip_suffix(unit).map(|n| n.trim().parse::<f64>()) {
        Some(Ok(n)) if n > 0.0 && n * factor < 100_000.0 => Ok(n * factor),
        _ => Err(Problem::new(format!("{text:?} is not a weight"))
            .expected("what all the heads weigh together")
            .help("write it like 142.5 g or 5 oz")),
    }
}

/// A clock time, as a spreadsheet may have written it.
fn clock(text: &str) -> std::result::Result<f64, Problem> {
    let seconds = text.matches(':').count() == 2;
    let short = match text.rfind(':') {
        Some(at) if seconds => format!(
            "{}{}",
            &text[..at],
            text[at..].trim_start_matches(|c: char| c == ':' || c.is_ascii_digit())
        ),
        _ => text.to_string(),
    };
    let wrong = |e: UnitError| {
        Problem::new(format!("{text:?} is not a clock time")).expected(e.expected).help(e.help)
    };
    Moment::from_str(&short).map(|m| m.hours).map_err(wrong)
}

fn day(text: &str) -> std::result::Result<Date, Problem> {
    text.parse().map_err(|_| {
        Problem::new(format!("{text:?} is not a day of the calendar"))
            .expected("year-month-day")
            .help("write it like 2027-06-13; in a spreadsheet, make the column text")
    })
}

fn words<T>(found: Option<T>, read: &str, all: &[&[&str]]) -> std::result::Result<T, Problem> {
    let firsts: Vec<&str> = all.iter().map(|w| w[0]).collect();
    found.ok_or_else(|| {
        Problem::new(format!("{read:?} is not known here"))
            .expected(format!("one of: {}", firsts.join(", ")))
            .help(nearest(read, firsts.iter().copied()).unwrap_or(firsts[0]))
    })
}
