//! What to buy, and what it all costs.

use super::decision::Decision;
use super::offers::price;
use super::order::OrderPlan;
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Treatment;

/// One flower to order, over all pieces.
#[derive(Debug, Clone)]
pub struct Line {
    /// The flower.
    pub flower: &'static Flower,
    /// Heads in the pieces, as ordered.
    pub heads: u32,
    /// Heads placed beyond them, so that enough will last.
    pub spares: u32,
    /// Heads kept in water for the last look.
    pub repairs: u32,
    /// Heads lost to breakage and sorting before anything is placed.
    pub breakage: u32,
    /// Stems.
    pub stems: u32,
    /// Whole bunches.
    pub bunches: u32,
    /// Stems of those bunches that nobody asked for.
    pub left_over: u32,
    /// What a stem costs.
    pub stem_price: f64,
}

impl Line {
    /// What its bunches cost.
    pub fn cost(&self) -> f64 {
        f64::from(self.bunches * self.flower.stems_per_bunch()) * self.stem_price
    }
}

/// Something to have besides flowers.
#[derive(Debug, Clone, PartialEq)]
pub struct Thing {
    /// The treatment that takes it: a tube of some volume, or a vase.
    pub treatment: Treatment,
    /// How many.
    pub number: u32,
    /// What they cost.
    pub cost: f64,
}

/// What to buy, and what it all costs.
#[derive(Debug, Clone, Default)]
pub struct Bill {
    /// Flowers, in the order in which the event names them.
    pub lines: Vec<Line>,
    /// Tubes and vases.
    pub things: Vec<Thing>,
    /// Hours paid.
    pub paid_hours: f64,
    /// Hours of work in them.
    pub work_hours: f64,
    /// What the hands cost.
    pub hands: f64,
}

impl Bill {
    /// What the flowers cost.
    pub fn flowers(&self) -> f64 {
        self.lines.iter().map(Line::cost).sum()
    }

    /// What tubes and vases cost.
    pub fn material(&self) -> f64 {
        self.things.iter().map(|t| t.cost).sum()
    }

    /// What it all costs.
    pub fn total(&self) -> f64 {
        self.flowers() + self.material() + self.hands
    }
}

/// The bill of what was decided.
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
struct Need {
    flower: &'static Flower,
    stem_price: f64,
    heads: u32,
    spares: u32,
    repairs: u32,
}

fn lines(event: &Event, orders: &[OrderPlan]) -> Vec<Line> {
    let mut needs: Vec<Need> = Vec::new();
    for plan in orders {
        let (_, order) = event.order(plan.id);
        let (flower, stem_price) = (order.flower, order.stem_price());
        let same = |n: &Need| n.flower.id() == flower.id() && n.stem_price == stem_price;
        let i = needs.iter().position(same).unwrap_or_else(|| {
            needs.push(Need { flower, stem_price, heads: 0, spares: 0, repairs: 0 });
            needs.len() - 1
        });
        needs[i].heads += plan.ordered();
        needs[i].spares += plan.spares;
        needs[i].repairs += plan.repairs;
    }
    needs.into_iter().map(Line::of).collect()
}

impl Line {
    fn of(Need { flower, stem_price, heads, spares, repairs }: Need) -> Line {
        let needed = heads + spares + repairs;
        let breakage = (f64::from(needed) * flower.spare_share()).ceil() as u32;
        let stems = (needed + breakage).div_ceil(flower.faces_per_stem());
        let bunches = stems.div_ceil(flower.stems_per_bunch());
        let left_over = bunches * flower.stems_per_bunch() - stems;
        Line { flower, heads, spares, repairs, breakage, stems, bunches, left_over, stem_price }
    }
}

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
