//! One order of a plan, tried with another treatment, at another time, in warmer air: the plan around it stays as it is.

use super::curve::{Curve, curve};
use super::options::{PlacingOption, Scene};
use super::plan::Plan;
use super::scenarios::{Scenario, spaces};
use crate::event::OrderId;
use crate::flower::treatment::Treatment;
use crate::simulate::run::Lots;
use std::sync::Arc;

/// What is tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The number of the order.
    pub order: OrderId,
    /// All spaces but the cool store so much warmer at the same moisture, K.
    pub warmer: f64,
    /// When it is placed, on the event's clock.
    pub at: f64,
    /// What is done with the heads.
    pub treatment: Treatment,
    /// How many lots are simulated: few are fast, and rougher.
    pub lots: usize,
}

/// The simulated lots of an order in air so much warmer: what takes longest of an answer, and serves every time and
/// treatment.
pub fn lots(plan: &Plan, trial: Trial) -> Arc<Lots<'static>> {
    let event = &plan.event;
    let spaces = spaces(event, plan.settings.hotter, Scenario::Warmer(trial.warmer));
    Scene::new(event, event.order(trial.order), &spaces, (plan.settings.seed, trial.lots)).lots
}

/// What comes of it: how many are presentable at the piece's hour, and the curve from the placing on. `lots` are those of
/// the order in that air.
pub fn trial(plan: &Plan, trial: Trial, lots: Arc<Lots<'static>>) -> (PlacingOption, Curve) {
    let event = &plan.event;
    let scene = Scene::of(event, event.order(trial.order), lots);
    let option = scene.one(trial.treatment, trial.at, None);
    (option, curve(&scene, trial.treatment, trial.at))
}
