//! `headwater limits`: where dry stops being enough, for some flowers or for all of them on the wall.

use super::files::Folder;
use super::flags::{self, Asking, once, option, until};
use super::{output, pictures};
use crate::calibrate::teach::{Lessons, beyond_the_catalogue};
use crate::decide::hours::METHODS;
use crate::decide::limits::{Asked, GOOD, LONGEST, Limits, TRIED_C, limits, need};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::report::limits::{answer, dry_sentence, need_sentence};
use crate::report::pictures::{limits as picture, wall};
use crate::report::render::{html, pdf, terminal};
use crate::report::wall::document;
use crate::units::{Humidity, Scale, Share, Span};
use rayon::prelude::*;
use serde_json::json;
use std::path::PathBuf;
use std::process::ExitCode;

/// The temperatures of [`TRIED_C`] in whole F.
const TRIED_F: std::ops::RangeInclusive<i32> = 46..=104;
/// The least and the greatest chance that can be asked for, %.
const SURE: (f64, f64) = (50.0, 99.0);

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater limits dahlia
  headwater limits rose hydrangea --until 4h --humidity 40 --out limits
  headwater limits --wall                  all flowers on sheets for the wall: limits/wall.pdf and wall.html
  headwater limits --wall rose dahlia      your own list on one")]
pub struct Args {
    /// The flowers: common or botanical names.
    #[arg(required_unless_present = "wall")]
    flowers: Vec<String>,
    /// A sheet for the wall, of all flowers or of those named.
    #[arg(long)]
    wall: bool,
    /// How long they must last out of the bucket, at most 24 h.
    #[arg(long, value_name = "HOURS", default_value = "6h")]
    until: String,
    /// In what share of deliveries nine of ten heads must last.
    #[arg(long, value_name = "PERCENT", default_value = "90%")]
    sure: String,
    /// Relative humidity of the room in percent.
    #[arg(long, value_name = "PERCENT", default_value = "50%")]
    humidity: String,
    /// Temperatures in Fahrenheit.
    #[arg(long)]
    fahrenheit: bool,
    /// A folder for the pictures, or for the sheets of the wall [default for the wall: limits].
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// The sheet of the PDF.
    #[arg(long, value_enum, default_value = "a4")]
    page: flags::Page,
    #[command(flatten)]
    asking: Asking,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let mut flowers: Vec<&Flower> = match (args.wall, args.flowers.is_empty()) {
        (true, true) => Catalogue::shipped().all().iter().collect(),
        _ => args
            .flowers
            .iter()
            .filter_map(|name| Catalogue::shipped().find(name).map_err(|p| problems.push(p)).ok())
            .collect(),
    };
    once(&mut flowers);
    let until = until(&args.until, &mut problems).filter(|span| {
        let within = span.hours <= LONGEST;
        if !within {
            let problem = Problem::new(format!(
                "--until cannot be {:?}: a day is the longest that is told apart",
                args.until
            ));
            problems
                .push(problem.expected("at most 24 h").help("--until 24h, or `headwater hours` for days"));
        }
        within
    });
    let sure = option::<Share>("sure", Some(&args.sure), &mut problems).filter(|share| {
        let within = (SURE.0..=SURE.1).contains(&share.percent);
        if !within {
            let problem = Problem::new(format!("--sure cannot be {:?}", args.sure));
            problems.push(problem.expected(format!("from {} to {} %", SURE.0, SURE.1)).help("--sure 90%"));
        }
        within
    });
    let humidity = option::<Humidity>("humidity", Some(&args.humidity), &mut problems);
    let tube = args.asking.tube(&mut problems);
    let (Some(until), Some(sure), Some(humidity), Some(tube), true) =
        (until, sure, humidity, tube, problems.is_empty())
    else {
        return Err(Error { problems });
    };
    let scale = if args.fahrenheit { Scale::Fahrenheit } else { Scale::Celsius };
    let temperatures: Vec<f64> = match (args.wall, scale) {
        (true, scale) => wall::temperatures(scale),
        (false, Scale::Celsius) => TRIED_C.map(f64::from).collect(),
        (false, Scale::Fahrenheit) => TRIED_F.map(|f| (f64::from(f) - 32.0) / 1.8).collect(),
    };
    let notes = args.asking.known.notes()?;
    let lessons = Lessons::of(&notes);
    let asked: Vec<Asked> = flowers
        .into_iter()
        .map(|flower| {
            let mut asked = Asked::new(flower);
            asked.handling.learned =
                lessons.learned(flower, None).and_then(|l| beyond_the_catalogue(flower, l));
            Asked { sure: sure.percent / 100.0, tube_ml: tube.millilitres, seed: args.asking.seed, ..asked }
        })
        .collect();
    let one = |asked: &Asked<'static>| limits(*asked, humidity.percent / 100.0, &temperatures);
    let mut all: Vec<Limits> = asked.par_iter().map(one).collect::<Result<_>>()?;
    if args.wall {
        all.sort_by_key(|l| l.asked.flower.name().to_lowercase());
    }
    if args.json {
        output::print(&json(&all, until))?;
    } else if !args.wall {
        for limits in &all {
            output::print(&terminal::text(&answer(limits, until, scale), output::width()))?;
        }
    }
    written(args, &all, until, scale)
}

/// Writes the pictures or the sheets, where they are asked for.
fn written(args: &Args, all: &[Limits], until: Span, scale: Scale) -> Result<ExitCode> {
    let out = match (&args.out, args.wall && !args.json) {
        (Some(out), _) => out.clone(),
        (None, true) => PathBuf::from("limits"),
        (None, false) => return Ok(ExitCode::SUCCESS),
    };
    let files = if args.wall {
        let sheets = document(all, until, scale);
        vec![
            ("wall.html".to_string(), html::page(&sheets).into_bytes()),
            ("wall.pdf".to_string(), pdf::pdf(&sheets, args.page.into())),
        ]
    } else {
        let named = |l: &Limits| (l.asked.flower.id().to_string(), picture::picture(l, until, scale));
        pictures::drawn(&all.iter().map(named).collect::<Vec<_>>())?
    };
    let folder = Folder::open(&out)?;
    folder.write(&files, &|_| false)?;
    if !args.json {
        let names: Vec<&str> = files.iter().map(|f| f.0.as_str()).collect();
        output::remark(&format!("Written to {}: {}.\n", folder.display(), names.join(", ")))?;
    }
    Ok(ExitCode::SUCCESS)
}

/// The limits as JSON.
fn json(all: &[Limits], until: Span) -> String {
    let one = |l: &Limits| {
        let at = |(c, hours): (&f64, &[f64; METHODS.len()])| {
            json!({
                "temperature_c": c,
                "hours": METHODS.iter().zip(hours).map(|(m, h)| json!({"treatment": m, "hours": h})).collect::<Vec<_>>(),
                "needs": need(hours, until.hours).map(|m| METHODS[m]),
            })
        };
        let up_to = METHODS.iter().map(|m| json!({"treatment": m, "up_to_c": l.up_to(*m, until.hours)}));
        json!({
            "flower": l.asked.flower.name(),
            "id": l.asked.flower.id(),
            "humidity_percent": 100.0 * l.humidity,
            "sure": l.asked.sure,
            "share_good": GOOD,
            "longest_hours": LONGEST,
            "tube_ml": l.asked.tube_ml,
            "seed": l.asked.seed,
            "until_hours": until.hours,
            "words": dry_sentence(l, Scale::Celsius),
            "needs_words": need_sentence(l, until, Scale::Celsius),
            "up_to": up_to.collect::<Vec<_>>(),
            "by_temperature": l.temperatures.iter().zip(&l.hours).map(at).collect::<Vec<_>>(),
        })
    };
    format!(
        "{}\n",
        serde_json::to_string_pretty(&all.iter().map(one).collect::<Vec<_>>()).expect("plain data")
    )
}
