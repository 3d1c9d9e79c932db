//! Forecasts by someone who knows the trade, but neither the flower nor the air: what the program has to beat.
//!
//! Every flower of the catalogue is as likely, and the air is that in which its values are stated; a life is as likely to be
//! any of the other published ones.

use super::experiments::{Class, Experiment, Use, experiments};
use crate::climate::air::WATER_MOLAR_MASS;
use crate::flower::catalogue::{Catalogue, Flower, Kind, Quantity};
use crate::flower::loss::LossCurve;
use crate::flower::population::limp_after_soft;
use crate::physics::transpiration::reference_flux;

fn flowers() -> impl Iterator<Item = &'static Flower> {
    Catalogue::shipped().all().iter().filter(|f| f.kind() == Kind::Flower)
}

/// The other lives that judge the program, d: what somebody says who has read the same papers, but not this one.
pub fn life(but: &Experiment) -> Vec<f64> {
    let lives = experiments().iter().filter(|e| e.class == Class::Life && e.role == Use::Check);
    lives.filter(|e| e.id != but.id && e.unit == "d").map(Experiment::middle).collect()
}

/// Percent of fresh mass that each flower loses in some hours of the reference air.
pub fn lost(hours: f64) -> Vec<f64> {
    let one = |f: &Flower| {
        let curve = f.loss_curve();
        let soft = curve.clock(f.median(Quantity::FlaggingLoss));
        100.0 * curve.loss(soft * hours / f.median(Quantity::DryHours))
    };
    flowers().map(one).collect()
}

/// Dry hours of each flower until the first softening.
pub fn soft() -> Vec<f64> {
    flowers().map(|f| f.median(Quantity::DryHours)).collect()
}

/// Dry hours of each flower until plainly limp.
pub fn limp() -> Vec<f64> {
    flowers().map(|f| f.median(Quantity::DryHours) * limp_after_soft(f)[0].exp()).collect()
}

/// Percent of fresh mass that a detached petal of each flower loses in some minutes.
pub fn petal(minutes: f64) -> Vec<f64> {
    let petals = flowers().filter(|f| f.surface() == "petal");
    let one = |f: &Flower| {
        percent_lost(reference_flux(&f.skin(), 1.2) * minutes * 60.0, f.median(Quantity::MassPerArea))
    };
    petals.map(one).collect()
}

/// Percent of its fresh mass that a petal loses by giving off water, mol m-2; its fresh mass per area in g m-2.
pub fn percent_lost(given_off: f64, mass_per_area: f64) -> f64 {
    100.0 * LossCurve::Passive.loss(given_off * 1000.0 * WATER_MOLAR_MASS / mass_per_area)
}

/// Coefficient of variation of a sample.
pub fn variation(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt() / mean
}
