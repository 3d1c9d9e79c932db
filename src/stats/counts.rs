//! How many heads of a piece will be presentable: binomial chance between heads, on top of the shares of lots.

use super::Band;

/// How many lots share one binomial distribution, at their mean share; sorted by share, neighbours hardly differ.
const TOGETHER: usize = 8;
/// Probabilities this small against the greatest are left out.
const NEGLIGIBLE: f64 = 1e-17;

/// The distribution of the number of presentable heads when every one of some shares is equally likely: a mixture of binomial
/// distributions.
///
/// # Formula
/// `P(k) = mean over lots of C(n, k) p^k (1-p)^(n-k)`, with a few lots of similar share taken as one. Each binomial
/// distribution is built from its mode outwards by the ratio of neighbours, and scaled to a sum of 1.
///
/// # Examples
/// ```
/// use headwater::stats::counts::Counts;
/// let two = Counts::of(&[0.5], 2).expect("a share");
/// assert!((two.at_least(1) - 0.75).abs() < 1e-12);
/// assert_eq!(two.band().p50, 1.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Counts {
    chances: Vec<f64>,
}

impl Counts {
    /// The distribution for `heads` heads, from `shares` in any order, which are clamped to 0 to 1; `None` without shares, or
    /// where one is NaN.
    pub fn of(shares: &[f64], heads: u32) -> Option<Counts> {
        let mut sorted = shares.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        Counts::of_sorted(&sorted, heads)
    }

    /// [`Counts::of`] for shares in rising order.
    pub fn of_sorted(shares: &[f64], heads: u32) -> Option<Counts> {
        if shares.is_empty() || shares.iter().any(|share| share.is_nan()) {
            return None;
        }
        let mut chances = vec![0.0; heads as usize + 1];
        let mut binomial = vec![0.0; heads as usize + 1];
        for lots in shares.chunks(TOGETHER) {
            let share = (lots.iter().sum::<f64>() / lots.len() as f64).clamp(0.0, 1.0);
            add(&mut chances, &mut binomial, share, lots.len() as f64 / shares.len() as f64);
        }
        Some(Counts { chances })
    }

    /// The median, and the range that holds the number nine times out of ten.
    pub fn band(&self) -> Band {
        let mut points = [f64::NAN; 3];
        let mut up_to = 0.0;
        for (k, chance) in self.chances.iter().enumerate() {
            up_to += chance;
            for (point, share) in points.iter_mut().zip([0.05, 0.5, 0.95]) {
                if point.is_nan() && up_to >= share {
                    *point = k as f64;
                }
            }
        }
        let [p05, p50, p95] = points.map(|p| if p.is_nan() { (self.chances.len() - 1) as f64 } else { p });
        Band { p05, p50, p95 }
    }

    /// The probability that at least `wanted` heads are presentable.
    pub fn at_least(&self, wanted: u32) -> f64 {
        self.chances.iter().skip(wanted as usize).sum::<f64>().min(1.0)
    }
}

/// Adds a binomial distribution of weight `weight` to `chances`; `binomial` is a buffer of the same length.
fn add(chances: &mut [f64], binomial: &mut [f64], share: f64, weight: f64) {
    let n = chances.len() - 1;
    if share == 0.0 || share == 1.0 {
        chances[if share == 0.0 { 0 } else { n }] += weight;
        return;
    }
    let odds = share / (1.0 - share);
    let likeliest = (((n + 1) as f64 * share) as usize).min(n);
    binomial[likeliest] = 1.0;
    let (mut low, mut high, mut total) = (likeliest, likeliest, 1.0);
    while low > 0 && binomial[low] > NEGLIGIBLE {
        binomial[low - 1] = binomial[low] * low as f64 / ((n - low + 1) as f64 * odds);
        low -= 1;
        total += binomial[low];
    }
    while high < n && binomial[high] > NEGLIGIBLE {
        binomial[high + 1] = binomial[high] * (n - high) as f64 * odds / (high + 1) as f64;
        high += 1;
        total += binomial[high];
    }
    for (sum, chance) in chances[low..=high].iter_mut().zip(&binomial[low..=high]) {
        *sum += weight * chance / total;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Binomial, Discrete, DiscreteCDF};

    #[test]
    fn a_known_share_gives_a_binomial_distribution() {
        // statrs: the binomial distribution of an independent library.
        for (heads, share) in [(1, 0.3), (9, 0.0), (40, 0.8), (140, 0.999), (600, 0.02), (3000, 0.5)] {
            let binomial = Binomial::new(share, heads).unwrap();
            let ours = Counts::of(&[share; 11], heads as u32).unwrap();
            for k in 0..=heads {
                let (a, b) = (ours.chances[k as usize], binomial.pmf(k));
                assert!((a - b).abs() < 1e-10, "{k} of {heads} at {share}: {a} but {b}");
            }
            let band = ours.band();
            assert_eq!(band.p05, binomial.inverse_cdf(0.05) as f64);
            assert_eq!(band.p95, binomial.inverse_cdf(0.95) as f64);
            assert!((ours.at_least(heads as u32 / 2 + 1) - binomial.sf(heads / 2)).abs() < 1e-9);
        }
    }

    #[test]
    fn no_shares_give_no_counts() {
        assert_eq!((Counts::of(&[], 3), Counts::of(&[0.5, f64::NAN], 3)), (None, None));
    }
}
