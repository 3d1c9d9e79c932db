//! What to buy, and what the whole event costs.

use super::decision::Decision;
use super::offers::{price, vessel_price};
use super::order::OrderPlan;
use super::packs::{Kinds, stems};
use crate::event::{Event, Order, Sort};
use crate::flower::treatment::{Method, Treatment};

/// One flower to buy, over all pieces.
#[derive(Debug, Clone)]
pub struct Line {
    /// What to buy.
    pub sort: Sort,
    /// Heads ordered for the pieces.
    pub heads: u32,
    /// Spare heads placed beyond them, so that enough will last.
    pub spares: u32,
    /// Heads beyond those placed: for breakage before that, or by the florist's habit.
    pub breakage: u32,
    /// Stems needed for all of these heads.
    pub stems: u32,
    /// Whole bunches to buy.
    pub bunches: u32,
    /// Stems in those bunches beyond `stems`.
    pub left_over: u32,
    /// Heads of those left over to keep in water for the last look.
    pub repairs: u32,
    /// The price of one stem, in money.
    pub stem_price: f64,
    /// Whether the florist has given that price.
    pub own_price: bool,
}

impl Line {
    /// The cost of its bunches, in money.
    pub fn cost(&self) -> f64 {
        f64::from(self.bunches * self.sort.flower.stems_per_bunch()) * self.stem_price
    }
}

/// Material to have besides flowers.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// The treatment that uses it: a tube of some volume, a vase, or a vessel with so much water.
    pub treatment: Treatment,
    /// The name of the vessel, if it is one.
    pub vessel: Option<String>,
    /// How many are needed.
    pub number: u32,
    /// Their cost, in money.
    pub cost: f64,
}

/// What to buy, and what the whole event costs.
#[derive(Debug, Clone, Default)]
pub struct Bill {
    /// Flowers to buy, in the order in which the event names them.
    pub lines: Vec<Line>,
    /// Tubes and vases to have.
    pub things: Vec<Thing>,
    /// Paid hours, all people together, h.
    pub paid_hours: f64,
    /// Hours of work in `paid_hours`, h.
    pub work_hours: f64,
    /// The wages, in money.
    pub hands: f64,
}

impl Bill {
    /// The cost of the flowers, in money.
    pub fn flowers(&self) -> f64 {
        self.lines.iter().map(Line::cost).sum()
    }

    /// The cost of tubes and vases, in money.
    pub fn material(&self) -> f64 {
        self.things.iter().map(|t| t.cost).sum()
    }

    /// The cost of flowers, material and wages, in money.
    pub fn total(&self) -> f64 {
        self.flowers() + self.material() + self.hands
    }
}

/// The bill of a decision and the plans that follow from it, in which the repairs are cut to what is left over.
pub(super) fn bill(event: &Event, orders: &mut [OrderPlan], decision: &Decision) -> Bill {
    let (model, solution) = (&decision.model, &decision.solution);
    let lines = lines(event, orders);
    let chosen = model.jobs.iter().zip(&solution.chosen).flat_map(|(job, c)| &job[*c].parts);
    Bill {
        lines,
        things: things(event, orders),
        paid_hours: decision.paid_hours(),
        work_hours: chosen.map(|p| p.hours).sum(),
        hands: solution.shifts.iter().map(|s| model.wage(s)).sum(),
    }
}

/// The flowers to buy, by kind. Of the stems left over, heads are given to the orders for the last look as they want
/// them.
fn lines(event: &Event, orders: &mut [OrderPlan]) -> Vec<Line> {
    let kinds = Kinds::new(event);
    let packs = kinds.packs();
    let line = |(kind, first): (usize, &&Order)| {
        let own: Vec<usize> = (0..orders.len()).filter(|i| kinds.of[*i] == kind).collect();
        let sum = |of: fn(&OrderPlan) -> u32| own.iter().map(|i| of(&orders[*i])).sum::<u32>();
        let taken = |i: &usize| {
            let order = event.order(orders[*i].id).1;
            (stems(event, order, orders[*i].spares), f64::from(order.heads_per_stem()))
        };
        let needed: f64 = own.iter().map(|i| taken(i).0).sum();
        let with_breakage: f64 = own.iter().map(taken).map(|(stems, heads)| stems * heads).sum();
        let (heads, spares) = (sum(OrderPlan::ordered), sum(|o| o.spares));
        let (stems, bunches) = ((needed - 1e-9).ceil() as u32, packs[kind].number(needed));
        let left_over = bunches * first.flower.stems_per_bunch() - stems;
        let mut free = left_over * first.heads_per_stem();
        for i in &own {
            orders[*i].repairs = orders[*i].repairs.min(free);
            free -= orders[*i].repairs;
        }
        Line {
            sort: first.sort(),
            heads,
            spares,
            breakage: (with_breakage - 1e-9).ceil() as u32 - heads - spares,
            stems,
            bunches,
            left_over,
            repairs: own.iter().map(|i| orders[*i].repairs).sum(),
            stem_price: first.stem_price(),
            own_price: first.price.own.is_some(),
        }
    };
    kinds.firsts.iter().enumerate().map(line).collect()
}

/// The vessels of all pieces, by name and volume.
fn vessels(event: &Event) -> Vec<Thing> {
    let mut things: Vec<Thing> = Vec::new();
    for vessel in event.pieces.iter().filter_map(|p| p.vessel.as_ref()) {
        let cost = f64::from(vessel.number) * vessel_price(event, &vessel.name);
        let treatment = Treatment::new(Method::Vessel, vessel.ml);
        match things.iter_mut().find(|t| t.treatment == treatment && t.vessel.as_ref() == Some(&vessel.name))
        {
            Some(thing) => {
                thing.number += vessel.number;
                thing.cost += cost;
            }
            None => things.push(Thing {
                treatment,
                vessel: Some(vessel.name.clone()),
                number: vessel.number,
                cost,
            }),
        }
    }
    things
}

/// The tubes and vases of all orders, by treatment.
fn things(event: &Event, orders: &[OrderPlan]) -> Vec<Thing> {
    let mut things: Vec<Thing> = Vec::new();
    let single =
        |p: &&OrderPlan| matches!(p.recommended().treatment.method, Method::WaterTube | Method::BudVase);
    for plan in orders.iter().filter(single) {
        let treatment = plan.recommended().treatment;
        let piece = event.order(plan.id).0;
        let (number, cost) = (plan.heads, f64::from(plan.heads) * price(event, piece, treatment));
        match things.iter_mut().find(|t| t.treatment == treatment) {
            Some(thing) => {
                thing.number += number;
                thing.cost += cost;
            }
            None => things.push(Thing { treatment, vessel: None, number, cost }),
        }
    }
    things.extend(vessels(event));
    things
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::invented;

    /// Two bowls and three more of them on another piece are five at 4.50; a jug has no price.
    #[test]
    fn vessels_are_counted_over_pieces() {
        let piece = |name: &str, vessel: &str, number: u32| {
            format!(
                "[[piece]]\nname = \"{name}\"\nspace = \"hall\"\nuntil = \"22:00\"\nvessel = \"{vessel}\"\n\
                 vessels = {number}\n[[piece.flower]]\nflower = \"rose\"\nheads = 12\n"
            )
        };
        let event = invented(
            "[[vessels]]\nname = \"bowl\"\nprice = \"EUR 4.50\"\n[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n",
            &("[[piece.flower]]\nflower = \"rose\"\nheads = 9\n".to_string()
                + &piece("low", "bowl", 2)
                + &piece("bar", "jug", 1)
                + &piece("high", "bowl", 3)),
        );
        let found: Vec<_> =
            vessels(&event).into_iter().map(|t| (t.vessel.unwrap(), t.number, t.cost)).collect();
        assert_eq!(found, [("bowl".to_string(), 5, 22.5), ("jug".to_string(), 1, 0.0)]);
    }
}
