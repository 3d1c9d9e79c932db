//! Exponential, logarithm and powers made of arithmetic alone.
//!
//! The standard library asks the system for its exponential, and systems differ in the last bit; on some, two processors
//! do. These functions give the same bits everywhere, in debug and release builds. They have no branches, so a processor
//! can work out several values at a time. They serve the simulation: logarithms take positive normal numbers, and
//! exponents must not overflow.

use std::f64::consts::LOG2_E;

/// 1.5 * 2^52: added to a number, it leaves the nearest whole number in the lowest bits of the sum.
const TO_WHOLE: f64 = 6_755_399_441_055_744.0;
/// 2^52: its bits, combined by "or" with those of a whole number below 2^52, are the bits of that number plus 2^52.
const TWO_TO_52: f64 = 4_503_599_627_370_496.0;
/// The biased exponent of 1.
const BIAS: u64 = 1023;
/// Bits of the fraction, below the exponent.
const FRACTION_BITS: u32 = 52;
/// Logarithm of 2 in two parts, the leading bits and the rest, so that a whole multiple of the first is exact.
const LN_2: (f64, f64) = (6.931_471_803_691_238e-1, 1.908_214_929_270_587_7e-10);
/// Taylor's coefficients of the exponential, 1/13! to 1/3!.
const TAYLOR: [f64; 11] = [
    1.0 / 6_227_020_800.0,
    1.0 / 479_001_600.0,
    1.0 / 39_916_800.0,
    1.0 / 3_628_800.0,
    1.0 / 362_880.0,
    1.0 / 40_320.0,
    1.0 / 5_040.0,
    1.0 / 720.0,
    1.0 / 120.0,
    1.0 / 24.0,
    1.0 / 6.0,
];
/// Coefficients of the logarithm in `s^2`, from the seventh down: those of Sun's fdlibm 5.3, `e_log.c` (1995).
const LOGARITHM: [f64; 7] = [
    1.479_819_860_511_658_6e-1,
    1.531_383_769_920_937_3e-1,
    1.818_357_216_161_805e-1,
    2.222_219_843_214_978_4e-1,
    2.857_142_874_366_239e-1,
    3.999_999_999_940_942e-1,
    6.666_666_666_666_735e-1,
];

/// `2^n` and `e^r - 1` with `n ln 2 + r = x`, `n` whole and `r` within `ln 2 / 2` of 0.
#[inline(always)]
fn split(x: f64) -> (f64, f64) {
    let x = x.clamp(-708.0, 709.0);
    let shifted = x * LOG2_E + TO_WHOLE;
    let n = shifted - TO_WHOLE;
    let r = (x - n * LN_2.0) - n * LN_2.1;
    let power = f64::from_bits((shifted.to_bits() << FRACTION_BITS).wrapping_add(BIAS << FRACTION_BITS));
    let mut series = TAYLOR[0];
    for coefficient in &TAYLOR[1..] {
        series = series * r + coefficient;
    }
    let square = r * r;
    (power, r + (0.5 * square + square * r * series))
}

/// `e^x`, within one unit in the last place. `x` is clamped to -708 to 709; NaN gives NaN.
///
/// ```
/// use headwater::numerics::elementary::exp;
/// assert_eq!(exp(0.0), 1.0);
/// assert!((exp(1.0) - std::f64::consts::E).abs() < 1e-15);
/// ```
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let (power, less_one) = split(x);
    power + power * less_one
}

/// `e^x - 1`, accurate to rounding near 0, too. `x` is clamped to -708 to 709.
///
/// ```
/// use headwater::numerics::elementary::exp_m1;
/// assert_eq!(exp_m1(1e-20), 1e-20);
/// ```
#[inline(always)]
pub fn exp_m1(x: f64) -> f64 {
    let (power, less_one) = split(x);
    power * less_one + (power - 1.0)
}

/// The natural logarithm of a positive normal number, within one unit in the last place.
///
/// Zero, negative, subnormal and infinite numbers and NaN give a finite number without meaning: to ask costs a branch, and
/// callers inside the program check their arguments where they enter.
///
/// # Source
/// The algorithm and coefficients of Sun's fdlibm 5.3, `e_log.c` (1995).
///
/// ```
/// use headwater::numerics::elementary::{exp, ln};
/// assert_eq!(ln(1.0), 0.0);
/// assert!((ln(exp(3.0)) - 3.0).abs() < 1e-15);
/// ```
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    // x = m 2^k with m from the root of 1/2 to that of 2.
    let root = std::f64::consts::FRAC_1_SQRT_2.to_bits();
    let biased = x.to_bits().wrapping_add((BIAS << FRACTION_BITS) - root) >> FRACTION_BITS;
    let k = f64::from_bits(biased | TWO_TO_52.to_bits()) - (TWO_TO_52 + BIAS as f64);
    let m = f64::from_bits(x.to_bits().wrapping_sub(biased.wrapping_sub(BIAS) << FRACTION_BITS));
    let f = m - 1.0;
    let s = f / (2.0 + f);
    let mut series = 0.0;
    for coefficient in LOGARITHM {
        series = (series + coefficient) * (s * s);
    }
    let half = 0.5 * f * f;
    k * LN_2.0 - ((half - (s * (half + series) + k * LN_2.1)) - f)
}

/// `x^y` for a positive normal `x`: `exp(y ln x)`.
///
/// ```
/// assert!((headwater::numerics::elementary::pow(2.5, 2.0) - 6.25).abs() < 1e-14);
/// ```
#[inline(always)]
pub fn pow(x: f64, y: f64) -> f64 {
    exp(y * ln(x))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// How many units in the last place two numbers differ by.
    fn apart(a: f64, b: f64) -> f64 {
        (a - b).abs() / (b.abs() * f64::EPSILON)
    }

    #[test]
    fn they_are_the_standard_librarys_to_the_last_place() {
        for i in 0..200_000 {
            let x = -45.0 + 90.0 * (f64::from(i) + 0.37) / 200_000.0;
            let y = (x / 2.0).exp();
            assert!(apart(exp(x), x.exp()) <= 1.0, "exp {x}");
            assert!(apart(exp_m1(x / 9.0), (x / 9.0).exp_m1()) <= 2.0, "exp_m1 {}", x / 9.0);
            assert!(apart(ln(y), y.ln()) <= 1.0, "ln {y}");
            assert!(apart(pow(y, 0.4), y.powf(0.4)) <= 8.0, "{y} to the 0.4");
        }
        assert_eq!((exp(-1e9), exp(f64::NEG_INFINITY)), (exp(-708.0), exp(-708.0)));
        assert!(exp(f64::NAN).is_nan() && exp(-708.0) < 1e-307);
    }
}
