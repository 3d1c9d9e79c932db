//! The plan of an event: for every order what to do, from when to when, and the hands and things it takes.

use super::alternatives::{Alternative, Kind, all_dry, fewer_treatments, first_access};
use super::bill::{Bill, bill};
use super::decision::Decision;
use super::options::Scene;
use super::order::{OrderPlan, order_plan};
pub use super::prospects::Settings;
use super::prospects::{Prospects, prospects};
use super::remedies::{Remedy, remedies};
use super::solve::model::{Lacking, Solution};
use super::work::{Roster, Work, roster};
use crate::error::Result;
use crate::event::{Event, OrderId};
use rayon::prelude::*;
use std::sync::Arc;

/// The plan of an event.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The event as the florist wrote it.
    pub event: Event,
    /// How the plan was computed.
    pub settings: Settings,
    /// What is planned for every order, by its number.
    pub orders: Vec<OrderPlan>,
    /// Who does what from when to when.
    pub roster: Roster,
    /// What hands and things there are too few of.
    pub lacking: Lacking,
    /// By what share of its cost a cheaper plan might undercut it at most.
    pub gap: f64,
    /// What to buy, and what it all costs.
    pub bill: Bill,
    /// Other plans for the whole event, this one first.
    pub alternatives: Vec<Alternative>,
    /// What would help where it cannot be done.
    pub remedies: Vec<Remedy>,
}

impl Plan {
    /// What is planned for the order of that number.
    ///
    /// # Panics
    /// Where the number is of another event, with more orders.
    pub fn order(&self, id: OrderId) -> &OrderPlan {
        &self.orders[id.index()]
    }

    /// The simulation's own standard error of an expected share, in the root mean square over all options.
    pub fn error(&self) -> f64 {
        let options = || self.orders.iter().flat_map(|o| o.options.iter());
        (options().map(|o| o.error.powi(2)).sum::<f64>() / options().count() as f64).sqrt()
    }

    /// Whether every flower lasts as wanted, with the hands and things there are.
    pub fn lasts(&self) -> bool {
        self.orders.iter().all(OrderPlan::lasts) && self.lacking.is_nothing()
    }
}

/// Plans an event. The same event and settings give the same plan to the last bit.
///
/// # Errors
/// Where the settings are none that can be simulated.
pub fn plan(event: Event, settings: Settings) -> Result<Plan> {
    Ok(finish(prospects(event, settings)?))
}

/// Decides, and works out what follows for every order.
pub fn finish(prospects: Prospects) -> Plan {
    // Side by side: what is decided, and what would be if all were dry or on the first access; then what follows from the
    // one, and what would be decided if fewer treatments were allowed.
    let (decision, (dry, first)) = rayon::join(
        || prospects.decide(&prospects.event, |_, _| true),
        || rayon::join(|| all_dry(&prospects), || first_access(&prospects)),
    );
    let ((roster, orders), fewer) =
        rayon::join(|| follows(&prospects, &decision), || fewer_treatments(&prospects, &decision, &dry));
    let cheapest = Alternative::of(Kind::Cheapest, &prospects.event, &decision);
    let alternatives: Vec<Alternative> = std::iter::once(cheapest).chain(fewer).chain(first).collect();
    let remedies = if alternatives[0].works() { Vec::new() } else { remedies(&prospects, &decision) };
    let Prospects { event, settings, lots, .. } = prospects;
    // Nobody waits for so much memory to be given back.
    rayon::spawn(|| drop(lots));
    let bill = bill(&event, &orders, &decision);
    let Solution { lacking, gap, .. } = decision.solution;
    Plan { roster, lacking, gap, bill, alternatives, remedies, orders, settings, event }
}

/// What follows from a decision: the crew's day, and what becomes of every order.
fn follows(prospects: &Prospects, decision: &Decision) -> (Roster, Vec<OrderPlan>) {
    let event = &prospects.event;
    let roster = roster(event, decision);
    let all: Vec<_> = event.orders().collect();
    let orders = all.into_par_iter().map(|(id, piece, order)| {
        let i = id.index();
        let scene = Scene::of(event, (piece, order), Arc::clone(&prospects.lots[i]));
        let offered = (&decision.offers[i][..], decision.solution.chosen[i]);
        let begun = roster.span(Work::Place(id)).map(|span| span.0);
        order_plan((id, &scene), &prospects.options[i], offered, begun)
    });
    let orders = orders.collect();
    (roster, orders)
}
