//! `headwater whatif`: tries a plan under other conditions than those it was made for.

use super::files::Folder;
use super::flags::{Basis, option};
use super::pictures::drawn;
use super::{output, progress};
use crate::decide::plan::Settings;
use crate::decide::plan::plan;
use crate::decide::scenarios::Scenario;
use crate::error::{Error, Problem, Result};
use crate::event::Event;
use crate::report::days::{document, whole_degrees};
use crate::report::facts::Facts;
use crate::report::pictures::{days, sensitivities};
use crate::report::render::{json, terminal};
use crate::units::{Moment, Span, Warming};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater whatif supper.toml
  headwater whatif supper.toml --hotter 5C --late 1h
  headwater whatif supper.toml --cooling-fails 17:00 --out plan")]
pub struct Args {
    /// The event file.
    event: PathBuf,
    /// All rooms so much hotter, such as 5C or 9F; a minus for cooler.
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    hotter: Vec<String>,
    /// The cooling of every cooled room fails at this time.
    #[arg(long, value_name = "TIME")]
    cooling_fails: Option<String>,
    /// The end, the hours until which pieces must last and all moves so much later.
    #[arg(long, value_name = "TIME")]
    late: Option<String>,
    /// Print what becomes of every flower as JSON.
    #[arg(long)]
    json: bool,
    /// Also draw these days, and what matters most, into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    basis: Basis,
}

/// The scenarios tried by default: hotter, K; drier and moister, as shares of saturation; later, h.
const HOTTER: [f64; 2] = [3.0, 5.0];
const MOISTER: [f64; 2] = [-0.15, 0.15];
const LATE: f64 = 1.0;

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let hotter: Vec<f64> = args
        .hotter
        .iter()
        .filter_map(|h| option::<Warming>("hotter", Some(h), &mut problems))
        .map(|w| w.kelvin)
        .collect();
    let fails = option::<Moment>("cooling-fails", args.cooling_fails.as_deref(), &mut problems);
    let late = option::<Span>("late", args.late.as_deref(), &mut problems);
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let event = args.basis.event(&args.event)?;
    let cooled = event.spaces.iter().any(|s| s.cooled);
    if fails.is_some() && !cooled {
        return Err(Problem::new("no room of this event is cooled")
            .expected("a room whose cooling can fail")
            .help("add cooled = true to its [[space]]")
            .into());
    }
    let mut scenarios = vec![Scenario::None];
    scenarios.extend(hotter.iter().map(|k| Scenario::Warmer(*k)));
    let fails = fails.map(|m| event.passed(m)).transpose()?;
    scenarios.extend(fails.map(Scenario::CoolingFails));
    scenarios.extend(late.map(|s| Scenario::Late(s.hours)));
    if scenarios.len() == 1 {
        scenarios.extend(usual(&event));
    }
    let out = args.out.as_deref().map(Folder::open).transpose()?;
    let settings = args.basis.settings();
    let planned = progress::during("Planning", || plan(event, settings))?;
    let facts = Facts::of(&planned);
    // The exit code says whether the plan holds under its own conditions.
    let verdict = if facts.lasts { ExitCode::SUCCESS } else { ExitCode::from(1) };
    let days = progress::during("Trying other days", || facts.days(scenarios));
    if args.json {
        output::print(&format!("{}\n", json::days(&facts, &days)))?;
        return Ok(verdict);
    }
    // The other plan is made for the hottest scenario.
    let hottest = days
        .iter()
        .filter_map(|d| if let Scenario::Warmer(k) = d.scenario { Some(k) } else { None })
        .fold(0.0, f64::max);
    let robust = progress::during("Planning for the hottest of them", || {
        let settings = Settings { hotter: hottest, ..settings };
        (hottest > 0.0).then(|| plan(planned.event.clone(), settings)).transpose()
    })?;
    let robust = robust.as_ref().map(Facts::of);
    let document = document(&facts, &days, robust.as_ref().map(|facts| (hottest, facts)));
    let mut told = terminal::text(&document, output::width());
    if let Some(folder) = &out {
        let sketches = progress::during("Weighing what matters", || {
            vec![
                ("what-matters".to_string(), sensitivities::picture(&facts)),
                ("days".to_string(), days::picture(&facts, &days)),
            ]
        });
        folder.write(&drawn(&sketches)?, &|_| false)?;
        let written =
            format!("\nWritten to {}: what-matters and days, each as SVG and PNG.\n", folder.display());
        told.push_str(&written);
    }
    output::print(&told)?;
    Ok(verdict)
}

/// The scenarios that are tried by default.
fn usual(event: &Event) -> Vec<Scenario> {
    let mut scenarios: Vec<Scenario> = HOTTER.map(|by| Scenario::Warmer(whole_degrees(event, by))).to_vec();
    scenarios.extend(MOISTER.map(Scenario::Moister));
    scenarios.push(Scenario::Late(LATE));
    let cooled = event.spaces.iter().any(|s| s.cooled);
    scenarios.extend(cooled.then_some(Scenario::CoolingFails(event.doors)));
    scenarios
}
