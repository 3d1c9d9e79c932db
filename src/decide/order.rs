//! The plan for one order, once the whole event is decided: how its heads will fare, and which other treatments would
//! do.

use super::curve::{Curve, Shown, shown};
use super::middle::Middle;
use super::offers::Offer;
use super::options::{PlacingOption, Scene, end_point, wanted};
use super::placing::{LONGEST_WAIT, first_step};
use crate::climate::Climate;
use crate::event::{Event, Order, OrderId};
use crate::flower::treatment::{Method, Treatment};
use crate::simulate::outcome::{Cause, EndPoint, HeadOutcome};
use crate::simulate::run::Knowledge;
use crate::stats::counts::Counts;
use crate::stats::{Band, Quantiles};
use std::sync::Arc;

/// The dry waits of boxes that are simulated, h.
const WAITS: [f64; 8] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, LONGEST_WAIT];

/// The plan for one order. Times are hours on the event's clock.
#[derive(Debug, Clone)]
pub struct OrderPlan {
    /// The order's number in its event.
    pub id: OrderId,
    /// Every option that was simulated: treatments in order of trouble, each by placing time.
    pub options: Arc<[PlacingOption]>,
    /// The index of the recommended option in `options`.
    pub chosen: usize,
    /// How many heads are placed, spares included.
    pub heads: u32,
    /// How many of `heads` are spares, placed beyond those ordered.
    pub spares: u32,
    /// How many of the heads ordered must be presentable.
    pub wanted: u32,
    /// How well the order lasts. Below [`Grade::Fine`], no option does better.
    pub grade: Grade,
    /// The earliest and the latest placing, h. If the order does not last: the times between which it makes no
    /// difference.
    pub window: (f64, f64),
    /// The chance that enough of the heads placed will be presentable, 0 to 1.
    pub sure: f64,
    /// How many of the heads placed will be presentable.
    pub count: Band,
    /// `count` with everything uncertain about the flower at its median: the difference is what trials could teach.
    pub count_if_known: Band,
    /// The share presentable at the piece's hour, with the same at its median.
    pub share_if_known: Band,
    /// A cheaper treatment that was passed over because people or stock are too few.
    pub passed_over: Option<Rival>,
    /// The next cheapest treatment that would meet the target.
    pub runner_up: Option<Rival>,
    /// How it could be done in two ways, part of it dry at the last hour, and still meet the target; `None` where that
    /// saves little or cannot be.
    pub in_two_ways: Option<TwoWays>,
    /// Work in hours of one person, filling up tubes included.
    pub hours: f64,
    /// When the tubes run empty, h, for an order in water tubes.
    pub tube_empty: Option<Quantiles>,
    /// How many heads to keep ready for the last look: more would have failed in one case of twenty only, unless the
    /// limit on repairs cuts it short.
    pub repairs: u32,
    /// The causes of failure by the piece's hour under the recommended option, each as a share of all failures, largest
    /// first.
    pub causes: Vec<(Cause, f64)>,
    /// How long boxes may wait dry just before the latest placing; `None` if the order does not last anyway.
    pub dry_wait: Option<DryWait>,
    /// What the head in the middle loses and drinks.
    pub water: Water,
    /// Survival curves: the recommended option first, then each method of the order at the times worth showing.
    pub curves: Vec<Curve>,
}

/// What the head in the middle loses and drinks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Water {
    /// Share of fresh mass lost by the piece's hour.
    pub lost: f64,
    /// The same had it been placed dry at the same time; `None` if it is.
    pub lost_dry: Option<f64>,
    /// What it drinks in an hour, on average from placing to the piece's hour, g; `None` out of water.
    pub drinks_g_per_hour: Option<f64>,
    /// How long after it went soft it still comes back, recut and in a tube, in the air of its last look, h; 0 where that is not
    /// sure.
    pub comes_back_within: f64,
}

/// How long boxes may wait dry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryWait {
    /// The longest simulated wait that still meets the target, h; 0 if none does.
    pub hours: f64,
    /// Whether every simulated wait met the target, so that longer ones may too.
    pub untried_beyond: bool,
}

/// Another treatment for an order, compared with the chosen one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rival {
    /// The other treatment of the order.
    pub treatment: Treatment,
    /// The earliest placing, h on the event's clock.
    pub from: f64,
    /// How much more it would cost, its own work at the hourly wage included, in money.
    pub dearer: f64,
    /// Work in hours of one person.
    pub hours: f64,
}

/// An order done in two ways: part of its heads in water as planned, the others dry at the last hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoWays {
    /// How many of the heads placed are in water.
    pub in_water: u32,
    /// The chance that enough of all are presentable, 0 to 1.
    pub sure: f64,
}

/// How well an order lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// The wanted share is presentable with the wanted assurance.
    Fine,
    /// The wanted share is presentable in the median delivery, but with less than the wanted assurance.
    Borderline,
    /// Even in the median delivery the wanted share is not presentable.
    Short,
}

impl OrderPlan {
    /// The option that the plan recommends.
    pub fn recommended(&self) -> &PlacingOption {
        &self.options[self.chosen]
    }

    /// Whether the order meets the target.
    pub fn lasts(&self) -> bool {
        self.grade == Grade::Fine
    }

    /// How many heads were ordered, spares excluded.
    pub fn ordered(&self) -> u32 {
        self.heads - self.spares
    }

    /// The options with one treatment and no filling up, by placing time.
    pub fn of(&self, treatment: Treatment) -> impl Iterator<Item = &PlacingOption> {
        self.options.iter().filter(move |o| o.treatment == treatment && o.top_up.is_none())
    }

    /// The options with one method and no filling up, by placing time: in the recommended tube if the method is that of
    /// the recommended option, else in the smallest.
    pub fn of_method(&self, method: Method) -> impl Iterator<Item = &PlacingOption> {
        let chosen = self.recommended().treatment;
        let treatment = if chosen.method == method {
            Some(chosen)
        } else {
            self.options.iter().map(|o| o.treatment).find(|t| t.method == method)
        };
        self.options.iter().filter(move |o| Some(o.treatment) == treatment && o.top_up.is_none())
    }
}

/// The plan for an order whose offer `offers[decided]` was taken. `begun` is when the crew starts placing it, h, if it
/// does.
pub(super) fn order_plan(
    (id, scene): (OrderId, &Scene),
    options: &Arc<[PlacingOption]>,
    (offers, decided): (&[Offer], usize),
    begun: Option<f64>,
    spaces: &[Climate],
) -> OrderPlan {
    let (event, order) = (scene.event, scene.order);
    let offer = &offers[decided];
    let chosen = placed(options, offer, begun.unwrap_or(options[offer.first].place_at));
    let option = &options[chosen];
    let heads = order.heads + offer.spares;
    let case = [(scene.journey(option.place_at, 0.0, option.top_up), option.treatment)];
    let if_known: Vec<f64> = scene.shares(Knowledge::Perfect, &case).into_iter().map(|lot| lot[0]).collect();
    let Shown { chosen: lots, dry, curves } = shown(scene, options, chosen);
    let all = || lots.iter().flatten();
    let tube_empty = (option.treatment.method == Method::WaterTube)
        .then(|| Quantiles::of(all().filter(|f| f.weight > 0.5).map(|f| (f.empty, f.weight)).collect()))
        .flatten();
    let (passed_over, runner_up) = rivals((event, order), options, offers, decided);
    OrderPlan {
        id,
        heads,
        spares: offer.spares,
        wanted: wanted(order.heads, event.target_share),
        grade: match offer.lasts {
            true => Grade::Fine,
            false if option.share.p50 >= event.target_share => Grade::Borderline,
            false => Grade::Short,
        },
        window: (offer.earliest, offer.last),
        sure: option.sure_of(heads, wanted(order.heads, event.target_share)),
        count: option.count_of(heads),
        share_if_known: Band::of(&if_known).expect("a job has lots"),
        count_if_known: Counts::of(&if_known, heads).expect("a job has lots").band(),
        passed_over,
        runner_up,
        in_two_ways: in_two_ways(scene, options, chosen, heads),
        hours: offer.candidate.parts.iter().map(|p| p.hours).sum(),
        tube_empty,
        repairs: repairs(scene, &lots, offer, heads),
        water: water(scene, option, (&lots, dry.as_deref()), spaces),
        causes: causes(all(), scene.until(), end_point(order.counts)),
        dry_wait: offer.lasts.then(|| dry_wait(scene, option, offer)),
        curves,
        chosen,
        options: Arc::clone(options),
    }
}

/// What the head in the middle loses and drinks under an option, whose outcomes by lot are known, those had it been placed dry, too.
fn water(
    scene: &Scene,
    option: &PlacingOption,
    (lots, dry): (&[Vec<HeadOutcome>], Option<&[Vec<HeadOutcome>]>),
    spaces: &[Climate],
) -> Water {
    let (piece, order) = (scene.piece, scene.order);
    let lost = |lots: &[Vec<HeadOutcome>]| {
        let losses = lots.iter().flatten().map(|f| (f.loss, f.weight)).collect();
        Quantiles::of(losses).and_then(|q| q.p50).expect("a job has lots")
    };
    let air = |hour: f64| spaces[piece.space_at(hour)].at(hour);
    let middle = Middle::of(order.flower, &order.handling);
    Water {
        lost: lost(lots),
        lost_dry: dry.map(lost),
        drinks_g_per_hour: dry.map(|_| {
            // The middle of every half hour.
            let stands = piece.until - option.place_at;
            let parts = (2.0 * stands).ceil().max(1.0);
            let at = |i: u32| option.place_at + stands * (f64::from(i) + 0.5) / parts;
            (0..parts as u32).map(|i| middle.drinks(&air(at(i)))).sum::<f64>() / parts
        }),
        comes_back_within: middle.comes_back_within(&air(last_look(scene).unwrap_or(option.place_at))),
    }
}

/// When the piece is looked over for the last time, h: at the end of its last access.
fn last_look(scene: &Scene) -> Option<f64> {
    scene.event.windows(scene.piece).last().map(|w| w.1)
}

/// How long boxes may wait dry before the latest placing. A longer wait is simulated only if all shorter ones meet the
/// target.
fn dry_wait(scene: &Scene, option: &PlacingOption, offer: &Offer) -> DryWait {
    // Before the first step nothing was drawn.
    let first = scene.grid.hour(first_step(scene.event) as f64) + scene.event.travel.drive;
    let at = offer.last;
    let waits: Vec<f64> = WAITS.iter().copied().filter(|w| at - w >= first).collect();
    let good = |wait: &&f64| {
        let case = (scene.journey(at, **wait, None), option.treatment);
        let shares = scene.shares(Knowledge::AsItIs, &[case]);
        let by_lot = shares.into_iter().map(|lot| lot[0]).collect();
        scene.option(option.treatment, None, at, by_lot).spares.is_some_and(|s| s <= offer.spares)
    };
    let fine = waits.iter().take_while(good).count();
    DryWait { hours: if fine == 0 { 0.0 } else { waits[fine - 1] }, untried_beyond: fine == waits.len() }
}

/// The index of the option that an offer becomes if the crew begins at `begun`: the last one placed by then.
fn placed(options: &[PlacingOption], offer: &Offer, begun: f64) -> usize {
    let of = &options[offer.first];
    let same = |i: &usize| {
        let o = &options[*i];
        o.treatment == of.treatment
            && (o.top_up == of.top_up || o.top_up.is_none())
            && o.place_at <= begun + 1e-9
    };
    let filled_up = |i: &usize| options[*i].top_up == of.top_up;
    (0..options.len())
        .filter(same)
        .max_by(|a, b| {
            let at = |i: &usize| (options[*i].place_at, filled_up(i));
            at(a).partial_cmp(&at(b)).expect("hours are numbers")
        })
        .unwrap_or(offer.first)
}

/// How many heads will have failed by the last look, exceeded in one case of twenty, and limited to [`MOST_REPAIRS`].
fn repairs(scene: &Scene, lots: &[Vec<HeadOutcome>], offer: &Offer, heads: u32) -> u32 {
    let look = last_look(scene).unwrap_or(offer.last);
    let by_lot: Vec<f64> = lots.iter().map(|lot| scene.presentable(lot, &[look])[0]).collect();
    let lost = heads - (Counts::of(&by_lot, heads).expect("a job has lots").band().p05 as u32).min(heads);
    lost.min((MOST_REPAIRS * f64::from(heads)).ceil() as u32)
}

/// The most repair heads that anybody carries, as a share of the heads placed (common practice, no source).
const MOST_REPAIRS: f64 = 0.25;

/// The fewest heads in water, in steps of a tenth, with which the target is still met if the others are dry at the last
/// hour.
fn in_two_ways(scene: &Scene, options: &[PlacingOption], chosen: usize, heads: u32) -> Option<TwoWays> {
    let option = &options[chosen];
    if !matches!(option.treatment.method, Method::WaterTube | Method::BudVase) {
        return None;
    }
    let dry = options.iter().rfind(|o| o.treatment.method.is_dry())?;
    let wanted = wanted(scene.order.heads, scene.event.target_share);
    (1..=8).map(|tenths| heads * tenths / 10).find_map(|in_water| {
        let sure = option.sure_with(in_water, dry, heads, wanted);
        (sure >= scene.event.assurance).then_some(TwoWays { in_water, sure })
    })
}

/// The cheapest other method that lasts, if it is cheaper than the chosen one (people or stock rule it out), and the
/// next cheapest that is not.
fn rivals(
    (event, order): (&Event, &Order),
    options: &[PlacingOption],
    offers: &[Offer],
    decided: usize,
) -> (Option<Rival>, Option<Rival>) {
    let hours = |o: &Offer| o.candidate.parts.iter().map(|p| p.hours).sum::<f64>();
    let stems = |o: &Offer| o.candidate.takes.map_or(0.0, |(_, stems)| stems);
    let own = |o: &Offer| o.candidate.cost + stems(o) * order.stem_price() + event.means.hourly * hours(o);
    let chosen = &offers[decided];
    let treatment = options[chosen.first].treatment;
    let rival = |o: &Offer| Rival {
        treatment: options[o.first].treatment,
        from: options[o.first].place_at,
        dearer: own(o) - own(chosen),
        hours: hours(o),
    };
    let mut others: Vec<&Offer> =
        offers.iter().filter(|o| o.lasts && options[o.first].treatment.method != treatment.method).collect();
    others.sort_by(|a, b| own(a).total_cmp(&own(b)));
    let cheaper = others.iter().find(|o| own(o) < own(chosen) - 0.01).map(|o| rival(o));
    let dearer = others.iter().find(|o| own(o) >= own(chosen) - 0.01).map(|o| rival(o));
    (cheaper, dearer)
}

/// The causes of failures up to an hour, each as a share of all failures, largest first.
fn causes<'a>(
    outcomes: impl Iterator<Item = &'a HeadOutcome> + Clone,
    until: f64,
    end_point: EndPoint,
) -> Vec<(Cause, f64)> {
    let failed = outcomes.filter(|f| end_point.of(f) <= until);
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::options::tests::option;
    use crate::event::invented;
    use statrs::distribution::{Binomial, DiscreteCDF};

    /// Against the binomial distribution of statrs: of 40 heads, those in water all last and nine in ten of the others. The fewest
    /// tenths in water with which 36 or more last in nine deliveries of ten.
    #[test]
    fn as_few_as_will_do_are_in_water() {
        let event = invented(
            "[target]\npresentable = \"90 %\"\nassurance = \"90 %\"\n[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n",
            "[[piece.flower]]\nflower = \"rose\"\nheads = 40\n",
        );
        let (_, piece, order) = event.orders().next().unwrap();
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let scene = Scene::new(&event, (piece, order), &spaces, (1, 8));
        let options = [option(Method::Tucked, 0.9), option(Method::BudVase, 1.0)];
        let enough = |tenths: &u32| {
            let share = 0.9 + 0.01 * f64::from(*tenths);
            1.0 - Binomial::new(share, 40).unwrap().cdf(35) >= 0.9
        };
        let known = (1..=8).find(enough).unwrap() * 4;
        let ways = in_two_ways(&scene, &options, 1, 40).unwrap();
        assert_eq!(ways.in_water, known);
        assert!((0.9..0.99).contains(&ways.sure), "{}", ways.sure);
        // A dry one needs no water, and without a dry one there is nothing to mix.
        assert!(in_two_ways(&scene, &options, 0, 40).is_none());
        assert!(in_two_ways(&scene, &options[1..], 0, 40).is_none());
    }
}
