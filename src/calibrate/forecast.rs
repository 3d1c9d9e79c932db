//! Forecasts a count of heads at an event, and says what that count is worth as a trial.

use super::evidence::{middle, worth};
use crate::climate::Climate;
use crate::decide::options::Scene;
use crate::decide::placing::{grid, placing};
use crate::event::{Criterion, Event, Order, Piece};
use crate::flower::treatment::{Lying, Treatment};
use crate::numerics::random::Key;
use crate::simulate::journey::Supply;
use crate::simulate::run::LOTS;
use crate::units::Moment;
use rand_distr::{Binomial, Distribution};

/// The number of equally likely counts as which a forecast is kept.
const KEPT: usize = 39;

/// Some heads of an order, placed at one hour and counted at another.
#[derive(Debug, Clone, Copy)]
pub struct Count<'a> {
    /// The event at which they were counted.
    pub event: &'a Event,
    /// The piece that they are in.
    pub piece: &'a Piece,
    /// The order that they fill.
    pub order: &'a Order,
    /// How the heads were set.
    pub treatment: Treatment,
    /// When they were placed, h on the event's clock.
    pub placed: f64,
    /// When they were counted, h on the event's clock.
    pub seen: f64,
    /// How many were counted.
    pub of: u32,
}

impl Count<'_> {
    /// Equally likely counts of presentable heads, in rising order. The same seed gives the same bits.
    pub fn forecast(&self, seed: u64) -> Vec<f64> {
        let Count { event, piece, order, treatment, placed, seen, of } = *self;
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let scene = Scene::new(event, (piece, order), &spaces, (seed, LOTS));
        let hour = scene.grid.hour(scene.grid.index(seen) as f64);
        let shares = scene.shares_at(scene.journey(placed, 0.0, None), treatment, &[hour]);
        let mut generator = Key::named(seed, "forecast").generator(0);
        let mut counts: Vec<f64> = shares
            .iter()
            .flat_map(|lot| {
                let count =
                    Binomial::new(u64::from(of), lot[0].clamp(0.0, 1.0)).expect("a share is a probability");
                (0..8).map(|_| count.sample(&mut generator) as f64).collect::<Vec<_>>()
            })
            .collect();
        counts.sort_unstable_by(f64::total_cmp);
        (0..KEPT).map(|i| counts[(2 * i + 1) * counts.len() / (2 * KEPT)]).collect()
    }

    /// Hours of the reference air that the heads went through until they were counted, boxes and where they stood, and the standard
    /// deviation of the logarithm of that; `None` where only limp heads counted as gone.
    pub fn worth(&self) -> Option<(f64, f64)> {
        let Count { event, piece, order, placed, seen, .. } = *self;
        if order.counts != Criterion::Flagging {
            return None;
        }
        let grid = grid(event);
        let journey = placing(event, piece, &grid, placed, 0.0, &order.refills);
        let (mut sum, mut error) = (0.0, 0.0);
        let after = journey.after.iter();
        let boxed = middle(order.flower, &order.handling).boxed;
        for leg in journey.before.iter().filter(|l| l.supply == Supply::Boxed).chain(after) {
            let (from, to) = (grid.hour(leg.from as f64), grid.hour(leg.to as f64).min(seen));
            if to > from {
                let lies = (order.flower, order.handling.lying);
                let (hours, off) = worth(lies, &event.spaces[leg.space].climate, from, to);
                let hours = if leg.supply == Supply::Boxed { boxed * hours } else { hours };
                sum += hours;
                error += hours * off;
            }
        }
        (sum > 0.0).then(|| (sum, error / sum))
    }

    /// The entry of the count in a notebook, under a number. `forecast` is what was believed beforehand and what the count
    /// teaches, as [`Count::forecast`] and [`Count::worth`] give them.
    pub fn entry(
        &self,
        number: u32,
        presentable: u32,
        (forecast, worth): (&[f64], Option<(f64, f64)>),
        note: &str,
    ) -> Vec<(&'static str, String)> {
        let Count { event, piece, order, treatment, placed, seen, of } = self;
        let lying = Some(order.handling.lying).filter(|l| *l != Lying::OnTop).map_or("", Lying::words);
        let list: Vec<String> = forecast.iter().map(|n| format!("{n:.0}")).collect();
        vec![
            ("entry", "event".to_string()),
            ("trial", number.to_string()),
            ("date", event.date.to_string()),
            ("at", Moment::at(*seen).to_string()),
            ("flower", order.flower.id().to_string()),
            ("lot", order.lot.clone().unwrap_or_default()),
            ("heads", of.to_string()),
            ("conditioning", order.handling.conditioning.words().to_string()),
            ("stage", order.handling.stage.words().to_string()),
            ("leaves", if order.handling.leaves_on { "on" } else { "off" }.to_string()),
            ("lying", lying.to_string()),
            ("treated", treatment.method.words().to_string()),
            ("presentable", presentable.to_string()),
            ("piece", piece.name.clone()),
            ("hours", format!("{:.2}", seen - placed)),
            ("worth", worth.map_or(String::new(), |w| format!("{:.3}", w.0))),
            ("give or take", worth.map_or(String::new(), |w| format!("{:.3}", w.1))),
            ("forecast", list.join(" ")),
            ("note", note.to_string()),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::invented;
    use crate::flower::treatment::Method;

    /// Placed at noon and counted at six, without boxes, heads went through the air of their room for those hours.
    #[test]
    fn a_count_is_worth_the_air_from_placing_to_counting() {
        let counts = |words: &str| {
            invented(
                "[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n",
                &format!("counts = \"{words}\"\n[[piece.flower]]\nflower = \"rose\"\nheads = 40\n"),
            )
        };
        let of = |event: &Event, seen: f64| {
            let (_, piece, order) = event.orders().next().unwrap();
            let treatment = Treatment::new(Method::Tucked, 0.0);
            let told = Count { event, piece, order, treatment, placed: 12.0, seen, of: 40 }.worth();
            let room = &event.spaces[piece.space].climate;
            (told, worth((order.flower, order.handling.lying), room, 12.0, seen))
        };
        for seen in [13.0, 18.0, 22.0] {
            let (told, known) = of(&counts("flagging"), seen);
            let (hours, off) = told.unwrap();
            assert!(
                (hours - known.0).abs() < 1e-9 && (off - known.1).abs() < 1e-9,
                "{seen}: {hours} {known:?}"
            );
        }
        assert_eq!(of(&counts("flagging"), 11.0).0, None, "counted before it was placed");
        assert_eq!(of(&counts("wilted"), 18.0).0, None);
    }
}
