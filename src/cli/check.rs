//! `headwater check`: checks an event file, and says what was understood.

use super::output;
use crate::error::Result;
use crate::event::Order;
use crate::report::advice::dry_hours;
use crate::report::clock::clock;
use crate::report::render::terminal::Text;
use crate::report::words::{heading, path, short_name, space};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Example:
  headwater check supper.toml")]
pub struct Args {
    /// The event file; `headwater new` writes one to start from.
    event: PathBuf,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let event = super::events::known(&args.event)?;
    let mut out = Text::new(output::width());
    out.line(&format!("{} reads well: {}", args.event.display(), event.name), 0);
    for line in heading(&event, 0.0) {
        out.line(&line, 0);
    }
    out.line("You may set up:", 0);
    for (from, to) in &event.access {
        out.line(&format!("- {} to {}", clock(&event, *from), clock(&event, *to)), 2);
    }
    out.line("The air:", 0);
    for s in &event.spaces {
        out.line(&format!("- {}", space(&event, s)), 2);
    }
    out.line("What you make:", 0);
    for piece in &event.pieces {
        let flowers: Vec<String> = piece.orders.iter().map(ordered).collect();
        let what = format!(
            "- {} ({}), until {}: {}",
            piece.name,
            path(&event, piece),
            clock(&event, piece.until),
            flowers.join("; ")
        );
        out.line(&what, 2);
    }
    let mut known: Vec<String> = Vec::new();
    for order in event.pieces.iter().flat_map(|p| &p.orders).filter(|o| o.handling.learned.is_some()) {
        let lot = order.lot.as_ref().map_or(String::new(), |l| format!(", \"{l}\""));
        let line = format!("- {}{lot}: {}", order.flower_name(), dry_hours(order));
        if !known.contains(&line) {
            known.push(line);
        }
    }
    if !known.is_empty() {
        out.line("What your notebook says of them:", 0);
        for line in known {
            out.line(&line, 2);
        }
    }
    if !event.assumptions.is_empty() {
        out.line("Assumed:", 0);
        for line in &event.assumptions {
            out.line(&format!("- {line}"), 2);
        }
    }
    output::print(&out.text)?;
    Ok(ExitCode::SUCCESS)
}

/// An order as it was understood, in heads and in stems if these differ.
fn ordered(order: &Order) -> String {
    let stems = match (order.handling.split, order.heads_per_stem()) {
        (Some(parts), _) => format!(" ({} stems, each cut into {parts})", order.stems()),
        (None, 1) => String::new(),
        (None, faces) => format!(" ({} stems of {faces})", order.stems()),
    };
    let like = order
        .own_name
        .as_ref()
        .map_or(String::new(), |_| format!(", like {}", short_name(order.flower.name())));
    format!("{} {}{like}{stems}", order.heads, order.flower_name())
}
