//! Where dry stops being enough: held against the answer for one flower in one air, hour by hour.

use headwater::climate::Air;
use headwater::decide::hours::{Question, answer};
use headwater::decide::limits::{Asked, GOOD, HoursByMethod, LONGEST, hours, limits, need};
use headwater::flower::catalogue::{Catalogue, Flower, Kind};
use headwater::report::limits::rounded;
use headwater::report::pictures::wall;
use headwater::units::{Scale, Span};
use rayon::prelude::*;

fn flowers() -> Vec<&'static Flower> {
    Catalogue::shipped().all().iter().collect()
}

/// The share that is left of the heads of a delivery in its twentieth, by way of placing.
fn poor(flower: &'static Flower, air: Air, until: f64) -> Vec<f64> {
    let answers = answer(&Question::new(flower, air, until)).unwrap();
    answers.iter().map(|a| a.presentable_at_until.p05).collect()
}

#[test]
fn every_line_of_the_wall_chart_is_what_hours_answers() {
    // Sure 19 in 20 is the 5 % point of `hours`. Flowers alone: greens count until limp, which `hours` does not tell by
    // delivery. Hours go by steps there, and are exact here; between two deliveries one is read off in hours, the other in
    // shares. Flowers take turns at being asked a little before and a little after; every third in water, too.
    let cells: Vec<(&Flower, f64, HoursByMethod)> = flowers()
        .into_iter()
        .filter(|f| f.kind() == Kind::Flower)
        .enumerate()
        .map(|(i, flower)| {
            let c = wall::CELSIUS[i % wall::CELSIUS.len()];
            let air = Air::indoors(c, 0.5).unwrap();
            (flower, c, hours(&Asked { sure: 0.95, ..Asked::new(flower) }, &[air]).unwrap()[0])
        })
        .collect();
    assert!(cells.len() > 50, "{} flowers", cells.len());
    let wrong: Vec<String> = cells
        .par_iter()
        .enumerate()
        .flat_map_iter(|(i, (flower, c, hours))| {
            let air = Air::indoors(*c, 0.5).unwrap();
            hours.iter().enumerate().filter_map(move |(m, h)| {
                let at = if i % 2 == 0 { 0.95 * h - 0.05 } else { (1.05 * h + 0.05).max(0.1) };
                let beyond = at < 0.1 || i % 2 == 1 && *h >= LONGEST || m > 0 && i % 3 > 0;
                let good = beyond || (poor(flower, air, at)[m] >= GOOD) == (i % 2 == 0);
                (!good).then(|| format!("{} at {c} C, way {m}: {h:.2} h", flower.name()))
            })
        })
        .collect();
    assert!(wrong.is_empty(), "{} of {}: {}", wrong.len(), cells.len(), wrong.join("; "));
}

#[test]
fn hotter_or_drier_air_never_needs_less_water() {
    let temperatures: Vec<f64> = (0..=80).map(|i| f64::from(i) / 2.0).collect();
    flowers().par_iter().step_by(7).for_each(|flower| {
        let asked = Asked::new(flower);
        for rh in [0.3, 0.5, 0.8] {
            let airs: Vec<Air> = temperatures.iter().map(|c| Air::indoors(*c, rh).unwrap()).collect();
            let by_warmth = hours(&asked, &airs).unwrap();
            for pair in by_warmth.windows(2) {
                for m in 0..pair[0].len() {
                    assert!(pair[1][m] <= pair[0][m] + 1e-6, "{}, way {m}: {pair:?}", flower.name());
                }
                for until in [1.0, 3.0, 6.0, 12.0] {
                    let level = |hours| need(hours, until).unwrap_or(9);
                    assert!(level(&pair[1]) >= level(&pair[0]), "{} for {until} h: {pair:?}", flower.name());
                }
            }
        }
        let moist: Vec<Air> = (1..=20).map(|i| Air::indoors(26.0, f64::from(i) / 20.0).unwrap()).collect();
        for pair in hours(&asked, &moist).unwrap().windows(2) {
            assert!(pair.iter().all(|h| h.iter().all(|h| *h >= 0.0)));
            assert!((0..3).all(|m| pair[1][m] >= pair[0][m] - 1e-6), "{}: {pair:?}", flower.name());
        }
    });
}

#[test]
fn surer_is_shorter_and_the_chart_rounds_down() {
    let rose = Catalogue::shipped().find("rose").unwrap();
    let air = [Air::indoors(24.0, 0.5).unwrap()];
    let at = |sure| hours(&Asked { sure, ..Asked::new(rose) }, &air).unwrap()[0];
    assert!(at(0.95)[0] < at(0.9)[0] && at(0.9)[0] < at(0.5)[0]);
    for (hours, told) in [(5.99, "5½"), (6.0, "6"), (0.49, "0"), (23.9, "23"), (LONGEST, "24+")] {
        assert_eq!(rounded(hours), told);
    }
}

#[test]
fn the_sheet_tells_in_words_what_it_draws() {
    let temperatures = wall::temperatures(Scale::Celsius);
    let all: Vec<_> = ["dahlia", "carnation"]
        .iter()
        .map(|name| limits(Asked::new(Catalogue::shipped().find(name).unwrap()), 0.5, &temperatures).unwrap())
        .collect();
    let sketch = wall::picture(&all, Span { hours: 6.0 }, Scale::Celsius);
    let told = sketch.description();
    assert!(
        told.contains("dahlia. For 6 h:") && told.to_lowercase().contains("carnation. for 6 h: dry"),
        "{told}"
    );
}
