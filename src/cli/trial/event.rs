//! `headwater trial happened` and `score`: outcomes of events against their forecasts, and how good forecasts were.

use crate::calibrate::forecast::Count;
use crate::calibrate::notebook::with_entry;
use crate::cli::flags::Book;
use crate::cli::flags::option;
use crate::cli::{events, notebook, output};
use crate::error::{Error, Problem, Result, nearest};
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::Catalogue;
use crate::flower::treatment::{Method, Treatment};
use crate::report::clock::clock;
use crate::report::render::terminal::Text;
use crate::report::scores::Scores;
use crate::report::words::kept;
use crate::stats::Band;
use crate::units::{Moment, Volume};
use serde_json::json;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  headwater trial happened supper.toml --piece \"long table\" --flower dahlia --set \"tucked dry\" --placed 14:30 \\
    --presentable 31 --seen 22:00")]
pub struct Happened {
    /// The event file, as it was planned with.
    event: PathBuf,
    /// The piece.
    #[arg(long)]
    piece: String,
    /// The flower.
    #[arg(long)]
    flower: String,
    /// How the heads were set: "tucked dry", "wired", "water tube" or "bud vase".
    #[arg(long, value_name = "WORDS", default_value = "tucked dry")]
    set: String,
    /// The volume of their tubes [default: the smallest of the order].
    #[arg(long, value_name = "VOLUME")]
    tube: Option<String>,
    /// When they were placed.
    #[arg(long, value_name = "TIME")]
    placed: String,
    /// How many were still good when you counted: fresh, or standing up, whichever the piece counts.
    #[arg(long, value_name = "HEADS")]
    presentable: u32,
    /// Of how many [default: all of the order].
    #[arg(long, value_name = "HEADS")]
    of: Option<u32>,
    /// When you counted [default: the piece's hour].
    #[arg(long, value_name = "TIME")]
    seen: Option<String>,
    /// Anything else worth remembering.
    #[arg(long, default_value = "")]
    note: String,
    /// The notebook [default: the event's own, or trials.csv beside it].
    #[arg(long, value_name = "FILE")]
    notebook: Option<PathBuf>,
}

#[derive(Debug, clap::Args)]
pub struct Score {
    /// Print JSON.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    book: Book,
}

/// The order of a flower in a piece of the event, both by name.
fn find<'a>(event: &'a Event, piece: &str, flower: &str) -> Result<(&'a Piece, &'a Order)> {
    let named = |p: &&Piece| p.name.eq_ignore_ascii_case(piece.trim());
    let Some(found) = event.pieces.iter().find(named) else {
        let names: Vec<&str> = event.pieces.iter().map(|p| p.name.as_str()).collect();
        let problem = Problem::new(format!("the event has no piece called \"{piece}\""))
            .expected(format!("one of: {}", names.join(", ")));
        return Err(problem.help(nearest(piece, names.iter().copied()).unwrap_or(names[0])).into());
    };
    if let Some(own) =
        found.orders.iter().find(|o| o.own_name.as_ref().is_some_and(|n| n.eq_ignore_ascii_case(flower)))
    {
        // What became of it says nothing sure of the flower that it is like.
        let problem = Problem::new(format!("\"{}\" is only like {}", own.flower_name(), own.flower.name()));
        return Err(problem
            .expected("a flower of the catalogue, because a notebook holds no other")
            .help("give its dry_hours in the event, as you saw them")
            .into());
    }
    let flower = Catalogue::shipped().find(flower)?;
    let is_meant = |o: &&Order| o.own_name.is_none() && o.flower.id() == flower.id();
    let Some(order) = found.orders.iter().find(is_meant) else {
        let names: Vec<&str> = found.orders.iter().map(Order::flower_name).collect();
        let problem = Problem::new(format!("\"{}\" has no {}", found.name, flower.name()));
        return Err(problem
            .expected(format!("one of its flowers: {}", names.join(", ")))
            .help(names[0])
            .into());
    };
    Ok((found, order))
}

/// Notes the outcome of an order, and compares it with its forecast.
pub fn happened(args: &Happened) -> Result<ExitCode> {
    let event = events::read(&args.event)?;
    let path = args.notebook.clone().unwrap_or_else(|| events::notebook_of(&args.event, &event));
    let event = events::taught(&args.event, event, Some(&path))?;
    let count = counted(args, &event)?;
    let forecast = count.forecast(1);
    let worth = count.worth();
    let number = note(args, &path, &count, &forecast, worth)?;
    let band = Band::of(&forecast).expect("a forecast has members");
    let verdict = match f64::from(args.presentable) {
        n if n < band.p05 => "fewer than was thought likely",
        n if n > band.p95 => "more than was thought likely",
        _ => "as was thought likely",
    };
    let teaches = match worth {
        Some(_) if !count.treatment.method.is_dry() => {
            "It teaches how many of its stems do not drink, and nothing of dry hours.".to_string()
        }
        Some((hours, _)) => {
            format!("It teaches as a trial does: that hour was worth {hours:.1} h in an ordinary room.")
        }
        None => "It is scored, and teaches nothing: only heads counted until they soften do.".to_string(),
    };
    let mut out = Text::new(output::width());
    let (flower, piece) = (count.order.flower.name(), &count.piece.name);
    out.line(&format!("Noted in {}: event {number}, {flower} of \"{piece}\".", path.display()), 0);
    out.line(
        &format!(
            "{} of {} were {} at {}; the forecast was {:.0} (nine times out of ten {:.0} to {:.0}): {verdict}.",
            args.presentable,
            count.of,
            kept(count.order.counts),
            clock(&event, count.seen),
            band.p50,
            band.p05,
            band.p95
        ),
        0,
    );
    out.line(&teaches, 0);
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

/// The count that the flags describe.
fn counted<'a>(args: &Happened, event: &'a Event) -> Result<Count<'a>> {
    let mut problems = Vec::new();
    let placed = option::<Moment>("placed", Some(&args.placed), &mut problems);
    let tube = option::<Volume>("tube", args.tube.as_deref(), &mut problems);
    let seen = option::<Moment>("seen", args.seen.as_deref(), &mut problems);
    let method = args.set.parse::<Method>().map_err(|near| {
        let problem = Problem::new(format!("--set cannot be {:?}", args.set));
        problems.push(
            problem.expected("tucked dry, wired, water tube or bud vase").help(format!("--set \"{near}\"")),
        );
    });
    let found = find(event, &args.piece, &args.flower).map_err(|e| problems.extend(e.problems));
    let (Some(placed), Ok(method), Ok((piece, order)), true) = (placed, method, found, problems.is_empty())
    else {
        return Err(Error { problems });
    };
    let placed = event.passed(placed)?;
    let seen = seen.map_or(Ok(piece.until), |seen| event.passed(seen))?;
    let of = args.of.unwrap_or(order.heads);
    if seen <= placed || seen > event.span().1 + 6.0 {
        let problem = Problem::new(format!(
            "placed at {}, and counted at {}",
            clock(event, placed),
            clock(event, seen)
        ));
        return Err(problem
            .expected(format!(
                "a count after the placing and not long after the event, which ends at {}",
                clock(event, event.span().1)
            ))
            .help("write \"day before\" or \"next day\" before a time that is not of the event's own day")
            .into());
    }
    if args.presentable > of {
        let problem = Problem::new(format!("{} of {of} heads were presentable", args.presentable));
        return Err(problem
            .expected(format!("at most {of}"))
            .help("give --of, if you counted more than were ordered")
            .into());
    }
    let treatment = Treatment::new(method, tube.map_or(order.tubes[0], |v| v.millilitres));
    Ok(Count { event, piece, order, treatment, placed, seen, of })
}

/// Writes a count into the notebook, and returns the number of its entry. `worth` is what it teaches: hours in an
/// ordinary room, and their error.
fn note(
    args: &Happened,
    path: &Path,
    count: &Count,
    forecast: &[f64],
    worth: Option<(f64, f64)>,
) -> Result<u32> {
    notebook::change(path, |text| {
        let before = text.as_deref().map_or(Ok(Default::default()), |t| notebook::parsed(path, t))?;
        let number = before.next_number();
        let entry = count.entry(number, args.presentable, (forecast, worth), &args.note);
        let new = with_entry(&path.display().to_string(), text.as_deref(), &entry)?;
        Ok((new, number))
    })
}

/// Scores all forecasts of the notebook.
pub fn score(args: &Score) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let Some(scores) = Scores::of(&notes) else {
        let problem = Problem::new(format!("{} holds no forecast to score", args.book.notebook.display()));
        return Err(problem
            .help("note a trial with its looks, or headwater trial happened EVENT ...")
            .into());
    };
    if args.json {
        let Scores { all, spread, crps, briers } = scores;
        let value = json!({
            "forecasts": all, "spread": spread,
            "crps_share": { "forecast": crps.0, "trade_table": crps.1 },
            "brier_half": { "forecast": briers.0, "trade_table": briers.1 },
        });
        output::print(&format!("{}\n", serde_json::to_string_pretty(&value).expect("plain data")))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut out = Text::new(output::width());
    out.lines(&scores.lines());
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}
