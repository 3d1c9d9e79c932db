//! The standard normal distribution.
//!
//! Every simulated lot goes through [`quantile`] and [`cdf`], so both give the same bits on every machine: the quantile is
//! made of [`elementary`](super::elementary) functions, and the error function of `libm` is arithmetic alone. What follows
//! a simulation (fits, scores, p-values) uses [`upper_tail`].

use super::elementary::ln;
use std::f64::consts::FRAC_1_SQRT_2;

/// The 90 % point of the standard normal.
pub const Z90: f64 = 1.281_551_565_544_600_4;

/// The quantile of the standard normal distribution at a probability strictly between 0 and 1. Elsewhere the result has
/// no meaning.
///
/// # Source
/// Wichura (1988), Algorithm AS 241 (PPND16), Applied Statistics 37:477; the coefficients from memory, the result checked
/// against another library.
///
/// ```
/// assert!((headwater::numerics::normal::quantile(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
/// ```
pub fn quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 { near(q) } else { on_the_side_of(q, far(tail(p, q))) }
}

/// The probability below `z`, the same bits on every machine.
///
/// # Formula
/// `erfc(-z / sqrt 2) / 2`, which keeps its relative accuracy far down the lower tail.
///
/// ```
/// use headwater::numerics::normal::{cdf, quantile};
/// assert_eq!(cdf(0.0), 0.5);
/// assert!((cdf(quantile(0.975)) - 0.975).abs() < 1e-15);
/// ```
pub fn cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// The probability above `z`, by the error function of `statrs`.
///
/// # Formula
/// `erfc(z / sqrt 2) / 2`. `statrs` 0.19 is up to 1e-10 off, relative to the value, where `libm` is right to the last
/// place, and it calls the system's exponential. It stays because what notebooks teach was computed with it, and golden
/// values hold every bit of that.
///
/// ```
/// use headwater::numerics::normal::upper_tail;
/// assert!((upper_tail(1.96) - 0.025).abs() < 1e-5);
/// ```
pub fn upper_tail(z: f64) -> f64 {
    0.5 * statrs::function::erf::erfc(z * FRAC_1_SQRT_2)
}

/// [`quantile`] of many probabilities, several at a time.
///
/// ```
/// use headwater::numerics::normal::{quantile, quantiles};
/// for probabilities in [[0.1, 0.5, 0.999], [0.5, 1e-9, 1e-13]] {
///     assert_eq!(quantiles(&probabilities), probabilities.map(quantile));
/// }
/// ```
#[inline(always)]
pub fn quantiles<const N: usize>(probabilities: &[f64; N]) -> [f64; N] {
    let mut z = [0.0; N];
    let mut furthest = false;
    for (z, p) in z.iter_mut().zip(probabilities) {
        let q = p - 0.5;
        // Both branches are evaluated for every probability, so that there is nothing to branch on.
        let (r, near) = (tail(*p, q), near(q));
        let far = on_the_side_of(q, ratio(&FAR, r - 1.6));
        *z = if q.abs() <= 0.425 { near } else { far };
        furthest |= r > 5.0;
    }
    if furthest { probabilities.map(quantile) } else { z }
}

/// The quantile within 0.425 of the middle; `q` is the probability less one half.
#[inline(always)]
fn near(q: f64) -> f64 {
    let r = 0.180_625 - q * q;
    q * horner(&NEAR.0, r) / horner(&NEAR.1, r)
}

/// The square root of minus the logarithm of the smaller tail probability.
#[inline(always)]
fn tail(p: f64, q: f64) -> f64 {
    (-ln(if q < 0.0 { p } else { 1.0 - p })).sqrt()
}

/// The absolute value of the quantile in a tail, at [`tail`]'s `r`.
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

/// Coefficients of AS 241, numerator and denominator, each from the highest power down: near the middle, in the tails, and
/// beyond `r = 5`, which is 7.0 standard deviations out.
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

    #[test]
    fn quantiles_agree_with_another_library() {
        // statrs 0.19, whose inverse error function follows Boost's.
        let other = Normal::standard();
        for i in 1..100_000 {
            let p = f64::from(i) / 100_000.0;
            let (own, theirs) = (quantile(p), other.inverse_cdf(p));
            assert!((own - theirs).abs() <= 4e-15 * theirs.abs().max(1.0), "{p}: {own}, {theirs}");
        }
        for exponent in 1..300 {
            let p = 10f64.powi(-exponent);
            let (own, theirs) = (quantile(p), other.inverse_cdf(p));
            assert!((own / theirs - 1.0).abs() < 1e-13, "{p}: {own}, {theirs}");
        }
    }

    #[test]
    fn probabilities_are_those_of_the_tables() {
        // Abramowitz & Stegun (1964), table 26.1, from memory.
        for (z, below) in
            [(1.0, 0.841_344_746_068_543), (2.0, 0.977_249_868_051_821), (3.0, 0.998_650_101_968_370)]
        {
            assert!(
                (cdf(z) - below).abs() < 1e-15 && (cdf(-z) - (1.0 - below)).abs() < 1e-15,
                "{z}: {}",
                cdf(z)
            );
        }
        for i in -3_000..3_000 {
            let z = f64::from(i) / 100.0;
            assert!((upper_tail(z) / cdf(-z) - 1.0).abs() < 2e-10, "{z}: {} {}", upper_tail(z), cdf(-z));
        }
    }
}
