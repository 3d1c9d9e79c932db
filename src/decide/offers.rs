//! From the options of every order to offers that a solver can weigh: hands, material and money.

use super::options::PlacingOption;
use super::solve::model::{Candidate, Crew, Model, Part, Slot};
use crate::event::{Event, Order, Piece, Shape};
use crate::flower::treatment::{Method, TOP_UP_MINUTES, Treatment};

/// Slots are this long, h, or longer where there would be too many of them.
const SLOT: f64 = 0.5;
const MOST_SLOTS: f64 = 40.0;
/// Tubes are filled up in the last hour of an access, and the last look is taken in its last half hour.
const FILLED_UP_WITHIN: f64 = 1.0;
const LAST_LOOK_WITHIN: f64 = 0.5;
/// The last look over everything: heads a minute (judgement).
const LOOKED_OVER_A_MINUTE: f64 = 20.0;
/// A head lost counts for this many times its stem, and where nothing lasts for more (judgement).
const LOST_HEAD: f64 = 0.5;
const LOST_WHERE_NONE_LASTS: f64 = 3.0;
/// Offers of the same treatment differ by at least this long, h.
const LATER_BY: f64 = 2.0;
/// Tie-break, in money: what a little more trouble counts for between equals.
const TIE_BREAK: f64 = 1e-4;

/// The time in which people can be on site, cut where any piece may first or last be placed and any chore be done.
pub fn slots(event: &Event) -> Vec<Slot> {
    let access: Vec<(f64, f64)> =
        event.access.iter().map(|(a, b)| (*a, b.min(event.doors))).filter(|(a, b)| a < b).collect();
    let length = (access.iter().map(|(a, b)| b - a).sum::<f64>() / MOST_SLOTS / SLOT).ceil().max(1.0) * SLOT;
    let mut slots = Vec::new();
    for (call, &(from, to)) in access.iter().enumerate() {
        let mut cuts = vec![from, to];
        let chores = event.means.chores.iter().map(|c| c.window);
        for (a, b) in event.pieces.iter().flat_map(|p| event.windows(p)).chain(chores) {
            cuts.extend([a, b].into_iter().filter(|t| *t > from && *t < to));
        }
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.dedup();
        for cut in cuts.windows(2) {
            // Whole lengths from the beginning; what is left over is a shorter one at the end.
            let n = ((cut[1] - cut[0]) / length - 1e-9).ceil() as usize;
            slots.extend((0..n).map(|i| {
                let from = cut[0] + i as f64 * length;
                Slot { from, to: (from + length).min(cut[1]), call }
            }));
        }
    }
    slots
}

/// The slots that lie between two hours; none where no whole one does.
pub fn between(slots: &[Slot], from: f64, to: f64) -> Option<(usize, usize)> {
    let inside = |s: &Slot| s.from >= from - 1e-9 && s.to <= to + 1e-9;
    let first = slots.iter().position(inside)?;
    let last = slots.iter().rposition(inside)?;
    Some((first, last + 1))
}

/// Something that could be done with an order: a way, not before some hour, with so many spare heads.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The index of its first choice.
    pub first: usize,
    /// The earliest that it would do with as many spares; the offer may begin later, to lose fewer heads.
    pub earliest: f64,
    /// Not after.
    pub last: f64,
    /// Heads placed beyond those ordered.
    pub spares: u32,
    /// Whether it meets the target; if not, it is the best there is.
    pub lasts: bool,
    /// What it takes.
    pub candidate: Candidate,
}

/// The offers for an order: for each way and number of spares the earliest time from which every later one is good, so
/// that a late crew is never worse off than an early one. Where no way is good, the best there is.
pub fn offers(
    event: &Event,
    slots: &[Slot],
    (piece, order): (&Piece, &Order),
    options: &[PlacingOption],
) -> Vec<Offer> {
    let nobody_can = || {
        let candidate = Candidate { parts: Vec::new(), cost: 0.0, regret: 0.0, uses: nothing(event) };
        let first = best(options);
        let at = options[first].place_at;
        vec![Offer { first, earliest: at, last: at, spares: 0, lasts: false, candidate }]
    };
    let Some(end) = event.windows(piece).last().map(|w| w.1) else {
        return nobody_can();
    };
    let mut offers: Vec<Offer> = Vec::new();
    let mut offer = |first: usize, earliest: f64, spares: u32| {
        if let Some(candidate) = candidate(event, slots, (piece, order), &options[first], spares, end) {
            offers.push(Offer { first, earliest, last: end, spares, lasts: true, candidate });
        }
    };
    for run in runs(options) {
        // From each time on every later one must be good: the spares that the worst of them asks for.
        let mut asked = vec![None; run.len()];
        let mut worst = Some(0);
        for (k, &i) in run.iter().enumerate().rev() {
            worst = worst.zip(options[i].spares).map(|(a, b)| a.max(b));
            asked[k] = worst;
        }
        let mut told: Option<(f64, u32)> = None;
        for (&first, spares) in run.iter().zip(&asked) {
            let (option, Some(spares)) = (&options[first], *spares) else { continue };
            // Tubes filled up later are an offer of their own only where they are placed before that.
            let of_its_own = option.top_up == options[run[0]].top_up;
            // Later times are offers too: they ask for fewer spares, or lose fewer heads where hands allow it.
            let new = told.is_none_or(|(at, n)| spares < n || option.place_at - at >= LATER_BY - 1e-9);
            if of_its_own && new {
                let earliest = asked.iter().position(|n| n.is_some_and(|n| n <= spares)).unwrap_or(0);
                offer(first, options[run[earliest]].place_at, spares);
                told = Some((option.place_at, spares));
            }
        }
    }
    if offers.is_empty() {
        // The best there is, or earlier at the price of the heads that this loses, so that what falls short anyway asks
        // for no army of hands.
        let best = best(options);
        let same: Vec<usize> = (0..options.len()).filter(|i| options[*i].same_way(&options[best])).collect();
        let heads = f64::from(order.heads);
        for first in same {
            let lost = heads * (options[best].expected - options[first].expected).max(0.0);
            if let Some(mut candidate) = candidate(event, slots, (piece, order), &options[first], 0, end) {
                candidate.regret = LOST_WHERE_NONE_LASTS * lost * order.stem_price();
                let earliest = options[first].place_at;
                offers.push(Offer { first, earliest, last: end, spares: 0, lasts: false, candidate });
            }
        }
        if offers.is_empty() {
            // Access without any length: nobody can work in it, but what comes of it can be told.
            return nobody_can();
        }
    }
    without_dominated(offers)
}

/// The choices of each way in the order of time. Tubes filled up at the end of the last access go on, within it, as
/// tubes that are placed full.
fn runs(options: &[PlacingOption]) -> Vec<Vec<usize>> {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for (i, option) in options.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if options[run[0]].same_way(option) => run.push(i),
            _ => runs.push(vec![i]),
        }
    }
    for r in 0..runs.len() {
        let (head, last) = (&options[runs[r][0]], runs[r][runs[r].len() - 1]);
        if head.top_up.is_some() {
            let late: Vec<usize> = (0..options.len())
                .filter(|i| {
                    let c = &options[*i];
                    c.top_up.is_none() && c.treatment == head.treatment && c.place_at > options[last].place_at
                })
                .collect();
            runs[r].extend(late);
        }
    }
    runs
}

/// What an order takes if it is done as `option` says, not before its time and not after `end`.
fn candidate(
    event: &Event,
    slots: &[Slot],
    (piece, order): (&Piece, &Order),
    option: &PlacingOption,
    spares: u32,
    end: f64,
) -> Option<Candidate> {
    let means = &event.means;
    let heads = f64::from(order.heads + spares);
    let (first, after) = between(slots, option.place_at, end)?;
    let hours = |minutes: f64| heads * minutes / 60.0 * (1.0 + means.slack);
    let mut parts = vec![Part {
        first,
        end: after,
        skilled: needs_skill(piece, option.treatment),
        hours: hours(option.treatment.method.minutes()),
    }];
    if option.treatment.method == Method::WaterTube {
        for at in order.refills.iter().copied().chain(option.top_up) {
            // Filling up later than the last access is for those who are there then.
            if let Some((first, end)) = before(slots, at, FILLED_UP_WITHIN) {
                parts.push(Part { first, end, skilled: false, hours: hours(TOP_UP_MINUTES) });
            }
        }
    }
    let more_stems = spares.div_ceil(order.flower.faces_per_stem());
    let trouble =
        TIE_BREAK * f64::from(option.treatment.method as u8) + TIE_BREAK * option.treatment.tube_ml / 1000.0;
    let mut uses = nothing(event);
    if let Some(thing) = stock_of(event, option.treatment) {
        uses[thing] = order.heads + spares;
    }
    Some(Candidate {
        parts,
        cost: heads * price(event, option.treatment) + f64::from(more_stems) * order.stem_price(),
        regret: trouble + LOST_HEAD * heads * (1.0 - option.expected) * order.stem_price(),
        uses,
    })
}

/// Wiring takes skilled hands, and so does work above the head.
pub fn needs_skill(piece: &Piece, treatment: Treatment) -> bool {
    treatment.method == Method::Wired || piece.shape == Shape::Arch
}

/// None of any thing in stock.
fn nothing(event: &Event) -> Vec<u32> {
    vec![0; event.means.tubes.len() + 1]
}

/// Which thing in stock a way uses: the sizes of tubes in order, then vases.
fn stock_of(event: &Event, treatment: Treatment) -> Option<usize> {
    match treatment.method {
        Method::Tucked | Method::Wired => None,
        Method::WaterTube => event.means.tubes.iter().position(|t| t.ml == treatment.tube_ml),
        Method::BudVase => Some(event.means.tubes.len()),
    }
}

/// What the material of one head costs.
pub fn price(event: &Event, treatment: Treatment) -> f64 {
    let means = &event.means;
    match treatment.method {
        Method::Tucked | Method::Wired => 0.0,
        Method::WaterTube => {
            let near =
                means.tubes.iter().rev().find(|t| t.ml <= treatment.tube_ml).unwrap_or(&means.tubes[0]);
            near.price
        }
        Method::BudVase => means.vase_price,
    }
}

/// The slots of the `hours` before `at`, if people are on site then.
fn before(slots: &[Slot], at: f64, hours: f64) -> Option<(usize, usize)> {
    let end = slots.iter().rposition(|s| s.from < at && at <= s.to + 1e-9)?;
    let call = slots[end].call;
    let first = (0..=end).find(|i| slots[*i].call == call && slots[*i].from >= at - hours - 1e-9);
    Some((first.unwrap_or(end), end + 1))
}

/// Drops every offer than which another is in no way worse.
fn without_dominated(offers: Vec<Offer>) -> Vec<Offer> {
    let worse = |a: &Candidate, b: &Candidate| {
        let (p, q) = (&a.parts[0], &b.parts[0]);
        b.cost + b.regret <= a.cost + a.regret
            && q.hours <= p.hours
            && q.first <= p.first
            && q.end >= p.end
            && q.skilled <= p.skilled
            && b.parts.len() <= a.parts.len()
            && b.uses.iter().zip(&a.uses).all(|(b, a)| b <= a)
    };
    let keep: Vec<bool> = (0..offers.len())
        .map(|i| {
            !(0..offers.len()).any(|j| {
                let (a, b) = (&offers[i].candidate, &offers[j].candidate);
                j != i && worse(a, b) && (!worse(b, a) || j < i)
            })
        })
        .collect();
    offers.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(offer, _)| offer).collect()
}

/// The best of choices none of which meets the target: the way that keeps most heads, the least trouble among equals,
/// as early as it is no worse by a head than its best.
pub fn best(options: &[PlacingOption]) -> usize {
    let score = |c: &PlacingOption| (c.count.p50, c.count.p05, c.share.p50);
    let top = (0..options.len())
        .rev()
        .max_by(|&a, &b| score(&options[a]).partial_cmp(&score(&options[b])).expect("shares are numbers"))
        .expect("a checked event has at least one placing");
    let same: Vec<usize> = (0..options.len()).filter(|&i| options[i].same_way(&options[top])).collect();
    let close = |i: &&usize| {
        options[**i].count.p50 >= options[top].count.p50 - 1.0
            && options[**i].count.p05 >= options[top].count.p05 - 1.0
    };
    let run = same.iter().rev().take_while(close).count().max(1);
    if same[same.len() - run..].contains(&top) { same[same.len() - run] } else { top }
}

/// The event's own work that places no flowers, by its number: chores, and after them the last look over everything.
/// A chore for which there is no time on site is left out; the event says so.
pub fn chores(event: &Event, slots: &[Slot]) -> Vec<(usize, Candidate)> {
    let work = |part: Part| Candidate { parts: vec![part], cost: 0.0, regret: 0.0, uses: nothing(event) };
    let mut chores = Vec::new();
    for (c, chore) in event.means.chores.iter().enumerate() {
        if let Some((first, end)) = between(slots, chore.window.0, chore.window.1) {
            chores.push((c, work(Part { first, end, skilled: chore.skilled, hours: chore.hours })));
        }
    }
    let heads: u32 = event.pieces.iter().flat_map(|p| &p.orders).map(|o| o.heads).sum();
    if let Some((first, end)) = slots.last().and_then(|s| before(slots, s.to, LAST_LOOK_WITHIN)) {
        let hours = f64::from(heads) / LOOKED_OVER_A_MINUTE / 60.0 * (1.0 + event.means.slack);
        let part = Part { first, end, skilled: false, hours };
        chores.push((event.means.chores.len(), work(part)));
    }
    chores
}

/// The whole matter. Orders come first, piece by piece, then chores.
pub fn model(event: &Event, slots: &[Slot], offers: &[Vec<Offer>]) -> Model {
    let means = &event.means;
    let orders = offers.iter().map(|all| all.iter().map(|o| o.candidate.clone()).collect());
    Model {
        slots: slots.to_vec(),
        jobs: orders.chain(chores(event, slots).into_iter().map(|(_, c)| vec![c])).collect(),
        crew: Crew {
            people: means.people,
            skilled: means.skilled,
            hourly: means.hourly,
            minimum: means.minimum,
        },
        stock: means.tubes.iter().map(|t| t.most).chain([means.vases]).collect(),
    }
}
