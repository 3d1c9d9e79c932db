//! Which note moved the answer: what would be believed without it.

use super::evidence::Evidence;
use super::fit::Posterior;
use crate::flower::catalogue::Flower;
use crate::stats::Band;

/// What would be believed without one entry.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Influence {
    /// The entry's number in the notebook.
    pub number: u32,
    /// Whether it is an event.
    pub event: bool,
    /// Dry hours of the middle head of the next delivery without it.
    pub without_hours: Band,
    /// By what factor the entry moved the middle of that.
    pub moved_by: f64,
}

/// The influence of each entry on one flower.
pub fn influences(flower: &Flower, evidence: &[Evidence]) -> Vec<Influence> {
    let all = Posterior::of(flower, evidence).next_hours();
    (0..evidence.len())
        .map(|i| {
            let others: Vec<Evidence> =
                evidence.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, e)| e.clone()).collect();
            let without = Posterior::of(flower, &others).next_hours();
            let Evidence { number, event, .. } = evidence[i];
            Influence { number, event, without_hours: without, moved_by: all.p50 / without.p50 }
        })
        .collect()
}
