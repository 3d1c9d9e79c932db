//! One order of a plan tried with another treatment, at another time or in warmer air. The rest of the plan stays as it
//! is.

use super::curve::{Curve, curve};
use super::options::{PlacingOption, Scene};
use super::plan::Plan;
use super::scenarios::{Scenario, spaces};
use crate::event::OrderId;
use crate::flower::treatment::Treatment;
use crate::simulate::run::Lots;
use std::sync::Arc;

/// What is tried for one order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The order's number in its event.
    pub order: OrderId,
    /// How much warmer all spaces but the cool store are at the same moisture, K.
    pub warmer: f64,
    /// When it is placed, h on the event's clock.
    pub at: f64,
    /// How the heads are placed.
    pub treatment: Treatment,
    /// How many lots are simulated. Fewer are faster, and less precise.
    pub lots: usize,
}

/// The sampled lots of an order in the trial's air. Making them takes the longest; they serve every time and treatment.
pub fn lots(plan: &Plan, trial: Trial) -> Arc<Lots<'static>> {
    let event = &plan.event;
    let spaces = spaces(event, plan.settings.hotter, Scenario::Warmer(trial.warmer));
    Scene::new(event, event.order(trial.order), &spaces, (plan.settings.seed, trial.lots)).lots
}

/// The result of a trial: the option as it was simulated, and the survival curve from the placing on. `lots` are those
/// that [`lots`] gives for the same order and air.
pub fn trial(plan: &Plan, trial: Trial, lots: Arc<Lots<'static>>) -> (PlacingOption, Curve) {
    let event = &plan.event;
    let scene = Scene::of(event, event.order(trial.order), lots);
    let option = scene.one(trial.treatment, trial.at, None);
    (option, curve(&scene, trial.treatment, trial.at))
}
