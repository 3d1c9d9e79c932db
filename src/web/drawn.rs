//! What was simulated for the sliders, kept for as long as they go to and fro.

use super::lock::lock;
use crate::decide::plan::Plan;
use crate::decide::trial::{Trial, lots};
use crate::simulate::run::Lots;
use std::sync::{Arc, Mutex};

/// Lots are kept for so many orders and airs.
const KEPT: usize = 12;

/// Lots that were simulated for the sliders, the latest first.
#[derive(Default)]
pub struct Drawn(Mutex<Vec<(Trial, Arc<Lots<'static>>)>>);

impl Drawn {
    /// The lots of a trial, simulated if they are not kept.
    pub fn of(&self, plan: &Plan, trial: Trial) -> Arc<Lots<'static>> {
        let same = |t: &Trial| (t.order, t.warmer) == (trial.order, trial.warmer);
        let mut kept = lock(&self.0);
        if let Some(at) = kept.iter().position(|(t, _)| same(t)) {
            kept[..=at].rotate_right(1);
            return Arc::clone(&kept[0].1);
        }
        // Nobody waits for those of another order meanwhile.
        drop(kept);
        let fresh = lots(plan, trial);
        let mut kept = lock(&self.0);
        kept.insert(0, (trial, Arc::clone(&fresh)));
        kept.truncate(KEPT);
        fresh
    }
}
