//! `headwater trial start`, `look` and `undo`: writes notes into the notebook, and takes the last one out.

use crate::calibrate::notebook::{When, begun, looked, without_last};
use crate::cli::flags::Book;
use crate::cli::flags::option;
use crate::cli::{notebook, output};
use crate::error::{Error, Problem, Result};
use crate::event::day;
use crate::flower::catalogue::Catalogue;
use crate::flower::treatment::Method;
use crate::units::{Moment, Span};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial start dahlia --on 2027-06-13 --at 9:00 --air \"22C 48%\"
  headwater trial start rose --on 2027-06-13 --at \"9:30 am\" --heads 12 --lot \"Grower A, June\" --air kitchen-log.csv
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
    /// How they lie: "on top", "deep in greens", "in a garland" or "in a heap".
    #[arg(long, value_name = "WORDS", default_value = "")]
    lying: String,
    /// What was done to them that is not done to others, such as "sealing spray": for `compare` alone. "water tube" or "bud
    /// vase" for heads in water, to learn what they drink.
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
    /// What all of them have drunk since the start, such as 12g: what their tubes lost, each weighed without its flower.
    #[arg(long, value_name = "WEIGHT", default_value = "")]
    drunk: String,
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

/// Notes the start of a trial.
pub fn start(args: &Start) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let flower = Catalogue::shipped().find(&args.flower).map_err(|p| problems.push(p)).ok();
    let at = option::<Moment>("at", Some(&args.at), &mut problems);
    let (Some(flower), Some(at)) = (flower, at) else {
        return Err(Error { problems });
    };
    let on = day(&args.on).map_or(args.on.clone(), |day| day.to_string());
    let said = [
        ("date", on.as_str()),
        ("lot", &args.lot),
        ("heads", &args.heads),
        ("conditioning", &args.conditioning),
        ("stage", &args.stage),
        ("leaves", if args.leaves_on { "on" } else { "off" }),
        ("lying", &args.lying),
        ("treated", &args.treated),
        ("air", &args.air),
        ("weight", &args.weight),
        ("note", &args.note),
    ];
    let path = &args.book.notebook;
    let (name, load) = (path.display().to_string(), notebook::beside(path));
    let number =
        notebook::change(path, |text| begun(&name, text.as_deref(), (flower, at.hours), &said, &load))?;
    let (place, then) = match Method::waters(&args.treated) {
        true => (
            "in water",
            "Then, in the evening or the next day: headwater trial look --at TIME --drunk WEIGHT",
        ),
        false => {
            ("out of the water", "Then, every hour or so: headwater trial look --at TIME --presentable HEADS")
        }
    };
    output::print(&format!(
        "Noted in {name}: trial {number}, {} heads of {}, {place} on {} at {at}.\n{then}\n",
        args.heads,
        flower.name(),
        args.on
    ))?;
    Ok(ExitCode::SUCCESS)
}

/// Notes a look at a trial.
pub fn look(args: &Look) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let at = option::<Moment>("at", args.at.as_deref(), &mut problems).map(|m| When::At(m.hours));
    let after = option::<Span>("after", args.after.as_deref(), &mut problems).map(|s| When::After(s.hours));
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let when = after.or(at).unwrap_or(When::After(0.0));
    let said = [
        ("heads", args.of.as_str()),
        ("air", &args.air),
        ("presentable", &args.presentable),
        ("flagging", &args.flagging),
        ("wilted", &args.wilted),
        ("weight", &args.weight),
        ("drunk", &args.drunk),
        ("note", &args.note),
    ];
    let path = &args.book.notebook;
    let (name, load) = (path.display().to_string(), notebook::beside(path));
    let trial =
        notebook::change(path, |text| looked(&name, text.as_deref(), (args.trial, when), &said, &load))?;
    let seen = trial.looks.last();
    let count = seen
        .and_then(|l| l.presentable)
        .map_or(String::new(), |n| format!(", {n} of {} presentable", seen.map_or(0, |l| l.of)));
    output::print(&format!(
        "Noted in {name}: trial {} ({}), {} after the start{count}.\n",
        trial.number,
        trial.flower.name(),
        Span { hours: seen.map_or(0.0, |l| l.at - trial.start) }
    ))?;
    Ok(ExitCode::SUCCESS)
}

/// Takes the last entry out of the notebook.
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
