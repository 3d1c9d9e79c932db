//! Who does which work, and when. What the work is, `W`, is up to the caller.

use super::model::{Crew, Model, Solution};

/// Work, and the times between which it can be done, h.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Task<W> {
    /// The work to be done.
    pub work: W,
    /// The earliest time, h.
    pub from: f64,
    /// The time from which it is best done, h: of equals, the task with the earliest wish comes first.
    pub wish: f64,
    /// The latest time, h.
    pub to: f64,
    /// Whether it takes skilled people.
    pub skilled: bool,
    /// Work in hours of one person.
    pub hours: f64,
    /// Lower ranks come first when times allow either task; 0 comes before everything else.
    pub rank: u32,
}

/// A stretch of one person's day spent on one piece of work.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Assignment<W> {
    /// The work that is done.
    pub work: W,
    /// When it begins, h.
    pub from: f64,
    /// When it ends, h.
    pub to: f64,
}

/// One person of the crew, from arriving to leaving.
#[derive(Debug, Clone, PartialEq)]
pub struct Person<W> {
    /// What they are numbered, from 1: the same each time that they come.
    pub number: usize,
    /// When they arrive, h.
    pub from: f64,
    /// When they leave, h.
    pub to: f64,
    /// Whether they are skilled.
    pub skilled: bool,
    /// Their assignments, in order of time.
    pub assignments: Vec<Assignment<W>>,
}

/// The crew's day, person by person.
#[derive(Debug, Clone, PartialEq)]
pub struct Roster<W> {
    /// The people, in the order in which they arrive; one who comes twice stands here twice.
    pub people: Vec<Person<W>>,
    /// Work left undone, in hours of one person: there were enough people, but not when they were needed.
    pub left: f64,
}

impl<W: Copy + PartialEq> Roster<W> {
    /// When the first person begins some work and the last one ends it, h; `None` if nobody does it.
    pub fn span(&self, work: W) -> Option<(f64, f64)> {
        let assignments = || self.people.iter().flat_map(|p| &p.assignments).filter(|s| s.work == work);
        let from = assignments().map(|s| s.from).reduce(f64::min)?;
        let to = assignments().map(|s| s.to).reduce(f64::max)?;
        Some((from, to))
    }
}

/// The shortest times for which a person stays at unfinished work, h: the first with which all work is done.
const STRETCHES: [f64; 3] = [0.5, 0.25, 0.125];
/// The longest remainder of work that is finished at once rather than left over, h.
const SCRAP: f64 = 1.0 / 12.0;

/// Gives tasks to the people of a solution's shifts. Whoever is free takes the task with the earliest deadline, skilled
/// people first what only they can do; of equals the lowest rank, then the earliest wish, so that flowers that keep
/// least are placed last.
pub fn roster<W: Copy + PartialEq>(model: &Model, solution: &Solution, tasks: &[Task<W>]) -> Roster<W> {
    let rules =
        STRETCHES.iter().flat_map(|&stretch| [true, false].map(|who_came_first| (stretch, who_came_first)));
    let mut best: Option<Roster<W>> = None;
    for rule in rules {
        if best.as_ref().is_some_and(|best| best.left <= SCRAP) {
            break;
        }
        let next = dealt(model, solution, tasks, rule);
        if best.as_ref().is_none_or(|best| next.left < best.left) {
            best = Some(next);
        }
    }
    best.expect("there are rules")
}

/// [`roster`] with people who stay at unfinished work for `stretch` hours at least. Of those who are free at one time the
/// one who came first is next, or whoever can do least, so that the others are left with what only they can do.
fn dealt<W: Copy + PartialEq>(
    model: &Model,
    solution: &Solution,
    tasks: &[Task<W>],
    (stretch, who_came_first): (f64, bool),
) -> Roster<W> {
    let mut people: Vec<Person<W>> = solution
        .shifts
        .iter()
        .flat_map(|s| {
            let person = Person {
                number: 0,
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
    number(&mut people, &model.crew);
    let mut free: Vec<f64> = people.iter().map(|p| p.from).collect();
    let mut left: Vec<f64> = tasks.iter().map(|t| t.hours).collect();
    // The person who is free first is next; of equals the one who came first.
    while let Some(p) = (0..people.len()).filter(|p| free[*p] < people[*p].to - 1e-9).min_by(|a, b| {
        let able = |p: usize| !who_came_first && people[p].skilled;
        free[*a].total_cmp(&free[*b]).then(able(*a).cmp(&able(*b)))
    }) {
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
        // A person continues what they have begun unless another task has an earlier deadline.
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
        let hours = if left[t] <= stretch + SCRAP { left[t] } else { stretch }.min(room);
        // They stop for work that would be too late afterwards.
        let missed = |u: &usize| {
            let task = &tasks[*u];
            task.from > now + 1e-9 && task.from < now + hours && task.to - left[*u] < now + hours - 1e-9
        };
        let stop = (0..tasks.len()).filter(|u| *u != t && able(u) && missed(u)).map(|u| tasks[u].from);
        let hours = stop.fold(now + hours, f64::min) - now;
        left[t] -= hours;
        free[p] = now + hours;
        match people[p].assignments.last_mut() {
            Some(last) if last.work == tasks[t].work && (last.to - now).abs() < 1e-9 => last.to = now + hours,
            _ => people[p].assignments.push(Assignment { work: tasks[t].work, from: now, to: now + hours }),
        }
    }
    let latest = |work: W| tasks.iter().find(|t| t.work == work && t.rank > 0).map(|t| t.to);
    people.iter_mut().for_each(|person| in_one_go(person, model.crew.minimum, latest));
    Roster { people, left: left.iter().sum() }
}

/// Whoever is paid for longer than they are there works without a pause, and comes when the work begins: what was laid first
/// is laid later, which no flower minds. `latest` gives the end of the time for some work, h; `None` for what comes before
/// everything else, and stays where it is.
fn in_one_go<W: Copy>(person: &mut Person<W>, minimum: f64, latest: impl Fn(W) -> Option<f64>) {
    if person.to - person.from > minimum + 1e-9 {
        return;
    }
    let mut next = f64::INFINITY;
    for done in person.assignments.iter_mut().rev() {
        let hours = done.to - done.from;
        // The last work stays where it is.
        let latest = latest(done.work).filter(|_| next.is_finite());
        done.to = latest.map_or(done.to, |latest| latest.min(next).max(done.to));
        done.from = done.to - hours;
        next = done.from;
    }
    if let Some(first) = person.assignments.first() {
        person.from = person.from.max((4.0 * first.from + 1e-9).floor() / 4.0);
    }
}

/// Numbers the people: whoever can come again is asked before anybody new. Where all the unskilled are busy, a skilled
/// person does their work.
fn number<W>(people: &mut [Person<W>], crew: &Crew) {
    let unskilled = crew.people.saturating_sub(crew.skilled) as usize;
    let mut known: Vec<(bool, f64)> = Vec::new();
    for person in people {
        let free = |skilled: bool| known.iter().position(|k| k.0 == skilled && k.1 <= person.from + 1e-9);
        let all_known = known.iter().filter(|k| !k.0).count() >= unskilled;
        let again = free(person.skilled).or_else(|| if all_known { free(true) } else { None });
        let n = again.unwrap_or_else(|| {
            known.push((person.skilled || all_known, person.to));
            known.len() - 1
        });
        known[n].1 = person.to;
        (person.number, person.skilled) = (n + 1, known[n].0);
    }
}
