//! People in the mixed-integer plan: how many are there in every slot, when they come and when they go.

use super::model::{Crew, Shift, Slot};
use microlp::{ComparisonOp, Problem, Variable};

/// The people of a plan, as the solver takes them.
pub(super) struct Staff {
    /// By slot, who is there then: whether they are skilled, and how many.
    pub there: Vec<Vec<(bool, Variable)>>,
    /// Shifts that are shorter than the shortest time paid and cannot be made longer for nothing.
    short: Vec<(usize, usize, bool, Variable)>,
    /// All others, call by call.
    long: Vec<Presence>,
}

/// The people of one kind who come on one call and stay as long as is paid at least.
struct Presence {
    skilled: bool,
    /// The first slot of the call.
    first: usize,
    /// How many are there, slot by slot.
    there: Vec<Variable>,
    /// How many come, slot by slot; nobody so late that the call is over before the time that is paid.
    come: Vec<Option<Variable>>,
}

/// A number of something at a cost each, with the most that it may be.
pub(super) type Number<'a> = &'a dyn Fn(&mut Problem, f64, u32) -> Variable;

/// Hours nearer to each other than this are the same hour.
const TOLERANCE: f64 = 1e-9;

impl Staff {
    /// # Formula
    /// `n_t <= n_(t-1) + s_t` people are there in a slot, of whom `s_t` came with it, and `n_t >= sum s` over those who
    /// came within the shortest time paid: whoever comes stays that long. First come, first to go, so that any such `n`
    /// and `s` are shifts.
    ///
    /// # Source
    /// The constraints are those of machines that must run for a while once started (Rajan & Takriti 2005, from memory).
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

    /// The variables of some shifts with their values.
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

    /// The shifts that a solution amounts to.
    pub fn shifts(&self, people: impl Fn(Variable) -> u32) -> Vec<Shift> {
        let mut shifts: Vec<Shift> = self
            .short
            .iter()
            .map(|&(first, end, skilled, v)| Shift { first, end, people: people(v), skilled })
            .filter(|s| s.people > 0)
            .collect();
        for presence in &self.long {
            // First come, first to go.
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

/// The shifts shorter than the shortest time paid that no slot more would leave so.
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
