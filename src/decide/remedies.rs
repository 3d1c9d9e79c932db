//! Remedies: single changes that would make an impossible event possible. Each is planned in full, by itself.

use super::alternatives::Alternative;
use super::decision::Decision;
use super::options::Scene;
use super::placing::grid;
use super::prospects::Prospects;
use super::swaps::{StandIn, stand_ins};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate};
use crate::event::{Event, OrderId, Way, stood_in};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;

/// One change that would make an impossible event possible.
#[derive(Debug, Clone)]
pub struct Remedy {
    /// The change that is needed.
    pub change: Change,
    /// The plan with that change.
    pub then: Alternative,
}

/// What a remedy changes.
#[derive(Debug, Clone)]
pub enum Change {
    /// This many more people, all of them skilled.
    People(u32),
    /// More tubes of each size, in the event's order, and more vases last.
    Things(Vec<u32>),
    /// More people and more things, where neither alone is enough.
    PeopleAndThings(u32, Vec<u32>),
    /// Additional access between these hours, h on the event's clock.
    Access(f64, f64),
    /// Rooms where flowers stand kept at this temperature, C, from this hour on the event's clock.
    Cooling(f64, f64),
    /// Shade over flowers that stand in the sun.
    Shade,
    /// Water tubes for these orders, which were to stay dry.
    Water(Vec<OrderId>),
    /// Another flower for each of these orders.
    Swap(Vec<(OrderId, &'static Flower)>),
}

/// The temperature at which cooling is tried, C.
const COOLED_C: f64 = 21.0;
/// How long before the doors open cooling begins, h.
const COOLED_BEFORE: f64 = 4.0;
/// The lengths of additional access that are tried, h.
const ACCESS: [f64; 4] = [0.5, 1.0, 2.0, 3.0];
/// The most additional people that are tried.
const MOST_MORE: u32 = 12;
/// How many stand-ins are screened for each order, and the divisor of the number of lots for that. The plan with the
/// stand-ins is then simulated with all lots.
const STAND_INS: usize = 8;
const SCREENED_WITH: usize = 4;

/// The remedies that make the whole event possible, each by itself, the cheapest first.
pub(super) fn remedies(prospects: &Prospects, decision: &Decision) -> Vec<Remedy> {
    let event = &prospects.event;
    let now = Alternative::of(Way::Cheapest, prospects, decision);
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
    /// Plans the changed event, keeps the remedy if the plan works, and says whether it does.
    fn tried(&mut self, change: Change, with: &Prospects, event: &Event) -> bool {
        let decision = with.decide(event, |_, _, _| true);
        let then = Alternative::of(Way::Cheapest, with, &decision);
        let works = then.works();
        if works {
            self.remedies.push(Remedy { change, then });
        }
        works
    }
}

/// Tries more people and more stock, for an event whose flowers all last if there is enough of both.
fn more_hands_and_things(found: &mut Found, prospects: &Prospects, now: &Alternative) {
    let event = &prospects.event;
    let more_people = |event: &Event, more: u32| {
        let mut with = event.clone();
        with.means.people += more;
        with.means.skilled += more;
        with
    };
    (1..=MOST_MORE).any(|more| found.tried(Change::People(more), prospects, &more_people(event, more)));
    let lacking = &now.lacking.stock;
    if lacking.iter().all(|n| *n == 0) {
        return;
    }
    let mut with = event.clone();
    for (tube, more) in with.means.tubes.iter_mut().zip(lacking) {
        tube.most = tube.most.map(|n| n + more);
    }
    with.means.vases = with.means.vases.map(|n| n + lacking[lacking.len() - 1]);
    found.tried(Change::Things(lacking.clone()), prospects, &with);
    if found.remedies.is_empty() {
        let both = |more: u32| Change::PeopleAndThings(more, lacking.clone());
        (1..=MOST_MORE).any(|more| found.tried(both(more), prospects, &more_people(&with, more)));
    }
}

/// Tries what is kinder to the flowers, for an event in which some fail however many people there are.
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

/// The event with `hours` more access, and when: the last access made longer, or another one just before the doors
/// open.
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

/// The prospects of a changed event, the orders in `which` simulated anew.
fn anew(prospects: &Prospects, which: &[OrderId], event: &Event, spaces: Vec<Climate>) -> Prospects {
    let sample = (prospects.settings.seed, prospects.settings.lots);
    let (mut options, mut lots) = (prospects.options.clone(), prospects.lots.clone());
    for id in which {
        let scene = Scene::new(event, event.order(*id), &spaces, sample);
        (options[id.index()], lots[id.index()]) = (scene.options().into(), scene.lots);
    }
    Prospects {
        event: event.clone(),
        settings: prospects.settings,
        spaces,
        options,
        lots,
        by_lot: Vec::new(),
    }
}

/// The climates of all spaces, with `change` applied to the air at each hour where the pieces of some orders stand.
fn with_air(prospects: &Prospects, which: &[OrderId], change: &dyn Fn(f64, Air) -> Air) -> Vec<Climate> {
    let event = &prospects.event;
    let (first, last) = grid(event).span();
    let mut spaces = prospects.spaces.clone();
    for space in stood_in(which.iter().map(|id| event.order(*id).0)) {
        spaces[space] = spaces[space].from_to(first, last).map(change);
    }
    spaces
}

/// The climates of all spaces, with the rooms of some orders cooled from an hour on. Cooling removes moisture only from
/// air that would otherwise be more than saturated.
fn cooled(prospects: &Prospects, which: &[OrderId], from: f64) -> Vec<Climate> {
    with_air(prospects, which, &|hour, air| {
        if hour < from || air.outdoors || air.temperature_c <= COOLED_C {
            return air;
        }
        let vapour_pressure = air.vapour_pressure.min(saturation_vapour_pressure(COOLED_C));
        Air { temperature_c: COOLED_C, vapour_pressure, ..air }
    })
}

/// The event with water tubes allowed for those of some orders that were to stay dry; `None` if none was.
fn in_water(event: &Event, which: &[OrderId]) -> Option<(Vec<OrderId>, Event)> {
    let dry = |id: &&OrderId| event.order(**id).1.methods.iter().all(|method| method.is_dry());
    let watered: Vec<OrderId> = which.iter().filter(dry).copied().collect();
    let mut with = event.clone();
    for id in &watered {
        with.order_mut(*id).methods.push(Method::WaterTube);
    }
    (!watered.is_empty()).then_some((watered, with))
}

/// The event with the best stand-in that lasts for each of some orders; `None` if one of them has none.
fn swapped(prospects: &Prospects, which: &[OrderId]) -> Option<(Vec<(OrderId, &'static Flower)>, Event)> {
    let event = &prospects.event;
    let sample = (prospects.settings.seed, prospects.settings.lots.div_ceil(SCREENED_WITH));
    let mut with = event.clone();
    let mut swapped = Vec::new();
    for id in which {
        let found = stand_ins(event, event.order(*id), &prospects.spaces, None, sample, STAND_INS);
        // A client looks at the flower, not at the trouble that it gives.
        let like = |s: &&StandIn| s.likeness.map_or(0.0, |l| l.score);
        let lasting = found.iter().skip(1).filter(|s| s.lasts.is_some());
        let flower = lasting.max_by(|a, b| like(a).total_cmp(&like(b)))?.flower;
        *with.order_mut(*id) = event.stand_in(event.order(*id).1, flower);
        swapped.push((*id, flower));
    }
    Some((swapped, with))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::plan::Settings;
    use crate::decide::prospects::prospects;
    use crate::event::invented;

    const ROSE_DRY: &str = "[[piece.flower]]\nflower = \"rose\"\nheads = 30\ntreatments = [\"tucked\"]\n";
    const DAHLIA: &str =
        "[[piece.flower]]\nflower = \"dahlia\"\nheads = 30\ntreatments = [\"tucked\", \"water tube\"]\n";

    fn event(flowers: &str) -> Event {
        invented(
            "[[access]]\nfrom = \"09:00\"\nto = \"11:00\"\n[[access]]\nfrom = \"13:00\"\nto = \"14:00\"\n",
            flowers,
        )
    }

    #[test]
    fn tubes_are_offered_to_orders_that_had_none() {
        let event = event(&(ROSE_DRY.to_string() + DAHLIA));
        let ids: Vec<OrderId> = event.orders().map(|(id, ..)| id).collect();
        let (which, with) = in_water(&event, &ids).unwrap();
        assert_eq!(which, [ids[0]]);
        assert_eq!(with.order(ids[0]).1.methods, [Method::Tucked, Method::WaterTube]);
        assert_eq!(with.order(ids[1]).1.methods, event.order(ids[1]).1.methods);
        assert!(in_water(&event, &ids[1..]).is_none());
        // What stands in a vase or a vessel was not to stay dry.
        let mut in_vessels = event.clone();
        in_vessels.order_mut(ids[0]).methods = vec![Method::Vessel];
        in_vessels.order_mut(ids[1]).methods = vec![Method::BudVase];
        assert!(in_water(&in_vessels, &ids).is_none());
    }

    /// One person and twenty tubes for two hundred roses: more of the one or of the other is not enough, more of both is.
    #[test]
    fn people_and_things_are_tried_together_where_neither_is_enough() {
        let many = "[[piece.flower]]\nflower = \"rose\"\nheads = 200\ntreatments = [\"water tube\"]\n";
        let event = invented(
            "[[access]]\nfrom = \"13:00\"\nto = \"15:00\"\n[crew]\npeople = 1\n\
             [[tubes]]\nvolume = \"10 ml\"\nmost = 20\n",
            many,
        );
        let prospects = prospects(event, Settings { lots: 8, ..Settings::default() }).unwrap();
        let decision = prospects.decide(&prospects.event, |_, _, _| true);
        let found = remedies(&prospects, &decision);
        assert!(
            found
                .iter()
                .any(|r| matches!(&r.change, Change::PeopleAndThings(n, more) if *n > 0 && more[0] > 0)),
            "{found:?}"
        );
        assert!(found.iter().all(|r| !matches!(r.change, Change::People(_) | Change::Things(_))));
    }

    /// The last access ends two hours before the doors. An hour more can follow it or end at the doors; two hours more do both,
    /// and three are too many.
    #[test]
    fn access_is_made_longer_or_added_before_the_doors() {
        let event = event(DAHLIA);
        assert_eq!(event.doors, 16.0);
        type Window = (f64, f64);
        let windows = |hours: f64| -> Vec<(Window, Vec<Window>)> {
            more_access(&event, hours).into_iter().map(|(window, with)| (window, with.access)).collect()
        };
        let day = (9.0, 11.0);
        assert_eq!(
            windows(1.0),
            [((14.0, 15.0), vec![day, (13.0, 15.0)]), ((15.0, 16.0), vec![day, (13.0, 14.0), (15.0, 16.0)])]
        );
        assert_eq!(windows(2.0), [((14.0, 16.0), vec![day, (13.0, 16.0)])]);
        assert!(windows(3.0).is_empty());
    }

    /// Only what stands in a space of the orders is changed, from the hour on, and only where it is warmer.
    #[test]
    fn a_room_is_cooled_from_an_hour_on() {
        let event = event(ROSE_DRY);
        let ids: Vec<OrderId> = event.orders().map(|(id, ..)| id).collect();
        let prospects = prospects(event, Settings { lots: 1, hotter: 12.0, ..Settings::default() }).unwrap();
        let at = |spaces: &[Climate], hour: f64| spaces[prospects.event.pieces[0].space].at(hour);
        let with = cooled(&prospects, &ids, 12.0);
        let (before, then) = (at(&with, 11.5), at(&with, 15.0));
        assert_eq!(before.temperature_c, at(&prospects.spaces, 11.5).temperature_c);
        assert!(before.temperature_c > COOLED_C && then.temperature_c == COOLED_C);
        let moisture = at(&prospects.spaces, 15.0).vapour_pressure;
        assert_eq!(then.vapour_pressure, moisture.min(saturation_vapour_pressure(COOLED_C)));
        assert!(
            cooled(&prospects, &[], 12.0)[prospects.event.pieces[0].space].at(15.0).temperature_c > COOLED_C
        );
    }
}
