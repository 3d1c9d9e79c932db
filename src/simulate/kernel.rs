//! The life of the heads of one lot along one course, step by step: the plain route, which goes through anything.
//!
//! [`super::search`] finds the same fates faster and answers every question; this one says what they are, and tests hold
//! the two together.

use super::journey::{Grid, Step, Supply};
use super::outcome::{Cause, HeadOutcome, NEVER, crossing};
use crate::flower::population::{HEADS, Heads};
use crate::numerics::dispatch::widest;

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

/// Steps that heads go through before it is noted which have come to something.
const STRIDE: usize = 4;

/// The heads of a lot on their way.
///
/// # Formula
/// In hours of the reference air, a head out of water goes `du = D dt`, `D` the drying drive. In water its stem refills
/// the deficit: `du = D dt - S u dt`, solved exactly over a step. What evaporates is what the store loses plus what the
/// tube gives, to rounding. First to happen of: `r u = 1` (flagging), `r` the head's rate, age, heat.
///
/// As long as nothing is done to the heads, steps are arithmetic alone, the same for all: each drinks what it wants or
/// what there is, which is all it wants in a vase and nothing out of water. Noted is only in which stride a head came to
/// something; afterwards that stride is gone through once more, for that head alone. Ages are sums that all heads have
/// in common, in water and out of it, and what sets a head apart from them.
#[derive(Debug, Clone)]
pub struct State<'a> {
    heads: &'a Heads,
    grid: Grid,
    start: Start,
    /// Usable water in a full tube, g.
    tube: f64,
    /// And in each head's as it stands by, in hours of the reference air.
    tubes: [f64; HEADS],
    now: usize,
    supply: Supply,
    held: Held,
    drinks: [bool; HEADS],
    /// What all heads have in common.
    sums: Sums,
    /// How much older a head is than if it had always been as it is now, in water or out of it.
    older: [f64; HEADS],
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    empty: [f64; HEADS],
    cause: [Cause; HEADS],
    asked: [f64; HEADS],
    next_flagging: [f64; HEADS],
    next_wilting: [f64; HEADS],
    next_age: [f64; HEADS],
    next_heat: [f64; HEADS],
}

/// How heads stand at the beginning of a step, in hours of the reference air.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
struct Held {
    /// How much they have dried.
    gone: [f64; HEADS],
    /// What they have to drink: the rest of a tube, no end of it in a vase, nothing out of water.
    water: [f64; HEADS],
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
    fn age(&self, drinks: bool) -> f64 {
        if drinks { self.wet } else { self.dry }
    }
}

/// What a head would drink in a step.
#[inline(always)]
fn thirst(step: &Step, gone: f64) -> f64 {
    gone.mul_add(step.back, step.spared)
}

/// How far a head has gone, and what it has left to drink, after a step.
#[inline(always)]
fn on(step: &Step, (gone, water): (f64, f64)) -> (f64, f64) {
    let thirst = thirst(step, gone);
    let drunk = if thirst < water { thirst } else { water };
    (gone + step.pull.drying - drunk, water - drunk)
}

/// Whether nothing is done in a step to heads that stand in some supply of water.
#[inline(always)]
fn idle(step: &Step, supply: Supply) -> bool {
    (step.supply == supply) & !step.refill
}

/// Whether nothing is done in a whole stride: all its steps are asked, for that takes no guess.
#[inline(always)]
fn all_idle(steps: &[Step; STRIDE], supply: Supply) -> bool {
    let mut so = true;
    for step in steps {
        so &= idle(step, supply);
    }
    so
}

/// Steps in which, as far as they are gone through, nothing is done to the heads.
struct Stretch<'s> {
    strides: &'s [[Step; STRIDE]],
    /// How the heads stood before each stride.
    held: &'s mut Vec<Held>,
    /// What all have in common before each step, and after the last.
    sums: &'s mut Vec<Sums>,
}

impl Stretch<'_> {
    /// The step at whose end something is first so of a head, of a stride in which it comes to be.
    #[inline(always)]
    fn first(&self, h: usize, stride: f64, so: impl Fn((f64, f64)) -> bool) -> Met<'_> {
        let stride = stride as usize;
        let (steps, held) = (&self.strides[stride], &self.held[stride]);
        let mut stood = [(held.gone[h], held.water[h]); STRIDE + 1];
        // All steps are gone through before one is looked for: that takes no guess of which.
        let mut which = 0u32;
        for n in 0..STRIDE {
            stood[n + 1] = on(&steps[n], stood[n]);
            which |= u32::from(so(stood[n + 1])) << n;
        }
        let n = which.trailing_zeros() as usize;
        Met { number: STRIDE * stride + n, step: &steps[n], before: stood[n], after: stood[n + 1] }
    }
}

/// A step in which a head came to something: its number in the stretch, and how the head stood before it and after it.
struct Met<'s> {
    number: usize,
    step: &'s Step,
    before: (f64, f64),
    after: (f64, f64),
}

/// How many strides each head goes through before it has no more water, flags and wilts. All are doubles, so that they
/// can be counted side by side with what they are counted of.
struct Until {
    drinking: [f64; HEADS],
    fresh: [f64; HEADS],
    upright: [f64; HEADS],
}

impl<'a> State<'a> {
    /// The heads as their course begins, full of water.
    pub fn new(heads: &'a Heads, grid: &Grid, start: &Start) -> Self {
        State {
            heads,
            grid: *grid,
            start: *start,
            tube: 0.0,
            tubes: [0.0; HEADS],
            now: start.at,
            supply: Supply::Dry,
            held: Held { gone: [0.0; HEADS], water: [0.0; HEADS] },
            drinks: [false; HEADS],
            sums: Sums::default(),
            older: [0.0; HEADS],
            flagging: [NEVER; HEADS],
            wilted: [NEVER; HEADS],
            empty: [NEVER; HEADS],
            cause: [Cause::Drying; HEADS],
            asked: [f64::NAN; HEADS],
            next_flagging: heads.rate.map(|rate| 1.0 / rate),
            next_wilting: std::array::from_fn(|h| heads.wilted_at[h] / heads.rate[h]),
            next_age: heads.life_days,
            next_heat: heads.heat_limit,
        }
    }

    /// The heads when they have gone a share of their way to flagging.
    pub fn begun(mut self, share: f64) -> Self {
        self.held.gone = self.heads.rate.map(|rate| share / rate);
        self
    }

    /// Gives every head a tube with that much usable water, g.
    pub fn fill_tubes(&mut self, water: f64) {
        self.tube = water;
        *self.in_tubes() = self.full();
    }

    /// What full tubes hold, in hours of the reference air.
    fn full(&self) -> [f64; HEADS] {
        std::array::from_fn(|h| self.tube / self.hourly(h))
    }

    /// Share of the way to flagging that each head has gone.
    pub fn gone(&self) -> [f64; HEADS] {
        std::array::from_fn(|h| self.held.gone[h] * self.heads.rate[h])
    }

    /// Water left in the tubes, g.
    pub fn water(&self) -> [f64; HEADS] {
        let tubes = if self.supply == Supply::Tube { &self.held.water } else { &self.tubes };
        // As a share of a full one, so that a full one holds what was put in, to the bit.
        let full = self.full();
        std::array::from_fn(|h| if full[h] > 0.0 { self.tube * (tubes[h] / full[h]) } else { 0.0 })
    }

    /// What is left in the tubes, whether heads stand in them or not.
    fn in_tubes(&mut self) -> &mut [f64; HEADS] {
        if self.supply == Supply::Tube { &mut self.held.water } else { &mut self.tubes }
    }

    /// What a head loses in an hour of the reference air, g.
    fn hourly(&self, h: usize) -> f64 {
        self.heads.rate[h] * self.heads.flagging_clock[h] * self.heads.mass[h]
    }

    /// Goes through some steps, whatever they bring.
    pub fn advance(&mut self, mut steps: &[Step]) {
        let mut held = Vec::with_capacity(steps.len().div_ceil(STRIDE));
        let mut sums = Vec::with_capacity(steps.len() + STRIDE);
        while let [first, ..] = steps {
            if self.now == self.start.ask {
                self.asked = self.held.gone;
            }
            if first.supply != self.supply || first.refill {
                self.supplied(first);
            }
            // Until they are asked about.
            let most = if self.now < self.start.ask { self.start.ask - self.now } else { steps.len() };
            let within = &steps[..most.min(steps.len())];
            // A stride in which something is done later is gone through in part, and so is the last.
            let mut short = [Step { supply: self.supply, ..Step::NOTHING }; STRIDE];
            let (strides, few) = match within.as_chunks() {
                (strides @ [first, ..], _) if all_idle(first, self.supply) => (strides, None),
                _ => {
                    let more = within[1..].iter().take(STRIDE - 1);
                    let few = 1 + more.take_while(|step| idle(step, self.supply)).count();
                    for (to, step) in short.iter_mut().zip(&within[..few]) {
                        *to = Step { refill: false, ..*step };
                    }
                    (std::slice::from_ref(&short), Some(few))
                }
            };
            held.clear();
            sums.clear();
            let mut stretch = Stretch { strides, held: &mut held, sums: &mut sums };
            widest(
                #[inline(always)]
                || {
                    let until = self.goes(&mut stretch);
                    self.comes_to(&until, &stretch);
                },
            );
            let now = few.unwrap_or(STRIDE * held.len());
            self.now += now;
            steps = &steps[now..];
        }
    }

    /// Goes through strides as long as nothing is done to the heads.
    #[inline(always)]
    fn goes(&mut self, stretch: &mut Stretch) -> Until {
        let [mut drinking, mut fresh, mut upright] = [[0.0; HEADS]; 3];
        let mut highest = [0.0; HEADS];
        let (next_flagging, next_wilting) = (self.next_flagging, self.next_wilting);
        let mut sums = self.sums;
        let Held { mut gone, mut water } = self.held;
        stretch.sums.push(sums);
        // Looked for on the way: steps are many, and each is fetched but once.
        for steps in stretch.strides.iter().take_while(|steps| all_idle(steps, self.supply)) {
            stretch.sums.extend(steps.iter().map(|Step { pull, .. }| {
                sums.wet += pull.age_wet;
                sums.dry += pull.age_dry;
                sums.heat += pull.heat;
                sums
            }));
            stretch.held.push(Held { gone, water });
            for step in steps {
                for h in 0..HEADS {
                    (gone[h], water[h]) = on(step, (gone[h], water[h]));
                    highest[h] = if gone[h] > highest[h] { gone[h] } else { highest[h] };
                }
            }
            for h in 0..HEADS {
                drinking[h] += if water[h] > 0.0 { 1.0 } else { 0.0 };
                fresh[h] += if highest[h] < next_flagging[h] { 1.0 } else { 0.0 };
                upright[h] += if highest[h] < next_wilting[h] { 1.0 } else { 0.0 };
            }
        }
        self.held = Held { gone, water };
        self.sums = sums;
        Until { drinking, fresh, upright }
    }

    /// What the heads came to on their way through a stretch.
    #[inline(always)]
    fn comes_to(&mut self, until: &Until, stretch: &Stretch) {
        let all = stretch.held.len() as f64;
        let end = self.sums;
        for h in 0..HEADS {
            if self.drinks[h] && until.drinking[h] < all {
                self.runs_out(h, until.drinking[h], stretch);
            }
            if until.fresh[h] < all {
                self.flags(h, until.fresh[h], stretch);
            }
            if until.upright[h] < all {
                self.wilts(h, until.upright[h], stretch);
            }
            let (older, drinks) = (self.older[h], self.drinks[h]);
            if older + end.age(drinks) >= self.next_age[h] {
                self.ages(h, self.reaches(stretch.sums, |s| older + s.age(drinks), self.next_age[h]));
            }
            if end.heat >= self.next_heat[h] {
                let at = self.reaches(stretch.sums, |s| s.heat, self.next_heat[h]);
                self.next_heat[h] = NEVER;
                self.ends(h, at, Cause::Heat);
            }
        }
    }

    /// A head drinks the last of its tube, and is out of water.
    #[inline(always)]
    fn runs_out(&mut self, h: usize, stride: f64, stretch: &Stretch) {
        let Met { number, step, before: (gone, water), .. } =
            stretch.first(h, stride, |(_, water)| water <= 0.0);
        let thirst = thirst(step, gone);
        // The share of the step in which the stem drinks, until its water is gone.
        let share = if thirst > water { water / thirst } else { 1.0 };
        let older = self.older[h];
        let age = |sums: &Sums| older + sums.wet;
        let before = age(&stretch.sums[number]);
        let after = before + step.pull.age_dry + share * (step.pull.age_wet - step.pull.age_dry);
        let life = self.next_age[h];
        if after >= life {
            let at = match before >= life {
                true => self.reaches(stretch.sums, age, life),
                false => (self.now + number) as f64 + crossing(before, after, life),
            };
            self.ages(h, at);
        }
        self.drinks[h] = false;
        self.older[h] = after - stretch.sums[number + 1].dry;
        self.empty[h] = self.empty[h].min(self.grid.hour((self.now + number) as f64 + share));
    }

    /// A head dries so far that it flags.
    #[inline(always)]
    fn flags(&mut self, h: usize, stride: f64, stretch: &Stretch) {
        let (at, step) = self.dries(h, stride, stretch, self.next_flagging[h]);
        self.next_flagging[h] = NEVER;
        if at < self.flagging[h] {
            let supplied = self.supply != Supply::Dry && step >= self.start.placed;
            self.flagging[h] = at;
            self.cause[h] = if supplied { Cause::Supply } else { Cause::Drying };
        }
    }

    /// A head dries so far that it wilts.
    #[inline(always)]
    fn wilts(&mut self, h: usize, stride: f64, stretch: &Stretch) {
        let (at, _) = self.dries(h, stride, stretch, self.next_wilting[h]);
        self.next_wilting[h] = NEVER;
        self.wilted[h] = self.wilted[h].min(at);
    }

    /// The hour at which a head comes to a stage of drying, and the step.
    #[inline(always)]
    fn dries(&self, h: usize, stride: f64, stretch: &Stretch, stage: f64) -> (f64, usize) {
        let Met { number, before, after, .. } = stretch.first(h, stride, |(gone, _)| gone >= stage);
        let step = self.now + number;
        (self.grid.hour(step as f64 + crossing(before.0, after.0, stage)), step)
    }

    /// A head comes to the end of its life.
    fn ages(&mut self, h: usize, step: f64) {
        self.next_age[h] = NEVER;
        self.ends(h, step, Cause::Ageing);
    }

    /// When a sum reaches a limit that is beyond its first value and not beyond its last, in steps.
    fn reaches(&self, sums: &[Sums], sum: impl Fn(&Sums) -> f64, limit: f64) -> f64 {
        let within = &sums[1..sums.len() - 1];
        let n = within.partition_point(|sums| sum(sums) < limit);
        (self.now + n) as f64 + crossing(sum(&sums[n]), sum(&sums[n + 1]), limit)
    }

    /// A head ends for a reason other than drying, unless drying was first.
    fn ends(&mut self, h: usize, step: f64, cause: Cause) {
        let at = self.grid.hour(step);
        if at < self.flagging[h] {
            (self.flagging[h], self.cause[h]) = (at, cause);
        }
        self.wilted[h] = self.wilted[h].min(at);
    }

    /// Puts all heads into other water, or out of it.
    #[cold]
    #[inline(never)]
    fn supplied(&mut self, step: &Step) {
        let tubes = *self.in_tubes();
        self.tubes = if step.refill { self.full() } else { tubes };
        self.supply = step.supply;
        self.held.water = match step.supply {
            Supply::Dry => [0.0; HEADS],
            Supply::Ample => [f64::INFINITY; HEADS],
            Supply::Tube => self.tubes,
        };
        for h in 0..HEADS {
            let age = self.older[h] + self.sums.age(self.drinks[h]);
            // A tube without water is found out as its head drinks from it.
            self.drinks[h] = step.supply != Supply::Dry;
            self.older[h] = age - self.sums.age(self.drinks[h]);
        }
    }

    /// When the heads stopped being presentable, h; infinite where they have not yet.
    pub fn flagged(&self) -> [f64; HEADS] {
        self.flagging
    }

    /// What became of the heads.
    pub fn outcomes(mut self) -> Vec<HeadOutcome> {
        if self.asked[0].is_nan() {
            self.asked = self.held.gone; // asked about the end of the course, or an hour beyond it
        }
        let Heads { rate, flagging_clock, curve, .. } = self.heads;
        (0..HEADS)
            .map(|h| HeadOutcome {
                weight: 1.0,
                flagging: self.flagging[h],
                wilted: self.wilted[h],
                cause: self.cause[h],
                empty: self.empty[h],
                loss: curve.loss(self.asked[h] * rate[h] * flagging_clock[h]),
            })
            .collect()
    }
}
