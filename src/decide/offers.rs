//! Turns the options of every order into offers that a solver can weigh: work, stock and money.

use super::duties::{FILLED_UP_WITHIN, besides, no_stock};
use super::options::PlacingOption;
use super::packs::{Kinds, stems};
use super::slots::{before, between};
use super::solve::model::{Candidate, Crew, Model, Part, Slot};
use crate::event::{Event, Order, Piece, Shape};
use crate::flower::treatment::{Method, Treatment};

/// What a lost head is regretted as a multiple of its stem's price: next to nothing where the target is met, so that of
/// plans that cost the same the one that keeps most is taken; and more where nothing meets the target (judgement).
const LOST_HEAD: f64 = 0.02;
const LOST_WHERE_NONE_LASTS: f64 = 3.0;
/// The least time between two offers with the same treatment and spares, h.
const LATER_BY: f64 = 2.0;
/// Tie-break, in money: the regret for each step of trouble, so that the simpler of equal offers is taken.
const TIE_BREAK: f64 = 1e-4;

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

/// The offers for an order, which is bought with the kind of flower `kind`. For each treatment and number of spares it is the earliest time from which every later one
/// is good, so that a late crew is never worse off than an early one. If no treatment is good, the best there is.
///
/// # Panics
/// If there are no options.
pub fn offers(
    event: &Event,
    slots: &[Slot],
    (piece, order, kind): (&Piece, &Order, usize),
    options: &[PlacingOption],
) -> Vec<Offer> {
    let unworkable = || {
        let takes = Some((kind, stems(event, order, 0)));
        let candidate = Candidate { parts: Vec::new(), cost: 0.0, regret: 0.0, uses: no_stock(event), takes };
        let first = best(options);
        let at = options[first].place_at;
        vec![Offer { first, earliest: at, last: at, spares: 0, lasts: false, candidate }]
    };
    let Some(end) = event.windows(piece).last().map(|w| w.1) else {
        return unworkable();
    };
    let offered = Offered { event, slots, piece, order, kind, options, end };
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
    /// The number of the kind of flower that it is bought with.
    kind: usize,
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
            hours: hours(minutes_a_head(event, self.piece, option.treatment.method)),
        }];
        if option.treatment.method == Method::WaterTube {
            for at in order.refills.iter().copied().chain(option.top_up) {
                if let Some((first, end)) = before(slots, at, FILLED_UP_WITHIN) {
                    parts.push(Part { first, end, skilled: false, hours: hours(event.means.minutes.refill) });
                }
            }
        }
        let trouble = TIE_BREAK * f64::from(option.treatment.method as u8)
            + TIE_BREAK * option.treatment.tube_ml / 1000.0;
        let mut uses = no_stock(event);
        if let Some(thing) = stock_of(event, option.treatment) {
            uses[thing] = order.heads + spares;
        }
        Some(Candidate {
            parts,
            cost: heads * price(event, self.piece, option.treatment),
            regret: trouble + LOST_HEAD * heads * (1.0 - option.expected) * order.stem_price(),
            uses,
            takes: Some((self.kind, stems(event, order, spares))),
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

/// The index of the stock that a treatment uses: the sizes of tubes in the event's order, then vases.
fn stock_of(event: &Event, treatment: Treatment) -> Option<usize> {
    match treatment.method {
        Method::Tucked | Method::Wired | Method::Vessel => None,
        Method::WaterTube => event.means.tubes.iter().position(|t| t.ml == treatment.tube_ml),
        Method::BudVase => Some(event.means.tubes.len()),
    }
}

/// How many vessels each head of a piece takes: its part of one.
fn vessels_a_head(piece: &Piece) -> f64 {
    let heads: u32 = piece.orders.iter().map(|o| o.heads).sum();
    piece.vessel.as_ref().map_or(0.0, |v| f64::from(v.number) / f64::from(heads))
}

/// Minutes of work to place one head.
pub fn minutes_a_head(event: &Event, piece: &Piece, method: Method) -> f64 {
    event.means.minutes.a_head(method, vessels_a_head(piece))
}

/// The price of the use of one vessel, in money; 0 where the florist gives none.
pub fn vessel_price(event: &Event, name: &str) -> f64 {
    event.means.vessels.iter().find(|v| v.name == name).map_or(0.0, |v| v.price)
}

/// The cost of tube, vase or part of a vessel for one head, in money.
pub fn price(event: &Event, piece: &Piece, treatment: Treatment) -> f64 {
    let means = &event.means;
    match treatment.method {
        Method::Vessel => {
            piece.vessel.as_ref().map_or(0.0, |v| vessel_price(event, &v.name) * vessels_a_head(piece))
        }
        Method::Tucked | Method::Wired => 0.0,
        Method::WaterTube => {
            let near =
                means.tubes.iter().rev().find(|t| t.ml <= treatment.tube_ml).unwrap_or(&means.tubes[0]);
            near.price
        }
        Method::BudVase => means.vase_price,
    }
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
            && b.takes.zip(a.takes).is_none_or(|(b, a)| b.1 <= a.1)
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

/// The optimisation model of an event. Its jobs are the orders, by order number, then the work besides.
pub fn model(event: &Event, slots: &[Slot], kinds: &Kinds, offers: &[Vec<Offer>]) -> Model {
    let means = &event.means;
    let orders = offers.iter().map(|all| all.iter().map(|o| o.candidate.clone()).collect());
    Model {
        slots: slots.to_vec(),
        jobs: orders.chain(besides(event, slots).into_iter().map(|(_, c)| vec![c])).collect(),
        crew: Crew {
            people: means.people,
            skilled: means.skilled,
            hourly: means.hourly,
            minimum: means.minimum,
        },
        stock: means.tubes.iter().map(|t| t.most).chain([means.vases]).collect(),
        packs: kinds.packs(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::options::tests::option;
    use crate::stats::Band;

    /// Two bowls at 3 min each for 24 heads are a quarter of a minute a head; without a bowl there is none.
    #[test]
    fn a_bowl_takes_its_minutes_from_all_its_heads() {
        let event = |vessel: &str| {
            crate::event::invented(
                "[[vessels]]\nname = \"bowl\"\nprice = \"EUR 6\"\n[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n",
                &format!("{vessel}[[piece.flower]]\nflower = \"rose\"\nheads = 24\n"),
            )
        };
        let minutes = |event: &Event| minutes_a_head(event, &event.pieces[0], Method::Vessel);
        let bowls = event("vessel = \"bowl\"\nvessels = 2\n");
        assert!((bowls.means.minutes.vessel - 3.0).abs() < 1e-12);
        assert!((minutes(&bowls) - 0.25).abs() < 1e-12 && minutes(&event("")).abs() < 1e-12);
        // A bowl at 6 is a half for each of twelve heads.
        assert_eq!((vessel_price(&bowls, "bowl"), vessel_price(&bowls, "jug")), (6.0, 0.0));
        assert_eq!(price(&bowls, &bowls.pieces[0], Treatment::new(Method::Vessel, 500.0)), 0.5);
    }

    /// Each is better than the first by one thing, or worse.
    #[test]
    fn what_another_offer_beats_in_all_respects_is_dropped() {
        let part = Part { hours: 2.0, first: 3, end: 6, skilled: false };
        let one = Candidate {
            parts: vec![part],
            cost: 10.0,
            regret: 1.0,
            uses: vec![4, 0],
            takes: Some((0, 40.0)),
        };
        let offer = |number: usize, candidate: Candidate| Offer {
            first: number,
            earliest: 9.0,
            last: 12.0,
            spares: 0,
            lasts: true,
            candidate,
        };
        let kept = |candidates: Vec<Candidate>| -> Vec<usize> {
            let offers = candidates.into_iter().enumerate().map(|(number, c)| offer(number, c)).collect();
            without_dominated(offers).iter().map(|o| o.first).collect()
        };
        // Of two that are the same the first stays.
        assert_eq!(kept(vec![one.clone(), one.clone()]), [0]);
        let with = |change: &dyn Fn(&mut Candidate)| {
            let mut other = one.clone();
            change(&mut other);
            other
        };
        let worse = [
            with(&|c| c.cost = 10.5),
            with(&|c| c.regret = 1.5),
            with(&|c| c.parts[0].hours = 2.5),
            with(&|c| c.parts[0].first = 4),
            with(&|c| c.parts[0].end = 5),
            with(&|c| c.parts[0].skilled = true),
            with(&|c| c.parts.push(part)),
            with(&|c| c.uses[1] = 1),
            with(&|c| c.takes = Some((0, 41.0))),
        ];
        for (n, worse) in worse.into_iter().enumerate() {
            assert_eq!(kept(vec![one.clone(), worse.clone()]), [0]);
            assert_eq!(kept(vec![worse.clone(), one.clone()]), [1]);
            // Where it is cheaper besides, it is a choice of its own, or if it was worse by money alone the only one.
            let cheaper = Candidate { cost: worse.cost - 5.0, ..worse };
            assert_eq!(kept(vec![one.clone(), cheaper]), if n < 2 { vec![1] } else { vec![0, 1] });
        }
    }

    /// Placed at three hours, and of those that follow no other, 40 heads keep so many in the middle and in a poor delivery.
    #[test]
    fn the_best_that_misses_is_placed_as_early_as_it_costs_at_most_a_head() {
        let at = |place_at: f64, p50: f64, p05: f64| {
            let count = Band { p05, p50, p95: 40.0 };
            let mut option = option(Method::Tucked, p50 / 40.0);
            (option.place_at, option.count) = (place_at, count);
            option
        };
        let three = |first: (f64, f64), second: (f64, f64)| {
            best(&[at(9.0, first.0, first.1), at(12.0, second.0, second.1), at(15.0, 35.5, 21.0)])
        };
        assert_eq!(three((34.5, 20.0), (35.0, 20.5)), 0);
        assert_eq!(three((34.4, 20.0), (35.0, 20.5)), 1, "more than a head fewer in the middle");
        assert_eq!(three((35.0, 19.9), (35.0, 20.5)), 1, "more than a head fewer in a poor delivery");
        assert_eq!(
            three((35.0, 20.5), (34.4, 20.5)),
            2,
            "what comes before one that is too poor does not count"
        );
        let mut two = [at(9.0, 30.0, 20.0), at(9.0, 33.0, 20.0)];
        two[1].treatment = Treatment::new(Method::BudVase, 0.0);
        assert_eq!(best(&two), 1);
    }
}
