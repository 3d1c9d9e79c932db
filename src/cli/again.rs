//! `headwater again`: plans again on the morning on which too little came, or something came soft.

use super::flags::Basis;
use super::{output, progress};
use crate::decide::again::{Thinned, meant, soft, to_count_on, with_fewer};
use crate::decide::plan::{Plan, plan};
use crate::decide::swaps::likest;
use crate::error::{Error, Problem, Result};
use crate::event::{Event, Sort};
use crate::report::document::{Block, Document};
use crate::report::facts::Facts;
use crate::report::render::terminal;
use crate::report::sections;
use crate::report::words::{called, short_name};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater again supper.toml --came \"rose 90\"
  headwater again supper.toml --came \"rose 90\" --came \"dahlia 0\" --soft lisianthus")]
pub struct Args {
    /// The event file.
    event: PathBuf,
    /// A flower and how many good stems of it came; may be given several times.
    #[arg(long, value_name = "FLOWER STEMS")]
    came: Vec<String>,
    /// A flower that came soft; may be given several times.
    #[arg(long, value_name = "FLOWER")]
    soft: Vec<String>,
    #[command(flatten)]
    basis: Basis,
}

/// How many look-alikes are named.
const LIKE: usize = 3;

/// How often a plan is made anew, each time of fewer heads, so that its spares are among what came.
const ROUNDS: usize = 8;

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let event = args.basis.event(&args.event)?;
    let came = told(&mut problems, args.came.iter().map(|text| came(&event, text)));
    let limp = told(&mut problems, args.soft.iter().map(|words| meant(&event, words)));
    if came.is_empty() && limp.is_empty() && problems.is_empty() {
        let problem = Problem::new("nothing is said of what came").expected("what came short, or soft");
        problems.push(problem.help("headwater again supper.toml --came \"rose 90\" --soft dahlia"));
    }
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let mut counted: Vec<u32> = came.iter().map(|(_, stems)| *stems).collect();
    let (plan, mut said) = progress::during("Planning again", || -> Result<_> {
        let mut round = 0;
        loop {
            round += 1;
            let (with, said) = short(&event, &came, &counted)?;
            let plan = plan(limp.iter().fold(with, |with, sort| soft(&with, sort)), args.basis.settings())?;
            let mut enough = true;
            for ((sort, stems), counted) in came.iter().zip(&mut counted) {
                if let Some(fewer) = to_count_on(&plan, sort, *stems, *counted) {
                    (*counted, enough) = (fewer, false);
                }
            }
            if enough || round == ROUNDS {
                return Ok((plan, said));
            }
        }
    })?;
    said.extend(limp.iter().map(|sort| {
        format!(
            "The {} are taken to be worth what they are straight from the box, half their dry hours; recut them and \
             stand them in water while you set the rest.",
            called(sort)
        )
    }));
    output::print(&terminal::text(&document(&plan, said), output::width()))?;
    Ok(if plan.lasts() { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// The event with what came, of which so many stems are counted on, and what that means.
fn short(event: &Event, came: &[(Sort, u32)], counted: &[u32]) -> Result<(Event, Vec<String>)> {
    let (mut with, mut said) = (event.clone(), Vec::new());
    for ((sort, stems), counted) in came.iter().zip(counted) {
        // Orders left with nothing go, so that the numbers of the others are those of the event before.
        let (thinner, thinned) = with_fewer(&with, sort, *counted);
        said.extend(fewer(&with, sort, *stems, &thinned));
        with = thinner;
        if with.pieces.is_empty() {
            let problem = Problem::new("with so little nothing is left to make");
            return Err(problem
                .expected("some stems of one flower at least")
                .help("headwater swaps supper.toml rose")
                .into());
        }
    }
    Ok((with, said))
}

/// The values that could be read; the problems of the others are remembered.
fn told<T>(
    problems: &mut Vec<Problem>,
    read: impl Iterator<Item = std::result::Result<T, Problem>>,
) -> Vec<T> {
    let keep = |read: std::result::Result<T, Problem>| read.map_err(|p| problems.push(p)).ok();
    read.filter_map(keep).collect()
}

/// A flower and a number of stems.
fn came(event: &Event, text: &str) -> std::result::Result<(Sort, u32), Problem> {
    let number = text.split_whitespace().find_map(|word| word.parse::<u32>().ok());
    let words = text.split_whitespace().filter(|word| word.parse::<u32>().is_err());
    let name = words.collect::<Vec<_>>().join(" ");
    let Some(stems) = number.filter(|n| *n <= 100_000) else {
        let problem = Problem::new(format!("--came cannot be {text:?}"));
        return Err(problem.expected("a flower and how many good stems came").help("--came \"rose 90\""));
    };
    meant(event, &name).map(|sort| (sort, stems))
}

/// What a short delivery means, line by line.
fn fewer(event: &Event, sort: &Sort, stems: u32, thinned: &[Thinned]) -> Vec<String> {
    let name = called(sort);
    if thinned.is_empty() {
        return vec![format!("{stems} stems of {name} are enough for all that you ordered, spares aside.")];
    }
    let mut said = vec![format!(
        "{stems} stems of {name} are too few. Pieces seen across the room give first, those looked at closely last; \
         what breaks and spares are taken off:"
    )];
    for t in thinned {
        let (piece, order) = event.order(t.id);
        let what = called(&order.sort());
        said.push(match t.gets {
            0 => format!("{}: none of the {} {what}", piece.name, t.ordered),
            gets => format!("{}: {gets} instead of {} {what}", piece.name, t.ordered),
        });
    }
    let like = likest(sort.flower, event.date.month(), None, LIKE);
    if !like.is_empty() {
        let names: Vec<String> = like.iter().map(|(flower, _)| short_name(flower.name())).collect();
        said.push(format!(
            "To fill up with, the likest first: {}. `headwater swaps` says how they would last.",
            names.join(", ")
        ));
    }
    said
}

/// What is said, and the plan with what came.
fn document(plan: &Plan, said: Vec<String>) -> Document {
    let facts = Facts::of(plan);
    let mut blocks = vec![Block::Title(format!("{}, with what came", plan.event.name)), Block::Points(said)];
    blocks.push(Block::Table(sections::summary(&facts)));
    blocks.extend(sections::shortfall(&facts));
    blocks.extend(sections::who_and_when(&facts));
    Document { title: plan.event.name.clone(), blocks }
}
