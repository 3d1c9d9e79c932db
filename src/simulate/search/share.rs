//! The share of a lot's heads that last, without working all of their fates out.

use super::Water;
use super::lines::Clock;
use super::placed::{Alone, Placed};
use crate::flower::population::HEADS;
use crate::simulate::kernel::{Mark, NEVER};
use crate::simulate::run::share_left;

impl Placed<'_> {
    /// The share of heads that have not come to a mark at the hour asked about: what [`crate::simulate::run::presentable`] says
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
        let now = at(ask);
        let mut sharing = [true; HEADS];
        if let Water::Tube(grams) = water {
            let mut room = Alone::default();
            for (h, sharing) in sharing.iter_mut().enumerate() {
                let full = self.tube(grams, h);
                let Some(empty) = self.first_empty(full) else { continue };
                *sharing = false;
                let dried = self.dried(empty.0, empty.1);
                // Whether it has ended by the beginning of a step; unknown where its tube is filled up again.
                let ended_by = |step: usize| match step {
                    _ if empty.2.is_some() => None,
                    step if step <= dried.step => Some(crossed(h, if step == ask { now } else { at(step) })),
                    step => Some(crossed(h, self.stands(&dried, step))),
                };
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
}
