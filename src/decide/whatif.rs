//! What becomes of a plan on another day than the one it was made for.

use super::options::Scene;
use super::placing::grid;
use super::plan::{FlowerPlan, Plan, lots, orders};
use crate::climate::Climate;
use crate::event::{Event, Piece};
use crate::stats::Band;

/// Another day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scenario {
    /// The day of the plan.
    None,
    /// All spaces but the cool store warmer by so much at the same moisture, K.
    Warmer(f64),
    /// The air of all spaces but the cool store moister by so much of saturation.
    Moister(f64),
    /// The cooling of every cooled space fails at this hour.
    CoolingFails(f64),
    /// Everything after the doors happens so much later, h.
    Late(f64),
    /// Everything is placed so much earlier than planned, h, where access allows it.
    PlacedEarlier(f64),
}

/// A room whose cooling has failed drifts up by this much, K, with this time constant, h (judgement).
const DRIFT_K: f64 = 6.0;
const DRIFT_H: f64 = 2.0;

/// What becomes of one flower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// How many of the heads placed will be presentable.
    pub count: Band,
    /// How many are to be expected, all told.
    pub expected: f64,
    /// The same in a delivery of which nineteen in twenty are better, and of which one in twenty is.
    pub delivery: (f64, f64),
    /// Whether as many as are wanted are as sure as is wanted.
    pub lasts: bool,
}

/// What becomes of every flower of a plan, piece by piece, placed when the crew places it.
pub fn outcomes(plan: &Plan, scenario: Scenario) -> Vec<Outcome> {
    let event = twisted(&plan.event, scenario);
    let spaces = spaces(&event, plan.settings.hotter, scenario);
    let planned = plan.pieces.iter().flat_map(|p| p.flowers.iter().map(move |f| (&p.piece, f)));
    orders(&event)
        .zip(lots(&event, &spaces, plan.settings))
        .zip(planned)
        .map(|((order, lots), (piece, flower))| {
            let at = placed_at(plan, piece, flower, scenario);
            outcome(&Scene::of(&event, order, lots), flower, at)
        })
        .collect()
}

/// When an order is placed: as planned, or so much earlier.
fn placed_at(plan: &Plan, piece: &Piece, flower: &FlowerPlan, scenario: Scenario) -> f64 {
    let begun = flower.recommended().place_at;
    let Scenario::PlacedEarlier(hours) = scenario else { return begun };
    // Into the access there is: nothing is placed on a closed door.
    let windows = plan.event.windows(piece);
    let nearest = |t: f64| {
        let into = windows.iter().map(|(a, b)| t.clamp(*a, *b));
        into.min_by(|a, b| (a - t).abs().total_cmp(&(b - t).abs())).unwrap_or(t)
    };
    nearest(begun - hours)
}

fn twisted(event: &Event, scenario: Scenario) -> Event {
    let mut event = event.clone();
    if let Scenario::Late(hours) = scenario {
        for piece in &mut event.pieces {
            piece.until += hours;
            piece.moves.iter_mut().for_each(|m| m.0 += hours);
        }
        event.end += hours;
    }
    event
}

pub(super) fn spaces(event: &Event, hotter: f64, scenario: Scenario) -> Vec<Climate> {
    let (first, last) = grid(event).span();
    let store = event.travel.store;
    let changed = |(i, climate): (usize, Climate)| match scenario {
        Scenario::Warmer(k) if i != store => climate.map(|_, air| air.shifted(k, 0.0)),
        Scenario::Moister(rh) if i != store => climate.map(|_, air| air.shifted(0.0, rh)),
        Scenario::CoolingFails(at) if event.spaces[i].cooled => {
            climate.from_to(first, last).map(|hour, air| {
                let drifted = 1.0 - (-(hour - at).max(0.0) / DRIFT_H).exp();
                air.shifted(DRIFT_K * drifted, 0.0)
            })
        }
        _ => climate,
    };
    super::plan::spaces(event, hotter).into_iter().enumerate().map(changed).collect()
}

fn outcome(scene: &Scene, flower: &FlowerPlan, at: f64) -> Outcome {
    let option = flower.recommended();
    let then = scene.one(option.treatment, at, option.top_up.filter(|t| *t > at));
    let heads = f64::from(flower.heads());
    Outcome {
        count: then.count_of(flower.heads()),
        expected: heads * then.expected,
        delivery: (heads * then.share.p05, heads * then.share.p95),
        lasts: then.spares.is_some_and(|s| s <= flower.spares),
    }
}

/// What moves the number of heads still good, in the whole event, from low to high.
#[derive(Debug, Clone, PartialEq)]
pub struct Sensitivity {
    /// What it is.
    pub name: String,
    /// Heads to be expected at its bad end.
    pub low: f64,
    /// At its good end.
    pub high: f64,
}

/// Levers of an event, the strongest first, and how many heads are to be expected as planned. `kelvin` is in words of the
/// user's scale.
pub fn sensitivities(plan: &Plan, degrees: impl Fn(f64) -> String) -> (f64, Vec<Sensitivity>) {
    let sum = |scenario: Scenario| outcomes(plan, scenario).iter().map(|o| o.expected).sum::<f64>();
    let planned = outcomes(plan, Scenario::None);
    let base: f64 = planned.iter().map(|o| o.expected).sum();
    let (kelvin, humidity, hour) = (3.0, 0.15, 1.0);
    let mut sensitivities = vec![
        Sensitivity {
            name: "the delivery, poor to good".to_string(),
            low: planned.iter().map(|o| o.delivery.0).sum(),
            high: planned.iter().map(|o| o.delivery.1).sum(),
        },
        Sensitivity {
            name: format!("the air, {} hotter to {} cooler", degrees(kelvin), degrees(kelvin)),
            low: sum(Scenario::Warmer(kelvin)),
            high: sum(Scenario::Warmer(-kelvin)),
        },
        Sensitivity {
            name: "the air, 15 points drier to 15 points moister".to_string(),
            low: sum(Scenario::Moister(-humidity)),
            high: sum(Scenario::Moister(humidity)),
        },
        Sensitivity {
            name: "the party, an hour late to an hour early".to_string(),
            low: sum(Scenario::Late(hour)),
            high: sum(Scenario::Late(-hour)),
        },
        Sensitivity {
            name: "placing, an hour earlier to an hour later".to_string(),
            low: sum(Scenario::PlacedEarlier(hour)),
            high: sum(Scenario::PlacedEarlier(-hour)),
        },
    ];
    sensitivities.sort_by(|a, b| (b.high - b.low).total_cmp(&(a.high - a.low)));
    (base, sensitivities)
}
