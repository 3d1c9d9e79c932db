//! Lots sampled for the sliders, kept while they move to and fro.

use super::lock::lock;
use crate::decide::plan::Plan;
use crate::decide::trial::{Trial, lots};
use crate::simulate::run::Lots;
use std::sync::{Arc, Mutex};

/// For how many pairs of order and air lots are kept.
const KEPT: usize = 12;

/// The lots kept for the sliders of a plan, those used last first.
#[derive(Default)]
pub struct Drawn(Mutex<Vec<(Trial, Arc<Lots<'static>>)>>);

impl Drawn {
    /// The lots for a trial, sampled unless they are kept.
    pub fn of(&self, plan: &Plan, trial: Trial) -> Arc<Lots<'static>> {
        let same = |t: &Trial| (t.order, t.warmer) == (trial.order, trial.warmer);
        let mut kept = lock(&self.0);
        if let Some(at) = kept.iter().position(|(t, _)| same(t)) {
            kept[..=at].rotate_right(1);
            return Arc::clone(&kept[0].1);
        }
        // Released while sampling, so that requests for other orders need not wait.
        drop(kept);
        let fresh = lots(plan, trial);
        let mut kept = lock(&self.0);
        kept.insert(0, (trial, Arc::clone(&fresh)));
        kept.truncate(KEPT);
        fresh
    }
}
