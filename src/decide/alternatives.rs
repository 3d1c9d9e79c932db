//! Other plans for the whole event: dry and late against tubes against vases, or everything on the first access.

use super::decision::Decision;
use super::options::PlacingOption;
use super::prospects::Prospects;
use super::solve::model::Lacking;
use crate::event::{Event, OrderId};
use crate::flower::treatment::Method;
use rayon::prelude::*;

/// What another plan for the whole event comes to.
#[derive(Debug, Clone)]
pub struct Alternative {
    /// What sets it apart.
    pub kind: Kind,
    /// Hands, tubes and vases, and spare stems, in money.
    pub cost: f64,
    /// The most people on site at one time.
    pub people: u32,
    /// Hours paid, all people together.
    pub paid_hours: f64,
    /// How many tubes it takes.
    pub tubes: u32,
    /// How many vases it takes.
    pub vases: u32,
    /// The orders that do not last as wanted.
    pub fails: Vec<OrderId>,
    /// What it needs beyond what there is.
    pub lacking: Lacking,
}

/// What sets a plan for the whole event apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The cheapest mix of all that is allowed: the plan itself, or what it becomes with a remedy.
    Cheapest,
    /// Nothing is given water once it is placed.
    AllDry,
    /// No vases.
    Tubes,
    /// No tubes where a vase can stand.
    Vases,
    /// Everything is placed on the first access.
    FirstAccess,
}

impl Kind {
    /// Whether an order with these options may be done in a way of this kind.
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
    /// Whether every flower lasts with the hands and things there are.
    pub fn works(&self) -> bool {
        self.fails.is_empty() && self.lacking.is_nothing()
    }

    /// What a decision comes to.
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

fn limited_to(kind: Kind, prospects: &Prospects) -> Decision {
    prospects.decide(&prospects.event, |all, o| kind.allows(all, o.treatment.method))
}

/// What would be decided if nothing could be given water.
pub(super) fn all_dry(prospects: &Prospects) -> Decision {
    limited_to(Kind::AllDry, prospects)
}

/// The alternatives with fewer treatments, `dry` being the decision with none in water. Where the plan itself happens to
/// use only those that are allowed, it is the cheapest of them, too.
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

/// The alternative of placing everything on the first access, where there are others.
pub(super) fn first_access(prospects: &Prospects) -> Option<Alternative> {
    let [first, _, ..] = prospects.event.access[..] else { return None };
    let first = Event { access: vec![first], ..prospects.event.clone() };
    let decision = prospects.decide(&first, |_, _| true);
    Some(Alternative::of(Kind::FirstAccess, &first, &decision))
}
