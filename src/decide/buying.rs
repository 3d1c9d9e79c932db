//! What to buy, and what it all costs.

use super::plan::{Decision, PiecePlan};
use super::tasks::price;
use crate::event::Event;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;

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
    /// Tube or vase.
    pub method: Method,
    /// Nominal volume of a tube, ml.
    pub tube_ml: f64,
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
pub fn bill(event: &Event, pieces: &[PiecePlan], decision: &Decision) -> Bill {
    let mut bill = Bill::default();
    for plan in pieces.iter().flat_map(|p| &p.flowers) {
        let (flower, stem_price) = (plan.order.flower, plan.order.stem_price());
        let same = |l: &&mut Line| l.flower.id() == flower.id() && l.stem_price == stem_price;
        let line = match bill.lines.iter_mut().find(same) {
            Some(line) => line,
            None => {
                bill.lines.push(Line {
                    flower,
                    heads: 0,
                    spares: 0,
                    repairs: 0,
                    breakage: 0,
                    stems: 0,
                    bunches: 0,
                    left_over: 0,
                    stem_price,
                });
                bill.lines.last_mut().expect("just added")
            }
        };
        line.heads += plan.order.heads;
        line.spares += plan.spares;
        line.repairs += plan.repairs;
        let treatment = plan.recommended().treatment;
        if !treatment.method.is_dry() {
            let number = plan.heads();
            let cost = f64::from(number) * price(event, treatment);
            match bill
                .things
                .iter_mut()
                .find(|t| t.method == treatment.method && t.tube_ml == treatment.tube_ml)
            {
                Some(thing) => {
                    thing.number += number;
                    thing.cost += cost;
                }
                None => bill.things.push(Thing {
                    method: treatment.method,
                    tube_ml: treatment.tube_ml,
                    number,
                    cost,
                }),
            }
        }
    }
    for line in &mut bill.lines {
        let flower = line.flower;
        let needed = line.heads + line.spares + line.repairs;
        line.breakage = (f64::from(needed) * flower.spare_share()).ceil() as u32;
        line.stems = (needed + line.breakage).div_ceil(flower.faces_per_stem());
        line.bunches = line.stems.div_ceil(flower.stems_per_bunch());
        line.left_over = line.bunches * flower.stems_per_bunch() - line.stems;
    }
    let (model, solution) = (&decision.model, &decision.solution);
    bill.paid_hours = paid_hours(decision);
    bill.hands = solution.shifts.iter().map(|s| model.wage(s)).sum();
    let chosen = model.jobs.iter().zip(&solution.chosen).flat_map(|(job, c)| &job[*c].parts);
    bill.work_hours = chosen.map(|p| p.hours).sum();
    bill
}

/// The hours for which people are paid.
pub fn paid_hours(decision: &Decision) -> f64 {
    decision.solution.shifts.iter().map(|s| decision.model.paid_hours(s)).sum()
}
