//! The plan of an event: for every order what to do, from when to when, and the hands and things it takes.

use super::assign::{Lacking, Model, Slot, Solution};
use super::buying::{Bill, bill};
use super::crew::{Rota, Task, Work, rota};
use super::flower::flower;
pub use super::flower::{Curve, FlowerPlan, Grade, Rival};
pub use super::options::PlacingOption;
use super::options::{Scene, Trials};
use super::otherwise::{Other, Remedy, all_dry, fewer_ways, first_access, remedies, within};
pub use super::placing::LONGEST_WAIT;
use super::placing::{first_step, grid, touched};
use super::tasks::{Offer, chores, model, offers, slots};
use crate::climate::Climate;
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::Kind;
use crate::simulate::run::{Job, Knowledge, Lots};
use rayon::prelude::*;
use std::sync::Arc;

/// How the plan is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The seed of the random draws.
    pub seed: u64,
    /// How many lots are simulated.
    pub lots: usize,
    /// All spaces but the cool store this much warmer at the same moisture, K.
    pub hotter: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { seed: 1, lots: crate::simulate::run::LOTS, hotter: 0.0 }
    }
}

/// What is planned for a piece.
#[derive(Debug, Clone)]
pub struct PiecePlan {
    /// The piece.
    pub piece: Piece,
    /// Its flowers.
    pub flowers: Vec<FlowerPlan>,
}

/// The plan of an event.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The event.
    pub event: Event,
    /// How it was computed.
    pub settings: Settings,
    /// Its pieces.
    pub pieces: Vec<PiecePlan>,
    /// Who does what from when to when.
    pub rota: Rota,
    /// What hands and things there are too few of.
    pub lacking: Lacking,
    /// By what share of its cost a cheaper plan might undercut it at most.
    pub gap: f64,
    /// What to buy, and what it all costs.
    pub bill: Bill,
    /// Other ways to do the whole of it, the plan's own first.
    pub others: Vec<Other>,
    /// What would help where it cannot be done.
    pub remedies: Vec<Remedy>,
}

impl Plan {
    /// The simulation's own standard error of an expected share, in the root mean square over all choices.
    pub fn error(&self) -> f64 {
        let options = || self.flowers().flat_map(|f| &f.options);
        (options().map(|c| c.error.powi(2)).sum::<f64>() / options().count() as f64).sqrt()
    }

    /// Whether every flower lasts as wanted, with the hands and things there are.
    pub fn lasts(&self) -> bool {
        self.flowers().all(|f| f.lasts) && self.lacking.is_nothing()
    }

    /// All its flowers.
    pub fn flowers(&self) -> impl Iterator<Item = &FlowerPlan> {
        self.pieces.iter().flat_map(|p| &p.flowers)
    }
}

/// Everything that was tried, for every order of an event, before anything is chosen.
#[derive(Clone)]
pub struct Prospects {
    /// The event.
    pub event: Event,
    /// How it was computed.
    pub settings: Settings,
    /// Its spaces as they are taken to be.
    pub spaces: Vec<Climate>,
    /// The choices of every order, piece by piece.
    pub options: Vec<Vec<PlacingOption>>,
    /// The lots behind them.
    pub(super) lots: Vec<Arc<Lots<'static>>>,
}

/// Tries everything. The same event and settings give the same bits.
pub fn prospects(event: Event, settings: Settings) -> Prospects {
    let spaces = spaces(&event, settings.hotter);
    let lots = lots(&event, &spaces, settings);
    let scenes: Vec<Scene> =
        orders(&event).zip(&lots).map(|(order, lots)| Scene::of(&event, order, Arc::clone(lots))).collect();
    let trials: Vec<Trials> = scenes.iter().map(Scene::trials).collect();
    // Twelve tables alike are lived through once.
    let alike = |i: usize, j: usize| {
        Arc::ptr_eq(&lots[i], &lots[j])
            && scenes[i].order.counts == scenes[j].order.counts
            && trials[i].cases == trials[j].cases
    };
    let options = by_kind(scenes.len(), alike, |same| {
        let shares = scenes[same[0]].shares(Knowledge::AsItIs, &trials[same[0]].cases);
        same.iter().map(|i| scenes[*i].tried(&trials[*i], &shares)).collect()
    });
    drop(scenes);
    Prospects { options, lots, spaces, settings, event }
}

/// The lots of every order. Orders of the same flower in the same state are served from the same ones.
pub(super) fn lots(event: &Event, spaces: &[Climate], settings: Settings) -> Vec<Arc<Lots<'static>>> {
    let orders: Vec<(&Piece, &Order)> = orders(event).collect();
    let alike = |i: usize, j: usize| {
        let (a, b) = (orders[i].1, orders[j].1);
        a.flower.id() == b.flower.id() && a.handling == b.handling
    };
    let first = first_step(event);
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
            grid: grid(event),
            seed: settings.seed,
            lots: settings.lots,
        };
        let lots = Arc::new(Lots::since(job, first).expect("a job of the event"));
        vec![lots; same.len()]
    })
}

/// A value for each of `n`: those alike are worked out together, by `of`, the kinds side by side.
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

/// The spaces of an event, all but the cool store so much warmer at the same moisture.
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

/// The orders of an event with their pieces, piece by piece.
pub fn orders(event: &Event) -> impl Iterator<Item = (&Piece, &Order)> {
    event.pieces.iter().flat_map(|p| p.orders.iter().map(move |o| (p, o)))
}

/// What is offered for every order, and what is decided.
pub struct Decision {
    /// Time in which people can be on site.
    pub slots: Vec<Slot>,
    /// The offers of every order.
    pub offers: Vec<Vec<Offer>>,
    /// The matter that was decided.
    pub model: Model,
    /// What was decided.
    pub solution: Solution,
}

impl Prospects {
    /// The cheapest plan within what there is in `event`, or else the one nearest to it, out of the choices that are
    /// `allowed` and within its access. `allowed` is asked with the choices of the same order.
    pub fn decide(
        &self,
        event: &Event,
        allowed: impl Fn(&[PlacingOption], &PlacingOption) -> bool,
    ) -> Decision {
        let slots = slots(event);
        let offers: Vec<Vec<Offer>> = orders(event)
            .zip(&self.options)
            .map(|(order, options)| {
                let open: Vec<usize> = (0..options.len()).filter(|i| within(event, &options[*i])).collect();
                let fine: Vec<usize> =
                    open.iter().copied().filter(|i| allowed(options, &options[*i])).collect();
                // An order that may be done in no allowed way is done in another, or else not at all.
                let open = match (fine.is_empty(), open.is_empty()) {
                    (false, _) => fine,
                    (true, false) => open,
                    (true, true) => (0..options.len()).collect(),
                };
                let some: Vec<PlacingOption> = open.iter().map(|i| options[*i].clone()).collect();
                let mut offers = offers(event, &slots, order, &some);
                offers.iter_mut().for_each(|o| o.first = open[o.first]);
                offers
            })
            .collect();
        let model = model(event, &slots, &offers);
        let solution = model.within_means().unwrap_or_else(|| model.at_a_stretch());
        Decision { slots, offers, model, solution }
    }
}

/// Plans an event. The same event and settings give the same plan to the last bit.
pub fn plan(event: Event, settings: Settings) -> Plan {
    finish(prospects(event, settings))
}

/// Decides, and works out what follows for every order.
pub fn finish(prospects: Prospects) -> Plan {
    // Side by side: what is decided, and what would be if all were dry or on the first access; then what follows from the
    // one, and what would be decided if fewer ways were allowed.
    let (decision, (dry, first)) = rayon::join(
        || prospects.decide(&prospects.event, |_, _| true),
        || rayon::join(|| all_dry(&prospects), || first_access(&prospects)),
    );
    let ((rota, flowers), fewer) =
        rayon::join(|| follows(&prospects, &decision), || fewer_ways(&prospects, &decision, &dry));
    let cheapest = Other::of("the cheapest mix".to_string(), &prospects.event, &decision);
    let others: Vec<Other> = std::iter::once(cheapest).chain(fewer).chain(first).collect();
    let remedies = if others[0].works() { Vec::new() } else { remedies(&prospects, &decision) };
    let Prospects { event, settings, options, lots, .. } = prospects;
    // Nobody waits for so much memory to be given back.
    rayon::spawn(|| drop(lots));
    let mut flowers =
        flowers.into_iter().zip(options).map(|(flower, options)| FlowerPlan { options, ..flower });
    let pieces: Vec<PiecePlan> = event
        .pieces
        .iter()
        .map(|piece| PiecePlan {
            piece: piece.clone(),
            flowers: flowers.by_ref().take(piece.orders.len()).collect(),
        })
        .collect();
    let bill = bill(&event, &pieces, &decision);
    let Solution { lacking, gap, .. } = decision.solution;
    Plan { rota, lacking, gap, bill, others, remedies, pieces, settings, event }
}

/// What follows from what was decided: the crew's day, and for every order.
fn follows(prospects: &Prospects, decision: &Decision) -> (Rota, Vec<FlowerPlan>) {
    let event = &prospects.event;
    let rota = rota(&decision.model, &decision.solution, &tasks(event, decision));
    let numbers =
        event.pieces.iter().enumerate().flat_map(|(p, piece)| (0..piece.orders.len()).map(move |o| (p, o)));
    let begun: Vec<Option<f64>> =
        numbers.map(|(p, o)| rota.span(Work::Place(p, o)).map(|span| span.0)).collect();
    let all: Vec<_> = orders(event).enumerate().collect();
    let flowers = all.into_par_iter().map(|(i, order)| {
        let scene = Scene::of(event, order, Arc::clone(&prospects.lots[i]));
        let offered = (&decision.offers[i][..], decision.solution.chosen[i]);
        flower(&scene, &prospects.options[i], offered, begun[i])
    });
    let flowers = flowers.collect();
    (rota, flowers)
}

/// The tasks of what was decided.
fn tasks(event: &Event, decision: &Decision) -> Vec<Task> {
    let few_skilled = event.means.skilled < event.means.people;
    let mut tasks = Vec::new();
    let mut add = |work: Work, part: &super::assign::Part, earliest: f64, rank: u32| {
        let (wish, to) = (decision.slots[part.first].from, decision.slots[part.end - 1].to);
        let from = earliest.min(wish);
        tasks.push(Task {
            work,
            from,
            wish,
            to,
            skilled: part.skilled && few_skilled,
            hours: part.hours,
            rank,
        });
    };
    let mut job = 0;
    for (p, piece) in event.pieces.iter().enumerate() {
        for (o, order) in piece.orders.iter().enumerate() {
            let offer = &decision.offers[job][decision.solution.chosen[job]];
            let rank = if order.flower.kind() == Kind::Foliage { 1 } else { 2 };
            for (i, part) in offer.candidate.parts.iter().enumerate() {
                match i {
                    0 => add(Work::Place(p, o), part, offer.earliest, rank),
                    _ => add(Work::TopUp(p, o), part, f64::INFINITY, rank),
                }
            }
            job += 1;
        }
    }
    for (c, chore) in chores(event, &decision.slots) {
        // The last look is the last thing of all that may be done then; other chores come before the flowers.
        let rank = if c == event.means.chores.len() { 3 } else { 0 };
        add(Work::Chore(c), &chore.parts[0], f64::INFINITY, rank);
    }
    tasks
}
