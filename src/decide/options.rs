//! How the heads of an order fare under every treatment and placing time, before anything is chosen.

use super::placing::{grid, placing, times, touched};
use crate::climate::Climate;
use crate::event::{Criterion, Event, Order, Piece};
use crate::flower::treatment::{Method, Treatment};
use crate::simulate::journey::{Grid, Placing};
use crate::simulate::outcome::{EndPoint, HeadOutcome, presentable};
use crate::simulate::run::{Case, Job, Knowledge, Lots, cases};
use crate::stats::counts::Counts;
use crate::stats::{Band, stratified_error};
use std::sync::Arc;

/// The spare heads that may be placed, as shares of those ordered. With more the piece would look different
/// (judgement).
pub const SPARES: [f64; 4] = [0.0, 0.05, 0.10, 0.15];

/// One treatment at one placing time. Times are hours on the event's clock.
#[derive(Debug, Clone)]
pub struct PlacingOption {
    /// How the heads are placed.
    pub treatment: Treatment,
    /// When tubes are filled up beyond the refills that the event asks for, h; `None` if they are not.
    pub top_up: Option<f64>,
    /// When the heads are placed, h.
    pub place_at: f64,
    /// The share presentable at the piece's hour. The band covers lots and what we do not know.
    pub share: Band,
    /// The mean of that share over all lots.
    pub expected: f64,
    /// The simulation's own standard error of `expected`.
    pub error: f64,
    /// How many of the heads ordered are presentable, chance between heads included.
    pub count: Band,
    /// The probability that enough of the heads ordered are presentable, 0 to 1.
    pub assurance: f64,
    /// How many spare heads give the wanted assurance; `None` if even the most allowed are too few.
    pub spares: Option<u32>,
    /// The share presentable in each lot, in rising order.
    shares: Vec<f64>,
}

impl PlacingOption {
    /// Whether the two options differ in the placing time at most.
    pub fn differs_only_in_time(&self, other: &PlacingOption) -> bool {
        self.treatment == other.treatment && self.top_up == other.top_up
    }

    /// The chance that at least `wanted` of `heads` placed heads will be presentable, 0 to 1.
    pub fn sure_of(&self, heads: u32, wanted: u32) -> f64 {
        Counts::of_sorted(&self.shares, heads).expect("a job has lots").at_least(wanted)
    }

    /// [`PlacingOption::sure_of`] if only `own` of the heads are placed like this, and the others in another way. A lot that
    /// is poor in one way is taken to be as poor in the other.
    pub fn sure_with(&self, own: u32, other: &PlacingOption, heads: u32, wanted: u32) -> f64 {
        let part = f64::from(own) / f64::from(heads);
        let shares = self.shares.iter().zip(&other.shares);
        let shares: Vec<f64> = shares.map(|(own, other)| part * own + (1.0 - part) * other).collect();
        Counts::of_sorted(&shares, heads).expect("a job has lots").at_least(wanted)
    }

    /// How many of `heads` placed heads will be presentable.
    pub fn count_of(&self, heads: u32) -> Band {
        Counts::of_sorted(&self.shares, heads).expect("a job has lots").band()
    }
}

/// The placing times at which every treatment was simulated, h, from all options of an order.
pub fn times_tried(options: &[PlacingOption]) -> Vec<f64> {
    options.iter().filter(|o| o.differs_only_in_time(&options[0])).map(|o| o.place_at).collect()
}

/// How many of the heads ordered must be presentable: the wanted share to the nearest head, at least one.
///
/// ```
/// assert_eq!(headwater::decide::options::wanted(9, 0.9), 8);
/// ```
pub fn wanted(heads: u32, share: f64) -> u32 {
    ((f64::from(heads) * share).round() as u32).max(1)
}

/// The numbers of spare heads that may be placed with `heads` ordered heads: [`SPARES`] rounded up.
pub fn spares(heads: u32) -> [u32; SPARES.len()] {
    SPARES.map(|s| (f64::from(heads) * s).ceil() as u32)
}

/// The end-point at which a head stops being good enough for a piece.
pub fn end_point(counts: Criterion) -> EndPoint {
    match counts {
        Criterion::Flagging => EndPoint::Flagging,
        Criterion::Wilted => EndPoint::Wilted,
    }
}

/// The options of an order, ready to be simulated.
pub struct Trials {
    /// What to simulate, one case for each option.
    pub cases: Vec<Case>,
    /// For each case the placing time, the treatment and the extra filling up, h on the event's clock.
    named: Vec<(f64, Treatment, Option<f64>)>,
}

/// One order in the spaces of its event, ready to be simulated.
pub struct Scene<'a> {
    /// The event of the order.
    pub event: &'a Event,
    /// The piece of the order.
    pub piece: &'a Piece,
    /// The order to simulate.
    pub order: &'a Order,
    /// The event's clock in steps.
    pub grid: Grid,
    /// The lots of the order, sampled.
    pub lots: Arc<Lots<'static>>,
}

impl<'a> Scene<'a> {
    /// The scene of an order, its lots newly sampled from `seed`. `spaces` are those of the event or of a scenario.
    pub fn new(
        event: &'a Event,
        (piece, order): (&'a Piece, &'a Order),
        spaces: &[Climate],
        (seed, lots): (u64, usize),
    ) -> Scene<'a> {
        let (touched, grid) = (&touched(event, piece)[..], grid(event));
        let job = Job { flower: order.flower, handling: order.handling, spaces, touched, grid, seed, lots };
        Scene { event, piece, order, grid, lots: Arc::new(Lots::new(job).expect("a job of the event")) }
    }

    /// The scene of an order with lots sampled before. Their job must have touched every space of the order's journeys.
    pub fn of(
        event: &'a Event,
        (piece, order): (&'a Piece, &'a Order),
        lots: Arc<Lots<'static>>,
    ) -> Scene<'a> {
        Scene { event, piece, order, grid: *lots.grid(), lots }
    }

    /// The journey of heads placed at `at` after waiting dry in boxes for `dry_wait` hours.
    pub fn journey(&self, at: f64, dry_wait: f64, top_up: Option<f64>) -> Placing {
        let refills: Vec<f64> = self.order.refills.iter().copied().chain(top_up).collect();
        placing(self.event, self.piece, &self.grid, at, dry_wait, &refills)
    }

    /// The hour until which the piece must last, rounded to the grid, h.
    pub fn until(&self) -> f64 {
        self.grid.hour(self.grid.index(self.piece.until) as f64)
    }

    /// The shares presentable at the piece's hour, by lot, then by case.
    pub fn shares(&self, knowledge: Knowledge, cases: &[Case]) -> Vec<Vec<f64>> {
        self.lots.shares(knowledge, cases, end_point(self.order.counts)).expect("journeys of the event")
    }

    /// The share of a lot's heads presentable at each of some hours.
    pub fn presentable(&self, outcomes: &[HeadOutcome], hours: &[f64]) -> Vec<f64> {
        let end_point = end_point(self.order.counts);
        presentable(outcomes, hours, |f| end_point.of(f))
    }

    /// The shares presentable at some hours, by lot, then by hour, for one placing and treatment.
    pub fn shares_at(&self, placing: Placing, treatment: Treatment, hours: &[f64]) -> Vec<Vec<f64>> {
        let reduce = |_: usize, outcomes: &[HeadOutcome]| self.presentable(outcomes, hours);
        let lots = self
            .lots
            .simulate(Knowledge::AsItIs, &[(placing, treatment)], reduce)
            .expect("a journey of the event");
        lots.into_iter().map(|mut lot| lot.remove(0)).collect()
    }

    /// Every treatment at every placing time, placing by placing; filled-up tubes come last.
    pub fn trials(&self) -> Trials {
        let times = times(self.event, self.piece);
        let treatments = self.order.treatments();
        let placings: Vec<Placing> = times.iter().map(|at| self.journey(*at, 0.0, None)).collect();
        let mut named: Vec<(f64, Treatment, Option<f64>)> =
            times.iter().flat_map(|at| treatments.iter().map(|treatment| (*at, *treatment, None))).collect();
        let mut all = cases(&placings, &treatments);
        // Tubes placed on an earlier access can be filled up at the end of the last one.
        let windows = self.event.windows(self.piece);
        if let (Some(last), true) = (windows.last(), windows.len() > 1 && self.order.refills.is_empty()) {
            let tubes: Vec<Treatment> =
                treatments.into_iter().filter(|t| t.method == Method::WaterTube).collect();
            for at in times.iter().filter(|t| **t < last.0) {
                all.extend(cases(&[self.journey(*at, 0.0, Some(last.1))], &tubes));
                named.extend(tubes.iter().map(|treatment| (*at, *treatment, Some(last.1))));
            }
        }
        Trials { cases: all, named }
    }

    /// Every option: treatments from the least trouble to the most, each by placing time; filled-up tubes after the
    /// others.
    pub fn options(&self) -> Vec<PlacingOption> {
        let trials = self.trials();
        self.tried(&trials, &self.shares(Knowledge::AsItIs, &trials.cases))
    }

    /// [`Scene::options`] from trials already simulated. `shares` are by lot, then by case.
    pub fn tried(&self, trials: &Trials, shares: &[Vec<f64>]) -> Vec<PlacingOption> {
        let option = |(case, &(at, treatment, top_up)): (usize, &(f64, Treatment, Option<f64>))| {
            self.option(treatment, top_up, at, shares.iter().map(|lot| lot[case]).collect())
        };
        let mut options: Vec<PlacingOption> = trials.named.iter().enumerate().map(option).collect();
        let treatments = self.order.treatments();
        let place =
            |o: &PlacingOption| (o.top_up.is_some(), treatments.iter().position(|t| *t == o.treatment));
        // The sort is stable: within a treatment the times stay in order.
        options.sort_by_key(place);
        options
    }

    /// Simulates one option of the order.
    pub fn one(&self, treatment: Treatment, place_at: f64, top_up: Option<f64>) -> PlacingOption {
        let shares = self.shares(Knowledge::AsItIs, &[(self.journey(place_at, 0.0, top_up), treatment)]);
        self.option(treatment, top_up, place_at, shares.into_iter().map(|lot| lot[0]).collect())
    }

    /// The option whose share presentable in each lot is known.
    pub fn option(
        &self,
        treatment: Treatment,
        top_up: Option<f64>,
        place_at: f64,
        by_lot: Vec<f64>,
    ) -> PlacingOption {
        let (heads, target) = (self.order.heads, self.event.target_share);
        let (share, error) =
            (Band::of(&by_lot).expect("a job has lots"), stratified_error(&by_lot).unwrap_or(f64::NAN));
        let expected = by_lot.iter().sum::<f64>() / by_lot.len() as f64;
        let mut shares = by_lot;
        shares.sort_unstable_by(f64::total_cmp);
        let (ordered, wanted) =
            (Counts::of_sorted(&shares, heads).expect("a job has lots"), wanted(heads, target));
        let (count, assurance) = (ordered.band(), ordered.at_least(wanted));
        let enough =
            |more: u32| Counts::of_sorted(&shares, heads + more).expect("a job has lots").at_least(wanted);
        let levels = spares(heads);
        let spares = if assurance >= self.event.assurance {
            Some(0)
        } else if enough(levels[levels.len() - 1]) < self.event.assurance {
            None
        } else {
            // No spares at all are not enough, as the first branch found.
            levels.into_iter().skip(1).find(|more| enough(*more) >= self.event.assurance)
        };
        PlacingOption {
            treatment,
            top_up,
            place_at,
            share,
            expected,
            error,
            count,
            assurance,
            spares,
            shares,
        }
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use statrs::distribution::{Binomial, DiscreteCDF};

    /// An option of which every lot keeps the same share, placed at noon.
    pub fn option(method: Method, share: f64) -> PlacingOption {
        let band = Band { p05: share, p50: share, p95: share };
        PlacingOption {
            treatment: Treatment::new(method, 0.0),
            top_up: None,
            place_at: 12.0,
            share: band,
            expected: share,
            error: 0.0,
            count: band,
            assurance: 0.0,
            spares: None,
            shares: vec![share; 7],
        }
    }

    /// Against the binomial distribution of statrs: 12 heads of which 0.95 last beside 28 of which 0.6 do are 40 of which 0.705 do.
    #[test]
    fn heads_in_two_ways_last_as_often_as_their_mean() {
        let (wet, dry) = (option(Method::WaterTube, 0.95), option(Method::Tucked, 0.6));
        let known = |share: f64| 1.0 - Binomial::new(share, 40).unwrap().cdf(27);
        assert!((wet.sure_with(12, &dry, 40, 28) - known(0.705)).abs() < 1e-3, "{}", known(0.705));
        for (own, share) in [(40, 0.95), (0, 0.6)] {
            assert!((wet.sure_with(own, &dry, 40, 28) - known(share)).abs() < 1e-3, "{own}");
        }
        assert!((wet.sure_of(40, 28) - known(0.95)).abs() < 1e-3);
    }
}
