//! Every option of every order of an event, simulated before anything is chosen.

use super::options::{PlacingOption, Scene, Trials};
use super::placing::{first_step, grid, touched};
use crate::climate::Climate;
use crate::error::{Problem, Result};
use crate::event::{Event, Order, Piece};
use crate::simulate::journey::Grid;
use crate::simulate::run::{Job, Knowledge, Lots, days_met};
use rayon::prelude::*;
use std::sync::Arc;

/// The most that spaces can be made warmer or cooler, K.
const WARMEST: f64 = 60.0;

/// How a plan is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The seed of the random numbers.
    pub seed: u64,
    /// How many lots are simulated, at least 1.
    pub lots: usize,
    /// How much warmer all spaces but the cool store are made at the same moisture, K.
    pub hotter: f64,
}

impl Settings {
    /// Checks that the settings can be simulated.
    ///
    /// # Errors
    /// If `lots` is 0, or `hotter` is not within ±60 K.
    fn checked(&self) -> Result<()> {
        if self.lots == 0 {
            let problem = Problem::new("no lot is to be simulated").expected("a number of lots, from 1");
            return Err(problem.help("Settings::default()").into());
        }
        if !(-WARMEST..=WARMEST).contains(&self.hotter) {
            let problem = Problem::new(format!("rooms cannot be {} K hotter", self.hotter));
            return Err(problem.expected(format!("from -{WARMEST} to {WARMEST} K")).help("5.0").into());
        }
        Ok(())
    }
}

impl Default for Settings {
    fn default() -> Self {
        Settings { seed: 1, lots: crate::simulate::run::LOTS, hotter: 0.0 }
    }
}

/// Every option of every order of an event, simulated.
#[derive(Clone)]
pub struct Prospects {
    /// The event that is planned.
    pub event: Event,
    /// The settings of the simulation.
    pub settings: Settings,
    /// The climates of the event's spaces as simulated, `settings.hotter` included.
    pub spaces: Vec<Climate>,
    /// All options, by order number.
    pub options: Vec<Arc<[PlacingOption]>>,
    /// The sampled lots behind them, by order number.
    pub(super) lots: Vec<Arc<Lots<'static>>>,
    /// The shares presentable behind the options, by order number, then by lot and case; none where the event's day is given.
    pub(super) by_lot: Vec<Arc<ByLot>>,
}

/// Shares presentable by lot, then by case.
type ByLot = Vec<Vec<f64>>;

/// Simulates every option of every order. The same event and settings give the same result to the bit.
///
/// # Errors
/// If the settings ask for no lots or for an impossible warming.
pub fn prospects(event: Event, settings: Settings) -> Result<Prospects> {
    settings.checked()?;
    let spaces = spaces(&event, settings.hotter);
    let lots = lots(&event, &spaces, settings);
    let scenes: Vec<Scene> = event
        .orders()
        .zip(&lots)
        .map(|((_, piece, order), lots)| Scene::of(&event, (piece, order), Arc::clone(lots)))
        .collect();
    let trials: Vec<Trials> = scenes.iter().map(Scene::trials).collect();
    // Orders that are alike, as on twelve tables, are simulated once.
    let alike = |i: usize, j: usize| {
        Arc::ptr_eq(&lots[i], &lots[j])
            && scenes[i].order.counts == scenes[j].order.counts
            && trials[i].cases == trials[j].cases
    };
    let simulated: Vec<(Arc<[PlacingOption]>, Arc<ByLot>)> = by_kind(scenes.len(), alike, |same| {
        let shares = Arc::new(scenes[same[0]].shares(Knowledge::AsItIs, &trials[same[0]].cases));
        same.iter().map(|i| (scenes[*i].tried(&trials[*i], &shares).into(), Arc::clone(&shares))).collect()
    });
    drop(scenes);
    let (options, mut by_lot): (Vec<_>, Vec<_>) = simulated.into_iter().unzip();
    if event.met.is_empty() {
        by_lot.clear();
    }
    Ok(Prospects { options, lots, by_lot, spaces, settings, event })
}

impl Prospects {
    /// The same prospects, knowing that the day is one for which `is_met` holds: those of the deliveries that meet such a day;
    /// `None` where fewer than `fewest` do.
    pub(super) fn on_days(&self, is_met: impl Fn(usize) -> bool, fewest: usize) -> Option<Prospects> {
        let met = days_met(self.settings.seed, self.settings.lots, self.event.met.len());
        let kept: Vec<usize> = (0..met.len()).filter(|lot| is_met(met[*lot])).collect();
        if kept.len() < fewest || self.by_lot.is_empty() {
            return None;
        }
        let options = self.event.orders().zip(self.lots.iter().zip(&self.by_lot)).map(
            |((_, piece, order), (lots, by_lot))| {
                let scene = Scene::of(&self.event, (piece, order), Arc::clone(lots));
                let shares: ByLot = kept.iter().map(|lot| by_lot[*lot].clone()).collect();
                scene.tried(&scene.trials(), &shares).into()
            },
        );
        let options: Vec<Arc<[PlacingOption]>> = options.collect();
        Some(Prospects { options, ..self.clone() })
    }
}

/// The sampled lots, by order number. Orders of the same flower with the same handling share them.
pub(super) fn lots(event: &Event, spaces: &[Climate], settings: Settings) -> Vec<Arc<Lots<'static>>> {
    lots_on((grid(event), first_step(event)), event, spaces, settings)
}

/// [`lots`] on another grid, from its step `first` on.
pub(super) fn lots_on(
    (grid, first): (Grid, usize),
    event: &Event,
    spaces: &[Climate],
    settings: Settings,
) -> Vec<Arc<Lots<'static>>> {
    let orders: Vec<(&Piece, &Order)> = event.orders().map(|(_, piece, order)| (piece, order)).collect();
    let alike = |i: usize, j: usize| {
        let (a, b) = (orders[i].1, orders[j].1);
        a.flower.id() == b.flower.id() && a.handling == b.handling
    };
    by_kind(orders.len(), alike, |same| {
        let order = orders[same[0]].1;
        let mut touched: Vec<usize> = same.iter().flat_map(|i| touched(event, orders[*i].0)).collect();
        touched.sort_unstable();
        touched.dedup();
        let job = Job {
            flower: order.flower,
            handling: order.handling,
            spaces,
            touched: &touched,
            grid,
            seed: settings.seed,
            lots: settings.lots,
        };
        let lots = Arc::new(Lots::since(job, first).expect("a job of the event"));
        vec![lots; same.len()]
    })
}

/// A value for each index below `n`. Indices that are `alike` form one kind, and `of` gives the values of a whole kind;
/// the kinds run in parallel.
fn by_kind<T: Send>(
    n: usize,
    alike: impl Fn(usize, usize) -> bool,
    of: impl Fn(&[usize]) -> Vec<T> + Sync,
) -> Vec<T> {
    let mut kinds: Vec<Vec<usize>> = Vec::new();
    for i in 0..n {
        match kinds.iter_mut().find(|kind| alike(kind[0], i)) {
            Some(kind) => kind.push(i),
            None => kinds.push(vec![i]),
        }
    }
    let valued = kinds.par_iter().flat_map_iter(|kind| kind.iter().copied().zip(of(kind)));
    let mut all: Vec<(usize, T)> = valued.collect();
    all.sort_unstable_by_key(|(i, _)| *i);
    all.into_iter().map(|(_, value)| value).collect()
}

/// The climates of an event's spaces, all but the cool store made `hotter` by so many kelvin at the same moisture.
pub(super) fn spaces(event: &Event, hotter: f64) -> Vec<Climate> {
    event
        .spaces
        .iter()
        .enumerate()
        .map(|(i, s)| match hotter {
            k if k != 0.0 && i != event.travel.store => s.climate.map(|_, air| air.shifted(k, 0.0)),
            _ => s.climate.clone(),
        })
        .collect()
}
