//! `headwater plan`: plans an event, prints the plan, and writes it with its pictures.

use super::files::Folder;
use super::flags::{Basis, Hotter};
use super::pictures::drawn;
use super::{output, progress};
use crate::decide::plan::Settings;
use crate::decide::plan::plan;
use crate::error::{Error, Result};
use crate::report::facts::{Facts, OrderFacts};
use crate::report::pictures::heads::Sides;
use crate::report::pictures::sketch::Sketch;
use crate::report::pictures::{chances, heads, rooms, survival};
use crate::report::render::{json, terminal};
use crate::report::sections;
use crate::simulate::run::LOTS;
use rayon::prelude::*;
use std::cell::LazyCell;
use std::path::PathBuf;
use std::process::ExitCode;
use std::sync::LazyLock;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater plan supper.toml
  headwater plan supper.toml --out plan
  headwater plan supper.toml --hotter 5C --json")]
pub struct Args {
    /// The event file; `headwater new` writes one to start from.
    event: PathBuf,
    /// Print the plan as JSON.
    #[arg(long)]
    json: bool,
    /// How many deliveries of 32 heads to simulate: more take longer, and lessen the simulation's own error.
    #[arg(long, value_name = "NUMBER", default_value_t = LOTS as u32, value_parser = clap::value_parser!(u32).range(16..=2000))]
    deliveries: u32,
    /// Also write the plan, its JSON and its curves into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    hotter: Hotter,
    #[command(flatten)]
    basis: Basis,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let hotter = args.hotter.kelvin(&mut problems);
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let event = args.basis.event(&args.event)?;
    let out = args.out.as_deref().map(Folder::open).transpose()?;
    let settings = Settings { lots: args.deliveries as usize, hotter, ..args.basis.settings() };
    let plan = progress::during("Planning", || plan(event, settings))?;
    let facts = Facts::of(&plan);
    // Made once, or not at all if not needed; the plan's own text as JSON takes long, and pictures are drawn meanwhile.
    let text = LazyCell::new(|| terminal::text(&sections::plan(&facts), output::width()));
    let json = LazyLock::new(|| format!("{}\n", json::plan(&facts)));
    let mut written = String::new();
    if let Some(folder) = &out {
        let both = || rayon::join(|| LazyLock::force(&json), || drawn(&pictures(&facts)));
        let mut files = progress::during("Drawing", both).1?;
        files.push(("plan.txt".to_string(), text.clone().into_bytes()));
        files.push(("plan.json".to_string(), json.clone().into_bytes()));
        // A piece that is gone has no curves.
        let is_of_set = |name: &str| {
            ["curves-", "chances-"].iter().any(|start| name.starts_with(start))
                && [".svg", ".png"].iter().any(|end| name.ends_with(end))
        };
        folder.write(&files, &is_of_set)?;
        written = format!(
            "\nWritten to {}: plan.txt, plan.json and the pictures, each as SVG and PNG: why it is set when it is, the rooms, and for \
             every flower its curves and its chances.\n",
            folder.display()
        );
    }
    output::print(if args.json { &json } else { &text })?;
    if !args.json {
        output::remark(&written)?;
    }
    Ok(if facts.lasts { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// The pictures of a plan with their names; those of an order are named after its piece and flower.
fn pictures(facts: &Facts) -> Vec<(String, Sketch)> {
    let mut named = Vec::new();
    for (i, (piece, orders)) in facts.pieces().enumerate() {
        for (n, order) in orders.iter().enumerate() {
            // The same flower may stand twice in a piece.
            let again =
                orders[..n].iter().filter(|o| o.order.flower_name() == order.order.flower_name()).count();
            let nth = if again > 0 { format!("-{}", again + 1) } else { String::new() };
            let flower = order.order.own_name.as_deref().map_or(order.flower().id().to_string(), plain);
            named.push((format!("{}-{}-{flower}{nth}", i + 1, plain(&piece.name)), order));
        }
    }
    let mut sketches = vec![("rooms".to_string(), rooms::picture(facts.event))];
    sketches.extend(
        facts.telling.map(|telling| ("why".to_string(), heads::picture(facts, telling, Sides::Beside))),
    );
    let of_order = |(name, order): &(String, &OrderFacts)| {
        [
            (format!("curves-{name}"), survival::picture(facts.event, order)),
            (format!("chances-{name}"), chances::picture(facts.event, order)),
        ]
    };
    sketches.par_extend(named.par_iter().flat_map_iter(of_order));
    sketches
}

/// A name reduced to letters, digits and hyphens, so that it is a valid file name everywhere.
fn plain(name: &str) -> String {
    let mut plain = String::new();
    for c in name.to_lowercase().chars() {
        if c.is_alphanumeric() {
            plain.push(c);
        } else if !plain.ends_with('-') {
            plain.push('-');
        }
    }
    plain.trim_matches('-').chars().take(40).collect()
}
