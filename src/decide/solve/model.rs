//! The optimisation model of work, stock and money, and its solution. Nothing here knows of flowers.
//!
//! Every job has alternative candidates. A candidate is work to be done between two times, at a cost, and uses stock of
//! which there may be a limited number. People are hired for shifts.

/// A short stretch of time in which people can be on site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slot {
    /// When it begins, h.
    pub from: f64,
    /// When it ends, h.
    pub to: f64,
    /// The number of the call (stretch of access) that it belongs to: nobody stays from one call to the next.
    pub call: usize,
}

impl Slot {
    /// How long it is, h.
    pub fn hours(&self) -> f64 {
        self.to - self.from
    }
}

/// Work that can be done in any slots from one to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The first slot in which it can be done.
    pub first: usize,
    /// The slot after the last one in which it can be done.
    pub end: usize,
    /// Whether it takes skilled people.
    pub skilled: bool,
    /// Work in hours of one person.
    pub hours: f64,
}

/// One of the alternative ways to do a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// The work that it consists of.
    pub parts: Vec<Part>,
    /// What it costs besides wages, in money.
    pub cost: f64,
    /// What else speaks against it, in money: it counts in the objective and is on no bill.
    pub regret: f64,
    /// How many it uses of each thing in stock.
    pub uses: Vec<u32>,
    /// The kind of pack that it is taken from, and how much of it.
    pub takes: Option<(usize, f64)>,
}

/// Something that is bought in whole packs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pack {
    /// How much is in a pack.
    pub holds: f64,
    /// The price of a pack, in money.
    pub price: f64,
}

impl Pack {
    /// How many packs hold so much.
    pub fn number(&self, amount: f64) -> u32 {
        (amount / self.holds - 1e-9).ceil().max(0.0) as u32
    }
}

/// Who can be hired, and at what cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crew {
    /// The most people at one time.
    pub people: u32,
    /// The most skilled people among them.
    pub skilled: u32,
    /// The wage for an hour, in money.
    pub hourly: f64,
    /// The shortest time that is paid, h: shorter shifts cost as much.
    pub minimum: f64,
}

/// The optimisation model: what is to be decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// The slots, in order of time.
    pub slots: Vec<Slot>,
    /// The candidates of every job, at least one each.
    pub jobs: Vec<Vec<Candidate>>,
    /// The people who can be hired.
    pub crew: Crew,
    /// How many there are of each thing in stock; `None` for no limit.
    pub stock: Vec<Option<u32>>,
    /// What is bought in packs, by kind.
    pub packs: Vec<Pack>,
}

/// People hired for the same time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The first slot that they work in.
    pub first: usize,
    /// The slot after the last one that they work in.
    pub end: usize,
    /// How many people it is.
    pub people: u32,
    /// Whether they are skilled.
    pub skilled: bool,
}

/// A solution of the optimisation model.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The index of the candidate taken, by job.
    pub chosen: Vec<usize>,
    /// The shifts that are hired.
    pub shifts: Vec<Shift>,
    /// What it costs, wages included and regret excluded, in money.
    pub cost: f64,
    /// The optimality gap: the most by which a cheaper solution could undercut it, as a share; 0 if it is proven
    /// optimal.
    pub gap: f64,
    /// The people and stock that it needs beyond those there are.
    pub lacking: Lacking,
}

/// The people and stock that a solution needs beyond those there are.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lacking {
    /// How many more people at one time.
    pub people: u32,
    /// How many more skilled people at one time.
    pub skilled: u32,
    /// How many more of each thing in stock.
    pub stock: Vec<u32>,
}

impl Lacking {
    /// Whether nothing is lacking.
    pub fn is_nothing(&self) -> bool {
        self.people == 0 && self.skilled == 0 && self.stock.iter().all(|n| *n == 0)
    }
}

impl Model {
    /// The wages for a shift, in money.
    pub fn wage(&self, shift: &Shift) -> f64 {
        self.crew.hourly * self.paid_hours(shift)
    }

    /// The paid hours of a shift, all its people together, h.
    pub fn paid_hours(&self, shift: &Shift) -> f64 {
        let hours = self.slots[shift.end - 1].to - self.slots[shift.first].from;
        f64::from(shift.people) * hours.max(self.crew.minimum)
    }

    /// The cost of some candidates (by job) and shifts, whole packs included, in money.
    pub fn cost(&self, chosen: &[usize], shifts: &[Shift]) -> f64 {
        let things: f64 = self.jobs.iter().zip(chosen).map(|(job, c)| job[*c].cost).sum();
        let packs = self.packs.iter().zip(self.packs_of(chosen));
        let packs: f64 = packs.map(|(pack, number)| f64::from(number) * pack.price).sum();
        things + packs + shifts.iter().map(|s| self.wage(s)).sum::<f64>()
    }

    /// How many packs of each kind some candidates (by job) take.
    pub fn packs_of(&self, chosen: &[usize]) -> Vec<u32> {
        let mut amounts = vec![0.0; self.packs.len()];
        for (kind, amount) in self.jobs.iter().zip(chosen).filter_map(|(job, c)| job[*c].takes) {
            amounts[kind] += amount;
        }
        self.packs.iter().zip(amounts).map(|(pack, amount)| pack.number(amount)).collect()
    }

    /// What a candidate costs by itself, its work and its part of a pack included, in money.
    pub fn own_cost(&self, candidate: &Candidate) -> f64 {
        let packs = candidate
            .takes
            .map_or(0.0, |(kind, amount)| amount * self.packs[kind].price / self.packs[kind].holds);
        let hours: f64 = candidate.parts.iter().map(|p| p.hours).sum();
        candidate.cost + packs + self.crew.hourly * hours
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 3 of its own, 40 from packs of 10 at 7 are 28, and an hour and a half at 20 are 30.
    #[test]
    fn a_candidate_costs_itself_its_part_of_packs_and_its_work() {
        let part = |hours: f64| Part { first: 0, end: 1, skilled: false, hours };
        let model = Model {
            slots: Vec::new(),
            jobs: Vec::new(),
            crew: Crew { people: 4, skilled: 2, hourly: 20.0, minimum: 3.0 },
            stock: Vec::new(),
            packs: vec![Pack { holds: 25.0, price: 90.0 }, Pack { holds: 10.0, price: 7.0 }],
        };
        let candidate = Candidate {
            parts: vec![part(1.0), part(0.5)],
            cost: 3.0,
            regret: 1000.0,
            uses: Vec::new(),
            takes: Some((1, 40.0)),
        };
        assert!((model.own_cost(&candidate) - 61.0).abs() < 1e-12);
        assert!((model.own_cost(&Candidate { takes: None, ..candidate }) - 33.0).abs() < 1e-12);
    }
}
