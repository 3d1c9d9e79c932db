//! The life of the heads of one lot along one course, step by step: the plain route, which goes through anything.
//!
//! [`super::search`] finds the same fates faster and answers every question; this one says what they are, and tests hold
//! the two together.

use super::dispatch::widest;
use super::journey::{Grid, Step, Supply};
use crate::flower::population::{HEADS, Heads};

/// What ends a head's looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It dried.
    Drying,
    /// It aged: blown, dropped or browned.
    Ageing,
    /// It was too hot.
    Heat,
    /// It dried although it had been given water: tube empty, stem blocked, air lock.
    Supply,
}

impl Cause {
    /// The cause of a head that was to have water and got none.
    pub fn after_failed_supply(self) -> Cause {
        match self {
            Cause::Drying => Cause::Supply,
            other => other,
        }
    }
}

/// What became of one head. Hours are on the event's clock; infinite where it did not happen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fate {
    /// How many heads this one stands for.
    pub weight: f64,
    /// When it stopped being presentable.
    pub flagging: f64,
    /// When it was plainly wilted or past it.
    pub wilted: f64,
    /// Why it stopped being presentable.
    pub cause: Cause,
    /// When its tube first ran empty.
    pub empty: f64,
    /// Share of fresh mass lost at the hour asked about.
    pub loss: f64,
}

/// What makes a head no longer good enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// The first visible flagging.
    Flagging,
    /// Plainly wilted.
    Wilted,
}

impl Mark {
    /// When a head reaches it.
    pub fn of(self, fate: &Fate) -> f64 {
        match self {
            Mark::Flagging => fate.flagging,
            Mark::Wilted => fate.wilted,
        }
    }
}

/// How a lot starts a course.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// The step of the grid at which the course begins.
    pub at: usize,
    /// The step at which the heads are placed.
    pub placed: usize,
    /// The step at whose beginning the loss is asked.
    pub ask: usize,
}

pub(super) const NEVER: f64 = f64::INFINITY;

/// The heads of a lot on their way.
///
/// # Formula
/// In units of its way to flagging, a head out of water goes `dv = r D dt`, `r` its rate and `D` the drying drive. In
/// water its stem refills the deficit: `dv = r D dt - S v dt`, solved exactly over a step. What evaporates is what
/// the store loses plus what the tube gives, to rounding. First to happen of: `v = 1` (flagging), age, heat.
///
/// A step is arithmetic alone, the same for all heads, whether they drink or not; in few does anything happen to one, and
/// only then is it looked at by itself. A head's age is a sum that all heads have in common, of which there are two, in
/// water and out of it, and what sets it apart from them.
#[derive(Debug, Clone)]
pub struct State<'a> {
    heads: &'a Heads,
    grid: Grid,
    start: Start,
    /// Usable water in a full tube, g.
    tube: f64,
    now: usize,
    supply: Supply,
    /// How they stand.
    pub held: Held,
    /// 1 for a head that drinks, 0 for one that does not.
    drinks: [f64; HEADS],
    /// What a head takes from its tube as it drinks a whole way to flagging, g.
    draws: [f64; HEADS],
    /// How old heads would be, had they always been in water, and always out of it.
    aged: Aged,
    /// How much older a head is than that one of these that goes on for it now.
    older: [f64; HEADS],
    heat: f64,
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    empty: [f64; HEADS],
    cause: [Cause; HEADS],
    asked: [f64; HEADS],
    next_stage: [f64; HEADS],
    next_age: [f64; HEADS],
    next_aged: Aged,
    next_heat: f64,
}

/// What heads have lost, and their tubes still hold, at the beginning of a step.
#[derive(Debug, Clone, Copy)]
pub struct Held {
    /// Way gone to flagging.
    pub gone: [f64; HEADS],
    /// Water left in the tubes, g.
    pub water: [f64; HEADS],
}

/// Days at 20 C.
#[derive(Debug, Clone, Copy)]
struct Aged {
    wet: f64,
    dry: f64,
}

impl Aged {
    /// The one that goes on for a head.
    fn of(self, drinks: f64) -> f64 {
        if drinks > 0.0 { self.wet } else { self.dry }
    }
}

impl<'a> State<'a> {
    /// The heads as their course begins, full of water.
    pub fn new(heads: &'a Heads, grid: &Grid, start: &Start) -> Self {
        State {
            heads,
            grid: *grid,
            start: *start,
            tube: 0.0,
            now: start.at,
            supply: Supply::Dry,
            held: Held { gone: [0.0; HEADS], water: [0.0; HEADS] },
            drinks: [0.0; HEADS],
            draws: [0.0; HEADS],
            aged: Aged { wet: 0.0, dry: 0.0 },
            older: [0.0; HEADS],
            heat: 0.0,
            flagging: [NEVER; HEADS],
            wilted: [NEVER; HEADS],
            empty: [NEVER; HEADS],
            cause: [Cause::Drying; HEADS],
            asked: [f64::NAN; HEADS],
            next_stage: [1.0; HEADS],
            next_age: heads.life_days,
            next_aged: Aged { wet: NEVER, dry: heads.life_days.iter().copied().fold(NEVER, f64::min) },
            next_heat: heads.heat_limit.iter().copied().fold(NEVER, f64::min),
        }
    }

    /// Gives every head a tube with that much usable water, g.
    pub fn fill_tubes(&mut self, water: f64) {
        self.tube = water;
        self.held.water = [water; HEADS];
    }

    /// Goes through some steps, whatever they bring.
    pub fn advance(&mut self, steps: &[Step]) {
        widest(
            #[inline(always)]
            || {
                // From one to the other and back, so that nothing is copied on the way.
                let (mut one, mut other) = (self.held, self.held);
                let mut pairs = steps.chunks_exact(2);
                for pair in &mut pairs {
                    self.step(&pair[0], &mut one, &mut other);
                    self.step(&pair[1], &mut other, &mut one);
                }
                if let [last] = pairs.remainder() {
                    self.step(last, &mut one, &mut other);
                    one = other;
                }
                self.held = one;
            },
        );
    }

    #[inline(always)]
    fn step(&mut self, step: &Step, held: &mut Held, next: &mut Held) {
        if self.now == self.start.ask {
            self.asked = held.gone;
        }
        if step.supply != self.supply || step.refill {
            self.supplied(step, held);
        }
        let State { heads: Heads { rate, .. }, drinks, draws, next_stage, .. } = &*self;
        let (drying, gained) = (step.pull.drying, step.pull.drying * step.gain);
        // The sign bit of what is left of any tube, and of any way to the next stage.
        let mut signs = 0;
        for h in 0..HEADS {
            let dry = held.gone[h] + rate[h] * drying;
            let drunk = dry - (held.gone[h] * step.decay + rate[h] * gained);
            next.water[h] = held.water[h] - drunk * draws[h];
            next.gone[h] = dry - drunk * drinks[h];
            signs |= next.water[h].to_bits() | (next_stage[h] - next.gone[h]).to_bits();
        }
        let Aged { wet, dry } = self.aged;
        let aged = Aged { wet: wet + step.pull.age_wet, dry: dry + step.pull.age_dry };
        let heat = self.heat + step.pull.heat;
        let due =
            (aged.wet >= self.next_aged.wet) | (aged.dry >= self.next_aged.dry) | (heat >= self.next_heat);
        if f64::from_bits(signs).is_sign_negative() | due {
            self.record(step, held, next, aged);
            if due {
                self.come_of_age(aged, heat);
            }
        }
        (self.aged, self.heat) = (aged, heat);
        self.now += 1;
    }

    /// Puts all heads into other water, or out of it.
    #[cold]
    #[inline(never)]
    fn supplied(&mut self, step: &Step, held: &mut Held) {
        self.supply = step.supply;
        if step.refill {
            held.water = [self.tube; HEADS];
        }
        for h in 0..HEADS {
            let age = self.older[h] + self.aged.of(self.drinks[h]);
            // A tube without water is found out as its head drinks from it.
            self.drinks[h] = if step.supply == Supply::Dry { 0.0 } else { 1.0 };
            self.draws[h] = match step.supply {
                Supply::Tube => self.heads.flagging_clock[h] * self.heads.mass[h],
                Supply::Dry | Supply::Ample => 0.0,
            };
            self.older[h] = age - self.aged.of(self.drinks[h]);
        }
        self.look_out();
    }

    /// Works out at which ages of all the next head comes to the end of its life.
    fn look_out(&mut self) {
        self.next_aged = Aged { wet: NEVER, dry: NEVER };
        for h in 0..HEADS {
            let due = self.next_age[h] - self.older[h];
            let next = if self.drinks[h] > 0.0 { &mut self.next_aged.wet } else { &mut self.next_aged.dry };
            *next = next.min(due);
        }
    }

    /// Finds out whose tubes ran empty in a step, and who dried to the next stage: seldom, and kept out of the loop.
    #[cold]
    #[inline(never)]
    fn record(&mut self, step: &Step, held: &Held, next: &mut Held, aged: Aged) {
        let mut which = 0u32;
        for h in 0..HEADS {
            let signs = next.water[h].to_bits() | (self.next_stage[h] - next.gone[h]).to_bits();
            which |= ((signs >> 63) as u32) << h;
        }
        while which != 0 {
            let h = which.trailing_zeros() as usize;
            which &= which - 1;
            let was = (held.gone[h], held.water[h]);
            let ran_out = next.water[h] < 0.0;
            let mut lived = (0.0, 0.0);
            if ran_out {
                (next.gone[h], lived) = self.run_out(h, step, was, next.water[h], aged);
                next.water[h] = 0.0;
            }
            if next.gone[h] >= self.next_stage[h] {
                self.dries(h, step, was.0, next.gone[h]);
            }
            if ran_out {
                self.ages(h, lived);
            }
        }
    }

    /// A head drinks the last of its tube in a step, in which it wanted so much more: how far it comes, and how old it
    /// was and is.
    fn run_out(
        &mut self,
        h: usize,
        step: &Step,
        (gone, water): (f64, f64),
        beyond: f64,
        aged: Aged,
    ) -> (f64, (f64, f64)) {
        let pull = &step.pull;
        let drunk = water - beyond;
        // The share of the step in which the stem drinks, until its water is gone.
        let share = water / drunk;
        let next = gone + self.heads.rate[h] * pull.drying - share * (drunk / self.draws[h]);
        let was = self.older[h] + self.aged.of(self.drinks[h]);
        let age = was + pull.age_dry + share * (pull.age_wet - pull.age_dry);
        (self.drinks[h], self.draws[h]) = (0.0, 0.0);
        self.older[h] = age - aged.dry;
        self.next_aged.dry = self.next_aged.dry.min(self.next_age[h] - self.older[h]);
        if self.empty[h] == NEVER {
            self.empty[h] = self.grid.hour(self.now as f64 + share);
        }
        (next, (was, age))
    }

    /// A head dries to its next stage, or through both.
    fn dries(&mut self, h: usize, step: &Step, gone: f64, next: f64) {
        let hour = |limit: f64| self.grid.hour(self.now as f64 + crossing(gone, next, limit));
        let limp = self.heads.wilted_at[h];
        if next >= 1.0 && self.flagging[h] == NEVER {
            let supplied = step.supply != Supply::Dry && self.now >= self.start.placed;
            self.flagging[h] = hour(1.0);
            self.cause[h] = if supplied { Cause::Supply } else { Cause::Drying };
        }
        if next >= limp && self.wilted[h] == NEVER {
            self.wilted[h] = hour(limp);
        }
        self.next_stage[h] = if self.wilted[h] == NEVER { limp } else { NEVER };
    }

    /// A head may come to the end of its life in a step.
    fn ages(&mut self, h: usize, (was, age): (f64, f64)) {
        if age >= self.next_age[h] {
            let at = self.now as f64 + crossing(was, age, self.next_age[h]);
            self.next_age[h] = NEVER;
            self.ends(h, self.grid.hour(at), Cause::Ageing);
        }
    }

    /// Finds out who came to the end of their life in a step, and whom it was too hot for.
    #[cold]
    #[inline(never)]
    fn come_of_age(&mut self, aged: Aged, heat: f64) {
        for h in 0..HEADS {
            let age = |sums: Aged| self.older[h] + sums.of(self.drinks[h]);
            self.ages(h, (age(self.aged), age(aged)));
            let bears = self.heads.heat_limit[h];
            if heat >= bears && self.heat < bears {
                let at = self.now as f64 + crossing(self.heat, heat, bears);
                self.ends(h, self.grid.hour(at), Cause::Heat);
            }
        }
        self.next_heat = self.heads.heat_limit.iter().copied().filter(|l| *l > heat).fold(NEVER, f64::min);
        self.look_out();
    }

    /// A head ends for a reason other than drying, unless drying was first.
    fn ends(&mut self, h: usize, at: f64, cause: Cause) {
        if at < self.flagging[h] {
            (self.flagging[h], self.cause[h]) = (at, cause);
        }
        self.wilted[h] = self.wilted[h].min(at);
        self.next_stage[h] = NEVER;
    }

    /// When the heads stopped being presentable, h; infinite where they have not yet.
    pub fn flagged(&self) -> [f64; HEADS] {
        self.flagging
    }

    /// What became of the heads.
    pub fn fates(mut self) -> Vec<Fate> {
        if self.asked[0].is_nan() {
            self.asked = self.held.gone; // asked about the end of the course, or an hour beyond it
        }
        (0..HEADS)
            .map(|h| Fate {
                weight: 1.0,
                flagging: self.flagging[h],
                wilted: self.wilted[h],
                cause: self.cause[h],
                empty: self.empty[h],
                loss: self.heads.curve.loss(self.asked[h] * self.heads.flagging_clock[h]),
            })
            .collect()
    }
}

/// The share of a step after which a quantity that goes from `a` to `b` reaches `limit`.
pub(super) fn crossing(a: f64, b: f64, limit: f64) -> f64 {
    if b > a { ((limit - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 }
}
