//! People in the mixed-integer programme: how many are there in every slot, when they come and when they leave.

use super::model::{Crew, Shift, Slot};
use microlp::{ComparisonOp, Problem, Variable};

/// The variables of the people hired.
pub(super) struct Staff {
    /// By slot, the variables for people who are there then, and whether those are skilled.
    pub there: Vec<Vec<(bool, Variable)>>,
    /// Shifts shorter than the shortest time paid that cannot be made longer at no cost: first slot, slot after the
    /// last, whether skilled, number of people.
    short: Vec<(usize, usize, bool, Variable)>,
    /// All other people, by call, then by skill.
    long: Vec<Presence>,
}

/// The people of one skill on one call who stay at least the shortest time paid.
struct Presence {
    skilled: bool,
    /// The first slot of the call.
    first: usize,
    /// How many are there, by slot of the call.
    there: Vec<Variable>,
    /// How many come, by slot of the call; `None` if the call ends before the shortest time paid would.
    come: Vec<Option<Variable>>,
}

/// Adds a variable for a number of something, given the cost of each and the upper bound.
pub(super) type Number<'a> = &'a dyn Fn(&mut Problem, f64, u32) -> Variable;

/// The tolerance within which two hours are the same, h.
const TOLERANCE: f64 = 1e-9;

impl Staff {
    /// Adds the variables and constraints of the people, `most` of each kind of skill in `kinds`, at `hourly` in money.
    ///
    /// # Formula
    /// In slot `t` there are `n_t <= n_(t-1) + s_t` people, of whom `s_t` have just come. Whoever comes stays for the
    /// shortest time paid: `n_t` is at least the sum of `s` over the slots that began less than that time ago. Those
    /// who come first leave first, so that all such `n` and `s` make up shifts.
    ///
    /// # Source
    /// The constraints are those of machines with a minimum running time (Rajan & Takriti 2005, from memory).
    pub fn new(
        problem: &mut Problem,
        slots: &[Slot],
        crew: &Crew,
        (kinds, most): (&[bool], u32),
        hourly: f64,
        number: Number,
    ) -> Staff {
        let n = slots.len();
        let mut staff = Staff { there: vec![Vec::new(); n], short: Vec::new(), long: Vec::new() };
        for (first, end) in short_shifts(slots, crew.minimum) {
            for &skilled in kinds {
                let people = number(problem, hourly * crew.minimum, most);
                staff.short.push((first, end, skilled, people));
                (first..end).for_each(|slot| staff.there[slot].push((skilled, people)));
            }
        }
        let calls = slots.chunk_by(|a, b| a.call == b.call).map(<[Slot]>::len);
        let mut first = 0;
        for length in calls {
            let call = &slots[first..first + length];
            let over = call[length - 1].to;
            for &skilled in kinds {
                let mut presence = Presence { skilled, first, there: Vec::new(), come: Vec::new() };
                if over - call[0].from < crew.minimum - TOLERANCE {
                    continue;
                }
                for (t, slot) in call.iter().enumerate() {
                    let there = number(problem, hourly * (slot.to - slot.from), most);
                    let come =
                        (over - slot.from >= crew.minimum - TOLERANCE).then(|| number(problem, 0.0, most));
                    let before = t.checked_sub(1).map(|t| (presence.there[t], -1.0));
                    let stay: Vec<_> =
                        [(there, 1.0)].into_iter().chain(before).chain(come.map(|c| (c, -1.0))).collect();
                    problem.add_constraint(stay, ComparisonOp::Le, 0.0);
                    presence.there.push(there);
                    presence.come.push(come);
                    let bound = (0..=t).filter(|c| slot.from < call[*c].from + crew.minimum - TOLERANCE);
                    let came = bound.filter_map(|c| presence.come[c]).map(|come| (come, -1.0));
                    let stay: Vec<_> = came.chain([(there, 1.0)]).collect();
                    problem.add_constraint(stay, ComparisonOp::Ge, 0.0);
                    staff.there[first + t].push((skilled, there));
                }
                staff.long.push(presence);
            }
            first += length;
        }
        staff
    }

    /// The values of the variables that describe some shifts.
    pub fn hint(&self, shifts: &[Shift]) -> Vec<(Variable, f64)> {
        let sum = |of: &dyn Fn(&Shift) -> bool| -> f64 {
            shifts.iter().filter(|s| of(s)).map(|s| f64::from(s.people)).sum()
        };
        let is_short = |s: &Shift| {
            self.short.iter().any(|(a, b, skilled, _)| (*a, *b, *skilled) == (s.first, s.end, s.skilled))
        };
        let mut hint = Vec::new();
        for &(first, end, skilled, people) in &self.short {
            let same = sum(&|s| (s.first, s.end, s.skilled) == (first, end, skilled));
            hint.push((people, same));
        }
        for presence in &self.long {
            let own = |s: &Shift| s.skilled == presence.skilled && !is_short(s);
            for (t, (there, come)) in presence.there.iter().zip(&presence.come).enumerate() {
                let slot = presence.first + t;
                hint.push((*there, sum(&|s| own(s) && s.first <= slot && slot < s.end)));
                hint.extend(come.map(|come| (come, sum(&|s| own(s) && s.first == slot))));
            }
        }
        hint
    }

    /// The shifts of a solution, in which `people` gives the value of a variable.
    pub fn shifts(&self, people: impl Fn(Variable) -> u32) -> Vec<Shift> {
        let mut shifts: Vec<Shift> = self
            .short
            .iter()
            .map(|&(first, end, skilled, v)| Shift { first, end, people: people(v), skilled })
            .filter(|s| s.people > 0)
            .collect();
        for presence in &self.long {
            // Those who come first leave first.
            let mut here: std::collections::VecDeque<(usize, u32)> = Default::default();
            let mut add = |first: usize, end: usize, people: u32| {
                shifts.push(Shift { first, end, people, skilled: presence.skilled });
            };
            let mut now = 0;
            for (t, (there, come)) in presence.there.iter().zip(&presence.come).enumerate() {
                let (slot, there) = (presence.first + t, people(*there));
                let come = come.map_or(0, &people);
                let mut go = (now + come).saturating_sub(there);
                while let (Some((first, left)), true) = (here.front_mut(), go > 0) {
                    let gone = go.min(*left);
                    add(*first, slot, gone);
                    (go, *left) = (go - gone, *left - gone);
                    if *left == 0 {
                        here.pop_front();
                    }
                }
                if come > 0 {
                    here.push_back((slot, come));
                }
                now = there;
            }
            for (first, people) in here {
                add(first, presence.first + presence.there.len(), people);
            }
        }
        shifts
    }
}

/// The shifts shorter than the shortest time paid to which no slot can be added without exceeding it.
fn short_shifts(slots: &[Slot], minimum: f64) -> Vec<(usize, usize)> {
    let mut short = Vec::new();
    for first in 0..slots.len() {
        for end in first + 1..=slots.len() {
            if slots[end - 1].call != slots[first].call {
                break;
            }
            let paid_for = |a: usize, b: usize| {
                slots[b - 1].call == slots[a].call && slots[b - 1].to - slots[a].from <= minimum + TOLERANCE
            };
            let longer =
                (first > 0 && paid_for(first - 1, end)) || (end < slots.len() && paid_for(first, end + 1));
            if slots[end - 1].to - slots[first].from < minimum - TOLERANCE && !longer {
                short.push((first, end));
            }
        }
    }
    short
}
