//! The exact energy balance of one flat surface: the slow, trusted route to a petal's temperature.
//!
//! Everything is per square metre of projected area, with conductances in mol m-2 s-1 as Campbell & Norman
//! (1998) write them. [`exact`] finds the root of the full balance; [`linearised`] is the closed form that a
//! fast loop can afford, up to 0.8 K from it in strong sun and little wind.
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

/// How water behaves in the balance. A field, so that a published example can be solved with its own choices.
#[derive(Clone, Copy, Debug)]
pub struct Water {
    /// Molar latent heat, J mol-1.
    pub latent_heat: f64,
    /// Saturation vapour pressure in Pa at a temperature in Celsius.
    pub saturation: fn(f64) -> f64,
    /// Derivative of `saturation`, Pa K-1.
    pub slope: fn(f64) -> f64,
}

impl Water {
    /// Water as the rest of the program describes it, with the latent heat of the air temperature.
    pub fn at(t_c: f64) -> Self {
        Self {
            latent_heat: air::molar_latent_heat(t_c),
            saturation: air::saturation_vapour_pressure,
            slope: air::saturation_slope,
        }
    }
}

/// A flat surface and the air around it.
#[derive(Clone, Copy, Debug)]
pub struct Surface {
    /// Temperature of the air, Celsius.
    pub air_c: f64,
    /// Vapour pressure of the air, Pa.
    pub vapour_pressure: f64,
    /// Pressure of the air, Pa.
    pub pressure: f64,
    /// Radiation kept by the surface while it is at air temperature, W m-2. Among surroundings at air
    /// temperature this is the short-wave light that it absorbs; a cold clear sky takes some away.
    pub absorbed: f64,
    /// Conductance for heat, mol m-2 s-1.
    pub heat_conductance: f64,
    /// Conductance for heat radiation at air temperature, mol m-2 s-1: [`radiative_conductance`].
    pub radiative_conductance: f64,
    /// Conductance for vapour through skin and boundary layer, mol m-2 s-1.
    pub vapour_conductance: f64,
    /// The properties of water.
    pub water: Water,
}

/// What a surface settles to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Balance {
    /// Temperature of the surface, Celsius.
    pub surface_c: f64,
    /// Water lost, mol m-2 s-1; negative when dew forms.
    pub transpiration: f64,
    /// Heat given to the air by conduction, W m-2; negative when the surface is the colder.
    pub sensible_heat: f64,
}

impl Surface {
    fn transpiration(&self, t_c: f64) -> f64 {
        self.vapour_conductance * ((self.water.saturation)(t_c) - self.vapour_pressure) / self.pressure
    }

    fn balance(&self, surface_c: f64) -> Balance {
        Balance {
            surface_c,
            transpiration: self.transpiration(surface_c),
            sensible_heat: MOLAR_HEAT_CAPACITY * self.heat_conductance * (surface_c - self.air_c),
        }
    }
}

/// Solves the full balance, to 1e-9 K.
///
/// # Formula
/// ```text
/// absorbed = c_p g_r T_a ((T/T_a)^4 - 1)/4 + c_p g_Ha (T - T_a) + lambda g_v (e_s(T) - e_a)/P
/// ```
/// The first term is eps sigma (T^4 - T_a^4) when g_r is [`radiative_conductance`]. Every loss is convex and
/// rises with T, so Newton's method from air temperature overshoots once at most and then falls to the root:
/// it needs no bracket.
/// # Units
/// As [`Surface`] and [`Balance`].
/// # Source
/// Campbell & Norman 1998, eq. 14.1, with the fourth power and e_s kept whole.
/// # Examples
/// ```
/// use headwater::climate::air::saturation_vapour_pressure;
/// use headwater::physics::leaf::{Surface, Water, exact, radiative_conductance};
/// // A petal in the shade of a room loses water and so sits just below air temperature.
/// let petal = Surface {
///     air_c: 21.0,
///     vapour_pressure: 0.45 * saturation_vapour_pressure(21.0),
///     pressure: 101_325.0,
///     absorbed: 0.0,
///     heat_conductance: 0.2,
///     radiative_conductance: radiative_conductance(21.0),
///     vapour_conductance: 0.004,
///     water: Water::at(21.0),
/// };
/// let surface_c = exact(&petal).surface_c;
/// assert!(20.7 < surface_c && surface_c < 21.0);
/// ```
pub fn exact(surface: &Surface) -> Balance {
    let Surface { air_c, water, .. } = *surface;
    let air_k = air_c + air::ZERO_C_IN_K;
    let mut t_c = air_c;
    // A dozen steps suffice in any weather; the cap only guards against an input that is not a number.
    for _ in 0..100 {
        let ratio = (t_c + air::ZERO_C_IN_K) / air_k;
        let radiated = surface.radiative_conductance * air_k * (ratio.powi(4) - 1.0) / 4.0;
        let conducted = surface.heat_conductance * (t_c - air_c);
        let loss =
            MOLAR_HEAT_CAPACITY * (radiated + conducted) + water.latent_heat * surface.transpiration(t_c);
        let slope = MOLAR_HEAT_CAPACITY
            * (surface.radiative_conductance * ratio.powi(3) + surface.heat_conductance)
            + water.latent_heat * surface.vapour_conductance * (water.slope)(t_c) / surface.pressure;
        let step = (surface.absorbed - loss) / slope;
        t_c += step;
        if step.abs() < 1e-10 {
            break;
        }
    }
    surface.balance(t_c)
}

/// Solves the balance with radiation and e_s replaced by their tangents at air temperature.
///
/// # Formula
/// ```text
/// T = T_a + gamma*/(s + gamma*) [ absorbed/(c_p g_Hr) - D/(P gamma*) ]
/// s = (de_s/dT)/P     g_Hr = g_Ha + g_r     gamma* = c_p g_Hr / (lambda g_v)     D = e_s(T_a) - e_a
/// ```
/// evaluated with both sides multiplied by lambda g_v, so that a sealed surface (g_v = 0) is no exception.
/// # Units
/// As [`Surface`] and [`Balance`].
/// # Source
/// Campbell & Norman 1998, eq. 14.6.
/// # Examples
/// ```
/// use headwater::climate::air::saturation_vapour_pressure;
/// use headwater::physics::leaf::{Surface, Water, exact, linearised, radiative_conductance};
/// let sunlit = Surface {
///     air_c: 25.0,
///     vapour_pressure: 0.5 * saturation_vapour_pressure(25.0),
///     pressure: 101_325.0,
///     absorbed: 200.0,
///     heat_conductance: 0.4,
///     radiative_conductance: radiative_conductance(25.0),
///     vapour_conductance: 0.004,
///     water: Water::at(25.0),
/// };
/// assert!((linearised(&sunlit).surface_c - exact(&sunlit).surface_c).abs() < 0.3);
/// ```
pub fn linearised(surface: &Surface) -> Balance {
    let Surface { air_c, water, .. } = *surface;
    let dry = MOLAR_HEAT_CAPACITY * (surface.heat_conductance + surface.radiative_conductance);
    let wet = water.latent_heat * surface.vapour_conductance * (water.slope)(air_c) / surface.pressure;
    let at_air = water.latent_heat * surface.transpiration(air_c);
    surface.balance(air_c + (surface.absorbed - at_air) / (dry + wet))
}
