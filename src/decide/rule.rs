//! If-then rules: what is decided now, and what on the eve by the forecast.
//!
//! The event is solved over its milder and over its hotter days, for some thresholds between them. The plan stands on one side
//! of the threshold, so that there is one plan, and what is done otherwise. Flowers are bought now, enough for either; how they
//! are placed, tubes and vases of those in the van, and the hours of the crew follow the forecast.

use super::decision::Decision;
use super::possible::{Chances, Placement, degrees, least};
use super::prospects::Prospects;
use crate::climate::weather::possible::forecast_ratio;
use crate::event::{Event, Order, OrderId};
use crate::flower::treatment::{Method, Treatment};
use crate::numerics::normal;
use crate::units::Scale;
use rayon::prelude::*;

/// The forecast by which it is decided is made so many days before: on the eve.
pub const LEAD: u32 = 1;
/// The fewest deliveries that a way is found by.
const FEWEST_LOTS: usize = 24;
/// The shares of days that lie below the thresholds that are tried (judgement).
const TRIED: [f64; 2] = [0.6, 0.85];
/// Days belong to a side if the forecast puts them there at least so often (judgement).
const BELONGS: f64 = 0.2;
/// Fewer days than this are too few to plan for.
const FEWEST_DAYS: usize = 5;
/// What it costs where an order does not last, as a multiple of the price of its flowers: they are lost, and a florist's name
/// with them (judgement).
const LOST: f64 = 5.0;
/// A rule is worth telling if its mild way saves so much of the cost, or its hot way makes the event so much surer (judgement).
const WORTH_COST: f64 = 0.01;
const WORTH_SURE: f64 = 0.02;

/// What a way of deciding costs, and how sure it is, on average over days.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Score {
    /// Flowers, tubes and vases that are used, and wages, in money.
    pub cost: f64,
    /// The chance that the least sure order keeps enough heads, 0 to 1.
    pub sure: f64,
    /// Both as one number, in money: the cost, and five times that of the flowers of each order as often as it fails.
    pub regret: f64,
}

/// How the event is done on one side of a threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Branch {
    /// The way of every order, by its number.
    pub ways: Vec<Placement>,
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
    /// Whether the plan is the hot way; it is the mild one otherwise.
    pub hot_is_planned: bool,
    /// What is in the van either way: tubes by size, ml and number, and vases.
    pub tubes: Vec<(f64, u32)>,
    /// See `tubes`.
    pub vases: u32,
    /// The share of days on which the forecast will be above the threshold, 0 to 1.
    pub hot_share: f64,
    /// On the days that it was found on: the plan, the rule, and knowing the day.
    pub found: [Score; 3],
    /// A plan and a rule, each found on one half of the years and scored on the other; `None` for one year.
    pub left_out: Option<[Score; 2]>,
}

impl Rule {
    /// The orders that are done in another way above the threshold, each with both ways.
    pub fn differs<'a>(
        &self,
        event: &'a Event,
    ) -> impl Iterator<Item = (OrderId, Placement, Placement)> + use<'a> {
        let both: Vec<(Placement, Placement)> =
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
    /// Things of each kind that are used: the sizes of tubes, then vases.
    uses: Vec<u32>,
    /// What tubes, vases and vessels cost, and wages.
    of_the_day: f64,
    lacks: bool,
}

/// A choice: the candidates up to a threshold and above, and the threshold, C.
type Choice = (usize, usize, f64);

/// All candidates on all days that are looked at, told by their place among these.
struct Table<'a> {
    event: &'a Event,
    prospects: &'a Prospects,
    planned: &'a Decision,
    days: Vec<usize>,
    /// The years, in rising order.
    years: Vec<i32>,
    candidates: Vec<Candidate>,
    /// The part of each order in the price of all flowers.
    parts: Vec<f64>,
    /// The chance of the least sure order, by candidate and day.
    sure: Vec<Vec<f64>>,
    /// The part of the flowers that is in orders which fail, on average, by candidate and day.
    lost: Vec<Vec<f64>>,
}

/// All days, or those of every other year, with what was solved over them: the thresholds tried, and the candidates.
struct Half {
    /// Whether these are the years of odd places or of even ones; all if none.
    odd: Option<usize>,
    /// The days that are looked at.
    days: Vec<usize>,
    thresholds: Vec<f64>,
    /// The plan of these days first.
    candidates: Vec<usize>,
}

/// Whether an event meets one of so many days that a rule is looked for.
pub fn is_looked_for(event: &Event) -> bool {
    event.met.len() >= 2 * FEWEST_DAYS
}

/// The best rule for an event with a plan, if it is worth one; `None` also where its day is given.
pub fn rule(prospects: &Prospects, planned: &Decision, looked: &mut Chances) -> Option<Rule> {
    let event = &prospects.event;
    if !is_looked_for(event) {
        return None;
    }
    let mut years: Vec<i32> = event.met.iter().map(|m| m.year).collect();
    years.sort_unstable();
    years.dedup();
    let mut table = Table {
        event,
        prospects,
        planned,
        days: looked.days.clone(),
        years,
        candidates: Vec::new(),
        parts: parts(event),
        sure: Vec::new(),
        lost: Vec::new(),
    };
    let all: Vec<usize> = (0..table.days.len()).collect();
    let solved = table.solve(looked);
    let (whole, halves) = solved.split_first()?;
    let (fixed, rule) = table.best(whole)?;
    let scores = [table.score(fixed, &all), table.score(rule, &all)];
    let (mild, hot, above_c) = rule;
    if mild == hot {
        return None;
    }
    let hot_is_planned = hot == fixed.0;
    let known: Vec<Score> = all
        .iter()
        .map(|day| {
            let each = whole.candidates.iter().map(|c| table.score((*c, *c, f64::INFINITY), &[*day]));
            each.min_by(|a, b| a.regret.total_cmp(&b.regret)).unwrap_or_default()
        })
        .collect();
    let left_out = match halves {
        [a, b] => {
            let of = |found_on: &Half, scored_on: &Half| -> Option<[Score; 2]> {
                let (fixed, rule) = table.best(found_on)?;
                Some([fixed, rule].map(|choice| table.score(choice, &scored_on.days)))
            };
            of(a, b).zip(of(b, a)).map(|(a, b)| [mean(&[a[0], b[0]]), mean(&[a[1], b[1]])])
        }
        _ => None,
    };
    let (mild, hot) = (&table.candidates[mild], &table.candidates[hot]);
    let most = |i: usize| mild.uses[i].max(hot.uses[i]);
    let sizes = event.means.tubes.iter().enumerate();
    Some(Rule {
        above_c,
        hot_is_planned,
        tubes: sizes.map(|(i, tube)| (tube.ml, most(i))).filter(|(_, n)| *n > 0).collect(),
        vases: most(event.means.tubes.len()),
        hot_share: table.hot_chances(above_c).iter().sum::<f64>() / all.len() as f64,
        found: [scores[0], scores[1], mean(&known)],
        left_out,
        mild: mild.branch.clone(),
        hot: hot.branch.clone(),
    })
}

/// The part of each order in the price of all flowers of an event, or in their number where they cost nothing.
fn parts(event: &Event) -> Vec<f64> {
    let each =
        |value: fn(&Order) -> f64| -> Vec<f64> { event.orders().map(|(_, _, order)| value(order)).collect() };
    let prices = each(|order| f64::from(order.stems()) * order.stem_price());
    let prices = if prices.iter().sum::<f64>() > 0.0 { prices } else { each(|order| f64::from(order.heads)) };
    let all: f64 = prices.iter().sum();
    prices.into_iter().map(|price| price / all).collect()
}

/// How much water a treatment gives, for comparison: none, a tube of some size, a vase.
fn water(treatment: Treatment) -> f64 {
    match treatment.method {
        Method::BudVase => f64::INFINITY,
        method if method.is_dry() => 0.0,
        _ => treatment.tube_ml,
    }
}

/// The chance that the forecast of the eve is above a threshold on a day of some high, C; `highs` are those of all days.
///
/// # Formula
/// With `A` the day's high, of mean `m` and standard deviation `s` over days, and `r` the error of such forecasts over `s`,
/// the forecast has mean `m + (1 - r^2)(A - m)` and standard deviation `s r sqrt(1 - r^2)`: what it knows is right on
/// average, and the rest is noise.
fn forecast_above(highs: &[f64], above_c: f64, high: f64) -> f64 {
    if !above_c.is_finite() {
        return 0.0;
    }
    let n = highs.len() as f64;
    let mean = highs.iter().sum::<f64>() / n;
    let sd = (highs.iter().map(|h| (h - mean).powi(2)).sum::<f64>() / n).sqrt();
    let r = forecast_ratio(LEAD);
    let noise = (sd * r * (1.0 - r * r).sqrt()).max(1e-9);
    normal::cdf((mean + (1.0 - r * r) * (high - mean) - above_c) / noise)
}

/// Whole degrees below which lie [`TRIED`] of days with these highs, C, which rise.
fn thresholds(scale: Scale, highs: &[f64]) -> Vec<f64> {
    let (Some(first), Some(last)) = (highs.first(), highs.last()) else { return Vec::new() };
    let whole = degrees(scale, *first, *last);
    let near = |share: &f64| {
        let wanted = highs[((highs.len() - 1) as f64 * share) as usize];
        let inside = whole.iter().copied().filter(|c| c > first && c < last);
        inside.min_by(|a, b| (a - wanted).abs().total_cmp(&(b - wanted).abs()))
    };
    let mut thresholds: Vec<f64> = TRIED.iter().filter_map(near).collect();
    thresholds.dedup();
    thresholds
}

/// The mean of some scores.
fn mean(scores: &[Score]) -> Score {
    let n = scores.len().max(1) as f64;
    let of = |value: fn(&Score) -> f64| scores.iter().map(value).sum::<f64>() / n;
    Score { cost: of(|s| s.cost), sure: of(|s| s.sure), regret: of(|s| s.regret) }
}

impl Candidate {
    /// The candidate that a decision comes to.
    fn of(prospects: &Prospects, decision: &Decision) -> Candidate {
        let event = &prospects.event;
        let (model, solution) = (&decision.model, &decision.solution);
        let ways = event.orders().zip(&prospects.options).map(|((id, _, order), options)| {
            let offer = decision.chosen(id);
            Placement::of(&options[offer.first], order.heads + offer.spares)
        });
        let chosen = || model.jobs.iter().zip(&solution.chosen).map(|(job, c)| &job[*c]);
        let things = event.means.tubes.len() + 1;
        let packs =
            model.packs_of(&solution.chosen).into_iter().zip(&model.packs).map(|(n, pack)| (n, pack.price));
        Candidate {
            branch: Branch {
                ways: ways.collect(),
                people: decision.most_people(),
                paid_hours: decision.paid_hours(),
            },
            packs: packs.collect(),
            uses: (0..things).map(|thing| chosen().map(|c| c.uses[thing]).sum()).collect(),
            of_the_day: chosen().map(|c| c.cost).sum::<f64>()
                + solution.shifts.iter().map(|s| model.wage(s)).sum::<f64>(),
            lacks: !solution.lacking.is_nothing(),
        }
    }
}

impl Table<'_> {
    fn high(&self, day: usize) -> f64 {
        self.event.met[self.days[day]].high_c
    }

    /// Whether a day of the event is of those years.
    fn is_in(&self, day: usize, odd: Option<usize>) -> bool {
        let place = || self.years.binary_search(&self.event.met[day].year).unwrap_or(0);
        odd.is_none_or(|odd| place() % 2 == odd)
    }

    /// Solves the event over all, the milder and the hotter of all days, and of those of every other year; and looks at every
    /// way that is found, on all days at once.
    fn solve(&mut self, looked: &mut Chances) -> Vec<Half> {
        let (mut halves, plans) = self.planned();
        let ways: Vec<Vec<Placement>> = plans.iter().map(|plan| plan.branch.ways.clone()).collect();
        let fare = looked.by_order(self.event, &ways);
        let sides: Vec<(usize, f64, bool)> = (0..halves.len())
            .flat_map(|h| {
                halves[h].thresholds.iter().flat_map(move |above| [(h, *above, false), (h, *above, true)])
            })
            .collect();
        let found: Vec<Option<Candidate>> = sides
            .par_iter()
            .map(|(h, above, is_hot)| self.beside((&ways[*h], &fare[*h]), &halves[*h], (*above, *is_hot)))
            .collect();
        for (half, plan) in halves.iter_mut().zip(plans) {
            self.keep(half, plan);
        }
        for ((h, ..), one) in sides.iter().zip(found) {
            // What people and stock cannot do is no way to go, but for the plan, which has said what it lacks.
            if let Some(one) = one.filter(|one| !one.lacks) {
                self.keep(&mut halves[*h], one);
            }
        }
        let ways: Vec<Vec<Placement>> = self.candidates.iter().map(|c| c.branch.ways.clone()).collect();
        let chances = looked.by_order(self.event, &ways);
        let each = |of: &dyn Fn(&[f64]) -> f64| -> Vec<Vec<f64>> {
            chances.iter().map(|days| days.iter().map(|orders| of(orders)).collect()).collect()
        };
        let lost =
            |orders: &[f64]| orders.iter().zip(&self.parts).map(|(sure, part)| (1.0 - sure) * part).sum();
        (self.sure, self.lost) = (each(&least), each(&lost));
        halves
    }

    /// All days and, where there are years enough, two halves of them, each with its plan.
    fn planned(&self) -> (Vec<Half>, Vec<Candidate>) {
        let half = |odd: Option<usize>| {
            let days: Vec<usize> = (0..self.days.len()).filter(|d| self.is_in(self.days[*d], odd)).collect();
            let highs: Vec<f64> = days.iter().map(|d| self.high(*d)).collect();
            let thresholds = thresholds(self.event.scale, &highs);
            Half { odd, days, thresholds, candidates: Vec::new() }
        };
        let mut halves = Vec::from([None, Some(0), Some(1)].map(half));
        // Too few years, or too few days of them, are not halved.
        if self.years.len() < 2 || halves.iter().any(|half| half.days.len() < 2 * FEWEST_DAYS) {
            halves.truncate(1);
        }
        let plans: Vec<Option<Candidate>> = halves.par_iter().map(|half| self.plan(half.odd)).collect();
        let mut plans: Vec<Candidate> = plans.into_iter().map_while(|plan| plan).collect();
        if plans.len() < halves.len() {
            halves.truncate(1);
            plans.truncate(1);
        }
        (halves, plans)
    }

    /// Adds a candidate to those of some days; ways that are the same are one candidate.
    fn keep(&mut self, half: &mut Half, one: Candidate) {
        let known = self.candidates.iter().position(|c| c.branch.ways == one.branch.ways);
        let number = known.unwrap_or(self.candidates.len());
        if known.is_none() {
            self.candidates.push(one);
        }
        if !half.candidates.contains(&number) {
            half.candidates.push(number);
        }
    }

    /// The plan; of some years, the cheapest way of doing the event that meets its targets over them.
    fn plan(&self, odd: Option<usize>) -> Option<Candidate> {
        if odd.is_none() {
            return Some(Candidate::of(self.prospects, self.planned));
        }
        let prospects = self.prospects.on_days(|day| self.is_in(day, odd), FEWEST_LOTS)?;
        Some(Candidate::of(&prospects, &prospects.decide(&prospects.event, |_, _, _| true)))
    }

    /// The cheapest way of doing the event that meets its targets on one side of a threshold, beside a plan: `ways`, and how
    /// it fares by day and order. So that a rule is short and what one expects, the hot side gives more water to whoever is not
    /// sure enough there, and the mild one lays dry.
    fn beside(
        &self,
        (ways, fare): (&[Placement], &[Vec<f64>]),
        half: &Half,
        (above, is_hot): (f64, bool),
    ) -> Option<Candidate> {
        let event = self.event;
        let side = |hot: Vec<f64>| -> Vec<f64> {
            hot.into_iter().map(|p| if is_hot { p } else { 1.0 - p }).collect()
        };
        let met = side(self.hot_chances_of(above, event.met.iter().map(|m| m.high_c)));
        let looked_at = side(self.hot_chances(above));
        let stays = |id: OrderId| {
            let weights = || half.days.iter().map(|d| (looked_at[*d], fare[*d][id.index()]));
            let sure = weights().map(|(p, sure)| p * sure).sum::<f64>() / weights().map(|w| w.0).sum::<f64>();
            is_hot && sure >= event.assurance
        };
        let stay: Vec<bool> = event.orders().map(|(id, ..)| stays(id)).collect();
        let belongs = |day: usize| self.is_in(day, half.odd) && met[day] >= BELONGS;
        let prospects = self.prospects.on_days(belongs, FEWEST_LOTS)?;
        let decision = prospects.decide(&prospects.event, |id, _, option| {
            let (planned, new) = (ways[id.index()].treatment, option.treatment);
            let otherwise = if is_hot { water(new) > water(planned) } else { new.method.is_dry() };
            new == planned || otherwise && !stay[id.index()]
        });
        Some(Candidate::of(&prospects, &decision))
    }

    /// The plan and the best rule with the plan on one side, on some days, of what was solved over them. The plan is a rule, too,
    /// so that none is worse than it there.
    fn best(&self, half: &Half) -> Option<(Choice, Choice)> {
        let plan = *half.candidates.first()?;
        let mut rules = vec![(plan, plan, f64::INFINITY)];
        for above in &half.thresholds {
            let others = half.candidates.iter().filter(|other| **other != plan);
            rules.extend(others.flat_map(|other| [(plan, *other, *above), (*other, plan, *above)]));
        }
        let planned = self.score(rules[0], &half.days);
        let is_worth = |(mild, hot, _): Choice, score: &Score| match (mild == plan, hot == plan) {
            (true, true) => true,
            (true, false) => score.sure > planned.sure + WORTH_SURE,
            _ => score.cost < planned.cost * (1.0 - WORTH_COST),
        };
        let scored = rules.iter().map(|choice| (*choice, self.score(*choice, &half.days)));
        let scored = scored
            .filter(|(choice, score)| is_worth(*choice, score))
            .map(|(choice, score)| (score.regret, choice));
        let best = scored.min_by(|a, b| a.0.total_cmp(&b.0))?.1;
        Some((rules[0], best))
    }

    /// The chance that the forecast of the eve is above a threshold, on each of the days.
    fn hot_chances(&self, above_c: f64) -> Vec<f64> {
        self.hot_chances_of(above_c, (0..self.days.len()).map(|d| self.high(d)))
    }

    /// The same for days of some highs.
    fn hot_chances_of(&self, above_c: f64, of: impl Iterator<Item = f64>) -> Vec<f64> {
        let highs: Vec<f64> = self.event.met.iter().map(|m| m.high_c).collect();
        of.map(|high| forecast_above(&highs, above_c, high)).collect()
    }

    /// What a choice costs and yields, on average over some days. Flowers are bought for either way, the rest is used as the day
    /// asks: what is left of tubes and vases goes back on the shelf.
    fn score(&self, (mild, hot, above_c): Choice, days: &[usize]) -> Score {
        let (a, b) = (&self.candidates[mild], &self.candidates[hot]);
        let packs = a.packs.iter().zip(&b.packs);
        let flowers: f64 = packs.map(|((n, price), (m, _))| f64::from(*n.max(m)) * price).sum();
        let is_hot = self.hot_chances(above_c);
        let n = days.len().max(1) as f64;
        let over = |mild: &dyn Fn(usize) -> f64, hot: &dyn Fn(usize) -> f64| {
            days.iter().map(|d| (1.0 - is_hot[*d]) * mild(*d) + is_hot[*d] * hot(*d)).sum::<f64>() / n
        };
        let cost = flowers + over(&|_| a.of_the_day, &|_| b.of_the_day);
        let sure = over(&|d| self.sure[mild][d], &|d| self.sure[hot][d]);
        let lost = over(&|d| self.lost[mild][d], &|d| self.lost[hot][d]);
        Score { cost, sure, regret: cost + LOST * flowers * lost }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::decide::plan::Settings;
    use crate::decide::prospects::prospects;
    use crate::event::{Met, invented};

    /// Over days whose highs are normal, the forecast is normal of the same mean and `sqrt(1 - r^2)` times their deviation (the law of
    /// total variance: `(1 - r^2)^2 + r^2 (1 - r^2) = 1 - r^2`).
    #[test]
    fn a_forecast_is_right_on_average() {
        let n = 2000;
        let highs: Vec<f64> =
            (0..n).map(|i| 25.0 + 3.0 * normal::quantile((f64::from(i) + 0.5) / f64::from(n))).collect();
        let r = forecast_ratio(LEAD);
        for above in [20.0, 24.0, 27.0, 31.0] {
            let mean =
                highs.iter().map(|high| forecast_above(&highs, above, *high)).sum::<f64>() / f64::from(n);
            let known = normal::upper_tail((above - 25.0) / (3.0 * (1.0 - r * r).sqrt()));
            assert!((mean - known).abs() < 2e-3, "{above}: {mean} {known}");
        }
        assert!(forecast_above(&highs, 27.0, 30.0) > 0.9 && forecast_above(&highs, 27.0, 24.0) < 0.1);
        assert_eq!(forecast_above(&highs, f64::INFINITY, 40.0), 0.0);
    }

    fn event(flowers: &str) -> Event {
        invented("[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n", flowers)
    }

    /// 40 stems at 3 and 20 at 2 are 120 and 40 of 160; where nothing costs anything, heads are counted.
    #[test]
    fn orders_have_their_part_in_the_price_of_all_flowers() {
        let two = |a: &str, b: &str| {
            let flower = |name: &str, heads: u32, price: &str| {
                format!("[[piece.flower]]\nflower = \"{name}\"\nheads = {heads}\nprice = \"{price}\"\n")
            };
            parts(&event(&(flower("rose", 40, a) + &flower("dahlia", 20, b))))
        };
        let near = |a: Vec<f64>, b: [f64; 2]| a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-12);
        assert!(near(two("EUR 3", "EUR 2"), [0.75, 0.25]));
        assert!(near(two("EUR 0", "EUR 0"), [2.0 / 3.0, 1.0 / 3.0]));
    }

    #[test]
    fn more_water_comes_after_less() {
        let of = |method: Method, ml: f64| water(Treatment::new(method, ml));
        assert_eq!((of(Method::Tucked, 0.0), of(Method::Wired, 0.0)), (0.0, 0.0));
        assert_eq!((of(Method::WaterTube, 10.0), of(Method::BudVase, 0.0)), (10.0, f64::INFINITY));
        let score = |x: f64| Score { cost: x, sure: 2.0 * x, regret: 4.0 * x };
        let found = mean(&[score(1.0), score(2.0), score(6.0)]);
        assert_eq!((found.cost, found.sure, found.regret), (3.0, 6.0, 12.0));
    }

    /// A plan, one with more water and one laid dry, by their packs of flowers at 10 and what else they cost, and how sure each
    /// is on a cool and on a hot day; there are five of both.
    fn with_table<T>(costs: [(u32, f64); 3], sure: [(f64, f64); 3], told: impl Fn(&Table, &[f64]) -> T) -> T {
        let highs = [20.0, 21.0, 22.0, 23.0, 24.0, 30.0, 31.0, 32.0, 33.0, 34.0];
        let day = |high_c: &f64| Met { name: String::new(), year: 2001, high_c: *high_c };
        let rose = event("[[piece.flower]]\nflower = \"rose\"\nheads = 9\n");
        let event = Event { met: highs.iter().map(day).collect(), ..rose.clone() };
        let prospects = prospects(rose, Settings { lots: 1, ..Settings::default() }).unwrap();
        let planned = prospects.decide(&prospects.event, |_, _, _| true);
        let candidate = |(packs, of_the_day): (u32, f64)| Candidate {
            branch: Branch { ways: Vec::new(), people: 1, paid_hours: 1.0 },
            packs: vec![(packs, 10.0)],
            uses: Vec::new(),
            of_the_day,
            lacks: false,
        };
        let by_day =
            |(cool, hot): (f64, f64)| highs.iter().map(|c| if *c < 27.0 { cool } else { hot }).collect();
        let table = Table {
            event: &event,
            prospects: &prospects,
            planned: &planned,
            days: (0..10).collect(),
            years: vec![2001],
            candidates: costs.map(candidate).to_vec(),
            parts: vec![1.0],
            sure: sure.map(by_day).to_vec(),
            lost: sure.map(|(cool, hot)| by_day((1.0 - cool, 1.0 - hot))).to_vec(),
        };
        told(&table, &highs)
    }

    /// Summed by hand over the days, each as often done the hot way as the forecast is above.
    #[test]
    fn a_rule_costs_and_keeps_what_each_day_does() {
        with_table(
            [(10, 100.0), (12, 130.0), (9, 60.0)],
            [(1.0, 0.5), (1.0, 0.9), (0.9, 0.1)],
            |table, highs| {
                let days = [1, 4, 5, 9];
                let found = table.score((0, 1, 27.0), &days);
                let (mut cost, mut sure) = (120.0, 0.0);
                for day in days {
                    let hot = forecast_above(highs, 27.0, highs[day]);
                    cost += ((1.0 - hot) * 100.0 + hot * 130.0) / 4.0;
                    sure += if day < 5 { 1.0 } else { (1.0 - hot) * 0.5 + hot * 0.9 } / 4.0;
                }
                assert!((found.cost - cost).abs() < 1e-9 && (found.sure - sure).abs() < 1e-12, "{found:?}");
                assert!((found.regret - (cost + 5.0 * 120.0 * (1.0 - sure))).abs() < 1e-9, "{found:?}");
            },
        );
    }

    #[test]
    fn a_rule_is_worth_what_it_saves_or_makes_sure() {
        let half = |candidates: &[usize]| Half {
            odd: None,
            days: (0..10).collect(),
            thresholds: vec![27.0],
            candidates: candidates.to_vec(),
        };
        let best = |costs: [(u32, f64); 3], sure: [(f64, f64); 3]| {
            with_table(costs, sure, |table, _| {
                let (plan, best) = table.best(&half(&[0, 1, 2])).unwrap();
                assert_eq!(plan, (0, 0, f64::INFINITY));
                assert!(table.best(&half(&[])).is_none());
                best
            })
        };
        let plan = (0, 0, f64::INFINITY);
        let (wetter, drier) = ((12, 130.0), (10, 60.0));
        // Water on hot days, where it makes sure; dry on cool ones, where that saves.
        assert_eq!(best([(10, 100.0), wetter, drier], [(1.0, 0.5), (1.0, 1.0), (0.4, 0.0)]), (0, 1, 27.0));
        assert_eq!(best([(10, 100.0), wetter, drier], [(1.0, 1.0), (1.0, 1.0), (1.0, 0.0)]), (2, 0, 27.0));
        // Too little is saved, or nothing made much surer, whatever the regret.
        assert_eq!(best([(10, 100.0), wetter, (10, 98.0)], [(1.0, 1.0), (1.0, 1.0), (1.0, 1.0)]), plan);
        assert_eq!(best([(10, 100.0), (10, 100.0), wetter], [(1.0, 0.96), (1.0, 0.99), (1.0, 0.9)]), plan);
        // It may be dear to be sure, and not worth it.
        assert_eq!(best([(10, 100.0), (10, 900.0), wetter], [(1.0, 0.7), (1.0, 1.0), (0.4, 0.0)]), plan);
    }

    /// Of eleven days six in ten lie below the seventh, and more than eight in ten below the ninth: 26.2 and 34.4 C.
    #[test]
    fn thresholds_lie_where_days_are_and_between_them() {
        let highs = [20.0, 21.0, 22.0, 23.0, 24.0, 25.0, 26.2, 30.0, 34.4, 36.0, 38.0];
        assert_eq!(thresholds(Scale::Celsius, &highs), [26.0, 34.0]);
        assert_eq!(thresholds(Scale::Celsius, &[]), Vec::<f64>::new());
        // Days alike to a degree have none between them, and few have one alone.
        assert_eq!(thresholds(Scale::Celsius, &[20.0, 20.5, 21.0]), Vec::<f64>::new());
        assert_eq!(thresholds(Scale::Celsius, &[20.0, 20.5, 22.0]), [21.0]);
    }

    #[test]
    fn ten_days_are_enough_to_look_for_a_rule() {
        let day = |high: usize| Met { name: String::new(), year: 2001, high_c: high as f64 };
        let of = |days: usize| Event {
            met: (0..days).map(day).collect(),
            ..event("[[piece.flower]]\nflower = \"rose\"\nheads = 9\n")
        };
        assert!(!is_looked_for(&of(9)) && is_looked_for(&of(10)));
    }
}
