//! `headwater trial learned`: what the notebook teaches about flowers.

use crate::calibrate::evidence::Evidence;
use crate::cli::files::Folder;
use crate::cli::flags::Book;
use crate::cli::pictures::drawn;
use crate::cli::{notebook, output, progress};
use crate::error::{Problem, Result};
use crate::flower::catalogue::Catalogue;
use crate::report::lesson::{Lesson, besides_dry_hours, flowers};
use crate::report::render::terminal::Text;
use crate::report::words::capital;
use std::path::PathBuf;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater trial learned
  headwater trial learned dahlia --out learned
  headwater trial learned dahlia --json")]
pub struct Args {
    /// The flower [default: all in the notebook].
    flower: Option<String>,
    /// Print JSON.
    #[arg(long)]
    json: bool,
    /// Also write a picture of what was believed before and after into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    book: Book,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let mut flowers = flowers(&notes);
    if let Some(name) = &args.flower {
        let flower = Catalogue::shipped().find(name)?;
        flowers.retain(|f| f.id() == flower.id());
        if flowers.is_empty() {
            let problem =
                Problem::new(format!("{} has no note on {}", args.book.notebook.display(), flower.name()));
            return Err(problem.help("headwater trial show lists what is there").into());
        }
    }
    if flowers.is_empty() {
        let problem = Problem::new(format!("{} has no trial yet", args.book.notebook.display()));
        return Err(problem.help("headwater trial start FLOWER --on DAY --at TIME --air AIR").into());
    }
    let evidence: Vec<Vec<Evidence>> = flowers.iter().map(|f| notes.evidence(f)).collect();
    let (mut text, mut values) = (String::new(), Vec::new());
    let out_folder = args.out.as_deref().map(Folder::open).transpose()?;
    let mut sketches = Vec::new();
    for (flower, evidence) in flowers.into_iter().zip(&evidence) {
        if evidence.is_empty() {
            let mut out = Text::new(output::width());
            out.line(&format!("{}: no look at plain heads yet.", capital(flower.name())), 0);
            besides_dry_hours(&notes, flower).iter().for_each(|line| out.line(line, 0));
            out.blank();
            text.push_str(&out.text);
            continue;
        }
        let lesson = progress::during("Learning", || Lesson::of(&notes, flower, evidence));
        let mut out = Text::new(output::width());
        out.line(&capital(flower.name()).to_uppercase(), 0);
        for line in lesson.lines() {
            out.line(&line, if line.starts_with("- ") { 2 } else { 0 });
        }
        out.blank();
        text.push_str(&out.text);
        values.push(lesson.json());
        if out_folder.is_some() {
            sketches.push((format!("learned-{}", flower.id()), lesson.picture()));
        }
    }
    if let Some(folder) = &out_folder {
        folder.write(&drawn(&sketches)?, &|_| false)?;
        text.push_str(&format!(
            "Written to {}: a picture of each flower as SVG and PNG.\n",
            folder.display()
        ));
    }
    if args.json {
        text = format!("{}\n", serde_json::to_string_pretty(&values).expect("plain data"));
    }
    output::print(&text)?;
    Ok(ExitCode::SUCCESS)
}
