//! What the notebook taught about a flower.

use super::Book;
use crate::calibrate::compare::half;
use crate::calibrate::evidence::{Evidence, in_reference_air};
use crate::calibrate::fit::{Posterior, largest_tail};
use crate::calibrate::influence::{Influence, influences};
use crate::calibrate::notebook::Notebook;
use crate::calibrate::score::spread_factor;
use crate::cli::{notebook, output};
use crate::error::{Problem, Result};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::learned::Learned;
use crate::report::learning::{Mark, from_notes, next, picture, range};
use crate::report::terminal::Text;
use crate::report::words::{capital, short_name};
use serde_json::{Value, json};
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

/// What is to be told of one flower.
struct Lesson<'a> {
    flower: &'a Flower,
    known: Learned,
    posterior: Posterior<'a>,
    influences: Vec<Influence>,
    lots: Vec<String>,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let notes = notebook::read(&args.book.notebook)?;
    let named = notes.trials.iter().map(|t| t.flower).chain(notes.outcomes.iter().map(|o| o.flower));
    let mut flowers: Vec<&'static Flower> = Vec::new();
    for flower in named {
        if !flowers.iter().any(|f| f.id() == flower.id()) {
            flowers.push(flower);
        }
    }
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
    for (flower, evidence) in flowers.into_iter().zip(&evidence) {
        if evidence.is_empty() {
            text.push_str(&format!("{}: no look at plain heads yet.\n\n", capital(flower.name())));
            continue;
        }
        let lesson = lesson(&notes, flower, evidence);
        text.push_str(&in_words(&notes, &lesson));
        text.push('\n');
        values.push(in_json(&lesson));
        if let Some(folder) = &args.out {
            let failed = |e| Problem::new(format!("the picture cannot be drawn: {e}"));
            let sketch = picture(flower, &lesson.known, &marks(&notes, flower));
            output::folder(folder)?;
            output::write(
                &folder.join(format!("learned-{}.svg", flower.id())),
                sketch.svg().map_err(failed)?.as_bytes(),
            )?;
            output::write(
                &folder.join(format!("learned-{}.png", flower.id())),
                &sketch.png().map_err(failed)?,
            )?;
        }
    }
    if let Some(folder) = &args.out {
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

fn lesson<'a>(notes: &Notebook, flower: &'a Flower, evidence: &'a [Evidence]) -> Lesson<'a> {
    let posterior = Posterior::of(flower, evidence);
    let mut lots: Vec<String> = notes
        .trials
        .iter()
        .filter(|t| t.flower.id() == flower.id() && t.treated.is_empty())
        .filter_map(|t| t.lot.clone())
        .collect();
    lots.dedup();
    Lesson {
        flower,
        known: posterior.learned(None).widened(spread_factor(notes).factor),
        influences: influences(flower, evidence),
        lots,
        posterior,
    }
}

fn what(event: bool, number: u32) -> String {
    if event { format!("event {number}") } else { format!("trial {number}") }
}

fn in_words(notes: &Notebook, lesson: &Lesson) -> String {
    let Lesson { flower, known, posterior, influences, lots } = lesson;
    let mut out = Text { width: output::width().clamp(60, 110), text: String::new() };
    let name = short_name(flower.name());
    out.line(&capital(flower.name()).to_uppercase(), 0);
    let table = next(&Learned::nothing(flower.confidence()), flower);
    out.line(
        &format!(
            "After your {}, the middle head of your next delivery of {name} holds {} dry in an ordinary room, instead of {} by \
             the trade's table. Ranges hold nine times out of ten.",
            from_notes(known),
            range(&next(known, flower)),
            range(&table)
        ),
        0,
    );
    for lot in lots {
        if let Some(band) = posterior.lot_hours(lot) {
            out.line(&format!("- Delivery \"{lot}\": {}", range(&band)), 2);
        }
    }
    const CHECK: &str = "check its start, its temperature and its flower";
    match &influences[..] {
        [only] if only.odd => {
            let what = what(only.event, only.number);
            out.line(&format!("{} is far from what the trade says: {CHECK}.", capital(&what)), 0);
        }
        [_] => {}
        all => {
            out.line("Which note moved it: without it the middle head would hold", 0);
            for i in all {
                let odd =
                    if i.odd { format!("; IT DOES NOT FIT THE OTHERS: {CHECK}") } else { String::new() };
                out.line(&format!("- {}: {}{odd}", what(i.event, i.number), range(&i.without_hours)), 2);
            }
        }
    }
    let treated =
        notes.trials.iter().filter(|t| t.flower.id() == flower.id() && !t.treated.is_empty()).count();
    if treated > 0 {
        let these =
            if treated == 1 { "One trial of it".to_string() } else { format!("{treated} trials of it") };
        out.line(&format!("{these} with something done to the heads: only `trial compare` uses that."), 0);
    }
    let limit = largest_tail(1000);
    out.line(
        &match posterior.trusted() {
            true => format!(
                "Checked: the sampling behind these numbers is sound (tail {:.2}, good below {limit:.2}; worth {:.0} draws).",
                posterior.tail, posterior.effective
            ),
            false => format!(
                "NOT TO BE TRUSTED: the notes contradict one another, and the sampling behind these numbers fails its check \
                 (tail {:.2}, good below {limit:.2}). Plans go by the trade's table until that is mended. Look at the note that \
                 moved it most: its flower, its start, its temperature.",
                posterior.tail
            ),
        },
        0,
    );
    out.text
}

fn in_json(lesson: &Lesson) -> Value {
    let Lesson { flower, known, posterior, influences, lots } = lesson;
    let lots: Vec<Value> =
        lots.iter().map(|l| json!({ "lot": l, "middle_head_hours": posterior.lot_hours(l) })).collect();
    json!({
        "flower": flower.id(),
        "trials": known.trials,
        "events": known.events,
        "next_delivery_middle_head_hours": next(known, flower),
        "trade_table_middle_head_hours": next(&Learned::nothing(flower.confidence()), flower),
        "middle_delivery_middle_head_hours": posterior.typical_hours(),
        "lots": lots,
        "influences": influences,
        "sampling": { "tail": posterior.tail, "effective_draws": posterior.effective, "trusted": posterior.trusted() },
    })
}

/// The trials of a flower as marks of the picture.
fn marks(notes: &Notebook, flower: &Flower) -> Vec<Mark> {
    notes
        .trials
        .iter()
        .filter(|t| t.flower.id() == flower.id() && t.treated.is_empty() && !t.looks.is_empty())
        .map(|t| (format!("trial {}, {}", t.number, t.date), half(&in_reference_air(t))))
        .collect()
}
