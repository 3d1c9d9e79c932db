//! A lot placed at one time, and the outcome of each of its heads.

use super::curves::{Curve, HeadCurves, NO_SEGMENT, Segment};
use super::sums::{AfterSums, BeforeSums, LotSums, Water};
use crate::flower::population::{HEADS, Lot};
use crate::numerics::dispatch::widest;
use crate::simulate::journey::Placing;
use crate::simulate::outcome::{Cause, HeadOutcome, NEVER};

/// Curves from the placement on that all heads share while they drink, at the beginnings of steps, in h of the reference
/// air: deficit, and its highest value so far.
#[derive(Default)]
pub struct WetCurves {
    deficit: Vec<f64>,
    peak: Vec<f64>,
}

/// Buffers for the curves of one head once its tube is empty, used again for the next.
#[derive(Default)]
pub(super) struct OwnBuffers {
    deficit: Vec<f64>,
    peak: Vec<f64>,
    emptying_deficit: [f64; 2],
}

/// One lot, placed along one route at one time.
pub struct Placed<'a> {
    pub(super) sums: &'a LotSums<'a>,
    pub(super) before: &'a BeforeSums,
    pub(super) after: &'a AfterSums,
    /// Where the sums before placement end for this placing.
    pub(super) before_end: usize,
    /// Where the sums after placement begin for this placing.
    pub(super) after_start: usize,
    /// Steps of the sums after placement at which tubes are filled up, in rising order.
    pub(super) refills: Vec<usize>,
    /// The step at whose beginning shares and losses are wanted, counted on the event's grid.
    pub(super) ask: usize,
    pub(super) wet: Option<&'a WetCurves>,
}

impl<'a> Placed<'a> {
    /// The lot placed as `placing` says, which is number `number` of those that the routes were made from.
    pub fn new(sums: &'a LotSums<'a>, number: usize, placing: &Placing) -> Self {
        let (before, after, at) = sums.routes.of[number];
        let (before, after) = (&sums.before[before], &sums.after[after]);
        let before_end = placing.before.last().map_or(0, |l| l.to - before.first);
        let after_start = at - after.first;
        let mut refills: Vec<usize> = placing
            .refills
            .iter()
            .filter(|r| **r > at)
            .map(|r| r - after.first)
            .filter(|r| *r < after.drying.len() - 1)
            .collect();
        refills.sort_unstable();
        refills.dedup();
        Placed { sums, before, after, before_end, after_start, refills, ask: placing.ask, wet: None }
    }

    /// Computes the curves of heads that drink, into `curves`.
    ///
    /// # Formula
    /// While stems drink freely, the difference between the deficits of two heads in water shrinks by the same factor in
    /// every step. The curve of a head that is in water from the first step therefore serves all placing times. Once stems
    /// block, the curve is stepped.
    pub fn with_water(self, curves: &'a mut WetCurves) -> Self {
        widest(
            #[inline(always)]
            || self.compute_wet(curves),
        );
        Placed { wet: Some(curves), ..self }
    }

    #[inline(always)]
    fn compute_wet(&self, WetCurves { deficit, peak }: &mut WetCurves) {
        let LotSums { stems, remaining, .. } = self.sums;
        let (drying, wet) =
            (&self.after.drying[self.after_start..], &self.after.wet_deficit[self.after_start..]);
        let age = &self.after.age[self.after_start..];
        let x = self.before.deficit[self.before_end];
        let in_water = self.before.in_water[self.before_end] - age[0];
        let apart = x - wet[0];
        let free = age.partition_point(|age| in_water + age <= stems.free_for()).max(1);
        deficit.clear();
        deficit.reserve(wet.len());
        deficit.extend(wet[..free].iter().zip(remaining).map(|(wet, remaining)| wet + apart * remaining));
        for k in free..wet.len() {
            let (decay, gain) = stems.drink(in_water + age[k]);
            deficit.push(deficit[k - 1] * decay + (drying[k] - drying[k - 1]) * gain);
        }
        // A running maximum by blocks, so that no value waits for all those before it.
        peak.clear();
        peak.reserve(deficit.len());
        let mut highest = x;
        for block in deficit.chunks(8) {
            let mut up_to = highest;
            highest = higher(highest, block.iter().copied().fold(block[0], higher));
            peak.extend(block.iter().map(|deficit| {
                up_to = higher(up_to, *deficit);
                up_to
            }));
        }
    }

    fn wet(&self) -> &WetCurves {
        self.wet.expect("with_water comes first where heads drink")
    }

    fn deficit_before(&self) -> Segment<'_> {
        let before = self.before;
        Segment {
            first: before.first,
            peaks: &before.peak[..=self.before_end],
            values: &before.deficit[..=self.before_end],
            base: 0.0,
        }
    }

    /// Age, which is the same for all heads, in water or out of it.
    fn age(&self) -> Curve<'_> {
        let before = &self.before.age[..=self.before_end];
        Curve::new(&[
            Segment { first: self.before.first, peaks: before, values: before, base: 0.0 },
            self.segment(&self.after.age, self.after_start, self.end(), before[self.before_end]),
        ])
    }

    /// Part of a running sum after placement, shifted so that it begins at `value`.
    fn segment<'s>(&'s self, sums: &'s [f64], from: usize, to: usize, value: f64) -> Segment<'s> {
        let part = &sums[from..=to];
        Segment { first: self.after.first + from, peaks: part, values: part, base: value - sums[from] }
    }

    fn heat(&self) -> Curve<'_> {
        let before = &self.before.heat[..=self.before_end];
        Curve::new(&[
            Segment { first: self.before.first, peaks: before, values: before, base: 0.0 },
            self.segment(&self.after.heat, self.after_start, self.end(), before[self.before_end]),
        ])
    }

    fn end(&self) -> usize {
        self.after.drying.len() - 1
    }

    /// The curves that all heads share: out of water, or with all the water that they demand.
    pub(super) fn shared_curves(&self, water: Water) -> HeadCurves<'_> {
        let (after, after_start, end) = (self.after, self.after_start, self.end());
        let deficit = self.before.deficit[self.before_end];
        let deficit = match water {
            Water::None => self.segment(&after.drying, after_start, end, deficit),
            Water::Ample | Water::Tube(_) | Water::Shared(_) => {
                let wet = self.wet();
                Segment {
                    first: after.first + after_start,
                    peaks: &wet.peak,
                    values: &wet.deficit,
                    base: 0.0,
                }
            }
        };
        HeadCurves {
            deficit: Curve::new(&[self.deficit_before(), deficit]),
            age: self.age(),
            heat: self.heat(),
        }
    }

    /// What a head that drinks has drunk by a step after placement, h of the reference air: what has evaporated less the rise
    /// of the deficit.
    fn drunk(&self, step: usize) -> f64 {
        let (drying, start) = (&self.after.drying, self.after_start);
        (self.before.deficit[self.before_end] - self.wet().deficit[step])
            + (drying[start + step] - drying[start])
    }

    /// The step after placement, between `from` and `to`, in which a tube filled at `from` runs empty, and the fraction of
    /// that step after which it does.
    fn empties(&self, from: usize, to: usize, water: f64) -> Option<(usize, f64)> {
        let limit = self.drunk(from) + water;
        if self.drunk(to) <= limit {
            return None;
        }
        let (mut full, mut empty) = (from, to);
        while empty - full > 1 {
            let middle = usize::midpoint(full, empty);
            if self.drunk(middle) <= limit { full = middle } else { empty = middle }
        }
        Some((full, (limit - self.drunk(full)) / (self.drunk(empty) - self.drunk(full))))
    }

    /// When a tube first runs empty: the step after placement, the fraction of it, and the step of the next refill, if there
    /// is one. `water` is what a full tube holds, in h of the reference air.
    pub(super) fn first_empty(&self, water: f64) -> Option<(usize, f64, Option<usize>)> {
        let mut from = 0;
        for refill in &self.refills {
            let refill = refill - self.after_start;
            if let Some((step, share)) = self.empties(from, refill, water) {
                return Some((step, share, Some(refill)));
            }
            from = refill;
        }
        self.empties(from, self.end() - self.after_start, water).map(|(step, share)| (step, share, None))
    }

    /// The curves of heads as if their last filling held nothing; the most that they drink between two fillings, h of the
    /// reference air; and a deficit that none of them exceeds up to the end of the step in which its last filling runs empty.
    ///
    /// # Formula
    /// A head lacks `x` when its tube, which holds `w`, is filled for the last time. When it has lost `e` since and the tube is
    /// empty, it lacks `x + e - w`, no matter when it ran empty. It reaches the limit `l` when `x + e = l + w`, as a dry head
    /// does whose limit is higher by `w`.
    pub(super) fn as_if_dry(&self) -> (HeadCurves<'_>, f64, f64) {
        let (wet, after_start, end) = (self.wet(), self.after_start, self.end());
        let (mut filled, mut most) = (0, 0.0_f64);
        for refill in self.refills.iter().map(|refill| refill - after_start) {
            most = most.max(self.drunk(refill) - self.drunk(filled));
            filled = refill;
        }
        let first = self.after.first + after_start;
        let deficits = [
            self.deficit_before(),
            Segment { first, peaks: &wet.peak[..=filled], values: &wet.deficit[..=filled], base: 0.0 },
            self.segment(&self.after.drying, after_start + filled, end, wet.deficit[filled]),
        ];
        let curves = HeadCurves { deficit: Curve::new(&deficits), age: self.age(), heat: self.heat() };
        // `peak` begins with the deficit at placement.
        let highest = wet.peak[wet.peak.len() - 1] + self.after.steepest;
        (curves, most, highest.max(self.before.peak[self.before_end]))
    }

    /// The curves of a head whose tube runs empty, built in `buffers`; the first argument is what [`Placed::first_empty`]
    /// found, and `water` what a full tube holds, in h of the reference air.
    pub(super) fn own_curves<'s>(
        &'s self,
        (step, share, refill): (usize, f64, Option<usize>),
        water: f64,
        buffers: &'s mut OwnBuffers,
    ) -> HeadCurves<'s> {
        let (after, wet, after_start, end) = (self.after, self.wet(), self.after_start, self.end());
        let k = after_start + step;
        let mix = |dry: f64, wet: f64| dry + share * (wet - dry);
        let x = mix(wet.deficit[step] + (after.drying[k + 1] - after.drying[k]), wet.deficit[step + 1]);
        buffers.emptying_deficit = [wet.deficit[step], x];
        let dry_until = refill.map_or(end, |r| after_start + r);
        if let Some(refill) = refill {
            let x = x + (after.drying[dry_until] - after.drying[k + 1]);
            self.refill(refill, water, x, buffers);
        }
        let emptying =
            |values: &'s [f64; 2]| Segment { first: after.first + k, peaks: values, values, base: 0.0 };
        let first = after.first + after_start;
        let mut deficits = [
            self.deficit_before(),
            Segment { first, peaks: &wet.peak[..=step], values: &wet.deficit[..=step], base: 0.0 },
            emptying(&buffers.emptying_deficit),
            self.segment(&after.drying, k + 1, dry_until, x),
            NO_SEGMENT,
        ];
        let mut len = 4;
        if refill.is_some() {
            let first = after.first + dry_until;
            deficits[4] = Segment { first, peaks: &buffers.peak, values: &buffers.deficit, base: 0.0 };
            len = 5;
        }
        HeadCurves { deficit: Curve::new(&deficits[..len]), age: self.age(), heat: self.heat() }
    }

    /// Steps a head from the refill of its empty tube to the end, into `buffers`.
    fn refill(&self, refill: usize, full: f64, mut x: f64, buffers: &mut OwnBuffers) {
        let (after, after_start, stems) = (self.after, self.after_start, &self.sums.stems);
        let in_water = self.before.in_water[self.before_end] - after.age[after_start];
        let (mut peak, mut water) = (x, full);
        for values in [&mut buffers.deficit, &mut buffers.peak] {
            values.clear();
            values.reserve(self.end() - after_start + 1);
        }
        let mut push = |x: f64, peak: f64| {
            buffers.deficit.push(x);
            buffers.peak.push(peak);
        };
        push(x, peak);
        for k in after_start + refill..self.end() {
            if self.refills.contains(&k) {
                water = full;
            }
            let (decay, gain) = stems.drink(in_water + after.age[k + 1]);
            let drying = after.drying[k + 1] - after.drying[k];
            let (dry, wet) = (x + drying, x * decay + drying * gain);
            let share = if dry - wet > water { water / (dry - wet) } else { 1.0 };
            water = (water - share * (dry - wet)).max(0.0);
            x = dry + share * (wet - dry);
            peak = peak.max(x);
            push(x, peak);
        }
    }

    /// What a head can drink of a tube or a vessel, h of the reference air; `None` if it has none, or no limit.
    ///
    /// # Formula
    /// Heads of a lot that share a vessel drink at one pace in this unit, since it is that of their deficits. So the
    /// vessel is empty for all of them at once, when each has drunk the vessel's water over the sum of what the heads lose
    /// in an hour.
    pub(super) fn full(&self, water: Water, h: usize) -> Option<f64> {
        match water {
            Water::None | Water::Ample => None,
            Water::Tube(grams) => Some(grams * self.sums.per_gram[h]),
            Water::Shared(grams) => Some(grams * self.sums.shared_per_gram),
        }
    }

    /// The outcome of every head, each of weight 1.
    pub fn outcomes(&self, water: Water) -> [HeadOutcome; HEADS] {
        let shared = self.shared_curves(water);
        let mut buffers = OwnBuffers::default();
        std::array::from_fn(|h| {
            if let Some(full) = self.full(water, h)
                && let Some(empty) = self.first_empty(full)
            {
                let at = (self.after.first + self.after_start + empty.0) as f64 + empty.1;
                let curves = self.own_curves(empty, full, &mut buffers);
                return self.outcome(h, &curves, water, self.sums.grid.hour(at));
            }
            self.outcome(h, &shared, water, NEVER)
        })
    }

    fn outcome(&self, h: usize, curves: &HeadCurves, water: Water, empty: f64) -> HeadOutcome {
        let (heads, grid) = (self.sums.heads, self.sums.grid);
        let (flagging, segment) = curves.deficit.first_reach(self.sums.flagging[h]);
        let supplied = water != Water::None && segment > 0;
        let mut outcome = HeadOutcome {
            weight: 1.0,
            flagging: grid.hour(flagging),
            wilted: grid.hour(curves.deficit.first_reach(self.sums.wilted[h]).0),
            past_use: grid.hour(curves.deficit.first_reach(self.sums.past_use[h]).0),
            cause: if supplied && flagging < NEVER { Cause::Supply } else { Cause::Drying },
            empty,
            loss: heads.curve.loss(curves.deficit.at(self.ask).0 * heads.rate[h] * heads.flagging_clock[h]),
        };
        let others = [
            (curves.age.first_reach(heads.life_days[h]).0, Cause::Ageing),
            (curves.heat.first_reach(heads.heat_limit[h]).0, Cause::Heat),
        ];
        for (at, cause) in others.map(|(step, cause)| (grid.hour(step), cause)) {
            if at < outcome.flagging {
                (outcome.flagging, outcome.cause) = (at, cause);
            }
            outcome.wilted = outcome.wilted.min(at);
            outcome.past_use = outcome.past_use.min(at);
        }
        outcome
    }

    /// The lot that was placed.
    pub fn lot(&self) -> &Lot {
        self.sums.lot
    }
}

/// The higher of two numbers, in one instruction: unlike `f64::max` it need not care for NaN.
#[inline(always)]
fn higher(a: f64, b: f64) -> f64 {
    if a > b { a } else { b }
}
