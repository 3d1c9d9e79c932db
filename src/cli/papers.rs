//! `headwater papers`: a page for the client, the run sheet, the buying list.

use super::{output, progress};
use crate::decide::plan::plan;
use crate::error::{Problem, Result};
use crate::report::papers::{PAPERS, paper};
use crate::report::sketch::Failure;
use crate::report::{Report, html, pdf, tables, takealong};
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
    page: output::Page,
    #[command(flatten)]
    basis: super::plan::Basis,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let event = args.basis.event(&args.event)?;
    let settings = args.basis.settings();
    let plan = progress::during("Planning", || plan(event, settings));
    let report = Report::of(&plan);
    let mut files: Vec<(String, Vec<u8>)> = Vec::new();
    let written = PAPERS.iter().filter_map(|(name, _)| Some((name, paper(&plan, &report, name)?)));
    for (name, document) in written {
        let failed = |e: Failure| Problem::new(format!("the paper {name} cannot be drawn: {e}"));
        files.push((format!("{name}.html"), html::page(&document).map_err(failed)?.into_bytes()));
        files.push((format!("{name}.pdf"), pdf::pdf(&document, args.page.into())));
    }
    let failed = |e: Failure| Problem::new(format!("the page to take along cannot be drawn: {e}"));
    let page = takealong::page(&plan, &report, &takealong::days(&plan)).map_err(failed)?;
    files.push(("take-along.html".to_string(), page.into_bytes()));
    files.push(("run-sheet.csv".to_string(), tables::run_sheet(&plan)));
    files.push(("run-sheet.ics".to_string(), tables::calendar(&plan, &output::stamp())));
    files.push(("buying.csv".to_string(), tables::buying(&plan, &report)));
    output::folder(&args.out)?;
    for (name, bytes) in &files {
        output::write(&args.out.join(name), bytes)?;
    }
    output::print(&format!(
        "Written to {}: client, run-sheet and buying, each as HTML and PDF; run-sheet.csv and .ics for a calendar; \
         buying.csv; and take-along.html, which works on a phone with no network.\n",
        args.out.display()
    ))?;
    Ok(if report.lasts { ExitCode::SUCCESS } else { ExitCode::from(1) })
}
