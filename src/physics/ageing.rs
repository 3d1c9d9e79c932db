//! Ageing with temperature, and heat injury.

use crate::numerics::elementary::{exp, ln};

/// The logarithm of `Q10^((t - t_ref) / 10)`, how much faster a process runs at `t_c` than at `t_ref_c` (van 't Hoff 1884).
#[inline(always)]
fn ln_q10_factor(t_c: f64, t_ref_c: f64, q10: f64) -> f64 {
    ln(q10) * (t_c - t_ref_c) / 10.0
}

/// Below this temperature flowers differ in how much cold slows their ageing, C (judgement).
const COOL_C: f64 = 10.0;

/// How a flower ages with temperature, as days of its life in water at 20 C that one day costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ageing {
    /// Factor on ageing for each 10 K.
    pub q10: f64,
    /// Temperature above which ageing does not accelerate any further, C.
    pub cap_c: f64,
    /// Ageing at 0 C relative to what the Q10 gives; at most the Q10, so that a warmer flower never ages more slowly.
    pub cold: f64,
}

impl Ageing {
    /// Ageing relative to that in water at 20 C, in water and out of it.
    ///
    /// Out of water a head ages at the pace of water until it is dehydrated, and by then it is soft and its own clock has ended it:
    /// reference-data/README.md, "Ageing out of water", has the argument.
    ///
    /// # Formula
    /// `Q10^((min(T, cap) - 20)/10)`, below 10 C times `cold^((10 - T)/10)`, no further than 0 C.
    ///
    /// # Source
    /// The cap: carnations aged no faster at 32 than at 24 C (J. Japan. Soc. Hort. Sci. 74(4):337, 2005). The cold:
    /// its spread between flowers is set in the population.
    ///
    /// # Examples
    /// ```
    /// use headwater::physics::ageing::Ageing;
    /// let ageing = Ageing { q10: 2.5, cap_c: 28.0, cold: 0.5 };
    /// assert!((ageing.pace(20.0) - 1.0).abs() < 1e-12);
    /// assert_eq!(ageing.pace(28.0), ageing.pace(35.0));
    /// assert!((ageing.pace(0.0) - 0.5 / 6.25).abs() < 1e-12);
    /// ```
    #[inline(always)]
    pub fn pace(&self, t_c: f64) -> f64 {
        let slowed = ln(self.cold) * ((COOL_C - t_c) / 10.0).clamp(0.0, 1.0);
        exp(slowed + ln_q10_factor(t_c.min(self.cap_c), 20.0, self.q10))
    }
}

/// How far above its harmless temperature a petal dies within the hour, K (judgement).
const DEADLY_K: f64 = 12.0;

/// The dose of heat injury from one hour at a petal temperature; heads end at doses around 1.
///
/// # Formula
/// `4 ((T - T_h) / 12)^4` above the harmless temperature `T_h`, 38 C for a median petal: no dose below it, and a certain end
/// within the hour at 50 C (judgement; carnations in boxes in the sun were measured at 49.5 C).
///
/// # Examples
/// ```
/// use headwater::physics::ageing::heat_injury_rate;
/// assert_eq!(heat_injury_rate(37.0, 38.0), 0.0);
/// assert!(heat_injury_rate(50.0, 38.0) >= 4.0);
/// ```
#[inline(always)]
pub fn heat_injury_rate(petal_c: f64, harmless_c: f64) -> f64 {
    let beyond = (petal_c - harmless_c).max(0.0) / DEADLY_K;
    let square = beyond * beyond;
    4.0 * square * square
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand from the formulas: 3 K above harmless is a quarter of 12, 6 K half of it.
    #[test]
    fn paces_and_doses_are_those_of_the_formulas() {
        for (above, dose) in [(3.0, 4.0 / 256.0), (6.0, 0.25), (12.0, 4.0)] {
            assert!((heat_injury_rate(38.0 + above, 38.0) - dose).abs() < 1e-12, "{above}");
        }
        let ageing = Ageing { q10: 2.5, cap_c: 28.0, cold: 0.25 };
        // Half way to freezing half of the cold's effect, in the logarithm; above 10 C none.
        assert!((ageing.pace(5.0) - 0.5 * 2.5f64.powf(-1.5)).abs() < 1e-12);
        assert!(
            (ageing.pace(10.0) - 0.4).abs() < 1e-12
                && (ageing.pace(-5.0) - 0.25 * 2.5f64.powf(-2.5)).abs() < 1e-12
        );
    }
}
