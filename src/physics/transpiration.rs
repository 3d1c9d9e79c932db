//! How fast a flower loses water in some air, relative to the reference air in which its dry hours are stated.

use super::leaf::{
    MOLAR_HEAT_CAPACITY, OUTDOOR_TURBULENCE, forced_heat_conductance, forced_vapour_conductance, in_series,
    radiative_conductance,
};
use crate::climate::Air;
use crate::climate::air::{ZERO_C_IN_K, molar_latent_heat, saturation_and_slope, saturation_vapour_pressure};
use crate::climate::series::{ClimateSeries, Sky};
use crate::numerics::elementary::{exp, ln, pow};
use std::f64::consts::LN_2;

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
    /// By what factor what lies around it lengthens its hours in still air, at least 1.
    pub shelter: f64,
}

/// The water loss and petal temperature of a flower at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loss {
    /// Water loss relative to that in the reference air.
    pub relative: f64,
    /// Water loss per exposed projected area, mol m-2 s-1.
    pub flux: f64,
    /// Temperature of the petals, C.
    pub surface_c: f64,
    /// Temperature of petals that do not evaporate, C, by which ageing and heat injury go: a head out of water cannot cool
    /// itself for long (a drying leaf shuts its stomata), and vase lives are stated by air temperature.
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
/// let rose = Skin { conductance: 0.005, exposed_share: 0.45, shelter: 1.0 };
/// let barn = water_loss(&Air::indoors(29.0, 0.55)?, &rose, 1.2);
/// let ballroom = water_loss(&Air::indoors(22.0, 0.50)?, &rose, 1.2);
/// assert!(barn.relative > 1.3 * ballroom.relative);
/// # Ok::<(), headwater::error::Error>(())
/// ```
pub fn water_loss(air: &Air, skin: &Skin, skin_q10: f64) -> Loss {
    water_loss_against(reference_flux(skin, skin_q10), air, skin, skin_q10)
}

/// Water loss per exposed area in the reference air, mol m-2 s-1.
pub fn reference_flux(skin: &Skin, skin_q10: f64) -> f64 {
    settle::<false>(&Air::reference(), skin.conductance, ln(skin_q10)).1
}

/// [`water_loss`] with the [`reference_flux`] already known, for loops over many instants.
pub fn water_loss_against(reference: f64, air: &Air, skin: &Skin, skin_q10: f64) -> Loss {
    let ln_q10 = ln(skin_q10);
    if absorbed(air) > 0.0 {
        against::<true>(reference, air, skin, ln_q10)
    } else {
        against::<false>(reference, air, skin, ln_q10)
    }
}

/// [`water_loss_against`] for a whole series of air, after [`Air::shifted`] by an error in temperature, K, and one in relative
/// humidity, a share.
///
/// It writes the loss relative to the reference into `relative` and the temperature of petals that do not evaporate, C, into
/// `sealed_c`.
///
/// # Panics
/// If either slice is shorter than the series.
#[inline(always)]
pub fn water_losses(
    (series, (kelvin, rh)): (&ClimateSeries, (f64, f64)),
    reference: f64,
    skin: &Skin,
    skin_q10: f64,
    relative: &mut [f64],
    sealed_c: &mut [f64],
) {
    let ln_q10 = ln(skin_q10);
    for sky in &series.skies {
        let (relative, sealed_c) = (&mut relative[sky.instants.clone()], &mut sealed_c[sky.instants.clone()]);
        let through = (series, sky, (kelvin, rh));
        match sky.sunny {
            true => under_one_sky::<true>(through, reference, skin, ln_q10, relative, sealed_c),
            false => under_one_sky::<false>(through, reference, skin, ln_q10, relative, sealed_c),
        }
    }
}

#[inline(always)]
fn under_one_sky<const SUN: bool>(
    (series, sky, (kelvin, rh)): (&ClimateSeries, &Sky, (f64, f64)),
    reference: f64,
    skin: &Skin,
    ln_q10: f64,
    relative: &mut [f64],
    sealed_c: &mut [f64],
) {
    let n = relative.len();
    let [temperature_c, vapour_pressure, pressure, speed, sun] =
        [&series.temperature_c, &series.vapour_pressure, &series.pressure, &series.speed, &series.sun]
            .map(|all| &all[sky.instants.clone()][..n]);
    let sealed_c = &mut sealed_c[..n];
    // One index for all arrays and no branch, so that vector instructions handle several instants at a time.
    for i in 0..n {
        let air = Air {
            temperature_c: temperature_c[i],
            vapour_pressure: vapour_pressure[i],
            pressure: pressure[i],
            speed: speed[i],
            sun: sun[i],
            outdoors: sky.outdoors,
        };
        let loss = against::<SUN>(reference, &air.shifted(kelvin, rh), skin, ln_q10);
        (relative[i], sealed_c[i]) = (loss.relative, loss.sealed_c);
    }
}

#[inline(always)]
fn against<const SUN: bool>(reference: f64, air: &Air, skin: &Skin, ln_q10: f64) -> Loss {
    let (surface_c, flux) = settle::<SUN>(air, skin.conductance, ln_q10);
    // In the shade a surface that does not evaporate has the temperature of the air.
    let sealed_c = if SUN { settle::<SUN>(air, 0.0, ln_q10).0 } else { air.temperature_c };
    Loss { relative: flux * exposure(air, skin) / reference, flux, surface_c, sealed_c }
}

/// The exposed area of a head in this air, relative to that of a head that lies free in still air.
///
/// Wind flushes humid air out from between packed petals and out of a deep garland. The exponents are judgement.
#[inline(always)]
fn exposure(air: &Air, skin: &Skin) -> f64 {
    let wind = ln(air.speed.max(SLOWEST) / Air::STILL);
    let packed = exp(0.25 * (1.0 - skin.exposed_share) * wind).min(1.0 / skin.exposed_share);
    let sheltered = if skin.shelter > 1.0 { (exp(0.1 * wind) / skin.shelter).min(1.0) } else { 1.0 };
    packed * sheltered
}

/// The conductance of the skin at a petal temperature, relative to that at the reference temperature of 21 C, from the logarithm
/// of its Q10.
#[inline(always)]
fn response(surface_c: f64, ln_q10: f64) -> f64 {
    let gentle = ln_q10 * (surface_c.clamp(15.0, 35.0) - Air::REFERENCE_TEMPERATURE_C) / 10.0;
    let soft = LN_2 * (surface_c - WAX_SOFTENS_C).max(0.0) / WAX_DOUBLING_K;
    exp(gentle + soft)
}

/// The derivative of the logarithm of [`response`] with temperature, 1/K; `ln_q10` is the logarithm of the Q10.
#[inline(always)]
fn skin_rise(surface_c: f64, ln_q10: f64) -> f64 {
    let gentle = if (15.0..35.0).contains(&surface_c) { ln_q10 / 10.0 } else { 0.0 };
    let soft = if surface_c > WAX_SOFTENS_C { LN_2 / WAX_DOUBLING_K } else { 0.0 };
    gentle + soft
}

/// Boundary-layer conductances of both faces together, for heat and for vapour, mol m-2 s-1, where the surface is
/// `excess` kelvin warmer than the air: forced and free convection mixed.
#[inline(always)]
pub fn boundary(air: &Air, excess: f64) -> (f64, f64) {
    let gusts = if air.outdoors { OUTDOOR_TURBULENCE } else { 1.0 };
    let speed = air.speed.max(SLOWEST);
    let forced = gusts * forced_heat_conductance(speed, DIMENSION);
    // Free convection from a warm face: 0.05 (dT/d)^(1/4), Campbell & Norman (1998), from memory.
    let free = 0.05 * (excess.abs() / DIMENSION).sqrt().sqrt();
    let mixed = pow(forced * forced * forced + free * free * free, 1.0 / 3.0);
    let vapour = gusts * forced_vapour_conductance(speed, DIMENSION) * mixed / forced;
    (2.0 * mixed, 2.0 * vapour)
}

/// Isothermal net radiation absorbed per projected area, W/m2: indoors walls are near air temperature.
#[inline(always)]
pub fn absorbed(air: &Air) -> f64 {
    ABSORPTANCE * air.sun
}

/// A skin in some air: what stays constant while its temperature is iterated.
struct Petal<'a> {
    air: &'a Air,
    conductance: f64,
    ln_q10: f64,
    latent: f64,
    radiative: f64,
}

impl Petal<'_> {
    /// Conductance for vapour through skin and boundary layer, mol m-2 s-1.
    #[inline(always)]
    fn conductance(&self, surface_c: f64, vapour: f64) -> f64 {
        in_series(self.conductance * response(surface_c, self.ln_q10), vapour)
    }

    /// Water lost by a petal with this saturation vapour pressure, mol m-2 s-1.
    #[inline(always)]
    fn lost(&self, conductance: f64, saturation: f64) -> f64 {
        conductance * (saturation - self.air.vapour_pressure) / self.air.pressure
    }

    /// The first estimate of the petal temperature: the Penman-Monteith form at air temperature, C.
    #[inline(always)]
    fn first(&self) -> f64 {
        let air = self.air;
        let (saturation, slope) = saturation_and_slope(air.temperature_c);
        let (heat, vapour) = boundary(air, 0.0);
        let g = self.conductance(air.temperature_c, vapour);
        air.temperature_c
            + (absorbed(air) - self.latent * self.lost(g, saturation))
                / (MOLAR_HEAT_CAPACITY * (heat + self.radiative) + self.latent * g * slope / air.pressure)
    }

    /// One Newton step from a petal temperature: the next temperature, and the boundary-layer conductance for vapour at the
    /// old one, which includes free convection.
    #[inline(always)]
    fn newton(&self, surface_c: f64) -> (f64, f64) {
        let air = self.air;
        let excess = surface_c - air.temperature_c;
        let (heat, vapour) = boundary(air, excess);
        let g = self.conductance(surface_c, vapour);
        let air_k = air.temperature_c + ZERO_C_IN_K;
        let ratio = 1.0 + excess / air_k;
        let cube = ratio * ratio * ratio;
        let radiated = self.radiative * air_k * (cube * ratio - 1.0) / 4.0;
        let (saturation, slope) = saturation_and_slope(surface_c);
        let loss = self.lost(g, saturation);
        let balance = absorbed(air) - MOLAR_HEAT_CAPACITY * (heat * excess + radiated) - self.latent * loss;
        // The conductance of the skin rises with temperature; the boundary layer damps this by its share of the resistance.
        let opening = skin_rise(surface_c, self.ln_q10) * (1.0 - g / vapour) * loss;
        let stiffness = MOLAR_HEAT_CAPACITY * (heat + self.radiative * cube)
            + self.latent * (g * slope / air.pressure + opening.max(0.0));
        (surface_c + balance / stiffness, vapour)
    }
}

/// The equilibrium temperature of a petal whose skin has this conductance, C, and its water loss, mol m-2 s-1.
#[inline(always)]
fn settle<const SUN: bool>(air: &Air, conductance: f64, ln_q10: f64) -> (f64, f64) {
    let petal = Petal {
        air,
        // A cuticle has a constant conductance in m/s, so its molar conductance is proportional to pressure.
        conductance: conductance * air.pressure / Air::SEA_LEVEL,
        ln_q10,
        latent: molar_latent_heat(air.temperature_c),
        radiative: 2.0 * radiative_conductance(air.temperature_c),
    };
    let (mut surface_c, mut vapour) = petal.newton(petal.first());
    if SUN {
        // Unrolled by hand, since a loop within the loop over instants would not be vectorised.
        (surface_c, _) = petal.newton(surface_c);
        (surface_c, _) = petal.newton(surface_c);
        (surface_c, vapour) = petal.newton(surface_c);
    }
    let g = petal.conductance(surface_c, vapour);
    (surface_c, petal.lost(g, saturation_vapour_pressure(surface_c)).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    const PETAL: Skin = Skin { conductance: 0.004, exposed_share: 1.0, shelter: 1.0 };

    #[test]
    fn a_breeze_in_the_shade_changes_a_single_petals_loss_by_about_one_percent() {
        let at = |speed| water_loss(&Air { speed, ..Air::indoors(25.0, 0.5).unwrap() }, &PETAL, 1.2).relative;
        let change = at(0.5) / at(0.05) - 1.0;
        assert!((0.002..0.025).contains(&change), "{change}");
    }

    #[test]
    fn sun_warms_petals_as_thermography_of_garden_flowers_shows() {
        // Measured: 6 K mean and 10.7 K maximum above the air, in sun, out of doors. Light to very light breeze.
        let excess = |speed| {
            let air = Air { sun: 800.0, speed, outdoors: true, ..Air::indoors(25.0, 0.5).unwrap() };
            water_loss(&air, &PETAL, 1.2).surface_c - 25.0
        };
        assert!((5.0..7.0).contains(&excess(1.0)), "{}", excess(1.0));
        assert!((8.0..11.5).contains(&excess(0.3)), "{}", excess(0.3));
    }

    #[test]
    fn packed_heads_feel_a_breeze() {
        let packed = Skin { exposed_share: 0.4, ..PETAL };
        let at =
            |speed| water_loss(&Air { speed, ..Air::indoors(25.0, 0.5).unwrap() }, &packed, 1.2).relative;
        assert!(at(0.5) > 1.15 * at(0.1));
    }

    #[test]
    fn the_reference_air_is_the_unit() {
        let loss = water_loss(&Air::reference(), &PETAL, 1.3);
        assert!((loss.relative - 1.0).abs() < 1e-12);
    }
}
