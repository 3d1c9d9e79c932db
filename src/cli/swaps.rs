//! `headwater swaps`: finds stand-ins for a flower of an event.

use super::output;
use crate::decide::swaps::{StandIn, stand_ins};
use crate::error::{Problem, Result};
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::Catalogue;
use crate::flower::trade::Colour;
use crate::report::clock::{clock, iso};
use crate::report::render::terminal::{Text, columns};
use crate::report::words::{called, capital, heads, short_name, treatment_name};
use serde_json::json;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater swaps supper.toml hydrangea
  headwater swaps supper.toml dahlia --colour pink --most 20")]
pub struct Args {
    /// The event file.
    event: PathBuf,
    /// The flower to replace, as the event names it.
    flower: String,
    /// Only stand-ins that can be had in this colour.
    #[arg(long, value_name = "COLOUR")]
    colour: Option<String>,
    /// How many stand-ins to try, the likest first.
    #[arg(long, default_value_t = 12)]
    most: usize,
    /// Print JSON.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    basis: super::flags::Basis,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let event = args.basis.event(&args.event)?;
    let colour = match &args.colour {
        None => None,
        Some(word) => Some(Colour::named(word).ok_or_else(|| {
            let all: Vec<String> = Colour::ALL.iter().map(ToString::to_string).collect();
            let near = crate::error::nearest(word, all.iter().map(String::as_str)).unwrap_or("white");
            Problem::new(format!("--colour cannot be {word:?}"))
                .expected(format!("one of: {}", all.join(", ")))
                .help(format!("--colour {near}"))
        })?),
    };
    let meant = Catalogue::shipped().meant(&args.flower);
    let is_meant = |o: &Order| match &o.own_name {
        Some(own) => own.eq_ignore_ascii_case(args.flower.trim()),
        None => meant.iter().any(|f| f.id() == o.flower.id()) || o.flower.id() == args.flower,
    };
    let named: Vec<(&Piece, &Order)> =
        event.orders().map(|(_, piece, order)| (piece, order)).filter(|(_, order)| is_meant(order)).collect();
    if named.is_empty() {
        let all: Vec<String> = event.orders().map(|(.., o)| o.flower_name().to_string()).collect();
        return Err(Problem::new(format!("this event has no flower called {:?}", args.flower))
            .expected("a flower of the event")
            .help(format!("one of {}", all.join(", ")))
            .into());
    }
    let settings = args.basis.settings();
    let spaces: Vec<_> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let mut out = Text::new(output::width());
    let mut all = Vec::new();
    for (i, &(piece, order)) in named.iter().enumerate() {
        let sample = (settings.seed, settings.lots);
        let found = stand_ins(&event, (piece, order), &spaces, colour, sample, args.most);
        if args.json {
            all.extend(found.iter().map(|s| row(&event, piece, order, s)));
        } else {
            if i > 0 {
                out.blank();
            }
            told(&mut out, &event, piece, order, &found);
        }
    }
    if args.json {
        out.text = format!("{}\n", serde_json::to_string_pretty(&all).expect("plain data"));
    }
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

/// Adds the stand-ins for one order as a table with notes.
fn told(out: &mut Text, event: &Event, piece: &Piece, order: &Order, found: &[StandIn]) {
    let until = clock(event, piece.until);
    let itself = called(&order.sort());
    out.line(&format!("Instead of {} of {} ({}), until {until}:", heads(order.heads), itself, piece.name), 0);
    out.blank();
    let title =
        ["flower", "the least trouble that lasts", "dry at the last minute", "size", "price", "beside it"];
    let mut rows = vec![title.map(String::from).to_vec()];
    for s in found {
        let lasts = match s.lasts {
            Some((treatment, from)) => format!("{} from {}", treatment_name(treatment), clock(event, from)),
            None => "nothing does".to_string(),
        };
        let dry = format!("{} of {} ({}-{})", s.dry.p50, order.heads, s.dry.p05, s.dry.p95);
        let (size, price, notes) = match &s.likeness {
            None => ("".to_string(), "".to_string(), "the flower itself".to_string()),
            Some(l) => {
                let mut notes = Vec::new();
                if !l.same_shape {
                    notes.push(s.flower.form().to_string());
                }
                if !l.in_season {
                    notes.push("out of season".to_string());
                }
                if l.colours < 0.5 {
                    notes.push("few of its colours".to_string());
                }
                (format!("x{:.1}", l.size), format!("x{:.1}", l.price), notes.join(", "))
            }
        };
        let name = if s.likeness.is_none() { itself.clone() } else { short_name(s.flower.name()) };
        rows.push(vec![capital(&name), lasts, dry, size, price, notes]);
    }
    columns(out, &rows, &[true, true, false, false, false, true], 0);
    out.blank();
    out.line(
        "Size and price are those of a head, as many times that of the flower itself. Sizes, prices, colours and seasons \
         are common practice, no source, from memory; ask your supplier. In rising order of trouble, the likest first.",
        0,
    );
    for s in found.iter().filter(|s| s.likeness.is_some() && !s.flower.caution().is_empty()).take(6) {
        out.line(&format!("- Take care, {}: {}", short_name(s.flower.name()), s.flower.caution()), 0);
    }
}

/// One stand-in as JSON.
fn row(event: &Event, piece: &Piece, order: &Order, s: &StandIn) -> serde_json::Value {
    let itself = order.own_name.as_deref().unwrap_or(order.flower.id());
    json!({
        "piece": piece.name,
        "instead_of": itself,
        "flower": if s.likeness.is_none() { itself } else { s.flower.id() },
        "lasts": s.lasts.map(|(treatment, from)| json!({
            "treatment": treatment.method, "tube_ml": treatment.tube_ml, "from": iso(event, from)
        })),
        "dry_at_the_last_minute": s.dry,
        "heads": order.heads,
        "likeness": s.likeness.map(|l| json!({
            "size": l.size, "same_shape": l.same_shape, "colours": l.colours, "price": l.price,
            "in_season": l.in_season, "score": l.score
        })),
    })
}
