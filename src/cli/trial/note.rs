//! Notes: the start of a trial, a look at it, and the last of them taken back.

use super::Book;
use crate::calibrate::notebook::{with_entry, without_last};
use crate::cli::hours::option;
use crate::cli::{notebook, output};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::Catalogue;
use crate::units::{Moment, Span};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial start dahlia --on 2027-06-13 --at 9:00 --air \"22C 48%\"
  headwater trial start rose --on 2027-06-13 --at \"9:30 am\" --heads 12 --lot \"Fen Farm, June\" --air kitchen-log.csv
  headwater trial start hydrangea --on 2027-06-13 --at 10:00 --air \"warm barn\" --conditioning \"straight from the box\"")]
pub struct Start {
    /// The flower: a common or botanical name.
    flower: String,
    /// The day, such as 2027-06-13.
    #[arg(long, value_name = "DAY")]
    on: String,
    /// When the heads came out of the water, such as 9:00 or "9 am".
    #[arg(long, value_name = "TIME")]
    at: String,
    /// How many heads.
    #[arg(long, default_value = "10")]
    heads: String,
    /// Their air: "22C 48%" off a thermometer-hygrometer, the CSV of a logger, or words for a room.
    #[arg(long)]
    air: String,
    /// Which delivery, in your own words: grower, cultivar, date. The event can name it with `lot`.
    #[arg(long, value_name = "WORDS", default_value = "")]
    lot: String,
    /// How they were prepared: "overnight in the cool", "a few hours in water" or "straight from the box".
    #[arg(long, value_name = "WORDS", default_value = "overnight in the cool")]
    conditioning: String,
    /// How open they are: "tight", "half open" or "blown".
    #[arg(long, value_name = "WORDS", default_value = "half open")]
    stage: String,
    /// Leaves left on the stem.
    #[arg(long)]
    leaves_on: bool,
    /// What was done to them that is not done to others, such as "sealing spray"; such trials are for `compare` alone.
    #[arg(long, value_name = "WORDS", default_value = "")]
    treated: String,
    /// What all of them weigh together, such as 142.5g or 5oz.
    #[arg(long, value_name = "WEIGHT", default_value = "")]
    weight: String,
    /// Anything else worth remembering.
    #[arg(long, default_value = "")]
    note: String,
    #[command(flatten)]
    book: Book,
}

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial look --at 12:00 --presentable 7
  headwater trial look --after 3h --presentable 7 --wilted 1 --weight 142.5g --air \"23C 46%\"
  headwater trial look --trial 2 --at \"next day 1:00\" --wilted 10")]
pub struct Look {
    /// Which trial [default: the last one begun].
    #[arg(long, value_name = "NUMBER")]
    trial: Option<u32>,
    /// When you looked, such as 12:00, "3:30 pm" or "next day 1:00".
    #[arg(long, value_name = "TIME", required_unless_present = "after", conflicts_with = "after")]
    at: Option<String>,
    /// How long after the start you looked, such as 3h or 90min.
    #[arg(long, value_name = "HOURS")]
    after: Option<String>,
    /// How many are still presentable.
    #[arg(long, value_name = "HEADS", default_value = "")]
    presentable: String,
    /// How many are softening but not limp; needed only where you do not count the presentable ones.
    #[arg(long, value_name = "HEADS", default_value = "")]
    flagging: String,
    /// How many are plainly limp.
    #[arg(long, value_name = "HEADS", default_value = "")]
    wilted: String,
    /// What all of them weigh together, such as 142.5g or 5oz.
    #[arg(long, value_name = "WEIGHT", default_value = "")]
    weight: String,
    /// How many heads there still are, if some were taken away.
    #[arg(long, value_name = "HEADS", default_value = "")]
    of: String,
    /// The air now, such as "23C 46%".
    #[arg(long, default_value = "")]
    air: String,
    /// Anything else worth remembering, such as the name of a photograph.
    #[arg(long, default_value = "")]
    note: String,
    #[command(flatten)]
    book: Book,
}

/// A cell's text, and its column.
fn cell<'a>(column: &'a str, value: &str) -> (&'a str, String) {
    (column, value.trim().to_string())
}

/// A clock time as the notebook has it.
fn clock(hours: f64) -> String {
    Moment::at(hours).to_string()
}

/// Problems of an entry that is not in the file yet are told by what was typed, not by a line that nobody can see.
fn unwritten(error: Error) -> Error {
    let problems = error.problems.into_iter().map(|p| Problem { place: None, ..p }).collect();
    Error { problems }
}

pub fn start(args: &Start) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let flower = Catalogue::shipped().find(&args.flower).map_err(|p| problems.push(p)).ok();
    let at = option::<Moment>("at", Some(&args.at), &mut problems);
    let (Some(flower), Some(at)) = (flower, at) else {
        return Err(Error { problems });
    };
    let path = &args.book.notebook;
    let number = notebook::change(path, |text| {
        let before = text.as_deref().map_or(Ok(Default::default()), |t| notebook::parsed(path, t))?;
        let number = before.next_number();
        let entry = [
            cell("entry", "start"),
            cell("trial", &number.to_string()),
            cell("date", &args.on),
            cell("at", &clock(at.hours)),
            cell("flower", flower.id()),
            cell("lot", &args.lot),
            cell("heads", &args.heads),
            cell("conditioning", &args.conditioning),
            cell("stage", &args.stage),
            cell("leaves", if args.leaves_on { "on" } else { "off" }),
            cell("treated", &args.treated),
            cell("air", &args.air),
            cell("weight", &args.weight),
            cell("note", &args.note),
        ];
        let new = with_entry(&path.display().to_string(), text.as_deref(), &entry)?;
        notebook::parsed(path, &new).map_err(unwritten)?;
        Ok((new, number))
    })?;
    output::print(&format!(
        "Noted in {}: trial {number}, {} heads of {}, out of the water on {} at {}.\nThen, every hour or so: \
         headwater trial look --at TIME --presentable HEADS\n",
        path.display(),
        args.heads,
        flower.name(),
        args.on,
        at
    ))?;
    Ok(ExitCode::SUCCESS)
}

pub fn look(args: &Look) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let at = option::<Moment>("at", args.at.as_deref(), &mut problems).map(|m| m.hours);
    let after = option::<Span>("after", args.after.as_deref(), &mut problems).map(|s| s.hours);
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let path = &args.book.notebook;
    let told = notebook::change(path, |text| {
        let begin = || {
            Problem::new("no trial is begun in this notebook")
                .help("headwater trial start FLOWER --on DAY --at TIME --air AIR")
        };
        let text = text.ok_or_else(begin)?;
        let before = notebook::parsed(path, &text)?;
        let trial = match args.trial {
            Some(number) => before.trials.iter().find(|t| t.number == number).ok_or_else(|| {
                let known: Vec<String> = before.trials.iter().map(|t| t.number.to_string()).collect();
                Problem::new(format!("there is no trial {number} in this notebook"))
                    .expected(format!("one of: {}", known.join(", ")))
                    .help("headwater trial show lists them")
            })?,
            None => before.trials.last().ok_or_else(begin)?,
        };
        let at = after.map(|h| trial.start + h).or(at).unwrap_or(trial.start);
        let entry = [
            cell("entry", "look"),
            cell("trial", &trial.number.to_string()),
            cell("at", &clock(at)),
            cell("heads", &args.of),
            cell("air", &args.air),
            cell("presentable", &args.presentable),
            cell("flagging", &args.flagging),
            cell("wilted", &args.wilted),
            cell("weight", &args.weight),
            cell("note", &args.note),
        ];
        let new = with_entry(&path.display().to_string(), Some(&text), &entry)?;
        let notes = notebook::parsed(path, &new).map_err(unwritten)?;
        let seen = notes.trials.iter().find(|t| t.number == trial.number).and_then(|t| t.looks.last());
        let count = seen
            .and_then(|l| l.presentable)
            .map_or(String::new(), |n| format!(", {n} of {} presentable", seen.map_or(0, |l| l.of)));
        let what = format!(
            "trial {} ({}), {} after the start{count}",
            trial.number,
            trial.flower.name(),
            Span { hours: at - trial.start }
        );
        Ok((new, what))
    })?;
    output::print(&format!("Noted in {}: {told}.\n", path.display()))?;
    Ok(ExitCode::SUCCESS)
}

pub fn undo(book: &Book) -> Result<ExitCode> {
    let path = &book.notebook;
    let taken = notebook::change(path, |text| {
        let nothing = || {
            Problem::new(format!("{} has no entry to take out", path.display())).help("headwater trial show")
        };
        let (rest, taken) =
            without_last(&path.display().to_string(), &text.ok_or_else(nothing)?)?.ok_or_else(nothing)?;
        Ok((rest, taken))
    })?;
    output::print(&format!("Taken out of {}:\n{taken}\n", path.display()))?;
    Ok(ExitCode::SUCCESS)
}
