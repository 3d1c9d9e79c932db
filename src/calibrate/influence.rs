//! Which note moved the answer, and which does not fit the others.

use super::evidence::Evidence;
use super::fit::Posterior;
use crate::flower::catalogue::Flower;
use crate::flower::learned::Learned;
use crate::stats::Band;

/// An entry is odd if it lies more than so many standard deviations from what the others predict: one in fifty does by
/// chance.
const ODD: f64 = 2.33;

/// What would be believed without one entry.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
pub struct Influence {
    /// The entry's number in the notebook.
    pub number: u32,
    /// Whether it is an event.
    pub event: bool,
    /// Dry hours of the median head of the next delivery without it.
    pub without_hours: Band,
    /// The factor by which the entry moved the median of those.
    pub moved_by: f64,
    /// Whether it does not fit the others, or the trade's table where there are no others.
    pub odd: bool,
}

/// The influence of each entry on what is believed of one flower.
pub fn influences(flower: &Flower, evidence: &[Evidence]) -> Vec<Influence> {
    let all = Posterior::of(flower, evidence).next_hours();
    (0..evidence.len())
        .map(|i| {
            let others: Vec<Evidence> =
                evidence.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, e)| e.clone()).collect();
            let posterior = Posterior::of(flower, &others);
            let entry = &evidence[i];
            let without = posterior.next_hours();
            Influence {
                number: entry.number,
                event: entry.event,
                without_hours: without,
                moved_by: all.p50 / without.p50,
                odd: far(entry, &posterior.learned(entry.lot.as_deref()).handled(&entry.handled)) > ODD,
            }
        })
        .collect()
}

/// How many standard deviations the end of half of an entry's heads lies from its prediction; 0 where the looks bracket the
/// prediction.
fn far(entry: &Evidence, known: &Learned) -> f64 {
    let heads: f64 = entry.cells.iter().map(|c| c.count).sum();
    let mut ended = 0.0;
    let half = entry.cells.iter().find(|c| {
        ended += c.count;
        ended >= 0.5 * heads
    });
    let spreads = [known.spread, known.lot, entry.error, known.head.hypot(entry.extra) / heads.sqrt()];
    let sd = spreads.iter().map(|s| s * s).sum::<f64>().sqrt();
    let at = |cell: f64| entry.place(cell, known.middle);
    half.map_or(0.0, |c| (known.middle.clamp(at(c.after), at(c.by)) - known.middle).abs() / sd)
}

#[cfg(test)]
mod tests {
    use super::super::evidence::Cell;
    use super::*;
    use crate::flower::catalogue::Catalogue;
    use crate::flower::learned::WAYS;

    /// Sixteen heads, six of which ended by the first place and ten between it and the second.
    fn entry(first: f64, second: f64) -> Evidence {
        let cell = |after, by, count| Cell { after, by, aged: [1.0, 1.0], count };
        Evidence {
            number: 1,
            event: false,
            lot: None,
            cells: vec![cell(f64::NEG_INFINITY, first, 6.0), cell(first, second, 10.0)],
            weighed: None,
            error: 0.4,
            extra: 0.3,
            treated: false,
            handled: [0.0; WAYS],
            lacked: None,
        }
    }

    /// The spreads are 1.2, 0.3, 0.4 and 0.5 of one head in sixteen, a quarter of it each (by hand).
    #[test]
    fn an_entry_is_as_far_off_as_the_end_of_half_of_its_heads() {
        let nothing = Learned::nothing(&Catalogue::shipped().all()[0]);
        let known = Learned { middle: 0.5, spread: 1.2, lot: 0.3, head: 0.4, ..nothing };
        let sd = (1.44 + 0.09 + 0.16 + 0.25 / 16.0f64).sqrt();
        for (first, second, off) in [(1.5, 2.5, 1.0), (-3.0, -2.0, 2.5), (0.0, 1.0, 0.0)] {
            let told = far(&entry(first, second), &known);
            assert!((told - off / sd).abs() < 1e-12, "{first} to {second}: {told}");
        }
        let seen = Evidence { cells: Vec::new(), ..entry(0.0, 1.0) };
        assert_eq!(far(&seen, &known), 0.0);
    }

    #[test]
    fn an_early_end_draws_hours_down_by_the_factor_that_is_told() {
        let dahlia = Catalogue::shipped().find("dahlia").unwrap();
        let notes = [entry(-2.0, -1.5), Evidence { number: 2, ..entry(0.0, 0.5) }];
        let all = Posterior::of(dahlia, &notes).next_hours().p50;
        let told = influences(dahlia, &notes);
        assert_eq!(told.iter().map(|i| i.number).collect::<Vec<_>>(), [1, 2]);
        for one in &told {
            assert!((one.moved_by * one.without_hours.p50 - all).abs() < 1e-9, "{one:?}");
        }
        assert!(told[0].moved_by < 1.0 && told[1].moved_by > 1.0, "{told:?}");
    }
}
