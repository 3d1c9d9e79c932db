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
#[derive(Debug, Clone)]
pub struct State<'a> {
    heads: &'a Heads,
    grid: Grid,
    start: Start,
    /// Usable water in a full tube, g.
    tube: f64,
    now: usize,
    /// Way gone to flagging.
    pub gone: [f64; HEADS],
    age: [f64; HEADS],
    heat: f64,
    /// Water left in the tubes, g.
    pub water: [f64; HEADS],
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    empty: [f64; HEADS],
    cause: [Cause; HEADS],
    asked: [f64; HEADS],
    next_stage: [f64; HEADS],
    next_age: [f64; HEADS],
    next_heat: f64,
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
            gone: [0.0; HEADS],
            age: [0.0; HEADS],
            heat: 0.0,
            water: [0.0; HEADS],
            flagging: [NEVER; HEADS],
            wilted: [NEVER; HEADS],
            empty: [NEVER; HEADS],
            cause: [Cause::Drying; HEADS],
            asked: [f64::NAN; HEADS],
            next_stage: [1.0; HEADS],
            next_age: heads.life_days,
            next_heat: heads.heat_limit.iter().copied().fold(NEVER, f64::min),
        }
    }

    /// Gives every head a tube with that much usable water, g.
    pub fn fill_tubes(&mut self, water: f64) {
        self.tube = water;
        self.water = [water; HEADS];
    }

    /// Goes through some steps, whatever they bring.
    pub fn advance(&mut self, steps: &[Step]) {
        widest(
            #[inline(always)]
            || {
                for step in steps {
                    self.note();
                    self.step(step);
                    self.now += 1;
                }
            },
        );
    }

    /// Remembers the state at the hour asked about.
    fn note(&mut self) {
        if self.now == self.start.ask {
            self.asked = self.gone;
        }
    }

    #[inline(always)]
    fn step(&mut self, step: &Step) {
        // Copies, which nothing else can point into: so the loops below can be done several heads at a time.
        let Heads { rate, flagging_clock, mass, .. } = self.heads;
        let (mut gone, mut age) = (self.gone, self.age);
        match step.supply {
            Supply::Dry => {
                for h in 0..HEADS {
                    gone[h] += rate[h] * step.pull.drying;
                    age[h] += step.pull.age_dry;
                }
            }
            Supply::Ample => {
                for h in 0..HEADS {
                    gone[h] = gone[h] * step.decay + rate[h] * step.pull.drying * step.gain;
                    age[h] += step.pull.age_wet;
                }
            }
            Supply::Tube => {
                let mut water = if step.refill { [self.tube; HEADS] } else { self.water };
                let mut share = [1.0; HEADS];
                for h in 0..HEADS {
                    let dry = gone[h] + rate[h] * step.pull.drying;
                    let wet = gone[h] * step.decay + rate[h] * step.pull.drying * step.gain;
                    // The share of the step in which the stem drinks, until its water is gone.
                    let drunk = (dry - wet) * flagging_clock[h] * mass[h];
                    share[h] = if drunk > water[h] { water[h] / drunk } else { 1.0 };
                    water[h] = (water[h] - share[h] * drunk).max(0.0);
                    gone[h] = dry + share[h] * (wet - dry);
                    age[h] += step.pull.age_dry + share[h] * (step.pull.age_wet - step.pull.age_dry);
                }
                self.water = water;
                // Apart, so that the loop above is arithmetic alone.
                let mut ran_out = false;
                for (share, empty) in share.iter().zip(&self.empty) {
                    ran_out |= (*share < 1.0) & (*empty == NEVER);
                }
                if ran_out {
                    self.run_out(&share);
                }
            }
        }
        let heat = self.heat + step.pull.heat;
        let mut something = heat >= self.next_heat;
        for h in 0..HEADS {
            something |= (gone[h] >= self.next_stage[h]) | (age[h] >= self.next_age[h]);
        }
        if something {
            self.record(step, &gone, &age, heat);
        }
        (self.gone, self.age, self.heat) = (gone, age, heat);
    }

    /// Remembers when tubes ran empty, by the share of the step in which their heads drank.
    #[cold]
    #[inline(never)]
    fn run_out(&mut self, share: &[f64; HEADS]) {
        for (h, share) in share.iter().enumerate() {
            if *share < 1.0 && self.empty[h] == NEVER {
                self.empty[h] = self.grid.hour(self.now as f64 + share);
            }
        }
    }

    /// Remembers who crossed which limit in a step: seldom, and kept out of the loop.
    #[cold]
    #[inline(never)]
    fn record(&mut self, step: &Step, gone: &[f64; HEADS], age: &[f64; HEADS], heat: f64) {
        let supplied = step.supply != Supply::Dry && self.now >= self.start.placed;
        let (grid, now) = (self.grid, self.now as f64);
        let hour = |a: f64, b: f64, limit: f64| grid.hour(now + crossing(a, b, limit));
        for h in 0..HEADS {
            let (life, bears, limp) =
                (self.heads.life_days[h], self.heads.heat_limit[h], self.heads.wilted_at[h]);
            if gone[h] >= 1.0 && self.flagging[h] == NEVER {
                self.flagging[h] = hour(self.gone[h], gone[h], 1.0);
                self.cause[h] = if supplied { Cause::Supply } else { Cause::Drying };
            }
            if gone[h] >= limp && self.wilted[h] == NEVER {
                self.wilted[h] = hour(self.gone[h], gone[h], limp);
            }
            if age[h] >= self.next_age[h] {
                let at = hour(self.age[h], age[h], life);
                self.ends(h, at, Cause::Ageing);
                self.next_age[h] = NEVER;
            }
            if heat >= bears && self.heat < bears {
                let at = hour(self.heat, heat, bears);
                self.ends(h, at, Cause::Heat);
            }
            self.next_stage[h] = match (self.flagging[h] == NEVER, self.wilted[h] == NEVER) {
                (true, _) => 1.0,
                (false, true) => limp,
                (false, false) => NEVER,
            };
        }
        self.next_heat = self.heads.heat_limit.iter().copied().filter(|l| *l > heat).fold(NEVER, f64::min);
    }

    /// A head ends for a reason other than drying, unless drying was first.
    fn ends(&mut self, h: usize, at: f64, cause: Cause) {
        if at < self.flagging[h] {
            (self.flagging[h], self.cause[h]) = (at, cause);
        }
        self.wilted[h] = self.wilted[h].min(at);
    }

    /// When the heads stopped being presentable, h; infinite where they have not yet.
    pub fn flagged(&self) -> [f64; HEADS] {
        self.flagging
    }

    /// What became of the heads.
    pub fn fates(mut self) -> Vec<Fate> {
        self.note();
        if self.asked[0].is_nan() {
            self.asked = self.gone; // asked about an hour beyond the course
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
