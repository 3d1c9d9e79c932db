//! `headwater plan`: the plan of an event, printed, and written with its pictures.

use super::{notebook, output, progress};
use crate::calibrate::teach::teach;
use crate::decide::plan::{Plan, Settings, plan};
use crate::error::{Problem, Result};
use crate::event::Event;
use crate::report::sketch::{Failure, Sketch};
use crate::report::{Report, causes, chances, chart, learned_words, rooms, terminal};
use crate::simulate::run::LOTS;
use crate::units::Warming;
use rayon::prelude::*;
use std::cell::LazyCell;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

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
    /// What if all rooms were this much hotter, such as 5C or 9F?
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    hotter: Option<String>,
    #[command(flatten)]
    basis: Basis,
}

/// What every plan of an event goes by.
#[derive(Debug, clap::Args)]
pub struct Basis {
    /// Leave the notebook of trials out, and go by the trade's table.
    #[arg(long)]
    pub without_trials: bool,
    /// Seed of the random draws: the same seed gives the same plan.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

impl Basis {
    /// Reads an event file with what its notebook teaches, unless that is to be left out.
    pub fn event(&self, path: &Path) -> Result<Event> {
        if self.without_trials { read(path) } else { known(path) }
    }

    /// How a plan is computed.
    pub fn settings(&self) -> Settings {
        Settings { seed: self.seed, ..Settings::default() }
    }
}

/// Reads an event file and the logs it names, which lie beside it.
pub fn read(path: &Path) -> Result<Event> {
    let text = output::read(path)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    Event::read(&path.display().to_string(), &text, &|name| std::fs::read_to_string(folder.join(name)))
}

/// Reads an event file with what its notebook teaches.
pub fn known(path: &Path) -> Result<Event> {
    taught(path, read(path)?, None)
}

/// The notebook of an event: the one it names, or the usual one beside it.
pub fn notebook_of(path: &Path, event: &Event) -> PathBuf {
    path.parent().unwrap_or(Path::new("")).join(event.notebook.as_deref().unwrap_or(notebook::NAME))
}

/// An event with what the notebook teaches, the one given or its own. A notebook that it names must be there.
pub fn taught(path: &Path, mut event: Event, given: Option<&Path>) -> Result<Event> {
    let own = notebook_of(path, &event);
    let book = given.unwrap_or(&own);
    if notebook::text(book)?.is_none() {
        if event.notebook.is_some() && given.is_none() {
            let problem = Problem::new(format!(
                "the notebook {} cannot be read: there is nothing of that name",
                book.display()
            ));
            return Err(problem
                .help("give its name as seen from the folder of the event, or take `notebook` out of [event]")
                .into());
        }
        return Ok(event);
    }
    let caveats = teach(&mut event, &notebook::read(book)?);
    event.assumptions.extend(caveats.iter().map(learned_words::caveat));
    let n = event.pieces.iter().flat_map(|p| &p.orders).filter(|o| o.handling.learned.is_some()).count();
    if n > 0 {
        event.assumptions.push(format!(
            "what your notebook {} has taught counts; --without-trials leaves it out",
            book.display()
        ));
    }
    Ok(event)
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let hotter = super::hours::option::<Warming>("hotter", args.hotter.as_deref(), &mut problems);
    if let Some(problem) = problems.pop() {
        return Err(problem.into());
    }
    let event = args.basis.event(&args.event)?;
    let settings = Settings {
        lots: args.deliveries as usize,
        hotter: hotter.map_or(0.0, |w| w.kelvin),
        ..args.basis.settings()
    };
    let plan = progress::during("Planning", || plan(event, settings));
    let report = Report::of(&plan);
    // Made once, and not at all where nobody asks for it.
    let text = LazyCell::new(|| terminal::plan(&plan, &report, output::width()));
    let json = LazyCell::new(|| format!("{}\n", report.json()));
    let mut written = String::new();
    if let Some(folder) = &args.out {
        let mut files = progress::during("Drawing", || pictures(&plan))?;
        files.push(("plan.txt".to_string(), text.clone().into_bytes()));
        files.push(("plan.json".to_string(), json.clone().into_bytes()));
        output::folder(folder)?;
        // Side by side, since each waits for the disk.
        files.par_iter().try_for_each(|(name, bytes)| output::write(&folder.join(name), bytes))?;
        written = format!(
            "\nWritten to {}: plan.txt, plan.json and the pictures, each as SVG and PNG: the rooms, what ends the \
             heads, and for every flower its curves and its chances.\n",
            folder.display()
        );
    }
    output::print(&if args.json { json.clone() } else { text.clone() + &written })?;
    Ok(if report.lasts { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// The pictures of a plan, those of a flower named by piece and flower.
fn pictures(plan: &Plan) -> Result<Vec<(String, Vec<u8>)>> {
    let mut sketches =
        vec![("rooms".to_string(), rooms::picture(plan)), ("causes".to_string(), causes::picture(plan))];
    for (i, piece) in plan.pieces.iter().enumerate() {
        for flower in &piece.flowers {
            let name = format!("{}-{}-{}", i + 1, plain(&piece.piece.name), flower.order.flower.id());
            sketches.push((format!("curves-{name}"), chart::survival(&plan.event, piece, flower)));
            sketches.push((format!("chances-{name}"), chances::picture(&plan.event, piece, flower)));
        }
    }
    drawn(&sketches)
}

/// Pictures as files, each as SVG and as PNG.
pub fn drawn(sketches: &[(String, Sketch)]) -> Result<Vec<(String, Vec<u8>)>> {
    let files = |(name, sketch): &(String, Sketch)| -> Result<_> {
        let failed = |e: Failure| Problem::new(format!("the picture {name} cannot be drawn: {e}"));
        let (svg, png) = (sketch.svg().map_err(failed)?, sketch.png().map_err(failed)?);
        Ok([(format!("{name}.svg"), svg.into_bytes()), (format!("{name}.png"), png)])
    };
    let pairs: Vec<_> = sketches.par_iter().map(files).collect::<Result<_>>()?;
    Ok(pairs.into_iter().flatten().collect())
}

/// Letters, digits and hyphens only, so that a name is a file name everywhere.
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
