//! Turns the options of every order into offers that a solver can weigh: work, stock and money.

use super::options::PlacingOption;
use super::solve::model::{Candidate, Crew, Model, Part, Slot};
use crate::event::{Event, Order, Piece, Shape};
use crate::flower::treatment::{Method, TOP_UP_MINUTES, Treatment};

/// The length of a slot, h, and the number of slots above which they are made longer.
const SLOT: f64 = 0.5;
const MOST_SLOTS: f64 = 40.0;
/// How long filling up tubes and the last look may take before they must be finished, h.
const FILLED_UP_WITHIN: f64 = 1.0;
const LAST_LOOK_WITHIN: f64 = 0.5;
/// How many heads a minute one person checks in the last look (judgement).
const LOOKED_OVER_A_MINUTE: f64 = 20.0;
/// The cost of a lost head as a multiple of its stem's price, and the same if nothing meets the target (judgement).
const LOST_HEAD: f64 = 0.5;
const LOST_WHERE_NONE_LASTS: f64 = 3.0;
/// The least time between two offers with the same treatment and spares, h.
const LATER_BY: f64 = 2.0;
/// Tie-break, in money: the regret for each step of trouble, so that the simpler of equal offers is taken.
const TIE_BREAK: f64 = 1e-4;

/// The time in which people can be on site as slots, in order, each call (stretch of access) by itself. They are cut
/// wherever the placing of a piece or the time for a chore begins or ends.
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
            // Slots of full length first, then a shorter one for the rest.
            let n = ((cut[1] - cut[0]) / length - 1e-9).ceil() as usize;
            slots.extend((0..n).map(|i| {
                let from = cut[0] + i as f64 * length;
                Slot { from, to: (from + length).min(cut[1]), call }
            }));
        }
    }
    slots
}

/// The slots that lie wholly between two hours, as the first and the one after the last; `None` if there are none.
pub fn between(slots: &[Slot], from: f64, to: f64) -> Option<(usize, usize)> {
    let inside = |s: &Slot| s.from >= from - 1e-9 && s.to <= to + 1e-9;
    let first = slots.iter().position(inside)?;
    let last = slots.iter().rposition(inside)?;
    Some((first, last + 1))
}

/// What a solver can take for an order: a treatment, a placing time and a number of spare heads.
#[derive(Debug, Clone)]
pub struct Offer {
    /// The index of the first option that it covers.
    pub first: usize,
    /// The earliest placing at which as many spares are enough, h on the event's clock. The offer itself may begin
    /// later, to lose fewer heads.
    pub earliest: f64,
    /// The latest placing, h on the event's clock.
    pub last: f64,
    /// Heads placed beyond those ordered.
    pub spares: u32,
    /// Whether it meets the target. If not, no offer for the order does.
    pub lasts: bool,
    /// The work, money and stock that it takes.
    pub candidate: Candidate,
}

/// The offers for an order. For each treatment and number of spares it is the earliest time from which every later one
/// is good, so that a late crew is never worse off than an early one. If no treatment is good, the best there is.
///
/// # Panics
/// If there are no options.
pub fn offers(
    event: &Event,
    slots: &[Slot],
    (piece, order): (&Piece, &Order),
    options: &[PlacingOption],
) -> Vec<Offer> {
    let unworkable = || {
        let candidate = Candidate { parts: Vec::new(), cost: 0.0, regret: 0.0, uses: nothing(event) };
        let first = best(options);
        let at = options[first].place_at;
        vec![Offer { first, earliest: at, last: at, spares: 0, lasts: false, candidate }]
    };
    let Some(end) = event.windows(piece).last().map(|w| w.1) else {
        return unworkable();
    };
    let offered = Offered { event, slots, piece, order, options, end };
    let mut offers = offered.lasting();
    if offers.is_empty() {
        offers = offered.falling_short();
    }
    if offers.is_empty() {
        // Access of no length: nobody can work in it, but the outcome can still be shown.
        return unworkable();
    }
    without_dominated(offers)
}

/// An order for which offers are made.
struct Offered<'a> {
    event: &'a Event,
    slots: &'a [Slot],
    piece: &'a Piece,
    order: &'a Order,
    options: &'a [PlacingOption],
    /// The latest placing, h on the event's clock.
    end: f64,
}

impl Offered<'_> {
    /// The offers that meet the target.
    fn lasting(&self) -> Vec<Offer> {
        let options = self.options;
        let mut offers: Vec<Offer> = Vec::new();
        for run in runs(options) {
            // For each time the spares needed from then on: the most that any later time needs.
            let mut needed = vec![None; run.len()];
            let mut most = Some(0);
            for (k, &i) in run.iter().enumerate().rev() {
                most = most.zip(options[i].spares).map(|(a, b)| a.max(b));
                needed[k] = most;
            }
            let mut latest: Option<(f64, u32)> = None;
            for (&first, spares) in run.iter().zip(&needed) {
                let (option, Some(spares)) = (&options[first], *spares) else { continue };
                // Tubes placed full at the end of a run of filled-up ones are offered in their own run.
                let of_its_own = option.top_up == options[run[0]].top_up;
                // Later times are offers too: they need fewer spares, or lose fewer heads if the crew can manage.
                let new = latest.is_none_or(|(at, n)| spares < n || option.place_at - at >= LATER_BY - 1e-9);
                if of_its_own && new {
                    let earliest = needed.iter().position(|n| n.is_some_and(|n| n <= spares)).unwrap_or(0);
                    let earliest = options[run[earliest]].place_at;
                    if let Some(candidate) = self.candidate(option, spares) {
                        offers.push(Offer {
                            first,
                            earliest,
                            last: self.end,
                            spares,
                            lasts: true,
                            candidate,
                        });
                    }
                    latest = Some((option.place_at, spares));
                }
            }
        }
        offers
    }

    /// The offers where nothing meets the target: the best treatment at every time, earlier ones at the price of the
    /// heads they lose. An order that falls short anyway should not call for extra people.
    fn falling_short(&self) -> Vec<Offer> {
        let best = &self.options[best(self.options)];
        let heads = f64::from(self.order.heads);
        let mut offers = Vec::new();
        for (first, option) in self.options.iter().enumerate().filter(|(_, o)| o.differs_only_in_time(best)) {
            let lost = heads * (best.expected - option.expected).max(0.0);
            if let Some(mut candidate) = self.candidate(option, 0) {
                candidate.regret = LOST_WHERE_NONE_LASTS * lost * self.order.stem_price();
                let earliest = option.place_at;
                offers.push(Offer { first, earliest, last: self.end, spares: 0, lasts: false, candidate });
            }
        }
        offers
    }

    /// What the order takes with the treatment of `option`, placed between its time and the end; `None` if no whole
    /// slot lies between them.
    fn candidate(&self, option: &PlacingOption, spares: u32) -> Option<Candidate> {
        let (event, slots, order) = (self.event, self.slots, self.order);
        let heads = f64::from(order.heads + spares);
        let (first, after) = between(slots, option.place_at, self.end)?;
        let hours = |minutes: f64| heads * minutes / 60.0 * (1.0 + event.means.slack);
        let mut parts = vec![Part {
            first,
            end: after,
            skilled: needs_skill(self.piece, option.treatment),
            hours: hours(option.treatment.method.minutes()),
        }];
        if option.treatment.method == Method::WaterTube {
            for at in order.refills.iter().copied().chain(option.top_up) {
                // Tubes filled up after the last access are left to whoever is there then.
                if let Some((first, end)) = before(slots, at, FILLED_UP_WITHIN) {
                    parts.push(Part { first, end, skilled: false, hours: hours(TOP_UP_MINUTES) });
                }
            }
        }
        let more_stems = spares.div_ceil(order.flower.faces_per_stem());
        let trouble = TIE_BREAK * f64::from(option.treatment.method as u8)
            + TIE_BREAK * option.treatment.tube_ml / 1000.0;
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
}

/// The indices of options that differ only in time, by placing time. Tubes filled up at the end of the last access are
/// followed by those placed full during that access.
fn runs(options: &[PlacingOption]) -> Vec<Vec<usize>> {
    let mut runs: Vec<Vec<usize>> = Vec::new();
    for (i, option) in options.iter().enumerate() {
        match runs.last_mut() {
            Some(run) if options[run[0]].differs_only_in_time(option) => run.push(i),
            _ => runs.push(vec![i]),
        }
    }
    for r in 0..runs.len() {
        let (head, last) = (&options[runs[r][0]], runs[r][runs[r].len() - 1]);
        if head.top_up.is_some() {
            let late: Vec<usize> = (0..options.len())
                .filter(|i| {
                    let o = &options[*i];
                    o.top_up.is_none() && o.treatment == head.treatment && o.place_at > options[last].place_at
                })
                .collect();
            runs[r].extend(late);
        }
    }
    runs
}

/// Whether the work takes skilled people: wiring does, and so does an arch, where one works overhead.
pub fn needs_skill(piece: &Piece, treatment: Treatment) -> bool {
    treatment.method == Method::Wired || piece.shape == Shape::Arch
}

/// A use of stock that uses nothing: 0 for each size of tube, and for vases.
fn nothing(event: &Event) -> Vec<u32> {
    vec![0; event.means.tubes.len() + 1]
}

/// The index of the stock that a treatment uses: the sizes of tubes in the event's order, then vases.
fn stock_of(event: &Event, treatment: Treatment) -> Option<usize> {
    match treatment.method {
        Method::Tucked | Method::Wired => None,
        Method::WaterTube => event.means.tubes.iter().position(|t| t.ml == treatment.tube_ml),
        Method::BudVase => Some(event.means.tubes.len()),
    }
}

/// The cost of tube or vase for one head, in money.
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

/// The slots in the `hours` before `at`, as the first and the one after the last; `None` if nobody is on site at `at`.
fn before(slots: &[Slot], at: f64, hours: f64) -> Option<(usize, usize)> {
    let end = slots.iter().rposition(|s| s.from < at && at <= s.to + 1e-9)?;
    let call = slots[end].call;
    let first = (0..=end).find(|i| slots[*i].call == call && slots[*i].from >= at - hours - 1e-9);
    Some((first.unwrap_or(end), end + 1))
}

/// Drops every offer that another one equals or beats in all respects.
fn without_dominated(offers: Vec<Offer>) -> Vec<Offer> {
    let dominated = |a: &Candidate, b: &Candidate| {
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
                j != i && dominated(a, b) && (!dominated(b, a) || j < i)
            })
        })
        .collect();
    offers.into_iter().zip(keep).filter(|(_, keep)| *keep).map(|(offer, _)| offer).collect()
}

/// The index of the best of options that all miss the target: the treatment that keeps most heads, of equals the least
/// trouble, placed as early as it keeps at most one head less than at its best.
///
/// # Panics
/// If there are no options.
pub fn best(options: &[PlacingOption]) -> usize {
    let score = |o: &PlacingOption| (o.count.p50, o.count.p05, o.share.p50);
    let top = (0..options.len())
        .rev()
        .max_by(|&a, &b| score(&options[a]).partial_cmp(&score(&options[b])).expect("shares are numbers"))
        .expect("a checked event has at least one placing");
    let same: Vec<usize> =
        (0..options.len()).filter(|&i| options[i].differs_only_in_time(&options[top])).collect();
    let close = |i: &&usize| {
        options[**i].count.p50 >= options[top].count.p50 - 1.0
            && options[**i].count.p05 >= options[top].count.p05 - 1.0
    };
    let run = same.iter().rev().take_while(close).count().max(1);
    if same[same.len() - run..].contains(&top) { same[same.len() - run] } else { top }
}

/// The event's work that places no flowers, with its number: chores, then the last look over everything. A chore for
/// which there is no time on site is left out; the assumptions of the event say so.
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

/// The optimisation model of an event. Its jobs are the orders, by order number, then the chores.
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
