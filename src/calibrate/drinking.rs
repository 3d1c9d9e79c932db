//! What a tube or a vase that was weighed teaches: how much a head of a flower drinks.
//!
//! # Formula
//! The logarithm `y` of what was drunk, over what the model says that the head in the middle drinks in the same air, is seen with
//! the variance `s^2 + d^2`: `s` is the error of air, scale and few heads, `d` lies between deliveries. About a mean of 0 with the
//! deviation `p` the middle is then `sum(y / v) / (1 / p^2 + sum(1 / v))`. Bare heads and leafy stems are learned apart.

use super::evidence::{WEIGHING, between_heads, worth};
use super::trial::Trial;
use crate::decide::middle::Middle;
use crate::flower::catalogue::{Flower, Quantity};
use crate::flower::learned::{Drinks, Learned};
use crate::flower::treatment::Handling;

/// Standard deviation of the logarithm of what is not known of a flower's thirst beyond its dry hours: the mass of its head, how far
/// leaves multiply it (judgement).
const UNKNOWN: f64 = 0.5;
/// That between the deliveries of a flower (judgement).
const BETWEEN: f64 = 0.25;
/// The step over which what is drunk is summed, h.
const STEP: f64 = 0.25;

/// What a trial in water says: the logarithm of what was drunk over what the model says, and its variance; `None` if nothing was
/// weighed, or if heads were taken away before it was.
fn told(trial: &Trial, known: &Learned) -> Option<(f64, f64)> {
    let (hours, drunk) = weighed(trial)?;
    let flower = trial.flower;
    let handling = Handling { learned: Some(*known), ..trial.handling };
    let middle = Middle::of(flower, &handling);
    let steps = (hours / STEP).ceil();
    let step = hours / steps;
    let at = |n: f64| trial.climate.at(trial.start + (n + 0.5) * step);
    let one: f64 = (0..steps as usize).map(|n| step * middle.drinks(&at(n as f64))).sum();
    let heads = f64::from(trial.heads);
    let mass = flower.parameter(Quantity::FreshMass).ln_sd();
    let between = between_heads(flower) + mass * mass;
    let (_, air) = worth((flower, handling.lying), &trial.climate, trial.start, trial.start + hours);
    // Heads weighed together tell their mean, which lies above the head in the middle.
    let ratio = (drunk / (heads * one)).ln() - 0.5 * between;
    Some((ratio, between / heads + WEIGHING * WEIGHING + air * air + BETWEEN * BETWEEN))
}

/// The hours up to the last weighing of a trial in water, and what its heads had drunk by then, g.
pub fn weighed(trial: &Trial) -> Option<(f64, f64)> {
    let whole = trial.looks.iter().rev().filter(|look| look.of == trial.heads);
    whole.filter_map(|look| Some((look.at - trial.start, look.drunk_g?))).next()
}

/// What trials in water teach of a flower whose dry hours, and nothing else, are `known`.
pub fn drinks<'a>(
    flower: &Flower,
    trials: impl Iterator<Item = &'a Trial> + Clone,
    known: &Learned,
) -> [Drinks; 2] {
    [false, true].map(|leafy| {
        let mine = trials.clone().filter(|t| t.flower.id() == flower.id() && t.handling.leaves_on == leafy);
        let told: Vec<(f64, f64)> = mine.filter_map(|t| told(t, known)).collect();
        let precision: f64 = told.iter().map(|(_, variance)| 1.0 / variance).sum();
        let sum: f64 = told.iter().map(|(ratio, variance)| ratio / variance).sum();
        Drinks { middle: sum / (1.0 / (UNKNOWN * UNKNOWN) + precision), trials: told.len() as u32 }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::notebook::Notebook;
    use crate::flower::catalogue::Catalogue;
    use std::f64::consts::LN_2;

    /// Roses in tubes from nine to seven, all in one air.
    fn trial(heads: u32, grams: f64) -> Trial {
        let text = format!(
            "entry,trial,date,at,flower,heads,leaves,treated,air,drunk\n\
             start,1,2027-06-13,09:00,rose,{heads},off,water tube,21 C 45 %,\nlook,1,,19:00,,,,,,{grams}\n"
        );
        let notes = Notebook::read("notes.csv", &text, &|_| Err(std::io::Error::other("no log")));
        notes.unwrap_or_else(|e| panic!("{e}")).trials.remove(0)
    }

    /// Twice as much is the logarithm of two more; of four times the heads, the part that lies between heads is a quarter. With
    /// one trial the mean is `(y / v) / (1 / 0.5^2 + 1 / v)`.
    #[test]
    fn what_was_drunk_weighs_as_the_formula_says() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let known = Learned::nothing(rose);
        let of = |heads: u32, grams: f64| told(&trial(heads, grams), &known).unwrap();
        let (one, twice, many) = (of(20, 100.0), of(20, 200.0), of(80, 400.0));
        assert!((twice.0 - one.0 - LN_2).abs() < 1e-9 && (twice.1 - one.1).abs() < 1e-12);
        assert!((many.0 - one.0).abs() < 1e-9);
        let mass = rose.parameter(Quantity::FreshMass).ln_sd();
        let between = between_heads(rose) + mass * mass;
        assert!((one.1 - many.1 - between * (1.0 / 20.0 - 1.0 / 80.0)).abs() < 1e-12);
        assert!(many.1 > WEIGHING * WEIGHING + BETWEEN * BETWEEN);
        // Ten hours at the pace of the head in the middle, and the mean of heads above it.
        let first = trial(20, 100.0);
        let handling = Handling { learned: Some(known), ..first.handling };
        let pace = Middle::of(rose, &handling).drinks(&first.climate.at(first.start));
        assert!((one.0 - ((100.0 / (20.0 * 10.0 * pace)).ln() - 0.5 * between)).abs() < 1e-6);
        let [bare, leafy] = drinks(rose, [first].iter(), &known);
        assert!((bare.middle - one.0 / one.1 / (4.0 + 1.0 / one.1)).abs() < 1e-12);
        assert_eq!((bare.trials, leafy.trials, leafy.middle), (1, 0, 0.0));
    }
}
