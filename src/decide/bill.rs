//! What to buy, and what the whole event costs.

use super::decision::Decision;
use super::offers::price;
use super::order::OrderPlan;
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Treatment;

/// One flower to buy, over all pieces.
#[derive(Debug, Clone)]
pub struct Line {
    /// The flower to buy.
    pub flower: &'static Flower,
    /// The florist's name for it, if it is only like a flower of the catalogue.
    pub own_name: Option<String>,
    /// Heads ordered for the pieces.
    pub heads: u32,
    /// Spare heads placed beyond them, so that enough will last.
    pub spares: u32,
    /// Heads kept in water for the last look.
    pub repairs: u32,
    /// Heads lost to breakage and sorting before anything is placed.
    pub breakage: u32,
    /// Stems needed for all of these heads.
    pub stems: u32,
    /// Whole bunches to buy.
    pub bunches: u32,
    /// Stems in those bunches beyond `stems`.
    pub left_over: u32,
    /// The price of one stem, in money.
    pub stem_price: f64,
}

impl Line {
    /// The cost of its bunches, in money.
    pub fn cost(&self) -> f64 {
        f64::from(self.bunches * self.flower.stems_per_bunch()) * self.stem_price
    }
}

/// Material to have besides flowers.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// The treatment that uses it: a tube of some volume, or a vase.
    pub treatment: Treatment,
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

/// The bill of a decision and the plans that follow from it.
pub(super) fn bill(event: &Event, orders: &[OrderPlan], decision: &Decision) -> Bill {
    let (model, solution) = (&decision.model, &decision.solution);
    let chosen = model.jobs.iter().zip(&solution.chosen).flat_map(|(job, c)| &job[*c].parts);
    Bill {
        lines: lines(event, orders),
        things: things(event, orders),
        paid_hours: decision.paid_hours(),
        work_hours: chosen.map(|p| p.hours).sum(),
        hands: solution.shifts.iter().map(|s| model.wage(s)).sum(),
    }
}

/// What one flower needs over all pieces, before it is counted in stems and bunches.
struct Need<'a> {
    flower: &'static Flower,
    own_name: Option<&'a str>,
    stem_price: f64,
    heads: u32,
    spares: u32,
    repairs: u32,
}

/// The flowers to buy, orders of the same flower at the same price taken together.
fn lines(event: &Event, orders: &[OrderPlan]) -> Vec<Line> {
    let mut needs: Vec<Need> = Vec::new();
    for plan in orders {
        let (_, order) = event.order(plan.id);
        let (flower, stem_price) = (order.flower, order.stem_price());
        let own_name = order.own_name.as_deref();
        let same =
            |n: &Need| n.flower.id() == flower.id() && n.own_name == own_name && n.stem_price == stem_price;
        let i = needs.iter().position(same).unwrap_or_else(|| {
            needs.push(Need { flower, own_name, stem_price, heads: 0, spares: 0, repairs: 0 });
            needs.len() - 1
        });
        needs[i].heads += plan.ordered();
        needs[i].spares += plan.spares;
        needs[i].repairs += plan.repairs;
    }
    needs.into_iter().map(Line::of).collect()
}

impl Line {
    /// Rounds what is needed up to whole stems and whole bunches.
    fn of(Need { flower, own_name, stem_price, heads, spares, repairs }: Need) -> Line {
        let needed = heads + spares + repairs;
        let breakage = (f64::from(needed) * flower.spare_share()).ceil() as u32;
        let stems = (needed + breakage).div_ceil(flower.faces_per_stem());
        let bunches = stems.div_ceil(flower.stems_per_bunch());
        let left_over = bunches * flower.stems_per_bunch() - stems;
        let own_name = own_name.map(str::to_string);
        Line { flower, own_name, heads, spares, repairs, breakage, stems, bunches, left_over, stem_price }
    }
}

/// The tubes and vases of all orders, by treatment.
fn things(event: &Event, orders: &[OrderPlan]) -> Vec<Thing> {
    let mut things: Vec<Thing> = Vec::new();
    for plan in orders.iter().filter(|p| !p.recommended().treatment.method.is_dry()) {
        let treatment = plan.recommended().treatment;
        let (number, cost) = (plan.heads, f64::from(plan.heads) * price(event, treatment));
        match things.iter_mut().find(|t| t.treatment == treatment) {
            Some(thing) => {
                thing.number += number;
                thing.cost += cost;
            }
            None => things.push(Thing { treatment, number, cost }),
        }
    }
    things
}
