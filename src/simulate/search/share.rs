//! The share of a lot's heads that last, without working all of their fates out.

use super::lines::{Clock, Lines};
use super::placed::{Alone, Placed};
use super::sums::Water;
use crate::flower::population::HEADS;
use crate::numerics::dispatch::widest;
use crate::simulate::outcome::{EndPoint, NEVER, share_left};

impl Placed<'_> {
    /// The share of heads that have not come to a mark at the hour asked about: what [`crate::simulate::outcome::presentable`] says
    /// of their [`Placed::outcomes`], by looking only at those that decide it.
    pub fn share(&self, water: Water, end_point: EndPoint) -> f64 {
        widest(
            #[inline(always)]
            || self.counted(water, end_point),
        )
    }

    #[inline(always)]
    fn counted(&self, water: Water, end_point: EndPoint) -> f64 {
        let heads = self.lives.heads;
        let limits = self.lives.limits(end_point);
        let shared = self.shared(water);
        let ask = self.ask;
        let at = |step: usize| (shared.way.at(step).1, shared.age.at(step).0, shared.heat.at(step).0);
        let all = Limits { way: limits, age: &heads.life_days, heat: &heads.heat_limit };
        let crossed = |h: usize, at: (f64, f64, f64)| all.crossed(h, at);
        let end = |h: usize, clock: &Clock| {
            let way = clock.way.reach(limits[h]).0;
            way.min(clock.age.reach(heads.life_days[h]).0).min(clock.heat.reach(heads.heat_limit[h]).0)
        };
        let (mut ended, mut last, mut next) = (0, f64::NEG_INFINITY, NEVER);
        let now = at(ask);
        // Nothing for those that share their clock, or else all bits.
        let mut apart = [0; HEADS];
        if let Water::Tube(grams) = water {
            let mut room = Alone::default();
            for (h, apart) in apart.iter_mut().enumerate() {
                let full = self.tube(grams, h);
                let Some(empty) = self.first_empty(full) else { continue };
                *apart = u64::MAX;
                let dried = self.dried(empty.0, empty.1);
                // Whether it has ended by the beginning of a step; after its tube is filled up it is known of one
                // that had ended before.
                let refilled = empty.2.map_or(usize::MAX, |refill| self.on.first + self.now + refill);
                let ended_by = |step: usize| match step {
                    step if step <= dried.step => Some(crossed(h, if step == ask { now } else { at(step) })),
                    step if crossed(h, self.stands(&dried, step.min(refilled))) => Some(true),
                    step => (step <= refilled).then_some(false),
                };
                // What is filled up afterwards does not matter to one that has ended.
                let before = |refilled: usize| ended_by(refilled) == Some(true);
                let empty = (empty.0, empty.1, empty.2.filter(|_| !before(refilled)));
                let mut end = || end(h, &self.alone(empty, full, &mut room));
                let known = ended_by(ask);
                // One that had ended when the last known to did changes nothing, nor does one that has not yet when the
                // next does.
                match known {
                    Some(true) if last.is_finite() && ended_by(last as usize) == Some(true) => ended += 1,
                    Some(false) if next.is_finite() && ended_by(next.ceil() as usize) == Some(false) => {}
                    _ => {
                        let end = end();
                        if known.unwrap_or(end <= ask as f64) {
                            ended += 1;
                            last = last.max(end);
                        } else {
                            next = next.min(end);
                        }
                    }
                }
            }
        }
        // Of those that share their clock, how many have ended, and the first limit that any of the others will come to.
        // Limits are above 0, and such numbers are in the order of their bits, of which processors take several at a time.
        ended += (0..HEADS).map(|h| u64::from(all.crossed(h, now)) & !apart[h]).sum::<u64>() as usize;
        let spared = |limits: &[f64; HEADS]| {
            let of = |h: usize| if all.crossed(h, now) { u64::MAX } else { limits[h].to_bits() | apart[h] };
            f64::from_bits((0..HEADS).map(of).fold(NEVER.to_bits(), u64::min))
        };
        let (way, age, heat) = (spared(limits), spared(&heads.life_days), spared(&heads.heat_limit));
        // The last to end of them. One that had ended by the step in which the last known to did changes nothing; most
        // likely it is the one that dries most slowly. Which that is stands in the lowest bits of its limit.
        loop {
            let at_last = if last.is_finite() { at(last as usize) } else { NOTHING };
            let slowest = |h: usize| {
                let later = all.crossed(h, now) & !all.crossed(h, at_last);
                if later { (limits[h].to_bits() & !LOWEST | h as u64) & !apart[h] } else { 0 }
            };
            let slowest = (0..HEADS).map(slowest).fold(0, u64::max);
            if slowest == 0 {
                break;
            }
            let h = (slowest & LOWEST) as usize;
            // What it had not come to by the hour asked about did not end it.
            let by =
                |line: &Lines, limit: f64, now: f64| if limit <= now { line.reach(limit).0 } else { NEVER };
            let end = by(&shared.way, limits[h], now.0)
                .min(by(&shared.age, heads.life_days[h], now.1))
                .min(by(&shared.heat, heads.heat_limit[h], now.2));
            apart[h] = u64::MAX;
            last = last.max(end);
        }
        next = next.min(shared.way.reach(way).0).min(shared.age.reach(age).0).min(shared.heat.reach(heat).0);
        share_left(HEADS, ended, last.min(ask as f64), next, ask as f64)
    }
}

/// What ends heads, by cause.
struct Limits<'a> {
    way: &'a [f64; HEADS],
    age: &'a [f64; HEADS],
    heat: &'a [f64; HEADS],
}

impl Limits<'_> {
    /// Whether a head has come to one of them.
    #[inline(always)]
    fn crossed(&self, h: usize, (way, age, heat): (f64, f64, f64)) -> bool {
        (self.way[h] <= way) | (self.age[h] <= age) | (self.heat[h] <= heat)
    }
}

/// Where nothing has ended yet.
const NOTHING: (f64, f64, f64) = (f64::NEG_INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);

/// The bits that tell heads apart.
const LOWEST: u64 = HEADS as u64 - 1;
const _: () = assert!(HEADS.is_power_of_two());
