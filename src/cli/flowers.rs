//! `headwater flowers`: searches the catalogue, and tells which flowers survive in some air.

use super::air::AirFlags;
use super::flags::{Known, once, until};
use super::output;
use crate::calibrate::teach::{Lessons, beyond_the_catalogue};
use crate::decide::hours::{Question, answer};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::{Catalogue, Flower, Quantity, source};
use crate::report::render::terminal::Text;
use crate::report::support::{behind, beside_water, said};
use crate::report::words::capital;
use crate::units::short;
use std::process::ExitCode;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater flowers                      all of them
  headwater flowers dahlia               those with dahlia in their names
  headwater flowers dahlia-ball          one, with every value and its source
  headwater flowers --room \"warm barn\" --until 6h
                                         who survives there, the hardiest first
  headwater flowers rose dahlia hydrangea --any --temperature 31C --humidity 45 --until 5h")]
pub struct Args {
    /// Words to look for in names.
    words: Vec<String>,
    /// Flowers called by any of the names, rather than those with all of the words.
    #[arg(long)]
    any: bool,
    #[command(flatten)]
    air: AirFlags,
    /// How long they must last there.
    #[arg(long, value_name = "HOURS", default_value = "8h")]
    until: String,
    #[command(flatten)]
    known: Known,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    let catalogue = Catalogue::shipped();
    let one =
        (args.words.len() == 1).then(|| catalogue.all().iter().find(|f| f.id() == args.words[0])).flatten();
    let found: Vec<&Flower> = match one {
        Some(flower) => vec![flower],
        None if args.any => {
            let mut named = Vec::new();
            for word in &args.words {
                match (catalogue.meant(word), catalogue.find(word)) {
                    (meant, Err(problem)) if meant.is_empty() => return Err(problem.into()),
                    (meant, _) => named.extend(meant),
                }
            }
            once(&mut named);
            named
        }
        None => catalogue.search(&args.words),
    };
    if found.is_empty() {
        let problem = catalogue.find(&args.words.join(" ")).err();
        return Err(problem.unwrap_or_else(|| Problem::new("no flower has all of these words")).into());
    }
    let wants_air = args.air.is_given();
    let text = if wants_air {
        survivors(args, &found)?
    } else if found.len() == 1 {
        let mut text = detail(found[0]);
        let others: Vec<String> = catalogue
            .search(&args.words)
            .into_iter()
            .filter(|f| f.id() != found[0].id())
            .map(|f| format!("{} ({})", f.name(), f.id()))
            .collect();
        if !others.is_empty() {
            text.push_str(&format!("\nOthers of that name: {}\n", others.join(", ")));
        }
        text
    } else {
        list(&found)
    };
    output::print(&text)?;
    Ok(ExitCode::SUCCESS)
}

/// The flowers found, a line for each.
fn list(found: &[&Flower]) -> String {
    let mut out = format!("{:<40} {:<22} {:>21}   {}\n", "name", "id", "dry hours", "in a vase");
    for flower in found {
        let (dry, vase) = (flower.parameter(Quantity::DryHours), flower.parameter(Quantity::VaseDays));
        out.push_str(&format!(
            "{:<40} {:<22} {:>7} ({} to {}){:>pad$}   {} days\n",
            flower.name(),
            flower.id(),
            format!("{} h", dry.value),
            dry.low,
            dry.high,
            "",
            short(vase.value),
            pad = 21usize.saturating_sub(7 + format!(" ({} to {})", dry.low, dry.high).len()),
        ));
    }
    out.push_str(
        "\nDry hours: to the first softening, cut short, leaves off, tucked dry in still shade at 21 C and 45 %; eight of \
         ten\nlie in the brackets. The trade's memory, pooled with what is said in public where anybody speaks. One flower with \
         its sources: headwater flowers ID\n",
    );
    out
}

/// One flower with all its values and their sources.
fn detail(flower: &Flower) -> String {
    let mut out = Text::new(output::width());
    out.line(&format!("{}, {}", capital(flower.name()), flower.botanical()), 0);
    out.line(&format!("Also: {}", flower.aliases().collect::<Vec<_>>().join(", ")), 0);
    out.line(
        &format!(
            "{}; {} to a stem, {} stems to a bunch (common practice, no source); ethylene: {}; keep at {} C",
            capital(flower.form()),
            flower.faces_per_stem(),
            flower.stems_per_bunch(),
            flower.ethylene(),
            flower.holding_c()
        ),
        0,
    );
    let colours: Vec<String> = flower.colours().iter().map(ToString::to_string).collect();
    out.line(
        &format!(
            "In {}; {} (northern hemisphere); a stem costs about {}; {:.0} % spares (common \
             practice, no source, from memory)",
            colours.join(", "),
            flower.months(),
            match flower.relative_price() {
                1.0 => "as much as a standard rose".to_string(),
                times => format!("{times} times a standard rose"),
            },
            100.0 * flower.spare_share()
        ),
        0,
    );
    out.line(&format!("Placing: {}", flower.placing_note()), 0);
    if !flower.caution().is_empty() {
        out.line(&format!("Take care: {}", flower.caution()), 0);
    }
    if !flower.trade_note().is_empty() {
        out.line(&format!("The trade says: {}", flower.trade_note()), 0);
    }
    out.blank();
    for p in flower.parameters() {
        let unit = if p.unit == "1" { String::new() } else { format!(" {}", p.unit) };
        out.line(
            &format!(
                "- {}: {}{unit} ({} to {}); {}{}",
                p.quantity.words(),
                p.value,
                p.low,
                p.high,
                if p.note.starts_with("common practice") { String::new() } else { format!("{}: ", p.tag) },
                p.note
            ),
            0,
        );
        out.line(&format!("source: {}", source(&p.source)), 4);
        if p.quantity == Quantity::DryHours {
            out.line(&behind(flower), 4);
            beside_water(flower).iter().for_each(|said| out.line(said, 4));
        }
    }
    out.line(
        &format!(
            "- conductance of its skin that these imply: {:.1} mmol m-2 s-1 per exposed area",
            1000.0 * flower.skin().conductance
        ),
        0,
    );
    let statements = said(flower);
    if !statements.is_empty() {
        out.blank();
        out.line("Said in public of how long it lasts out of water; one letter and number in brackets is one group:", 0);
        statements.iter().for_each(|s| out.line(&format!("- {s}"), 0));
    }
    out.text
}

/// How many heads of each flower survive in some air, the hardiest first.
fn survivors(args: &Args, found: &[&Flower]) -> Result<String> {
    let mut problems = Vec::new();
    let air = args.air.read(&mut problems);
    let until = until(&args.until, &mut problems);
    let (Some((air, _, room)), Some(until), true) = (air, until, problems.is_empty()) else {
        return Err(Error { problems });
    };
    let notes = args.known.notes()?;
    let lessons = Lessons::of(&notes);
    let (mut rows, mut tried): (Vec<(f64, String)>, _) = (Vec::new(), 0);
    for flower in found {
        let mut question = Question::new(flower, air, until.hours);
        question.handling.learned =
            lessons.learned(flower, None).and_then(|l| beyond_the_catalogue(flower, l));
        tried += usize::from(question.handling.learned.is_some());
        let answers = answer(&question)?;
        let of_40 = |i: usize| {
            let b = answers[i].presentable_at_until;
            let n = |s: f64| (40.0 * s).round();
            format!("{} ({} to {})", n(b.p50), n(b.p05), n(b.p95))
        };
        let dry = answers[0].presentable_at_until;
        let rank = dry.p50 + dry.p05 + 0.1 * answers[1].presentable_at_until.p50;
        let row = format!("{:<40} {:>14} {:>16} {:>16}\n", flower.name(), of_40(0), of_40(1), of_40(2));
        rows.push((rank, row));
    }
    rows.sort_by(|a, b| b.0.total_cmp(&a.0));
    let place = room.map_or_else(
        || format!("{} C and {:.0} %", short(air.temperature_c), 100.0 * air.relative_humidity()),
        |r| format!("{} ({} C, {:.0} %; an estimate from memory)", r.words, r.day_c, r.day_rh),
    );
    let mut out =
        format!("Of 40 heads, still fresh after {until} in {place}; nine of ten deliveries in brackets\n\n");
    out.push_str(&format!("{:<40} {:>14} {:>16} {:>16}\n", "", "tucked dry", "10 ml tube", "bud vase"));
    out.extend(rows.into_iter().map(|r| r.1));
    if tried > 0 {
        out.push_str("\nWhat your notebook has taught counts; --without-trials leaves it out.\n");
    }
    Ok(out)
}
