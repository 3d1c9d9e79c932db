//! Compares two groups of trials of one flower, such as plain and sprayed heads.

use super::evidence::{Evidence, in_reference_air};
use super::fit::Posterior;
use super::trial::Trial;
use crate::flower::catalogue::Flower;
use crate::flower::learned::WAYS;
use crate::flower::treatment::Handling;
use crate::stats::Band;
use crate::stats::survival::{Ending, LogRank, Turnbull, log_rank};

/// How the second of two groups of trials compares with the first.
#[derive(Debug, Clone)]
pub struct Comparison {
    /// When the heads of both ended, in hours of the reference air, so that differences of air do not count.
    pub endings: [Vec<Ending>; 2],
    /// The log-rank test, in which an end between two looks counts at the later one.
    pub test: LogRank,
    /// The factor by which the second lasts longer.
    pub factor: Band,
    /// The chance that the second lasts longer.
    pub better: f64,
    /// Whether the sampling behind the last two can be trusted.
    pub trusted: bool,
}

/// Compares two groups of trials of one flower. Trials of the same delivery are compared within it.
///
/// Where all were handled alike the catalogue reckons with it. Where they were not, handling is what is compared, and all count as
/// plain heads.
pub fn compare(flower: &Flower, first: &[&Trial], second: &[&Trial]) -> Comparison {
    let handling = first[0].handling;
    let alike = first.iter().chain(second).all(|t| t.handling == handling);
    let handling = if alike { handling } else { Handling::default() };
    let plain = |group: &[&Trial]| -> Vec<Trial> {
        group.iter().map(|t| Trial { handling, ..(*t).clone() }).collect()
    };
    let (first, second) = (plain(first), plain(second));
    let ends = |group: &[Trial]| -> Vec<Ending> { group.iter().flat_map(in_reference_air).collect() };
    let endings = [ends(&first), ends(&second)];
    let entries = |group: &[Trial], treated: bool| -> Vec<Evidence> {
        group
            .iter()
            .filter_map(Evidence::of)
            .map(|e| Evidence { treated, handled: [0.0; WAYS], ..e })
            .collect()
    };
    let evidence = [entries(&first, false), entries(&second, true)].concat();
    let posterior = Posterior::of(flower, &evidence);
    let test = log_rank(&endings[0], &endings[1], 0.0);
    Comparison {
        test,
        factor: posterior.treated_factor(),
        better: posterior.treated_better(),
        trusted: posterior.trusted(),
        endings,
    }
}

/// The times between which the share still good falls below one half, by the notes alone; `None` where it does not.
pub fn half(endings: &[Ending]) -> Option<(f64, f64)> {
    let mut gone = 0.0;
    let curve = Turnbull::of(endings);
    let found = curve.masses.iter().find(|m| {
        gone += m.count;
        gone >= 0.5 - 1e-9
    })?;
    found.by.is_finite().then_some((found.after, found.by))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_are_past_their_best_between_two_looks_or_not_yet() {
        let (early, late) = (Ending::between(2.0, 4.0), Ending::between(4.0, 6.0));
        assert_eq!(half(&[early.times(7.0), late.times(3.0)]), Some((2.0, 4.0)));
        assert_eq!(half(&[early.times(3.0), late.times(7.0)]), Some((4.0, 6.0)));
        // Exactly half are half.
        assert_eq!(half(&[early.times(5.0), Ending::later_than(4.0).times(5.0)]), Some((2.0, 4.0)));
        assert_eq!(half(&[early.times(4.0), Ending::later_than(4.0).times(6.0)]), None);
        assert_eq!(half(&[]), None);
    }
}
