//! Conductances of one flat surface, per square metre of projected area, in mol m-2 s-1 as Campbell & Norman (1998) write them.
//!
//! The book's equation numbers and constants are as quoted in published implementations; the book itself was
//! not at hand.

use crate::climate::air;

/// Molar heat capacity of air at constant pressure, J mol-1 K-1 (Campbell & Norman 1998, table A.1).
pub const MOLAR_HEAT_CAPACITY: f64 = 29.3;

/// Emissivity of plant surfaces for heat radiation (Campbell & Norman 1998).
pub const EMISSIVITY: f64 = 0.97;

/// Stefan-Boltzmann constant, W m-2 K-4, rounded as by Campbell & Norman (1998): 0.007 % below CODATA 2018.
pub const STEFAN_BOLTZMANN: f64 = 5.67e-8;

/// Gain of both boundary-layer conductances in the gusty air outdoors (Campbell & Norman 1998, ch. 7).
pub const OUTDOOR_TURBULENCE: f64 = 1.4;

/// Boundary-layer conductance for heat of one face in a smooth stream of air.
///
/// # Formula
/// ```text
/// g_Ha = 0.135 sqrt(u/d)
/// ```
/// # Units
/// Air speed in m s-1 and width along the wind in m; mol m-2 s-1 out. Outdoors times [`OUTDOOR_TURBULENCE`].
/// # Source
/// Campbell & Norman 1998, eq. 7.30.
/// # Examples
/// ```
/// use headwater::physics::leaf::forced_heat_conductance;
/// assert!((forced_heat_conductance(0.2, 0.05) - 0.27).abs() < 1e-12);
/// ```
#[inline(always)]
pub fn forced_heat_conductance(u: f64, d: f64) -> f64 {
    0.135 * (u / d).sqrt()
}

/// Boundary-layer conductance for water vapour of one face in a smooth stream of air.
///
/// # Formula
/// ```text
/// g_va = 0.147 sqrt(u/d)
/// ```
/// # Units
/// Air speed in m s-1 and width along the wind in m; mol m-2 s-1 out. Outdoors times [`OUTDOOR_TURBULENCE`].
/// # Source
/// Campbell & Norman 1998, eq. 7.32.
/// # Examples
/// ```
/// use headwater::physics::leaf::forced_vapour_conductance;
/// assert!((forced_vapour_conductance(0.2, 0.05) - 0.294).abs() < 1e-12);
/// ```
#[inline(always)]
pub fn forced_vapour_conductance(u: f64, d: f64) -> f64 {
    0.147 * (u / d).sqrt()
}

/// Heat radiation written as a conductance, for a surface near air temperature among surroundings at it.
///
/// # Formula
/// ```text
/// g_r = 4 eps sigma T^3 / c_p
/// ```
/// # Units
/// Celsius in, mol m-2 s-1 out.
/// # Source
/// Campbell & Norman 1998, eq. 12.7.
/// # Examples
/// ```
/// use headwater::physics::leaf::radiative_conductance;
/// assert!((radiative_conductance(20.0) - 0.1892).abs() < 1e-4);
/// ```
#[inline(always)]
pub fn radiative_conductance(t_c: f64) -> f64 {
    let t = t_c + air::ZERO_C_IN_K;
    4.0 * EMISSIVITY * STEFAN_BOLTZMANN * (t * t * t) / MOLAR_HEAT_CAPACITY
}

/// Two conductances one behind the other: skin, then boundary layer.
///
/// # Formula
/// ```text
/// 1/g = 1/a + 1/b
/// ```
/// # Units
/// The same unit throughout; a sealed layer (0) seals the whole.
/// # Source
/// Conductances in series; Campbell & Norman 1998, ch. 14.
/// # Examples
/// ```
/// use headwater::physics::leaf::in_series;
/// assert_eq!(in_series(2.0, 2.0), 1.0);
/// assert_eq!(in_series(0.0, 2.0), 0.0);
/// ```
#[inline(always)]
pub fn in_series(a: f64, b: f64) -> f64 {
    // The quotient form is 0/0 only when both are sealed.
    if a + b > 0.0 { a * b / (a + b) } else { 0.0 }
}
