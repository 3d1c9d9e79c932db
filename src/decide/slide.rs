//! One flower of a plan, tried in another way, at another time, in warmer air: the plan around it stays as it is.

use super::options::{Choice, Scene};
use super::plan::{Curve, Plan, curve};
use super::whatif::{Twist, spaces};
use crate::flower::treatment::Way;

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
    pub way: Way,
    /// How many deliveries are simulated: few are fast, and rougher.
    pub lots: usize,
}

/// What comes of it: how many are presentable at the piece's hour, and the curve from the placing on.
///
/// `None` where the plan has no such flower.
pub fn slide(plan: &Plan, trial: Trial) -> Option<(Choice, Curve)> {
    let event = &plan.event;
    let piece = event.pieces.get(trial.piece)?;
    let order = piece.orders.get(trial.flower)?;
    let spaces = spaces(event, plan.settings.hotter, Twist::Warmer(trial.warmer));
    let sample = (plan.settings.seed, trial.lots);
    let scene = Scene::new(event, (piece, order), &spaces, sample);
    let choice = scene.one(trial.way, trial.at, None);
    Some((choice, curve(&scene, trial.way, trial.at)))
}
