//! The plan of an event: what to do with every order and when, and the people and material that this needs.

use super::alternatives::{Alternative, alternative, alternatives};
use super::bill::{Bill, bill};
use super::decision::Decision;
use super::options::Scene;
use super::order::{OrderPlan, order_plan};
use super::possible::{Chances, OnDays, on_days};
pub use super::prospects::Settings;
use super::prospects::{Prospects, prospects};
use super::remedies::{Remedy, remedies};
use super::rule::{Rule, rule};
use super::solve::model::{Lacking, Solution};
use super::telling::{Telling, telling};
use super::work::{Roster, Work, roster};
use crate::error::Result;
use crate::event::{Event, OrderId, Way};
use rayon::prelude::*;
use std::sync::Arc;

/// The finished plan of an event.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The event as the florist wrote it.
    pub event: Event,
    /// The settings with which it was simulated.
    pub settings: Settings,
    /// The plan for every order, by order number.
    pub orders: Vec<OrderPlan>,
    /// Who does which work, and when.
    pub roster: Roster,
    /// The people and stock that the plan needs beyond those there are.
    pub lacking: Lacking,
    /// The optimality gap: the most by which a cheaper plan could undercut it, as a share of its cost.
    pub gap: f64,
    /// What to buy, and what the whole event costs.
    pub bill: Bill,
    /// What shows best why the plan is as it is; `None` if nothing is at stake.
    pub telling: Option<Telling>,
    /// Other plans for the whole event, this one first.
    pub alternatives: Vec<Alternative>,
    /// Changes that would make the plan possible; empty if it already is.
    pub remedies: Vec<Remedy>,
    /// How it fares on each of the days that the event may meet; `None` where its day is given, and in a quick look.
    pub on_days: Option<OnDays>,
    /// What to decide on the eve; `None` where the day is given, where nothing is worth waiting for, and in a quick look.
    pub rule: Option<Rule>,
}

impl Plan {
    /// The plan for one order.
    ///
    /// # Panics
    /// If `id` belongs to another event with more orders.
    pub fn order(&self, id: OrderId) -> &OrderPlan {
        &self.orders[id.index()]
    }

    /// The simulation's own standard error of an expected share: the root mean square over all options.
    pub fn error(&self) -> f64 {
        let options = || self.orders.iter().flat_map(|o| o.options.iter());
        (options().map(|o| o.error.powi(2)).sum::<f64>() / options().count() as f64).sqrt()
    }

    /// Whether every order meets the target with the people and stock there are.
    pub fn lasts(&self) -> bool {
        self.orders.iter().all(OrderPlan::lasts) && self.lacking.is_nothing()
    }
}

/// Plans an event. The same event and settings give the same plan to the bit.
///
/// # Errors
/// If the settings ask for no lots or for an impossible warming.
pub fn plan(event: Event, settings: Settings) -> Result<Plan> {
    Ok(finish(prospects(event, settings)?))
}

/// Decides between the options, and works out the rest of the plan. If the search for an alternative comes upon a cheaper
/// plan that works, that is the plan.
pub fn finish(prospects: Prospects) -> Plan {
    let mut decision = prospects.decide(&prospects.event, |_, _, _| true);
    let mut others = alternatives(&prospects, &decision);
    let mut cheapest = Alternative::of(Way::Cheapest, &prospects, &decision);
    for (other, found) in &mut others {
        let cheaper = other.works() && (other.cost < cheapest.cost - 1e-9 || !cheapest.works());
        if cheaper
            && other.way != Way::Calm
            && let Some(found) = found.take()
        {
            let gap = decision.solution.gap;
            let saved = (cheapest.cost - other.cost) / other.cost;
            decision = found;
            decision.solution.gap = (gap - saved).max(0.0);
            cheapest = Alternative { way: Way::Cheapest, ..other.clone() };
        }
    }
    let mut first = cheapest;
    // What the florist chose is the plan, and the cheapest stands second.
    let way = prospects.event.way;
    if let Some(at) = others.iter().position(|(other, found)| other.way == way && found.is_some()) {
        let (chosen, found) = others.remove(at);
        others.insert(0, (std::mem::replace(&mut first, chosen), None));
        decision = found.unwrap_or(decision);
    }
    let alternatives: Vec<Alternative> =
        std::iter::once(first).chain(others.into_iter().map(|(other, _)| other)).collect();
    worked_out(prospects, decision, alternatives, true)
}

/// A quick look at the plan of an event: what is decided and what follows, without other ways to do it, and without what
/// would help.
///
/// # Errors
/// Those of [`plan`].
pub fn look(event: Event, settings: Settings) -> Result<Plan> {
    let prospects = prospects(event, settings)?;
    let decision = prospects.decide(&prospects.event, |_, _, _| true);
    let way = prospects.event.way;
    if let Some((chosen, Some(found))) = alternative(way, &prospects, &decision) {
        return Ok(worked_out(prospects, found, vec![chosen], false));
    }
    let cheapest = Alternative::of(Way::Cheapest, &prospects, &decision);
    Ok(worked_out(prospects, decision, vec![cheapest], false))
}

/// The plan that follows from a decision, whose own alternative comes first; with remedies where they are needed and
/// wanted.
fn worked_out(
    prospects: Prospects,
    decision: Decision,
    alternatives: Vec<Alternative>,
    wants_remedies: bool,
) -> Plan {
    let needs_remedies = wants_remedies && !alternatives[0].works();
    let (mut roster_and_orders, remedies) = rayon::join(
        || follows(&prospects, &decision),
        || if needs_remedies { remedies(&prospects, &decision) } else { Vec::new() },
    );
    let bill = bill(&prospects.event, &mut roster_and_orders.1, &decision);
    let (roster, orders) = roster_and_orders;
    let telling = telling(&prospects, &orders);
    let (mut found, mut fares) = (None, None);
    if wants_remedies && !prospects.event.met.is_empty() {
        let mut looked = Chances::new(&prospects.event, prospects.settings);
        found = rule(&prospects, &decision, &mut looked);
        fares = on_days(&prospects.event, &orders, &mut looked);
    }
    let Prospects { event, settings, lots, .. } = prospects;
    // The lots take long to free, so that is done in the background.
    rayon::spawn(|| drop(lots));
    let Solution { lacking, gap, .. } = decision.solution;
    Plan {
        roster,
        lacking,
        gap,
        bill,
        telling,
        alternatives,
        remedies,
        on_days: fares,
        rule: found,
        orders,
        settings,
        event,
    }
}

/// What follows from a decision: the roster, and the plan for every order.
fn follows(prospects: &Prospects, decision: &Decision) -> (Roster, Vec<OrderPlan>) {
    let event = &prospects.event;
    let roster = roster(event, decision);
    let all: Vec<_> = event.orders().collect();
    let orders = all.into_par_iter().map(|(id, piece, order)| {
        let i = id.index();
        let scene = Scene::of(event, (piece, order), Arc::clone(&prospects.lots[i]));
        let offered = (&decision.offers[i][..], decision.solution.chosen[i]);
        let begun = roster.span(Work::Place(id)).map(|span| span.0);
        order_plan((id, &scene), &prospects.options[i], offered, begun, &prospects.spaces)
    });
    let orders = orders.collect();
    (roster, orders)
}
