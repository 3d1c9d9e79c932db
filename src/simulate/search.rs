//! The lives of the heads of a lot without stepping each of them: a search in running sums that they share.
//!
//! A head's way to flagging is linear in its rate `r`: out of water `d(v/r) = D dt`, in water `d(v/r) = D dt - S (v/r) dt`.
//! So all heads of a lot that have water alike go one way `x = v/r`, and each flags when `x` first reaches its own `1/r`.
//! Nor does what they drink set them apart: a tube is empty when the sum of what `x` drinks reaches its water over `r` and
//! the head's size. Only then does a head go its own way, which is again a sum: that of the dry. The way before placing
//! is the same for all placing times but for where it stops, and so is the air after it.

use super::journey::{Drive, Grid, Leg, Stems, Supply};
use super::kernel::{Cause, Fate, Mark, NEVER, crossing};
use super::run::{Placing, share_left};
use crate::flower::population::{HEADS, Heads, Lot};

/// What a head drinks from once it is placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Water {
    /// Nothing.
    None,
    /// A vase: ample.
    Ample,
    /// A tube with so much usable water, g.
    Tube(f64),
}

/// The ways that some placings have in common: their longest ways there and on, step by step.
#[derive(Debug, Clone)]
pub struct Routes {
    before: Vec<Route>,
    after: Vec<Route>,
    /// For each placing its way there, its way on, and the step at which it is placed.
    of: Vec<(usize, usize, usize)>,
}

#[derive(Debug, Clone)]
struct Route {
    first: usize,
    steps: Vec<(usize, Supply)>,
}

impl Route {
    fn of(legs: &[Leg], first: usize) -> Route {
        let steps = legs.iter().flat_map(|l| (l.from..l.to).map(|_| (l.space, l.supply))).collect();
        Route { first, steps }
    }
}

/// The index of the route among `known` of which `new` is a part, or that is a part of it and then takes its place.
fn filed(known: &mut Vec<Route>, new: Route, part: impl Fn(&Route, &Route) -> bool) -> usize {
    for (i, route) in known.iter_mut().enumerate() {
        if part(&new, route) {
            return i;
        }
        if part(route, &new) {
            *route = new;
            return i;
        }
    }
    known.push(new);
    known.len() - 1
}

impl Routes {
    /// What the placings share.
    pub fn new<'p>(placings: impl Iterator<Item = &'p Placing>) -> Routes {
        let mut routes = Routes { before: Vec::new(), after: Vec::new(), of: Vec::new() };
        for placing in placings {
            let placed = placing.after.first().map_or(0, |l| l.from);
            let before = Route::of(&placing.before, placing.before.first().map_or(placed, |l| l.from));
            let after = Route::of(&placing.after, placed);
            let b = filed(&mut routes.before, before, |part, whole| {
                part.first == whole.first && whole.steps.starts_with(&part.steps)
            });
            let a = filed(&mut routes.after, after, |part, whole| {
                part.first >= whole.first
                    && whole.steps[(part.first - whole.first).min(whole.steps.len())..] == part.steps
            });
            routes.of.push((b, a, placed));
        }
        routes
    }
}

/// The way there, at the beginnings of its steps and its end.
struct There {
    first: usize,
    way: Vec<f64>,
    peak: Vec<f64>,
    age: Vec<f64>,
    heat: Vec<f64>,
    in_water: Vec<f64>,
}

/// Running sums over the way on, at the beginnings of its steps and its end.
struct On {
    first: usize,
    drying: Vec<f64>,
    age_wet: Vec<f64>,
    age_dry: Vec<f64>,
    heat: Vec<f64>,
}

/// The heads of one lot, ready to be placed.
pub struct Lives<'a> {
    lot: &'a Lot,
    heads: &'a Heads,
    grid: Grid,
    stems: Stems,
    there: Vec<There>,
    on: Vec<On>,
    routes: &'a Routes,
}

impl<'a> Lives<'a> {
    /// Sums up what the routes do to a lot.
    pub fn new(lot: &'a Lot, heads: &'a Heads, drives: &[Drive], grid: &Grid, routes: &'a Routes) -> Self {
        let stems = Stems::new(lot, grid);
        let there = routes.before.iter().map(|route| {
            let n = route.steps.len() + 1;
            let [way, peak, age, heat, in_water] = std::array::from_fn(|_| Vec::with_capacity(n));
            let mut there = There { first: route.first, way, peak, age, heat, in_water };
            let [mut x, mut peak, mut age, mut heat, mut in_water] = [0.0f64; 5];
            there.push(x, peak, age, heat, in_water);
            for (n, (space, supply)) in route.steps.iter().enumerate() {
                let pull = drives[*space].at(route.first + n);
                if *supply == Supply::Ample {
                    in_water += pull.age_wet;
                    let (decay, gain) = stems.drink(in_water);
                    x = x * decay + pull.drying * gain;
                    age += pull.age_wet;
                } else {
                    // Tubes are given with placing: until then there are none.
                    x += pull.drying;
                    age += pull.age_dry;
                }
                heat += pull.heat;
                peak = peak.max(x);
                there.push(x, peak, age, heat, in_water);
            }
            there
        });
        let on = routes.after.iter().map(|route| {
            let [mut drying, mut age_wet, mut age_dry, mut heat] =
                std::array::from_fn(|_| vec![0.0; route.steps.len() + 1]);
            // Four sums side by side, none of which waits for another.
            for (n, (space, _)) in route.steps.iter().enumerate() {
                let pull = drives[*space].at(route.first + n);
                drying[n + 1] = drying[n] + pull.drying;
                age_wet[n + 1] = age_wet[n] + pull.age_wet;
                age_dry[n + 1] = age_dry[n] + pull.age_dry;
                heat[n + 1] = heat[n] + pull.heat;
            }
            On { first: route.first, drying, age_wet, age_dry, heat }
        });
        Lives { lot, heads, grid: *grid, stems, there: there.collect(), on: on.collect(), routes }
    }

    /// The lot placed the way of the placing of that number.
    pub fn placed(&self, number: usize, placing: &'a Placing) -> Placed<'_> {
        let (there, on, at) = self.routes.of[number];
        let (there, on) = (&self.there[there], &self.on[on]);
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
        Placed { lives: self, there, on, gone, now, refills, ask: placing.ask, wet: None }
    }

    /// The limits of the heads on their way: what `x` must reach.
    fn limits(&self, mark: Mark) -> [f64; HEADS] {
        std::array::from_fn(|h| match mark {
            Mark::Flagging => 1.0 / self.heads.rate[h],
            Mark::Wilted => self.heads.wilted_at[h] / self.heads.rate[h],
        })
    }
}

impl There {
    fn push(&mut self, x: f64, peak: f64, age: f64, heat: f64, in_water: f64) {
        self.way.push(x);
        self.peak.push(peak);
        self.age.push(age);
        self.heat.push(heat);
        self.in_water.push(in_water);
    }
}

/// The way on of heads that drink, from their placing: all that does not depend on the head.
struct Wet {
    way: Vec<f64>,
    peak: Vec<f64>,
    drunk: Vec<f64>,
    response: Vec<(f64, f64)>,
}

/// A stretch of something that runs on: its values at the beginnings of steps, and the highest up to there.
#[derive(Clone, Copy)]
struct Line<'a> {
    /// The step at which it begins, on the event's clock.
    first: usize,
    peaks: &'a [f64],
    values: &'a [f64],
    /// To be added to both.
    base: f64,
}

const NO_LINE: Line = Line { first: 0, peaks: &[], values: &[], base: 0.0 };

/// Stretches end to end.
#[derive(Clone, Copy)]
struct Lines<'a> {
    lines: [Line<'a>; 5],
    len: usize,
}

impl<'a> Lines<'a> {
    fn new(lines: &[Line<'a>]) -> Self {
        let mut all = [NO_LINE; 5];
        all[..lines.len()].copy_from_slice(lines);
        Lines { lines: all, len: lines.len() }
    }

    /// The (broken) step at which a limit is first reached, and in which stretch.
    fn reach(&self, limit: f64) -> (f64, usize) {
        for (i, line) in self.lines[..self.len].iter().enumerate() {
            let wanted = limit - line.base;
            if line.peaks[line.peaks.len() - 1] < wanted {
                continue;
            }
            let k = line.peaks.partition_point(|v| *v < wanted);
            let within = match k {
                0 => 0.0,
                k => (k - 1) as f64 + crossing(line.values[k - 1], line.values[k], wanted),
            };
            return (line.first as f64 + within, i);
        }
        (NEVER, self.len)
    }

    /// The value at the beginning of a step, and the highest up to there.
    fn at(&self, step: usize) -> (f64, f64) {
        let mut highest = f64::NEG_INFINITY;
        for line in &self.lines[..self.len] {
            let last = line.values.len() - 1;
            if step <= line.first + last {
                let n = step.saturating_sub(line.first);
                return (line.base + line.values[n], highest.max(line.base + line.peaks[n]));
            }
            highest = highest.max(line.base + line.peaks[last]);
        }
        let last = &self.lines[self.len - 1];
        (last.base + last.values[last.values.len() - 1], highest)
    }
}

/// What runs on for a head: its way, its age, its heat.
#[derive(Clone, Copy)]
struct Clock<'a> {
    way: Lines<'a>,
    age: Lines<'a>,
    heat: Lines<'a>,
}

/// Room for the ways that a head goes alone once its tube is empty.
#[derive(Default)]
struct Alone {
    way: Vec<f64>,
    peak: Vec<f64>,
    age: Vec<f64>,
    break_way: [f64; 2],
    break_age: [f64; 2],
}

/// One lot, placed one way at one time.
pub struct Placed<'a> {
    lives: &'a Lives<'a>,
    there: &'a There,
    on: &'a On,
    /// How many steps of the way there are gone.
    gone: usize,
    /// The step of the way on at which it is placed.
    now: usize,
    /// Steps of the way on at which tubes are filled up, in rising order.
    refills: Vec<usize>,
    /// The step asked about, on the event's clock.
    ask: usize,
    wet: Option<Wet>,
}

impl Placed<'_> {
    /// Works out the way on of heads that drink.
    pub fn with_water(mut self) -> Self {
        let (on, stems) = (self.on, &self.lives.stems);
        let n = on.drying.len() - self.now;
        let mut wet = Wet {
            way: Vec::with_capacity(n),
            peak: Vec::with_capacity(n),
            drunk: Vec::with_capacity(n),
            response: Vec::with_capacity(n),
        };
        let mut x = self.there.way[self.gone];
        let (mut peak, mut drunk) = (x, 0.0);
        let in_water = self.there.in_water[self.gone] - on.age_wet[self.now];
        wet.push(x, peak, drunk);
        for k in self.now + 1..on.drying.len() {
            let (decay, gain) = stems.drink(in_water + on.age_wet[k]);
            let drying = on.drying[k] - on.drying[k - 1];
            let next = x * decay + drying * gain;
            drunk += x + drying - next;
            x = next;
            peak = peak.max(x);
            wet.push(x, peak, drunk);
            wet.response.push((decay, gain));
        }
        self.wet = Some(wet);
        self
    }

    fn wet(&self) -> &Wet {
        self.wet.as_ref().expect("worked out before water is asked about")
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
    fn shared(&self, water: Water) -> Clock<'_> {
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
    fn first_empty(&self, water: f64) -> Option<(usize, f64, Option<usize>)> {
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

    /// The clock of a head whose tube runs empty.
    fn alone<'s>(
        &'s self,
        (step, share, refill): (usize, f64, Option<usize>),
        water: f64,
        alone: &'s mut Alone,
    ) -> Clock<'s> {
        let (on, wet, now, end) = (self.on, self.wet(), self.now, self.end());
        let mix = |dry: f64, wet: f64| dry + share * (wet - dry);
        let k = now + step;
        let before = self.there.age[self.gone] + (on.age_wet[k] - on.age_wet[now]);
        let x = mix(wet.way[step] + (on.drying[k + 1] - on.drying[k]), wet.way[step + 1]);
        let age = before + mix(on.age_dry[k + 1] - on.age_dry[k], on.age_wet[k + 1] - on.age_wet[k]);
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
        let (on, now) = (self.on, self.now);
        let (mut peak, mut water) = (x, full);
        for values in [&mut alone.way, &mut alone.peak, &mut alone.age] {
            values.clear();
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
            let (decay, gain) = self.wet().response[k - now];
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
    fn tube(&self, water: f64, h: usize) -> f64 {
        let heads = self.lives.heads;
        water / (heads.rate[h] * heads.flagging_clock[h] * heads.mass[h])
    }

    /// What becomes of the heads.
    pub fn fates(&self, water: Water) -> [Fate; HEADS] {
        let shared = self.shared(water);
        let mut alone = Alone::default();
        std::array::from_fn(|h| {
            if let Water::Tube(grams) = water {
                let full = self.tube(grams, h);
                if let Some(empty) = self.first_empty(full) {
                    let at = (self.on.first + self.now + empty.0) as f64 + empty.1;
                    let clock = self.alone(empty, full, &mut alone);
                    return self.fate(h, &clock, water, self.lives.grid.hour(at));
                }
            }
            self.fate(h, &shared, water, NEVER)
        })
    }

    fn fate(&self, h: usize, clock: &Clock, water: Water, empty: f64) -> Fate {
        let (heads, grid) = (self.lives.heads, self.lives.grid);
        let (flagging, stretch) = clock.way.reach(1.0 / heads.rate[h]);
        let supplied = water != Water::None && stretch > 0;
        let mut fate = Fate {
            weight: 1.0,
            flagging: grid.hour(flagging),
            wilted: grid.hour(clock.way.reach(heads.wilted_at[h] / heads.rate[h]).0),
            cause: if supplied && flagging < NEVER { Cause::Supply } else { Cause::Drying },
            empty,
            loss: heads.curve.loss(clock.way.at(self.ask).0 * heads.rate[h] * heads.flagging_clock[h]),
        };
        let others = [
            (clock.age.reach(heads.life_days[h]).0, Cause::Ageing),
            (clock.heat.reach(heads.heat_limit[h]).0, Cause::Heat),
        ];
        for (at, cause) in others.map(|(step, cause)| (grid.hour(step), cause)) {
            if at < fate.flagging {
                (fate.flagging, fate.cause) = (at, cause);
            }
            fate.wilted = fate.wilted.min(at);
        }
        fate
    }

    /// The share of heads that have not come to a mark at the hour asked about: what [`super::run::presentable`] says
    /// of their [`Placed::fates`], by looking only at those that decide it.
    pub fn share(&self, water: Water, mark: Mark) -> f64 {
        let heads = self.lives.heads;
        let limits = self.lives.limits(mark);
        let shared = self.shared(water);
        let ask = self.ask;
        let at = |step: usize| (shared.way.at(step).1, shared.age.at(step).0, shared.heat.at(step).0);
        let crossed = |h: usize, (way, age, heat): (f64, f64, f64)| {
            (limits[h] <= way) | (heads.life_days[h] <= age) | (heads.heat_limit[h] <= heat)
        };
        let end = |h: usize, clock: &Clock| {
            let way = clock.way.reach(limits[h]).0;
            way.min(clock.age.reach(heads.life_days[h]).0).min(clock.heat.reach(heads.heat_limit[h]).0)
        };
        let (mut ended, mut last, mut next) = (0, f64::NEG_INFINITY, NEVER);
        let mut sharing = [true; HEADS];
        if let Water::Tube(grams) = water {
            let mut room = Alone::default();
            for (h, sharing) in sharing.iter_mut().enumerate() {
                let full = self.tube(grams, h);
                let Some(empty) = self.first_empty(full) else { continue };
                *sharing = false;
                let end = end(h, &self.alone(empty, full, &mut room));
                if end <= ask as f64 {
                    ended += 1;
                    last = last.max(end);
                } else {
                    next = next.min(end);
                }
            }
        }
        let now = at(ask);
        let (mut way, mut age, mut heat) = (NEVER, NEVER, NEVER);
        let mut at_last = at(if last.is_finite() { last as usize } else { 0 });
        for h in (0..HEADS).filter(|h| sharing[*h]) {
            if !crossed(h, now) {
                way = way.min(limits[h]);
                age = age.min(heads.life_days[h]);
                heat = heat.min(heads.heat_limit[h]);
                continue;
            }
            ended += 1;
            // One that had ended when the last known to did changes nothing.
            if last.is_finite() && crossed(h, at_last) {
                continue;
            }
            let end = end(h, &shared);
            if end > last {
                last = end;
                at_last = at(last as usize);
            }
        }
        next = next.min(shared.way.reach(way).0).min(shared.age.reach(age).0).min(shared.heat.reach(heat).0);
        share_left(HEADS, ended, last.min(ask as f64), next, ask as f64)
    }

    /// The lot.
    pub fn lot(&self) -> &Lot {
        self.lives.lot
    }
}

impl Wet {
    fn push(&mut self, x: f64, peak: f64, drunk: f64) {
        self.way.push(x);
        self.peak.push(peak);
        self.drunk.push(drunk);
    }
}
