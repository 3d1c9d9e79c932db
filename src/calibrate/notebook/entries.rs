//! The entries of a notebook, read one after another: starts, looks and events.

use super::book::{Load, Notebook};
use super::cells::{AirCell, Logs, air, clock, count, day, log, number_from, weight, words};
use super::sheet::Sheet;
use crate::calibrate::trial::{Look, Outcome, READ_HERE, Trial};
use crate::climate::{Air, Climate};
use crate::error::{Error, Problem, Result, nearest};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::treatment::{Conditioning, Handling, Lying, Method, Stage};
use crate::units::Moment;
use csv::StringRecord;
use jiff::civil::Date;
use std::cell::RefCell;
use std::collections::HashMap;

/// A file that is not a notebook is wrong on every line: this many problems are enough to see it.
const MOST_PROBLEMS: usize = 20;

impl Notebook {
    /// Reads a notebook. `load` fetches a logger's file that an entry names.
    ///
    /// # Errors
    /// Every problem in it, each with its line, what was expected there and what to type; at most twenty.
    ///
    /// # Examples
    /// ```
    /// use headwater::calibrate::notebook::Notebook;
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let text = "entry,trial,date,at,flower,heads,air,presentable\n\
    ///             start,1,2027-06-13,09:00,dahlia,10,21 C 45 %,\n\
    ///             look,1,,12:00,,,,7\n";
    /// let notes = Notebook::read("trials.csv", text, &|name| Err(std::io::Error::other(name)))?;
    /// assert_eq!(notes.trials[0].looks[0].presentable, Some(7));
    /// # Ok(())
    /// # }
    /// ```
    pub fn read(file: &str, text: &str, load: Load) -> Result<Notebook> {
        let sheet = Sheet::of(file, text)?;
        // One log may serve for a whole season of trials: it is read once.
        let known = RefCell::new(HashMap::new());
        let logs = |name: &str| {
            known.borrow_mut().entry(name.to_string()).or_insert_with(|| log(name, load)).clone()
        };
        let mut reading = Reading {
            sheet: &sheet,
            logs: &logs,
            notes: Notebook::default(),
            series: Vec::new(),
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
}

/// A notebook being read.
struct Reading<'a> {
    sheet: &'a Sheet<'a>,
    logs: Logs<'a>,
    notes: Notebook,
    /// The air of each trial, as far as it has been read.
    series: Vec<NotedAir>,
    problems: Vec<Problem>,
}

/// The air of a trial as it was noted.
struct NotedAir {
    /// The line of the trial's start.
    line: usize,
    /// The hours of the readings at its start and looks, and what was read.
    readings: Vec<(f64, Air)>,
    /// What its start says of the air.
    at_start: Option<AirCell>,
}

impl<'a> Reading<'a> {
    fn cell<'r>(&self, row: &'r StringRecord, column: &str) -> &'r str {
        self.sheet.columns.iter().position(|c| c == column).and_then(|i| row.get(i)).unwrap_or("")
    }

    fn wrong(&mut self, row: &StringRecord, cell: &str, problem: Problem) {
        let line = self.sheet.line(row);
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

    /// What starts and events have in common: number, day, flower, delivery and preparation.
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
        let lying = self.value(row, "lying", |w| words(Lying::from_words(w), w, Lying::WORDS));
        let handling = Handling {
            lying: lying.unwrap_or_default(),
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
        let logs = self.logs;
        let said = self.needed(row, "air", "21 C 45 %", |words| self::air(words, logs));
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
            Some(AirCell::Reading(air)) => vec![(start, air)],
            _ => Vec::new(),
        };
        let line = self.sheet.line(row);
        self.series.push(NotedAir { line, readings, at_start: said });
        let treated = self.cell(row, "treated").to_string();
        let climate = Climate::constant(Air::reference(), READ_HERE); // set once all its looks are read
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
        let drunk_g = self.value(row, "drunk", weight);
        let logs = self.logs;
        let said = self.value(row, "air", |words| match self::air(words, logs)? {
            AirCell::Reading(air) => Ok(air),
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
        let of = of.unwrap_or_else(|| trial.looks.last().map_or(trial.heads, |l| l.of));
        let presentable = presentable.or_else(|| of.checked_sub(flagging? + wilted?));
        let look = Look { at, of, presentable, wilted, weight_g, drunk_g };
        let mut wrong = contradictions(trial, &look, flagging);
        if presentable.is_none()
            && wilted.is_none()
            && weight_g.is_none()
            && drunk_g.is_none()
            && said.is_none()
        {
            wrong.push(
                Problem::new("this look says nothing")
                    .expected(
                        "how many were presentable, or limp, or what they weighed or drank, or their air",
                    )
                    .help("fill in a count, or take the line out"),
            );
        }
        let cell = self.cell(row, "at").to_string();
        let sound = wrong.is_empty();
        for problem in wrong {
            self.wrong(row, &cell, problem);
        }
        if sound {
            self.series[t].readings.extend(said.map(|air| (at, air)));
            self.notes.trials[t].looks.push(look);
        }
    }

    fn event(&mut self, row: &StringRecord) {
        let (number, date, flower, lot, handling) = self.common(row);
        let of = self.needed(row, "heads", "40", count(1, 100_000));
        let presentable = self.needed(row, "presentable", "31", count(0, 100_000));
        let method = self.needed(row, "treated", "tucked dry", |words| {
            words.parse::<Method>().map_err(|near| {
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
        let (Some(number), Some(date), Some(flower), Some(of), Some(presentable), Some(method), Some(hours)) =
            (number, date, flower, of, presentable, method, hours)
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
            method,
            handling,
            of,
            presentable,
            hours,
            worth,
            forecast: forecast.unwrap_or_default(),
        });
    }

    /// Gives every trial its climate, now that all its looks are known, and hands out the notebook or its problems.
    fn finish(mut self) -> Result<Notebook> {
        for (trial, noted) in self.notes.trials.iter_mut().zip(std::mem::take(&mut self.series)) {
            let end = trial.looks.last().map_or(trial.start, |l| l.at);
            match noted.at_start {
                _ if !noted.readings.is_empty() => {
                    trial.climate = Climate::over(noted.readings, READ_HERE).expect("looks are in order")
                }
                Some(AirCell::Room(room)) => trial.climate = room.climate(Air::SEA_LEVEL, |_| 0.0),
                Some(AirCell::Log(name, record)) if !record.covers(trial.date, trial.start, end) => {
                    let (from, to) = (Moment::at(trial.start), Moment::at(end));
                    let problem = Problem::new(format!(
                        "the log \"{name}\" does not hold the hours of trial {}",
                        trial.number
                    ))
                    .expected(format!("readings on {} from {from} to {to}", trial.date))
                    .help("export more of the log, or write the air as 21 C 45 %");
                    self.problems.push(problem.at(self.sheet.place(noted.line, &name)));
                }
                Some(AirCell::Log(_, record)) => {
                    trial.climate = record
                        .climate(trial.date, trial.start, end, Air::SEA_LEVEL, Air::STILL, false)
                        .expect("the log holds these hours");
                    trial.climate.error = READ_HERE;
                }
                Some(AirCell::Reading(_)) | None => {} // a reading is among `readings`; a missing air was told already
            }
        }
        if self.problems.is_empty() {
            return Ok(self.notes);
        }
        self.problems.sort_by_key(|p| p.place.as_ref().map_or(0, |place| place.line));
        Err(Error { problems: self.problems })
    }
}

/// The problems of a look that contradicts itself or the looks before it.
fn contradictions(trial: &Trial, look: &Look, flagging: Option<u32>) -> Vec<Problem> {
    let Look { at, of, presentable, wilted, .. } = *look;
    let last = trial.looks.last();
    let (before, had) = (last.map_or(trial.start, |l| l.at), last.map_or(trial.heads, |l| l.of));
    let faded = trial.looks.iter().rev().find_map(|l| Some(l.of - l.presentable?)).unwrap_or(0);
    let limp = trial.looks.iter().rev().find_map(|l| l.wilted).unwrap_or(0);
    let told = presentable.unwrap_or(0) + wilted.unwrap_or(0) + flagging.unwrap_or(0);
    let whole = presentable.is_some() && flagging.is_some() && wilted.is_some();
    let mut wrong = Vec::new();
    let mut says = |message: String, expected: String, help: &str| {
        wrong.push(Problem::new(message).expected(expected).help(help));
    };
    if at <= before {
        let what = if last.is_some() { "the look before it" } else { "the start of the trial" };
        let (at, before) = (Moment::at(at), Moment::at(before));
        says(
            format!("this look at {at} does not come after {what} at {before}"),
            "looks in rising order of time".to_string(),
            "sort them, or write \"next day\" before a time after midnight",
        );
    }
    if of > had {
        says(
            format!("{of} heads at this look, and {had} before it"),
            format!("at most {had}"),
            "a new trial for new heads",
        );
    }
    if let Some(drunk) = look.drunk_g {
        let before = trial.looks.iter().rev().find_map(|l| l.drunk_g).unwrap_or(0.0);
        if !trial.in_water() {
            says(
                format!("the heads of trial {} stand in no water, and drank {drunk} g", trial.number),
                "\"water tube\" or \"bud vase\" under \"treated\" where the trial begins".to_string(),
                "headwater trial start FLOWER --treated \"water tube\" ...",
            );
        } else if drunk < before {
            says(
                format!("{drunk} g were drunk by this look, and {before} g by the one before"),
                format!("at least {before} g: what was drunk since the start, all heads together"),
                "add what they drank since the last look to that of before",
            );
        }
    }
    let recovers = "no head that recovers out of water".to_string();
    let again = "count again, or mend the look before; what is past its best stays in the count, also where it was taken away";
    if told > of || (whole && told < of) {
        says(
            format!("presentable, flagging and wilted make {told} of {of} heads"),
            format!("counts that make {of}"),
            "count again; if heads were taken away, say under \"heads\" how many are left",
        );
    } else if let Some(now) = presentable.map(|p| of - p).filter(|now| *now < faded && of <= had) {
        says(
            format!("{now} heads are past their best here, and {faded} were before"),
            recovers.clone(),
            again,
        );
    }
    if let Some(now) = wilted.filter(|w| *w < limp) {
        says(format!("{now} heads are limp here, and {limp} were before"), recovers, again);
    }
    wrong
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(columns: &str, rows: &[&str]) -> Result<Notebook> {
        let text = format!("entry,trial,date,at,flower,heads,{columns}\n{}\n", rows.join("\n"));
        Notebook::read("notes.csv", &text, &|_| Err(std::io::Error::other("no log")))
    }

    /// Of ten roses in ordinary air, looks that can be, and one more.
    fn with_look(look: &str) -> Result<Notebook> {
        read(
            "air,treated,presentable,flagging,wilted,drunk",
            &[
                "start,1,2027-06-13,09:00,rose,10,21 C 45 %,water tube,,,,",
                "look,1,,10:00,,,,,9,1,0,20",
                "look,1,,11:00,,9,,,6,2,1,30",
                look,
            ],
        )
    }

    #[test]
    fn looks_that_contradict_those_before_them_are_told() {
        for (look, says) in [
            ("look,1,,11:00,,,,,5,,,", "does not come after the look before it"),
            ("look,1,,12:00,,10,,,5,,,", "10 heads at this look, and 9 before it"),
            ("look,1,,12:00,,,,,5,3,2,", "make 10 of 9 heads"),
            ("look,1,,12:00,,,,,5,2,1,", "make 8 of 9 heads"),
            ("look,1,,12:00,,,,,7,,,", "2 heads are past their best here, and 3 were before"),
            ("look,1,,12:00,,,,,,,0,", "0 heads are limp here, and 1 were before"),
            ("look,1,,12:00,,,,,,,,29", "29 g were drunk by this look, and 30 g by the one before"),
            ("look,1,,12:00,,,,,,,,", "this look says nothing"),
            ("look,2,,12:00,,,,,5,,,", "no trial 2 was begun above this line"),
        ] {
            let told = with_look(look).unwrap_err().to_string();
            assert!(told.contains(says), "{look}: {told}");
        }
        for look in [
            "look,1,,11:01,,,,,6,2,1,",
            "look,1,,12:00,,9,,,6,,,",
            "look,1,,12:00,,8,,,5,2,1,",
            "look,1,,12:00,,,,,,,1,",
            "look,1,,12:00,,,,,,,,30",
            "look,1,,12:00,,,22 C 50 %,,,,,",
        ] {
            assert!(with_look(look).is_ok(), "{look}: {:?}", with_look(look));
        }
        // Where flagging and limp are counted, the others are presentable.
        let looks = &with_look("look,1,,12:00,,,,,,4,2,").unwrap().trials[0].looks;
        assert_eq!((looks[2].of, looks[2].presentable), (9, Some(3)));
        let dry = ["start,1,2027-06-13,09:00,rose,10,21 C 45 %,", "look,1,,10:00,,,,20"];
        let told = read("air,drunk", &dry).unwrap_err().to_string();
        assert!(told.contains("stand in no water, and drank 20 g"), "{told}");
        let early = ["start,1,2027-06-13,09:00,rose,10,21 C 45 %,", "look,1,,09:00,,,,9"];
        let told = read("air,presentable", &early).unwrap_err().to_string();
        assert!(told.contains("does not come after the start of the trial"), "{told}");
    }

    #[test]
    fn leaves_are_on_or_off() {
        let leaves = |word: &str| {
            let row = format!("start,1,2027-06-13,09:00,rose,10,{word},21 C 45 %");
            read("leaves,air", &[&row]).map(|notes| notes.trials[0].handling.leaves_on)
        };
        assert_eq!(
            [leaves("on").unwrap(), leaves("Off").unwrap(), leaves("").unwrap()],
            [true, false, false]
        );
        assert!(leaves("some").unwrap_err().to_string().contains("leaves cannot be \"some\""));
    }

    #[test]
    fn what_an_event_kept_is_at_most_what_it_had() {
        let event = |kept: u32, worth: &str| {
            let row = format!("event,1,2027-06-13,,rose,40,tucked dry,{kept},table,4,{worth},");
            read("treated,presentable,piece,hours,worth,give or take", &[&row])
        };
        assert!(event(41, "3").unwrap_err().to_string().contains("41 of 40 heads were presentable"));
        assert_eq!(event(40, "3").unwrap().outcomes[0].worth, Some((3.0, 0.15)));
        assert_eq!(event(0, "0").unwrap().outcomes[0].worth, None);
    }
}
