//! What the notebook teaches: simulated florists whose truth is known, held against what they learn.

use headwater::calibrate::evidence::Evidence;
use headwater::calibrate::fit::Posterior;
use headwater::calibrate::trial::{Look, READ_HERE, Trial};
use headwater::climate::{Air, Climate};
use headwater::flower::catalogue::{Catalogue, Flower, Quantity};
use headwater::flower::population::{HEADS, Heads, LOT_TRAITS, Lot, LotTrait, Shares, normal, two_piece};
use headwater::flower::treatment::Handling;
use headwater::physics::transpiration::Skin;
use headwater::simulate::journey::{Grid, drive};
use headwater::simulate::kernel::{Start, State};
use headwater::simulate::random::Key;
use rand::RngExt;
use rayon::prelude::*;

fn flower(name: &str) -> &'static Flower {
    Catalogue::shipped().find(name).unwrap()
}

/// A florist whose flowers are as the program's own simulator makes them, and who knows nothing of what it drew.
struct Florist {
    flower: &'static Flower,
    /// Uniform draws of what is not known of the flower.
    truth: [f64; LOT_TRAITS],
    key: Key,
    trials: u32,
}

impl Florist {
    fn new(flower: &'static Flower, number: u64) -> Florist {
        let key = Key::named(number, "florist");
        let mut generator = key.generator(0);
        Florist { flower, truth: std::array::from_fn(|_| generator.random_range(1e-9..1.0)), key, trials: 0 }
    }

    /// Dry hours of the middle head of the middle delivery, the truth to be found.
    fn typical_hours(&self) -> f64 {
        let unknown = Shares::of(self.flower.confidence()).ignorance.sqrt();
        let z = unknown * normal(self.truth[LotTrait::Ignorance as usize]);
        two_piece(self.flower.parameter(Quantity::DryHours), z)
    }

    /// Ten heads of a new delivery in some air that a thermometer misreads a little, looked at every hour or two.
    fn trial(&mut self, air: Air) -> Trial {
        self.trials += 1;
        let mut generator = self.key.generator(self.trials);
        let mut draw = || generator.random_range(1e-9..1.0);
        let mut draws = self.truth;
        for of_lot in [LotTrait::Lot, LotTrait::LifeLot, LotTrait::Supply] {
            draws[of_lot as usize] = draw();
        }
        let handling = Handling::default();
        let lot = Lot::new(self.flower, &handling, &draws);
        let of_heads = std::array::from_fn(|_| std::array::from_fn(|_| draw()));
        let heads = Heads::new(self.flower, &handling, &lot, &of_heads);
        let typical = self.flower.median(Quantity::DryHours);
        let grid = Grid::covering(0.0, 12.0 * typical, typical / 60.0);
        let climate = Climate::constant(air, READ_HERE);
        let skin: Skin = self.flower.skin();
        let steps = drive(&vec![air; grid.steps], READ_HERE, &skin, &lot, &grid, [draw(), draw()]);
        let mut state = State::new(&heads, &grid, &Start { at: 0, placed: 0, tube: 0.0, ask: 0 });
        state.stay_dry(&steps);
        let ends: Vec<f64> = state.fates().iter().take(10).map(|f| f.flagging).collect();
        assert!(HEADS >= 10);
        let looks = (1..=16)
            .map(|i| {
                let at = f64::from(i) * typical / 6.0;
                let well = ends.iter().filter(|e| **e > at).count() as u32;
                Look { at, of: 10, presentable: Some(well), wilted: None, weight_g: None }
            })
            .collect();
        Trial {
            number: self.trials,
            date: jiff::civil::date(2027, 6, 13),
            start: 0.0,
            flower: self.flower,
            lot: None,
            heads: 10,
            handling,
            treated: String::new(),
            climate,
            air: String::new(),
            looks,
        }
    }
}

/// How often the truth lies in the 90 % range, and how wide that is, over many florists with as many trials each.
fn coverage(name: &str, trials: u32, florists: std::ops::Range<u64>) -> (f64, f64) {
    let flower = flower(name);
    let n = (florists.end - florists.start) as f64;
    let found: Vec<(bool, f64)> = florists
        .into_par_iter()
        .map(|number| {
            let mut florist = Florist::new(flower, number);
            let notes: Vec<Evidence> = (0..trials)
                .filter_map(|i| {
                    let air = Air::indoors(19.0 + f64::from(i % 4) * 2.0, 0.40 + 0.05 * f64::from(i % 3));
                    Evidence::of(&florist.trial(air))
                })
                .collect();
            let posterior = Posterior::of(flower, &notes);
            let band = posterior.typical_hours();
            let inside = (band.p05..=band.p95).contains(&florist.typical_hours());
            (inside, (band.p95 / band.p05).ln())
        })
        .collect();
    let inside = found.iter().filter(|f| f.0).count() as f64 / n;
    (inside, found.iter().map(|f| f.1).sum::<f64>() / n)
}

#[test]
fn ranges_hold_the_truth_as_often_as_they_say() {
    for name in ["dahlia", "rose", "carnation"] {
        let mut last = f64::INFINITY;
        for trials in [10] {
            let (inside, width) = coverage(name, trials, 5000..5400);
            println!("{name} {trials}: {inside:.3} width {width:.3}");
            assert!(width < last, "{name}: {trials} trials leave {width}, fewer {last}");
            last = width;
        }
    }
}
