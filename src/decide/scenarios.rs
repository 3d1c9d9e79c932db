//! How a plan fares under other conditions than those it was made for.

use super::options::Scene;
use super::order::OrderPlan;
use super::placing::grid;
use super::plan::Plan;
use super::prospects::{self, lots};
use crate::climate::Climate;
use crate::event::{Event, OrderId};
use crate::stats::Band;

/// Conditions other than those of the plan.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scenario {
    /// The conditions of the plan.
    None,
    /// All spaces but the cool store are this much warmer at the same moisture, K.
    Warmer(f64),
    /// The relative humidity of all spaces but the cool store is higher by this share of saturation.
    Moister(f64),
    /// The cooling of every cooled space fails at this hour on the event's clock.
    CoolingFails(f64),
    /// Every move and the end come this much later, h.
    Late(f64),
    /// Everything is placed this much earlier than planned, h, as far as access allows.
    PlacedEarlier(f64),
}

/// How far a room warms once its cooling has failed, K, and the time constant of that, h (judgement).
const DRIFT_K: f64 = 6.0;
const DRIFT_H: f64 = 2.0;

/// How one order fares in a scenario.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ScenarioOutcome {
    /// How many of the heads placed will be presentable.
    pub count: Band,
    /// The expected number of presentable heads.
    pub expected: f64,
    /// The number in a poor delivery (the 5th percentile over lots) and in a good one (the 95th).
    pub delivery: (f64, f64),
    /// Whether the order meets the target with the spares of the plan.
    pub lasts: bool,
}

/// How every order of a plan fares in a scenario, by order number, placed when the crew begins it.
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

/// When an order is placed, h on the event's clock: as planned, or earlier by what the scenario says.
fn placed_at(plan: &Plan, id: OrderId, scenario: Scenario) -> f64 {
    let begun = plan.order(id).recommended().place_at;
    let Scenario::PlacedEarlier(hours) = scenario else { return begun };
    // Moved to the nearest time within access.
    let windows = plan.event.windows(plan.event.order(id).0);
    let nearest = |t: f64| {
        let into = windows.iter().map(|(a, b)| t.clamp(*a, *b));
        into.min_by(|a, b| (a - t).abs().total_cmp(&(b - t).abs())).unwrap_or(t)
    };
    nearest(begun - hours)
}

/// The event with the times of a scenario.
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

/// The climates of an event's spaces in a scenario, already made `hotter` as in [`Settings`](prospects::Settings), K.
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

/// How one order fares with its recommended treatment, placed at `at`.
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

/// Something that changes how many heads are presentable.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Factor {
    /// The delivery, from a poor one (the 5th percentile over lots) to a good one (the 95th).
    Delivery,
    /// The temperature, by this many kelvin either way.
    Temperature(f64),
    /// The relative humidity, by this share of saturation either way.
    Humidity(f64),
    /// When the event ends, by this many hours either way.
    End(f64),
    /// When flowers are placed, by this many hours either way.
    Placing(f64),
}

/// How far one factor changes the number of presentable heads in the whole event.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sensitivity {
    /// The factor that varies.
    pub factor: Factor,
    /// The expected number of heads at its unfavourable end.
    pub low: f64,
    /// The expected number of heads at its favourable end.
    pub high: f64,
}

/// The expected number of presentable heads as planned, and the sensitivity to each factor, the strongest first.
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::invented;

    const ROSE: &str = "[[piece.flower]]\nflower = \"rose\"\nheads = 40\n";

    #[test]
    fn a_late_end_is_late_for_every_piece_and_move() {
        let mut event = invented("[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n", ROSE);
        event.pieces[0].moves.push((20.0, 0));
        let times = |event: &Event| (event.end, event.pieces[0].until, event.pieces[0].moves[0].0);
        assert_eq!(times(&event), (23.0, 22.0, 20.0));
        assert_eq!(times(&changed(&event, Scenario::Late(1.5))), (24.5, 23.5, 21.5));
        assert_eq!(times(&changed(&event, Scenario::Warmer(3.0))), times(&event));
    }

    /// The store keeps its air; where cooling fails the room drifts from that hour on.
    #[test]
    fn other_weather_is_where_flowers_stand() {
        let mut event = invented("[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n", ROSE);
        let (hall, store) = (event.pieces[0].space, event.travel.store);
        let as_planned = prospects::spaces(&event, 0.0);
        let warmth = |spaces: &[Climate], space: usize, hour: f64| spaces[space].at(hour).temperature_c;
        let warmer = spaces(&event, 0.0, Scenario::Warmer(4.0));
        assert!((warmth(&warmer, hall, 18.0) - warmth(&as_planned, hall, 18.0) - 4.0).abs() < 1e-9);
        assert_eq!(warmth(&warmer, store, 8.0), warmth(&as_planned, store, 8.0));
        let fails = Scenario::CoolingFails(15.0);
        assert_eq!(warmth(&spaces(&event, 0.0, fails), hall, 20.0), warmth(&as_planned, hall, 20.0));
        event.spaces[hall].cooled = true;
        let failed = spaces(&event, 0.0, fails);
        assert_eq!(warmth(&failed, hall, 14.0), warmth(&as_planned, hall, 14.0));
        let drift = warmth(&failed, hall, 15.0 + DRIFT_H) - warmth(&as_planned, hall, 15.0 + DRIFT_H);
        assert!((drift - DRIFT_K * (1.0 - (-1.0_f64).exp())).abs() < 0.1 * DRIFT_K, "{drift}");
    }
}
