//! Who does what from when to when. What the work is, `W`, is the caller's affair.

use super::model::{Model, Solution};

/// Work with the time it may be done in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task<W> {
    /// What.
    pub work: W,
    /// Not before.
    pub from: f64,
    /// Rather not before.
    pub wish: f64,
    /// Not after.
    pub to: f64,
    /// Whether it takes skilled hands.
    pub skilled: bool,
    /// Hours of work for one person.
    pub hours: f64,
    /// What is done first where times allow either: 0 before everything, greens before the heads that go into them.
    pub rank: u32,
}

/// A stretch of one person's day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assignment<W> {
    /// What.
    pub work: W,
    /// From when.
    pub from: f64,
    /// To when.
    pub to: f64,
}

/// One person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person<W> {
    /// When they come.
    pub from: f64,
    /// When they go.
    pub to: f64,
    /// Whether they are skilled.
    pub skilled: bool,
    /// What they do.
    pub assignments: Vec<Assignment<W>>,
}

/// A crew's day.
#[derive(Debug, Clone, PartialEq)]
pub struct Roster<W> {
    /// The people, in the order in which they come.
    pub people: Vec<Person<W>>,
    /// Work that found no time, h: the hands were enough, but not when they were needed.
    pub left: f64,
}

impl<W: Copy + PartialEq> Roster<W> {
    /// From when to when somebody is at some work.
    pub fn span(&self, work: W) -> Option<(f64, f64)> {
        let assignments = || self.people.iter().flat_map(|p| &p.assignments).filter(|s| s.work == work);
        let from = assignments().map(|s| s.from).reduce(f64::min)?;
        let to = assignments().map(|s| s.to).reduce(f64::max)?;
        Some((from, to))
    }
}

/// Nobody is sent to something else within this time, h, unless it is done.
const STRETCH: f64 = 0.5;
/// Work as short as this, h, is not left for another.
const SCRAP: f64 = 1.0 / 12.0;

/// Deals tasks to the people hired: whoever is free takes what must be done soonest, skilled hands first what only they
/// can do; of the rest greens, then what is wished earliest, so that what keeps least is placed last.
pub fn roster<W: Copy + PartialEq>(model: &Model, solution: &Solution, tasks: &[Task<W>]) -> Roster<W> {
    let mut people: Vec<Person<W>> = solution
        .shifts
        .iter()
        .flat_map(|s| {
            let person = Person {
                from: model.slots[s.first].from,
                to: model.slots[s.end - 1].to,
                skilled: s.skilled,
                assignments: Vec::new(),
            };
            vec![person; s.people as usize]
        })
        .collect();
    people.sort_by(|a, b| {
        a.from.total_cmp(&b.from).then(b.skilled.cmp(&a.skilled)).then(b.to.total_cmp(&a.to))
    });
    let mut free: Vec<f64> = people.iter().map(|p| p.from).collect();
    let mut left: Vec<f64> = tasks.iter().map(|t| t.hours).collect();
    // Whoever is free first is next; the longest serving among equals.
    while let Some(p) = (0..people.len())
        .filter(|p| free[*p] < people[*p].to - 1e-9)
        .min_by(|a, b| free[*a].total_cmp(&free[*b]))
    {
        let now = free[p];
        let able = |t: &usize| left[*t] > 1e-9 && (people[p].skilled || !tasks[*t].skilled);
        let open = |t: &usize| tasks[*t].from <= now + 1e-9 && now < tasks[*t].to - 1e-9;
        let soonest = |a: &usize, b: &usize| {
            let key = |t: usize| {
                let task = &tasks[t];
                (task.rank > 0, !task.skilled, task.to, task.rank, task.wish)
            };
            key(*a).partial_cmp(&key(*b)).expect("times are numbers")
        };
        let same = people[p]
            .assignments
            .last()
            .and_then(|last| (0..tasks.len()).find(|t| tasks[*t].work == last.work && able(t) && open(t)));
        let next = (0..tasks.len()).filter(able).filter(open).min_by(soonest);
        // Who has begun something goes on with it unless something else is more pressing.
        let task = match (same, next) {
            (Some(same), Some(next)) if tasks[next].to >= tasks[same].to => Some(same),
            (_, next) => next,
        };
        let Some(t) = task else {
            let later = (0..tasks.len()).filter(able).map(|t| tasks[t].from).filter(|f| *f > now);
            free[p] = later.fold(people[p].to, f64::min);
            continue;
        };
        let room = (people[p].to - now).min(tasks[t].to - now);
        let hours = if left[t] <= STRETCH + SCRAP { left[t] } else { STRETCH }.min(room);
        left[t] -= hours;
        free[p] = now + hours;
        match people[p].assignments.last_mut() {
            Some(last) if last.work == tasks[t].work && (last.to - now).abs() < 1e-9 => last.to = now + hours,
            _ => people[p].assignments.push(Assignment { work: tasks[t].work, from: now, to: now + hours }),
        }
    }
    Roster { people, left: left.iter().sum() }
}
