//! How lots and heads differ, against measured carnations, the distributions of other crates, and the shares stated.

mod common;

use common::{drawn, flower, flowers, moments, quantile};
use headwater::decide::plan::{Settings, plan};
use headwater::event::{Event, TEMPLATE};
use headwater::flower::catalogue::{Catalogue, Quantity};
use headwater::flower::learned::{Flagging, Learned};
use headwater::flower::population::{HEAD_TRAITS, HEADS, HeadTrait, Heads, LOT_TRAITS, Lot, LotTrait};
use headwater::flower::spread::two_piece;
use headwater::flower::treatment::Handling;
use headwater::numerics::normal;
use headwater::numerics::random::Key;
use headwater::simulate::run::draws;
use rand_distr::Distribution;
use statrs::distribution::{ChiSquared, ContinuousCDF, LogNormal, Weibull};

/// Weibull shape of the lives of single stems, and spread between genotypes: `carnation-stems` in reference-data/sources.csv.
const SHAPE: f64 = 4.7;
const GENOTYPES: f64 = 0.213;

#[derive(serde::Deserialize)]
struct Stems {
    carnation_type: u32,
    storage: u32,
    n: u32,
    mean: f64,
    cv: f64,
    p05: f64,
    p10: f64,
    p25: f64,
    p50: f64,
    p75: f64,
    p90: f64,
    p95: f64,
    unit: String,
    source: String,
}

impl Stems {
    fn quantiles(&self) -> [(f64, f64); 7] {
        [
            (0.05, self.p05),
            (0.10, self.p10),
            (0.25, self.p25),
            (0.50, self.p50),
            (0.75, self.p75),
            (0.90, self.p90),
            (0.95, self.p95),
        ]
    }
}

fn measured() -> Vec<Stems> {
    csv::Reader::from_path("reference-data/carnation-vase-life.csv")
        .expect("the table of stems")
        .into_deserialize()
        .map(|row| row.expect("a row"))
        .inspect(|row: &Stems| assert!(row.unit == "d" && row.source == "carnation-stems"))
        .collect()
}

/// Lives of the stems of many lots whose medians spread as those of genotypes do.
fn stems(median: f64, lots: usize) -> Vec<f64> {
    let carnation = flower("carnation");
    let key = Key::named(5, "carnation stems");
    key.rows(lots)
        .iter()
        .enumerate()
        .flat_map(|(i, draws)| {
            let mut lot = Lot::new(carnation, &Handling::default(), draws);
            lot.life_days = median * (GENOTYPES * normal::quantile(draws[LotTrait::LifeLot as usize])).exp();
            Heads::new(carnation, &Handling::default(), &lot, &key.columns(i)).life_days
        })
        .collect()
}

fn days(lives: &[f64], scale: f64) -> Vec<f64> {
    lives.iter().map(|d| (scale * d).round()).collect()
}

/// Scored in whole days, so the median is known to a day only: the mean fixes the scale more closely.
#[test]
fn single_carnations_spread_as_measured() {
    let lives = stems(1.0, 556);
    let mean_life = moments(&lives).0;
    for row in measured() {
        let what = format!("type {}, storage {}, {} stems", row.carnation_type, row.storage, row.n);
        let days = days(&lives, row.mean / mean_life);
        let (mean, variance) = moments(&days);
        let cv = variance.sqrt() / mean;
        assert!((0.31..0.38).contains(&cv), "{what}: {cv}");
        assert!((cv / row.cv - 1.0).abs() < 0.15, "{what}: {cv}, measured {}", row.cv);
        for (share, want) in row.quantiles() {
            let got = quantile(days.clone(), share);
            assert!((got - want.round()).abs() <= 1.0, "{what}: {share}: {got} d, measured {want} d");
        }
    }
}

/// Scaled to the median, the half that decides whether heads fail in time agrees as well. The upper half need not:
/// fresh stems of type 1 have a longer upper tail than the model's distribution, 15 days where it says 13 at the 90 % point.
#[test]
fn short_lived_carnations_are_as_short_lived_as_measured() {
    let lives = stems(1.0, 556);
    for row in measured() {
        let days = days(&lives, row.p50);
        for (share, want) in row.quantiles().into_iter().filter(|q| q.0 <= 0.5) {
            let got = quantile(days.clone(), share);
            assert!(
                (got - want.round()).abs() <= 1.0,
                "type {}, storage {}: {share}: {got} d, measured {want} d",
                row.carnation_type,
                row.storage
            );
        }
    }
}

#[test]
fn the_lives_of_stems_follow_the_weibull_distribution_of_other_crates() {
    let carnation = flower("carnation");
    let key = Key::named(9, "weibull");
    let mut all = Vec::new();
    for (i, draws) in key.rows(400).iter().enumerate() {
        let lot = Lot::new(carnation, &Handling::default(), draws);
        let uniform = key.columns(i);
        let heads = Heads::new(carnation, &Handling::default(), &lot, &uniform);
        let scale = lot.life_days / std::f64::consts::LN_2.powf(1.0 / SHAPE);
        let weibull = Weibull::new(SHAPE, scale).expect("a distribution");
        let drawn = uniform[HeadTrait::Life as usize];
        for (life, u) in heads.life_days.into_iter().zip(drawn) {
            let survives = weibull.sf(life);
            assert!((survives - u).abs() < 1e-10, "{survives} survive {life} d, drawn {u}");
            all.push(life / lot.life_days);
        }
    }
    // And the sample against another crate's sample of the same size.
    let scale = 1.0 / std::f64::consts::LN_2.powf(1.0 / SHAPE);
    let weibull = rand_distr::Weibull::new(scale, SHAPE).expect("a distribution");
    let mut generator = key.generator(1);
    let theirs: Vec<f64> = (0..all.len()).map(|_| weibull.sample(&mut generator)).collect();
    for share in [0.05, 0.25, 0.5, 0.75, 0.95] {
        let (a, b) = (quantile(all.clone(), share), quantile(theirs.clone(), share));
        assert!((a / b - 1.0).abs() < 0.02, "{share}: {a} {b}");
    }
}

#[test]
fn two_piece_draws_pass_through_the_three_points() {
    let z90 = normal::quantile(0.9);
    for flower in flowers() {
        for p in flower.parameters() {
            for (z, want) in [(-z90, p.low), (0.0, p.value), (z90, p.high)] {
                let got = two_piece(p, z);
                assert!((got / want - 1.0).abs() < 1e-9, "{} {:?}: {got} {want}", flower.id(), p.quantity);
            }
            let mut last = 0.0;
            for i in 1..200 {
                let value = two_piece(p, normal::quantile(f64::from(i) / 200.0));
                let flat = if i <= 100 { p.low == p.value } else { p.value == p.high };
                assert!(value > last || flat && value >= last, "{} {:?}", flower.id(), p.quantity);
                last = value;
            }
        }
    }
}

#[test]
fn each_piece_is_a_lognormal_distribution() {
    let p = flower("rose").parameter(Quantity::DryHours);
    let z90 = normal::quantile(0.9);
    for (range, side) in [(1..50, (p.value / p.low).ln()), (50..100, (p.high / p.value).ln())] {
        let lognormal = LogNormal::new(p.value.ln(), side / z90).expect("a distribution");
        for percent in range {
            let u = f64::from(percent) / 100.0;
            let (got, want) = (two_piece(p, normal::quantile(u)), lognormal.inverse_cdf(u));
            assert!((got / want - 1.0).abs() < 1e-6, "{u}: {got} {want}");
        }
    }
}

/// Three levels of spread behind the dry hours: heads in a lot, lots of a flower known well, and what is not known.
#[test]
fn the_three_spreads_are_the_shares_stated_and_add_up() {
    const LOTS: usize = 1024;
    let z90 = normal::quantile(0.9);
    let mut met = std::collections::BTreeSet::new();
    for name in ["rose", "dahlia-ball", "carnation", "rose-garden", "scabiosa-pod", "italian-ruscus"] {
        let flower = flower(name);
        let shares = flower.shares();
        met.insert(format!("{:?}", flower.confidence()));
        let p = flower.parameter(Quantity::DryHours);
        // Back from hours to the standard normal behind them.
        let z = |rate: f64| {
            let ratio = (1.0 / rate / p.value).ln();
            let side = if ratio < 0.0 { (p.value / p.low).ln() } else { (p.high / p.value).ln() };
            ratio * z90 / side
        };
        let key = Key::named(3, flower.id());
        let by_lot = |known: bool| -> Vec<Vec<f64>> {
            key.rows(LOTS)
                .iter()
                .enumerate()
                .map(|(i, draws): (usize, &[f64; LOT_TRAITS])| {
                    let mut draws = *draws;
                    if known {
                        draws[LotTrait::Ignorance as usize] = 0.5;
                    }
                    let lot = Lot::new(flower, &Handling::default(), &draws);
                    let heads = Heads::new(flower, &Handling::default(), &lot, &key.columns(i));
                    heads.rate.iter().map(|r| z(*r)).collect()
                })
                .collect()
        };
        let means = |lots: &[Vec<f64>]| lots.iter().map(|l| moments(l).0).collect::<Vec<f64>>();
        let (as_it_is, known) = (by_lot(false), by_lot(true));
        let head = as_it_is.iter().map(|l| moments(l).1).sum::<f64>() / LOTS as f64;
        let both = moments(&means(&as_it_is)).1;
        let lot = moments(&means(&known)).1;
        let all = moments(&as_it_is.concat());
        for (what, got, want) in [
            ("heads", head, shares.head),
            ("lots", lot, shares.lot),
            ("ignorance", both - lot, shares.ignorance),
            ("all", all.1, 1.0),
        ] {
            // Stratified: closer than the sqrt(2/1024) = 0.044 of a plain sample, but for the correlation of lot and
            // ignorance by chance, 2 sqrt(lot ignorance / 1024).
            assert!((got - want).abs() < 0.04, "{name}: {what} {got}, stated {want}");
        }
        assert!(all.0.abs() < 0.02, "{name}: {}", all.0);
    }
    assert!(met.len() == 3, "not every confidence was met: {met:?}");
    for flower in Catalogue::shipped().all() {
        let s = flower.shares();
        assert!((s.head + s.lot + s.ignorance - 1.0).abs() < 1e-12, "{}", flower.id());
    }
}

/// Vase life: 0.20 between lots of a cultivar that is known, 0.35 of one that is not, beside what is not known.
#[test]
fn a_known_cultivar_differs_less_from_lot_to_lot() {
    let spread = |known: bool, name: &str| {
        let handling = Handling { cultivar_known: known, ..Handling::default() };
        let flower = flower(name);
        let key = Key::named(3, flower.id());
        let lives: Vec<f64> = key
            .rows(1024)
            .iter()
            .map(|draws| {
                let mut draws = *draws;
                draws[LotTrait::LifeIgnorance as usize] = 0.5;
                Lot::new(flower, &handling, &draws).life_days.ln()
            })
            .collect();
        moments(&lives).1.sqrt()
    };
    for name in ["rose", "carnation", "hydrangea-fresh"] {
        let (known, unknown) = (spread(true, name), spread(false, name));
        assert!((known - 0.20).abs() < 0.01 && (unknown - 0.35).abs() < 0.01, "{name}: {known} {unknown}");
    }
}

/// Heads that bear more loss last longer; they flag at 6 to 15 % of their mass and are limp at 15 to 27 %.
#[test]
fn losses_at_flagging_and_wilting_spread_as_the_model_says() {
    let rose = flower("rose");
    let (mut flagging, mut limp, mut ratio, mut hours) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for (_, heads) in drawn(rose, &Handling::default(), 2, 512) {
        for h in 0..common::HEADS_IN_A_LOT {
            let at_flagging = heads.curve.loss(heads.flagging_clock[h]);
            let at_wilting = heads.curve.loss(heads.flagging_clock[h] * heads.wilted_at[h]);
            flagging.push(at_flagging);
            limp.push(at_wilting);
            ratio.push(at_wilting / at_flagging);
            hours.push(1.0 / heads.rate[h]);
        }
    }
    let p = rose.parameter(Quantity::FlaggingLoss);
    for (share, want) in [(0.1, p.low), (0.5, p.value), (0.9, p.high)] {
        let got = quantile(flagging.clone(), share);
        assert!((got / want - 1.0).abs() < 0.05, "{share}: {got} {want}");
    }
    // 19 % of petal mass, 'Mercedes' roses: `faragher-mercedes` in reference-data/sources.csv; the spread is judgement.
    assert!((quantile(limp.clone(), 0.5) - 0.19).abs() < 0.01);
    for (share, want) in [(0.05, 0.15), (0.5, 0.19), (0.95, 0.27)] {
        let got = quantile(limp.clone(), share);
        assert!((got / want - 1.0).abs() < 0.08, "{share}: {got} {want}");
    }
    assert!(ratio.iter().all(|r| *r > 1.1), "a head was limp before it was soft");
    let correlation = {
        let (x, y): (Vec<f64>, Vec<f64>) = hours.iter().zip(&flagging).map(|(a, b)| (a.ln(), b.ln())).unzip();
        let ((mx, vx), (my, vy)) = (moments(&x), moments(&y));
        x.iter().zip(&y).map(|(a, b)| (a - mx) * (b - my)).sum::<f64>()
            / (x.len() as f64 - 1.0)
            / (vx * vy).sqrt()
    };
    assert!((0.1..0.4).contains(&correlation), "{correlation}");
}

/// Simulation-based calibration of the sampler: a lot drawn alone ranks evenly among lots taken each from a stratified
/// sample of its own, as it must if stratifying leaves the distribution of a lot as it is.
#[test]
fn the_sampler_is_calibrated() {
    const OTHERS: u64 = 19;
    const TRIALS: u64 = 1500;
    let flower = flower("dahlia");
    let handling = Handling::default();
    let quantities: [fn(&Lot) -> f64; 4] =
        [|l| l.life_days, |l| l.refill_per_hour, |l| l.ageing.q10, |l| l.leak_share];
    let mut ranks = [[0.0; OTHERS as usize + 1]; 4];
    for trial in 0..TRIALS {
        let taken = |seed: u64, of: usize| {
            Lot::new(flower, &handling, &draws(flower, &handling, seed, of)[seed as usize * 7919 % of])
        };
        let truth = taken(1_000_000 + trial, 1);
        let others: Vec<Lot> = (0..OTHERS).map(|k| taken(trial * OTHERS + k, 8)).collect();
        for (ranks, quantity) in ranks.iter_mut().zip(quantities) {
            ranks[others.iter().filter(|lot| quantity(lot) < quantity(&truth)).count()] += 1.0;
        }
    }
    // statrs: the 99.9 % point of chi-square with 19 degrees of freedom.
    let limit = ChiSquared::new(OTHERS as f64).unwrap().inverse_cdf(0.999);
    let expected = TRIALS as f64 / (OTHERS + 1) as f64;
    for (q, ranks) in ranks.iter().enumerate() {
        let chi_square: f64 = ranks.iter().map(|n| (n - expected).powi(2) / expected).sum();
        assert!(chi_square < limit, "quantity {q}: {chi_square} beyond {limit}: {ranks:?}");
    }
}

/// The simulation's own error of an expected share, between seeds, is below one head in a hundred.
#[test]
fn the_simulations_own_error_is_below_one_head_in_a_hundred() {
    let expected: Vec<Vec<f64>> = (1..=6)
        .map(|seed| {
            let event = Event::read("supper.toml", TEMPLATE, &|_| unreachable!("it names no log")).unwrap();
            let plan = plan(event, Settings { seed, ..Settings::default() }).expect("a plan");
            assert!(plan.error() < 0.01, "{}", plan.error());
            plan.orders.iter().flat_map(|o| o.options.iter()).map(|o| o.expected).collect()
        })
        .collect();
    for option in 0..expected[0].len() {
        let by_seed: Vec<f64> = expected.iter().map(|e| e[option]).collect();
        let error = moments(&by_seed).1.sqrt();
        assert!(error < 0.015, "choice {option}: {error}");
    }
    let typical: Vec<f64> = (0..expected[0].len())
        .map(|c| moments(&expected.iter().map(|e| e[c]).collect::<Vec<_>>()).1)
        .collect();
    assert!((typical.iter().sum::<f64>() / typical.len() as f64).sqrt() < 0.01);
}

/// What weights taught of the loss at softening goes with what is not known of the hours: where all of it does, a lot at one standard
/// normal of the one stands at one of the other, half of whose variance lies between heads (by hand from the formula).
#[test]
fn the_loss_at_softening_goes_with_the_hours_as_weights_taught() {
    let dahlia = flower("dahlia");
    let flagging = Flagging { middle: 0.0, on_dry: 1.0, spread: 0.0 };
    let learned = Some(Learned { flagging, ..Learned::nothing(dahlia) });
    let handling = Handling { learned, ..Handling::default() };
    let loss = dahlia.parameter(Quantity::FlaggingLoss);
    for z in [-1.0, 0.0, 1.5] {
        let mut draws = [0.5; LOT_TRAITS];
        draws[LotTrait::Ignorance as usize] = normal::cdf(z);
        let lot = Lot::new(dahlia, &handling, &draws);
        let heads = Heads::new(dahlia, &handling, &lot, &[[0.5; HEADS]; HEAD_TRAITS]);
        let known = lot.curve.clock(two_piece(loss, std::f64::consts::FRAC_1_SQRT_2 * z));
        assert!(
            (heads.flagging_clock[0] / known - 1.0).abs() < 1e-9,
            "{z}: {} {known}",
            heads.flagging_clock[0]
        );
    }
}
