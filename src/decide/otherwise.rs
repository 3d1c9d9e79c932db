//! What the plan would be otherwise: other ways to do the whole of it, and what would help where it cannot be done.

use super::assign::Lacking;
use super::buying::paid_hours;
use super::options::{PlacingOption, Scene};
use super::placing::grid;
use super::plan::{Decision, Prospects, orders};
use super::swaps::stand_ins;
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate};
use crate::event::{Event, Order, Piece, stood_in};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;
use rayon::prelude::*;

/// Another way to do the whole event.
#[derive(Debug, Clone)]
pub struct Other {
    /// What is done, in a few words.
    pub name: String,
    /// Hands, tubes and vases, and spare stems, in money.
    pub cost: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Hours paid.
    pub paid_hours: f64,
    /// Tubes.
    pub tubes: u32,
    /// Vases.
    pub vases: u32,
    /// The orders, by their number, that it does not keep.
    pub fails: Vec<usize>,
    /// What it needs beyond what there is.
    pub lacking: Lacking,
}

impl Other {
    /// Whether it keeps every flower with the hands and things there are.
    pub fn works(&self) -> bool {
        self.fails.is_empty() && self.lacking.is_nothing()
    }

    /// What was decided, under a name.
    pub(super) fn of(name: String, event: &Event, decision: &Decision) -> Other {
        let (model, solution) = (&decision.model, &decision.solution);
        let uses = |thing: usize| -> u32 {
            model.jobs.iter().zip(&solution.chosen).map(|(job, c)| job[*c].uses[thing]).sum()
        };
        let at = |slot: usize| -> u32 {
            solution.shifts.iter().filter(|s| s.first <= slot && slot < s.end).map(|s| s.people).sum()
        };
        let vases = event.means.tubes.len();
        let chosen = decision.offers.iter().zip(&solution.chosen);
        Other {
            name,
            cost: solution.cost,
            people: (0..model.slots.len()).map(at).max().unwrap_or(0),
            paid_hours: paid_hours(decision),
            tubes: (0..vases).map(uses).sum(),
            vases: uses(vases),
            fails: chosen.enumerate().filter(|(_, (o, c))| !o[**c].lasts).map(|(i, _)| i).collect(),
            lacking: solution.lacking.clone(),
        }
    }
}

/// Which treatments an order of these choices may get.
type Allowed = fn(&[PlacingOption], Method) -> bool;

/// A late crew against tubes against vases.
const FEWER: [(&str, Allowed); 3] = [
    ("all dry, as late as it must be", |_, t| t.is_dry()),
    ("tubes where dry does not last", |_, t| t != Method::BudVase),
    ("vases where dry does not last", |all, t| {
        t != Method::WaterTube || !all.iter().any(|c| c.treatment.method == Method::BudVase)
    }),
];

fn with_fewer(prospects: &Prospects, allowed: Allowed) -> Decision {
    prospects.decide(&prospects.event, |all, c| allowed(all, c.treatment.method))
}

/// What would be decided if nothing could be given water.
pub fn all_dry(prospects: &Prospects) -> Decision {
    with_fewer(prospects, FEWER[0].1)
}

/// What would be decided with fewer ways allowed. What is cheapest of all is cheapest of fewer ways, where they hold it.
pub fn fewer_ways(prospects: &Prospects, decision: &Decision, dry: &Decision) -> Vec<Other> {
    let holds = |allowed: Allowed| {
        let mut chosen = decision.offers.iter().zip(&decision.solution.chosen).zip(&prospects.options);
        chosen.all(|((offers, c), all)| allowed(all, all[offers[*c].first].treatment.method))
    };
    let others = FEWER.into_par_iter().enumerate().map(|(i, (name, allowed))| {
        let of = |decision: &Decision| Other::of(name.to_string(), &prospects.event, decision);
        match (holds(allowed), i) {
            (true, _) => of(decision),
            (false, 0) => of(dry),
            (false, _) => of(&with_fewer(prospects, allowed)),
        }
    });
    others.collect()
}

/// What would be decided with the first access alone, where there are others.
pub fn first_access(prospects: &Prospects) -> Option<Other> {
    let [first, _, ..] = prospects.event.access[..] else { return None };
    let first = Event { access: vec![first], ..prospects.event.clone() };
    let decision = prospects.decide(&first, |_, _| true);
    Some(Other::of("everything on the first access".to_string(), &first, &decision))
}

/// Something that would make a plan possible that is not.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// What would have to change.
    pub change: Change,
    /// The plan then.
    pub then: Other,
}

/// A change for the better.
#[derive(Debug, Clone)]
pub enum Change {
    /// So many more people, all of them skilled.
    People(u32),
    /// So many more tubes and vases, by size.
    Things(Vec<u32>),
    /// Access between these hours besides.
    Access(f64, f64),
    /// The rooms where flowers stand kept at this temperature from this hour on, C and h.
    Cooling(f64, f64),
    /// Shade over what stands in the sun.
    Shade,
    /// Water for the orders, by their number, that were to do without.
    Water(Vec<usize>),
    /// Other flowers instead of those of some orders.
    Swap(Vec<(usize, &'static Flower)>),
}

/// Cooling is asked for at this temperature, C.
const COOLED_C: f64 = 21.0;
/// So long before the doors.
const COOLED_BEFORE: f64 = 4.0;
/// How much more access is asked for, h.
const ACCESS: [f64; 4] = [0.5, 1.0, 2.0, 3.0];
/// The most people more that are asked for.
const MOST_MORE: u32 = 12;
/// How many stand-ins are tried for each order, and with what share of the deliveries: the whole plan is tried with all
/// of them afterwards.
const STAND_INS: usize = 8;
const SCREENED_WITH: usize = 4;

/// What would help, each alone, the cheapest first. Only what makes the whole event possible counts.
pub fn remedies(prospects: &Prospects, decision: &Decision) -> Vec<Remedy> {
    let event = &prospects.event;
    let now = Other::of(String::new(), event, decision);
    let mut remedies = Vec::new();
    let mut tell = |change: Change, with: &Prospects, event: &Event| -> bool {
        let then = Other::of(String::new(), event, &with.decide(event, |_, _| true));
        let works = then.works();
        if works {
            remedies.push(Remedy { change, then });
        }
        works
    };
    if now.fails.is_empty() {
        for more in 1..=MOST_MORE {
            let mut with = event.clone();
            with.means.people += more;
            with.means.skilled += more;
            if tell(Change::People(more), prospects, &with) {
                break;
            }
        }
        let lacking = &now.lacking.stock;
        if lacking.iter().any(|n| *n > 0) {
            let mut with = event.clone();
            for (tube, more) in with.means.tubes.iter_mut().zip(lacking) {
                tube.most = tube.most.map(|n| n + more);
            }
            with.means.vases = with.means.vases.map(|n| n + lacking[lacking.len() - 1]);
            tell(Change::Things(lacking.clone()), prospects, &with);
        }
    } else {
        let fails = &now.fails;
        let from = event.doors - COOLED_BEFORE;
        tell(
            Change::Cooling(COOLED_C, from),
            &anew(prospects, fails, event, cooled(prospects, fails, from)),
            event,
        );
        let sunny = |(piece, _): (&Piece, &Order)| {
            piece.spaces().any(|s| (0..24).any(|h| prospects.spaces[s].at(f64::from(h)).sun > 0.0))
        };
        if orders(event).enumerate().any(|(i, order)| fails.contains(&i) && sunny(order)) {
            let shaded = with_air(prospects, fails, &|_, air| Air { sun: 0.0, ..air });
            tell(Change::Shade, &anew(prospects, fails, event, shaded), event);
        }
        if let Some((which, with)) = in_water(event, fails) {
            tell(Change::Water(which), &anew(prospects, fails, &with, prospects.spaces.clone()), &with);
        }
        if let Some((swapped, with)) = swapped(prospects, fails) {
            tell(Change::Swap(swapped), &anew(prospects, fails, &with, prospects.spaces.clone()), &with);
        }
    }
    for more in ACCESS {
        let mut works = false;
        for (window, with) in more_access(event, more) {
            let then = anew(prospects, &now.fails, &with, prospects.spaces.clone());
            works |= tell(Change::Access(window.0, window.1), &then, &with);
        }
        if works {
            break;
        }
    }
    remedies.sort_by(|a, b| a.then.cost.total_cmp(&b.then.cost));
    remedies
}

/// The event with so much more access: the last one longer, or another just before the doors.
fn more_access(event: &Event, hours: f64) -> Vec<((f64, f64), Event)> {
    let Some(last) = event.access.last().map(|w| w.1.min(event.doors)) else { return Vec::new() };
    let mut treatments = Vec::new();
    if last + hours <= event.doors + 1e-9 {
        let mut longer = event.clone();
        longer.access.last_mut().expect("there is a last").1 = last + hours;
        treatments.push(((last, last + hours), longer));
    }
    if last + hours < event.doors - 1e-9 {
        let mut another = event.clone();
        another.access.push((event.doors - hours, event.doors));
        treatments.push(((event.doors - hours, event.doors), another));
    }
    treatments
}

/// The prospects with some orders tried anew in a changed event.
fn anew(prospects: &Prospects, which: &[usize], event: &Event, spaces: Vec<Climate>) -> Prospects {
    let sample = (prospects.settings.seed, prospects.settings.lots);
    let (mut options, mut lots) = (prospects.options.clone(), prospects.lots.clone());
    for (i, order) in orders(event).enumerate().filter(|(i, _)| which.contains(i)) {
        let scene = Scene::new(event, order, &spaces, sample);
        (options[i], lots[i]) = (scene.options(), scene.lots);
    }
    Prospects { event: event.clone(), settings: prospects.settings, spaces, options, lots }
}

/// The spaces with the air changed where the pieces of some orders stand.
fn with_air(prospects: &Prospects, which: &[usize], change: &dyn Fn(f64, Air) -> Air) -> Vec<Climate> {
    let event = &prospects.event;
    let (first, last) = grid(event).span();
    let mut spaces = prospects.spaces.clone();
    let pieces = orders(event).enumerate().filter(|(i, _)| which.contains(i)).map(|(_, (piece, _))| piece);
    for space in stood_in(pieces) {
        spaces[space] = spaces[space].from_to(first, last).map(change);
    }
    spaces
}

/// The rooms cooled from an hour on. Cooling takes moisture out of air that would otherwise be saturated, and no more.
fn cooled(prospects: &Prospects, which: &[usize], from: f64) -> Vec<Climate> {
    with_air(prospects, which, &|hour, air| {
        if hour < from || air.outdoors || air.temperature_c <= COOLED_C {
            return air;
        }
        let vapour_pressure = air.vapour_pressure.min(saturation_vapour_pressure(COOLED_C));
        Air { temperature_c: COOLED_C, vapour_pressure, ..air }
    })
}

/// The event with water for those of some orders that were to do without.
fn in_water(event: &Event, which: &[usize]) -> Option<(Vec<usize>, Event)> {
    let mut with = event.clone();
    let mut watered = Vec::new();
    let all = with.pieces.iter_mut().flat_map(|p| p.orders.iter_mut());
    for (i, order) in all.enumerate().filter(|(i, _)| which.contains(i)) {
        if !order.methods.contains(&Method::WaterTube) {
            order.methods.push(Method::WaterTube);
            watered.push(i);
        }
    }
    (!watered.is_empty()).then_some((watered, with))
}

/// The event with the likest flower that lasts in the place of some orders; `None` where one of them has no such.
fn swapped(prospects: &Prospects, which: &[usize]) -> Option<(Vec<(usize, &'static Flower)>, Event)> {
    let event = &prospects.event;
    let sample = (prospects.settings.seed, prospects.settings.lots.div_ceil(SCREENED_WITH));
    let mut with = event.clone();
    let mut swapped = Vec::new();
    for (i, order) in orders(event).enumerate().filter(|(i, _)| which.contains(i)) {
        let found = stand_ins(event, order, &prospects.spaces, None, sample, STAND_INS);
        let flower = found.iter().skip(1).find(|s| s.lasts.is_some())?.flower;
        with.pieces.iter_mut().flat_map(|p| p.orders.iter_mut()).nth(i)?.flower = flower;
        swapped.push((i, flower));
    }
    Some((swapped, with))
}

/// Whether a choice can be had within the access of an event.
pub fn within(event: &Event, option: &PlacingOption) -> bool {
    event
        .access
        .iter()
        .any(|(a, b)| *a - 1e-9 <= option.place_at && option.place_at <= b.min(event.doors) + 1e-9)
}
