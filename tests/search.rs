//! The quick route to outcomes, by search in shared sums, against the plain one, step by step.

mod common;

use common::flowers;
use headwater::climate::{Air, Climate, ClimateError};
use headwater::flower::treatment::{Conditioning, Handling, Lying, Method, Treatment};
use headwater::simulate::journey::{Grid, Leg, Placing, Supply};
use headwater::simulate::outcome::{Cause, EndPoint, HeadOutcome, presentable};
use headwater::simulate::run::{Job, Knowledge, Lots, cases};
use headwater::simulate::steady::SteadyLots;
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Three spaces of random air, hour by hour: a store, a wait, a place to stand; and a fourth to be moved to.
fn spaces(hours: &[(f64, f64, f64)]) -> Vec<Climate> {
    (0..4)
        .map(|space| {
            let knots = hours.iter().enumerate().map(|(i, (celsius, rh, sun))| {
                let cool = [14.0, 4.0, 0.0, -5.0][space];
                let sun = if space >= 2 { *sun } else { 0.0 };
                (i as f64 * 6.0, Air { sun, ..Air::indoors(celsius - cool, *rh).unwrap() })
            });
            Climate::over(knots.collect(), ClimateError::GUESSED).unwrap()
        })
        .collect()
}

/// Placings along a grid of two days: the store, then a wait in water or not and in boxes, then the place, moved at step 200.
fn placings(
    times: &[usize],
    wait_wet: bool,
    dry_end: usize,
    ask: usize,
    refills: &[usize],
    end: usize,
) -> Vec<Placing> {
    let wait = if wait_wet { Supply::Ample } else { Supply::Dry };
    times
        .iter()
        .map(|&at| {
            let leg = |space, from, to, supply| Leg { space, from, to, supply };
            let legs = [
                leg(0, 0, 20, Supply::Ample),
                leg(1, 20, at - dry_end, wait),
                leg(1, at - dry_end, at, Supply::Boxed),
            ];
            let moved = 200.max(at);
            let after = [leg(2, at, moved, Supply::Dry), leg(3, moved, end, Supply::Dry)];
            Placing {
                before: legs.into_iter().filter(|l| l.to > l.from).collect(),
                after: after.into_iter().filter(|l| l.to > l.from).collect(),
                refills: refills.to_vec(),
                ask,
            }
        })
        .collect()
}

fn close(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() < 1e-7
}

fn same(quick: &HeadOutcome, plain: &HeadOutcome) -> bool {
    close(quick.flagging, plain.flagging)
        && close(quick.wilted, plain.wilted)
        && close(quick.past_use, plain.past_use)
        && close(quick.empty, plain.empty)
        && (quick.loss - plain.loss).abs() < 1e-9
        && quick.weight == plain.weight
        // Two causes may fall together.
        && (quick.cause == plain.cause || quick.flagging.is_infinite())
}

fn treatments() -> Vec<Treatment> {
    let methods = [Method::Tucked, Method::WaterTube, Method::BudVase];
    let mut treatments = Treatment::all(&methods, 10.0);
    treatments.insert(2, Treatment::new(Method::WaterTube, 3.0));
    treatments.extend([4.0, 40.0].map(|ml| Treatment::new(Method::Vessel, ml)));
    treatments
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn searching_and_stepping_give_the_same_outcomes(
        which in 0..flowers().len(), seed in 0..1000u64, wait_wet: bool, dry_end in 0..12usize,
        hours in proptest::collection::vec((10.0..46.0_f64, 0.2..1.0_f64, 0.0..500.0_f64), 9),
        ask in 60..300usize, refills in proptest::collection::vec(30..280usize, 0..4),
        tired: bool,
    ) {
        let grid = Grid::covering(-3.0, 47.0, 1.0 / 6.0);
        let spaces = spaces(&hours);
        let conditioning = if tired { Conditioning::FromTheBox } else { Conditioning::Overnight };
        let handling = Handling { conditioning, ..Handling::default() };
        let job = Job {
            flower: &flowers()[which], handling, spaces: &spaces, touched: &[0, 1, 2, 3], grid, seed, lots: 6,
        };
        let lots = Lots::new(job).unwrap();
        let placings = placings(&[32, 40, 58, 120, 230], wait_wet, dry_end, ask, &refills, grid.steps);
        let cases = cases(&placings, &treatments());
        let quick = lots.simulate(Knowledge::AsItIs, &cases, |_, outcomes| outcomes.to_vec()).unwrap();
        let plain = lots.stepped(&cases).unwrap();
        for (quick, plain) in quick.iter().flatten().zip(plain.iter().flatten()) {
            prop_assert_eq!(quick.len(), plain.len());
            for (a, b) in quick.iter().zip(plain) {
                prop_assert!(same(a, b), "{}: {a:?} searching, {b:?} stepping", flowers()[which].id());
            }
        }
        // The shares at the hour asked about, without the outcomes of all heads.
        let hour = grid.hour(ask as f64);
        for end_point in [EndPoint::Flagging, EndPoint::Wilted] {
            let shares = lots.shares(Knowledge::AsItIs, &cases, end_point).unwrap();
            for (shares, outcomes) in shares.iter().flatten().zip(plain.iter().flatten()) {
                let halves = outcomes.chunks(common::HEADS_IN_A_LOT);
                let want: f64 = halves.map(|f| f[0].weight * presentable(f, &[hour], |f| end_point.of(f))[0]).sum();
                prop_assert!((shares - want).abs() < 1e-6, "{shares} searching, {want} stepping");
            }
        }
    }
}

#[test]
fn every_cause_is_met_on_both_routes() {
    let grid = Grid::covering(-3.0, 47.0, 1.0 / 6.0);
    let mut met: BTreeMap<Cause, usize> = BTreeMap::new();
    let (mut ran_dry, mut filled_up) = (0, 0);
    for (n, flower) in flowers().iter().enumerate() {
        let heat = [24.0, 34.0, 46.0, 52.0][n % 4];
        let hours: Vec<(f64, f64, f64)> = (0..9).map(|i| (heat - f64::from(i % 3), 0.5, 100.0)).collect();
        let spaces = spaces(&hours);
        let lots = Lots::new(Job {
            flower,
            handling: Handling::default(),
            spaces: &spaces,
            touched: &[0, 1, 2, 3],
            grid,
            seed: 3,
            lots: 4,
        })
        .unwrap();
        let placings = placings(&[30, 90], true, 2, 150, &[140, 200], grid.steps);
        let cases = cases(&placings, &treatments());
        let quick = lots.simulate(Knowledge::AsItIs, &cases, |_, outcomes| outcomes.to_vec()).unwrap();
        let plain = lots.stepped(&cases).unwrap();
        for (a, b) in quick.iter().flatten().flatten().zip(plain.iter().flatten().flatten()) {
            assert!(same(a, b), "{}: {a:?} searching, {b:?} stepping", flower.id());
            if a.flagging.is_finite() {
                *met.entry(a.cause).or_default() += 1;
            }
            ran_dry += usize::from(a.empty.is_finite());
            filled_up += usize::from(a.empty < grid.hour(140.0));
        }
    }
    assert!(met.len() == 4 && met.values().all(|n| *n > 20), "not every cause was met: {met:?}");
    assert!(ran_dry > 100 && filled_up > 50, "{ran_dry} ran dry, {filled_up} of them before a filling up");
}

/// In one air the hours of a lot have a closed form; they are those at which the stepped share falls to what is asked.
#[test]
fn hours_in_one_air_are_those_of_the_steps() {
    let methods = [Method::Tucked, Method::WaterTube, Method::BudVase];
    let (mut ended, mut lasted) = ([0; 3], [0; 3]);
    for (name, lying, c, rh, end_point) in [
        ("rose", Lying::Nested, 31.0, 0.25, EndPoint::Flagging),
        ("dahlia", Lying::OnTop, 26.0, 0.45, EndPoint::Flagging),
        ("hydrangea", Lying::Nested, 34.0, 0.3, EndPoint::Wilted),
        ("sweet-pea", Lying::OnTop, 40.0, 0.15, EndPoint::Flagging),
        ("ruscus", Lying::OnTop, 38.0, 0.2, EndPoint::Wilted),
    ] {
        let air = Air { sun: 300.0, ..Air::indoors(c, rh).unwrap() };
        let scene = common::Scene {
            grid: Grid::covering(0.0, 60.0, 0.02),
            handling: Handling { lying, ..Handling::default() },
            tube_ml: 2.0,
            lots: 8,
            ..common::Scene::new(common::flower(name), air)
        };
        let treatments = Treatment::all(&methods, scene.tube_ml);
        let lots = SteadyLots::new(scene.flower, &scene.handling, scene.seed, scene.lots);
        let asked = (0.85, end_point);
        let hours = &lots.hours(&[air], &treatments, asked, 50.0).unwrap()[0];
        for (m, method) in methods.into_iter().enumerate() {
            let lasts = |lot: &Vec<HeadOutcome>| {
                let good = |hour: f64| presentable(lot, &[hour], |f| end_point.of(f))[0] >= asked.0;
                let (mut low, mut high) = (0.0, 50.0);
                for _ in 0..40 {
                    let middle = 0.5 * (low + high);
                    *(if good(middle) { &mut low } else { &mut high }) = middle;
                }
                if good(50.0) { 50.0 } else { low }
            };
            let mut stepped: Vec<f64> = scene.lots_of(method).iter().map(lasts).collect();
            stepped.sort_by(f64::total_cmp);
            for (found, stepped) in hours[m].iter().zip(stepped) {
                assert!(
                    (found - stepped).abs() < 0.02 + 2e-3 * stepped,
                    "{name} {method}: {found} {stepped}"
                );
                *(if stepped < 50.0 { &mut ended[m] } else { &mut lasted[m] }) += 1;
            }
        }
    }
    assert!(ended.iter().all(|n| *n >= 10) && lasted[1] + lasted[2] >= 2, "{ended:?} {lasted:?}");
}

#[test]
fn jobs_and_legs_that_cannot_be_are_refused() {
    use headwater::climate::Air;
    use headwater::flower::catalogue::Catalogue;
    use headwater::flower::treatment::Method;
    let air = |air: Air| [Climate::constant(air, ClimateError::NONE)];
    let good = air(Air::reference());
    let grid = Grid::covering(0.0, 6.0, 0.5);
    let job = Job {
        flower: Catalogue::shipped().find("dahlia").unwrap(),
        handling: Handling::default(),
        spaces: &good,
        touched: &[0],
        grid,
        seed: 1,
        lots: 2,
    };
    let says = |job: Job| Lots::new(job).err().expect("refused").to_string();
    assert!(says(Job { lots: 0, ..job }).contains("at least one lot"));
    assert!(says(Job { touched: &[1], ..job }).contains("space 1 has no climate"));
    for grid in [Grid { steps: 0, ..grid }, Grid { step: 0.0, ..grid }, Grid { start: f64::NAN, ..grid }] {
        assert!(says(Job { grid, ..job }).contains("at least one step"));
    }
    for hours in [f64::NAN, f64::INFINITY, 0.0, -1.0] {
        let handling = Handling { own_dry_hours: Some(hours), ..job.handling };
        assert!(says(Job { handling, ..job }).contains("hours above 0"), "{hours}");
    }
    for bad in [
        Air { temperature_c: f64::NAN, ..Air::reference() },
        Air { vapour_pressure: -1.0, ..Air::reference() },
        Air { pressure: 0.0, ..Air::reference() },
        Air { speed: f64::INFINITY, ..Air::reference() },
        Air { sun: -800.0, ..Air::reference() },
    ] {
        assert!(says(Job { spaces: &air(bad), ..job }).contains("physical limits"), "{bad:?}");
    }
    let unsure = [Climate::constant(Air::reference(), ClimateError { kelvin: f64::NAN, rh: 0.0 })];
    assert!(says(Job { spaces: &unsure, ..job }).contains("physical limits"));

    let lots = Lots::new(job).unwrap();
    let shares = |after: &[(usize, usize, usize)]| {
        let leg = |&(space, from, to): &(usize, usize, usize)| Leg { space, from, to, supply: Supply::Dry };
        let placing = Placing { after: after.iter().map(leg).collect(), ask: 4, ..Placing::default() };
        let cases = cases(&[placing], &[Treatment::new(Method::Tucked, 0.0)]);
        lots.shares(Knowledge::AsItIs, &cases, EndPoint::Flagging)
    };
    assert!(shares(&[(0, 0, 4), (0, 4, 12)]).is_ok());
    for wrong in [vec![(1, 0, 4)], vec![(0, 0, 13)], vec![(0, 4, 2)], vec![(0, 0, 4), (0, 5, 12)]] {
        assert!(shares(&wrong).is_err(), "{wrong:?}");
    }
}
