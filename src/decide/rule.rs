//! If-then rules: what is decided now, and what on the eve by the forecast.
//!
//! The event is solved over its milder and over its hotter days, for some thresholds between them. What is bought is bought
//! now, enough for either; how flowers are placed, and the hours of the crew, follow the forecast.

use super::decision::Decision;
use super::possible::{Way, chances, degrees};
use super::prospects::{Settings, prospects};
use crate::climate::weather::possible::forecast_ratio;
use crate::event::{Event, OrderId};
use crate::numerics::normal;
use rayon::prelude::*;

/// The forecast by which it is decided is made so many days before: on the eve.
pub const LEAD: u32 = 1;
/// Deliveries behind each of the ways.
const LOTS: usize = 96;
/// The shares of days that lie below the thresholds that are tried.
const TRIED: [f64; 3] = [0.5, 0.7, 0.85];
/// Days belong to a side if the forecast puts them there at least so often.
const BELONGS: f64 = 0.2;
/// Fewer days than this are too few to plan for.
const FEWEST_DAYS: usize = 5;
/// A rule is worth telling if it saves so much of the cost, or makes so many more days good.
const WORTH_COST: f64 = 0.01;
const WORTH_SURE: f64 = 0.02;

/// What a way of deciding costs, and how sure it is, on average over days.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Score {
    /// Flowers, tubes, vases and wages, in money.
    pub cost: f64,
    /// The chance that the least sure order keeps enough heads, 0 to 1.
    pub sure: f64,
    /// Both as one number, in money: the cost, and the flowers lost as often as it fails.
    pub regret: f64,
}

/// How the event is done on one side of a threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// The way of every order, by its number.
    pub ways: Vec<Way>,
    /// The most people on site at one time.
    pub people: u32,
    /// Paid hours, all people together, h.
    pub paid_hours: f64,
}

/// An if-then rule, with what it is worth.
#[derive(Debug, Clone, PartialEq)]
pub struct Rule {
    /// The forecast high above which it is done the hot way, C.
    pub above_c: f64,
    /// How it is done up to that, and above.
    pub mild: Branch,
    /// See `mild`.
    pub hot: Branch,
    /// What is in the van either way: tubes by size, ml and number, and vases.
    pub tubes: Vec<(f64, u32)>,
    /// See `tubes`.
    pub vases: u32,
    /// The share of days on which the forecast will be above the threshold, 0 to 1.
    pub hot_share: f64,
    /// On the days that it was found on: the best fixed plan, the rule, and knowing the day.
    pub found: [Score; 3],
    /// The best fixed plan and the rule, each found on one half of the years and scored on the other; `None` for one year.
    pub left_out: Option<[Score; 2]>,
}

impl Rule {
    /// The orders that are done in another way above the threshold, each with both ways.
    pub fn differs<'a>(&self, event: &'a Event) -> impl Iterator<Item = (OrderId, Way, Way)> + use<'a> {
        let both: Vec<(Way, Way)> =
            self.mild.ways.iter().copied().zip(self.hot.ways.iter().copied()).collect();
        event.orders().zip(both).filter(|(_, (a, b))| a != b).map(|((id, ..), (a, b))| (id, a, b))
    }
}

/// One way of doing the event, and what it takes.
#[derive(Clone)]
struct Candidate {
    branch: Branch,
    /// Packs of each kind of flower, and their prices.
    packs: Vec<(u32, f64)>,
    /// Things of each kind, and their prices.
    things: Vec<(u32, f64)>,
    /// Vessels, which are the same in every way.
    other: f64,
    wages: f64,
    lacks: bool,
}

/// What was found on some days.
struct Found {
    candidates: Vec<Candidate>,
    /// The chance of the least sure order, by candidate and day.
    sure: Vec<Vec<f64>>,
    /// The best single candidate.
    fixed: usize,
    /// The candidates of a rule, and its threshold.
    rule: (usize, usize, f64),
}

/// The best rule for an event, if it is worth one; `None` also where its day is given.
pub fn rule(event: &Event, settings: Settings) -> Option<Rule> {
    if event.met.len() < 2 * FEWEST_DAYS {
        return None;
    }
    let all: Vec<usize> = (0..event.met.len()).collect();
    let found = find(event, settings, &all)?;
    let at = |choice, days: &[usize]| score(event, &found, choice, days);
    let fixed = at((found.fixed, found.fixed, f64::INFINITY), &all);
    let best = at(found.rule, &all);
    let worth = best.cost < fixed.cost * (1.0 - WORTH_COST) || best.sure > fixed.sure + WORTH_SURE;
    let (mild, hot, above_c) = found.rule;
    if mild == hot || !worth {
        return None;
    }
    let known: Vec<Score> = all
        .iter()
        .map(|day| {
            let each = (0..found.candidates.len()).map(|c| at((c, c, f64::INFINITY), &[*day]));
            each.min_by(|a, b| a.regret.total_cmp(&b.regret)).unwrap_or_default()
        })
        .collect();
    let (mild, hot) = (&found.candidates[mild], &found.candidates[hot]);
    let most = |i: usize| mild.things[i].0.max(hot.things[i].0);
    let sizes = event.means.tubes.iter().enumerate();
    let n = all.len() as f64;
    Some(Rule {
        above_c,
        tubes: sizes.map(|(i, tube)| (tube.ml, most(i))).filter(|(_, n)| *n > 0).collect(),
        vases: most(event.means.tubes.len()),
        hot_share: hot_chances(event, above_c).iter().sum::<f64>() / n,
        found: [fixed, best, mean(&known)],
        left_out: left_out(event, settings),
        mild: mild.branch.clone(),
        hot: hot.branch.clone(),
    })
}

/// The best fixed plan and the best rule found on each half of the years, scored on the other.
fn left_out(event: &Event, settings: Settings) -> Option<[Score; 2]> {
    let mut years: Vec<i32> = event.met.iter().map(|m| m.year).collect();
    years.sort_unstable();
    years.dedup();
    if years.len() < 2 {
        return None;
    }
    let half = |odd: usize| -> Vec<usize> {
        let place = |year: i32| years.iter().position(|y| *y == year).unwrap_or(0);
        (0..event.met.len()).filter(|d| place(event.met[*d].year) % 2 == odd).collect()
    };
    let halves = [half(0), half(1)];
    if halves.iter().any(|days| days.len() < 2 * FEWEST_DAYS) {
        return None;
    }
    let mut scores: [Vec<Score>; 2] = Default::default();
    for (found_on, scored_on) in [(0, 1), (1, 0)] {
        let found = find(event, settings, &halves[found_on])?;
        let fixed = (found.fixed, found.fixed, f64::INFINITY);
        for (scores, choice) in scores.iter_mut().zip([fixed, found.rule]) {
            scores.push(score(event, &found, choice, &halves[scored_on]));
        }
    }
    Some(scores.map(|scores| mean(&scores)))
}

/// The mean of some scores.
fn mean(scores: &[Score]) -> Score {
    let n = scores.len().max(1) as f64;
    let of = |value: fn(&Score) -> f64| scores.iter().map(value).sum::<f64>() / n;
    Score { cost: of(|s| s.cost), sure: of(|s| s.sure), regret: of(|s| s.regret) }
}

/// Solves the event over its milder and its hotter days among `days`, and chooses what is best on these.
fn find(event: &Event, settings: Settings, days: &[usize]) -> Option<Found> {
    let highs: Vec<f64> = days.iter().map(|d| event.met[*d].high_c).collect();
    let whole = degrees(event.scale, *highs.first()?, *highs.last()?);
    let near = |share: f64| {
        let wanted = highs[((highs.len() - 1) as f64 * share) as usize];
        whole.iter().copied().min_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()))
    };
    let mut thresholds: Vec<f64> = TRIED.iter().filter_map(|share| near(*share)).collect();
    thresholds.dedup();
    let mut subsets: Vec<Vec<usize>> = vec![days.to_vec()];
    for above in &thresholds {
        let hot = hot_chances(event, *above);
        for is_hot in [false, true] {
            let belongs = |d: &&usize| if is_hot { hot[**d] >= BELONGS } else { hot[**d] <= 1.0 - BELONGS };
            let subset: Vec<usize> = days.iter().filter(belongs).copied().collect();
            if subset.len() >= FEWEST_DAYS && !subsets.contains(&subset) {
                subsets.push(subset);
            }
        }
    }
    let solved: Vec<Candidate> =
        subsets.par_iter().filter_map(|subset| candidate(event, settings, subset)).collect();
    // What people and stock cannot do is no way to go, unless nothing can be done.
    let any_can = solved.iter().any(|c| !c.lacks);
    let mut candidates: Vec<Candidate> = Vec::new();
    for one in solved.into_iter().filter(|c| !(any_can && c.lacks)) {
        if !candidates.iter().any(|c| c.branch.ways == one.branch.ways) {
            candidates.push(one);
        }
    }
    let sure = sureness(event, settings, &candidates);
    let alone = (0, 0, f64::INFINITY);
    let mut found = Found { candidates, sure, fixed: 0, rule: alone };
    let n = found.candidates.len();
    let regret = |found: &Found, choice| score(event, found, choice, days).regret;
    let of_one = |c: usize| regret(&found, (c, c, f64::INFINITY));
    found.fixed = (0..n).min_by(|a, b| of_one(*a).total_cmp(&of_one(*b)))?;
    let fixed = (found.fixed, found.fixed, f64::INFINITY);
    let mut best = (fixed, regret(&found, fixed));
    for above in thresholds {
        for (mild, hot) in (0..n).flat_map(|a| (0..n).map(move |b| (a, b))).filter(|(a, b)| a != b) {
            let then = regret(&found, (mild, hot, above));
            if then < best.1 - 1e-9 {
                best = ((mild, hot, above), then);
            }
        }
    }
    found.rule = best.0;
    Some(found)
}

/// The cheapest way of doing the event that meets its targets over some of its days.
fn candidate(event: &Event, settings: Settings, days: &[usize]) -> Option<Candidate> {
    let mut some = event.clone();
    some.met = days.iter().map(|d| event.met[*d].clone()).collect();
    for space in &mut some.spaces {
        space.climate = space.climate.only(days);
    }
    let prospects = prospects(some, Settings { lots: LOTS.min(settings.lots), ..settings }).ok()?;
    let decision: Decision = prospects.decide(&prospects.event, |_, _| true);
    let (model, solution) = (&decision.model, &decision.solution);
    let ways = event.orders().zip(&prospects.options).map(|((id, _, order), options)| {
        let offer = decision.chosen(id);
        let option = &options[offer.first];
        Way {
            treatment: option.treatment,
            place_at: option.place_at,
            top_up: option.top_up,
            heads: order.heads + offer.spares,
        }
    });
    let prices = event.means.tubes.iter().map(|t| t.price).chain([event.means.vase_price]);
    let chosen = || model.jobs.iter().zip(&solution.chosen).map(|(job, c)| &job[*c]);
    let uses = |thing: usize| -> u32 { chosen().map(|c| c.uses[thing]).sum() };
    let things: Vec<(u32, f64)> = prices.enumerate().map(|(i, price)| (uses(i), price)).collect();
    let of_things: f64 = things.iter().map(|(n, price)| f64::from(*n) * price).sum();
    let packs =
        model.packs_of(&solution.chosen).into_iter().zip(&model.packs).map(|(n, pack)| (n, pack.price));
    Some(Candidate {
        branch: Branch {
            ways: ways.collect(),
            people: decision.most_people(),
            paid_hours: decision.paid_hours(),
        },
        packs: packs.collect(),
        other: chosen().map(|c| c.cost).sum::<f64>() - of_things,
        things,
        wages: solution.shifts.iter().map(|s| model.wage(s)).sum(),
        lacks: !solution.lacking.is_nothing(),
    })
}

/// The chance of the least sure order, by candidate and day.
fn sureness(event: &Event, settings: Settings, candidates: &[Candidate]) -> Vec<Vec<f64>> {
    let ways: Vec<Vec<Way>> = candidates.iter().map(|c| c.branch.ways.clone()).collect();
    let least = |orders: Vec<f64>| orders.into_iter().fold(1.0, f64::min);
    let by_way = chances(event, settings, &ways).into_iter();
    by_way.map(|days| days.into_iter().map(least).collect()).collect()
}

/// The chance that the forecast of the eve is above a threshold, on each of the days.
///
/// # Formula
/// With `A` the day's high, of mean `m` and standard deviation `s` over days, and `r` the error of such forecasts over `s`, the
/// forecast has mean `m + (1 - r^2)(A - m)` and standard deviation `s r sqrt(1 - r^2)`: what it knows is right on average, and
/// the rest is noise.
fn hot_chances(event: &Event, above_c: f64) -> Vec<f64> {
    let n = event.met.len() as f64;
    let mean = event.met.iter().map(|m| m.high_c).sum::<f64>() / n;
    let sd = (event.met.iter().map(|m| (m.high_c - mean).powi(2)).sum::<f64>() / n).sqrt();
    let r = forecast_ratio(LEAD);
    let noise = (sd * r * (1.0 - r * r).sqrt()).max(1e-9);
    let chance = |high: f64| normal::cdf((mean + (1.0 - r * r) * (high - mean) - above_c) / noise);
    event.met.iter().map(|m| if above_c.is_finite() { chance(m.high_c) } else { 0.0 }).collect()
}

/// What a choice of two candidates and a threshold costs and yields, on average over some days.
fn score(
    event: &Event,
    Found { candidates, sure, .. }: &Found,
    (mild, hot, above_c): (usize, usize, f64),
    days: &[usize],
) -> Score {
    let (a, b) = (&candidates[mild], &candidates[hot]);
    let bought = |a: &[(u32, f64)], b: &[(u32, f64)]| -> f64 {
        a.iter().zip(b).map(|((n, price), (m, _))| f64::from(*n.max(m)) * price).sum()
    };
    let flowers = bought(&a.packs, &b.packs);
    let now = flowers + bought(&a.things, &b.things) + a.other.max(b.other);
    let is_hot = hot_chances(event, above_c);
    let n = days.len().max(1) as f64;
    let over = |of: &dyn Fn(usize, f64) -> f64| days.iter().map(|d| of(*d, is_hot[*d])).sum::<f64>() / n;
    let wages = over(&|_, hot| (1.0 - hot) * a.wages + hot * b.wages);
    let sure = over(&|day, is_hot| (1.0 - is_hot) * sure[mild][day] + is_hot * sure[hot][day]);
    let cost = now + wages;
    // Flowers that do not last are flowers lost.
    Score { cost, sure, regret: cost + flowers * (1.0 - sure) }
}
