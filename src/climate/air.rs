//! Moist air: the published equations that turn a thermometer, a hygrometer and an altitude into the
//! quantities that dry a flower.
//!
//! Everything is SI. Temperatures are in degrees Celsius and their names end in `_c`; relative humidity is a
//! fraction `rh`. A head out of water is a bag of liquid water at any temperature a florist works in, so
//! saturation is always that over liquid water, supercooled below 0 C: a frost point or an iced wet bulb is
//! a different quantity.
//!
//! Equation numbers are those that the cited implementations and tables give; the check values in
//! `reference-data/checks` tie each formula to independent programs.
//!
//! These functions run inside the innermost loop, so none allocates and none returns a `Result`: range checks belong
//! where the numbers enter the program. For NaN, and below absolute zero, what they return has no meaning: it need not be
//! NaN.

use crate::numerics::elementary::{exp, ln, pow};

/// Celsius to kelvin, exact by definition.
pub const ZERO_C_IN_K: f64 = 273.15;

/// Molar gas constant, J mol-1 K-1 (exact in the SI of 2019; CODATA 2018).
pub const GAS_CONSTANT: f64 = 8.314_462_618;

/// Molar mass of water, kg mol-1 (ASHRAE Handbook Fundamentals 2017, ch. 1).
pub const WATER_MOLAR_MASS: f64 = 0.018_015_268;

/// Standard pressure at sea level, Pa (ICAO standard atmosphere).
pub const STANDARD_PRESSURE: f64 = 101_325.0;

/// Ratio of the molar masses of water and dry air (ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20).
pub const MOLAR_MASS_RATIO: f64 = 0.621_945;

/// Gas constant of dry air, J kg-1 K-1 (ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 1).
const DRY_AIR_GAS_CONSTANT: f64 = 287.042;

/// Coefficients C8 to C13 of [`saturation_vapour_pressure`].
const C8: f64 = -5.800_220_6e3;
const C9: f64 = 1.391_499_3;
const C10: f64 = -4.864_023_9e-2;
const C11: f64 = 4.176_476_8e-5;
const C12: f64 = -1.445_209_3e-8;
const C13: f64 = 6.545_967_3;

/// Natural logarithm of the saturation vapour pressure in Pa.
#[inline(always)]
fn ln_saturation(t_c: f64) -> f64 {
    let t = t_c + ZERO_C_IN_K;
    C8 / t + C9 + t * (C10 + t * (C11 + t * C12)) + C13 * ln(t)
}

/// Derivative of [`ln_saturation`], per kelvin.
#[inline(always)]
fn ln_saturation_slope(t_c: f64) -> f64 {
    let t = t_c + ZERO_C_IN_K;
    C13 / t - C8 / (t * t) + C10 + t * (2.0 * C11 + t * 3.0 * C12)
}

/// Vapour pressure of air that is saturated over liquid water.
///
/// # Formula
/// ```text
/// ln e_s = C8/T + C9 + C10 T + C11 T^2 + C12 T^3 + C13 ln T        T = t_c + 273.15
/// ```
/// # Units
/// Celsius in, Pa out.
/// # Source
/// Hyland & Wexler 1983 as printed in ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 6; fitted 0 to 200 C,
/// continued here below 0 C as supercooled water. Within 0.02 % of the IAPWS steam tables from 0 to 45 C.
/// # Examples
/// ```
/// use headwater::climate::air::saturation_vapour_pressure;
/// assert!((saturation_vapour_pressure(20.0) - 2338.8).abs() < 0.1);
/// ```
#[inline(always)]
pub fn saturation_vapour_pressure(t_c: f64) -> f64 {
    exp(ln_saturation(t_c))
}

/// Slope of the saturation vapour pressure with temperature.
///
/// # Formula
/// ```text
/// de_s/dT = e_s (C13/T - C8/T^2 + C10 + 2 C11 T + 3 C12 T^2)
/// ```
/// # Units
/// Celsius in, Pa K-1 out.
/// # Source
/// Analytic derivative of [`saturation_vapour_pressure`].
/// # Examples
/// ```
/// use headwater::climate::air::saturation_slope;
/// assert!((saturation_slope(20.0) - 144.8).abs() < 0.1);
/// ```
pub fn saturation_slope(t_c: f64) -> f64 {
    saturation_and_slope(t_c).1
}

/// [`saturation_vapour_pressure`] and [`saturation_slope`] at once, which costs no more than either.
#[inline(always)]
pub fn saturation_and_slope(t_c: f64) -> (f64, f64) {
    let saturation = saturation_vapour_pressure(t_c);
    (saturation, saturation * ln_saturation_slope(t_c))
}

/// Relative humidity of air with a known vapour pressure.
///
/// # Formula
/// ```text
/// rh = e / e_s(t)
/// ```
/// # Units
/// Celsius and Pa in, fraction out; above 1 the air would be fog.
/// # Source
/// Definition; e_s from [`saturation_vapour_pressure`].
/// # Examples
/// ```
/// use headwater::climate::air::{relative_humidity, saturation_vapour_pressure};
/// // Morning air at 12 C and 90 % brought unchanged into a hall at 21 C.
/// let e = 0.9 * saturation_vapour_pressure(12.0);
/// assert!((relative_humidity(21.0, e) - 0.507).abs() < 0.001);
/// ```
pub fn relative_humidity(t_c: f64, vapour_pressure: f64) -> f64 {
    vapour_pressure / saturation_vapour_pressure(t_c)
}

/// Air pressure at an altitude, in the standard atmosphere.
///
/// # Formula
/// ```text
/// P = 101325 (1 - 2.25577e-5 z)^5.2559
/// ```
/// # Units
/// Metres above sea level in, Pa out.
/// # Source
/// ICAO standard atmosphere as in ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 3 (-5 to 11 km). Above 44 km the formula has
/// no meaning.
/// # Examples
/// ```
/// use headwater::climate::air::pressure_at_altitude;
/// assert!((pressure_at_altitude(1000.0) - 89_875.0).abs() < 1.0);
/// ```
pub fn pressure_at_altitude(z_m: f64) -> f64 {
    STANDARD_PRESSURE * pow(1.0 - 2.25577e-5 * z_m, 5.2559)
}

/// Mass of water vapour carried by each kilogram of dry air.
///
/// # Formula
/// ```text
/// W = 0.621945 e / (P - e)
/// ```
/// # Units
/// Pa and Pa in, kg kg-1 out.
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 (ideal gas; up to 0.6 % below the real gas).
/// # Examples
/// ```
/// use headwater::climate::air::humidity_ratio;
/// assert!((humidity_ratio(1200.0, 101_325.0) - 0.007_454).abs() < 1e-6);
/// ```
pub fn humidity_ratio(vapour_pressure: f64, pressure: f64) -> f64 {
    MOLAR_MASS_RATIO * vapour_pressure / (pressure - vapour_pressure)
}

/// Vapour pressure of air with a known humidity ratio: the inverse of [`humidity_ratio`].
///
/// # Formula
/// ```text
/// e = P W / (0.621945 + W)
/// ```
/// # Units
/// kg kg-1 and Pa in, Pa out.
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 20 solved for e.
/// # Examples
/// ```
/// use headwater::climate::air::{humidity_ratio, vapour_pressure_from_humidity_ratio};
/// let w = humidity_ratio(1200.0, 95_000.0);
/// assert!((vapour_pressure_from_humidity_ratio(w, 95_000.0) - 1200.0).abs() < 1e-9);
/// ```
pub fn vapour_pressure_from_humidity_ratio(humidity_ratio: f64, pressure: f64) -> f64 {
    pressure * humidity_ratio / (MOLAR_MASS_RATIO + humidity_ratio)
}

/// Density of moist air.
///
/// # Formula
/// ```text
/// rho = (P - (1 - 0.621945) e) / (287.042 T)
/// ```
/// # Units
/// Celsius, Pa and Pa in, kg m-3 out.
/// # Source
/// ASHRAE Handbook Fundamentals 2017, ch. 1, eqs. 10 and 26 combined (ideal gas).
/// # Examples
/// ```
/// use headwater::climate::air::density;
/// assert!((density(20.0, 0.0, 101_325.0) - 1.2041).abs() < 1e-4);
/// ```
pub fn density(t_c: f64, vapour_pressure: f64, pressure: f64) -> f64 {
    (pressure - (1.0 - MOLAR_MASS_RATIO) * vapour_pressure) / (DRY_AIR_GAS_CONSTANT * (t_c + ZERO_C_IN_K))
}

/// Heat taken up by each kilogram of water that evaporates.
///
/// # Formula
/// ```text
/// lambda = 2.501e6 - 2361 t_c
/// ```
/// # Units
/// Celsius in, J kg-1 out.
/// # Source
/// Allen et al. 1998 (FAO-56), annex 3, eq. 3-1; within 0.03 % of the steam tables, 0 to 45 C.
/// # Examples
/// ```
/// use headwater::climate::air::latent_heat;
/// assert!((latent_heat(20.0) - 2.453_78e6).abs() < 1.0);
/// ```
#[inline(always)]
pub fn latent_heat(t_c: f64) -> f64 {
    2.501e6 - 2361.0 * t_c
}

/// Heat taken up by each mole of water that evaporates: [`latent_heat`] times the molar mass.
///
/// # Formula
/// ```text
/// lambda_mol = lambda M_w
/// ```
/// # Units
/// Celsius in, J mol-1 out.
/// # Source
/// As [`latent_heat`]; molar mass [`WATER_MOLAR_MASS`].
/// # Examples
/// ```
/// use headwater::climate::air::molar_latent_heat;
/// assert!((molar_latent_heat(20.0) - 44_206.0).abs() < 1.0);
/// ```
#[inline(always)]
pub fn molar_latent_heat(t_c: f64) -> f64 {
    latent_heat(t_c) * WATER_MOLAR_MASS
}
