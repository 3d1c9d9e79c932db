//! In words, what predictions of published outcomes rest on, and which inputs the answer depends on most.

use crate::stats::Band;
use crate::stats::sensitivity::Estimate;
use crate::validate::influence::{Influence, Input, Measurement, chance, measurements};
use crate::validate::{AirKnown, Basis, Comparison, Experiment, Model, STEMS, Verdict};
use serde::Serialize;
use std::fmt::Write;

/// What a prediction rests on, with the way to its sources; `None` if there is no prediction.
pub fn basis(comparison: &Comparison) -> Option<String> {
    let Basis { model, of_means } = comparison.basis?;
    let e = &comparison.experiment;
    let flower = e.flower.iter().map(|id| format!("`headwater flowers {id}`"));
    let air = e.air_known.iter().map(|known| air(*known, e.humidity.is_some()));
    let mean = of_means.then(|| match e.stems {
        Some(n) => format!("means of {n} stems"),
        None => format!("means of {STEMS} stems (a common number, from memory)"),
    });
    Some(flower.chain(air).chain(mean).chain([source(model).to_string()]).collect::<Vec<_>>().join("; "))
}

/// How the air of an experiment is known, and its error.
fn air(known: AirKnown, with_humidity: bool) -> String {
    let error = known.error();
    let how = match known {
        AirKnown::Published => "as published",
        AirKnown::Logger => "by a logger nearby",
        AirKnown::Assumed => "assumed",
    };
    let off = match (with_humidity, known) {
        (false, AirKnown::Published) => format!("{} C", error.kelvin),
        _ => format!("{} C and {} %", error.kelvin, 100.0 * error.rh),
    };
    format!("air {how}, {off} off either way")
}

/// The source files that compute a prediction.
fn source(model: Model) -> &'static str {
    match model {
        Model::Drying => {
            "the dry clock (src/physics/transpiration.rs) and what is lost by it (src/flower/loss.rs)"
        }
        Model::Softness => "the dry clock (src/physics/transpiration.rs) until the first softening",
        Model::Skin => "the conductance that dry hours imply (`skin` in src/flower/catalogue.rs)",
        Model::Limpness => {
            "the dry clock (src/physics/transpiration.rs) until plainly limp (src/flower/population.rs)"
        }
        Model::VaseLife => "ageing in water (src/physics/ageing.rs, src/flower/population.rs)",
        Model::Ageing => "days of ageing (src/physics/ageing.rs, src/flower/population.rs)",
        Model::Petal => "the conductance and mass of other petals (src/validate/petals.rs)",
        Model::SlowingLoss => {
            "how loss slows (src/flower/loss.rs) in the air as logged, and the scatter of weighings"
        }
        Model::Pack => "what the film of a pack lets out (`packed` in src/validate/predict.rs)",
        Model::Blocking => "stems that block (src/simulate/journey.rs) against stems that do not",
        Model::Stomata => "how leaves shut their stomata (src/flower/loss.rs)",
        Model::Spread => "how lots and stems differ (src/flower/population.rs)",
        Model::Stage => "what stage does to life (src/flower/treatment.rs)",
    }
}

/// A comparison as a row of JSON.
#[derive(Serialize)]
struct Row<'a> {
    #[serde(flatten)]
    experiment: &'a Experiment,
    predicted: Option<Band>,
    from: Option<String>,
    scores: Option<[f64; 2]>,
    verdict: Option<Verdict>,
}

/// The comparisons as JSON.
pub fn json(comparisons: &[Comparison]) -> String {
    let rows = comparisons.iter().map(|c| Row {
        experiment: &c.experiment,
        predicted: c.predicted,
        from: basis(c),
        scores: c.scores,
        verdict: c.verdict,
    });
    written(&rows.collect::<Vec<_>>())
}

/// A value as indented JSON with a final line break.
fn written(value: &impl Serialize) -> String {
    format!("{}\n", serde_json::to_string_pretty(value).expect("plain data"))
}

/// The name of an input.
fn input(input: Input) -> &'static str {
    match input {
        Input::Ignorance => "dry hours: what we do not know",
        Input::Delivery => "dry hours: this delivery",
        Input::Chance => "dry hours: chance between heads",
        Input::Temperature => "air temperature",
        Input::Humidity => "relative humidity",
        Input::SkinQ10 => "how skin leaks more when warm",
        Input::Speed => "air speed",
        Input::Exposed => "share of petals meeting the air",
        Input::Fullness => "conditioning",
        Input::Sun => "sunshine",
    }
}

/// The name of a measurement.
fn measurement(measurement: Measurement) -> &'static str {
    match measurement {
        Measurement::DryHours => "the dry hours of a few heads of this delivery, in known air",
        Measurement::Temperature => "the air temperature where the flowers will be",
        Measurement::Humidity => "the relative humidity where the flowers will be",
        Measurement::Speed => "the air speed at the flowers",
        Measurement::Fullness => "how full the heads are when they leave the bucket",
        Measurement::Sun => "how strong the sun on the flowers is",
    }
}

/// The influence of all inputs on one flower in one room, as a row of JSON.
#[derive(Serialize)]
struct InfluenceRow {
    room: &'static str,
    flower: &'static str,
    hours: f64,
    factor: f64,
    drivers: Vec<DriverRow>,
}

/// The influence of one input: the name of the measurement for it, its own share of the variance, and that with its
/// interactions.
#[derive(Serialize)]
struct DriverRow {
    input: &'static str,
    measure: Option<&'static str>,
    share: Estimate,
    total: Estimate,
}

/// The influence of the inputs as JSON.
pub fn influence_json(influences: &[Influence]) -> String {
    let row = |i: &Influence| InfluenceRow {
        room: i.room,
        flower: i.flower,
        hours: i.hours,
        factor: i.factor,
        drivers: i
            .drivers
            .iter()
            .map(|d| DriverRow {
                input: input(d.input),
                measure: d.input.measured_by().map(measurement),
                share: d.share,
                total: d.total,
            })
            .collect(),
    };
    written(&influences.iter().map(row).collect::<Vec<_>>())
}

/// The influence of the inputs as tables, and what to measure first.
pub fn influence(influences: &[Influence]) -> String {
    let mut out = String::from("WHAT DRIVES THE ANSWER\n");
    let mut line = |text: &str| writeln!(out, "{text}").expect("a string takes any text");
    line("Hours to flagging of one tucked head: percent of the variance of their logarithm");
    line("that each input explains alone, and in all, with its part in others.");
    for room in influences.chunk_by(|a, b| a.room == b.room) {
        let cells = |f: &dyn Fn(&Influence) -> String| room.iter().map(f).collect::<String>();
        line("");
        line(&room[0].room.to_uppercase());
        line(&format!("{:32}{}", "", cells(&|i| format!("{:>16}", i.flower))));
        line(&format!("{:32}{}", "", cells(&|_| format!("{:>11}{:>5}", "alone", "all"))));
        for (n, driver) in room[0].drivers.iter().enumerate() {
            let percent = |e: Estimate| (100.0 * e.value.max(0.0)).round();
            let cell = |i: &Influence| {
                format!("{:>11}{:>5}", percent(i.drivers[n].share), percent(i.drivers[n].total))
            };
            line(&format!("{:32}{}", input(driver.input), cells(&cell)));
        }
        line(&format!("{:32}{}", "typical hours", cells(&|i| format!("{:>16.1}", i.hours))));
        let factor = |i: &Influence| format!("{:>16}", format!("x or / {:.1}", i.factor));
        line(&format!("{:32}{}", "nine of ten heads within", cells(&factor)));
        line(&advice(room));
    }
    line("");
    line("IN ALL");
    line(&advice(influences));
    line(&format!(
        "Chance between heads is {:.0} %: no measuring takes it away.",
        100.0 * chance(influences)
    ));
    line("Conditioning counts for little here because it is at least a few hours in water;");
    line("heads straight from the box start with half of their hours.");
    out
}

/// The two measurements that would explain most of the variance.
fn advice(influences: &[Influence]) -> String {
    let measurements = measurements(influences);
    let items = measurements.iter().take(2);
    let items: Vec<String> =
        items.map(|(what, share)| format!("{}: {:.0} %", measurement(*what), 100.0 * share)).collect();
    format!("Measure first {}", items.join("\n    and then "))
}
