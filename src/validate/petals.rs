//! Single petals that were weighed as they dried.

use super::naive::{percent_lost, variation};
use crate::climate::{Air, Climate, ClimateError};
use crate::flower::loss::LossCurve;
use crate::numerics::normal::quantile as normal;
use crate::numerics::random::Key;
use crate::physics::transpiration::{Skin, water_loss};
use crate::simulate::run::LOTS;

/// The air by the logger nearest to the weighed petals: hour of the day, C, humidity. Source: `poppy-porometer`.
const LOGGED: [(f64, f64, f64); 4] =
    [(14.0, 23.5, 0.465), (15.0, 22.5, 0.495), (16.0, 22.0, 0.51), (17.0, 21.0, 0.52)];

/// A petal that was weighed as it dried.
pub(super) struct Weighed {
    /// When the weighing began, by the clock, h.
    from: f64,
    /// How long it was followed, min.
    minutes: f64,
    /// Its fresh mass per area, g m-2, as a range: that of its species where its own is not known.
    mass_per_area: (f64, f64),
}

/// 14:10; 0.09161 g on 8.307 cm2. Source: `poppy-porometer`.
pub(super) const PETAL_1: Weighed =
    Weighed { from: 14.0 + 10.0 / 60.0, minutes: 99.0, mass_per_area: (110.3, 110.3) };
/// 15:59; its area was not recorded: others have 80 to 120 g m-2 of water and 11 to 21 of dry mass.
pub(super) const PETAL_2: Weighed =
    Weighed { from: 15.0 + 59.0 / 60.0, minutes: 80.0, mass_per_area: (91.0, 141.0) };

/// Conductance of poppy petals by porometer, both faces, mol m-2 s-1, and the factor that petals differ by.
const POPPY: (f64, f64) = (0.0075, 1.8);
/// Scatter of weighings about a smooth curve, percent of fresh mass (computed: residuals of both petals about a parabola
/// each, 17 degrees of freedom).
const SCATTER: f64 = 0.31;

impl Weighed {
    /// Water lost within some minutes, mol m-2, in the logged air shifted by an error of temperature and of humidity.
    fn given_off(&self, conductance: f64, (kelvin, rh): (f64, f64), minutes: f64) -> f64 {
        let knots = LOGGED.iter().map(|(hour, c, rh)| (*hour, Air::still(*c, *rh))).collect();
        let climate = Climate::over(knots, ClimateError::LOGGED).expect("the hours of the log rise");
        let skin = Skin { conductance, exposed_share: 1.0, shelter: 1.0 };
        let slices = 16;
        let slice = minutes / f64::from(slices);
        let flux = |i: i32| {
            let hour = self.from + (f64::from(i) + 0.5) * slice / 60.0;
            water_loss(&climate.at(hour).shifted(kelvin, rh), &skin, 1.2).flux
        };
        (0..slices).map(flux).sum::<f64>() * slice * 60.0
    }
}

/// An error of the logger, in K and as a share of saturation, from two even draws.
fn logger_error(t: f64, rh: f64) -> (f64, f64) {
    let error = ClimateError::LOGGED;
    (error.kelvin * normal(t), error.rh * normal(rh))
}

/// Percent of fresh mass lost by a detached petal, its conductance drawn about that of other petals of its species.
pub(super) fn petal(petal: Weighed, seed: u64) -> Vec<f64> {
    let lost = |u: Vec<f64>| {
        let conductance = POPPY.0 * (POPPY.1.ln() * normal(u[0])).exp();
        let (low, high) = petal.mass_per_area;
        let lost = petal.given_off(conductance, logger_error(u[2], u[3]), petal.minutes);
        percent_lost(lost, low + (high - low) * u[1]) + SCATTER * std::f64::consts::SQRT_2 * normal(u[4])
    };
    Key::named(seed, "petal").table(5, 4 * LOTS).into_iter().map(lost).collect()
}

/// Late over early rate of loss of a passive petal in the logged air. `early` and `late` are stretches in minutes; at the
/// end of the late one the petal has lost `lost` percent.
pub(super) fn slowing(
    petal: &Weighed,
    early: (f64, f64),
    late: (f64, f64),
    lost: f64,
    seed: u64,
) -> Vec<f64> {
    let ratio = |u: Vec<f64>| {
        let off = logger_error(u[0], u[1]);
        let given_off = |minute: f64| petal.given_off(POPPY.0, off, minute);
        let pace = LossCurve::Passive.clock(lost / 100.0) / given_off(late.1);
        let at = |minute: f64| 100.0 * LossCurve::Passive.loss(pace * given_off(minute));
        let rate = |(a, b): (f64, f64), u: f64| {
            (at(b) - at(a) + SCATTER * std::f64::consts::SQRT_2 * normal(u)) / (b - a)
        };
        rate(late, u[3]) / rate(early, u[2])
    };
    Key::named(seed, "slowing").table(4, LOTS).into_iter().map(ratio).collect()
}

/// Mean share of fresh mass that the ten petals had lost at their third weighing. Source: `poppy-porometer`.
const TEN_LOST: f64 = 0.362;

/// Coefficient of variation of what `n` petals of different plants have lost once they have lost [`TEN_LOST`] on average.
pub(super) fn petals(n: usize, seed: u64) -> Vec<f64> {
    let (low, high) = PETAL_2.mass_per_area;
    let once = |set: u64| {
        let draws = Key::named(seed + 1 + set, "petals").table(2, n);
        let pace = |u: Vec<f64>| (POPPY.1.ln() * normal(u[0])).exp() / (low + (high - low) * u[1]);
        let paces: Vec<f64> = draws.into_iter().map(pace).collect();
        let lost = |time: f64| paces.iter().map(|p| LossCurve::Passive.loss(p * time)).collect::<Vec<_>>();
        // The time is not written down: it is found by halving.
        let (mut early, mut late) = (0.0, 1e4);
        for _ in 0..60 {
            let middle = 0.5 * (early + late);
            let mean = lost(middle).iter().sum::<f64>() / n as f64;
            if mean < TEN_LOST { early = middle } else { late = middle }
        }
        variation(&lost(early))
    };
    (0..LOTS as u64).map(once).collect()
}
