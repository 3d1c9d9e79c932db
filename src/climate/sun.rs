//! The sun: how high it stands and how strong it is on a cloudless day.
//!
//! [`Sky`] is the sun over an event. Two ways lead to how high it stands: [`elevation_at`] takes the Unix instant and the longitude: no equation of time, time zone or
//! leap year is left for the caller. [`elevation_deg`] takes a day and an hour by the sun, for a venue of which
//! only the latitude is known.
//!
//! The coefficients of the series are from memory; the check values confirm them to 0.05 degrees against the
//! NREL Solar Position Algorithm (Reda & Andreas 2004).

use crate::numerics::elementary::exp;
use libm::{asin, atan2, cos, sin};

/// Days from the epoch of the series, noon of 1 January 2000, to a Unix instant.
fn days_since_2000(unix_s: f64) -> f64 {
    unix_s / 86_400.0 - 10_957.5
}

/// Hour angle of the sun at a longitude, radians, from its right ascension.
fn hour_angle(days: f64, longitude_deg: f64, right_ascension: f64) -> f64 {
    (280.460_62 + 360.985_647_37 * days + longitude_deg).to_radians() - right_ascension
}

/// Right ascension and declination of the sun, radians.
fn equatorial(days: f64) -> (f64, f64) {
    let mean_longitude = (280.460 + 0.985_647_4 * days).to_radians();
    let mean_anomaly = (357.528 + 0.985_600_3 * days).to_radians();
    let centre = 1.915 * sin(mean_anomaly) + 0.020 * sin(2.0 * mean_anomaly);
    let longitude = mean_longitude + centre.to_radians();
    let obliquity = (23.439 - 4e-7 * days).to_radians();
    let (sine, cosine) = (sin(longitude), cos(longitude));
    (atan2(cos(obliquity) * sine, cosine), asin(sin(obliquity) * sine))
}

/// Elevation from declination, latitude and hour angle, the last two in radians too; degrees out.
fn elevation(declination: f64, latitude: f64, hour_angle: f64) -> f64 {
    asin(sin(declination) * sin(latitude) + cos(declination) * cos(latitude) * cos(hour_angle)).to_degrees()
}

/// Height of the sun's centre above the horizon, without refraction (0.5 degrees at the horizon, 0.03 at 30).
///
/// # Formula
/// ```text
/// sin h = sin(dec) sin(lat) + cos(dec) cos(lat) cos(hour angle)
/// hour angle = sidereal time at Greenwich + longitude - right ascension
/// ```
/// # Units
/// Unix seconds, degrees north, degrees east in; degrees out, negative at night.
/// # Source
/// Michalsky 1988, Solar Energy 40:227; sidereal time 280.46062 + 360.98564737 d degrees (Meeus 1998, eq. 12.4,
/// first two terms).
/// # Examples
/// ```
/// use headwater::climate::sun::elevation_at;
/// // Greenwich, 21 June 2026, 12:00 UTC: close to 90 - 51.5 + 23.4.
/// assert!((elevation_at(1_782_043_200.0, 51.5, 0.0) - 61.9).abs() < 0.1);
/// ```
pub fn elevation_at(unix_s: f64, latitude_deg: f64, longitude_deg: f64) -> f64 {
    let days = days_since_2000(unix_s);
    let (right_ascension, declination) = equatorial(days);
    elevation(declination, latitude_deg.to_radians(), hour_angle(days, longitude_deg, right_ascension))
}

/// Days from the epoch to the start of 2026, two years past a leap year: there the calendar stands in the middle
/// of its four-year swing of a quarter of a degree, so that a day of any year is met best.
const MEAN_YEAR: f64 = 9_496.5;

/// Height of the sun's centre at an hour by the sun (12 when it is highest), without refraction.
///
/// # Formula
/// As [`elevation_at`], with hour angle 15 degrees for each hour from noon and the declination of that day.
/// # Units
/// Day 1 to 366, degrees north, hours in; degrees out, negative at night.
/// # Source
/// As [`elevation_at`].
/// # Examples
/// ```
/// use headwater::climate::sun::elevation_deg;
/// assert!((elevation_deg(172.0, 51.5, 12.0) - 61.94).abs() < 0.01);
/// ```
pub fn elevation_deg(day_of_year: f64, latitude_deg: f64, solar_hour: f64) -> f64 {
    let declination = equatorial(MEAN_YEAR + day_of_year - 1.0 + solar_hour / 24.0).1;
    let hour_angle = (15.0 * (solar_hour - 12.0)).to_radians();
    elevation(declination, latitude_deg.to_radians(), hour_angle)
}

/// Sunlight on a level surface under a cloudless sky; zero at night.
///
/// # Formula
/// ```text
/// G = 1098 sin(h) exp(-0.059 / sin(h))
/// ```
/// # Units
/// Degrees in, W m-2 out.
/// # Source
/// Haurwitz 1945, Journal of Meteorology 2:154. Against a turbidity model it is within 10 % for a high sun, but 28 % too high
/// at an elevation of 9.4 degrees and 55 % too high at 5.
/// # Examples
/// ```
/// use headwater::climate::sun::clear_sky_horizontal;
/// assert!((clear_sky_horizontal(60.0) - 888.3).abs() < 0.1);
/// assert_eq!(clear_sky_horizontal(-5.0), 0.0);
/// ```
pub fn clear_sky_horizontal(elevation_deg: f64) -> f64 {
    let sine = sin(elevation_deg.to_radians());
    if sine > 0.0 { 1098.0 * sine * exp(-0.059 / sine) } else { 0.0 }
}

/// The sun over a venue through the hours of its day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sky {
    /// The day at whose midnight hours begin.
    pub date: jiff::civil::Date,
    /// Degrees, south of the equator below 0.
    pub latitude_deg: f64,
    /// Longitude in degrees, west of Greenwich below 0, and the Unix instant of hour 0, where both are known.
    pub place: Option<(f64, f64)>,
}

impl Sky {
    /// Clock time of solar noon assumed where the place is not known, h: summer time, near the middle of a time zone
    /// (common practice).
    pub const USUAL_NOON: f64 = 13.0;

    /// The hour at which the sun is highest.
    ///
    /// # Examples
    /// ```
    /// use headwater::climate::sun::Sky;
    /// // Seville, 21 June 2027, summer time: 5.99 W is 24 min behind Greenwich, the sun 1.8 min behind the mean one.
    /// let midnight = 1_813_528_800.0;
    /// let sky = Sky { date: jiff::civil::date(2027, 6, 21), latitude_deg: 37.39, place: Some((-5.99, midnight)) };
    /// assert!((sky.noon() - (14.0 + 25.8 / 60.0)).abs() < 0.01);
    /// ```
    pub fn noon(&self) -> f64 {
        let Some((longitude, midnight)) = self.place else { return Sky::USUAL_NOON };
        let days = days_since_2000(midnight + 12.0 * 3600.0);
        let angle = hour_angle(days, longitude, equatorial(days).0).to_degrees();
        12.0 - ((angle + 180.0).rem_euclid(360.0) - 180.0) / 15.0
    }

    /// Sunshine on a level surface under a cloudless sky at an hour of the day, W m-2: [`clear_sky_horizontal`].
    pub fn clear(&self, hour: f64) -> f64 {
        clear_sky_horizontal(match self.place {
            Some((longitude, midnight)) => {
                elevation_at(midnight + 3600.0 * hour, self.latitude_deg, longitude)
            }
            None => {
                let solar_hour = hour - Sky::USUAL_NOON + 12.0;
                elevation_deg(f64::from(self.date.day_of_year()), self.latitude_deg, solar_hour)
            }
        })
    }

    /// [`Sky::clear`] as a share of its value at noon; 0 where the sun does not rise.
    pub fn share(&self, hour: f64) -> f64 {
        let noon = self.clear(self.noon());
        if noon > 0.0 { self.clear(hour) / noon } else { 0.0 }
    }
}
