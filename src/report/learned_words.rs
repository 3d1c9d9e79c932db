//! Caveats about a notebook, and its last entry, in words for a plan and for the notebook's page.

use crate::calibrate::notebook::LastEntry;
use crate::calibrate::teach::Caveat;

/// A caveat about what an event learned from a notebook.
pub fn caveat(caveat: &Caveat) -> String {
    match caveat {
        Caveat::Contradictory(flower) => format!(
            "the notes on {} contradict one another too much to learn from; the catalogue stands: see headwater trial \
             learned {}",
            flower.name(),
            flower.id()
        ),
        Caveat::Untried { lot, flower } => format!(
            "no trial of the delivery \"{lot}\" is in the notebook: its {} is taken as one like others",
            flower.name()
        ),
        Caveat::Rescaled(spread) => format!(
            "ranges of dry hours are {:.0} % as wide as the flowers' numbers say, because {} of {} forecasts in the notebook \
             held in their 90 % range",
            100.0 * spread.factor,
            spread.inside_90,
            spread.forecasts
        ),
    }
}

/// The last entry of a notebook, such as "the look of 12:00 at trial 3".
pub fn last_entry(entry: &LastEntry) -> String {
    match entry {
        LastEntry::Look(trial, at) => format!("the look of {at} at trial {trial}"),
        LastEntry::Start(trial, at) => format!("the start of trial {trial} at {at}"),
        LastEntry::Other(number, at) => format!("entry {number}, of {at}"),
    }
}
