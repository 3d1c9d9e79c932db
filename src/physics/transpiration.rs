//! How fast a flower loses water in this air, against the reference air in which its dry hours are stated.

use super::leaf::{
    MOLAR_HEAT_CAPACITY, OUTDOOR_TURBULENCE, forced_heat_conductance, forced_vapour_conductance, in_series,
    radiative_conductance,
};
use crate::climate::Air;
use crate::climate::air::{ZERO_C_IN_K, molar_latent_heat, saturation_and_slope, saturation_vapour_pressure};

/// Characteristic dimension of a petal or leaflet along the flow, m (judgement; 0.72 times a width of 7 cm).
pub const DIMENSION: f64 = 0.05;
/// Share of sunshine on a level surface that a flower absorbs per projected area (judgement; with it the petals of a
/// flower in full sun stand 6 to 11 K above a light to a very light breeze, as thermography of garden flowers shows).
pub const ABSORPTANCE: f64 = 0.5;
/// Cuticle wax softens near this temperature, C. Source: Schönherr et al. (1979), isolated Citrus cuticle.
pub const WAX_SOFTENS_C: f64 = 44.0;
/// How many degrees above softening double the skin's conductance, K (judgement).
const WAX_DOUBLING_K: f64 = 5.0;
/// The air around a nested head barely moves below this speed, m/s.
const SLOWEST: f64 = 0.05;

/// The skin that a flower presents to the air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skin {
    /// Conductance to water vapour at the reference temperature, both faces, per projected exposed area,
    /// mol m-2 s-1.
    pub conductance: f64,
    /// Share of the petal area that meets the room's air when it is still.
    pub exposed_share: f64,
    /// Deep among greens rather than on top of them.
    pub nested: bool,
}

/// What the air does to a flower at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// Water loss relative to that in the reference air.
    pub relative: f64,
    /// Water loss per exposed projected area, mol m-2 s-1.
    pub flux: f64,
    /// Temperature of the petals, C.
    pub surface_c: f64,
    /// Temperature of petals that no longer evaporate, C: what ageing and heat go by. A head out of water cannot count
    /// on cooling itself for long (a drying leaf shuts its stomata), and vase lives are stated at the air's temperature.
    pub sealed_c: f64,
}

/// Water loss and petal temperature of a flower with this skin in this air.
///
/// # Formula
/// `E = g_t (e_s(T) - e_a) / P`, `1/g_t = 1/g_c + 1/g_b`. The petal temperature `T` solves
/// `R = c_p (g_H + g_r)(T - T_a) + lambda g_t (e_s(T) - e_a)/P` in the Penman-Monteith form, followed by
/// Newton steps on the exact balance with its fourth power: one in the shade, four in the sun, where conductances
/// follow the petal's own temperature. `g_c = g_21 Q10^((T-21)/10)` between 15 and 35 C, and rises further where
/// wax softens. Packed and nested heads expose more of themselves to moving air.
///
/// # Units
/// `skin_q10` is dimensionless, 1.0 to 1.4.
///
/// # Source
/// Campbell & Norman (1998), equations 14.1 to 14.6; Monteith & Unsworth (2013) for the mixed boundary layer. The
/// Q10 of the skin: Riederer and colleagues found cuticles twice as permeable at 35 C as at 15 C (61 species), which
/// is a Q10 of 1.4; intact eucalypt leaves showed no effect.
///
/// # Examples
/// ```
/// use headwater::climate::Air;
/// use headwater::physics::transpiration::{water_loss, Skin};
/// let rose = Skin { conductance: 0.005, exposed_share: 0.45, nested: false };
/// let barn = water_loss(&Air::indoors(29.0, 0.55), &rose, 1.2);
/// let ballroom = water_loss(&Air::indoors(22.0, 0.50), &rose, 1.2);
/// assert!(barn.relative > 1.3 * ballroom.relative);
/// ```
pub fn water_loss(air: &Air, skin: &Skin, skin_q10: f64) -> Loss {
    water_loss_against(reference_flux(skin, skin_q10), air, skin, skin_q10)
}

/// Water loss per exposed area in the reference air, mol m-2 s-1.
pub fn reference_flux(skin: &Skin, skin_q10: f64) -> f64 {
    flux(&Air::reference(), skin, skin_q10).flux
}

/// [`water_loss`] with the [`reference_flux`] known, for loops over many airs.
pub fn water_loss_against(reference: f64, air: &Air, skin: &Skin, skin_q10: f64) -> Loss {
    let here = flux(air, skin, skin_q10);
    Loss { relative: here.flux * exposure(air, skin) / reference, ..here }
}

/// How much more of itself a head exposes in this air than a free-lying one does in still air.
///
/// A breeze flushes the damp air out from between packed petals and out of a deep garland. The exponent and the
/// factor 1.2 for nesting (1.1 to 1.3) are judgement.
fn exposure(air: &Air, skin: &Skin) -> f64 {
    if air.speed == Air::STILL {
        return if skin.nested { 1.0 / 1.2 } else { 1.0 };
    }
    let wind = (air.speed.max(SLOWEST) / Air::STILL).ln();
    let packed = (0.25 * (1.0 - skin.exposed_share) * wind).exp().min(1.0 / skin.exposed_share);
    let nested = if skin.nested { ((0.1 * wind).exp() / 1.2).min(1.0) } else { 1.0 };
    packed * nested
}

/// The conductance of the skin at a temperature, relative to that at the reference temperature.
pub fn skin_response(surface_c: f64, skin_q10: f64) -> f64 {
    response(surface_c, skin_q10.ln())
}

/// [`skin_response`] with the logarithm of the Q10 known.
fn response(surface_c: f64, ln_q10: f64) -> f64 {
    let gentle = (ln_q10 * (surface_c.clamp(15.0, 35.0) - Air::REFERENCE_TEMPERATURE_C) / 10.0).exp();
    if surface_c > WAX_SOFTENS_C {
        gentle * ((surface_c - WAX_SOFTENS_C) / WAX_DOUBLING_K).exp2()
    } else {
        gentle
    }
}

/// The derivative of the logarithm of [`skin_response`], 1/K, by the logarithm of the Q10.
fn skin_rise(surface_c: f64, ln_q10: f64) -> f64 {
    let gentle = if (15.0..35.0).contains(&surface_c) { ln_q10 / 10.0 } else { 0.0 };
    let soft = if surface_c > WAX_SOFTENS_C { std::f64::consts::LN_2 / WAX_DOUBLING_K } else { 0.0 };
    gentle + soft
}

/// Boundary-layer conductances of both faces together, for heat and for vapour, mol m-2 s-1, where the surface is
/// `excess` kelvin warmer than the air: forced and free convection mixed.
pub fn boundary(air: &Air, excess: f64) -> (f64, f64) {
    let gusts = if air.outdoors { OUTDOOR_TURBULENCE } else { 1.0 };
    let speed = air.speed.max(SLOWEST);
    let forced = gusts * forced_heat_conductance(speed, DIMENSION);
    // Free convection from a warm face: 0.05 (dT/d)^(1/4), Campbell & Norman (1998), from memory.
    let free = 0.05 * (excess.abs() / DIMENSION).sqrt().sqrt();
    let mixed = if free == 0.0 { forced } else { (forced.powi(3) + free.powi(3)).cbrt() };
    let vapour = gusts * forced_vapour_conductance(speed, DIMENSION) * mixed / forced;
    (2.0 * mixed, 2.0 * vapour)
}

/// Isothermal net radiation absorbed per projected area, W/m2: indoors walls are near air temperature.
pub fn absorbed(air: &Air) -> f64 {
    ABSORPTANCE * air.sun
}

fn flux(air: &Air, skin: &Skin, skin_q10: f64) -> Loss {
    let (surface_c, flux) = settle(air, skin.conductance, skin_q10);
    // In the shade a surface that does not evaporate is as warm as the air.
    let sealed_c = if absorbed(air) > 0.0 { settle(air, 0.0, skin_q10).0 } else { air.temperature_c };
    Loss { relative: 1.0, flux, surface_c, sealed_c }
}

/// The temperature that a skin of this conductance settles to, and the water it loses there.
fn settle(air: &Air, conductance: f64, skin_q10: f64) -> (f64, f64) {
    let radiation = absorbed(air);
    let latent = molar_latent_heat(air.temperature_c);
    let radiative = 2.0 * radiative_conductance(air.temperature_c);
    let (saturation, slope) = saturation_and_slope(air.temperature_c);
    let deficit = saturation - air.vapour_pressure;
    let ln_q10 = skin_q10.ln();
    let air_k = air.temperature_c + ZERO_C_IN_K;
    // A cuticle lets through what it does in m/s whatever the pressure, so its molar conductance falls with that.
    let conductance = conductance * air.pressure / Air::SEA_LEVEL;
    let skin_at = |t: f64| conductance * response(t, ln_q10);
    let lost = |g: f64, saturation: f64| g * (saturation - air.vapour_pressure) / air.pressure;

    let (heat, mut vapour) = boundary(air, 0.0);
    let g = in_series(skin_at(air.temperature_c), vapour);
    let mut surface_c = air.temperature_c
        + (radiation - latent * g * deficit / air.pressure)
            / (MOLAR_HEAT_CAPACITY * (heat + radiative) + latent * g * slope / air.pressure);
    // A surface warmer or colder than the air stirs it by itself: much so in the sun, where it takes a few rounds.
    for _ in 0..if radiation > 0.0 { 4 } else { 1 } {
        let (heat, stirred) = boundary(air, surface_c - air.temperature_c);
        vapour = stirred;
        let g = in_series(skin_at(surface_c), vapour);
        let excess = surface_c - air.temperature_c;
        let ratio = 1.0 + excess / air_k;
        let radiated = radiative * air_k * (ratio.powi(4) - 1.0) / 4.0;
        let (saturation, slope) = saturation_and_slope(surface_c);
        let loss = lost(g, saturation);
        let balance = radiation - MOLAR_HEAT_CAPACITY * (heat * excess + radiated) - latent * loss;
        // The skin opens as it warms; what the boundary layer holds back of that is its share of the resistance.
        let opening = skin_rise(surface_c, ln_q10) * (1.0 - g / vapour) * loss;
        surface_c += balance
            / (MOLAR_HEAT_CAPACITY * (heat + radiative * ratio.powi(3))
                + latent * (g * slope / air.pressure + opening.max(0.0)));
    }
    let g = in_series(skin_at(surface_c), vapour);
    (surface_c, lost(g, saturation_vapour_pressure(surface_c)).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PETAL: Skin = Skin { conductance: 0.004, exposed_share: 1.0, nested: false };

    #[test]
    fn a_breeze_in_the_shade_changes_a_single_petals_loss_by_about_one_percent() {
        let at = |speed| water_loss(&Air { speed, ..Air::indoors(25.0, 0.5) }, &PETAL, 1.2).relative;
        let change = at(0.5) / at(0.05) - 1.0;
        assert!((0.002..0.025).contains(&change), "{change}");
    }

    #[test]
    fn sun_warms_petals_as_thermography_of_garden_flowers_shows() {
        // Measured: 6 K mean and 10.7 K maximum above the air, in sun, out of doors. Light to very light breeze.
        let excess = |speed| {
            let air = Air { sun: 800.0, speed, outdoors: true, ..Air::indoors(25.0, 0.5) };
            water_loss(&air, &PETAL, 1.2).surface_c - 25.0
        };
        assert!((5.0..7.0).contains(&excess(1.0)), "{}", excess(1.0));
        assert!((8.0..11.5).contains(&excess(0.3)), "{}", excess(0.3));
    }

    #[test]
    fn packed_heads_feel_a_breeze() {
        let packed = Skin { exposed_share: 0.4, ..PETAL };
        let at = |speed| water_loss(&Air { speed, ..Air::indoors(25.0, 0.5) }, &packed, 1.2).relative;
        assert!(at(0.5) > 1.15 * at(0.1));
    }

    #[test]
    fn the_reference_air_is_the_unit() {
        let loss = water_loss(&Air::reference(), &PETAL, 1.3);
        assert!((loss.relative - 1.0).abs() < 1e-12);
    }
}
