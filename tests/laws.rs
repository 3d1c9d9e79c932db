//! What must hold for every flower, whatever the values in its catalogue.

mod common;

use common::balance::{Surface, Water, exact};
use common::{HEADS_IN_A_LOT as HEADS, Scene, drawn, event, flower, flowers, moments, quantile};
use headwater::climate::air::saturation_vapour_pressure;
use headwater::climate::series::ClimateSeries;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::decide::hours::{Question, answer};
use headwater::decide::plan::{Settings, plan};
use headwater::flower::catalogue::Flower;
use headwater::flower::population::Heads;
use headwater::flower::treatment::{Conditioning, Handling, Lying, Method, Stage};
use headwater::physics::ageing::heat_injury_rate;
use headwater::physics::leaf::{in_series, radiative_conductance};
use headwater::physics::transpiration::{
    Skin, WAX_SOFTENS_C, absorbed, boundary, reference_flux, water_loss, water_loss_against,
};
use headwater::simulate::journey::{Grid, Leg, Step, StepBuilder, Supply, forcing_series};
use headwater::simulate::kernel::{DryingState, Schedule};
use headwater::simulate::outcome::{Cause, HeadOutcome, presentable};
use proptest::prelude::*;

const ROUNDING: f64 = 1e-9;

/// The treatments with a clock of their own.
const CLOCKS: [Method; 3] = [Method::Tucked, Method::WaterTube, Method::BudVase];

fn ordinary_room() -> Air {
    Air::indoors(21.0, 0.45).unwrap()
}

/// Kinds of air that an event may meet.
fn series() -> [Air; 4] {
    [
        ordinary_room(),
        Air::indoors(29.0, 0.55).unwrap(),
        Air { sun: 300.0, speed: 0.5, outdoors: true, ..Air::indoors(24.0, 0.5).unwrap() },
        Air { sun: 150.0, ..Air::indoors(38.0, 0.3).unwrap() },
    ]
}

/// Head by head and treatment by treatment, the worse case never outlives the better one. Returns how many heads end
/// sooner, so that a case which changes nothing is seen.
fn never_longer(better: &[HeadOutcome], worse: &[HeadOutcome], what: &str) -> usize {
    assert_eq!(better.len(), worse.len());
    let mut sooner = 0;
    for (a, b) in better.iter().zip(worse) {
        sooner += usize::from(b.flagging < a.flagging - ROUNDING);
        assert!(
            b.flagging <= a.flagging + ROUNDING && b.wilted <= a.wilted + ROUNDING,
            "{what} lengthens a life: {a:?} to {b:?}"
        );
    }
    sooner
}

#[test]
fn more_heat_at_the_same_moisture_never_lengthens_life() {
    let mut sooner = 0;
    for flower in flowers() {
        for air in series() {
            let scene = Scene::new(flower, air);
            let cooler = scene.all_outcomes();
            for kelvin in [0.5, 5.0] {
                let hotter = scene.in_air(air.shifted(kelvin, 0.0)).all_outcomes();
                let what = format!("{}: {kelvin} K on {air:?}", flower.id());
                sooner += never_longer(&cooler, &hotter, &what);
            }
        }
    }
    assert!(sooner > 10_000, "heat shortens only {sooner} lives");
}

#[test]
fn drier_air_never_lengthens_life() {
    let mut sooner = 0;
    for flower in flowers() {
        for air in series() {
            let scene = Scene::new(flower, air);
            let damper = scene.all_outcomes();
            for rh in [-0.02, -0.2] {
                let drier = scene.in_air(air.shifted(0.0, rh)).all_outcomes();
                let what = format!("{}: {rh} of humidity on {air:?}", flower.id());
                sooner += never_longer(&damper, &drier, &what);
            }
        }
    }
    assert!(sooner > 10_000, "dry air shortens only {sooner} lives");
}

#[test]
fn more_sun_never_lengthens_life() {
    let mut sooner = 0;
    for flower in flowers() {
        for air in series() {
            let scene = Scene::new(flower, air);
            let shadier = scene.all_outcomes();
            for more in [20.0, 500.0] {
                let sun = air.sun + more;
                let sunnier = scene.in_air(Air { sun, ..air }).all_outcomes();
                let what = format!("{}: {more} W/m2 on {air:?}", flower.id());
                sooner += never_longer(&shadier, &sunnier, &what);
            }
        }
    }
    assert!(sooner > 10_000, "sun shortens only {sooner} lives");
}

#[test]
fn a_worse_state_never_lengthens_life() {
    type Change = fn(&mut Handling);
    let worse: [(&str, Change); 4] = [
        ("leaves left on", |h| h.leaves_on = true),
        ("a few hours of conditioning", |h| h.conditioning = Conditioning::FewHours),
        ("no conditioning", |h| h.conditioning = Conditioning::FromTheBox),
        ("a blown stage", |h| h.stage = Stage::Blown),
    ];
    let mut sooner = [0; 4];
    for flower in flowers() {
        for air in series() {
            let scene = Scene::new(flower, air);
            let best = scene.all_outcomes();
            for ((name, change), sooner) in worse.into_iter().zip(&mut sooner) {
                let what = format!("{}: {name} in {air:?}", flower.id());
                *sooner += never_longer(&best, &scene.handled(change).all_outcomes(), &what);
            }
            let tight = scene.handled(|h| h.stage = Stage::Tight).all_outcomes();
            never_longer(&tight, &best, &format!("{}: half open, not tight", flower.id()));
        }
    }
    assert!(sooner.iter().all(|n| *n > 1000), "of all lives each of these shortens only {sooner:?}");
}

#[test]
fn leaves_left_on_shorten_a_dry_head_for_every_flower() {
    for flower in flowers() {
        let scene = Scene::new(flower, ordinary_room());
        let leafy = scene.handled(|h| h.leaves_on = true);
        let median =
            |s: &Scene| quantile(s.outcomes(Method::Tucked).iter().map(|f| f.flagging).collect(), 0.5);
        let (off, on) = (median(&scene), median(&leafy));
        assert!(on < off, "{}: {off} h without, {on} h with", flower.id());
        // Age ends some of the hardiest first, and leaves do not touch it; drying alone they speed for all.
        let drying = |s: &Scene| quantile(s.drawn().iter().flat_map(|(_, heads)| heads.rate).collect(), 0.5);
        assert!(drying(&leafy) > 1.1 * drying(&scene), "{}", flower.id());
    }
}

#[test]
fn the_quick_answer_keeps_the_laws_in_its_quantiles() {
    for name in ["rose", "hydrangea-fresh", "carnation", "italian-ruscus"] {
        let question = Question::new(flower(name), Air::indoors(24.0, 0.5).unwrap(), 6.0);
        let air = question.air;
        let worse = [
            Question { air: air.shifted(4.0, 0.0), ..question },
            Question { air: air.shifted(0.0, -0.15), ..question },
            Question { air: Air { sun: 400.0, ..air }, ..question },
            Question { handling: Handling { leaves_on: true, ..question.handling }, ..question },
            Question {
                handling: Handling { conditioning: Conditioning::FromTheBox, ..question.handling },
                ..question
            },
        ];
        let at_best = answer(&question).expect("an answer");
        for other in worse {
            for (a, b) in at_best.iter().zip(answer(&other).expect("an answer")) {
                for (a, b) in [
                    (a.flagging_hours, b.flagging_hours),
                    (a.wilted_hours, b.wilted_hours),
                    (a.past_use_hours, b.past_use_hours),
                ] {
                    for (a, b) in [(a.p05, b.p05), (a.p50, b.p50), (a.p95, b.p95)] {
                        let hours = |q: Option<f64>| q.unwrap_or(f64::INFINITY);
                        assert!(hours(b) <= hours(a) + ROUNDING, "{name}: {a:?} to {b:?}");
                    }
                }
                let (a, b) = (a.presentable_at_until, b.presentable_at_until);
                assert!(b.p05 <= a.p05 && b.p50 <= a.p50 && b.p95 <= a.p95, "{name}");
            }
        }
    }
}

#[test]
fn placing_earlier_never_helps() {
    let rooms = ["warm barn", "cooled ballroom", "outdoor full sun"];
    for room in rooms {
        let head = format!(
            "[event]\nname = \"Supper\"\ndate = 2027-08-14\ndoors = \"17:00\"\nend = \"23:00\"\n\
             [[access]]\nfrom = \"day before 17:00\"\nto = \"day before 20:00\"\n\
             [[access]]\nfrom = \"10:00\"\nto = \"17:00\"\n\
             [[space]]\nname = \"here\"\nroom = \"{room}\"\n\
             [[piece]]\nname = \"table\"\nspace = \"here\"\nuntil = \"22:00\"\n"
        );
        let order = |flower: &Flower| {
            format!("[[piece.flower]]\nflower = \"{}\"\nheads = 10\ntreatments = [\"tucked\"]\n", flower.id())
        };
        let mut differs = 0;
        for some in flowers().chunks(100) {
            let text = head.clone() + &some.iter().map(order).collect::<String>();
            let plan = plan(event(&text), Settings { lots: 24, ..Settings::default() }).expect("a plan");
            for flower in &plan.orders {
                let options: Vec<_> = flower.of_method(Method::Tucked).collect();
                assert!(options.len() > 15);
                for pair in options.windows(2) {
                    let (early, late) = (pair[0], pair[1]);
                    assert!(early.place_at < late.place_at);
                    assert!(
                        early.share.p50 <= late.share.p50 + ROUNDING,
                        "{} in a {room}: {} placed at {}, {} at {}",
                        plan.event.order(flower.id).1.flower.id(),
                        early.share.p50,
                        early.place_at,
                        late.share.p50,
                        late.place_at
                    );
                    differs += usize::from(early.share.p50 < late.share.p50);
                }
            }
        }
        assert!(differs > 100, "the hour of placing hardly matters in a {room}");
    }
}

/// A day that warms, meets the sun, and is hot enough at its peak to hurt.
fn hot_day() -> Climate {
    let at = |hour: f64, celsius: f64, rh: f64, sun: f64| {
        let air = Air { sun, speed: 0.3, outdoors: true, ..Air::indoors(celsius, rh).unwrap() };
        (hour, air)
    };
    Climate::daily(
        vec![
            at(4.0, 18.0, 0.8, 0.0),
            at(9.0, 27.0, 0.5, 300.0),
            at(14.0, 37.0, 0.25, 700.0),
            at(20.0, 27.0, 0.5, 0.0),
        ],
        ClimateError::NONE,
    )
    .unwrap()
}

/// The same day, not known for certain.
fn uncertain(error: ClimateError) -> Climate {
    let mut day = hot_day();
    day.error = error;
    day
}

fn start() -> Schedule {
    Schedule { start: 0, placed: 0, ask: 0 }
}

/// Heads that are a tenth of the way to flagging as their course begins.
fn begun<'a>(heads: &'a Heads, grid: &Grid, start: &Schedule) -> DryingState<'a> {
    DryingState::new(heads, grid, start).with_deficit(0.1)
}

fn series_of(climate: &Climate, grid: &Grid) -> ClimateSeries {
    (0..grid.steps).map(|n| climate.at(grid.hour(n as f64 + 0.5))).collect()
}

/// The steps of a lot that stays where it is.
fn stay(
    climate: &Climate,
    grid: &Grid,
    flower: &Flower,
    lot: &headwater::flower::population::Lot,
    supply: Supply,
    refills: &[usize],
) -> Vec<Step> {
    let forcings =
        [forcing_series(&series_of(climate, grid), climate.error, &flower.skin(), lot, grid, [0.5; 2])];
    let leg = Leg { space: 0, from: 0, to: grid.steps, supply };
    StepBuilder::new(&forcings, lot, grid).steps(&[leg], refills)
}

#[test]
fn water_is_neither_made_nor_lost() {
    let grid = Grid::covering(0.0, 72.0, 1.0 / 6.0);
    let refills = [100, 101, 250];
    let (mut ran_dry, mut filled_up) = (0, 0);
    for flower in flowers() {
        let scene = Scene::new(flower, ordinary_room());
        for (lot, heads) in scene.drawn() {
            let steps = stay(&hot_day(), &grid, flower, &lot, Supply::Tube, &refills);
            let mut state = begun(&heads, &grid, &start());
            state.fill_tubes(1.5);
            let first = state.clone();
            let mut evaporated = [0.0; HEADS];
            let mut added = [0.0; HEADS];
            for step in &steps {
                let before = state.clone();
                state.advance(std::slice::from_ref(step));
                for h in 0..HEADS {
                    let grams = heads.flagging_clock[h] * heads.mass[h];
                    let lost = heads.rate[h] * step.forcing.drying * grams;
                    let filled = if step.refill { 1.5 - before.water()[h] } else { 0.0 };
                    let from_store = (state.deficit()[h] - before.deficit()[h]) * grams;
                    let from_tube = before.water()[h] + filled - state.water()[h];
                    let scale = lost.abs() + from_store.abs() + from_tube.abs() + before.deficit()[h] * grams;
                    assert!(
                        (lost - from_store - from_tube).abs() <= 1e-12 * scale.max(1.0),
                        "{}: {lost} g evaporated, {from_store} from the store, {from_tube} from the tube",
                        flower.id()
                    );
                    assert!((0.0..=1.5).contains(&state.water()[h]), "{} g", state.water()[h]);
                    ran_dry += usize::from(before.water()[h] > 0.0 && state.water()[h] == 0.0);
                    filled_up += usize::from(step.refill && before.water()[h] < 1.0);
                    evaporated[h] += lost;
                    added[h] += filled;
                }
            }
            for h in 0..HEADS {
                let grams = heads.flagging_clock[h] * heads.mass[h];
                let given = (state.deficit()[h] - first.deficit()[h]) * grams + first.water()[h] + added[h]
                    - state.water()[h];
                let off = (given - evaporated[h]).abs() / evaporated[h];
                assert!(off < 1e-9, "{}: out of balance by {off}", flower.id());
            }
        }
    }
    assert!(ran_dry > 1000 && filled_up > 1000, "{ran_dry} {filled_up}");
}

#[test]
fn refilling_never_hurts() {
    let mut helped = 0;
    for flower in flowers() {
        for climate in [hot_day(), Climate::constant(Air::indoors(26.0, 0.45).unwrap(), ClimateError::NONE)] {
            let scene = Scene { climate, tube_ml: 4.0, ..Scene::new(flower, ordinary_room()) };
            let once = Scene { refills: vec![12], ..scene.clone() };
            let often = Scene { refills: vec![12, 20, 28], ..scene.clone() };
            let what = format!("{}: no refill", flower.id());
            let [none, once, often] = [scene, once, often].map(|s| s.outcomes(Method::WaterTube));
            never_longer(&once, &none, &what);
            never_longer(&often, &once, &what);
            helped += none.iter().zip(&often).filter(|(a, b)| b.flagging > a.flagging + 0.5).count();
        }
    }
    assert!(helped > 500, "refilling helped {helped} heads only");
}

#[test]
fn a_constant_climate_agrees_with_the_closed_form() {
    let mut causes = std::collections::BTreeMap::new();
    for flower in flowers() {
        for air in series() {
            let scene = Scene {
                handling: Handling { conditioning: Conditioning::FewHours, ..Handling::default() },
                ..Scene::new(flower, air)
            };
            let outcomes = scene.lots_of(Method::Tucked);
            for ((lot, heads), outcomes) in scene.drawn().iter().zip(outcomes) {
                let loss = water_loss(&air, &flower.skin(), lot.skin_q10);
                let t = loss.sealed_c;
                let a_day = lot.ageing.pace(t);
                for (h, outcome) in outcomes.iter().enumerate() {
                    // v = v0 + r D t; A = f m t / L; dose = h t: whichever comes first.
                    let v0 = lot.start_deficit * heads.rate[h];
                    // A head that dried further than that in its box is soft as it comes.
                    let dry = ((1.0 - v0) / (heads.rate[h] * loss.relative)).max(0.0);
                    let limp = ((heads.wilted_at[h] - v0) / (heads.rate[h] * loss.relative)).max(0.0);
                    let aged = 24.0 * heads.life_days[h] / a_day;
                    let hot = heads.heat_limit[h] / heat_injury_rate(t, lot.harmless_c);
                    let end = scene.grid.hour(scene.grid.steps as f64);
                    for (got, want) in [
                        (outcome.flagging, dry.min(aged).min(hot)),
                        (outcome.wilted, limp.min(aged).min(hot)),
                    ] {
                        let fits = if want > end {
                            got.is_infinite()
                        } else {
                            (got - want).abs() < 1e-9 * want.max(1.0)
                        };
                        assert!(fits, "{}: {got} h, {want} h by hand", flower.id());
                    }
                    if dry.min(aged).min(hot) < end {
                        *causes.entry(outcome.cause).or_insert(0) += 1;
                        let first = match outcome.cause {
                            Cause::Drying => dry,
                            Cause::Ageing => aged,
                            Cause::Heat => hot,
                            Cause::Supply => panic!("there was none"),
                        };
                        assert!(first <= dry.min(aged).min(hot), "{}: {:?}", flower.id(), outcome.cause);
                    }
                }
            }
        }
    }
    assert!(causes.len() == 3, "not every cause was met: {causes:?}");
}

#[test]
fn in_ample_water_a_head_settles_where_supply_meets_demand() {
    let air = Air::indoors(26.0, 0.4).unwrap();
    for flower in flowers() {
        let scene = Scene::new(flower, air);
        // Half of the time before stems begin to block, at most two days.
        for (lot, heads) in scene.drawn() {
            let loss = water_loss(&air, &flower.skin(), lot.skin_q10);
            let pace = lot.ageing.pace(loss.sealed_c);
            let fresh = 24.0 * 0.75 * lot.life_days / pace;
            let grid = Grid::covering(0.0, (0.5 * fresh).min(48.0), 0.25);
            let steps = stay(&scene.climate, &grid, flower, &lot, Supply::Ample, &[]);
            let mut state = begun(&heads, &grid, &start());
            state.advance(&steps);
            let time = grid.step * grid.steps as f64;
            for h in 0..HEADS {
                // dv/dt = r D - S v.
                let settled = heads.rate[h] * loss.relative / lot.refill_per_hour;
                let want = settled + (0.1 - settled) * (-lot.refill_per_hour * time).exp();
                assert!(
                    (state.deficit()[h] - want).abs() < 1e-9 * want.max(1.0),
                    "{}: {} but {want} by hand",
                    flower.id(),
                    state.deficit()[h]
                );
            }
        }
    }
}

#[test]
fn a_shorter_step_changes_less_than_another_sample() {
    let mut compared = 0;
    for flower in flowers() {
        let scene = Scene {
            climate: uncertain(ClimateError::TYPED),
            grid: Grid::covering(8.0, 56.0, 1.0 / 6.0),
            lots: 24,
            tube_ml: 6.0,
            ..Scene::new(flower, ordinary_room())
        };
        let halved = Scene { grid: Grid::covering(8.0, 56.0, 1.0 / 12.0), ..scene.clone() };
        for method in [Method::Tucked, Method::WaterTube] {
            let at = |scene: &Scene, seed: u64| -> Vec<f64> {
                let sample: Vec<f64> =
                    Scene { seed, ..scene.clone() }.outcomes(method).iter().map(|f| f.flagging).collect();
                [0.1, 0.5, 0.9].iter().map(|p| quantile(sample.clone(), *p)).collect()
            };
            let coarse: Vec<Vec<f64>> = (1..=5).map(|seed| at(&scene, seed)).collect();
            let fine = at(&halved, 1);
            for q in 0..3 {
                let by_seed: Vec<f64> = coarse.iter().map(|c| c[q]).collect();
                if by_seed.iter().chain([&fine[q]]).any(|v| v.is_infinite()) {
                    continue;
                }
                compared += 1;
                // Sampling error of 24 lots; a plan has 320, and less of it.
                let error = moments(&by_seed).1.sqrt();
                let change = (fine[q] - by_seed[0]).abs();
                assert!(
                    change < error.max(0.01),
                    "{} {method}: {change} h by halving, {error} h by chance",
                    flower.id()
                );
            }
        }
    }
    assert!(compared > 200, "{compared}");
}

#[test]
fn the_same_seed_gives_the_same_bits_on_any_number_of_threads() {
    let bits = |outcomes: &[HeadOutcome]| -> Vec<[u64; 4]> {
        outcomes.iter().map(|f| [f.weight, f.flagging, f.wilted, f.loss].map(f64::to_bits)).collect()
    };
    let on = |threads: usize, seed: u64| -> Vec<Vec<[u64; 4]>> {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| {
            flowers()
                .iter()
                .flat_map(|flower| {
                    let scene = Scene {
                        seed,
                        lots: 5,
                        climate: uncertain(ClimateError::GUESSED),
                        ..Scene::new(flower, ordinary_room())
                    };
                    [bits(&scene.all_outcomes())]
                })
                .collect()
        })
    };
    let one = on(1, 3);
    assert!(one == on(2, 3));
    for (a, b) in one.iter().zip(on(2, 4)) {
        assert!(*a != b, "another seed changes nothing");
    }
}

#[test]
fn flowers_rank_as_the_trade_ranks_them() {
    let median = |name: &str| {
        let scene = Scene { lots: 64, ..Scene::new(flower(name), ordinary_room()) };
        quantile(scene.outcomes(Method::Tucked).iter().map(|f| f.flagging).collect(), 0.5)
    };
    for order in [
        &["carnation", "chrysanthemum-disbud", "rose", "dahlia-ball"][..],
        &["chrysanthemum-spray", "rose"],
        &["rose", "peony", "hydrangea-fresh"],
        &["dahlia-ball", "hydrangea-fresh"],
    ] {
        for pair in order.windows(2) {
            let (a, b) = (median(pair[0]), median(pair[1]));
            assert!(a > b, "{} {a} h, {} {b} h", pair[0], pair[1]);
        }
    }
}

#[test]
fn wilting_follows_flagging_and_shares_are_shares() {
    for flower in flowers() {
        for air in series() {
            for method in CLOCKS {
                let outcomes = Scene::new(flower, air).outcomes(method);
                for f in &outcomes {
                    assert!(f.wilted >= f.flagging, "{}: {f:?}", flower.id());
                    assert!((0.0..=1.0).contains(&f.weight) && (0.0..=1.0).contains(&f.loss));
                }
                let mut last = 1.0;
                let hours: Vec<f64> = (0..240).map(f64::from).collect();
                for share in presentable(&outcomes, &hours, |f| f.flagging) {
                    assert!((0.0..=last).contains(&share), "{}: {share}", flower.id());
                    last = share;
                }
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn no_legal_air_breaks_the_numbers(
        which in 0..flowers().len(), celsius in -20.0..60.0_f64, rh in 0.01..=1.0_f64, sun in 0.0..1100.0_f64,
        speed in 0.0..20.0_f64, outdoors: bool, leaves_on: bool, lying in 0..4usize,
    ) {
        let air = Air { sun, speed, outdoors, ..Air::indoors(celsius, rh).unwrap() };
        let mut scene = Scene::new(&flowers()[which], air);
        let lying = [Lying::OnTop, Lying::Nested, Lying::Garland, Lying::Heap][lying];
        scene.handling = Handling { leaves_on, lying, ..scene.handling };
        scene.climate.error = ClimateError::GUESSED;
        for f in scene.all_outcomes() {
            prop_assert!(f.flagging >= 0.0 && f.wilted >= f.flagging && !f.wilted.is_nan());
            prop_assert!((0.0..=1.0).contains(&f.loss) && (0.0..=1.0).contains(&f.weight));
            prop_assert!(f.empty >= 0.0);
        }
    }

    #[test]
    fn heat_drought_and_sun_never_lengthen_life_in_any_air(
        which in 0..flowers().len(), celsius in 1.0..38.0_f64, rh in 0.15..1.0_f64, sun in 0.0..800.0_f64,
        speed in 0.05..4.0_f64, outdoors: bool, kelvin in 0.0..10.0_f64, more in 0.0..300.0_f64,
        drier in 0.0..0.5_f64,
    ) {
        let air = Air { sun, speed, outdoors, ..Air::indoors(celsius, rh).unwrap() };
        let scene = Scene::new(&flowers()[which], air);
        let what = format!("{} in {air:?}", scene.flower.id());
        let best = scene.all_outcomes();
        for worse in [air.shifted(kelvin, 0.0), air.shifted(0.0, -drier), Air { sun: sun + more, ..air }] {
            never_longer(&best, &scene.in_air(worse).all_outcomes(), &what);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_head_that_lives_longer_never_lowers_the_share(
        working in proptest::collection::vec(0.0..20.0_f64, 1..8),
        failing in proptest::collection::vec(0.0..20.0_f64, 0..8),
        fails in 0.0..1.0_f64, which in 0..8usize, longer in 0.0..30.0_f64, at in 0.0..15.0_f64,
    ) {
        // Beyond 15 h nothing is simulated.
        let outcome = |weight: f64, hour: f64| {
            let end = if hour > 15.0 { f64::INFINITY } else { hour };
            HeadOutcome { weight, flagging: end, wilted: end, past_use: end, cause: Cause::Drying, empty: end, loss: 0.1 }
        };
        let share = |longer: f64| {
            let hours = working.iter().map(|h| (1.0 - fails, h)).chain(failing.iter().map(|h| (fails, h)));
            let outcomes: Vec<HeadOutcome> = hours
                .enumerate()
                .map(|(i, (weight, hour))| outcome(weight, if i == which { hour + longer } else { *hour }))
                .collect();
            presentable(&outcomes, &[at], |f| f.flagging)[0]
        };
        let (before, after) = (share(0.0), share(longer));
        prop_assert!((0.0..=1.0).contains(&before) && (0.0..=1.0).contains(&after));
        prop_assert!(after >= before - 1e-12, "{before} to {after}");
    }
}

/// The exact balance of the surface that the fast route describes, its conductances at its own temperature.
fn slowly(air: &Air, skin: &Skin, skin_q10: f64) -> (f64, f64) {
    let mut surface_c = air.temperature_c;
    let response = |c: f64| {
        skin_q10.powf((c.clamp(15.0, 35.0) - 21.0) / 10.0) * 2f64.powf((c - WAX_SOFTENS_C).max(0.0) / 5.0)
    };
    for _ in 0..200 {
        let (heat, vapour) = boundary(air, surface_c - air.temperature_c);
        let surface = Surface {
            air_c: air.temperature_c,
            vapour_pressure: air.vapour_pressure,
            pressure: air.pressure,
            absorbed: absorbed(air),
            heat_conductance: heat,
            radiative_conductance: 2.0 * radiative_conductance(air.temperature_c),
            vapour_conductance: in_series(skin.conductance * response(surface_c), vapour),
            water: Water::at(air.temperature_c),
        };
        let found = exact(&surface);
        let moved = found.surface_c - surface_c;
        surface_c += 0.5 * moved;
        if moved.abs() < 1e-9 {
            return (found.surface_c, found.transpiration);
        }
    }
    panic!("the conductances of {air:?} do not settle");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 5000, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_fast_balance_agrees_with_the_exact_one(
        celsius in -5.0..45.0_f64, rh in 0.05..1.0_f64, sun in 0.0..1000.0_f64, shade: bool,
        speed in 0.05..5.0_f64, outdoors: bool, log_g in -3.3..-1.6_f64, skin_q10 in 1.0..1.4_f64,
    ) {
        let air = Air { sun: if shade { 0.0 } else { sun }, speed, outdoors, ..Air::indoors(celsius, rh).unwrap() };
        let skin = Skin { conductance: 10f64.powf(log_g), exposed_share: 1.0, shelter: 1.0 };
        let fast = water_loss(&air, &skin, skin_q10);
        let (surface_c, flux) = slowly(&air, &skin, skin_q10);
        prop_assert!((fast.surface_c - surface_c).abs() < 0.05, "{} C, exactly {surface_c} C", fast.surface_c);
        // A share of what the skin loses one kelvin above saturation keeps the test meaningful in damp air.
        let floor = skin.conductance * (saturation_vapour_pressure(celsius + 1.0)
            - saturation_vapour_pressure(celsius)) / air.pressure;
        let off = (fast.flux - flux.max(0.0)).abs();
        prop_assert!(off < 0.01 * flux.max(floor), "{} mol/m2/s, exactly {flux}", fast.flux);
    }
}

#[test]
fn several_instants_at_a_time_are_the_same_bits_as_one() {
    // The forcing is computed with the widest instructions of this processor, a single loss one instant at a time.
    let grid = Grid::covering(0.0, 50.0, 1.0 / 6.0);
    let instants: Vec<Air> = (0..grid.steps)
        .map(|n| {
            let n = n as f64;
            let sun = if (n as usize / 40).is_multiple_of(2) { 0.0 } else { 3.0 * n };
            let air = Air::indoors(-5.0 + 0.17 * n, 0.2 + 0.002 * n).unwrap();
            Air { sun, speed: 0.02 + 0.01 * n, outdoors: n > 150.0, ..air }
        })
        .collect();
    for id in ["rose", "dahlia-ball", "hydrangea-antique"] {
        let flower = flower(id);
        for (lot, _) in drawn(flower, &Handling::default(), 5, 8) {
            let skin = flower.skin();
            let series: ClimateSeries = instants.iter().copied().collect();
            let wide = forcing_series(&series, ClimateError::NONE, &skin, &lot, &grid, [0.5; 2]);
            let reference = reference_flux(&skin, lot.skin_q10);
            for (n, air) in instants.iter().enumerate() {
                let one = water_loss_against(reference, &air.shifted(0.0, 0.0), &skin, lot.skin_q10);
                let age = lot.ageing.pace(one.sealed_c) * grid.step / 24.0;
                let forcing = wide.at(n);
                assert_eq!(
                    (one.relative * grid.step).to_bits(),
                    forcing.drying.to_bits(),
                    "{id}, instant {n}"
                );
                assert_eq!(age.to_bits(), forcing.age.to_bits(), "{id}, instant {n}");
            }
        }
    }
}
