//! Where dry stops being enough: how many hours a flower lasts by the temperature of the room, dry, in a tube and in a
//! vase, and up to which temperature each of them will do.

use super::hours::METHODS;
use crate::climate::Air;
use crate::error::Result;
use crate::flower::catalogue::{Flower, Kind};
use crate::flower::treatment::{Handling, Method, Treatment};
use crate::simulate::outcome::EndPoint;
use crate::simulate::run::LOTS;
use crate::simulate::steady::SteadyLots;
use crate::stats::quantile;

/// The share of the heads of a delivery that must still be good (common practice, no source).
pub const GOOD: f64 = 0.9;
/// The temperatures tried for one flower, C: a room in winter to a tent in a heat wave.
pub const TRIED_C: std::ops::RangeInclusive<i32> = 8..=40;
/// Hours beyond this are not told apart, h: a day.
pub const LONGEST: f64 = 24.0;

/// What is asked of a flower.
#[derive(Debug, Clone, Copy)]
pub struct Asked<'a> {
    /// The flower.
    pub flower: &'a Flower,
    /// How it was prepared, how open it is, and what is known of it.
    pub handling: Handling,
    /// In what share of deliveries [`GOOD`] of the heads must last, above 0 and below 1.
    pub sure: f64,
    /// The nominal volume of a tube, ml.
    pub tube_ml: f64,
    /// The seed of the random numbers.
    pub seed: u64,
}

impl<'a> Asked<'a> {
    /// A flower with default handling, sure 9 in 10, and a tube of 10 ml.
    pub fn new(flower: &'a Flower) -> Asked<'a> {
        Asked { flower, handling: Handling::default(), sure: 0.9, tube_ml: 10.0, seed: 1 }
    }

    /// The end-point that counts, as in a plan: flowers by the first softening, greens when limp.
    pub fn end_point(&self) -> EndPoint {
        match self.flower.kind() {
            Kind::Flower => EndPoint::Flagging,
            Kind::Foliage => EndPoint::Wilted,
        }
    }
}

/// For how many hours each of [`METHODS`] keeps a flower good, at most [`LONGEST`].
pub type HoursByMethod = [f64; METHODS.len()];

/// The hours in each of some airs.
///
/// # Errors
/// If an air is none that there can be, or `sure` not from 0 to 1.
///
/// ```
/// use headwater::climate::Air;
/// use headwater::decide::limits::{Asked, hours};
/// use headwater::flower::catalogue::Catalogue;
/// let rose = Catalogue::shipped().find("rose")?;
/// let [cool, hot] = [18.0, 30.0].map(|c| Air::indoors(c, 0.5).unwrap());
/// let hours = hours(&Asked::new(rose), &[cool, hot])?;
/// assert!(hours[1][0] < hours[0][0], "dry hours are shorter in the heat");
/// # Ok::<(), headwater::error::Error>(())
/// ```
pub fn hours(asked: &Asked, airs: &[Air]) -> Result<Vec<HoursByMethod>> {
    let lots = SteadyLots::new(asked.flower, &asked.handling, asked.seed, LOTS);
    let treatments = Treatment::all(&METHODS, asked.tube_ml);
    let by_air = lots.hours(airs, &treatments, (GOOD, asked.end_point()), LONGEST)?;
    let sure = |lots: &Vec<f64>| {
        quantile(lots, 1.0 - asked.sure).ok_or_else(|| {
            crate::error::Problem::new(format!("{} is no chance", asked.sure))
                .expected("a chance from 0 to 1")
        })
    };
    let mut all = Vec::with_capacity(airs.len());
    for air in by_air {
        let mut of_air = HoursByMethod::default();
        for (hours, lots) in of_air.iter_mut().zip(&air) {
            *hours = sure(lots)?;
        }
        all.push(of_air);
    }
    Ok(all)
}

/// The least that a flower needs to last `until` hours: the number of the first of [`METHODS`] that will do; `None` where
/// none does.
pub fn need(hours: &HoursByMethod, until: f64) -> Option<usize> {
    hours.iter().position(|h| *h >= until)
}

/// A flower through a range of temperatures at one humidity, in the shade and in still air.
#[derive(Debug, Clone)]
pub struct Limits<'a> {
    /// What was asked.
    pub asked: Asked<'a>,
    /// The humidity, a share.
    pub humidity: f64,
    /// The temperatures, C, in rising order.
    pub temperatures: Vec<f64>,
    /// The hours at each of them.
    pub hours: Vec<HoursByMethod>,
    /// How much warmer a room is to this flower at [`DRIER`], and how much cooler at [`MOISTER`], by its dry hours, K.
    pub as_if: (f64, f64),
}

/// How far the humidity of a dry and of a muggy room lies from that asked about, a share.
pub const DRIER: f64 = -0.15;
/// See [`DRIER`].
pub const MOISTER: f64 = 0.15;

/// Works out the limits of a flower.
///
/// # Errors
/// As [`hours`]; and where a temperature or the humidity is none of a room.
pub fn limits<'a>(asked: Asked<'a>, humidity: f64, temperatures: &[f64]) -> Result<Limits<'a>> {
    let air = |c: &f64, rh: f64| Air::indoors(*c, rh.clamp(0.01, 1.0));
    let middle = temperatures[temperatures.len() / 2];
    let mut airs: Vec<Air> = temperatures.iter().map(|c| air(c, humidity)).collect::<Result<_>>()?;
    airs.push(air(&middle, humidity + DRIER)?);
    airs.push(air(&middle, humidity + MOISTER)?);
    let mut hours = hours(&asked, &airs)?;
    let others = hours.split_off(temperatures.len());
    // The temperature at which this humidity gives the dry hours of the other one.
    let like = |wanted: f64| {
        let after = hours.iter().position(|h| h[0] <= wanted).unwrap_or(hours.len() - 1).max(1);
        let (a, b) = (hours[after - 1][0], hours[after][0]);
        let part = if a > b { ((a - wanted) / (a - b)).clamp(0.0, 1.0) } else { 0.0 };
        temperatures[after - 1] + part * (temperatures[after] - temperatures[after - 1])
    };
    let as_if = (like(others[0][0]) - middle, like(others[1][0]) - middle);
    Ok(Limits { asked, humidity, temperatures: temperatures.to_vec(), hours, as_if })
}

impl Limits<'_> {
    /// The highest of its temperatures up to which a method keeps the flower for so many hours, C; `None` where not even
    /// the lowest does.
    pub fn up_to(&self, method: Method, until: f64) -> Option<f64> {
        let m = METHODS.iter().position(|m| *m == method)?;
        let warm = self.hours.iter().take_while(|h| h[m] >= until).count();
        warm.checked_sub(1).map(|i| self.temperatures[i])
    }

    /// Whether a method keeps the flower for so many hours at all its temperatures.
    pub fn always(&self, method: Method, until: f64) -> bool {
        self.up_to(method, until) == self.temperatures.last().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;

    /// What a drier or a moister room is like is found again: as warm or cool a room at the middle humidity keeps a flower as long.
    #[test]
    fn a_drier_room_is_as_a_warmer_one() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let temperatures: Vec<f64> = (8..=40).map(f64::from).collect();
        let found = limits(Asked::new(rose), 0.5, &temperatures).unwrap();
        let (drier, moister) = found.as_if;
        assert!(drier > 0.0 && moister < 0.0, "{:?}", found.as_if);
        let dry = |c: f64, rh: f64| hours(&found.asked, &[Air::indoors(c, rh).unwrap()]).unwrap()[0][0];
        for (kelvin, rh) in [(drier, 0.5 + DRIER), (moister, 0.5 + MOISTER)] {
            let (like, other) = (dry(24.0 + kelvin, 0.5), dry(24.0, rh));
            assert!((like / other - 1.0).abs() < 0.01, "{kelvin}: {like} {other}");
        }
    }

    #[test]
    fn a_method_does_up_to_the_last_temperature_that_it_does_before_it_fails() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let of = |hours: [f64; 4]| Limits {
            asked: Asked::new(rose),
            humidity: 0.5,
            temperatures: vec![18.0, 22.0, 26.0, 30.0],
            hours: hours.map(|h| [h, 24.0, 24.0]).to_vec(),
            as_if: (0.0, 0.0),
        };
        let fades = of([9.0, 7.0, 5.0, 6.0]);
        assert_eq!((fades.up_to(Method::Tucked, 6.0), fades.up_to(Method::Tucked, 10.0)), (Some(22.0), None));
        assert!(!fades.always(Method::Tucked, 6.0) && fades.always(Method::Tucked, 5.0));
        assert!(fades.always(Method::WaterTube, 24.0));
        let hours = [3.0, 5.0, 9.0];
        assert_eq!([3.0, 4.0, 9.0, 9.5].map(|until| need(&hours, until)), [Some(0), Some(1), Some(2), None]);
    }
}
