//! The share of a lot's heads that are left at one hour, from the few heads that decide it.

use super::curves::{Curve, HeadCurves};
use super::placed::{OwnBuffers, Placed};
use super::sums::Water;
use crate::flower::population::HEADS;
use crate::numerics::dispatch::widest;
use crate::simulate::outcome::{EndPoint, NEVER, share_left};

impl Placed<'_> {
    /// The share of heads that have not reached an end-point at the step that [`Placed`] was asked about.
    ///
    /// It equals [`presentable`](crate::simulate::outcome::presentable) of [`Placed::outcomes`] at that hour. But the
    /// interpolation there needs the times of only two heads, the last to end before the hour and the first to end after
    /// it. Of all others it is enough to know on which side of the hour they end.
    pub fn share(&self, water: Water, end_point: EndPoint) -> f64 {
        widest(
            #[inline(always)]
            || self.count_left(water, end_point),
        )
    }

    #[inline(always)]
    fn count_left(&self, water: Water, end_point: EndPoint) -> f64 {
        let heads = self.sums.heads;
        let mut limits = *self.sums.limits(end_point);
        let ask = self.ask;
        let (mut ended, mut last, mut next) = (0, f64::NEG_INFINITY, NEVER);
        // All bits set for heads that have been dealt with one by one, none for those on the shared curves.
        let mut excluded = [0; HEADS];
        let shared = match water {
            Water::None | Water::Ample => self.shared_curves(water),
            Water::Tube(_) | Water::Shared(_) => {
                // A head in a tube is a dry one that can lose as much more as its tube holds. One whose tube may run empty before
                // it is filled up, or that may end while it drinks, is followed by itself.
                let (as_if_dry, most, highest) = self.as_if_dry();
                let mut buffers = OwnBuffers::default();
                for h in 0..HEADS {
                    let Some(full) = self.full(water, h) else { continue };
                    let limit = limits[h];
                    limits[h] = limit + full;
                    if limit > highest && full >= most {
                        continue;
                    }
                    excluded[h] = u64::MAX;
                    let end = self.end_with(h, limit, full, &mut buffers);
                    if end <= ask as f64 {
                        ended += 1;
                        last = last.max(end);
                    } else {
                        next = next.min(end);
                    }
                }
                as_if_dry
            }
        };
        let limits = &limits;
        let at = |step: usize| (shared.deficit.at(step).1, shared.age.at(step).0, shared.heat.at(step).0);
        let now = at(ask);
        let all = Limits { deficit: limits, age: &heads.life_days, heat: &heads.heat_limit };
        // Of the heads on the shared curves: how many have ended, and the lowest limit among those that have not. Limits are
        // positive, and positive doubles sort like their bits as integers, which vector instructions compare.
        ended += (0..HEADS).map(|h| u64::from(all.reached(h, now)) & !excluded[h]).sum::<u64>() as usize;
        let next_limit = |limits: &[f64; HEADS]| {
            let of =
                |h: usize| if all.reached(h, now) { u64::MAX } else { limits[h].to_bits() | excluded[h] };
            f64::from_bits((0..HEADS).map(of).fold(NEVER.to_bits(), u64::min))
        };
        let (deficit, age, heat) =
            (next_limit(limits), next_limit(&heads.life_days), next_limit(&heads.heat_limit));
        // The last to end of them. Heads that had ended by the step of the latest end so far cannot be it. Try the slowest to
        // dry first, since it most likely is; its number is kept in the lowest bits of its limit.
        loop {
            let at_last = if last.is_finite() { at(last as usize) } else { NOTHING };
            let slowest = |h: usize| {
                let later = all.reached(h, now) & !all.reached(h, at_last);
                if later { (limits[h].to_bits() & !LOWEST | h as u64) & !excluded[h] } else { 0 }
            };
            let slowest = (0..HEADS).map(slowest).fold(0, u64::max);
            if slowest == 0 {
                break;
            }
            let h = (slowest & LOWEST) as usize;
            // A limit that it has not reached by the hour did not end it.
            let by = |segment: &Curve, limit: f64, now: f64| {
                if limit <= now { segment.first_reach(limit).0 } else { NEVER }
            };
            let end = by(&shared.deficit, limits[h], now.0)
                .min(by(&shared.age, heads.life_days[h], now.1))
                .min(by(&shared.heat, heads.heat_limit[h], now.2));
            excluded[h] = u64::MAX;
            last = last.max(end);
        }
        next = next
            .min(shared.deficit.first_reach(deficit).0)
            .min(shared.age.first_reach(age).0)
            .min(shared.heat.first_reach(heat).0);
        share_left(HEADS, ended, last.min(ask as f64), next, ask as f64)
    }

    /// The step at which a head ends, given the limit to its deficit and what its tube, or its part of a vessel, holds.
    #[inline(never)]
    fn end_with(&self, h: usize, limit: f64, full: f64, buffers: &mut OwnBuffers) -> f64 {
        let heads = self.sums.heads;
        let end = |curves: &HeadCurves| {
            let deficit = curves.deficit.first_reach(limit).0;
            deficit
                .min(curves.age.first_reach(heads.life_days[h]).0)
                .min(curves.heat.first_reach(heads.heat_limit[h]).0)
        };
        let Some((step, share, refill)) = self.first_empty(full) else {
            return end(&self.shared_curves(Water::Ample));
        };
        let unfilled = end(&self.own_curves((step, share, None), full, buffers));
        match refill {
            // A head that ended before the refill has no use for it.
            Some(refill) if unfilled > (self.after.first + self.after_start + refill) as f64 => {
                end(&self.own_curves((step, share, Some(refill)), full, buffers))
            }
            _ => unfilled,
        }
    }
}

/// The limits of all heads: deficit, age, dose of heat.
struct Limits<'a> {
    deficit: &'a [f64; HEADS],
    age: &'a [f64; HEADS],
    heat: &'a [f64; HEADS],
}

impl Limits<'_> {
    /// Whether a head has reached one of its limits.
    #[inline(always)]
    fn reached(&self, h: usize, (deficit, age, heat): (f64, f64, f64)) -> bool {
        (self.deficit[h] <= deficit) | (self.age[h] <= age) | (self.heat[h] <= heat)
    }
}

/// Levels that lie below every limit.
const NOTHING: (f64, f64, f64) = (f64::NEG_INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY);

/// The bits that hold the number of a head.
const LOWEST: u64 = HEADS as u64 - 1;
const _: () = assert!(HEADS.is_power_of_two());
