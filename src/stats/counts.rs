//! How many heads of a piece will be presentable: chance between heads, on top of what its lots have in common.

use super::Band;

/// How many lots are taken together where only their sum matters; in order of share, neighbours hardly differ.
const TOGETHER: usize = 8;
/// Chances this much smaller than the greatest are left out.
const NEGLIGIBLE: f64 = 1e-17;

/// The law of how many heads are presentable when each of some shares is as likely: a mixture of binomials.
///
/// # Formula
/// `P(k) = mean over lots of C(n, k) p^k (1-p)^(n-k)`, a few lots of like share taken as one. Each law is built from its
/// likeliest number outwards, by the ratio of neighbours, and scaled to one.
///
/// # Examples
/// ```
/// use headwater::stats::counts::Counts;
/// let two = Counts::of(&[0.5], 2);
/// assert!((two.at_least(1) - 0.75).abs() < 1e-12);
/// assert_eq!(two.band().p50, 1.0);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Counts {
    chances: Vec<f64>,
}

impl Counts {
    /// Of `heads` heads; `shares` in any order, at least one.
    pub fn of(shares: &[f64], heads: u32) -> Counts {
        let mut sorted = shares.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        Counts::of_sorted(&sorted, heads)
    }

    /// The same of shares in rising order.
    pub fn of_sorted(shares: &[f64], heads: u32) -> Counts {
        let mut chances = vec![0.0; heads as usize + 1];
        let mut law = vec![0.0; heads as usize + 1];
        for lots in shares.chunks(TOGETHER) {
            let share = (lots.iter().sum::<f64>() / lots.len() as f64).clamp(0.0, 1.0);
            add(&mut chances, &mut law, share, lots.len() as f64 / shares.len() as f64);
        }
        Counts { chances }
    }

    /// The median and the range that holds nine times out of ten.
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

    /// The chance that at least so many are presentable.
    pub fn at_least(&self, wanted: u32) -> f64 {
        self.chances.iter().skip(wanted as usize).sum::<f64>().min(1.0)
    }
}

/// Adds a binomial law of weight `weight` to `chances`; `law` is room as long as they are.
fn add(chances: &mut [f64], law: &mut [f64], share: f64, weight: f64) {
    let n = chances.len() - 1;
    if share == 0.0 || share == 1.0 {
        chances[if share == 0.0 { 0 } else { n }] += weight;
        return;
    }
    let odds = share / (1.0 - share);
    let likeliest = (((n + 1) as f64 * share) as usize).min(n);
    law[likeliest] = 1.0;
    let (mut low, mut high, mut total) = (likeliest, likeliest, 1.0);
    while low > 0 && law[low] > NEGLIGIBLE {
        law[low - 1] = law[low] * low as f64 / ((n - low + 1) as f64 * odds);
        low -= 1;
        total += law[low];
    }
    while high < n && law[high] > NEGLIGIBLE {
        law[high + 1] = law[high] * (n - high) as f64 * odds / (high + 1) as f64;
        high += 1;
        total += law[high];
    }
    for (sum, chance) in chances[low..=high].iter_mut().zip(&law[low..=high]) {
        *sum += weight * chance / total;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{Binomial, Discrete, DiscreteCDF};

    #[test]
    fn a_sure_share_follows_the_binomial_law() {
        // statrs: an independent library's binomial law.
        for (heads, share) in [(1, 0.3), (9, 0.0), (40, 0.8), (140, 0.999), (600, 0.02), (3000, 0.5)] {
            let law = Binomial::new(share, heads).unwrap();
            let ours = Counts::of(&[share; 11], heads as u32);
            for k in 0..=heads {
                let (a, b) = (ours.chances[k as usize], law.pmf(k));
                assert!((a - b).abs() < 1e-10, "{k} of {heads} at {share}: {a} but {b}");
            }
            let band = ours.band();
            assert_eq!(band.p05, law.inverse_cdf(0.05) as f64);
            assert_eq!(band.p95, law.inverse_cdf(0.95) as f64);
            assert!((ours.at_least(heads as u32 / 2 + 1) - law.sf(heads / 2)).abs() < 1e-9);
        }
    }
}
