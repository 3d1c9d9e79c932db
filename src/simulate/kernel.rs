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

/// Steps that heads go through side by side before it is looked at whether anything happened to one.
const STRIDE: usize = 8;

/// The heads of a lot on their way.
///
/// # Formula
/// In units of its way to flagging, a head out of water goes `dv = r D dt`, `r` its rate and `D` the drying drive. In
/// water its stem refills the deficit: `dv = r D dt - S v dt`, solved exactly over a step. What evaporates is what
/// the store loses plus what the tube gives, to rounding. First to happen of: `v = 1` (flagging), age, heat.
///
/// A few steps at a time are arithmetic alone, the same for all heads, whether they drink or not. Afterwards a head to
/// which something happened is looked at by itself, step by step. Ages are sums that all heads have in common, in water
/// and out of it, and what sets a head apart from them.
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
    /// What all heads have in common.
    sums: Sums,
    /// How much older a head is than if it had always been as it is now, in water or out of it.
    older: [f64; HEADS],
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    empty: [f64; HEADS],
    cause: [Cause; HEADS],
    asked: [f64; HEADS],
    next_stage: [f64; HEADS],
    next_age: [f64; HEADS],
    next_heat: [f64; HEADS],
}

/// What heads have lost, and their tubes still hold, at the beginning of a step.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
pub struct Held {
    /// Way gone to flagging.
    pub gone: [f64; HEADS],
    /// Water left in the tubes, g.
    pub water: [f64; HEADS],
}

/// What runs on for all heads alike.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    /// How old heads would be, had they always been in water, in days at 20 C.
    wet: f64,
    /// And always out of it.
    dry: f64,
    /// The dose of heat.
    heat: f64,
}

impl Sums {
    #[inline(always)]
    fn age(&self, drinks: f64) -> f64 {
        if drinks > 0.0 { self.wet } else { self.dry }
    }
}

/// What a step does to the way of all heads.
#[derive(Debug, Clone, Copy, Default)]
struct Terms {
    drying: f64,
    /// The share of its deficit that a head drinks, and what it drinks of the step's drying.
    back: f64,
    spared: f64,
}

impl Terms {
    #[inline(always)]
    fn of(step: &Step) -> Terms {
        let drying = step.pull.drying;
        Terms { drying, back: 1.0 - step.decay, spared: drying - drying * step.gain }
    }

    /// Where a head comes to out of water, and what it drinks if it can.
    #[inline(always)]
    fn on(&self, gone: f64, rate: f64) -> (f64, f64) {
        (rate.mul_add(self.drying, gone), gone.mul_add(self.back, rate * self.spared))
    }
}

/// A few steps: what they bring, and how all stood before and after each.
struct Stride {
    terms: [Terms; STRIDE],
    sums: [Sums; STRIDE + 1],
    held: [Held; STRIDE + 1],
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
            sums: Sums::default(),
            older: [0.0; HEADS],
            flagging: [NEVER; HEADS],
            wilted: [NEVER; HEADS],
            empty: [NEVER; HEADS],
            cause: [Cause::Drying; HEADS],
            asked: [f64::NAN; HEADS],
            next_stage: [1.0; HEADS],
            next_age: heads.life_days,
            next_heat: heads.heat_limit,
        }
    }

    /// Gives every head a tube with that much usable water, g.
    pub fn fill_tubes(&mut self, water: f64) {
        self.tube = water;
        self.held.water = [water; HEADS];
    }

    /// Goes through some steps, whatever they bring.
    pub fn advance(&mut self, mut steps: &[Step]) {
        widest(
            #[inline(always)]
            || {
                let mut stride = Stride {
                    terms: [Terms::default(); STRIDE],
                    sums: [self.sums; STRIDE + 1],
                    held: [self.held; STRIDE + 1],
                };
                while let [first, rest @ ..] = steps {
                    if self.now == self.start.ask {
                        self.asked = self.held.gone;
                    }
                    if first.supply != self.supply || first.refill {
                        self.supplied(first);
                    }
                    // Before anything else is done to them, or asked.
                    let most = if self.now < self.start.ask { self.start.ask - self.now } else { STRIDE };
                    let alike = |step: &&Step| step.supply == self.supply && !step.refill;
                    let more = rest.iter().take(most.min(STRIDE) - 1).take_while(alike).count();
                    let now;
                    (now, steps) = steps.split_at(1 + more);
                    self.stride(now, &mut stride);
                }
            },
        );
    }

    /// Goes through a few steps in which nothing is done to the heads.
    #[inline(always)]
    fn stride(&mut self, steps: &[Step], stride: &mut Stride) {
        let len = steps.len();
        for (n, step) in steps.iter().enumerate() {
            let (Sums { wet, dry, heat }, pull) = (stride.sums[n], &step.pull);
            stride.sums[n + 1] =
                Sums { wet: wet + pull.age_wet, dry: dry + pull.age_dry, heat: heat + pull.heat };
            stride.terms[n] = Terms::of(step);
        }
        let State { heads: Heads { rate, .. }, drinks, draws, .. } = &*self;
        let Held { mut gone, mut water } = self.held;
        let mut highest = [0.0; HEADS];
        stride.held[0] = self.held;
        for (n, terms) in stride.terms[..len].iter().enumerate() {
            for h in 0..HEADS {
                let (dry, drunk) = terms.on(gone[h], rate[h]);
                water[h] = (-drunk).mul_add(draws[h], water[h]);
                gone[h] = (-drunk).mul_add(drinks[h], dry);
                highest[h] = if gone[h] > highest[h] { gone[h] } else { highest[h] };
            }
            stride.held[n + 1] = Held { gone, water };
        }
        let end = stride.sums[len];
        let mut which = 0u32;
        for h in 0..HEADS {
            let met = (water[h] < 0.0)
                | (highest[h] >= self.next_stage[h])
                | (self.older[h] + end.age(drinks[h]) >= self.next_age[h])
                | (end.heat >= self.next_heat[h]);
            which |= u32::from(met) << h;
        }
        self.held = Held { gone, water };
        while which != 0 {
            self.meets(which.trailing_zeros() as usize, steps, stride);
            which &= which - 1;
        }
        (self.sums, stride.sums[0]) = (end, end);
        self.now += len;
    }

    /// What happened to a head within a stride.
    #[inline(always)]
    fn meets(&mut self, h: usize, steps: &[Step], stride: &mut Stride) {
        let len = steps.len();
        let (older, drinks) = (self.older[h], self.drinks[h]);
        let mut ran_out = len;
        if self.held.water[h] < 0.0 {
            ran_out = first(len, |n| stride.held[n].water[h] < 0.0);
            self.runs_out(h, ran_out, steps, stride);
        }
        let Stride { sums, held, .. } = &*stride;
        for n in 0..len {
            if held[n + 1].gone[h] >= self.next_stage[h] {
                self.dries(h, self.now + n, (held[n].gone[h], held[n + 1].gone[h]));
            }
        }
        if self.older[h] + sums[len].age(self.drinks[h]) >= self.next_age[h] {
            let (since, dry) = (self.older[h], self.drinks[h]);
            let age = |n: usize| match n > ran_out {
                true => since + sums[n].age(dry),
                false => older + sums[n].age(drinks),
            };
            let n = first(len, |n| age(n) >= self.next_age[h]);
            let at = (self.now + n) as f64 + crossing(age(n), age(n + 1), self.next_age[h]);
            self.next_age[h] = NEVER;
            self.ends(h, at, Cause::Ageing);
        }
        if sums[len].heat >= self.next_heat[h] {
            let n = first(len, |n| sums[n].heat >= self.next_heat[h]);
            let at = (self.now + n) as f64 + crossing(sums[n].heat, sums[n + 1].heat, self.next_heat[h]);
            self.next_heat[h] = NEVER;
            self.ends(h, at, Cause::Heat);
        }
    }

    /// A head drinks the last of its tube in a step of a stride, and goes on without.
    #[inline(always)]
    fn runs_out(&mut self, h: usize, n: usize, steps: &[Step], stride: &mut Stride) {
        let Stride { terms, sums, held } = stride;
        let rate = self.heads.rate[h];
        let (dry, drunk) = terms[n].on(held[n].gone[h], rate);
        // The share of the step in which the stem drinks, until its water is gone.
        let share = held[n].water[h] / (drunk * self.draws[h]);
        let pull = &steps[n].pull;
        let age = self.older[h]
            + sums[n].age(self.drinks[h])
            + pull.age_dry
            + share * (pull.age_wet - pull.age_dry);
        (self.drinks[h], self.draws[h]) = (0.0, 0.0);
        self.older[h] = age - sums[n + 1].dry;
        if self.empty[h] == NEVER {
            self.empty[h] = self.grid.hour((self.now + n) as f64 + share);
        }
        held[n + 1].gone[h] = (-drunk).mul_add(share, dry);
        for n in n + 1..steps.len() {
            held[n + 1].gone[h] = terms[n].on(held[n].gone[h], rate).0;
        }
        (self.held.gone[h], self.held.water[h]) = (held[steps.len()].gone[h], 0.0);
    }

    /// Puts all heads into other water, or out of it.
    #[cold]
    #[inline(never)]
    fn supplied(&mut self, step: &Step) {
        self.supply = step.supply;
        if step.refill {
            self.held.water = [self.tube; HEADS];
        }
        for h in 0..HEADS {
            let age = self.older[h] + self.sums.age(self.drinks[h]);
            // A tube without water is found out as its head drinks from it.
            self.drinks[h] = if step.supply == Supply::Dry { 0.0 } else { 1.0 };
            self.draws[h] = match step.supply {
                Supply::Tube => self.heads.flagging_clock[h] * self.heads.mass[h],
                Supply::Dry | Supply::Ample => 0.0,
            };
            self.older[h] = age - self.sums.age(self.drinks[h]);
        }
    }

    /// A head dries to its next stage in a step, or through both.
    #[inline(always)]
    fn dries(&mut self, h: usize, step: usize, (gone, next): (f64, f64)) {
        let hour = |limit: f64| self.grid.hour(step as f64 + crossing(gone, next, limit));
        let limp = self.heads.wilted_at[h];
        if next >= 1.0 && self.flagging[h] == NEVER {
            let supplied = self.supply != Supply::Dry && step >= self.start.placed;
            self.flagging[h] = hour(1.0);
            self.cause[h] = if supplied { Cause::Supply } else { Cause::Drying };
        }
        if next >= limp && self.wilted[h] == NEVER {
            self.wilted[h] = hour(limp);
        }
        self.next_stage[h] = if self.wilted[h] == NEVER { limp } else { NEVER };
    }

    /// A head ends for a reason other than drying, unless drying was first.
    fn ends(&mut self, h: usize, step: f64, cause: Cause) {
        let at = self.grid.hour(step);
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

/// The step of a stride at whose end something is so for the first time, if it is at the stride's.
fn first(len: usize, so: impl Fn(usize) -> bool) -> usize {
    (0..len - 1).find(|n| so(n + 1)).unwrap_or(len - 1)
}
