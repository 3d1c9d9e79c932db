//! `headwater hours`: how long one flower lasts in one air, the quick answer.

use super::air::AirFlags;
use super::flags::{Asking, option, until};
use super::output;
use crate::calibrate::teach::{Lessons, beyond_the_catalogue};
use crate::climate::ClimateError;
use crate::climate::room::Room;
use crate::decide::hours::{Answer, COUNTED, HORIZON, Question, answer};
use crate::error::{Error, Problem, Result};
use crate::flower::boxes::Boxes;
use crate::flower::catalogue::{Catalogue, Quantity};
use crate::flower::population::mass_lost;
use crate::flower::treatment::{Conditioning, Handling, Lying, Method, Stage};
use crate::report::advice::grams;
use crate::report::cautions::{FROST, UNKNOWN};
use crate::report::clock;
use crate::report::learning::sentence;
use crate::report::support::beside_water;
use crate::report::words::{capital, short_name};
use crate::stats::{Band, Quantiles};
use crate::units::{Scale, Span, Temperature, short};
use serde_json::json;
use std::process::ExitCode;

/// The number of heads that counts in the table refer to.
const HEADS: f64 = COUNTED as f64;

#[derive(Debug, clap::Args)]
#[command(after_help = "Examples:
  headwater hours dahlia --room \"warm barn\" --until 6h
  headwater hours rose --temperature 22C --humidity 65 --until 36 --json
  headwater hours hydrangea --temperature 82F --dew-point 60F --sun 600")]
pub struct Args {
    /// The flower: a common or botanical name.
    flower: String,
    /// A flower of the catalogue that it is like, where it is none of the catalogue itself.
    #[arg(long, value_name = "FLOWER")]
    like: Option<String>,
    #[command(flatten)]
    air: AirFlags,
    /// How long it matters, from placing, such as 6h or 90min.
    #[arg(long, value_name = "HOURS", default_value = "8h")]
    until: String,
    /// How it was prepared: "overnight in the cool", "a few hours in water" or "straight from the box".
    #[arg(long, value_name = "WORDS", default_value = "overnight in the cool")]
    conditioning: String,
    /// How open it is: "tight", "half open" or "blown".
    #[arg(long, value_name = "WORDS", default_value = "half open")]
    stage: String,
    /// Leaves left on the stem.
    #[arg(long)]
    leaves_on: bool,
    /// Deep among greens rather than on top.
    #[arg(long)]
    nested: bool,
    /// What lies around it: "on top", "deep in greens", "in a garland" or "in a heap".
    #[arg(long, value_name = "WORDS", default_value = "on top")]
    lying: String,
    /// Your own dry hours of this flower, from a trial in an ordinary room, such as 4h.
    #[arg(long, value_name = "HOURS")]
    dry_hours: Option<String>,
    #[command(flatten)]
    asking: Asking,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

pub fn run(args: &Args) -> Result<ExitCode> {
    output::print(&told(args)?)?;
    Ok(ExitCode::SUCCESS)
}

/// The answer, ready to be printed.
fn told(args: &Args) -> Result<String> {
    let mut problems = Vec::new();
    let flower = match &args.like {
        Some(like) => Catalogue::shipped().find(like),
        None => Catalogue::shipped().find(&args.flower).map_err(|p| {
            let like = Catalogue::shipped().like_what(&args.flower);
            p.or(&format!("say which flower it is like: --like {like}"))
        }),
    };
    let flower = flower.map_err(|p| problems.push(p)).ok();
    let air = args.air.read(&mut problems);
    let until = until(&args.until, &mut problems);
    let tube = args.asking.tube(&mut problems);
    let dry_hours = option::<Span>("dry-hours", args.dry_hours.as_deref(), &mut problems);
    let word = |flag: &str, text: &str, known: bool, all: &[&[&str]]| {
        (!known).then(|| {
            let words: Vec<&str> = all.iter().map(|w| w[0]).collect();
            Problem::new(format!("--{flag} cannot be {text:?}"))
                .expected(format!("one of: {}", words.join(", ")))
                .help(crate::error::nearest(text, words.iter().copied()).unwrap_or(words[0]))
        })
    };
    let conditioning = Conditioning::from_words(&args.conditioning);
    let stage = Stage::from_words(&args.stage);
    problems.extend(word("conditioning", &args.conditioning, conditioning.is_some(), Conditioning::WORDS));
    let lying = Lying::from_words(&args.lying);
    problems.extend(word("lying", &args.lying, lying.is_some(), Lying::WORDS));
    problems.extend(word("stage", &args.stage, stage.is_some(), Stage::WORDS));
    let (Some(flower), Some((air, scale, room)), Some(until), Some(tube), true) =
        (flower, air, until, tube, problems.is_empty())
    else {
        return Err(Error { problems });
    };
    let notes = args.asking.known.notes()?;
    let learned = Lessons::of(&notes).learned(flower, None).and_then(|l| beyond_the_catalogue(flower, l));
    let question = Question {
        flower,
        handling: Handling {
            conditioning: conditioning.unwrap_or_default(),
            stage: stage.unwrap_or_default(),
            leaves_on: args.leaves_on,
            cultivar_known: false,
            lying: if args.nested { Lying::Nested } else { lying.unwrap_or_default() },
            boxes: Boxes::default(),
            own_dry_hours: dry_hours.map(|s| s.hours),
            learned,
            split: None,
        },
        air,
        // Words for a room tell its air only roughly; a temperature and a humidity are asked about as they are.
        error: room.map_or(ClimateError::NONE, Room::error),
        until: until.hours,
        tube_ml: tube.millilitres,
        seed: args.asking.seed,
    };
    let answers = answer(&question)?;
    Ok(if args.json { json(&question, &answers, args) } else { text(&question, &answers, scale, room, args) })
}

/// The answers as JSON.
fn json(question: &Question, answers: &[Answer], args: &Args) -> String {
    let (air, flower) = (question.air, question.flower);
    let dry = flower.parameter(Quantity::DryHours);
    let [soft, limp, past_use] = mass_lost(flower);
    let value = json!({
        "flower": if args.like.is_some() { &args.flower } else { flower.name() },
        "botanical": flower.botanical(),
        "conditions": {
            "temperature_c": air.temperature_c,
            "humidity_percent": 100.0 * air.relative_humidity(),
            "vapour_pressure_deficit_pa": air.vapour_pressure_deficit(),
            "pressure_pa": air.pressure,
            "air_speed_m_s": air.speed,
            "sun_w_m2": air.sun,
            "conditioning": question.handling.conditioning.words(),
            "stage": question.handling.stage.words(),
            "leaves_on": question.handling.leaves_on,
            "nested": question.handling.lying == Lying::Nested,
            "lying": question.handling.lying.words(),
            "tube_ml": question.tube_ml,
        },
        "climate_error": { "kelvin": question.error.kelvin, "humidity_percent": 100.0 * question.error.rh },
        "until_hours": question.until,
        "horizon_hours": HORIZON,
        "seed": question.seed,
        "dry_hours": {
            "p10": dry.low, "p50": dry.value, "p90": dry.high, "own": question.handling.own_dry_hours,
            "tag": dry.tag, "source": dry.source, "note": dry.note,
            "said_hours": flower.support().said_hours, "chance_of_end_by_water": flower.support().by_water,
            "independent_groups": flower.support().groups, "ln_sd_of_middle": flower.support().said_ln_sd,
        },
        "mass_lost": { "softening_percent": soft, "limp_percent": limp, "past_use_percent": past_use },
        "by_conductance_hours": flower.by_water().map(|w| w.hours()).map(|[p10, p50, p90]| json!({ "p10": p10, "p50": p50, "p90": p90 })),
        "treatments": answers,
    });
    format!("{}\n", serde_json::to_string_pretty(&value).expect("plain data"))
}

/// Hours as a person would say them; `None` is beyond the horizon.
fn spoken(hours: Option<f64>) -> String {
    hours.map_or(format!("over {} days", HORIZON / 24.0), clock::spoken)
}

/// A median with its 90 % range.
fn range(q: &Quantiles) -> String {
    format!("{} ({} to {})", spoken(q.p50), spoken(q.p05), spoken(q.p95))
}

/// A count of heads and its 90 % range.
fn heads(band: &Band) -> String {
    format!("{} of {HEADS} ({} to {})", band.p50, band.p05, band.p95)
}

/// What the ends mean, what is drunk, and what water loss alone would say.
fn behind(question: &Question, answers: &[Answer]) -> String {
    let flower = question.flower;
    let [soft, limp, past_use] = mass_lost(flower);
    let drinks = answers.iter().find_map(|a| a.drinks_g_per_hour).unwrap_or(0.0);
    let out = format!(
        "Softening is at about {soft:.0} % of fresh mass lost, limp at {limp:.0} %; past use, at {past_use:.0} %, after {} dry. In water \
         a head drinks {} an hour here.\n",
        spoken(answers[0].past_use_hours.p50),
        grams(drinks)
    );
    let Some(witnesses) = beside_water(flower) else { return out };
    let dry = flower.parameter(Quantity::DryHours);
    format!(
        "{out}Dry in an ordinary room: {} ({} to {}). {}.\n",
        spoken(Some(dry.value)),
        spoken(Some(dry.low)),
        spoken(Some(dry.high)),
        capital(&witnesses)
    )
}

/// The answers as text.
fn text(question: &Question, answers: &[Answer], scale: Scale, room: Option<&Room>, args: &Args) -> String {
    let (flower, air) = (question.flower, question.air);
    let until = Span { hours: question.until };
    let asked = &args.flower;
    let heading = match (&args.like, capital(flower.name())) {
        (Some(_), _) => format!("{}, taken to be like {}", capital(asked), short_name(flower.name())),
        (None, name) if flower.name().eq_ignore_ascii_case(asked) => name,
        (None, name) => format!("{name} (for \"{asked}\")"),
    };
    let temperature = Temperature::from_celsius(air.temperature_c).shown_in(scale);
    let mut out = format!("{heading}, {}\n", flower.botanical());
    out.push_str(&format!("{temperature}, {:.0} % humidity", 100.0 * air.relative_humidity()));
    out.push_str(&format!(", air {} m/s", (air.speed * 100.0).round() / 100.0));
    if air.sun > 0.0 {
        out.push_str(&format!(", sun {:.0} W/m2", air.sun));
    } else {
        out.push_str(", shade");
    }
    if let Some(room) = room {
        out.push_str(&format!(
            "\n({}: an afternoon's air, {}, {} C and {:.0} % off either way; measure if you can)",
            room.words,
            room.known_from(),
            question.error.kelvin,
            100.0 * question.error.rh
        ));
    }
    out.push_str("\n\n");
    let rows: Vec<[String; 4]> = std::iter::once([
        String::new(),
        "first softening after".to_string(),
        "plainly limp after".to_string(),
        format!("fresh after {until}"),
    ])
    .chain(answers.iter().map(|a| {
        [
            a.method.words().to_string(),
            range(&a.flagging_hours),
            range(&a.wilted_hours),
            heads(&a.fresh_of_40),
        ]
    }))
    .collect();
    let widths: Vec<usize> = (0..4).map(|c| rows.iter().map(|r| r[c].len()).max().unwrap_or(0)).collect();
    for row in &rows {
        let line: Vec<String> = row.iter().zip(&widths).map(|(cell, w)| format!("{cell:<w$}")).collect();
        out.push_str(line.join("   ").trim_end());
        out.push('\n');
    }
    out.push_str("(the middle, and in brackets where nine of ten heads or deliveries lie)\n");
    out.push_str(&behind(question, answers));
    out.push('\n');
    if let (Some(known), None) = (&question.handling.learned, question.handling.own_dry_hours) {
        out.push_str(&format!("{}.\n", sentence(flower, known, &question.handling)));
    }
    out.push_str(&advice(answers, until, question.tube_ml));
    out.push('\n');
    if air.temperature_c < 0.0 {
        out.push_str(&format!("{FROST}\n"));
    }
    if !flower.caution().is_empty() {
        out.push_str(&format!("Take care: {}\n", flower.caution()));
    }
    if args.like.is_some() {
        out.push_str(&format!("Take care: {asked} is {UNKNOWN}\n"));
    }
    out
}

/// A sentence or two of advice.
fn advice(answers: &[Answer], until: Span, tube_ml: f64) -> String {
    let dry = &answers[0];
    let alone =
        format!("Tucked dry, nineteen of twenty are good for only {}", spoken(dry.flagging_hours.p05));
    let poor = HEADS * (1.0 - dry.presentable_at_until.p05);
    match answers.iter().find(|a| a.will_do()) {
        Some(a) if a.method == Method::Tucked && a.is_no_trouble() => {
            format!("Advice: dry is no trouble here for {until}.")
        }
        Some(a) if a.method == Method::Tucked => format!(
            "Advice: dry will do for {until} with a good delivery; with a poor one about {poor:.0} of {HEADS} would soften \
             before. To be sure, give it water, or place it later."
        ),
        Some(a) if a.method == Method::WaterTube => {
            let empty = a.tube_empty_hours.as_ref().and_then(|q| q.p05);
            let refill = match empty {
                Some(t) if t < until.hours => format!(", filled up before {}", spoken(Some(t))),
                _ => String::new(),
            };
            format!("Advice: use water tubes of {} ml{refill}. {alone}.", short(tube_ml))
        }
        Some(_) => format!("Advice: stand it in a vase. {alone}."),
        None => format!(
            "Advice: no treatment keeps nineteen of twenty fresh for {until} here. Make it shorter, cooler or shadier, or \
             take a hardier flower. {alone}."
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(clap::Parser)]
    struct Line {
        #[command(flatten)]
        args: Args,
    }

    fn hours(words: &[&str]) -> Result<String> {
        let words = ["hours", "--room", "warm barn"].iter().chain(words);
        told(&<Line as clap::Parser>::try_parse_from(words).expect("a command").args)
    }

    #[test]
    fn a_flower_like_another_has_its_hours_under_its_own_name() {
        let (own, other) =
            (hours(&["rain flower", "--like", "freesia"]).unwrap(), hours(&["freesia"]).unwrap());
        assert!(own.starts_with("Rain flower, taken to be like freesia, Freesia hybrids\n"), "{own}");
        assert!(own.contains("rain flower is not in the catalogue"), "{own}");
        let numbers = |text: &str| text.lines().skip(1).take(9).map(String::from).collect::<Vec<_>>();
        assert_eq!(numbers(&own), numbers(&other));
        let json = hours(&["rain flower", "--like", "freesia", "--json"]).unwrap();
        assert_eq!(json.replace("rain flower", "freesia"), hours(&["freesia", "--json"]).unwrap());
    }

    #[test]
    fn an_unknown_flower_is_told_of_the_way_out_and_an_unknown_likeness_of_the_nearest() {
        let help = |words: &[&str]| hours(words).unwrap_err().problems.remove(0).help.unwrap();
        assert!(help(&["rain flower"]).ends_with(", or say which flower it is like: --like ranunculus"));
        assert_eq!(help(&["rain flower", "--like", "fresia"]), "freesia");
    }
}
