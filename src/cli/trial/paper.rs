//! `headwater trial protocol`: writes the protocol of a kitchen trial, to print.

use crate::cli::{files, flags, output};
use crate::error::Result;
use crate::report::protocol;
use crate::report::render::{html, pdf};
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial protocol                 trial.pdf: the protocol on one sheet, the form on the next
  headwater trial protocol trial.html      the same for a browser")]
pub struct Args {
    /// The paper to write: HTML if its name ends so, otherwise PDF; - for HTML on standard output.
    #[arg(default_value = "trial.pdf")]
    file: PathBuf,
    /// The sheet of a PDF.
    #[arg(long, value_enum, default_value = "a4")]
    page: flags::Page,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let document = protocol::document();
    if args.file.as_os_str() == "-" {
        output::print(&html::page(&document))?;
        return Ok(ExitCode::SUCCESS);
    }
    let for_browser = args.file.extension().is_some_and(|e| e == "html" || e == "htm");
    let bytes =
        if for_browser { html::page(&document).into_bytes() } else { pdf::pdf(&document, args.page.into()) };
    files::write(&args.file, &bytes)?;
    output::print(&format!("Written: {}. Print its two sheets.\n", args.file.display()))?;
    Ok(ExitCode::SUCCESS)
}
