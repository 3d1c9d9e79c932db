//! Takes one candidate for every job and hires people for shifts: the cheapest solution, with the optimality gap left.

use super::model::{Candidate, Lacking, Model, Shift, Solution};
use super::programme::Programme;
use microlp::SolveOptions;

/// The branch-and-bound nodes after which the best solution so far is taken: first among the candidates that the relaxed
/// model takes, then among all. The limit is on nodes, not time, so that an event has the same plan on every machine.
const NODES: [u64; 2] = [150, 450];
/// The optimality gaps at which the two searches stop. A solution within a fiftieth of the bound was hardly ever beaten
/// by searching further, and then by a thousandth.
const GAPS: [f64; 2] = [0.01, 0.02];

impl Model {
    /// The cheapest solution with the people and stock there are, never dearer than the greedy one; `None` if there is
    /// none.
    pub fn within_means(&self) -> Option<Solution> {
        self.cheapest_plan(false, || self.greedy())
    }

    /// The solution that lacks the fewest people and the least stock.
    ///
    /// # Panics
    /// If a part of a job's cheapest candidate has no slot to be done in.
    pub fn at_a_stretch(&self) -> Solution {
        let lavish = self.lavish();
        self.cheapest_plan(true, || Some(lavish.clone())).unwrap_or(lavish)
    }

    /// The cheapest solution found, no dearer than `start`; `None` if there is none.
    ///
    /// # Formula
    /// In the relaxed model jobs and people can be split. Few jobs are, and its solution takes nearly the same
    /// candidates as the best whole one. So the first search is among those candidates and the ones of `start`, the
    /// second among all.
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

    /// Whether the relaxed model takes a candidate, by job, then by candidate; `None` if it has no solution.
    fn split(&self, stretched: bool) -> Option<Vec<Vec<bool>>> {
        let programme = Programme::of(self, stretched, false);
        let split = programme.problem.solve().ok()?.into_solution().ok()?;
        Some(programme.by_candidate(|v| split.var_value(v) > 1e-6))
    }

    /// The solution with each job's own cheapest candidate, and the shifts that it takes; `None` if the crew is too
    /// small.
    pub fn greedy(&self) -> Option<Solution> {
        let chosen = self.cheapest();
        let jobs = self.jobs.iter().zip(&chosen).map(|(job, c)| vec![job[*c].clone()]).collect();
        let hired = Model { jobs, ..self.clone() }.solve(false, None, (NODES[0], GAPS[0]))?;
        Some(Solution { chosen, ..hired })
    }

    /// The candidate of every job that is cheapest by itself, work included.
    fn cheapest(&self) -> Vec<usize> {
        let least = self.hourly() - self.crew.hourly;
        let own = |c: &Candidate| {
            self.own_cost(c) + c.regret + least * c.parts.iter().map(|p| p.hours).sum::<f64>()
        };
        let of = |job: &Vec<Candidate>| {
            (0..job.len()).min_by(|a, b| own(&job[*a]).total_cmp(&own(&job[*b]))).unwrap_or(0)
        };
        self.jobs.iter().map(of).collect()
    }

    /// A solution that always exists, with no limit on people or stock: people of its own for every part, who stay for
    /// the whole call.
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

    /// The cheapest solution found within some nodes and gap, no dearer than `start`; `None` if there is none.
    fn solve(&self, stretched: bool, start: Option<&Solution>, (nodes, gap): (u64, f64)) -> Option<Solution> {
        let programme = Programme::of(self, stretched, true);
        let mut options = SolveOptions::default();
        options.node_limit = Some(nodes);
        options.mip_gap = gap;
        options.warm_start = start.map(|solution| programme.hint(self, solution));
        let outcome = programme.problem.solve_with(options).ok()?;
        let gap = outcome.stats().gap.unwrap_or(0.0);
        let solved = outcome.into_solution().ok()?;
        Some(programme.solution(self, |v| solved.var_value(v), gap))
    }
}
