//! Ageing: how much faster a flower grows old when it is warmer.

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
