//! What would make an event possible that is not: each remedy is planned in full, alone.

use super::alternatives::{Alternative, Kind};
use super::decision::Decision;
use super::options::Scene;
use super::placing::grid;
use super::prospects::Prospects;
use super::swaps::stand_ins;
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate};
use crate::event::{Event, OrderId, stood_in};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;

/// Something that would make a plan possible that is not.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// What would have to change.
    pub change: Change,
    /// The plan then.
    pub then: Alternative,
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
    Water(Vec<OrderId>),
    /// Other flowers instead of those of some orders.
    Swap(Vec<(OrderId, &'static Flower)>),
}

/// Cooling is asked for at this temperature, C.
const COOLED_C: f64 = 21.0;
/// So long before the doors.
const COOLED_BEFORE: f64 = 4.0;
/// How much more access is asked for, h.
const ACCESS: [f64; 4] = [0.5, 1.0, 2.0, 3.0];
/// The most people more that are asked for.
const MOST_MORE: u32 = 12;
/// How many stand-ins are tried for each order, and with what part of the lots: the whole plan is tried with all of them
/// afterwards.
const STAND_INS: usize = 8;
const SCREENED_WITH: usize = 4;

/// What would help, each alone, the cheapest first. Only what makes the whole event possible counts.
pub(super) fn remedies(prospects: &Prospects, decision: &Decision) -> Vec<Remedy> {
    let event = &prospects.event;
    let now = Alternative::of(Kind::Cheapest, event, decision);
    let mut found = Found { remedies: Vec::new() };
    if now.fails.is_empty() {
        more_hands_and_things(&mut found, prospects, &now);
    } else {
        easier_on_the_flowers(&mut found, prospects, &now.fails);
    }
    for more in ACCESS {
        let mut works = false;
        for (window, with) in more_access(event, more) {
            let then = anew(prospects, &now.fails, &with, prospects.spaces.clone());
            works |= found.tried(Change::Access(window.0, window.1), &then, &with);
        }
        if works {
            break;
        }
    }
    found.remedies.sort_by(|a, b| a.then.cost.total_cmp(&b.then.cost));
    found.remedies
}

/// The remedies found so far.
struct Found {
    remedies: Vec<Remedy>,
}

impl Found {
    /// Plans the event as changed, keeps the remedy if everything lasts then, and says whether it does.
    fn tried(&mut self, change: Change, with: &Prospects, event: &Event) -> bool {
        let then = Alternative::of(Kind::Cheapest, event, &with.decide(event, |_, _| true));
        let works = then.works();
        if works {
            self.remedies.push(Remedy { change, then });
        }
        works
    }
}

/// Where every flower lasts if there are hands and things enough.
fn more_hands_and_things(found: &mut Found, prospects: &Prospects, now: &Alternative) {
    let event = &prospects.event;
    for more in 1..=MOST_MORE {
        let mut with = event.clone();
        with.means.people += more;
        with.means.skilled += more;
        if found.tried(Change::People(more), prospects, &with) {
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
        found.tried(Change::Things(lacking.clone()), prospects, &with);
    }
}

/// Where some flowers do not last whatever the hands.
fn easier_on_the_flowers(found: &mut Found, prospects: &Prospects, fails: &[OrderId]) {
    let event = &prospects.event;
    let from = event.doors - COOLED_BEFORE;
    let cooled = anew(prospects, fails, event, cooled(prospects, fails, from));
    found.tried(Change::Cooling(COOLED_C, from), &cooled, event);
    let sunny = |id: &OrderId| {
        let sun = |space: usize, hour: u8| prospects.spaces[space].at(f64::from(hour)).sun;
        event.order(*id).0.spaces().any(|space| (0..24).any(|hour| sun(space, hour) > 0.0))
    };
    if fails.iter().any(sunny) {
        let shaded = with_air(prospects, fails, &|_, air| Air { sun: 0.0, ..air });
        found.tried(Change::Shade, &anew(prospects, fails, event, shaded), event);
    }
    if let Some((which, with)) = in_water(event, fails) {
        let then = anew(prospects, fails, &with, prospects.spaces.clone());
        found.tried(Change::Water(which), &then, &with);
    }
    if let Some((swapped, with)) = swapped(prospects, fails) {
        let then = anew(prospects, fails, &with, prospects.spaces.clone());
        found.tried(Change::Swap(swapped), &then, &with);
    }
}

/// The event with so much more access: the last one longer, or another just before the doors.
fn more_access(event: &Event, hours: f64) -> Vec<((f64, f64), Event)> {
    let Some(last) = event.access.last().map(|w| w.1.min(event.doors)) else { return Vec::new() };
    let mut changed = Vec::new();
    if last + hours <= event.doors + 1e-9 {
        let mut longer = event.clone();
        longer.access.last_mut().expect("there is a last").1 = last + hours;
        changed.push(((last, last + hours), longer));
    }
    if last + hours < event.doors - 1e-9 {
        let mut another = event.clone();
        another.access.push((event.doors - hours, event.doors));
        changed.push(((event.doors - hours, event.doors), another));
    }
    changed
}

/// The prospects with some orders simulated anew in a changed event.
fn anew(prospects: &Prospects, which: &[OrderId], event: &Event, spaces: Vec<Climate>) -> Prospects {
    let sample = (prospects.settings.seed, prospects.settings.lots);
    let (mut options, mut lots) = (prospects.options.clone(), prospects.lots.clone());
    for id in which {
        let scene = Scene::new(event, event.order(*id), &spaces, sample);
        (options[id.index()], lots[id.index()]) = (scene.options().into(), scene.lots);
    }
    Prospects { event: event.clone(), settings: prospects.settings, spaces, options, lots }
}

/// The spaces with the air changed where the pieces of some orders stand.
fn with_air(prospects: &Prospects, which: &[OrderId], change: &dyn Fn(f64, Air) -> Air) -> Vec<Climate> {
    let event = &prospects.event;
    let (first, last) = grid(event).span();
    let mut spaces = prospects.spaces.clone();
    for space in stood_in(which.iter().map(|id| event.order(*id).0)) {
        spaces[space] = spaces[space].from_to(first, last).map(change);
    }
    spaces
}

/// The rooms cooled from an hour on. Cooling takes moisture out of air that would otherwise be saturated, and no more.
fn cooled(prospects: &Prospects, which: &[OrderId], from: f64) -> Vec<Climate> {
    with_air(prospects, which, &|hour, air| {
        if hour < from || air.outdoors || air.temperature_c <= COOLED_C {
            return air;
        }
        let vapour_pressure = air.vapour_pressure.min(saturation_vapour_pressure(COOLED_C));
        Air { temperature_c: COOLED_C, vapour_pressure, ..air }
    })
}

/// The event with water tubes for those of some orders that may not have them; `None` where all may.
fn in_water(event: &Event, which: &[OrderId]) -> Option<(Vec<OrderId>, Event)> {
    let dry = |id: &&OrderId| !event.order(**id).1.methods.contains(&Method::WaterTube);
    let watered: Vec<OrderId> = which.iter().filter(dry).copied().collect();
    let mut with = event.clone();
    for id in &watered {
        with.order_mut(*id).methods.push(Method::WaterTube);
    }
    (!watered.is_empty()).then_some((watered, with))
}

/// The event with the likest flower that lasts in the place of some orders; `None` where one of them has no such.
fn swapped(prospects: &Prospects, which: &[OrderId]) -> Option<(Vec<(OrderId, &'static Flower)>, Event)> {
    let event = &prospects.event;
    let sample = (prospects.settings.seed, prospects.settings.lots.div_ceil(SCREENED_WITH));
    let mut with = event.clone();
    let mut swapped = Vec::new();
    for id in which {
        let found = stand_ins(event, event.order(*id), &prospects.spaces, None, sample, STAND_INS);
        let flower = found.iter().skip(1).find(|s| s.lasts.is_some())?.flower;
        with.order_mut(*id).flower = flower;
        swapped.push((*id, flower));
    }
    Some((swapped, with))
}
