//! What has to be decided about hands, material and money, and what a decision is. Nothing here knows of flowers.
//!
//! Jobs with alternative candidates, work that fits between two times, people hired for shifts, things of which only so
//! many can be had.

/// A stretch of time in which people can be on site.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slot {
    /// Its beginning, h.
    pub from: f64,
    /// Its end, h.
    pub to: f64,
    /// Which stretch of access it belongs to: nobody stays from one to the next.
    pub call: usize,
}

impl Slot {
    /// How long it is, h.
    pub fn hours(&self) -> f64 {
        self.to - self.from
    }
}

/// Work that fits anywhere between two slots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Part {
    /// The first slot.
    pub first: usize,
    /// The slot after the last.
    pub end: usize,
    /// Whether it takes skilled hands.
    pub skilled: bool,
    /// Hours of work for one person.
    pub hours: f64,
}

/// One way to do a job.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Its work.
    pub parts: Vec<Part>,
    /// What it costs beside the work.
    pub cost: f64,
    /// What speaks against it besides, in money: it weighs in the choice and is on no bill.
    pub regret: f64,
    /// What it uses of each thing in stock.
    pub uses: Vec<u32>,
}

/// Who can be hired, and what it costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crew {
    /// The most people at one time.
    pub people: u32,
    /// The most skilled people among them.
    pub skilled: u32,
    /// What an hour costs.
    pub hourly: f64,
    /// The shortest time that is paid, h.
    pub minimum: f64,
}

/// What is to be decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Model {
    /// Time, in order.
    pub slots: Vec<Slot>,
    /// Jobs with their candidates, at least one each.
    pub jobs: Vec<Vec<Candidate>>,
    /// Hands.
    pub crew: Crew,
    /// How much there is of each thing; `None` for as much as is wanted.
    pub stock: Vec<Option<u32>>,
}

/// People hired together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// The first slot.
    pub first: usize,
    /// The slot after the last.
    pub end: usize,
    /// How many.
    pub people: u32,
    /// Whether they are skilled.
    pub skilled: bool,
}

/// What is decided.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The candidate of every job.
    pub chosen: Vec<usize>,
    /// Who is hired.
    pub shifts: Vec<Shift>,
    /// What it costs, hands and all.
    pub cost: f64,
    /// By what share of it a cheaper plan might undercut it at most; 0 where it is proven the cheapest.
    pub gap: f64,
    /// What it needs beyond what there is.
    pub lacking: Lacking,
}

/// What a plan needs beyond what there is.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Lacking {
    /// More people at one time.
    pub people: u32,
    /// More of them skilled.
    pub skilled: u32,
    /// More of each thing in stock.
    pub stock: Vec<u32>,
}

impl Lacking {
    /// Whether nothing is.
    pub fn is_nothing(&self) -> bool {
        self.people == 0 && self.skilled == 0 && self.stock.iter().all(|n| *n == 0)
    }
}

impl Model {
    /// What a shift costs.
    pub fn wage(&self, shift: &Shift) -> f64 {
        self.crew.hourly * self.paid_hours(shift)
    }

    /// The hours for which the people of a shift are paid, all together.
    pub fn paid_hours(&self, shift: &Shift) -> f64 {
        let hours = self.slots[shift.end - 1].to - self.slots[shift.first].from;
        f64::from(shift.people) * hours.max(self.crew.minimum)
    }

    /// What some choice and hands cost.
    pub fn cost(&self, chosen: &[usize], shifts: &[Shift]) -> f64 {
        let things: f64 = self.jobs.iter().zip(chosen).map(|(job, c)| job[*c].cost).sum();
        things + shifts.iter().map(|s| self.wage(s)).sum::<f64>()
    }
}
