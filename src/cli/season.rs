//! `headwater season`: plans many events at once, and prints a line for each.

use super::flags::{Basis, Hotter};
use super::{output, progress};
use crate::decide::plan::{Plan, Settings, plan};
use crate::error::{Error, Problem, Result, reason};
use crate::event::{Event, HABITS_FILE};
use crate::report::facts::Facts;
use crate::report::money;
use crate::report::render::terminal::{Text, columns};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Mutex;
use std::thread;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater season weddings
  headwater season may.toml june.toml --hotter 3C
  headwater season weddings --json")]
pub struct Args {
    /// Event files, or folders of them.
    #[arg(required = true)]
    events: Vec<PathBuf>,
    #[command(flatten)]
    hotter: Hotter,
    /// Print JSON.
    #[arg(long)]
    json: bool,
    #[command(flatten)]
    basis: Basis,
}

/// The line for one event.
struct Line {
    date: jiff::civil::Date,
    name: String,
    lasts: bool,
    /// The names of flowers that fall short.
    short: Vec<String>,
    stems: u32,
    people: u32,
    paid_hours: f64,
    cost: f64,
    shown: String,
    file: String,
}

impl Line {
    fn of(file: &Path, facts: &Facts) -> Line {
        let short = facts.orders.iter().filter(|o| !o.lasts()).map(|o| o.called());
        Line {
            date: facts.event.date,
            name: facts.event.name.clone(),
            lasts: facts.lasts,
            short: short.collect(),
            stems: facts.bill.lines.iter().map(|line| line.stems).sum(),
            people: facts.alternatives[0].people,
            paid_hours: facts.bill.paid_hours,
            cost: facts.bill.total(),
            shown: money::total(facts.event, facts.bill.total()).unwrap_or_default(),
            file: file.display().to_string(),
        }
    }

    /// Whether everything lasts, and what does not.
    fn verdict(&self) -> String {
        match (&self.short[..], self.lasts) {
            (_, true) => "all lasts".to_string(),
            ([], false) => "too few hands or things".to_string(),
            ([one], false) => format!("falls short: {one}"),
            ([one, more @ ..], false) => format!("falls short: {one} and {} more", more.len()),
        }
    }

    fn json(&self) -> Value {
        json!({
            "file": self.file, "date": self.date.to_string(), "event": self.name, "lasts": self.lasts,
            "falls_short": self.short, "stems": self.stems, "people": self.people,
            "paid_hours": self.paid_hours, "cost": self.cost,
        })
    }
}

/// The event files named, and those in the folders named, sorted within each folder.
pub fn files(named: &[PathBuf]) -> Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for path in named {
        if !path.is_dir() {
            files.push(path.clone());
            continue;
        }
        let failed = |e| Problem::new(format!("{} cannot be read: {}", path.display(), reason(&e)));
        let mut inside = Vec::new();
        for entry in std::fs::read_dir(path).map_err(failed)? {
            let file = entry.map_err(failed)?.path();
            let habits = file.file_name().is_some_and(|name| name == HABITS_FILE);
            if file.extension().is_some_and(|e| e == "toml") && !habits {
                inside.push(file);
            }
        }
        if inside.is_empty() {
            let problem = Problem::new(format!("there is no event file in {}", path.display()));
            return Err(problem
                .expected("a folder with files that end in .toml")
                .help("write one with: headwater new NAME.toml")
                .into());
        }
        inside.sort();
        files.extend(inside);
    }
    Ok(files)
}

/// Reads the events of some files; what is wrong with them is remembered.
pub fn read(files: Vec<PathBuf>, basis: &Basis, problems: &mut Vec<Problem>) -> Vec<(PathBuf, Event)> {
    let mut events = Vec::new();
    for file in files {
        match basis.event(&file) {
            Ok(event) => events.push((file, event)),
            Err(error) => problems.extend(error.problems),
        }
    }
    events
}

/// Plans events, as many at once as there are processors, and keeps what is made of each plan.
// A thread of the pool that waits for part of one plan would begin the next: in the end nearly all would be held at once.
pub fn planned<T: Send>(
    events: Vec<(PathBuf, Event)>,
    settings: Settings,
    made: impl Fn(&Path, Plan) -> T + Sync,
) -> Result<Vec<T>> {
    let events = Mutex::new(events.into_iter().enumerate());
    let next = || events.lock().expect("nobody panics who holds it").next();
    let work = || -> Result<Vec<(usize, T)>> {
        let mut all = Vec::new();
        while let Some((i, (file, event))) = next() {
            all.push((i, made(&file, plan(event, settings)?)));
        }
        Ok(all)
    };
    let parts: Result<Vec<_>> = thread::scope(|scope| {
        let workers: Vec<_> = (0..rayon::current_num_threads()).map(|_| scope.spawn(work)).collect();
        let joined = workers.into_iter().map(|w| w.join().unwrap_or_else(|e| std::panic::resume_unwind(e)));
        joined.collect()
    });
    let mut all: Vec<(usize, T)> = parts?.into_iter().flatten().collect();
    all.sort_by_key(|(i, _)| *i);
    Ok(all.into_iter().map(|(_, made)| made).collect())
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let mut problems = Vec::new();
    let hotter = args.hotter.kelvin(&mut problems);
    let files = files(&args.events).unwrap_or_else(|error| {
        problems.extend(error.problems);
        Vec::new()
    });
    let events = read(files, &args.basis, &mut problems);
    // All problems are reported before time is spent on planning.
    if !problems.is_empty() {
        return Err(Error { problems });
    }
    let settings = Settings { hotter, ..args.basis.settings() };
    let line = |file: &Path, plan: Plan| Line::of(file, &Facts::of(&plan));
    let mut lines = progress::during("Planning the season", || planned(events, settings, line))?;
    lines.sort_by(|a, b| (a.date, &a.name).cmp(&(b.date, &b.name)));
    let fine = lines.iter().all(|line| line.lasts);
    if args.json {
        let all: Vec<Value> = lines.iter().map(Line::json).collect();
        output::print(&format!("{}\n", serde_json::to_string_pretty(&all).expect("plain data")))?;
    } else {
        output::print(&table(&lines))?;
    }
    Ok(if fine { ExitCode::SUCCESS } else { ExitCode::from(1) })
}

/// The lines as a table, with how many events last.
fn table(lines: &[Line]) -> String {
    let head = ["day", "event", "stems", "people", "hours paid", "cost", ""].map(String::from).to_vec();
    let row = |line: &Line| {
        vec![
            line.date.strftime("%a %-d %b %Y").to_string(),
            line.name.clone(),
            line.stems.to_string(),
            line.people.to_string(),
            format!("{:.0}", line.paid_hours),
            line.shown.clone(),
            line.verdict(),
        ]
    };
    let rows: Vec<Vec<String>> = std::iter::once(head).chain(lines.iter().map(row)).collect();
    let mut out = Text::new(output::width());
    columns(&mut out, &rows, &[true, true, false, false, false, false, true], 0);
    let lasts = lines.iter().filter(|line| line.lasts).count();
    out.blank();
    out.line(
        &format!(
            "{lasts} of {} events last as wanted. headwater plan FILE tells of one what to do, and what would help.",
            lines.len()
        ),
        0,
    );
    out.text
}
