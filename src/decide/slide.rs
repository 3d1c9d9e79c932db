//! One flower of a plan, tried in another way, at another time, in warmer air: the plan around it stays as it is.

use super::flower::{Curve, curve};
use super::options::{PlacingOption, Scene};
use super::plan::Plan;
use super::whatif::{Scenario, spaces};
use crate::flower::treatment::Treatment;
use crate::simulate::run::Lots;
use std::sync::Arc;

/// What is tried.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trial {
    /// The number of the piece.
    pub piece: usize,
    /// The number of its flower.
    pub flower: usize,
    /// All spaces but the cool store so much warmer at the same moisture, K.
    pub warmer: f64,
    /// When it is placed, on the event's clock.
    pub at: f64,
    /// What is done.
    pub treatment: Treatment,
    /// How many deliveries are simulated: few are fast, and rougher.
    pub lots: usize,
}

/// The deliveries of a flower in air so much warmer: what takes longest of an answer, and serves every time and way.
///
/// `None` where the plan has no such flower.
pub fn lots(plan: &Plan, trial: Trial) -> Option<Arc<Lots<'static>>> {
    let event = &plan.event;
    let piece = event.pieces.get(trial.piece)?;
    let order = piece.orders.get(trial.flower)?;
    let spaces = spaces(event, plan.settings.hotter, Scenario::Warmer(trial.warmer));
    Some(Scene::new(event, (piece, order), &spaces, (plan.settings.seed, trial.lots)).lots)
}

/// What comes of it: how many are presentable at the piece's hour, and the curve from the placing on. `lots` are those of
/// the flower in that air.
///
/// `None` where the plan has no such flower.
pub fn slide(plan: &Plan, trial: Trial, lots: Arc<Lots<'static>>) -> Option<(PlacingOption, Curve)> {
    let event = &plan.event;
    let piece = event.pieces.get(trial.piece)?;
    let order = piece.orders.get(trial.flower)?;
    let scene = Scene::of(event, (piece, order), lots);
    let option = scene.one(trial.treatment, trial.at, None);
    Some((option, curve(&scene, trial.treatment, trial.at)))
}
