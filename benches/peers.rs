//! The stepped kernel and the search on one problem, which `benches/peers/run` also gives to the same equations in NumPy,
//! Numba and C.
//!
//! The problem: heads of roses in 3 ml tubes for two days in a barn by day and night, a lot at a time, each lot in its own
//! error of climate. With a folder as argument the problem is written there as `problem.bin`, little-endian doubles.
//! Printed are processor seconds, seconds by the clock and quantiles, one a line.

mod common;

use common::{Spent, spent};
use headwater::climate::series::ClimateSeries;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::flower::catalogue::Catalogue;
use headwater::flower::population::{HEADS, Heads, Lot};
use headwater::flower::treatment::{Handling, Method, TUBE_USABLE, Treatment};
use headwater::numerics::random::Key;
use headwater::simulate::journey::{Grid, Leg, Placing, Step, StepBuilder, Supply, forcing_series};
use headwater::simulate::kernel::{DryingState, Schedule};
use headwater::simulate::outcome::EndPoint;
use headwater::simulate::run::{Job, Knowledge, Lots, cases, draws};
use headwater::stats::quantile;
use rayon::prelude::*;
use std::hint::black_box;

const LOTS: usize = 256;
const TUBE_ML: f64 = 3.0;
const TIMES: usize = 24;
const SEED: u64 = 1;

fn print(name: &str, Spent { processor, clock }: Spent) {
    println!("{name} {processor}");
    println!("{name}-clock {clock}");
}

fn main() {
    let flower = Catalogue::shipped().find("rose").expect("roses");
    let grid = Grid::covering(0.0, 48.0, 1.0 / 6.0);
    let knots = (0..24)
        .map(f64::from)
        .map(|h| (h, Air::indoors(28.0 - 5.0 * ((h - 15.0) / 3.82).cos().abs(), 0.5).unwrap()));
    let barn = [Climate::daily(knots.collect(), ClimateError::GUESSED).unwrap()];
    let handling = Handling::default();

    // The stepped kernel alone: drawn lots and their courses are given.
    let series: ClimateSeries = (0..grid.steps).map(|n| barn[0].at(grid.hour(n as f64 + 0.5))).collect();
    let errors = Key { seed: SEED, stream: 0 }.rows(LOTS);
    let leg = Leg { space: 0, from: 0, to: grid.steps, supply: Supply::Tube };
    let lots: Vec<(Heads, Vec<Step>)> = draws(flower, &handling, SEED, LOTS)
        .iter()
        .enumerate()
        .map(|(i, draws)| {
            let lot = Lot::new(flower, &handling, draws);
            let heads = Heads::new(flower, &handling, &lot, &Key::named(SEED, flower.id()).columns(i));
            // The peers know drying alone.
            let heads =
                Heads { life_days: [f64::INFINITY; HEADS], heat_limit: [f64::INFINITY; HEADS], ..heads };
            let forcings = [forcing_series(&series, barn[0].error, &flower.skin(), &lot, &grid, errors[i])];
            let steps = StepBuilder::new(&forcings, &lot, &grid).steps(&[leg], &[]);
            (heads, steps)
        })
        .collect();
    let start = Schedule { start: 0, placed: 0, ask: grid.steps };
    let step = || -> Vec<[f64; HEADS]> {
        lots.par_iter()
            .map(|(heads, steps)| {
                let mut state = DryingState::new(heads, &grid, &start);
                state.fill_tubes(TUBE_ML * TUBE_USABLE);
                state.advance(steps);
                state.flagging_hours()
            })
            .collect()
    };
    let mut ends = step().concat();
    ends.sort_unstable_by(f64::total_cmp);
    for p in [0.01, 0.05, 0.1, 0.25] {
        println!("quantile {p} {}", quantile(&ends, p).unwrap());
    }
    print("kernel", spent(|| drop(black_box(step()))));

    // All placing times of a day: step by step, and by search.
    let job = Job { flower, handling, spaces: &barn, touched: &[0], grid, seed: SEED, lots: LOTS };
    let drawn = Lots::new(job).unwrap();
    let placings: Vec<Placing> = (0..TIMES)
        .map(|i| {
            let at = 12 + 6 * i;
            Placing {
                before: vec![Leg { space: 0, from: 0, to: at, supply: Supply::Ample }],
                after: vec![Leg { space: 0, from: at, to: grid.steps, supply: Supply::Dry }],
                refills: Vec::new(),
                ask: 240,
            }
        })
        .collect();
    for (name, method) in [("dry", Method::Tucked), ("tube", Method::WaterTube), ("vase", Method::BudVase)] {
        let cases = cases(&placings, &[Treatment::new(method, TUBE_ML)]);
        print(&format!("{name}-stepped"), spent(|| drop(black_box(drawn.stepped(&cases).unwrap()))));
        let search = || drawn.shares(Knowledge::AsItIs, &cases, EndPoint::Flagging).unwrap();
        print(&format!("{name}-search"), spent(|| drop(black_box(search()))));
    }

    if let Some(folder) = std::env::args().nth(1).filter(|a| !a.starts_with('-')) {
        let mut numbers =
            vec![LOTS as f64, HEADS as f64, grid.steps as f64, TUBE_ML * TUBE_USABLE, grid.step];
        for (heads, _) in &lots {
            numbers.extend(heads.rate);
        }
        for (heads, _) in &lots {
            numbers.extend((0..HEADS).map(|h| heads.flagging_clock[h] * heads.mass[h]));
        }
        // What of a deficit a step leaves, and of its drying, as the peers' equations have it.
        let (left, felt) = (|s: &Step| 1.0 - s.recovery, |s: &Step| 1.0 - s.covered / s.forcing.drying);
        for value in [|s: &Step| s.forcing.drying, left, felt] {
            for (_, steps) in &lots {
                numbers.extend(steps.iter().map(value));
            }
        }
        let bytes: Vec<u8> = numbers.iter().flat_map(|v| v.to_le_bytes()).collect();
        std::fs::write(std::path::Path::new(&folder).join("problem.bin"), bytes)
            .expect("the folder can be written to");
    }
}
