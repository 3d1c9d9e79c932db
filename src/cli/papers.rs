//! `headwater papers`: writes the client's page, the run sheet and the buying list.

use super::files::Folder;
use super::{flags, output, progress};
use crate::decide::plan::plan;
use crate::error::Result;
use crate::report::facts::Facts;
use crate::report::papers::{PAPERS, paper};
use crate::report::render::{calendar, csv, html, message, pdf, take_along};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater papers supper.toml --out papers
  headwater papers supper.toml --page letter")]
pub struct Args {
    /// The event file.
    event: PathBuf,
    /// The folder to write into.
    #[arg(long, value_name = "DIR", default_value = "papers")]
    out: PathBuf,
    /// The sheet of the PDFs.
    #[arg(long, value_enum, default_value = "a4")]
    page: flags::Page,
    #[command(flatten)]
    basis: flags::Basis,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let event = args.basis.event(&args.event)?;
    let folder = Folder::open(&args.out)?;
    let settings = args.basis.settings();
    let plan = progress::during("Planning", || plan(event, settings))?;
    let facts = Facts::of(&plan);
    // A crew of fewer people has fewer calendars.
    let is_of_set = |name: &str| name.starts_with("person-") && name.ends_with(".ics");
    folder.write(&files(&facts, args.page.into(), &output::stamp()), &is_of_set)?;
    output::remark(&format!(
        "Written to {}: client, venue, run-sheet, first-time (drawings for new hands) and buying, each as HTML and PDF; \
         client.txt for a message; run-sheet.csv and .ics for a calendar, one for each person, too; buying.csv; and \
         take-along.html, which works on a phone with no network.\n",
        folder.display()
    ))?;
    Ok(if facts.lasts { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// All papers, each with the name of its file.
fn files(facts: &Facts, sheet: pdf::Sheet, stamp: &str) -> Vec<(String, Vec<u8>)> {
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    for (name, document) in PAPERS.iter().filter_map(|(name, _)| Some((name, paper(facts, name)?))) {
        files.push((format!("{name}.html"), html::page(&document).into_bytes()));
        files.push((format!("{name}.pdf"), pdf::pdf(&document, sheet)));
    }
    if let Some(client) = paper(facts, "client") {
        files.push(("client.txt".to_string(), message::text(&client).into_bytes()));
    }
    files.push(("take-along.html".to_string(), take_along::page(facts).into_bytes()));
    files.push(("run-sheet.csv".to_string(), csv::run_sheet(facts)));
    files.push(("run-sheet.ics".to_string(), calendar::run_sheet(facts, stamp)));
    let numbers: std::collections::BTreeSet<usize> = facts.people.iter().map(|p| p.number).collect();
    for number in numbers {
        files.push((format!("person-{number}.ics"), calendar::of_person(facts, number, stamp)));
    }
    files.push(("buying.csv".to_string(), csv::buying(facts)));
    files
}
