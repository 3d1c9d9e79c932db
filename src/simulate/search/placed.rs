//! A lot placed at one time, and what becomes of each of its heads.

use super::lines::{Clock, Line, Lines, NO_LINE};
use super::sums::{Lives, On, There, Water};
use crate::flower::population::{HEADS, Lot};
use crate::numerics::dispatch::widest;
use crate::simulate::journey::Placing;
use crate::simulate::outcome::{Cause, HeadOutcome, NEVER};

/// The way on of heads that drink, from their placing: all that does not depend on the head.
#[derive(Default)]
pub struct Wet {
    way: Vec<f64>,
    peak: Vec<f64>,
    drunk: Vec<f64>,
}

/// A head as it stands after the step in which its tube ran empty.
pub(super) struct Dried {
    /// That step, on the event's clock.
    pub(super) step: usize,
    /// Its way, and the longest that it has been.
    way: f64,
    peak: f64,
    age: f64,
}

/// Room for the ways that a head goes alone once its tube is empty.
#[derive(Default)]
pub(super) struct Alone {
    way: Vec<f64>,
    peak: Vec<f64>,
    age: Vec<f64>,
    break_way: [f64; 2],
    break_age: [f64; 2],
}

/// One lot, placed one way at one time.
pub struct Placed<'a> {
    pub(super) lives: &'a Lives<'a>,
    pub(super) there: &'a There,
    pub(super) on: &'a On,
    /// How many steps of the way there are gone.
    pub(super) gone: usize,
    /// The step of the way on at which it is placed.
    pub(super) now: usize,
    /// Steps of the way on at which tubes are filled up, in rising order.
    pub(super) refills: Vec<usize>,
    /// The step asked about, on the event's clock.
    pub(super) ask: usize,
    pub(super) wet: Option<&'a Wet>,
}

impl<'a> Placed<'a> {
    /// The lot placed the way of the placing of that number.
    pub fn new(lives: &'a Lives<'a>, number: usize, placing: &Placing) -> Self {
        let (there, on, at) = lives.routes.of[number];
        let (there, on) = (&lives.there[there], &lives.on[on]);
        let gone = placing.before.last().map_or(0, |l| l.to - there.first);
        let now = at - on.first;
        let mut refills: Vec<usize> = placing
            .refills
            .iter()
            .filter(|r| **r > at)
            .map(|r| r - on.first)
            .filter(|r| *r < on.drying.len() - 1)
            .collect();
        refills.sort_unstable();
        refills.dedup();
        Placed { lives, there, on, gone, now, refills, ask: placing.ask, wet: None }
    }

    /// Works out the way on of heads that drink, in the room that is given.
    ///
    /// # Formula
    /// While stems drink freely, what sets two heads in the same water apart dwindles by the same share in every step: so
    /// one way, in water from the first, serves all placing times. Once they block, it is gone through step by step.
    /// What is drunk is what has evaporated and is not missing.
    pub fn with_water(self, room: &'a mut Wet) -> Self {
        widest(
            #[inline(always)]
            || self.in_water(room),
        );
        Placed { wet: Some(room), ..self }
    }

    #[inline(always)]
    fn in_water(&self, Wet { way, peak, drunk }: &mut Wet) {
        let Lives { stems, left, .. } = self.lives;
        let (drying, wet) = (&self.on.drying[self.now..], &self.on.wet[self.now..]);
        let age = &self.on.age_wet[self.now..];
        let x = self.there.way[self.gone];
        let in_water = self.there.in_water[self.gone] - age[0];
        let apart = x - wet[0];
        let free = age.partition_point(|age| in_water + age <= stems.free_for()).max(1);
        way.clear();
        way.reserve(wet.len());
        way.extend(wet[..free].iter().zip(left).map(|(wet, left)| wet + apart * left));
        for k in free..wet.len() {
            let (decay, gain) = stems.drink(in_water + age[k]);
            way.push(way[k - 1] * decay + (drying[k] - drying[k - 1]) * gain);
        }
        drunk.clear();
        drunk.extend(way.iter().zip(drying).map(|(way, d)| (x - way) + (d - drying[0])));
        // Block by block, so that no value waits for all those before it.
        peak.clear();
        peak.reserve(way.len());
        let mut highest = x;
        for block in way.chunks(8) {
            let mut up_to = highest;
            highest = higher(highest, block.iter().copied().fold(block[0], higher));
            peak.extend(block.iter().map(|way| {
                up_to = higher(up_to, *way);
                up_to
            }));
        }
    }

    fn wet(&self) -> &Wet {
        self.wet.expect("worked out before water is asked about")
    }

    fn way_there(&self) -> Line<'_> {
        let there = self.there;
        Line {
            first: there.first,
            peaks: &there.peak[..=self.gone],
            values: &there.way[..=self.gone],
            base: 0.0,
        }
    }

    fn age_there(&self) -> Line<'_> {
        let age = &self.there.age[..=self.gone];
        Line { first: self.there.first, peaks: age, values: age, base: 0.0 }
    }

    /// A stretch of a running sum of the way on, which stands at `value` where it begins.
    fn stretch<'s>(&'s self, sums: &'s [f64], from: usize, to: usize, value: f64) -> Line<'s> {
        let part = &sums[from..=to];
        Line { first: self.on.first + from, peaks: part, values: part, base: value - sums[from] }
    }

    fn heat(&self) -> Lines<'_> {
        let there = &self.there.heat[..=self.gone];
        Lines::new(&[
            Line { first: self.there.first, peaks: there, values: there, base: 0.0 },
            self.stretch(&self.on.heat, self.now, self.end(), there[self.gone]),
        ])
    }

    fn end(&self) -> usize {
        self.on.drying.len() - 1
    }

    /// The clock that all heads share: out of water, or with as much as they drink.
    pub(super) fn shared(&self, water: Water) -> Clock<'_> {
        let (on, now, end) = (self.on, self.now, self.end());
        let (way, age) = (self.there.way[self.gone], self.there.age[self.gone]);
        let (way, ages) = match water {
            Water::None => (self.stretch(&on.drying, now, end, way), &on.age_dry),
            Water::Ample | Water::Tube(_) => {
                let wet = self.wet();
                let line = Line { first: on.first + now, peaks: &wet.peak, values: &wet.way, base: 0.0 };
                (line, &on.age_wet)
            }
        };
        Clock {
            way: Lines::new(&[self.way_there(), way]),
            age: Lines::new(&[self.age_there(), self.stretch(ages, now, end, age)]),
            heat: self.heat(),
        }
    }

    /// In which step between `from` and `to` a full tube runs empty, counted from the placing, and after what share of it.
    fn empties(&self, from: usize, to: usize, water: f64) -> Option<(usize, f64)> {
        let drunk = &self.wet().drunk[..=to];
        let limit = drunk[from] + water;
        if drunk[to] <= limit {
            return None;
        }
        let k = from + drunk[from..].partition_point(|d| *d <= limit);
        Some((k - 1, (limit - drunk[k - 1]) / (drunk[k] - drunk[k - 1])))
    }

    /// When the tube of a head runs empty, counted in steps from the placing; `water` is that of a full tube in the unit of
    /// what `x` drinks. With it where the next filling up is, if one is to come.
    pub(super) fn first_empty(&self, water: f64) -> Option<(usize, f64, Option<usize>)> {
        let mut from = 0;
        for refill in &self.refills {
            let refill = refill - self.now;
            if let Some((step, share)) = self.empties(from, refill, water) {
                return Some((step, share, Some(refill)));
            }
            from = refill;
        }
        self.empties(from, self.end() - self.now, water).map(|(step, share)| (step, share, None))
    }

    /// A head whose tube runs empty in a step, counted from the placing, after a share of it.
    pub(super) fn dried(&self, step: usize, share: f64) -> Dried {
        let (on, wet, now) = (self.on, self.wet(), self.now);
        let mix = |dry: f64, wet: f64| dry + share * (wet - dry);
        let k = now + step;
        let before = self.there.age[self.gone] + (on.age_wet[k] - on.age_wet[now]);
        let way = mix(wet.way[step] + (on.drying[k + 1] - on.drying[k]), wet.way[step + 1]);
        let age = before + mix(on.age_dry[k + 1] - on.age_dry[k], on.age_wet[k + 1] - on.age_wet[k]);
        let peak = self.there.peak[self.gone].max(wet.peak[step]).max(way);
        Dried { step: on.first + k, way, peak, age }
    }

    /// How far it has come at most, how old and how hot it is at the beginning of a later step of the event's clock.
    pub(super) fn stands(&self, dried: &Dried, step: usize) -> (f64, f64, f64) {
        let (on, k, s) = (self.on, dried.step - self.on.first + 1, step - self.on.first);
        let way = dried.way + (on.drying[s] - on.drying[k]);
        let heat = self.there.heat[self.gone] + (on.heat[s] - on.heat[self.now]);
        (dried.peak.max(way), dried.age + (on.age_dry[s] - on.age_dry[k]), heat)
    }

    /// The clock of a head whose tube runs empty.
    pub(super) fn alone<'s>(
        &'s self,
        (step, share, refill): (usize, f64, Option<usize>),
        water: f64,
        alone: &'s mut Alone,
    ) -> Clock<'s> {
        let (on, wet, now, end) = (self.on, self.wet(), self.now, self.end());
        let k = now + step;
        let dried = self.dried(step, share);
        let (x, age) = (dried.way, dried.age);
        let before = self.there.age[self.gone] + (on.age_wet[k] - on.age_wet[now]);
        alone.break_way = [wet.way[step], x];
        alone.break_age = [before, age];
        let dry_until = refill.map_or(end, |r| now + r);
        if let Some(refill) = refill {
            let x = x + (on.drying[dry_until] - on.drying[k + 1]);
            let age = age + (on.age_dry[dry_until] - on.age_dry[k + 1]);
            self.filled_up(refill, water, (x, age), alone);
        }
        let broken = |values: &'s [f64; 2]| Line { first: on.first + k, peaks: values, values, base: 0.0 };
        let first = on.first + now;
        let mut ways = [
            self.way_there(),
            Line { first, peaks: &wet.peak[..=step], values: &wet.way[..=step], base: 0.0 },
            broken(&alone.break_way),
            self.stretch(&on.drying, k + 1, dry_until, x),
            NO_LINE,
        ];
        let mut ages = [
            self.age_there(),
            self.stretch(&on.age_wet, now, k, self.there.age[self.gone]),
            broken(&alone.break_age),
            self.stretch(&on.age_dry, k + 1, dry_until, age),
            NO_LINE,
        ];
        let mut len = 4;
        if refill.is_some() {
            let first = on.first + dry_until;
            ways[4] = Line { first, peaks: &alone.peak, values: &alone.way, base: 0.0 };
            ages[4] = Line { first, peaks: &alone.age, values: &alone.age, base: 0.0 };
            len = 5;
        }
        Clock { way: Lines::new(&ways[..len]), age: Lines::new(&ages[..len]), heat: self.heat() }
    }

    /// Steps a head from the filling up of its empty tube to the end.
    fn filled_up(&self, refill: usize, full: f64, (mut x, mut age): (f64, f64), alone: &mut Alone) {
        let (on, now, stems) = (self.on, self.now, &self.lives.stems);
        let in_water = self.there.in_water[self.gone] - on.age_wet[now];
        let (mut peak, mut water) = (x, full);
        for values in [&mut alone.way, &mut alone.peak, &mut alone.age] {
            values.clear();
            values.reserve(self.end() - now + 1);
        }
        let mut push = |x: f64, peak: f64, age: f64| {
            alone.way.push(x);
            alone.peak.push(peak);
            alone.age.push(age);
        };
        push(x, peak, age);
        for k in now + refill..self.end() {
            if self.refills.contains(&k) {
                water = full;
            }
            let (decay, gain) = stems.drink(in_water + on.age_wet[k + 1]);
            let drying = on.drying[k + 1] - on.drying[k];
            let (age_dry, age_wet) = (on.age_dry[k + 1] - on.age_dry[k], on.age_wet[k + 1] - on.age_wet[k]);
            let (dry, wet) = (x + drying, x * decay + drying * gain);
            let share = if dry - wet > water { water / (dry - wet) } else { 1.0 };
            water = (water - share * (dry - wet)).max(0.0);
            x = dry + share * (wet - dry);
            age += age_dry + share * (age_wet - age_dry);
            peak = peak.max(x);
            push(x, peak, age);
        }
    }

    /// The water of a tube, in the unit of what `x` drinks.
    pub(super) fn tube(&self, grams: f64, h: usize) -> f64 {
        grams * self.lives.per_gram[h]
    }

    /// What becomes of the heads.
    pub fn outcomes(&self, water: Water) -> [HeadOutcome; HEADS] {
        let shared = self.shared(water);
        let mut alone = Alone::default();
        std::array::from_fn(|h| {
            if let Water::Tube(grams) = water {
                let full = self.tube(grams, h);
                if let Some(empty) = self.first_empty(full) {
                    let at = (self.on.first + self.now + empty.0) as f64 + empty.1;
                    let clock = self.alone(empty, full, &mut alone);
                    return self.outcome(h, &clock, water, self.lives.grid.hour(at));
                }
            }
            self.outcome(h, &shared, water, NEVER)
        })
    }

    fn outcome(&self, h: usize, clock: &Clock, water: Water, empty: f64) -> HeadOutcome {
        let (heads, grid) = (self.lives.heads, self.lives.grid);
        let (flagging, stretch) = clock.way.reach(self.lives.flagging[h]);
        let supplied = water != Water::None && stretch > 0;
        let mut outcome = HeadOutcome {
            weight: 1.0,
            flagging: grid.hour(flagging),
            wilted: grid.hour(clock.way.reach(self.lives.wilted[h]).0),
            cause: if supplied && flagging < NEVER { Cause::Supply } else { Cause::Drying },
            empty,
            loss: heads.curve.loss(clock.way.at(self.ask).0 * heads.rate[h] * heads.flagging_clock[h]),
        };
        let others = [
            (clock.age.reach(heads.life_days[h]).0, Cause::Ageing),
            (clock.heat.reach(heads.heat_limit[h]).0, Cause::Heat),
        ];
        for (at, cause) in others.map(|(step, cause)| (grid.hour(step), cause)) {
            if at < outcome.flagging {
                (outcome.flagging, outcome.cause) = (at, cause);
            }
            outcome.wilted = outcome.wilted.min(at);
        }
        outcome
    }

    /// The lot.
    pub fn lot(&self) -> &Lot {
        self.lives.lot
    }
}

/// The higher of two numbers, in one instruction.
#[inline(always)]
fn higher(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}
