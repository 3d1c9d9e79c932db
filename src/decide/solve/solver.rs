//! Which candidate for every job, and how many people from when to when: the cheapest that can be done.
//!
//! A mixed-integer optimum, with the gap that is left.

use super::model::{Candidate, Lacking, Model, Part, Shift, Solution};
use super::shifts::Staff;
use microlp::{ComparisonOp, LinearExpr, OptimizationDirection, Problem, SolveOptions, Variable};

/// Branch-and-bound nodes before the best so far is taken, gap told: among what the relaxed matter would take, and among
/// all candidates. A limit of nodes, not of time, so that the same event gives the same plan on every machine.
const NODES: [u64; 2] = [150, 450];
/// Gaps that nobody would look further for: among the few, and among all, where plans within a fiftieth of the bound
/// were hardly ever found to be beaten, and by a thousandth then.
const GAPS: [f64; 2] = [0.01, 0.02];
/// How much dearer a person beyond those there are is than an hour at the usual wage, h: the plan nearest to what there
/// is asks for as few of them as can be.
const STRETCH: f64 = 200.0;
/// An hour of work is worth at least this much in the choice, so that unpaid hands are not wasted.
const LEAST_HOURLY: f64 = 0.5;

/// The matter as the solver takes it.
struct Programme {
    problem: Problem,
    /// Whether a candidate is taken, by job.
    x: Vec<Vec<Variable>>,
    staff: Staff,
    more_people: Option<Variable>,
    more_skilled: Option<Variable>,
    more_stock: Vec<Option<Variable>>,
}

impl Model {
    /// The cheapest plan within what there is, never dearer than the greedy one; `None` where there is none.
    pub fn within_means(&self) -> Option<Solution> {
        self.cheapest_plan(false, || self.greedy())
    }

    /// The plan that asks for least beyond what there is.
    ///
    /// # Panics
    /// Where a part of some job's only candidate has no slot to be done in.
    pub fn at_a_stretch(&self) -> Solution {
        let lavish = self.lavish();
        self.cheapest_plan(true, || Some(lavish.clone())).unwrap_or(lavish)
    }

    /// # Formula
    /// If jobs and people could be split, few jobs would be, and what that plan takes is nearly what the best whole one
    /// does. So the search goes first through those candidates and the ones of the plan to begin with, then through all.
    fn cheapest_plan(
        &self,
        stretched: bool,
        start: impl FnOnce() -> Option<Solution> + Send,
    ) -> Option<Solution> {
        let (split, start) = rayon::join(|| self.split(stretched), start);
        let Some(split) = split else { return start };
        let kept: Vec<Vec<usize>> = (0..self.jobs.len())
            .map(|job| {
                let begun = |c: &usize| start.as_ref().is_some_and(|plan| plan.chosen[job] == *c);
                (0..self.jobs[job].len()).filter(|c| split[job][*c] || begun(c)).collect()
            })
            .collect();
        let pick = |job: &Vec<Candidate>, kept: &Vec<usize>| kept.iter().map(|c| job[*c].clone()).collect();
        let few =
            Model { jobs: self.jobs.iter().zip(&kept).map(|(j, k)| pick(j, k)).collect(), ..self.clone() };
        let among = |plan: &Solution| Solution {
            chosen: kept
                .iter()
                .zip(&plan.chosen)
                .map(|(k, c)| k.iter().position(|i| i == c).unwrap_or(0))
                .collect(),
            ..plan.clone()
        };
        let found =
            few.solve(stretched, start.as_ref().map(among).as_ref(), (NODES[0], GAPS[0])).map(|plan| {
                Solution { chosen: kept.iter().zip(&plan.chosen).map(|(k, c)| k[*c]).collect(), ..plan }
            });
        let begin = found.or(start);
        self.solve(stretched, begin.as_ref(), (NODES[1], GAPS[1]))
    }

    /// Which candidates of every job are taken where jobs and people can be split.
    fn split(&self, stretched: bool) -> Option<Vec<Vec<bool>>> {
        let model = self.model(stretched, false);
        let split = model.problem.solve().ok()?.into_solution().ok()?;
        let taken = |v: &Variable| split.var_value(*v) > 1e-6;
        Some(model.x.iter().map(|job| job.iter().map(taken).collect()).collect())
    }

    /// The plan that takes each job's own cheapest candidate, and hires for it.
    pub fn greedy(&self) -> Option<Solution> {
        let chosen = self.cheapest();
        let jobs = self.jobs.iter().zip(&chosen).map(|(job, c)| vec![job[*c].clone()]).collect();
        let hands = Model { jobs, ..self.clone() }.solve(false, None, (NODES[0], GAPS[0]))?;
        Some(Solution { chosen, ..hands })
    }

    /// The candidate of every job that is cheapest by itself.
    fn cheapest(&self) -> Vec<usize> {
        let own =
            |c: &Candidate| c.cost + c.regret + self.hourly() * c.parts.iter().map(|p| p.hours).sum::<f64>();
        let of = |job: &Vec<Candidate>| {
            (0..job.len()).min_by(|a, b| own(&job[*a]).total_cmp(&own(&job[*b]))).unwrap_or(0)
        };
        self.jobs.iter().map(of).collect()
    }

    /// A plan that can always be done if there are people and things enough: for every part people of its own, who stay
    /// for the whole access.
    fn lavish(&self) -> Solution {
        let chosen = self.cheapest();
        let mut shifts: Vec<Shift> = Vec::new();
        for part in self.jobs.iter().zip(&chosen).flat_map(|(job, c)| &job[*c].parts) {
            let call = self.slots[part.first].call;
            let inside = |i: &usize| self.slots[*i].call == call;
            let first = (0..self.slots.len()).find(inside).unwrap_or(part.first);
            let end = (0..self.slots.len()).rev().find(inside).map_or(part.end, |i| i + 1);
            let hours: f64 = (part.first..part.end.min(end)).map(|i| self.slots[i].hours()).sum();
            let people = (part.hours / hours).ceil() as u32;
            match shifts.iter_mut().find(|s| s.first == first) {
                Some(shift) => shift.people += people,
                None => shifts.push(Shift { first, end, people, skilled: true }),
            }
        }
        let most = shifts.iter().map(|s| s.people).max().unwrap_or(0);
        let used = |i: usize| -> u32 { self.jobs.iter().zip(&chosen).map(|(j, c)| j[*c].uses[i]).sum() };
        let lacking = Lacking {
            people: most.saturating_sub(self.crew.people),
            skilled: most.saturating_sub(self.crew.skilled),
            stock: self
                .stock
                .iter()
                .enumerate()
                .map(|(i, s)| s.map_or(0, |s| used(i).saturating_sub(s)))
                .collect(),
        };
        let cost = self.cost(&chosen, &shifts);
        Solution { chosen, shifts, cost, gap: 1.0, lacking }
    }

    fn hourly(&self) -> f64 {
        self.crew.hourly.max(LEAST_HOURLY)
    }

    /// # Formula
    /// Binary `x` for every candidate, one a job. Whole numbers of people for every shift, skilled and not. Hours `y` of
    /// work by window and slot: those of a window make up the work chosen for it, those of a slot are no more than the
    /// people there have time for; skilled work no more than the skilled have. Cost is least.
    fn model(&self, stretched: bool, whole: bool) -> Programme {
        let mut problem = Problem::new(OptimizationDirection::Minimize);
        let hourly = self.hourly();
        // Where nothing need be whole, jobs may be done part one way, part another, by parts of people.
        let number = |problem: &mut Problem, cost: f64, most: u32| match whole {
            true => problem.add_integer_var(cost, (0, most as i32)),
            false => problem.add_var(cost, (0.0, f64::from(most))),
        };
        let x: Vec<Vec<Variable>> = self
            .jobs
            .iter()
            .map(|job| job.iter().map(|c| number(&mut problem, c.cost + c.regret, 1)).collect())
            .collect();
        for job in &x {
            problem.add_constraint(job.iter().map(|v| (*v, 1.0)), ComparisonOp::Eq, 1.0);
        }
        // People, by skill; where all are skilled there is one kind of them.
        let kinds: &[bool] = if self.crew.skilled >= self.crew.people { &[true] } else { &[false, true] };
        let most = if stretched { 1000 } else { self.crew.people };
        let staff = Staff::new(&mut problem, &self.slots, &self.crew, (kinds, most), hourly, &number);
        let (mut more_people, mut more_skilled) = (None, None);
        if stretched {
            more_people = Some(number(&mut problem, STRETCH * hourly, 1000));
            more_skilled = Some(number(&mut problem, STRETCH * hourly, 1000));
        }
        for slot in 0..self.slots.len() {
            let here = |only_skilled: bool| {
                let able = staff.there[slot].iter().filter(|(skilled, _)| *skilled || !only_skilled);
                able.map(|(_, people)| (*people, 1.0)).collect::<Vec<_>>()
            };
            let mut all = here(false);
            all.extend(more_people.map(|v| (v, -1.0)));
            problem.add_constraint(all, ComparisonOp::Le, f64::from(self.crew.people));
            if kinds.len() > 1 {
                let mut skilled = here(true);
                skilled.extend(more_skilled.map(|v| (v, -1.0)));
                problem.add_constraint(skilled, ComparisonOp::Le, f64::from(self.crew.skilled));
            }
        }
        // Work, by window and skill.
        let window = |p: &Part| (p.first, p.end, p.skilled && kinds.len() > 1);
        let mut windows: Vec<(usize, usize, bool)> =
            self.jobs.iter().flatten().flat_map(|c| &c.parts).map(window).collect();
        windows.sort_unstable();
        windows.dedup();
        let mut time: Vec<[Vec<Variable>; 2]> = vec![Default::default(); self.slots.len()];
        for &(first, end, skilled) in &windows {
            let mut done = LinearExpr::empty();
            for slot in &mut time[first..end] {
                let hours = problem.add_var(0.0, (0.0, f64::INFINITY));
                slot[usize::from(skilled)].push(hours);
                done.add(hours, 1.0);
            }
            for (job, candidates) in self.jobs.iter().enumerate() {
                for (candidate, c) in candidates.iter().enumerate() {
                    let inside = c.parts.iter().filter(|p| window(p) == (first, end, skilled));
                    let hours: f64 = inside.map(|p| p.hours).sum();
                    if hours > 0.0 {
                        done.add(x[job][candidate], -hours);
                    }
                }
            }
            problem.add_constraint(done, ComparisonOp::Ge, 0.0);
        }
        for (slot, work) in time.iter().enumerate() {
            let hours = self.slots[slot].hours();
            for only_skilled in [false, true] {
                let mut load: Vec<(Variable, f64)> =
                    work[usize::from(only_skilled)..].iter().flatten().map(|v| (*v, 1.0)).collect();
                if load.is_empty() {
                    continue;
                }
                let able = staff.there[slot].iter().filter(|(skilled, _)| *skilled || !only_skilled);
                load.extend(able.map(|(_, people)| (*people, -hours)));
                problem.add_constraint(load, ComparisonOp::Le, 0.0);
            }
        }
        // Stock.
        let mut more_stock = Vec::new();
        for (thing, stock) in self.stock.iter().enumerate() {
            let Some(stock) = stock else {
                more_stock.push(None);
                continue;
            };
            let mut used: Vec<(Variable, f64)> = self
                .jobs
                .iter()
                .zip(&x)
                .flat_map(|(job, x)| job.iter().zip(x))
                .filter(|(c, _)| c.uses[thing] > 0)
                .map(|(c, v)| (*v, f64::from(c.uses[thing])))
                .collect();
            let more = stretched.then(|| problem.add_var(hourly, (0.0, f64::INFINITY)));
            used.extend(more.map(|v| (v, -1.0)));
            more_stock.push(more);
            if !used.is_empty() {
                problem.add_constraint(used, ComparisonOp::Le, f64::from(*stock));
            }
        }
        Programme { problem, x, staff, more_people, more_skilled, more_stock }
    }

    /// The cheapest plan after so many nodes, or within so small a gap, no dearer than the one to begin with.
    fn solve(&self, stretched: bool, start: Option<&Solution>, (nodes, gap): (u64, f64)) -> Option<Solution> {
        let Programme { problem, x, staff, more_people, more_skilled, more_stock } =
            self.model(stretched, true);
        let mut options = SolveOptions::default();
        options.node_limit = Some(nodes);
        options.mip_gap = gap;
        options.warm_start = start.map(|plan| {
            let mut hint = staff.hint(&plan.shifts);
            for (job, chosen) in x.iter().zip(&plan.chosen) {
                hint.extend(job.iter().enumerate().map(|(c, v)| (*v, f64::from(u8::from(c == *chosen)))));
            }
            hint.extend(more_people.map(|v| (v, f64::from(plan.lacking.people))));
            hint.extend(more_skilled.map(|v| (v, f64::from(plan.lacking.skilled))));
            hint
        });
        let outcome = problem.solve_with(options).ok()?;
        let gap = outcome.stats().gap.unwrap_or(0.0);
        let solution = outcome.into_solution().ok()?;
        let whole = |v: Variable| solution.var_value(v).round() as u32;
        let chosen: Vec<usize> =
            x.iter().map(|job| (0..job.len()).max_by_key(|c| whole(job[*c])).unwrap_or(0)).collect();
        let shifts = staff.shifts(whole);
        let lacking = Lacking {
            people: more_people.map_or(0, whole),
            skilled: more_skilled.map_or(0, whole),
            stock: more_stock
                .iter()
                .map(|v| v.map_or(0, |v| (solution.var_value(v) - 1e-6).ceil().max(0.0) as u32))
                .collect(),
        };
        let cost = self.cost(&chosen, &shifts);
        Some(Solution { chosen, shifts, cost, gap, lacking })
    }
}
