//! The reference integrator: the heads of one lot, one time step after another, through any sequence of steps.
//!
//! [`super::search`] computes the same outcomes faster and is what plans use. This one defines them, and tests compare the
//! two.

use super::journey::{Grid, Step, Supply};
use super::outcome::{Cause, HeadOutcome, NEVER, crossing};
use crate::flower::population::{HEADS, Heads};
use crate::numerics::dispatch::widest;

/// The steps of the grid at which something begins or is asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Schedule {
    /// The step at which the simulation starts.
    pub start: usize,
    /// The step at which the heads are placed.
    pub placed: usize,
    /// The step at whose beginning the loss of fresh mass is wanted.
    pub ask: usize,
}

/// Steps between two checks of which heads have reached a limit.
const STRIDE: usize = 4;

/// The drying state of the heads of one lot at one step.
///
/// # Formula
/// The water deficit `u` of a head is measured in hours of the reference air. Out of water `du/dt = D`, where `D` is the
/// drying forcing. In water the stem refills the deficit: `du/dt = D - S u`, solved exactly over a step. Mass is conserved
/// to rounding: what evaporates is what the head loses plus what the tube gives. A head stops being presentable when the
/// first of three limits is reached: `r u = 1` (flagging, with `r` the head's rate), its age, or its dose of heat.
///
/// While the supply of water does not change, every step is the same few operations for all heads: each takes up what it
/// demands or what there is, which is all of it in a vase and nothing out of water. Only the stride in which a head reaches
/// a limit is kept; that stride is then repeated for this head alone, to find the step. The age of a
/// head is a sum that all heads share.
#[derive(Debug, Clone)]
pub struct DryingState<'a> {
    heads: &'a Heads,
    grid: Grid,
    schedule: Schedule,
    /// Usable water in a full tube, or a head's share of that in a vessel, g.
    tube: f64,
    /// Whether the heads drink of one vessel rather than of tubes.
    share_water: bool,
    /// Water in each head's tube while the head does not stand in it, h of the reference air.
    tubes: [f64; HEADS],
    now: usize,
    supply: Supply,
    levels: Levels,
    drinks: [bool; HEADS],
    /// The sums that all heads share.
    clocks: SharedClocks,
    flagging: [f64; HEADS],
    wilted: [f64; HEADS],
    past_use: [f64; HEADS],
    empty: [f64; HEADS],
    cause: [Cause; HEADS],
    deficit_at_ask: [f64; HEADS],
    /// What heads lack from the start, until they leave their last bucket, h of the reference air.
    start_deficit: f64,
    next_flagging: [f64; HEADS],
    next_wilting: [f64; HEADS],
    next_past_use: [f64; HEADS],
    next_age: [f64; HEADS],
    next_heat: [f64; HEADS],
}

/// Deficit and water of all heads at the beginning of a step, both in h of the reference air.
#[derive(Debug, Clone, Copy)]
#[repr(align(64))]
struct Levels {
    /// Water deficit of each head.
    deficit: [f64; HEADS],
    /// Water left to drink: what is in the tube, infinite in a vase, zero out of water.
    water: [f64; HEADS],
}

/// Running sums that are the same for all heads of a lot.
#[derive(Debug, Clone, Copy, Default)]
struct SharedClocks {
    /// Age, d at 20 C.
    age: f64,
    /// Dose of heat injury.
    heat: f64,
}

/// What a head takes up in a step if there is enough water, h of the reference air.
#[inline(always)]
fn uptake(step: &Step, deficit: f64) -> f64 {
    deficit.mul_add(step.recovery, step.covered)
}

/// Deficit and water of a head after a step.
#[inline(always)]
fn after_step(step: &Step, (deficit, water): (f64, f64)) -> (f64, f64) {
    let uptake = uptake(step, deficit);
    let drunk = if uptake < water { uptake } else { water };
    (deficit + step.forcing.drying - drunk, water - drunk)
}

/// Whether a step leaves heads in this supply of water, and their tubes unfilled.
#[inline(always)]
fn undisturbed(step: &Step, supply: Supply) -> bool {
    (step.supply == supply) & !step.refill
}

/// [`undisturbed`] for a whole stride. All steps are checked, since an early exit would be a branch to predict.
#[inline(always)]
fn all_undisturbed(steps: &[Step; STRIDE], supply: Supply) -> bool {
    let mut holds = true;
    for step in steps {
        holds &= undisturbed(step, supply);
    }
    holds
}

/// A run of steps with an unchanged supply of water.
struct Interval<'s> {
    strides: &'s [[Step; STRIDE]],
    /// Levels before each stride.
    levels: &'s mut Vec<Levels>,
    /// Shared clocks before each step, and after the last.
    clocks: &'s mut Vec<SharedClocks>,
}

impl Interval<'_> {
    /// The first step of a stride after which `holds` is true of a head's deficit and water. There must be one.
    #[inline(always)]
    fn locate(&self, h: usize, stride: f64, holds: impl Fn((f64, f64)) -> bool) -> Crossing<'_> {
        let stride = stride as usize;
        let (steps, levels) = (&self.strides[stride], &self.levels[stride]);
        let mut levels = [(levels.deficit[h], levels.water[h]); STRIDE + 1];
        // All steps are computed before one is chosen: there is no branch to predict.
        let mut which = 0u32;
        for n in 0..STRIDE {
            levels[n + 1] = after_step(&steps[n], levels[n]);
            which |= u32::from(holds(levels[n + 1])) << n;
        }
        let n = which.trailing_zeros() as usize;
        Crossing { number: STRIDE * stride + n, step: &steps[n], before: levels[n], after: levels[n + 1] }
    }
}

/// The step in which a head reaches a limit: its number in the interval, and (deficit, water) before and after it.
struct Crossing<'s> {
    number: usize,
    step: &'s Step,
    before: (f64, f64),
    after: (f64, f64),
}

/// How many strides end before each head has run out of water, flagged and wilted. They are doubles, so that they share
/// vector registers with the values that they are counted from.
struct StrideCounts {
    with_water: [f64; HEADS],
    unflagged: [f64; HEADS],
    unwilted: [f64; HEADS],
    in_use: [f64; HEADS],
}

impl<'a> DryingState<'a> {
    /// Heads without any deficit at the start of the schedule.
    pub fn new(heads: &'a Heads, grid: &Grid, schedule: &Schedule) -> Self {
        DryingState {
            heads,
            grid: *grid,
            schedule: *schedule,
            tube: 0.0,
            share_water: false,
            tubes: [0.0; HEADS],
            now: schedule.start,
            supply: Supply::Dry,
            levels: Levels { deficit: [0.0; HEADS], water: [0.0; HEADS] },
            drinks: [false; HEADS],
            clocks: SharedClocks::default(),
            flagging: [NEVER; HEADS],
            wilted: [NEVER; HEADS],
            past_use: [NEVER; HEADS],
            empty: [NEVER; HEADS],
            cause: [Cause::Drying; HEADS],
            deficit_at_ask: [f64::NAN; HEADS],
            start_deficit: 0.0,
            next_flagging: heads.rate.map(|rate| 1.0 / rate),
            next_wilting: std::array::from_fn(|h| heads.wilted_at[h] / heads.rate[h]),
            next_past_use: std::array::from_fn(|h| heads.past_use_at[h] / heads.rate[h]),
            next_age: heads.life_days,
            next_heat: heads.heat_limit,
        }
    }

    /// The same heads with a deficit of this share of the deficit at flagging.
    pub fn with_deficit(mut self, share: f64) -> Self {
        self.levels.deficit = self.heads.rate.map(|rate| share / rate);
        self
    }

    /// The same heads, which will lack this much when they leave their last bucket, h of the reference air. Until then it lies
    /// on top of their deficit and no water takes it away.
    pub fn with_start_deficit(mut self, hours: f64) -> Self {
        self.start_deficit = hours;
        self.next_flagging = self.next_flagging.map(|limit| (limit - hours).max(0.0));
        self.next_wilting = self.next_wilting.map(|limit| (limit - hours).max(0.0));
        self.next_past_use = self.next_past_use.map(|limit| (limit - hours).max(0.0));
        self
    }

    /// From now on what they lacked at the start is a deficit like any other.
    pub fn leave_the_bucket(&mut self) {
        let hours = std::mem::take(&mut self.start_deficit);
        if hours > 0.0 {
            let all = self.heads.rate.iter().zip(&self.heads.wilted_at).enumerate();
            for (h, (rate, wilted_at)) in all {
                self.levels.deficit[h] += hours;
                self.deficit_at_ask[h] += hours; // no number until it is asked
                if self.next_flagging[h] < NEVER {
                    self.next_flagging[h] = 1.0 / rate;
                }
                if self.next_wilting[h] < NEVER {
                    self.next_wilting[h] = wilted_at / rate;
                }
                if self.next_past_use[h] < NEVER {
                    self.next_past_use[h] = self.heads.past_use_at[h] / rate;
                }
            }
        }
    }

    /// Gives every head a full tube with this much usable water, g.
    pub fn fill_tubes(&mut self, water: f64) {
        self.tube = water;
        *self.tube_levels() = self.full_tubes();
    }

    /// Gives the heads a full vessel to share, with this much usable water for each of them, g.
    pub fn fill_vessel(&mut self, water: f64) {
        self.share_water = true;
        self.fill_tubes(water);
    }

    /// Water in full tubes, h of the reference air. Of a vessel every head has what all of them can drink in the same
    /// time.
    fn full_tubes(&self) -> [f64; HEADS] {
        let losses: [f64; HEADS] = std::array::from_fn(|h| self.loss_per_hour(h));
        let mean = losses.iter().sum::<f64>() / HEADS as f64;
        losses.map(|own| self.tube / if self.share_water { mean } else { own })
    }

    /// Deficit of each head as a share of its deficit at flagging.
    pub fn deficit(&self) -> [f64; HEADS] {
        std::array::from_fn(|h| self.levels.deficit[h] * self.heads.rate[h])
    }

    /// Water left in the tubes, g.
    pub fn water(&self) -> [f64; HEADS] {
        let tubes = if self.supply == Supply::Tube { &self.levels.water } else { &self.tubes };
        // From the share that is left, so that a full tube holds what was put in, to the bit.
        let full_tubes = self.full_tubes();
        std::array::from_fn(
            |h| if full_tubes[h] > 0.0 { self.tube * (tubes[h] / full_tubes[h]) } else { 0.0 },
        )
    }

    /// Water in the tubes, whether the heads stand in them or not, h of the reference air.
    fn tube_levels(&mut self) -> &mut [f64; HEADS] {
        if self.supply == Supply::Tube { &mut self.levels.water } else { &mut self.tubes }
    }

    /// Water that a head loses in an hour of the reference air, g.
    fn loss_per_hour(&self, h: usize) -> f64 {
        self.heads.rate[h] * self.heads.flagging_clock[h] * self.heads.mass[h]
    }

    /// Integrates over some steps. Times of events are kept, for [`DryingState::outcomes`].
    pub fn advance(&mut self, mut steps: &[Step]) {
        let mut levels = Vec::with_capacity(steps.len().div_ceil(STRIDE));
        let mut clocks = Vec::with_capacity(steps.len() + STRIDE);
        while let [first, ..] = steps {
            if self.now == self.schedule.ask {
                self.deficit_at_ask = self.levels.deficit;
            }
            if first.supply != self.supply || first.refill {
                self.switch_supply(first);
            }
            // Stop where the loss is wanted.
            let most = if self.now < self.schedule.ask { self.schedule.ask - self.now } else { steps.len() };
            let within = &steps[..most.min(steps.len())];
            // A stride that is disturbed later, or that is the last, is done in part.
            let mut short = [Step { supply: self.supply, ..Step::NOTHING }; STRIDE];
            let (strides, few) = match within.as_chunks() {
                (strides @ [first, ..], _) if all_undisturbed(first, self.supply) => (strides, None),
                _ => {
                    let more = within[1..].iter().take(STRIDE - 1);
                    let few = 1 + more.take_while(|step| undisturbed(step, self.supply)).count();
                    for (to, step) in short.iter_mut().zip(&within[..few]) {
                        *to = Step { refill: false, ..*step };
                    }
                    (std::slice::from_ref(&short), Some(few))
                }
            };
            levels.clear();
            clocks.clear();
            let mut interval = Interval { strides, levels: &mut levels, clocks: &mut clocks };
            widest(
                #[inline(always)]
                || {
                    let counts = self.integrate(&mut interval);
                    self.record_events(&counts, &interval);
                },
            );
            let now = few.unwrap_or(STRIDE * levels.len());
            self.now += now;
            steps = &steps[now..];
        }
    }

    /// Integrates over strides until one is disturbed.
    #[inline(always)]
    fn integrate(&mut self, interval: &mut Interval) -> StrideCounts {
        let [mut with_water, mut unflagged, mut unwilted, mut in_use] = [[0.0; HEADS]; 4];
        let mut highest = [0.0; HEADS];
        let (next_flagging, next_wilting, next_past_use) =
            (self.next_flagging, self.next_wilting, self.next_past_use);
        let mut clocks = self.clocks;
        let Levels { mut deficit, mut water } = self.levels;
        interval.clocks.push(clocks);
        // Disturbed strides are looked for in the same loop, so that each step is loaded only once.
        for steps in interval.strides.iter().take_while(|steps| all_undisturbed(steps, self.supply)) {
            interval.clocks.extend(steps.iter().map(|Step { forcing, .. }| {
                clocks.age += forcing.age;
                clocks.heat += forcing.heat;
                clocks
            }));
            interval.levels.push(Levels { deficit, water });
            for step in steps {
                for h in 0..HEADS {
                    (deficit[h], water[h]) = after_step(step, (deficit[h], water[h]));
                    highest[h] = if deficit[h] > highest[h] { deficit[h] } else { highest[h] };
                }
            }
            for h in 0..HEADS {
                with_water[h] += if water[h] > 0.0 { 1.0 } else { 0.0 };
                unflagged[h] += if highest[h] < next_flagging[h] { 1.0 } else { 0.0 };
                unwilted[h] += if highest[h] < next_wilting[h] { 1.0 } else { 0.0 };
                in_use[h] += if highest[h] < next_past_use[h] { 1.0 } else { 0.0 };
            }
        }
        self.levels = Levels { deficit, water };
        self.clocks = clocks;
        StrideCounts { with_water, unflagged, unwilted, in_use }
    }

    /// Records the limits that heads reached in an interval.
    #[inline(always)]
    fn record_events(&mut self, counts: &StrideCounts, interval: &Interval) {
        let all = interval.levels.len() as f64;
        let end = self.clocks;
        for h in 0..HEADS {
            if self.drinks[h] && counts.with_water[h] < all {
                self.record_empty(h, counts.with_water[h], interval);
            }
            if counts.unflagged[h] < all {
                self.record_flagging(h, counts.unflagged[h], interval);
            }
            if counts.unwilted[h] < all {
                self.record_wilting(h, counts.unwilted[h], interval);
            }
            if counts.in_use[h] < all {
                let (at, _) = self.drying_hour(h, counts.in_use[h], interval, self.next_past_use[h]);
                self.next_past_use[h] = NEVER;
                self.past_use[h] = self.past_use[h].min(at);
            }
            if end.age >= self.next_age[h] {
                let at = self.reached_step(interval.clocks, |s| s.age, self.next_age[h]);
                self.next_age[h] = NEVER;
                self.record_end(h, at, Cause::Ageing);
            }
            if end.heat >= self.next_heat[h] {
                let at = self.reached_step(interval.clocks, |s| s.heat, self.next_heat[h]);
                self.next_heat[h] = NEVER;
                self.record_end(h, at, Cause::Heat);
            }
        }
    }

    /// Records that a head emptied its tube.
    #[inline(always)]
    fn record_empty(&mut self, h: usize, stride: f64, interval: &Interval) {
        let Crossing { number, step, before: (deficit, water), .. } =
            interval.locate(h, stride, |(_, water)| water <= 0.0);
        let uptake = uptake(step, deficit);
        // The share of the step until the water is gone.
        let share = if uptake > water { water / uptake } else { 1.0 };
        self.drinks[h] = false;
        self.empty[h] = self.empty[h].min(self.grid.hour((self.now + number) as f64 + share));
    }

    /// Records that a head flagged by drying.
    #[inline(always)]
    fn record_flagging(&mut self, h: usize, stride: f64, interval: &Interval) {
        let (at, step) = self.drying_hour(h, stride, interval, self.next_flagging[h]);
        self.next_flagging[h] = NEVER;
        if at < self.flagging[h] {
            let supplied = self.supply != Supply::Dry && step >= self.schedule.placed;
            self.flagging[h] = at;
            self.cause[h] = if supplied { Cause::Supply } else { Cause::Drying };
        }
    }

    /// Records that a head wilted by drying.
    #[inline(always)]
    fn record_wilting(&mut self, h: usize, stride: f64, interval: &Interval) {
        let (at, _) = self.drying_hour(h, stride, interval, self.next_wilting[h]);
        self.next_wilting[h] = NEVER;
        self.wilted[h] = self.wilted[h].min(at);
    }

    /// The hour at which a head's deficit reaches `stage`, and the step in which it does.
    #[inline(always)]
    fn drying_hour(&self, h: usize, stride: f64, interval: &Interval, stage: f64) -> (f64, usize) {
        let Crossing { number, before, after, .. } =
            interval.locate(h, stride, |(deficit, _)| deficit >= stage);
        let step = self.now + number;
        (self.grid.hour(step as f64 + crossing(before.0, after.0, stage)), step)
    }

    /// The fractional step at which a sum reaches a limit that lies above its first value and not above its last.
    fn reached_step(&self, clocks: &[SharedClocks], sum: impl Fn(&SharedClocks) -> f64, limit: f64) -> f64 {
        let within = &clocks[1..clocks.len() - 1];
        let n = within.partition_point(|clocks| sum(clocks) < limit);
        (self.now + n) as f64 + crossing(sum(&clocks[n]), sum(&clocks[n + 1]), limit)
    }

    /// Records an end other than by drying, unless drying came first.
    fn record_end(&mut self, h: usize, step: f64, cause: Cause) {
        let at = self.grid.hour(step);
        if at < self.flagging[h] {
            (self.flagging[h], self.cause[h]) = (at, cause);
        }
        self.wilted[h] = self.wilted[h].min(at);
        self.past_use[h] = self.past_use[h].min(at);
    }

    /// Moves all heads to the supply of a step, and fills their tubes if it says so.
    #[cold]
    #[inline(never)]
    fn switch_supply(&mut self, step: &Step) {
        let tubes = *self.tube_levels();
        self.tubes = if step.refill { self.full_tubes() } else { tubes };
        self.supply = step.supply;
        self.levels.water = match step.supply {
            Supply::Dry | Supply::Boxed => [0.0; HEADS],
            Supply::Ample => [f64::INFINITY; HEADS],
            Supply::Tube => self.tubes,
        };
        // An empty tube is noticed when its head drinks from it.
        self.drinks = [step.supply != Supply::Dry; HEADS];
    }

    /// Hours on the event's clock at which heads stopped being presentable; infinite for those that are.
    pub fn flagging_hours(&self) -> [f64; HEADS] {
        self.flagging
    }

    /// The outcome of every head so far, each of weight 1.
    pub fn outcomes(mut self) -> Vec<HeadOutcome> {
        if self.deficit_at_ask[0].is_nan() {
            self.deficit_at_ask = self.levels.deficit; // the loss is wanted at the last step, or beyond it
        }
        let Heads { rate, flagging_clock, curve, .. } = self.heads;
        (0..HEADS)
            .map(|h| HeadOutcome {
                weight: 1.0,
                flagging: self.flagging[h],
                wilted: self.wilted[h],
                past_use: self.past_use[h],
                cause: self.cause[h],
                empty: self.empty[h],
                loss: curve.loss(self.deficit_at_ask[h] * rate[h] * flagging_clock[h]),
            })
            .collect()
    }
}
