//! `headwater trial happened` and `score`: outcomes of events against their forecasts, and how good forecasts were.

use crate::calibrate::forecast::Count;
use crate::calibrate::notebook::with_entry;
use crate::calibrate::score::{ENOUGH, ENOUGH_TO_NARROW, Scored, scored, spread};
use crate::cli::flags::Book;
use crate::cli::flags::option;
use crate::cli::{events, notebook, output};
use crate::error::{Error, Problem, Result, nearest};
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::Catalogue;
use crate::flower::treatment::{Method, Treatment};
use crate::report::clock::clock;
use crate::report::render::terminal::Text;
use crate::report::words::{capital, kept};
use crate::stats::Band;
use crate::stats::scores::brier;
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
        Some((hours, _)) => format!("It teaches as a trial does: that hour was worth {hours:.1} h in an ordinary room."),
        None => "It is scored, and teaches nothing of dry hours: only heads counted until they soften, and out of water, do.".to_string(),
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
    let (placed, seen) = (placed.hours, seen.map_or(piece.until, |m| m.hours));
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
    let Count { event, piece, order, treatment, placed, seen, of } = count;
    let list: Vec<String> = forecast.iter().map(|n| format!("{n:.0}")).collect();
    notebook::change(path, |text| {
        let before = text.as_deref().map_or(Ok(Default::default()), |t| notebook::parsed(path, t))?;
        let number = before.next_number();
        let cell = |column, value: String| (column, value);
        let entry = [
            cell("entry", "event".to_string()),
            cell("trial", number.to_string()),
            cell("date", event.date.to_string()),
            cell("at", Moment::at(*seen).to_string()),
            cell("flower", order.flower.id().to_string()),
            cell("lot", order.lot.clone().unwrap_or_default()),
            cell("heads", of.to_string()),
            cell("conditioning", order.handling.conditioning.words().to_string()),
            cell("stage", order.handling.stage.words().to_string()),
            cell("leaves", if order.handling.leaves_on { "on" } else { "off" }.to_string()),
            cell("treated", treatment.method.words().to_string()),
            cell("presentable", args.presentable.to_string()),
            cell("piece", piece.name.clone()),
            cell("hours", format!("{:.2}", seen - placed)),
            cell("worth", worth.map_or(String::new(), |w| format!("{:.3}", w.0))),
            cell("give or take", worth.map_or(String::new(), |w| format!("{:.3}", w.1))),
            cell("forecast", list.join(" ")),
            cell("note", args.note.clone()),
        ];
        let new = with_entry(&path.display().to_string(), text.as_deref(), &entry)?;
        Ok((new, number))
    })
}

/// Scores all forecasts of the notebook.
pub fn score(args: &Score) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let all = scored(&notes);
    if all.is_empty() {
        let problem = Problem::new(format!("{} holds no forecast to score", args.book.notebook.display()));
        return Err(problem
            .help("note a trial with its looks, or headwater trial happened EVENT ...")
            .into());
    }
    let spread = spread(&all);
    let n = all.len() as f64;
    let mean = |value: fn(&Scored) -> f64| all.iter().map(value).sum::<f64>() / n;
    let crps =
        (mean(|s| s.crps_heads / f64::from(s.of)), mean(|s| s.crps_heads_of_the_table / f64::from(s.of)));
    let halves =
        |chance: fn(&Scored) -> f64| brier(&all.iter().map(|s| (chance(s), s.half())).collect::<Vec<_>>());
    let briers = (halves(|s| s.chance_of_half), halves(|s| s.chance_of_half_of_the_table));
    if args.json {
        let value = json!({
            "forecasts": all, "spread": spread,
            "crps_share": { "forecast": crps.0, "trade_table": crps.1 },
            "brier_half": { "forecast": briers.0, "trade_table": briers.1 },
        });
        output::print(&format!("{}\n", serde_json::to_string_pretty(&value).expect("plain data")))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut out = Text::new(output::width());
    listed(&mut out, &all);
    out.blank();
    out.line(
        &format!(
            "Held in the 90 % range: {} of {}. In the 50 % range: {}.",
            spread.inside_90, spread.forecasts, spread.inside_50
        ),
        0,
    );
    histogram(&mut out, &all);
    out.line(
        &format!(
            "Mean miss, in heads of a hundred (CRPS): {:.1}; of the trade's table taken as it stands: {:.1}. At least half still good \
             (Brier score, 0 is perfect): {:.3}; of the table: {:.3}.",
            100.0 * crps.0,
            100.0 * crps.1,
            briers.0,
            briers.1
        ),
        0,
    );
    out.line(&verdict(spread.forecasts, spread.factor, spread.p_value), 0);
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

/// Adds the forecasts, a line for each, with what happened.
fn listed(out: &mut Text, all: &[Scored]) {
    out.line("FORECASTS AGAINST WHAT HAPPENED", 0);
    out.line("Trials are forecast from the notes before them, at the look that was hardest to call; events as they were forecast.", 0);
    for s in all {
        let inside = if (0.05..=0.95).contains(&s.pit) { "inside" } else { "OUTSIDE" };
        let what = if s.event { "event" } else { "trial" };
        out.line(
            &format!(
                "- {what} {}, {}: {} of {} good; forecast {:.0} ({:.0} to {:.0}), {inside}",
                s.number, s.flower, s.observed, s.of, s.forecast.p50, s.forecast.p05, s.forecast.p95
            ),
            2,
        );
    }
}

/// Adds the histogram of where the outcomes fell in their forecasts.
fn histogram(out: &mut Text, all: &[Scored]) {
    out.line("Where the outcomes fell in their forecasts (even if these are honest; heaped at both ends if too sure, in the middle if too shy):", 0);
    for bin in 0..5 {
        let (from, to) = (f64::from(bin) / 5.0, f64::from(bin + 1) / 5.0);
        let count = all.iter().filter(|s| s.pit >= from && (s.pit < to || bin == 4)).count();
        let words = ["lowest fifth", "low", "middle", "high", "highest fifth"][bin as usize];
        out.line(&format!("{words:<14}{} {count}", "#".repeat(count)), 2);
    }
}

/// What `n` forecasts say about the width of ranges: `factor` is how much wider plans make them, and `p` the
/// probability of ranks as uneven as these if the forecasts are honest.
fn verdict(n: usize, factor: f64, p: f64) -> String {
    if n < ENOUGH {
        return format!(
            "{} so far: too few to say whether ranges are wide enough. Plans leave them as they are until there are {ENOUGH}.",
            capital(&format!("{n} forecasts"))
        );
    }
    let by = 100.0 * (factor - 1.0).abs();
    let judged = match factor {
        f if f > 1.1 => format!(
            "The forecasts were too sure of themselves: plans make ranges of dry hours {by:.0} % wider."
        ),
        f if f < 0.9 => {
            format!("The forecasts were too shy: plans make ranges of dry hours {by:.0} % narrower.")
        }
        1.0 => format!(
            "Nothing says that ranges are too narrow; plans leave them as they are until {ENOUGH_TO_NARROW} forecasts say that they could be narrower."
        ),
        _ => format!("The ranges are about as wide as they should be; plans change them by {by:.0} %."),
    };
    format!("{judged} Ranks as uneven as these come from honest forecasts {:.0} times in 100.", 100.0 * p)
}
