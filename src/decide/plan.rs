//! The plan of an event: for every order what to do, from when to when, and the hands and things it takes.

use super::assign::{Assignment, Lacking, Matter, Slot};
use super::buying::{Bill, bill};
use super::crew::{Rota, Task, Work, rota};
pub use super::options::Choice;
use super::options::{Scene, Trials, mark, times_tried, wanted};
use super::otherwise::{Other, Remedy, remedies, ways, within};
pub use super::placing::LONGEST_WAIT;
use super::placing::{grid, touched};
use super::tasks::{Offer, chores, matter, offers, slots};
use crate::climate::Climate;
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::Kind;
use crate::flower::treatment::{Treatment, Way};
use crate::simulate::kernel::{Cause, Fate, Mark};
use crate::simulate::run::{Case, Job, Knowledge, Lots};
use crate::stats::counts::Counts;
use crate::stats::{Band, Quantiles};
use rayon::prelude::*;
use std::sync::Arc;

const WAITS: [f64; 8] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, LONGEST_WAIT];
/// Curves have a point this often, h.
const CURVE_EVERY: f64 = 0.25;

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

/// A survival curve: the share of heads still presentable by the clock.
#[derive(Debug, Clone)]
pub struct Curve {
    /// What is done.
    pub way: Way,
    /// When it is placed.
    pub place_at: f64,
    /// Hours of the event's clock, and the band of the share there.
    pub points: Vec<(f64, Band)>,
}

/// Another way for an order, against the one chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rival {
    /// What would be done.
    pub way: Way,
    /// Not before.
    pub from: f64,
    /// What it would cost more, its own work at the wage included.
    pub dearer: f64,
    /// Hours of work for one person.
    pub hours: f64,
}

/// What is planned for one flower of a piece.
#[derive(Debug, Clone)]
pub struct FlowerPlan {
    /// The order it answers.
    pub order: Order,
    /// Everything tried: ways in order of trouble, each by placing time.
    pub choices: Vec<Choice>,
    /// The index of the one recommended.
    pub chosen: usize,
    /// Heads placed beyond those ordered.
    pub spares: u32,
    /// Whether it meets the target; if not, it is the best there is.
    pub lasts: bool,
    /// The share wanted.
    pub target: f64,
    /// Not before, not after; where it does not last, from when to when it makes no difference.
    pub window: (f64, f64),
    /// How many of the heads placed will be presentable.
    pub count: Band,
    /// The same with what we do not know of the flower taken at its median: what trials could teach.
    pub count_if_known: Band,
    /// The share, likewise.
    pub share_if_known: Band,
    /// A cheaper way that the hands or the things there are do not allow.
    pub passed_over: Option<Rival>,
    /// The next cheapest way that would do.
    pub runner_up: Option<Rival>,
    /// Hours of work for one person, filling up included.
    pub hours: f64,
    /// When tubes run empty, as they are planned.
    pub tube_empty: Option<Quantiles>,
    /// How many heads will want replacing at the last look, nine times out of ten at most.
    pub repairs: u32,
    /// Share of failures at the piece's hour by cause, for the choice.
    pub causes: Vec<(Cause, f64)>,
    /// Longest the boxes may wait dry just before the latest placing, h, and whether longer waits were not even tried.
    pub dry_wait: Option<(f64, bool)>,
    /// Curves: the choice first, then each other treatment at its best, then dry at the earliest access.
    pub curves: Vec<Curve>,
}

/// How well a flower lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// The wanted share with the wanted assurance.
    Fine,
    /// The wanted share in the middle delivery, with less than the wanted assurance.
    Borderline,
    /// Not the wanted share even in the middle delivery.
    Short,
}

impl FlowerPlan {
    /// How well it lasts.
    pub fn grade(&self) -> Grade {
        match self.lasts {
            true => Grade::Fine,
            false if self.choice().share.p50 >= self.target => Grade::Borderline,
            false => Grade::Short,
        }
    }

    /// The choice that is recommended.
    pub fn choice(&self) -> &Choice {
        &self.choices[self.chosen]
    }

    /// How many heads are placed.
    pub fn heads(&self) -> u32 {
        self.order.heads + self.spares
    }

    /// How many must be presentable.
    pub fn wanted(&self) -> u32 {
        wanted(self.order.heads, self.target)
    }

    /// The choices of one way without filling up, by placing time.
    pub fn of(&self, way: Way) -> impl Iterator<Item = &Choice> {
        self.choices.iter().filter(move |c| c.way == way && c.top_up.is_none())
    }

    /// The choices of one treatment, in the tube that was chosen or else the smallest, by placing time.
    pub fn of_treatment(&self, treatment: Treatment) -> impl Iterator<Item = &Choice> {
        let chosen = self.choice().way;
        let way = if chosen.treatment == treatment {
            Some(chosen)
        } else {
            self.choices.iter().map(|c| c.way).find(|w| w.treatment == treatment)
        };
        self.choices.iter().filter(move |c| Some(c.way) == way && c.top_up.is_none())
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
        let choices = || self.flowers().flat_map(|f| &f.choices);
        (choices().map(|c| c.error.powi(2)).sum::<f64>() / choices().count() as f64).sqrt()
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
    pub choices: Vec<Vec<Choice>>,
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
    let choices = by_kind(scenes.len(), alike, |same| {
        let shares = scenes[same[0]].shares(Knowledge::AsItIs, &trials[same[0]].cases);
        same.iter().map(|i| scenes[*i].tried(&trials[*i], &shares)).collect()
    });
    drop(scenes);
    Prospects { choices, lots, spaces, settings, event }
}

/// The lots of every order. Orders of the same flower in the same state are served from the same ones.
pub(super) fn lots(event: &Event, spaces: &[Climate], settings: Settings) -> Vec<Arc<Lots<'static>>> {
    let orders: Vec<(&Piece, &Order)> = orders(event).collect();
    let alike = |i: usize, j: usize| {
        let (a, b) = (orders[i].1, orders[j].1);
        a.flower.id() == b.flower.id() && a.handling == b.handling
    };
    by_kind(orders.len(), alike, |same| {
        let order = orders[same[0]].1;
        let mut touched: Vec<usize> = same.iter().flat_map(|i| touched(event, orders[*i].0)).collect();
        touched.sort_unstable();
        touched.dedup();
        let lots = Arc::new(Lots::new(Job {
            flower: order.flower,
            handling: order.handling,
            spaces,
            touched: &touched,
            grid: grid(event),
            seed: settings.seed,
            lots: settings.lots,
        }));
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
    pub matter: Matter,
    /// What was decided.
    pub assignment: Assignment,
}

impl Prospects {
    /// The cheapest plan within what there is in `event`, or else the one nearest to it, out of the choices that are
    /// `allowed` and within its access. `allowed` is asked with the choices of the same order.
    pub fn decide(&self, event: &Event, allowed: impl Fn(&[Choice], &Choice) -> bool) -> Decision {
        let slots = slots(event);
        let offers: Vec<Vec<Offer>> = orders(event)
            .zip(&self.choices)
            .map(|(order, choices)| {
                let open: Vec<usize> = (0..choices.len()).filter(|i| within(event, &choices[*i])).collect();
                let fine: Vec<usize> =
                    open.iter().copied().filter(|i| allowed(choices, &choices[*i])).collect();
                // An order that may be done in no allowed way is done in another, or else not at all.
                let open = match (fine.is_empty(), open.is_empty()) {
                    (false, _) => fine,
                    (true, false) => open,
                    (true, true) => (0..choices.len()).collect(),
                };
                let some: Vec<Choice> = open.iter().map(|i| choices[*i].clone()).collect();
                let mut offers = offers(event, &slots, order, &some);
                offers.iter_mut().for_each(|o| o.first = open[o.first]);
                offers
            })
            .collect();
        let matter = matter(event, &slots, &offers);
        let assignment = matter.within_means().unwrap_or_else(|| matter.at_a_stretch());
        Decision { slots, offers, matter, assignment }
    }
}

/// Plans an event. The same event and settings give the same plan to the last bit.
pub fn plan(event: Event, settings: Settings) -> Plan {
    finish(prospects(event, settings))
}

/// Decides, and works out what follows for every order.
pub fn finish(prospects: Prospects) -> Plan {
    let decision = prospects.decide(&prospects.event, |_, _| true);
    let others = ways(&prospects, &decision);
    let remedies = if others[0].works() { Vec::new() } else { remedies(&prospects, &decision) };
    let Prospects { event, settings, choices, lots, .. } = prospects;
    let rota = rota(&decision.matter, &decision.assignment, &tasks(&event, &decision));
    let numbers =
        event.pieces.iter().enumerate().flat_map(|(p, piece)| (0..piece.orders.len()).map(move |o| (p, o)));
    let begun: Vec<Option<f64>> =
        numbers.map(|(p, o)| rota.span(Work::Place(p, o)).map(|span| span.0)).collect();
    let all: Vec<_> = orders(&event).zip(choices).zip(lots).enumerate().collect();
    let flowers: Vec<FlowerPlan> = all
        .into_par_iter()
        .map(|(i, ((order, choices), lots))| {
            let scene = Scene::of(&event, order, lots);
            flower(&scene, choices, &decision.offers[i], decision.assignment.chosen[i], begun[i])
        })
        .collect();
    let mut flowers = flowers.into_iter();
    let pieces: Vec<PiecePlan> = event
        .pieces
        .iter()
        .map(|piece| PiecePlan {
            piece: piece.clone(),
            flowers: flowers.by_ref().take(piece.orders.len()).collect(),
        })
        .collect();
    let bill = bill(&event, &pieces, &decision);
    let Assignment { lacking, gap, .. } = decision.assignment;
    Plan { rota, lacking, gap, bill, others, remedies, pieces, settings, event }
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
            let offer = &decision.offers[job][decision.assignment.chosen[job]];
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

fn flower(
    scene: &Scene,
    choices: Vec<Choice>,
    offers: &[Offer],
    decided: usize,
    begun: Option<f64>,
) -> FlowerPlan {
    let (event, order, grid) = (scene.event, scene.order, scene.grid);
    let offer = &offers[decided];
    let chosen = placed(&choices, offer, begun.unwrap_or(choices[offer.first].place_at));
    let choice = &choices[chosen];
    let heads = order.heads + offer.spares;
    let chosen_way = [(scene.way(choice.place_at, 0.0, choice.top_up), choice.way)];

    let if_known: Vec<f64> =
        scene.shares(Knowledge::Perfect, &chosen_way).into_iter().map(|lot| lot[0]).collect();
    let (lots, curves) = curves(scene, &choices, chosen);
    let all = || lots.iter().flatten();
    let tube_empty = (choice.way.treatment == Treatment::WaterTube)
        .then(|| Quantiles::of(all().filter(|f| f.weight > 0.5).map(|f| (f.empty, f.weight)).collect()));
    let (passed_over, runner_up) = rivals(event, &choices, offers, decided);
    FlowerPlan {
        order: order.clone(),
        spares: offer.spares,
        lasts: offer.lasts,
        target: event.target_share,
        window: (offer.earliest, offer.last),
        count: choice.count_of(heads),
        share_if_known: Band::of(&if_known),
        count_if_known: Counts::of(&if_known, heads).band(),
        passed_over,
        runner_up,
        hours: offer.candidate.parts.iter().map(|p| p.hours).sum(),
        tube_empty,
        repairs: repairs(scene, &lots, offer, heads),
        causes: causes(all(), scene.until(), mark(order.counts)),
        dry_wait: offer.lasts.then(|| {
            let (first, at) = (grid.start + event.travel.drive, offer.last);
            let waits: Vec<f64> = WAITS.iter().copied().filter(|w| at - w >= first).collect();
            let cases: Vec<Case> = waits.iter().map(|w| (scene.way(at, *w, None), choice.way)).collect();
            let shares = scene.shares(Knowledge::AsItIs, &cases);
            let good = |p: &usize| {
                let by_lot = shares.iter().map(|lot| lot[*p]).collect();
                scene.choice(choice.way, None, at, by_lot).spares.is_some_and(|s| s <= offer.spares)
            };
            let fine = (0..waits.len()).take_while(good).count();
            (if fine == 0 { 0.0 } else { waits[fine - 1] }, fine == waits.len())
        }),
        curves,
        chosen,
        choices,
    }
}

/// The choice that comes of an offer if the crew begins with it at some hour: the last one tried before that.
fn placed(choices: &[Choice], offer: &Offer, begun: f64) -> usize {
    let of = &choices[offer.first];
    let same = |i: &usize| {
        let c = &choices[*i];
        c.way == of.way && (c.top_up == of.top_up || c.top_up.is_none()) && c.place_at <= begun + 1e-9
    };
    let filled_up = |i: &usize| choices[*i].top_up == of.top_up;
    (0..choices.len())
        .filter(same)
        .max_by(|a, b| {
            let at = |i: &usize| (choices[*i].place_at, filled_up(i));
            at(a).partial_cmp(&at(b)).expect("hours are numbers")
        })
        .unwrap_or(offer.first)
}

/// How many heads will want replacing at the last look, nine times out of ten at most.
fn repairs(scene: &Scene, lots: &[Vec<Fate>], offer: &Offer, heads: u32) -> u32 {
    let look = scene.event.windows(scene.piece).last().map_or(offer.last, |w| w.1);
    let by_lot: Vec<f64> = lots.iter().map(|lot| scene.presentable(lot, &[look])[0]).collect();
    let lost = heads - (Counts::of(&by_lot, heads).band().p05 as u32).min(heads);
    lost.min((MOST_REPAIRS * f64::from(heads)).ceil() as u32)
}

/// Nobody carries more repair heads than this share of a piece (common practice, no source).
const MOST_REPAIRS: f64 = 0.25;

/// The cheaper way passed over for want of hands or things, and the next cheapest that would do.
fn rivals(
    event: &Event,
    choices: &[Choice],
    offers: &[Offer],
    decided: usize,
) -> (Option<Rival>, Option<Rival>) {
    let hours = |o: &Offer| o.candidate.parts.iter().map(|p| p.hours).sum::<f64>();
    let own = |o: &Offer| o.candidate.cost + event.means.hourly * hours(o);
    let chosen = &offers[decided];
    let way = choices[chosen.first].way;
    let rival = |o: &Offer| Rival {
        way: choices[o.first].way,
        from: choices[o.first].place_at,
        dearer: own(o) - own(chosen),
        hours: hours(o),
    };
    let mut others: Vec<&Offer> =
        offers.iter().filter(|o| o.lasts && choices[o.first].way.treatment != way.treatment).collect();
    others.sort_by(|a, b| own(a).total_cmp(&own(b)));
    let cheaper = others.iter().find(|o| own(o) < own(chosen) - 0.01).map(|o| rival(o));
    let dearer = others.iter().find(|o| own(o) >= own(chosen) - 0.01).map(|o| rival(o));
    (cheaper, dearer)
}

fn causes<'a>(fates: impl Iterator<Item = &'a Fate> + Clone, until: f64, mark: Mark) -> Vec<(Cause, f64)> {
    let failed = fates.filter(|f| mark.of(f) <= until);
    let total: f64 = failed.clone().map(|f| f.weight).sum();
    let mut causes: Vec<(Cause, f64)> = [Cause::Drying, Cause::Ageing, Cause::Heat, Cause::Supply]
        .into_iter()
        .map(|cause| {
            (cause, failed.clone().filter(|f| f.cause == cause).map(|f| f.weight).sum::<f64>() / total)
        })
        .filter(|(_, share)| *share > 0.0)
        .collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    causes
}

/// What becomes of the heads of every lot as chosen, and the curves: the choice first, then each treatment at its telling
/// times.
fn curves(scene: &Scene, choices: &[Choice], chosen: usize) -> (Vec<Vec<Fate>>, Vec<Curve>) {
    let choice = &choices[chosen];
    let times = times_tried(choices);
    let (earliest, latest) = (times[0], times[times.len() - 1]);
    let mut shown = vec![(choice.way, choice.place_at, choice.top_up)];
    for treatment in &scene.order.treatments {
        let ats = if treatment.is_dry() { vec![earliest, latest] } else { vec![choice.place_at] };
        let way = choices.iter().map(|c| c.way).find(|w| w.treatment == *treatment);
        for (at, way) in ats.into_iter().zip(way.into_iter().cycle()) {
            if !shown.iter().any(|(w, t, _)| w.treatment == *treatment && *t == at) {
                shown.push((way, at, None));
            }
        }
    }
    let cases: Vec<Case> =
        shown.iter().map(|(way, at, top_up)| (scene.way(*at, 0.0, *top_up), *way)).collect();
    let hours: Vec<Vec<f64>> = shown.iter().map(|(_, at, _)| hours(scene, *at)).collect();
    let lots = scene.lots.live(Knowledge::AsItIs, &cases, |case, fates| {
        let kept = if case == 0 { fates.to_vec() } else { Vec::new() };
        (kept, scene.presentable(fates, &hours[case]))
    });
    let curves = shown.iter().zip(&hours).enumerate().map(|(case, (&(way, place_at, _), hours))| {
        Curve::of(way, place_at, hours, lots.iter().map(|lot| &lot[case].1[..]))
    });
    let curves = curves.collect();
    (lots.into_iter().map(|mut lot| lot.swap_remove(0).0).collect(), curves)
}

/// The curve of heads placed one way.
pub(super) fn curve(scene: &Scene, way: Way, place_at: f64) -> Curve {
    let hours = hours(scene, place_at);
    let shares = scene.shares_at(scene.way(place_at, 0.0, None), way, &hours);
    Curve::of(way, place_at, &hours, shares.iter().map(|lot| &lot[..]))
}

/// The hours at which a curve has its points.
fn hours(scene: &Scene, place_at: f64) -> Vec<f64> {
    let n = ((scene.event.span().1 - place_at) / CURVE_EVERY).floor() as usize;
    (0..=n).map(|i| place_at + i as f64 * CURVE_EVERY).collect()
}

impl Curve {
    /// The curve through the shares of all lots at some hours.
    fn of<'a>(
        way: Way,
        place_at: f64,
        hours: &[f64],
        lots: impl Iterator<Item = &'a [f64]> + Clone,
    ) -> Curve {
        let band = |i: usize| Band::of(&lots.clone().map(|lot| lot[i]).collect::<Vec<_>>());
        let points = hours.iter().enumerate().map(|(i, hour)| (*hour, band(i))).collect();
        Curve { way, place_at, points }
    }
}
