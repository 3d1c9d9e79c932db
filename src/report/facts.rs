//! The facts of a plan to report: numbers and names, no sentences. Nothing else in `report` reads a [`Plan`].

use super::words::called;
use crate::decide::alternatives::Alternative;
use crate::decide::bill::Bill;
use crate::decide::options::PlacingOption;
use crate::decide::order::OrderPlan;
use crate::decide::plan::Plan;
use crate::decide::possible::OnDays;
use crate::decide::remedies::Remedy;
use crate::decide::rule::Rule;
use crate::decide::scenarios::{Scenario, ScenarioOutcome, Sensitivity, outcomes, sensitivities};
use crate::decide::solve::model::Lacking;
use crate::decide::telling::Telling;
use crate::decide::work::{Assignment, Person, Work};
use crate::event::{Event, Order, OrderId, Piece};
use crate::flower::catalogue::{Flower, Kind};
use crate::flower::population::HEADS;
use crate::flower::treatment::{Method, Treatment};
use std::ops::Deref;

/// All facts of a plan. Times are hours on the event's clock.
pub struct Facts<'a> {
    plan: &'a Plan,
    /// The event as the florist wrote it.
    pub event: &'a Event,
    /// How much warmer than the event says all spaces but the cool store are taken to be, K.
    pub hotter: f64,
    /// Whether every order meets the target with the people and stock there are.
    pub lasts: bool,
    /// The settings and precision of the simulation.
    pub simulation: Simulation,
    /// The facts of every order, by order number.
    pub orders: Vec<OrderFacts<'a>>,
    /// The people on site, in the order in which they arrive.
    pub people: Vec<PersonFacts<'a>>,
    /// When people are on site: one call for all who come and leave together.
    pub calls: Vec<Call>,
    /// Work left undone in the roster, in hours of one person.
    pub unplaced_hours: f64,
    /// The people and stock that the plan needs beyond those there are.
    pub lacking: &'a Lacking,
    /// Changes that would make the plan possible, the cheapest first; empty if it already is.
    pub remedies: &'a [Remedy],
    /// Other plans for the whole event, this one first.
    pub alternatives: &'a [Alternative],
    /// What to buy, and what the whole event costs.
    pub bill: &'a Bill,
    /// What shows best why the plan is as it is; `None` if nothing is at stake.
    pub telling: Option<&'a Telling>,
    /// The optimality gap: the most by which a cheaper plan could undercut it, as a share of its cost.
    pub gap: f64,
    /// How it fares on each of the days that the event may meet; `None` where its day is given.
    pub on_days: Option<&'a OnDays>,
    /// What to decide on the eve.
    pub rule: Option<&'a Rule>,
}

/// The settings and precision of the simulation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Simulation {
    /// The seed of the random numbers.
    pub seed: u64,
    /// How many lots were simulated.
    pub lots: usize,
    /// How many heads were simulated in each lot.
    pub heads_per_lot: usize,
    /// The simulation's own standard error of an expected share: the root mean square over all options.
    pub error: f64,
}

/// One order: what the event says of it, and its plan. It dereferences to its [`OrderPlan`].
pub struct OrderFacts<'a> {
    /// The piece that it belongs to.
    pub piece: &'a Piece,
    /// Whether it is the first order of its piece.
    pub first_of_piece: bool,
    /// The order as the florist wrote it.
    pub order: &'a Order,
    /// The plan for the order.
    pub plan: &'a OrderPlan,
    /// When the crew begins and ends placing it, h; `None` if nobody has the time.
    pub placed: Option<(f64, f64)>,
}

impl Deref for OrderFacts<'_> {
    type Target = OrderPlan;

    fn deref(&self) -> &OrderPlan {
        self.plan
    }
}

impl<'a> OrderFacts<'a> {
    /// The flower of the order.
    pub fn flower(&self) -> &'static Flower {
        self.order.flower
    }

    /// The flower's name in a sentence.
    pub fn called(&self) -> String {
        called(&self.order.sort())
    }

    /// Whether it is foliage rather than a flower.
    pub fn is_foliage(&self) -> bool {
        self.order.flower.kind() == Kind::Foliage
    }

    /// The treatment that is recommended.
    pub fn treatment(&self) -> Treatment {
        self.plan.recommended().treatment
    }

    /// How many stems the heads ordered make, without spares.
    pub fn stems(&self) -> u32 {
        self.order.stems()
    }

    /// How many whole bunches [`OrderFacts::stems`] make.
    pub fn bunches(&self) -> u32 {
        self.stems().div_ceil(self.order.flower.stems_per_bunch())
    }

    /// The options out of water, by placing time.
    pub fn dry_options(&self) -> impl DoubleEndedIterator<Item = &'a PlacingOption> {
        self.plan.options.iter().filter(|o| o.treatment.method.is_dry())
    }

    /// How many of the heads ordered an option loses in the median lot.
    pub fn lost(&self, option: &PlacingOption) -> u32 {
        self.order.heads - (option.share.p50 * f64::from(self.order.heads)).round() as u32
    }

    /// Why the order is done as it is: what would be lost by placing it earlier, without water, or in tubes.
    pub fn reasons(&self) -> Vec<Reason> {
        let chosen = self.plan.recommended();
        let mut reasons = Vec::new();
        if chosen.treatment.method.is_dry() {
            let first = self.plan.of(chosen.treatment).next().filter(|o| o.place_at < self.plan.window.0);
            reasons.extend(first.map(|first| Reason::NotEarlier(self.loss(first))));
        } else {
            let last = self.dry_options().next_back().filter(|last| last.spares.is_none());
            reasons.extend(last.map(|last| Reason::NotDry(self.loss(last))));
        }
        if chosen.treatment.method == Method::BudVase {
            let tube = self.plan.of_method(Method::WaterTube).last().filter(|tube| tube.spares.is_none());
            reasons.extend(tube.map(|tube| Reason::NotTubes(self.loss(tube))));
        }
        reasons
    }

    /// What an option would lose, in the median lot and in a poor one.
    fn loss(&self, option: &PlacingOption) -> Loss {
        let (ordered, lost) = (self.order.heads, self.lost(option));
        let worst = ordered - option.count.p05 as u32;
        let much_worse = worst > lost + ordered.div_ceil(20);
        Loss { place_at: option.place_at, heads: lost, in_a_poor_lot: much_worse.then_some(worst) }
    }
}

/// A reason why an order is done as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Reason {
    /// Placed at the earliest time, too many are lost.
    NotEarlier(Loss),
    /// Without water too many are lost, even placed last.
    NotDry(Loss),
    /// In tubes too many are lost, even placed last.
    NotTubes(Loss),
}

/// The heads that an option would lose.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// When the heads would be placed, h on the event's clock.
    pub place_at: f64,
    /// How many of those ordered are lost in the median lot.
    pub heads: u32,
    /// How many are lost in a poor lot (at the 5th percentile); `None` unless that is much worse.
    pub in_a_poor_lot: Option<u32>,
}

/// One person's day. Times are hours on the event's clock.
#[derive(Debug, Clone, PartialEq)]
pub struct PersonFacts<'a> {
    /// The person's number, from 1: the same each time that they come.
    pub number: usize,
    /// Whether the person has skills that only some of the crew have.
    pub trained: bool,
    /// When the person arrives, h.
    pub from: f64,
    /// When the person leaves, h.
    pub to: f64,
    /// The person's assignments, in order of time.
    pub assignments: Vec<AssignmentFacts<'a>>,
}

/// A stretch of one person's day spent on one piece of work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AssignmentFacts<'a> {
    /// When it begins, to five minutes, h.
    pub from: f64,
    /// When it ends, to five minutes and later than it begins, h.
    pub to: f64,
    /// The work that is done.
    pub work: WorkFacts<'a>,
}

/// The work of one assignment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WorkFacts<'a> {
    /// This many heads of an order are placed: its heads in proportion to the time.
    Place(OrderId, u32, Part),
    /// The tubes of an order are filled up.
    TopUp(OrderId),
    /// A chore of the event, by its name.
    Chore(&'a str),
    /// The last look over everything.
    LastLook,
    /// A piece, by its name, is moved to a space, by its name.
    Move(&'a str, &'a str),
}

/// Whether an assignment places all heads of an order or some of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// All of its heads.
    All,
    /// Some of its heads.
    Some,
}

/// People who arrive and leave together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Call {
    /// When they arrive, h.
    pub from: f64,
    /// When they leave, h.
    pub to: f64,
    /// How many people it is.
    pub people: u32,
}

impl<'a> Facts<'a> {
    /// The facts of a plan.
    pub fn of(plan: &'a Plan) -> Facts<'a> {
        let event = &plan.event;
        let people: Vec<_> = plan.roster.people.iter().map(|p| person(plan, p)).collect();
        let order = |(id, piece, order)| order_facts(plan, &people, (id, piece, order));
        Facts {
            plan,
            event,
            hotter: plan.settings.hotter,
            lasts: plan.lasts(),
            simulation: Simulation {
                seed: plan.settings.seed,
                lots: plan.settings.lots,
                heads_per_lot: HEADS,
                error: plan.error(),
            },
            orders: event.orders().map(order).collect(),
            people,
            calls: calls(plan),
            unplaced_hours: plan.roster.left,
            lacking: &plan.lacking,
            remedies: &plan.remedies,
            alternatives: &plan.alternatives,
            bill: &plan.bill,
            telling: plan.telling.as_ref(),
            gap: plan.gap,
            on_days: plan.on_days.as_ref(),
            rule: plan.rule.as_ref(),
        }
    }

    /// The facts of one order.
    ///
    /// # Panics
    /// If `id` belongs to another event with more orders.
    pub fn order(&self, id: OrderId) -> &OrderFacts<'a> {
        &self.orders[id.index()]
    }

    /// The pieces of the event, each with its orders.
    pub fn pieces(&self) -> impl Iterator<Item = (&'a Piece, &[OrderFacts<'a>])> {
        let mut rest = &self.orders[..];
        self.event.pieces.iter().map(move |piece| {
            let (own, others) = rest.split_at(piece.orders.len());
            rest = others;
            (piece, own)
        })
    }

    /// Simulates the plan in some scenarios, and tells how every order fares in each.
    pub fn days(&self, scenarios: Vec<Scenario>) -> Vec<DayFacts> {
        scenarios.into_iter().map(|s| DayFacts { scenario: s, outcomes: outcomes(self.plan, s) }).collect()
    }

    /// Simulates the expected number of presentable heads as planned, and its sensitivities, the strongest first.
    pub fn sensitivities(&self) -> (f64, Vec<Sensitivity>) {
        sensitivities(self.plan)
    }
}

/// How a plan fares in one scenario.
#[derive(Debug, Clone)]
pub struct DayFacts {
    /// The scenario that was simulated.
    pub scenario: Scenario,
    /// How every order fares, by order number.
    pub outcomes: Vec<ScenarioOutcome>,
}

fn order_facts<'a>(
    plan: &'a Plan,
    people: &[PersonFacts],
    (id, piece, order): (OrderId, &'a Piece, &'a Order),
) -> OrderFacts<'a> {
    let placing = |a: &&AssignmentFacts| matches!(a.work, WorkFacts::Place(of, ..) if of == id);
    let assignments = || people.iter().flat_map(|p| &p.assignments).filter(placing);
    let from = assignments().map(|a| a.from).reduce(f64::min);
    let to = assignments().map(|a| a.to).reduce(f64::max);
    OrderFacts {
        piece,
        first_of_piece: std::ptr::eq(&piece.orders[0], order),
        order,
        plan: plan.order(id),
        placed: from.zip(to),
    }
}

fn person<'a>(plan: &'a Plan, person: &'a Person) -> PersonFacts<'a> {
    let times = to_five_minutes(person);
    PersonFacts {
        number: person.number,
        trained: person.skilled && plan.event.means.skilled < plan.event.means.people,
        from: person.from,
        to: person.to,
        assignments: person.assignments.iter().zip(times).map(|(a, t)| assignment(plan, a, t)).collect(),
    }
}

/// When a person does what, to five minutes, which are as fine as anybody works to. No job is shorter, so that the
/// smallest stands in every list; its neighbours make room.
fn to_five_minutes(person: &Person) -> Vec<(f64, f64)> {
    let fives = |hours: f64| (hours * 12.0).round() as i64;
    let mut done = fives(person.from);
    let mut times: Vec<(i64, i64)> = Vec::new();
    for assignment in &person.assignments {
        let from = fives(assignment.from).max(done);
        done = fives(assignment.to).max(from + 1);
        times.push((from, done));
    }
    let mut leaves = fives(person.to);
    for (from, to) in times.iter_mut().rev() {
        *to = (*to).min(leaves);
        *from = (*from).min(*to - 1);
        leaves = *from;
    }
    times.into_iter().map(|(from, to)| (from as f64 / 12.0, to as f64 / 12.0)).collect()
}

fn assignment<'a>(plan: &'a Plan, assignment: &Assignment, (from, to): (f64, f64)) -> AssignmentFacts<'a> {
    let all = || plan.roster.people.iter().flat_map(|p| &p.assignments).filter(|a| a.work == assignment.work);
    let work = match assignment.work {
        Work::Place(id) => {
            let hours: Vec<f64> = all().map(|a| a.to - a.from).collect();
            let own = all().position(|a| std::ptr::eq(a, assignment)).unwrap_or(0);
            let heads = parts(plan.order(id).heads, &hours)[own];
            WorkFacts::Place(id, heads, if hours.len() == 1 { Part::All } else { Part::Some })
        }
        Work::TopUp(id) => WorkFacts::TopUp(id),
        Work::Chore(c) => WorkFacts::Chore(&plan.event.means.chores[c].name),
        Work::LastLook => WorkFacts::LastLook,
        Work::Move(p, m) => {
            let piece = &plan.event.pieces[p];
            WorkFacts::Move(&piece.name, &plan.event.spaces[piece.moves[m].1].name)
        }
    };
    AssignmentFacts { from, to, work }
}

/// The heads of an order divided among those who work on it, in proportion to their hours. They add up, and as long as there
/// are enough everybody has one.
fn parts(heads: u32, hours: &[f64]) -> Vec<u32> {
    let total: f64 = hours.iter().sum();
    let (mut worked, mut given) = (0.0, 0);
    let part = |hours: &f64| {
        worked += hours;
        let up_to = (f64::from(heads) * worked / total).round() as u32;
        std::mem::replace(&mut given, up_to).abs_diff(up_to)
    };
    let mut parts: Vec<u32> = hours.iter().map(part).collect();
    while let Some(none) = parts.iter().position(|n| *n == 0) {
        let most = parts.iter_mut().max().filter(|n| **n > 1);
        let Some(most) = most else { break };
        *most -= 1;
        parts[none] = 1;
    }
    parts
}

fn calls(plan: &Plan) -> Vec<Call> {
    let mut calls: Vec<Call> = Vec::new();
    for person in &plan.roster.people {
        match calls.iter_mut().find(|c| (c.from, c.to) == (person.from, person.to)) {
            Some(call) => call.people += 1,
            None => calls.push(Call { from: person.from, to: person.to, people: 1 }),
        }
    }
    calls
}

#[cfg(test)]
mod tests {
    use super::parts;

    #[test]
    fn heads_are_divided_without_remainder_by_the_hours_that_each_works() {
        assert_eq!(parts(10, &[1.0, 1.0, 1.0]), [3, 4, 3]);
        assert_eq!(parts(60, &[0.5, 1.0]), [20, 40]);
        assert_eq!(parts(7, &[2.0]), [7]);
        // Whoever is asked at all has one head to set, as long as there are enough.
        assert_eq!(parts(9, &[0.01, 2.0, 0.01]), [1, 7, 1]);
        assert_eq!(parts(1, &[1.0, 1.0]).iter().sum::<u32>(), 1);
    }
}
