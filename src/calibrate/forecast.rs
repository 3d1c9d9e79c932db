//! What an event's plan forecasts of one flower at one hour, and what that hour is worth as a trial.

use super::evidence::worth;
use crate::climate::Climate;
use crate::decide::options::Scene;
use crate::decide::placing::{grid, placing};
use crate::event::{Criterion, Event, Order, Piece};
use crate::flower::treatment::Treatment;
use crate::numerics::random::Key;
use crate::simulate::journey::Supply;
use crate::simulate::run::LOTS;
use rand_distr::{Binomial, Distribution};

/// A forecast is kept as so many equally likely counts.
const KEPT: usize = 39;

/// Some heads of an order, placed at one hour and counted at another.
#[derive(Debug, Clone, Copy)]
pub struct Count<'a> {
    /// The event.
    pub event: &'a Event,
    /// The piece.
    pub piece: &'a Piece,
    /// The order.
    pub order: &'a Order,
    /// How they were set.
    pub treatment: Treatment,
    /// When they were placed, on the event's clock.
    pub placed: f64,
    /// When they were counted.
    pub seen: f64,
    /// How many were counted.
    pub of: u32,
}

impl Count<'_> {
    /// Equally likely counts of presentable heads, in rising order.
    pub fn forecast(&self, seed: u64) -> Vec<f64> {
        let Count { event, piece, order, treatment, placed, seen, of } = *self;
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let scene = Scene::new(event, (piece, order), &spaces, (seed, LOTS));
        let hour = scene.grid.hour(scene.grid.index(seen) as f64);
        let shares = scene.shares_at(scene.journey(placed, 0.0, None), treatment, &[hour]);
        let mut generator = Key::named(seed, "forecast").generator(0);
        let mut counts: Vec<f64> = shares
            .iter()
            .flat_map(|lot| {
                let law =
                    Binomial::new(u64::from(of), lot[0].clamp(0.0, 1.0)).expect("a share is a probability");
                (0..8).map(|_| law.sample(&mut generator) as f64).collect::<Vec<_>>()
            })
            .collect();
        counts.sort_unstable_by(f64::total_cmp);
        (0..KEPT).map(|i| counts[(2 * i + 1) * counts.len() / (2 * KEPT)]).collect()
    }

    /// Hours of the reference air that the heads went through out of water until they were counted, and how far off
    /// that may be in the logarithm; none where they had water, or where limp heads alone were counted as gone.
    pub fn worth(&self) -> Option<(f64, f64)> {
        let Count { event, piece, order, treatment, placed, seen, .. } = *self;
        if !treatment.method.is_dry() || order.counts != Criterion::Flagging {
            return None;
        }
        let grid = grid(event);
        let journey = placing(event, piece, &grid, placed, 0.0, &order.refills);
        let (mut sum, mut error) = (0.0, 0.0);
        let after = journey.after.iter();
        for leg in journey.before.iter().filter(|l| l.supply == Supply::Dry).chain(after) {
            let (from, to) = (grid.hour(leg.from as f64), grid.hour(leg.to as f64).min(seen));
            if to > from {
                let (hours, off) = worth(order.flower, &event.spaces[leg.space].climate, from, to);
                sum += hours;
                error += hours * off;
            }
        }
        (sum > 0.0).then(|| (sum, error / sum))
    }
}
