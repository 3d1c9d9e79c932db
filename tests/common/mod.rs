//! Scenes and events that several test files share.
#![allow(dead_code, reason = "each test file uses its own part")]

pub mod balance;

use headwater::calibrate::notebook::Notebook;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::decide::order::OrderPlan;
use headwater::decide::plan::{Plan, Settings, plan};
use headwater::event::Event;
use headwater::flower::catalogue::{Catalogue, Flower};
use headwater::flower::population::{HEADS, Heads, Lot};
use headwater::flower::treatment::{Handling, Method, Treatment};
use headwater::numerics::random::Key;
use headwater::simulate::journey::{Grid, Leg, Placing, Supply};
use headwater::simulate::outcome::HeadOutcome;
use headwater::simulate::run::{Job, Knowledge, Lots, cases, draws};

/// Says that a check is left out because something is not installed; where all checks are asked for, that is a failure.
pub fn missing(what: &str) {
    use std::io::Write;
    assert!(std::env::var_os("HEADWATER_ALL_CHECKS").is_none(), "{what}");
    // Past what a test's output is kept from, so that it is seen.
    let _ = writeln!(std::io::stderr(), "LEFT OUT: {what}");
}

/// All flowers and foliages.
pub fn flowers() -> &'static [Flower] {
    Catalogue::shipped().all()
}

/// One of them.
pub fn flower(name: &str) -> &'static Flower {
    Catalogue::shipped().find(name).expect("a flower of the catalogue")
}

/// A flower in one climate from the hour it is placed.
#[derive(Clone)]
pub struct Scene {
    pub flower: &'static Flower,
    pub handling: Handling,
    pub climate: Climate,
    pub grid: Grid,
    pub tube_ml: f64,
    pub refills: Vec<usize>,
    pub seed: u64,
    pub lots: usize,
}

impl Scene {
    /// A few lots of it for ten days.
    pub fn new(flower: &'static Flower, air: Air) -> Scene {
        Scene {
            flower,
            handling: Handling::default(),
            climate: Climate::constant(air, ClimateError::NONE),
            grid: Grid::covering(0.0, 240.0, 0.5),
            tube_ml: 10.0,
            refills: Vec::new(),
            seed: 11,
            lots: 2,
        }
    }

    /// The same heads in another air.
    pub fn in_air(&self, air: Air) -> Scene {
        Scene { climate: Climate::constant(air, self.climate.error), ..self.clone() }
    }

    /// The same heads in another state.
    pub fn handled(&self, change: impl Fn(&mut Handling)) -> Scene {
        let mut other = self.clone();
        change(&mut other.handling);
        other
    }

    /// The outcomes of its heads lot by lot; in a tube or vase those that get water first.
    pub fn lots_of(&self, method: Method) -> Vec<Vec<HeadOutcome>> {
        self.simulated(&[method])
    }

    /// The outcomes of its heads lot by lot, one method after the other.
    fn simulated(&self, methods: &[Method]) -> Vec<Vec<HeadOutcome>> {
        let climates = [self.climate.clone()];
        let job = Job {
            flower: self.flower,
            handling: self.handling,
            spaces: &climates,
            touched: &[0],
            grid: self.grid,
            seed: self.seed,
            lots: self.lots,
        };
        let placing = Placing {
            after: vec![Leg { space: 0, from: 0, to: self.grid.steps, supply: Supply::Dry }],
            refills: self.refills.clone(),
            ask: self.grid.steps / 4,
            ..Placing::default()
        };
        Lots::new(job)
            .unwrap()
            .simulate(
                Knowledge::AsItIs,
                &cases(&[placing], &Treatment::all(methods, self.tube_ml)),
                |_, outcomes: &[HeadOutcome]| outcomes.to_vec(),
            )
            .unwrap()
            .into_iter()
            .map(|lot| lot.concat())
            .collect()
    }

    /// The outcomes of all its heads.
    pub fn outcomes(&self, method: Method) -> Vec<HeadOutcome> {
        self.lots_of(method).concat()
    }

    /// The outcomes of all its heads with each of the methods that have a clock of their own.
    pub fn all_outcomes(&self) -> Vec<HeadOutcome> {
        self.simulated(&[Method::Tucked, Method::WaterTube, Method::BudVase]).concat()
    }

    /// The lots and heads behind its outcomes.
    pub fn drawn(&self) -> Vec<(Lot, Heads)> {
        drawn(self.flower, &self.handling, self.seed, self.lots)
    }
}

/// Lots of a flower with their heads.
pub fn drawn(flower: &Flower, handling: &Handling, seed: u64, lots: usize) -> Vec<(Lot, Heads)> {
    let key = Key::named(seed, flower.id());
    draws(flower, handling, seed, lots)
        .into_iter()
        .enumerate()
        .map(|(i, draws)| {
            let lot = Lot::new(flower, handling, &draws);
            (lot, Heads::new(flower, handling, &lot, &key.columns(i)))
        })
        .collect()
}

/// A quantile of equally likely values, infinite ones among them.
pub fn quantile(mut values: Vec<f64>, p: f64) -> f64 {
    values.sort_unstable_by(f64::total_cmp);
    headwater::stats::quantile(&values, p).unwrap()
}

/// Mean and sample variance.
pub fn moments(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    (mean, variance)
}

/// How many heads a lot is simulated with.
pub const HEADS_IN_A_LOT: usize = HEADS;

/// A lunch in a garden, where it is the heat of the day that decides. Invented.
pub const LUNCH: &str = r#"[event]
name = "Invented garden lunch"
date = 2027-06-12
doors = "13:00"
end = "18:00"
[[access]]
from = "09:00"
to = "13:00"
[crew]
people = 3
hourly = "£20"
[[tubes]]
volume = "10 ml"
price = "£0.40"
[[space]]
name = "garden"
normals = "low 10 C, high 21 C; one day in ten above 27 C; middling"
outdoors = true
[[piece]]
name = "tables"
space = "garden"
until = "16:30"
[[piece.flower]]
flower = "rose"
heads = 120
[[piece.flower]]
flower = "carnation"
heads = 80
"#;

/// An event that needs no files.
pub fn event(text: &str) -> Event {
    Event::read("event.toml", text, &|name| Err(std::io::Error::other(format!("no file {name}"))))
        .unwrap_or_else(|e| panic!("{e:?}\n{text}"))
}

/// A notebook that names no log.
pub fn notes(text: &str) -> Notebook {
    Notebook::read("trials.csv", text, &|_| unreachable!("it names no log")).unwrap()
}

/// The plan of an event that needs no files.
pub fn planned(text: &str) -> Plan {
    plan(event(text), Settings::default()).expect("a plan")
}

/// The median share presentable of a treatment, in the smallest tube, placed at an hour.
pub fn share(order: &OrderPlan, method: Method, at: f64) -> f64 {
    let treatment =
        order.options.iter().map(|o| o.treatment).find(|t| t.method == method).expect("it is tried");
    order
        .of(treatment)
        .find(|c| (c.place_at - at).abs() < 1e-6)
        .unwrap_or_else(|| panic!("{method} is not tried at {at} h"))
        .share
        .p50
}
