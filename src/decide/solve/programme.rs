//! The optimisation model as a mixed-integer programme: its variables and constraints, and the way back to a solution.

use super::model::{Candidate, Lacking, Model, Part, Solution};
use super::shifts::{Number, Staff};
use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, Variable};

/// What a person beyond the crew costs, in hours at the usual wage: so much that as few as possible are asked for.
const STRETCH: f64 = 200.0;
/// The least that an hour of work counts for, in money, so that unpaid people are not wasted.
const LEAST_HOURLY: f64 = 0.5;

impl Model {
    /// What an hour of work counts for in the objective, in money.
    pub(super) fn hourly(&self) -> f64 {
        self.crew.hourly.max(LEAST_HOURLY)
    }
}

/// A mixed-integer programme.
///
/// # Formula
/// Each candidate has a binary `x`; those of a job add up to 1. Each shift has a whole number of people, by skill. Each
/// pair of window and slot has hours `y` of work. The `y` of a window add up to the work chosen for it. The `y` of a slot
/// are at most the hours of the people there, and those of skilled work at most the hours of the skilled. The stock that
/// is used is at most what there is. What the candidates take of each kind of pack is at most what the whole packs that
/// are bought hold. The cost is minimised.
pub(super) struct Programme {
    /// The objective and constraints, as the solver takes them.
    pub problem: Problem,
    /// Whether a candidate is taken, by job, then by candidate.
    x: Vec<Vec<Variable>>,
    /// How many packs of each kind are bought; `None` where all candidates take the same number.
    packs: Vec<Option<Variable>>,
    staff: Staff,
    lacking: LackingVariables,
}

/// The variables for what is needed beyond what there is; none where that is not allowed.
struct LackingVariables {
    people: Option<Variable>,
    skilled: Option<Variable>,
    /// By thing in stock.
    stock: Vec<Option<Variable>>,
}

impl Programme {
    /// The programme of a model. If `stretched`, it may need more people and stock than there are. Unless `whole`, jobs
    /// may be split between candidates, and people into parts.
    pub fn of(model: &Model, stretched: bool, whole: bool) -> Programme {
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let number = |problem: &mut Problem, cost: f64, most: u32| match whole {
            true => problem.add_integer_var(cost, (0, most as i32)),
            false => problem.add_var(cost, (0.0, f64::from(most))),
        };
        let x = candidates(&mut problem, model, &number);
        let packs = packs(&mut problem, model, &x, &number);
        // If everybody is skilled, there is one kind of people.
        let kinds: &[bool] = if model.crew.skilled >= model.crew.people { &[true] } else { &[false, true] };
        let most = if stretched { 1000 } else { model.crew.people };
        let hourly = model.hourly();
        let staff = Staff::new(&mut problem, &model.slots, &model.crew, (kinds, most), hourly, &number);
        let mut more = || stretched.then(|| number(&mut problem, STRETCH * hourly, 1000));
        let (people, skilled) = (more(), more());
        limit_people(&mut problem, model, &staff, (people, skilled));
        let work = work(&mut problem, model, &x);
        limit_work(&mut problem, model, &staff, &work);
        let stock = limit_stock(&mut problem, model, &x, stretched);
        Programme { problem, x, packs, staff, lacking: LackingVariables { people, skilled, stock } }
    }

    /// The value of a variable for each candidate, by job.
    pub fn by_candidate<T>(&self, value: impl Fn(Variable) -> T) -> Vec<Vec<T>> {
        self.x.iter().map(|job| job.iter().map(|v| value(*v)).collect()).collect()
    }

    /// The values of the variables that describe a solution, from which the solver can start.
    pub fn hint(&self, model: &Model, solution: &Solution) -> Vec<(Variable, f64)> {
        let mut hint = self.staff.hint(&solution.shifts);
        for (job, chosen) in self.x.iter().zip(&solution.chosen) {
            hint.extend(job.iter().enumerate().map(|(c, v)| (*v, f64::from(u8::from(c == *chosen)))));
        }
        for (bought, number) in self.packs.iter().zip(model.packs_of(&solution.chosen)) {
            hint.extend(bought.map(|v| (v, f64::from(number))));
        }
        hint.extend(self.lacking.people.map(|v| (v, f64::from(solution.lacking.people))));
        hint.extend(self.lacking.skilled.map(|v| (v, f64::from(solution.lacking.skilled))));
        hint
    }

    /// The solution that the values of the variables describe, with the solver's optimality gap.
    pub fn solution(&self, model: &Model, value: impl Fn(Variable) -> f64, gap: f64) -> Solution {
        let whole = |v: Variable| value(v).round() as u32;
        let largest = |job: Vec<u32>| (0..job.len()).max_by_key(|c| job[*c]).unwrap_or(0);
        let chosen: Vec<usize> = self.by_candidate(whole).into_iter().map(largest).collect();
        let shifts = self.staff.shifts(whole);
        let missing = |v: &Option<Variable>| v.map_or(0, |v| (value(v) - 1e-6).ceil().max(0.0) as u32);
        let lacking = Lacking {
            people: self.lacking.people.map_or(0, whole),
            skilled: self.lacking.skilled.map_or(0, whole),
            stock: self.lacking.stock.iter().map(missing).collect(),
        };
        let cost = model.cost(&chosen, &shifts);
        Solution { chosen, shifts, cost, gap, lacking }
    }
}

/// Adds the candidates, with what they cost, and takes one for every job. The variables are by job, then by candidate.
fn candidates(problem: &mut Problem, model: &Model, number: Number) -> Vec<Vec<Variable>> {
    let mut x = Vec::new();
    for job in &model.jobs {
        x.push(job.iter().map(|c| number(problem, c.cost + c.regret, 1)).collect::<Vec<Variable>>());
    }
    for job in &x {
        problem.add_constraint(job.iter().map(|v| (*v, 1.0)), ComparisonOp::Eq, 1.0);
    }
    x
}

/// Adds the packs that are bought, with their prices, by kind.
fn packs(problem: &mut Problem, model: &Model, x: &[Vec<Variable>], number: Number) -> Vec<Option<Variable>> {
    let amount =
        |kind: usize, c: &Candidate| c.takes.map_or(0.0, |(k, amount)| if k == kind { amount } else { 0.0 });
    let total = |kind: usize, pick: fn(f64, f64) -> f64| -> f64 {
        model.jobs.iter().filter_map(|job| job.iter().map(|c| amount(kind, c)).reduce(pick)).sum()
    };
    let bought = model.packs.iter().enumerate().map(|(kind, pack)| {
        let (least, most) = (pack.number(total(kind, f64::min)), pack.number(total(kind, f64::max)));
        if least == most {
            return None;
        }
        let bought = number(problem, pack.price, most);
        problem.add_constraint([(bought, 1.0)], ComparisonOp::Ge, f64::from(least));
        let taken = model.jobs.iter().flatten().zip(x.iter().flatten());
        let taken = taken.map(|(c, v)| (*v, -amount(kind, c))).filter(|(_, amount)| *amount < 0.0);
        problem.add_constraint(taken.chain([(bought, pack.holds)]), ComparisonOp::Ge, 0.0);
        Some(bought)
    });
    bought.collect()
}

/// The variables for people who are there in a slot, or for the skilled among them.
fn there(staff: &Staff, slot: usize, only_skilled: bool) -> impl Iterator<Item = Variable> {
    let able = staff.there[slot].iter().filter(move |(skilled, _)| *skilled || !only_skilled);
    able.map(|(_, people)| *people)
}

/// Whether some of the people are not skilled, so that skill matters.
fn skill_matters(model: &Model) -> bool {
    model.crew.skilled < model.crew.people
}

/// Keeps the people in every slot within the crew, apart from the `more` people and skilled people that are lacking.
fn limit_people(
    problem: &mut Problem,
    model: &Model,
    staff: &Staff,
    more: (Option<Variable>, Option<Variable>),
) {
    for slot in 0..model.slots.len() {
        let mut limit = |only_skilled: bool, more: Option<Variable>, most: u32| {
            let mut here: Vec<_> = there(staff, slot, only_skilled).map(|people| (people, 1.0)).collect();
            here.extend(more.map(|v| (v, -1.0)));
            problem.add_constraint(here, ComparisonOp::Le, f64::from(most));
        };
        limit(false, more.0, model.crew.people);
        if skill_matters(model) {
            limit(true, more.1, model.crew.skilled);
        }
    }
}

/// Adds the hours of work, and makes those of every window at least the work chosen for it. The variables are by slot,
/// then by whether the work takes skilled people.
fn work(problem: &mut Problem, model: &Model, x: &[Vec<Variable>]) -> Vec<[Vec<Variable>; 2]> {
    let window = |p: &Part| (p.first, p.end, p.skilled && skill_matters(model));
    let mut windows: Vec<(usize, usize, bool)> =
        model.jobs.iter().flatten().flat_map(|c| &c.parts).map(window).collect();
    windows.sort_unstable();
    windows.dedup();
    let mut work: Vec<[Vec<Variable>; 2]> = vec![Default::default(); model.slots.len()];
    for &(first, end, skilled) in &windows {
        let mut done = LinearExpr::empty();
        for slot in &mut work[first..end] {
            let hours = problem.add_var(0.0, (0.0, f64::INFINITY));
            slot[usize::from(skilled)].push(hours);
            done.add(hours, 1.0);
        }
        for (c, taken) in model.jobs.iter().flatten().zip(x.iter().flatten()) {
            let inside = c.parts.iter().filter(|p| window(p) == (first, end, skilled));
            let hours: f64 = inside.map(|p| p.hours).sum();
            if hours > 0.0 {
                done.add(*taken, -hours);
            }
        }
        problem.add_constraint(done, ComparisonOp::Ge, 0.0);
    }
    work
}

/// Keeps the work in every slot within the hours of the people there, and skilled work within those of the skilled.
fn limit_work(problem: &mut Problem, model: &Model, staff: &Staff, work: &[[Vec<Variable>; 2]]) {
    for (slot, work) in work.iter().enumerate() {
        let hours = model.slots[slot].hours();
        for only_skilled in [false, true] {
            let mut load: Vec<(Variable, f64)> =
                work[usize::from(only_skilled)..].iter().flatten().map(|v| (*v, 1.0)).collect();
            if load.is_empty() {
                continue;
            }
            load.extend(there(staff, slot, only_skilled).map(|people| (people, -hours)));
            problem.add_constraint(load, ComparisonOp::Le, 0.0);
        }
    }
}

/// Keeps the use of every thing within its stock. If `stretched`, adds a variable for what is lacking, and returns it by
/// thing.
fn limit_stock(
    problem: &mut Problem,
    model: &Model,
    x: &[Vec<Variable>],
    stretched: bool,
) -> Vec<Option<Variable>> {
    let mut lacking = Vec::new();
    for (thing, stock) in model.stock.iter().enumerate() {
        let Some(stock) = stock else {
            lacking.push(None);
            continue;
        };
        let candidates = model.jobs.iter().flatten().zip(x.iter().flatten());
        let mut used: Vec<(Variable, f64)> = candidates
            .filter(|(c, _)| c.uses[thing] > 0)
            .map(|(c, v)| (*v, f64::from(c.uses[thing])))
            .collect();
        let more = stretched.then(|| problem.add_var(model.hourly(), (0.0, f64::INFINITY)));
        used.extend(more.map(|v| (v, -1.0)));
        lacking.push(more);
        if !used.is_empty() {
            problem.add_constraint(used, ComparisonOp::Le, f64::from(*stock));
        }
    }
    lacking
}
