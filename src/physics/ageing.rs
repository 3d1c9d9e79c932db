//! The ageing clock, and heat injury.

/// How many hours of ageing at the reference temperature one hour at `t_c` costs.
///
/// # Formula
/// ```text
/// f = Q10^((t - t_ref) / 10)
/// ```
/// # Units
/// Celsius and Celsius in, dimensionless out.
/// # Source
/// Definition of Q10 (van 't Hoff 1884). It describes a fitted range: the caller decides where to stop
/// extrapolating.
/// # Examples
/// ```
/// use headwater::physics::ageing::q10_factor;
/// assert!((q10_factor(30.0, 20.0, 2.5) - 2.5).abs() < 1e-12);
/// ```
pub fn q10_factor(t_c: f64, t_ref_c: f64, q10: f64) -> f64 {
    q10.powf((t_c - t_ref_c) / 10.0)
}

/// How fast a flower ages in water, relative to 20 C; no faster above `cap_c` than at it.
///
/// # Source
/// Carnations aged no faster at 32 than at 24 C (J. Japan. Soc. Hort. Sci. 74(4):337, 2005), hence the cap.
pub fn ageing_rate(t_c: f64, q10: f64, cap_c: f64) -> f64 {
    q10_factor(t_c.min(cap_c), 20.0, q10)
}

/// How many times faster a flower ages out of water than in it: `most` in a warm room, once near freezing.
///
/// # Formula
/// `1 + (most - 1)(1 - exp(-T/5))` above 0 C. The scale of 5 K is judgement; snapdragons held dry at 0 C lost nothing
/// and at 7.5 C 4.4 of 10.6 days (Çelikel, Cevallos & Reid 2010).
pub fn dry_ageing_factor(t_c: f64, most: f64) -> f64 {
    1.0 - (most - 1.0) * (-t_c.max(0.0) / 5.0).exp_m1()
}

/// Below this petal temperature heat does no lasting harm, C (judgement).
const HARMLESS_C: f64 = 38.0;

/// The dose of heat injury that an hour at a petal temperature gives; a head dies at a dose drawn from the unit
/// exponential law, so that a dose of 4 kills all but one or two in a hundred.
///
/// # Formula
/// `4 ((T - 38) / 12)^2` above 38 C: nothing below, certain within the hour at 50 C (judgement; carnations in boxes
/// in the sun were measured at 49.5 C).
pub fn heat_injury_rate(petal_c: f64) -> f64 {
    4.0 * ((petal_c - HARMLESS_C).max(0.0) / 12.0).powi(2)
}
