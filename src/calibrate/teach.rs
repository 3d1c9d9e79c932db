//! What was learned, given to the orders of an event.

use super::evidence::Evidence;
use super::fit::Posterior;
use super::notebook::Notebook;
use super::score::{Spread, spread_factor};
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::flower::learned::Learned;

impl Notebook {
    /// What the notes say of a flower, those with nothing done to the heads.
    pub fn evidence(&self, flower: &Flower) -> Vec<Evidence> {
        let trials = self.trials.iter().filter(|t| t.treated.is_empty() && t.flower.id() == flower.id());
        let outcomes = self.outcomes.iter().filter(|o| o.flower.id() == flower.id());
        trials.filter_map(Evidence::of).chain(outcomes.filter_map(Evidence::of_outcome)).collect()
    }
}

/// What a notebook teaches.
#[derive(Debug, Clone)]
pub struct Lessons<'a> {
    notes: &'a Notebook,
    /// Whether its forecasts were as wide as they should be.
    pub spread: Spread,
}

impl<'a> Lessons<'a> {
    /// Learns how good its forecasts were.
    pub fn of(notes: &'a Notebook) -> Self {
        Lessons { notes, spread: spread_factor(notes) }
    }

    /// What it teaches of a flower, of its delivery where that is known; `None` where the notes on it do not hang
    /// together well enough to be believed.
    pub fn learned(&self, flower: &Flower, lot: Option<&str>) -> Option<Learned> {
        let evidence = self.notes.evidence(flower);
        if evidence.is_empty() {
            return Some(Learned::nothing(flower.confidence()).widened(self.spread.factor));
        }
        let posterior = Posterior::of(flower, &evidence);
        posterior.trusted().then(|| posterior.learned(lot).widened(self.spread.factor))
    }
}

/// Teaches an event what the notebook holds. What is to be told of it is added to its assumptions.
///
/// The florist's own `dry_hours` in the event come before the notebook.
pub fn teach(event: &mut Event, notes: &Notebook) {
    let lessons = Lessons::of(notes);
    for order in event.pieces.iter_mut().flat_map(|p| &mut p.orders) {
        let nothing = Learned::nothing(order.flower.confidence());
        match lessons.learned(order.flower, order.lot.as_deref()) {
            Some(learned) => order.handling.learned = (learned != nothing).then_some(learned),
            None => {
                let line = format!(
                    "the notes on {} contradict one another too much to learn from; the trade's table stands: see \
                     headwater trial learned {}",
                    order.flower.name(),
                    order.flower.id()
                );
                if !event.assumptions.contains(&line) {
                    event.assumptions.push(line);
                }
            }
        }
        if let Some(lot) = &order.lot
            && order.handling.learned.is_none_or(|l| !l.of_this_lot)
        {
            let line = format!(
                "no trial of the delivery \"{lot}\" is in the notebook: its {} is taken as one like others",
                order.flower.name()
            );
            if !event.assumptions.contains(&line) {
                event.assumptions.push(line);
            }
        }
    }
    let spread = lessons.spread;
    if spread.factor != 1.0 {
        event.assumptions.push(format!(
            "ranges of dry hours are {:.0} % as wide as the flowers' numbers say, because {} of {} forecasts in the notebook \
             held in their 90 % range",
            100.0 * spread.factor,
            spread.inside_90,
            spread.forecasts
        ));
    }
}
