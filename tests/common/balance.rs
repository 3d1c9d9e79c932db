//! The exact energy balance of one flat surface: the slow, trusted route to a petal's temperature. It is held against published
//! values, and the program's fast route against it.

use headwater::climate::air;
use headwater::physics::leaf::MOLAR_HEAT_CAPACITY;

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
    /// Conductance for heat radiation at air temperature, mol m-2 s-1: `radiative_conductance`.
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
/// The first term is eps sigma (T^4 - T_a^4) when g_r is `radiative_conductance`. Every loss is convex and
/// rises with T, so Newton's method from air temperature overshoots once at most and then falls to the root:
/// it needs no bracket.
/// # Units
/// As [`Surface`] and [`Balance`].
/// # Source
/// Campbell & Norman 1998, eq. 14.1, with the fourth power and e_s kept whole.
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
pub fn linearised(surface: &Surface) -> Balance {
    let Surface { air_c, water, .. } = *surface;
    let dry = MOLAR_HEAT_CAPACITY * (surface.heat_conductance + surface.radiative_conductance);
    let wet = water.latent_heat * surface.vapour_conductance * (water.slope)(air_c) / surface.pressure;
    let at_air = water.latent_heat * surface.transpiration(air_c);
    surface.balance(air_c + (surface.absorbed - at_air) / (dry + wet))
}
