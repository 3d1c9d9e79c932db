//! How long the parts of the program take by themselves: `cargo bench --bench parts`, or with a word of their names after
//! `--` for some of them. Small samples, to be compared with themselves before and after a change.

use divan::{Bencher, black_box, counter::ItemsCount};
use headwater::calibrate::fit::Posterior;
use headwater::calibrate::notebook::Notebook;
use headwater::climate::series::ClimateSeries;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::decide::plan::{Settings, finish, plan};
use headwater::decide::prospects::prospects;
use headwater::event::{Event, TEMPLATE};
use headwater::flower::catalogue::{Catalogue, Flower};
use headwater::flower::population::{HEADS, Heads, Lot};
use headwater::flower::treatment::{Handling, Method, Treatment};
use headwater::numerics::random::Key;
use headwater::report::facts::Facts;
use headwater::report::render::terminal;
use headwater::report::sections;
use headwater::simulate::journey::{Grid, Leg, Placing, StepBuilder, Supply, forcing_series};
use headwater::simulate::kernel::{DryingState, Schedule};
use headwater::simulate::outcome::EndPoint;
use headwater::simulate::run::{Job, Knowledge, Lots, cases, draws};

/// 4,096 heads.
const LOTS: usize = 128;
const SETTINGS: Settings = Settings { seed: 1, lots: LOTS, hotter: 0.0 };

fn main() {
    divan::main();
}

fn rose() -> &'static Flower {
    Catalogue::shipped().find("rose").expect("roses")
}

fn two_days() -> Grid {
    Grid::covering(0.0, 48.0, 1.0 / 6.0)
}

/// A barn by day and night.
fn barn() -> Climate {
    let warmth = |h: f64| (h, Air::indoors(28.0 - 5.0 * ((h - 15.0) / 3.82).cos().abs(), 0.5).unwrap());
    Climate::daily((0..24).map(|h| warmth(f64::from(h))).collect(), ClimateError::GUESSED).unwrap()
}

fn supper() -> Event {
    Event::read("supper.toml", TEMPLATE, &|_| unreachable!("it names no log")).expect("it reads")
}

/// Drawing lots and their heads.
#[divan::bench]
fn sampling(bencher: Bencher) {
    let (flower, handling) = (rose(), Handling::default());
    bencher.counter(ItemsCount::new(LOTS * HEADS)).bench(|| {
        let draws = draws(flower, &handling, 1, LOTS);
        let heads = draws.iter().enumerate().map(|(i, draws)| {
            let lot = Lot::new(flower, &handling, draws);
            Heads::new(flower, &handling, &lot, &Key::named(1, flower.id()).columns(i))
        });
        heads.collect::<Vec<_>>()
    });
}

/// What the air of two days does to a lot.
#[divan::bench]
fn air(bencher: Bencher) {
    let (flower, handling, grid, barn) = (rose(), Handling::default(), two_days(), barn());
    let series: ClimateSeries = (0..grid.steps).map(|n| barn.at(grid.hour(n as f64 + 0.5))).collect();
    let lot = Lot::new(flower, &handling, &draws(flower, &handling, 1, LOTS)[0]);
    let skin = flower.skin();
    bencher
        .counter(ItemsCount::new(grid.steps))
        .bench(|| forcing_series(black_box(&series), barn.error, &skin, &lot, &grid, [0.4; 2]));
}

/// A lot in tubes, step by step.
#[divan::bench]
fn kernel(bencher: Bencher) {
    let (flower, handling, grid, barn) = (rose(), Handling::default(), two_days(), barn());
    let series: ClimateSeries = (0..grid.steps).map(|n| barn.at(grid.hour(n as f64 + 0.5))).collect();
    let lot = Lot::new(flower, &handling, &draws(flower, &handling, 1, LOTS)[LOTS / 2]);
    let heads = Heads::new(flower, &handling, &lot, &Key::named(1, flower.id()).columns(0));
    let forcings = [forcing_series(&series, barn.error, &flower.skin(), &lot, &grid, [0.4; 2])];
    let leg = Leg { space: 0, from: 0, to: grid.steps, supply: Supply::Tube };
    let steps = StepBuilder::new(&forcings, &lot, &grid).steps(&[leg], &[]);
    let start = Schedule { start: 0, placed: 0, ask: grid.steps };
    bencher.counter(ItemsCount::new(HEADS * grid.steps)).bench(|| {
        let mut state = DryingState::new(&heads, &grid, &start);
        state.fill_tubes(3.0);
        state.advance(black_box(&steps));
        state.flagging_hours()
    });
}

/// All placing times of a day, by search.
#[divan::bench(args = ["dry", "tube", "vase"])]
fn search(bencher: Bencher, name: &str) {
    let (grid, barn) = (two_days(), [barn()]);
    let method = match name {
        "dry" => Method::Tucked,
        "tube" => Method::WaterTube,
        _ => Method::BudVase,
    };
    let placing = |i: usize| Placing {
        before: vec![Leg { space: 0, from: 0, to: 12 + 6 * i, supply: Supply::Ample }],
        after: vec![Leg { space: 0, from: 12 + 6 * i, to: grid.steps, supply: Supply::Dry }],
        refills: Vec::new(),
        ask: 240,
    };
    let placings: Vec<Placing> = (0..24).map(placing).collect();
    let cases = cases(&placings, &[Treatment::new(method, 3.0)]);
    let job = Job {
        flower: rose(),
        handling: Handling::default(),
        spaces: &barn,
        touched: &[0],
        grid,
        seed: 1,
        lots: LOTS,
    };
    let drawn = Lots::new(job).unwrap();
    let heads = ItemsCount::new(LOTS * HEADS * placings.len());
    bencher.counter(heads).bench(|| drawn.shares(Knowledge::AsItIs, &cases, EndPoint::Flagging).unwrap());
}

/// Everything that a plan tries.
#[divan::bench]
fn trying(bencher: Bencher) {
    bencher.with_inputs(supper).bench_values(|event| prospects(event, SETTINGS).expect("a plan"));
}

/// What is decided once all is tried, and what follows of it.
#[divan::bench]
fn deciding(bencher: Bencher) {
    bencher.with_inputs(|| prospects(supper(), SETTINGS).expect("a plan")).bench_values(finish);
}

/// The words of a plan.
#[divan::bench]
fn telling(bencher: Bencher) {
    let plan = plan(supper(), SETTINGS).expect("a plan");
    bencher.bench(|| terminal::text(&sections::plan(&Facts::of(&plan)), 96));
}

/// What the notes of a season teach of a flower.
#[divan::bench]
fn calibration(bencher: Bencher) {
    let text = include_str!("../reference-data/demo/notebook.csv");
    let notes = Notebook::read("notebook.csv", text, &|_| unreachable!("it names no log")).expect("it reads");
    let flower = notes.trials[0].flower;
    let evidence = notes.evidence(flower);
    bencher.bench(|| Posterior::of(flower, black_box(&evidence)));
}
