//! What was learned from a notebook, given to the orders of an event.

use super::drinking::drinks;
use super::evidence::Evidence;
use super::fit::Posterior;
use super::notebook::Notebook;
use super::score::{Spread, spread_factor};
use super::wet::locked;
use crate::event::Event;
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::learned::Learned;
use std::cell::RefCell;
use std::collections::BTreeMap;

impl Notebook {
    /// What the notes say of a flower, leaving out trials in which something was done to the heads.
    pub fn evidence(&self, flower: &Flower) -> Vec<Evidence> {
        let trials = self.trials.iter().filter(|t| t.treated.is_empty() && t.flower.id() == flower.id());
        let outcomes = self.outcomes.iter().filter(|o| o.flower.id() == flower.id());
        trials.filter_map(Evidence::of).chain(outcomes.filter_map(Evidence::of_outcome)).collect()
    }
}

/// What was learned of a flower: of any delivery, and of those that were tried; `None` where the notes contradict one
/// another too much to be believed.
type Taught = Option<(Learned, BTreeMap<String, Learned>)>;

/// What a notebook teaches about its flowers. Each flower is learned once, however often it is asked about.
#[derive(Debug, Clone)]
pub struct Lessons<'a> {
    notes: &'a Notebook,
    /// How wide its forecasts should have been.
    pub spread: Spread,
    taught: RefCell<BTreeMap<String, Taught>>,
}

impl<'a> Lessons<'a> {
    /// Scores the forecasts of a notebook, so that its lessons can be widened by what they were too narrow.
    pub fn of(notes: &'a Notebook) -> Self {
        Lessons { notes, spread: spread_factor(notes), taught: RefCell::default() }
    }

    /// What the notebook teaches about a flower, and about one delivery of it where that was tried; `None` where the
    /// notes contradict one another too much to be believed.
    pub fn learned(&self, flower: &Flower, lot: Option<&str>) -> Option<Learned> {
        let mut taught = self.taught.borrow_mut();
        let taught = taught.entry(flower.id().to_string()).or_insert_with(|| self.of_flower(flower));
        let (any, lots) = taught.as_ref()?;
        Some(*lot.and_then(|lot| lots.get(lot)).unwrap_or(any))
    }

    fn of_flower(&self, flower: &Flower) -> Taught {
        let evidence = self.notes.evidence(flower);
        let in_water = || self.notes.outcomes.iter().filter(|o| o.flower.id() == flower.id());
        let weighed = self.notes.trials.iter().filter(|t| t.in_water());
        let posterior = (!evidence.is_empty()).then(|| Posterior::of(flower, &evidence));
        let any = posterior.as_ref().map_or(Learned::nothing(flower), |posterior| posterior.learned(None));
        let drinks = drinks(flower, weighed, &any);
        let widened = |known: Learned| Learned {
            locked: locked(flower, in_water(), &known),
            drinks,
            ..known.widened(self.spread.factor)
        };
        let Some(posterior) = posterior else { return Some((widened(any), BTreeMap::new())) };
        let lots = evidence.iter().filter_map(|e| e.lot.clone());
        posterior.trusted().then(|| {
            let lots = lots.map(|lot| (lot.clone(), widened(posterior.learned(Some(&lot)))));
            (widened(any), lots.collect())
        })
    }
}

/// Something to know about what a notebook taught an event.
#[derive(Debug, Clone)]
pub enum Caveat {
    /// The notes on a flower contradict one another too much: the trade's table stands.
    Contradictory(&'static Flower),
    /// No trial in the notebook is of a delivery that the event names.
    Untried {
        /// The delivery, as the event names it.
        lot: String,
        /// The flower of which it is a delivery.
        flower: &'static Flower,
    },
    /// Past forecasts made ranges of dry hours wider or narrower.
    Rescaled(Spread),
}

impl Caveat {
    /// Whether two caveats say the same.
    fn repeats(&self, other: &Caveat) -> bool {
        match (self, other) {
            (Caveat::Contradictory(a), Caveat::Contradictory(b)) => a.id() == b.id(),
            (Caveat::Untried { lot: a, flower: f }, Caveat::Untried { lot: b, flower: g }) => {
                a == b && f.id() == g.id()
            }
            _ => false,
        }
    }
}

/// Teaches an event what the notebook holds, and returns what there is to know about it, each caveat once.
///
/// The florist's own `dry_hours` in the event come before the notebook.
pub fn teach(event: &mut Event, notes: &Notebook) -> Vec<Caveat> {
    let lessons = Lessons::of(notes);
    let mut caveats: Vec<Caveat> = Vec::new();
    let mut add = |caveat: Caveat| {
        if !caveats.iter().any(|known| known.repeats(&caveat)) {
            caveats.push(caveat);
        }
    };
    for order in event.pieces.iter_mut().flat_map(|p| &mut p.orders) {
        match lessons.learned(order.flower, order.lot.as_deref()) {
            Some(learned) => order.handling.learned = beyond_the_catalogue(order.flower, learned),
            None => add(Caveat::Contradictory(order.flower)),
        }
        if let Some(lot) = &order.lot
            && order.handling.learned.is_none_or(|l| !l.of_this_lot)
        {
            add(Caveat::Untried { lot: lot.clone(), flower: order.flower });
        }
    }
    if lessons.spread.factor != 1.0 {
        add(Caveat::Rescaled(lessons.spread));
    }
    let taught = |flower: &'static Flower| {
        let learned = beyond_the_catalogue(flower, lessons.learned(flower, None)?)?;
        Some((flower.id(), learned))
    };
    event.taught = Catalogue::shipped().all().iter().filter_map(taught).collect();
    caveats
}

/// What was learned of a flower, unless it is what the catalogue says.
pub fn beyond_the_catalogue(flower: &Flower, learned: Learned) -> Option<Learned> {
    (learned != Learned::nothing(flower)).then_some(learned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;

    #[test]
    fn a_caveat_is_told_once_for_each_flower_and_delivery() {
        let find = |name: &str| Catalogue::shipped().find(name).expect("a flower");
        let untried = |lot: &str, name: &str| Caveat::Untried { lot: lot.to_string(), flower: find(name) };
        let contradictory = |name: &str| Caveat::Contradictory(find(name));
        assert!(untried("A", "rose").repeats(&untried("A", "rose")));
        assert!(contradictory("rose").repeats(&contradictory("rose")));
        for (a, b) in [
            (untried("A", "rose"), untried("B", "rose")),
            (untried("A", "rose"), untried("A", "dahlia")),
            (untried("A", "rose"), contradictory("rose")),
            (contradictory("rose"), contradictory("dahlia")),
        ] {
            assert!(!a.repeats(&b) && !b.repeats(&a), "{a:?} {b:?}");
        }
    }
}
