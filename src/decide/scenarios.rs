//! What becomes of a plan on another day than the one it was made for.

use super::options::Scene;
use super::order::OrderPlan;
use super::placing::grid;
use super::plan::Plan;
use super::prospects::{self, lots};
use crate::climate::Climate;
use crate::event::{Event, OrderId};
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
pub struct ScenarioOutcome {
    /// How many of the heads placed will be presentable.
    pub count: Band,
    /// How many are to be expected, all told.
    pub expected: f64,
    /// The same in a delivery of which nineteen in twenty are better, and of which one in twenty is.
    pub delivery: (f64, f64),
    /// Whether as many as are wanted are as sure as is wanted.
    pub lasts: bool,
}

/// What becomes of every order of a plan, by its number, placed when the crew places it.
pub fn outcomes(plan: &Plan, scenario: Scenario) -> Vec<ScenarioOutcome> {
    let event = changed(&plan.event, scenario);
    let spaces = spaces(&event, plan.settings.hotter, scenario);
    event
        .orders()
        .zip(lots(&event, &spaces, plan.settings))
        .map(|((id, piece, order), lots)| {
            let at = placed_at(plan, id, scenario);
            outcome(&Scene::of(&event, (piece, order), lots), plan.order(id), at)
        })
        .collect()
}

/// When an order is placed: as planned, or so much earlier.
fn placed_at(plan: &Plan, id: OrderId, scenario: Scenario) -> f64 {
    let begun = plan.order(id).recommended().place_at;
    let Scenario::PlacedEarlier(hours) = scenario else { return begun };
    // Into the access there is: nothing is placed on a closed door.
    let windows = plan.event.windows(plan.event.order(id).0);
    let nearest = |t: f64| {
        let into = windows.iter().map(|(a, b)| t.clamp(*a, *b));
        into.min_by(|a, b| (a - t).abs().total_cmp(&(b - t).abs())).unwrap_or(t)
    };
    nearest(begun - hours)
}

fn changed(event: &Event, scenario: Scenario) -> Event {
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
    prospects::spaces(event, hotter).into_iter().enumerate().map(changed).collect()
}

fn outcome(scene: &Scene, order: &OrderPlan, at: f64) -> ScenarioOutcome {
    let option = order.recommended();
    let then = scene.one(option.treatment, at, option.top_up.filter(|t| *t > at));
    let heads = f64::from(order.heads);
    ScenarioOutcome {
        count: then.count_of(order.heads),
        expected: heads * then.expected,
        delivery: (heads * then.share.p05, heads * then.share.p95),
        lasts: then.spares.is_some_and(|s| s <= order.spares),
    }
}

/// Something that moves the number of heads still good.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Factor {
    /// The delivery, from one of which nineteen in twenty are better to one of which one in twenty is.
    Delivery,
    /// The temperature, by so many kelvin either way.
    Temperature(f64),
    /// The relative humidity, by this share of saturation either way.
    Humidity(f64),
    /// When it all ends, by so many hours either way.
    End(f64),
    /// When flowers are placed, by so many hours either way.
    Placing(f64),
}

/// How far a factor moves the number of heads still good, in the whole event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// What is changed.
    pub factor: Factor,
    /// Heads to be expected at its bad end.
    pub low: f64,
    /// Heads to be expected at its good end.
    pub high: f64,
}

/// How many heads of an event are to be expected as planned, and how far each factor moves that: the strongest first.
pub fn sensitivities(plan: &Plan) -> (f64, Vec<Sensitivity>) {
    let sum = |scenario: Scenario| outcomes(plan, scenario).iter().map(|o| o.expected).sum::<f64>();
    let planned = outcomes(plan, Scenario::None);
    let base: f64 = planned.iter().map(|o| o.expected).sum();
    let factors = [
        Factor::Delivery,
        Factor::Temperature(3.0),
        Factor::Humidity(0.15),
        Factor::End(1.0),
        Factor::Placing(1.0),
    ];
    let ends = |factor: Factor| match factor {
        Factor::Delivery => {
            (planned.iter().map(|o| o.delivery.0).sum(), planned.iter().map(|o| o.delivery.1).sum())
        }
        Factor::Temperature(by) => (sum(Scenario::Warmer(by)), sum(Scenario::Warmer(-by))),
        Factor::Humidity(by) => (sum(Scenario::Moister(-by)), sum(Scenario::Moister(by))),
        Factor::End(by) => (sum(Scenario::Late(by)), sum(Scenario::Late(-by))),
        Factor::Placing(by) => (sum(Scenario::PlacedEarlier(by)), sum(Scenario::PlacedEarlier(-by))),
    };
    let mut sensitivities = factors.map(|factor| {
        let (low, high) = ends(factor);
        Sensitivity { factor, low, high }
    });
    sensitivities.sort_by(|a, b| (b.high - b.low).total_cmp(&(a.high - a.low)));
    (base, sensitivities.to_vec())
}
