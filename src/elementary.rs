//! Elementary functions made of arithmetic alone.
//!
//! The standard library asks the system for its exponential, and systems differ in the last bit, some even between two
//! processors. These are the same bits everywhere, debug or release, and have no branches, so that a processor may work
//! out several at a time. They are for what a simulation goes through: positive normal numbers for logarithms, and
//! exponents that do not overflow.

use std::f64::consts::LOG2_E;

/// Added to a number, it leaves the nearest whole one in the lowest bits.
const TO_WHOLE: f64 = 6_755_399_441_055_744.0;
/// The bits of a whole number below 2^52, put under those of 2^52, are that number and 2^52 more.
const TWO_TO_52: f64 = 4_503_599_627_370_496.0;
/// The exponent of 1, and where it stands.
const BIAS: u64 = 1023;
const FRACTION_BITS: u32 = 52;
/// Logarithm of 2: the leading bits, and the rest.
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

/// `e^x`, within one unit in the last place; exponents beyond -708 and 709 count as those.
///
/// ```
/// use headwater::elementary::exp;
/// assert_eq!(exp(0.0), 1.0);
/// assert!((exp(1.0) - std::f64::consts::E).abs() < 1e-15);
/// ```
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let (power, less_one) = split(x);
    power + power * less_one
}

/// `e^x - 1`, to rounding also near 0.
///
/// ```
/// use headwater::elementary::exp_m1;
/// assert_eq!(exp_m1(1e-20), 1e-20);
/// ```
#[inline(always)]
pub fn exp_m1(x: f64) -> f64 {
    let (power, less_one) = split(x);
    power * less_one + (power - 1.0)
}

/// The natural logarithm of a positive normal number, within one unit in the last place.
///
/// # Source
/// The algorithm and coefficients of Sun's fdlibm 5.3, `e_log.c` (1995).
///
/// ```
/// use headwater::elementary::{exp, ln};
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

/// `x^y` of a positive normal number.
///
/// ```
/// assert!((headwater::elementary::pow(2.5, 2.0) - 6.25).abs() < 1e-14);
/// ```
#[inline(always)]
pub fn pow(x: f64, y: f64) -> f64 {
    exp(y * ln(x))
}

/// The quantile of the standard normal law, for a share between 0 and 1.
///
/// # Source
/// Wichura (1988), Algorithm AS 241 (PPND16), Applied Statistics 37:477; the coefficients from memory, the result checked
/// against another library.
///
/// ```
/// assert!((headwater::elementary::normal(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
/// ```
pub fn normal(share: f64) -> f64 {
    let q = share - 0.5;
    if q.abs() <= 0.425 { near(q) } else { on_the_side_of(q, far(tail(share, q))) }
}

/// [`normal`] of many shares, several at a time.
///
/// ```
/// use headwater::elementary::{normal, normals};
/// for shares in [[0.1, 0.5, 0.999], [0.5, 1e-9, 1e-13]] {
///     assert_eq!(normals(&shares), shares.map(normal));
/// }
/// ```
#[inline(always)]
pub fn normals<const N: usize>(shares: &[f64; N]) -> [f64; N] {
    let mut z = [0.0; N];
    let mut furthest = false;
    for (z, share) in z.iter_mut().zip(shares) {
        let q = share - 0.5;
        // Both are worked out for all.
        let (r, near) = (tail(*share, q), near(q));
        let far = on_the_side_of(q, ratio(&FAR, r - 1.6));
        *z = if q.abs() <= 0.425 { near } else { far };
        furthest |= r > 5.0;
    }
    if furthest { shares.map(normal) } else { z }
}

/// The quantile near the middle.
#[inline(always)]
fn near(q: f64) -> f64 {
    let r = 0.180_625 - q * q;
    q * horner(&NEAR.0, r) / horner(&NEAR.1, r)
}

/// How far out a share is.
#[inline(always)]
fn tail(share: f64, q: f64) -> f64 {
    (-ln(if q < 0.0 { share } else { 1.0 - share })).sqrt()
}

/// The quantile so far out, above the middle.
fn far(r: f64) -> f64 {
    if r <= 5.0 { ratio(&FAR, r - 1.6) } else { ratio(&FARTHEST, r - 5.0) }
}

#[inline(always)]
fn on_the_side_of(q: f64, z: f64) -> f64 {
    if q < 0.0 { -z } else { z }
}

#[inline(always)]
fn ratio((above, below): &([f64; 8], [f64; 8]), x: f64) -> f64 {
    horner(above, x) / horner(below, x)
}

/// A polynomial whose highest coefficient is the first.
#[inline(always)]
fn horner(coefficients: &[f64; 8], x: f64) -> f64 {
    let mut sum = 0.0;
    for c in coefficients {
        sum = sum * x + c;
    }
    sum
}

const NEAR: ([f64; 8], [f64; 8]) = (
    [
        2.509_080_928_730_122_7e3,
        3.343_057_558_358_813e4,
        6.726_577_092_700_87e4,
        4.592_195_393_154_987e4,
        1.373_169_376_550_946e4,
        1.971_590_950_306_551_3e3,
        1.331_416_678_917_843_8e2,
        3.387_132_872_796_366_5,
    ],
    [
        5.226_495_278_852_854e3,
        2.872_908_573_572_194_3e4,
        3.930_789_580_009_271e4,
        2.121_379_430_158_659_7e4,
        5.394_196_021_424_751e3,
        6.871_870_074_920_579e2,
        4.231_333_070_160_091e1,
        1.0,
    ],
);
const FAR: ([f64; 8], [f64; 8]) = (
    [
        7.745_450_142_783_414e-4,
        2.272_384_498_926_918_4e-2,
        2.417_807_251_774_506e-1,
        1.270_458_252_452_368_4,
        3.647_848_324_763_204_5,
        5.769_497_221_460_691,
        4.630_337_846_156_546,
        1.423_437_110_749_683_5,
    ],
    [
        1.050_750_071_644_416_9e-9,
        5.475_938_084_995_345e-4,
        1.519_866_656_361_645_7e-2,
        1.481_039_764_274_800_8e-1,
        6.897_673_349_851e-1,
        1.676_384_830_183_803_8,
        2.053_191_626_637_759,
        1.0,
    ],
);
const FARTHEST: ([f64; 8], [f64; 8]) = (
    [
        2.010_334_399_292_288_1e-7,
        2.711_555_568_743_487_6e-5,
        1.242_660_947_388_078_4e-3,
        2.653_218_952_657_612_4e-2,
        2.965_605_718_285_048_7e-1,
        1.784_826_539_917_291_3,
        5.463_784_911_164_114,
        6.657_904_643_501_103,
    ],
    [
        2.044_263_103_389_939_8e-15,
        1.421_511_758_316_446e-7,
        1.846_318_317_510_054_8e-5,
        7.868_691_311_456_133e-4,
        1.487_536_129_085_061_5e-2,
        1.369_298_809_227_358e-1,
        5.998_322_065_558_88e-1,
        1.0,
    ],
);

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, Normal};

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

    #[test]
    fn the_normal_is_another_librarys() {
        // statrs 0.19, whose inverse error function follows Boost's.
        let other = Normal::standard();
        for i in 1..100_000 {
            let share = f64::from(i) / 100_000.0;
            let (own, theirs) = (normal(share), other.inverse_cdf(share));
            assert!((own - theirs).abs() <= 4e-15 * theirs.abs().max(1.0), "{share}: {own}, {theirs}");
        }
        for exponent in 1..300 {
            let share = 10f64.powi(-exponent);
            let (own, theirs) = (normal(share), other.inverse_cdf(share));
            assert!((own / theirs - 1.0).abs() < 1e-13, "{share}: {own}, {theirs}");
        }
    }
}
