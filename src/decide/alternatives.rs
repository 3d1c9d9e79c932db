//! Alternative plans for the whole event: all dry, no vases, no tubes where vases can stand, or everything placed on
//! the first access.

use super::decision::Decision;
use super::options::PlacingOption;
use super::prospects::Prospects;
use super::solve::model::Lacking;
use crate::event::{Event, OrderId};
use crate::flower::treatment::Method;
use rayon::prelude::*;

/// The cost and consequences of an alternative plan for the whole event.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// What sets it apart from the others.
    pub kind: Kind,
    /// Wages, tubes and vases, and stems of spare heads, in money.
    pub cost: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Paid hours, all people together, h.
    pub paid_hours: f64,
    /// How many tubes it uses.
    pub tubes: u32,
    /// How many vases it uses.
    pub vases: u32,
    /// The orders that do not meet the target.
    pub fails: Vec<OrderId>,
    /// The people and stock that it would need beyond those there are.
    pub lacking: Lacking,
}

/// What sets a plan for the whole event apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The cheapest combination of all allowed treatments: the plan itself, or the plan with a remedy.
    Cheapest,
    /// No flower has water once it is placed.
    AllDry,
    /// Tubes are allowed, vases are not.
    Tubes,
    /// No tubes where a vase is possible.
    Vases,
    /// Everything is placed during the first access.
    FirstAccess,
}

impl Kind {
    /// Whether this kind of plan allows `method` for an order, `all` being the order's options.
    fn allows(self, all: &[PlacingOption], method: Method) -> bool {
        match self {
            Kind::Cheapest | Kind::FirstAccess => true,
            Kind::AllDry => method.is_dry(),
            Kind::Tubes => method != Method::BudVase,
            Kind::Vases => {
                method != Method::WaterTube || !all.iter().any(|o| o.treatment.method == Method::BudVase)
            }
        }
    }
}

impl Alternative {
    /// Whether every order meets the target with the people and stock there are.
    pub fn works(&self) -> bool {
        self.fails.is_empty() && self.lacking.is_nothing()
    }

    /// The cost and consequences of a decision.
    pub(super) fn of(kind: Kind, event: &Event, decision: &Decision) -> Alternative {
        let (model, solution) = (&decision.model, &decision.solution);
        let uses = |thing: usize| -> u32 {
            model.jobs.iter().zip(&solution.chosen).map(|(job, c)| job[*c].uses[thing]).sum()
        };
        let at = |slot: usize| -> u32 {
            solution.shifts.iter().filter(|s| s.first <= slot && slot < s.end).map(|s| s.people).sum()
        };
        let vases = event.means.tubes.len();
        Alternative {
            kind,
            cost: solution.cost,
            people: (0..model.slots.len()).map(at).max().unwrap_or(0),
            paid_hours: decision.paid_hours(),
            tubes: (0..vases).map(uses).sum(),
            vases: uses(vases),
            fails: event.orders().map(|(id, ..)| id).filter(|id| !decision.chosen(*id).lasts).collect(),
            lacking: solution.lacking.clone(),
        }
    }
}

/// The decision among the treatments that a kind of plan allows.
fn limited_to(kind: Kind, prospects: &Prospects) -> Decision {
    prospects.decide(&prospects.event, |all, o| kind.allows(all, o.treatment.method))
}

/// The decision if no flower could have water once it is placed.
pub(super) fn all_dry(prospects: &Prospects) -> Decision {
    limited_to(Kind::AllDry, prospects)
}

/// The alternatives with fewer treatments; `dry` is the decision with none in water. If the plan's own `decision`
/// already uses only treatments that a kind allows, it is also the cheapest plan of that kind.
pub(super) fn fewer_treatments(
    prospects: &Prospects,
    decision: &Decision,
    dry: &Decision,
) -> Vec<Alternative> {
    let event = &prospects.event;
    let holds = |kind: Kind| {
        event
            .orders()
            .zip(&prospects.options)
            .all(|((id, ..), all)| kind.allows(all, all[decision.chosen(id).first].treatment.method))
    };
    let kinds = [Kind::AllDry, Kind::Tubes, Kind::Vases].into_par_iter();
    kinds
        .map(|kind| {
            let of = |decision: &Decision| Alternative::of(kind, event, decision);
            match kind {
                _ if holds(kind) => of(decision),
                Kind::AllDry => of(dry),
                _ => of(&limited_to(kind, prospects)),
            }
        })
        .collect()
}

/// The alternative of placing everything during the first access; `None` if there is no other access.
pub(super) fn first_access(prospects: &Prospects) -> Option<Alternative> {
    let [first, _, ..] = prospects.event.access[..] else { return None };
    let first = Event { access: vec![first], ..prospects.event.clone() };
    let decision = prospects.decide(&first, |_, _| true);
    Some(Alternative::of(Kind::FirstAccess, &first, &decision))
}
