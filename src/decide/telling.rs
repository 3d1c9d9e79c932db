//! What shows best why a plan is as it is: the heads of one order at the hour that counts, set early against set as
//! planned, in a usual delivery and in a poor one.

use super::options::Scene;
use super::order::OrderPlan;
use super::prospects::Prospects;
use crate::event::{Criterion, OrderId};
use crate::flower::catalogue::Kind;
use crate::flower::treatment::Treatment;
use crate::simulate::outcome::{HeadOutcome, presentable};
use crate::simulate::run::Knowledge;
use std::sync::Arc;

/// How some heads look, 0 to 1 of all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// The share that is fresh.
    pub fresh: f64,
    /// The share that is softened, but not limp.
    pub softened: f64,
    /// The share that is limp, or otherwise past use.
    pub limp: f64,
}

/// An order set in one way, and how it looks at its piece's hour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side {
    /// When it is set, h on the event's clock.
    pub place_at: f64,
    /// How it is set.
    pub treatment: Treatment,
    /// How it looks in a usual delivery: the one in the middle.
    pub usual: Look,
    /// How it looks in a poor one: one in twenty is like it, or worse.
    pub poor: Look,
}

/// The order that shows most, set early and as planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Telling {
    /// The order.
    pub id: OrderId,
    /// Set at the first time there is.
    pub early: Side,
    /// Set as planned.
    pub planned: Side,
}

/// The share of deliveries that are worse than a poor one.
const POOR: f64 = 0.05;
/// How much more it counts that a head is lost which guests see from close up (judgement).
const CLOSE_UP: f64 = 2.0;
/// The least share of heads that must be at stake for an order to show anything.
const AT_STAKE: f64 = 0.05;

/// The order that shows most: the one that loses most, as a share of its heads, if it is set at the first time there is,
/// with water as planned or, where that does no harm to any, without. `None` if nothing is at stake anywhere.
pub(super) fn telling(prospects: &Prospects, orders: &[OrderPlan]) -> Option<Telling> {
    let event = &prospects.event;
    let most = |dry: bool| {
        // What does not last as planned is advised against, and convinces nobody.
        let candidates = event
            .orders()
            .filter(|(id, _, order)| order.flower.kind() == Kind::Flower && orders[id.index()].lasts());
        let at_stake = candidates.filter_map(|(id, _, order)| {
            let plan = &orders[id.index()];
            let chosen = plan.recommended();
            let mut same = plan.options.iter().filter(|o| o.top_up.is_none());
            let early = same
                .find(|o| if dry { o.treatment.method.is_dry() } else { o.treatment == chosen.treatment })?;
            let lost = chosen.expected - early.expected;
            let weight = if order.counts == Criterion::Flagging { CLOSE_UP } else { 1.0 };
            (lost > AT_STAKE).then_some((weight * lost, id, (early.place_at, early.treatment)))
        });
        at_stake.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.index().cmp(&a.1.index())))
    };
    let (_, id, early) = most(false).or_else(|| most(true))?;
    let scene = Scene::of(event, event.order(id), Arc::clone(&prospects.lots[id.index()]));
    let chosen = orders[id.index()].recommended();
    let cases = [
        (scene.journey(early.0, 0.0, None), early.1),
        (scene.journey(chosen.place_at, 0.0, chosen.top_up), chosen.treatment),
    ];
    let until = scene.until();
    let look = |_: usize, outcomes: &[HeadOutcome]| {
        let share = |end: fn(&HeadOutcome) -> f64| presentable(outcomes, &[until], end)[0];
        let (fresh, standing) = (share(|o| o.flagging), share(|o| o.wilted));
        Look { fresh, softened: (standing - fresh).max(0.0), limp: 1.0 - standing.max(fresh) }
    };
    let lots = scene.lots.simulate(Knowledge::AsItIs, &cases, look).expect("journeys of the event");
    let counts = event.order(id).1.counts;
    let side = |case: usize, place_at: f64, treatment: Treatment| {
        let mut looks: Vec<Look> = lots.iter().map(|lot| lot[case]).collect();
        let kept = |l: &Look| match counts {
            Criterion::Flagging => l.fresh,
            Criterion::Wilted => l.fresh + l.softened,
        };
        looks.sort_by(|a, b| kept(a).total_cmp(&kept(b)).then(a.fresh.total_cmp(&b.fresh)));
        let at = |share: f64| looks[((looks.len() as f64 * share) as usize).min(looks.len() - 1)];
        Side { place_at, treatment, usual: at(0.5), poor: at(POOR) }
    };
    Some(Telling {
        id,
        early: side(0, early.0, early.1),
        planned: side(1, chosen.place_at, chosen.treatment),
    })
}
