//! What is planned for one flower of a piece once the whole is decided: what becomes of its heads, and what else would do.

use super::options::{PlacingOption, Scene, end_point, times_tried, wanted};
use super::placing::LONGEST_WAIT;
use super::tasks::Offer;
use crate::event::{Event, Order};
use crate::flower::treatment::{Method, Treatment};
use crate::simulate::outcome::{Cause, EndPoint, HeadOutcome};
use crate::simulate::run::{Case, Knowledge};
use crate::stats::counts::Counts;
use crate::stats::{Band, Quantiles};

const WAITS: [f64; 8] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, LONGEST_WAIT];
/// Curves have a point this often, h.
const CURVE_EVERY: f64 = 0.25;

/// A survival curve: the share of heads still presentable by the clock.
#[derive(Debug, Clone)]
pub struct Curve {
    /// What is done.
    pub treatment: Treatment,
    /// When it is placed.
    pub place_at: f64,
    /// Hours of the event's clock, and the band of the share there.
    pub points: Vec<(f64, Band)>,
}

/// Another way for an order, against the one chosen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rival {
    /// What would be done.
    pub treatment: Treatment,
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
    pub options: Vec<PlacingOption>,
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
            false if self.recommended().share.p50 >= self.target => Grade::Borderline,
            false => Grade::Short,
        }
    }

    /// The choice that is recommended.
    pub fn recommended(&self) -> &PlacingOption {
        &self.options[self.chosen]
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
    pub fn of(&self, treatment: Treatment) -> impl Iterator<Item = &PlacingOption> {
        self.options.iter().filter(move |c| c.treatment == treatment && c.top_up.is_none())
    }

    /// The choices of one treatment, in the tube that was chosen or else the smallest, by placing time.
    pub fn of_method(&self, method: Method) -> impl Iterator<Item = &PlacingOption> {
        let chosen = self.recommended().treatment;
        let treatment = if chosen.method == method {
            Some(chosen)
        } else {
            self.options.iter().map(|c| c.treatment).find(|w| w.method == method)
        };
        self.options.iter().filter(move |c| Some(c.treatment) == treatment && c.top_up.is_none())
    }
}

/// What follows for an order of what was decided: of its `offers` the one of that number, which the crew begins with at
/// some hour. `options` are what was tried for it, and are left out of the result: they belong there once nothing else
/// reads them.
pub(super) fn flower(
    scene: &Scene,
    options: &[PlacingOption],
    (offers, decided): (&[Offer], usize),
    begun: Option<f64>,
) -> FlowerPlan {
    let (event, order, grid) = (scene.event, scene.order, scene.grid);
    let offer = &offers[decided];
    let chosen = placed(options, offer, begun.unwrap_or(options[offer.first].place_at));
    let option = &options[chosen];
    let heads = order.heads + offer.spares;
    let chosen_way = [(scene.journey(option.place_at, 0.0, option.top_up), option.treatment)];

    let if_known: Vec<f64> =
        scene.shares(Knowledge::Perfect, &chosen_way).into_iter().map(|lot| lot[0]).collect();
    let (lots, curves) = curves(scene, options, chosen);
    let all = || lots.iter().flatten();
    let tube_empty = (option.treatment.method == Method::WaterTube)
        .then(|| Quantiles::of(all().filter(|f| f.weight > 0.5).map(|f| (f.empty, f.weight)).collect()))
        .flatten();
    let (passed_over, runner_up) = rivals(event, options, offers, decided);
    FlowerPlan {
        order: order.clone(),
        spares: offer.spares,
        lasts: offer.lasts,
        target: event.target_share,
        window: (offer.earliest, offer.last),
        count: option.count_of(heads),
        share_if_known: Band::of(&if_known).expect("a job has lots"),
        count_if_known: Counts::of(&if_known, heads).expect("a job has lots").band(),
        passed_over,
        runner_up,
        hours: offer.candidate.parts.iter().map(|p| p.hours).sum(),
        tube_empty,
        repairs: repairs(scene, &lots, offer, heads),
        causes: causes(all(), scene.until(), end_point(order.counts)),
        dry_wait: offer.lasts.then(|| {
            let (first, at) = (grid.start + event.travel.drive, offer.last);
            let waits: Vec<f64> = WAITS.iter().copied().filter(|w| at - w >= first).collect();
            // Longer waits are tried only where shorter ones do no harm.
            let good = |wait: &&f64| {
                let case = (scene.journey(at, **wait, None), option.treatment);
                let shares = scene.shares(Knowledge::AsItIs, &[case]);
                let by_lot = shares.into_iter().map(|lot| lot[0]).collect();
                scene.option(option.treatment, None, at, by_lot).spares.is_some_and(|s| s <= offer.spares)
            };
            let fine = waits.iter().take_while(good).count();
            (if fine == 0 { 0.0 } else { waits[fine - 1] }, fine == waits.len())
        }),
        curves,
        chosen,
        options: Vec::new(),
    }
}

/// The choice that comes of an offer if the crew begins with it at some hour: the last one tried before that.
fn placed(options: &[PlacingOption], offer: &Offer, begun: f64) -> usize {
    let of = &options[offer.first];
    let same = |i: &usize| {
        let c = &options[*i];
        c.treatment == of.treatment
            && (c.top_up == of.top_up || c.top_up.is_none())
            && c.place_at <= begun + 1e-9
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

/// How many heads will want replacing at the last look, nine times out of ten at most.
fn repairs(scene: &Scene, lots: &[Vec<HeadOutcome>], offer: &Offer, heads: u32) -> u32 {
    let look = scene.event.windows(scene.piece).last().map_or(offer.last, |w| w.1);
    let by_lot: Vec<f64> = lots.iter().map(|lot| scene.presentable(lot, &[look])[0]).collect();
    let lost = heads - (Counts::of(&by_lot, heads).expect("a job has lots").band().p05 as u32).min(heads);
    lost.min((MOST_REPAIRS * f64::from(heads)).ceil() as u32)
}

/// Nobody carries more repair heads than this share of a piece (common practice, no source).
const MOST_REPAIRS: f64 = 0.25;

/// The cheaper way passed over for want of hands or things, and the next cheapest that would do.
fn rivals(
    event: &Event,
    options: &[PlacingOption],
    offers: &[Offer],
    decided: usize,
) -> (Option<Rival>, Option<Rival>) {
    let hours = |o: &Offer| o.candidate.parts.iter().map(|p| p.hours).sum::<f64>();
    let own = |o: &Offer| o.candidate.cost + event.means.hourly * hours(o);
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

/// What becomes of the heads of every lot as chosen, and the curves: the choice first, then each treatment at its telling
/// times.
fn curves(scene: &Scene, options: &[PlacingOption], chosen: usize) -> (Vec<Vec<HeadOutcome>>, Vec<Curve>) {
    let option = &options[chosen];
    let times = times_tried(options);
    let (earliest, latest) = (times[0], times[times.len() - 1]);
    let mut shown = vec![(option.treatment, option.place_at, option.top_up)];
    for method in &scene.order.methods {
        let ats = if method.is_dry() { vec![earliest, latest] } else { vec![option.place_at] };
        let treatment = options.iter().map(|c| c.treatment).find(|w| w.method == *method);
        for (at, treatment) in ats.into_iter().zip(treatment.into_iter().cycle()) {
            if !shown.iter().any(|(w, t, _)| w.method == *method && *t == at) {
                shown.push((treatment, at, None));
            }
        }
    }
    // Lived through by time, so that heads placed together are placed once.
    let mut by_time: Vec<usize> = (0..shown.len()).collect();
    by_time.sort_by(|a, b| shown[*a].1.total_cmp(&shown[*b].1));
    let case = |i: &usize| (scene.journey(shown[*i].1, 0.0, shown[*i].2), shown[*i].0);
    let cases: Vec<Case> = by_time.iter().map(case).collect();
    let hours: Vec<Vec<f64>> = shown.iter().map(|(_, at, _)| hours(scene, *at)).collect();
    let lots = scene.lots.simulate(Knowledge::AsItIs, &cases, |case, outcomes| {
        let kept = if by_time[case] == 0 { outcomes.to_vec() } else { Vec::new() };
        (kept, scene.presentable(outcomes, &hours[by_time[case]]))
    });
    let mut lots = lots.expect("journeys of the event");
    let case_of = |shown: usize| by_time.iter().position(|i| *i == shown).expect("each is lived through");
    let curves = shown.iter().zip(&hours).enumerate().map(|(i, (&(treatment, place_at, _), hours))| {
        let case = case_of(i);
        Curve::of(treatment, place_at, hours, lots.iter().map(|lot| &lot[case].1[..]))
    });
    let curves = curves.collect();
    let chosen = case_of(0);
    (lots.iter_mut().map(|lot| std::mem::take(&mut lot[chosen].0)).collect(), curves)
}

/// The curve of heads placed one way.
pub(super) fn curve(scene: &Scene, treatment: Treatment, place_at: f64) -> Curve {
    let hours = hours(scene, place_at);
    let shares = scene.shares_at(scene.journey(place_at, 0.0, None), treatment, &hours);
    Curve::of(treatment, place_at, &hours, shares.iter().map(|lot| &lot[..]))
}

/// The hours at which a curve has its points.
fn hours(scene: &Scene, place_at: f64) -> Vec<f64> {
    let n = ((scene.event.span().1 - place_at) / CURVE_EVERY).floor() as usize;
    (0..=n).map(|i| place_at + i as f64 * CURVE_EVERY).collect()
}

impl Curve {
    /// The curve through the shares of all lots at some hours.
    fn of<'a>(
        treatment: Treatment,
        place_at: f64,
        hours: &[f64],
        lots: impl Iterator<Item = &'a [f64]> + Clone,
    ) -> Curve {
        let band =
            |i: usize| Band::of(&lots.clone().map(|lot| lot[i]).collect::<Vec<_>>()).expect("a job has lots");
        let points = hours.iter().enumerate().map(|(i, hour)| (*hour, band(i))).collect();
        Curve { treatment, place_at, points }
    }
}
