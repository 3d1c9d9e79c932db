//! Survival curves of heads, without a model: the share still presentable at a time, and its confidence limits.
//!
//! A florist looks in now and then, so a head's end is known to lie between two looks (interval-censored), or after the
//! last one (right-censored). [`KaplanMeier`] describes exact and right-censored ends, [`Turnbull`] interval-censored ones.

use crate::numerics::normal;

/// The time at which some heads ended, as far as it is known: after one look, and by the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ending {
    /// The last time at which they were seen to be well; 0 if never.
    pub after: f64,
    /// The first time at which they were not; infinite if never.
    pub by: f64,
    /// The number of heads.
    pub count: f64,
}

impl Ending {
    /// One head that ended at exactly this time.
    pub fn at(time: f64) -> Ending {
        Ending::between(time, time)
    }

    /// One head that was still well at this time, and was not seen again.
    pub fn later_than(time: f64) -> Ending {
        Ending::between(time, f64::INFINITY)
    }

    /// One head that ended after one time and not after the other.
    pub fn between(after: f64, by: f64) -> Ending {
        Ending { after, by, count: 1.0 }
    }

    /// The same ending for `count` heads.
    pub fn times(self, count: f64) -> Ending {
        Ending { count, ..self }
    }

    /// Whether the time of the end is known exactly.
    pub fn is_exact(&self) -> bool {
        self.after == self.by
    }
}

/// The scale on which confidence limits of a share are symmetric.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scale {
    /// The share itself, clamped to 0 to 1.
    Plain,
    /// The logarithm of the share, clamped to 1.
    Log,
    /// The logarithm of minus its logarithm: limits stay within 0 to 1, and hold their level in small samples.
    LogLog,
}

/// The curve at one time at which heads ended.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// A time at which heads ended.
    pub time: f64,
    /// Heads under observation just before.
    pub at_risk: f64,
    /// Heads that ended at this time.
    pub ended: f64,
    /// Share still presentable just after.
    pub survival: f64,
    /// Greenwood's sum: the variance of the share is its square times this.
    pub greenwood: f64,
}

/// The Kaplan-Meier survival curve, from exact and right-censored ends.
///
/// # Formula
/// `S(t) = prod (1 - d/n)` over the times at which heads ended, with the variance `S^2 sum d/(n(n-d))`.
/// Heads last seen at a time at which others ended were
/// at risk then.
///
/// # Source
/// Kaplan & Meier (1958); Greenwood (1926).
///
/// # Examples
/// ```
/// use headwater::stats::survival::{Ending, KaplanMeier};
/// let notes = [Ending::at(3.0), Ending::at(4.0).times(2.0), Ending::later_than(5.0)];
/// let curve = KaplanMeier::of(&notes);
/// assert_eq!(curve.survival(4.5), 0.25);
/// assert_eq!(curve.quantile(0.5), Some(4.0));
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct KaplanMeier {
    /// The times at which heads ended, in order.
    pub steps: Vec<Step>,
    ends: Vec<Ending>,
}

impl KaplanMeier {
    /// The curve of some ends. One that is known to lie between two looks counts at the later of them.
    pub fn of(ends: &[Ending]) -> KaplanMeier {
        let mut curve = KaplanMeier { steps: Vec::new(), ends: ends.to_vec() };
        let mut last = Step { time: 0.0, at_risk: 0.0, ended: 0.0, survival: 1.0, greenwood: 0.0 };
        for time in times(ends) {
            let (n, d) = (at_risk(ends, time), ended(ends, time));
            last = Step {
                time,
                at_risk: n,
                ended: d,
                survival: last.survival * (1.0 - d / n),
                greenwood: last.greenwood + d / (n * (n - d)),
            };
            curve.steps.push(last);
        }
        curve
    }

    /// The last step not after a time, where there is one.
    pub fn step(&self, time: f64) -> Option<&Step> {
        self.steps[..self.steps.partition_point(|s| s.time <= time)].last()
    }

    /// Heads under observation just before a time.
    pub fn at_risk(&self, time: f64) -> f64 {
        at_risk(&self.ends, time)
    }

    /// The share of heads still presentable at a time.
    pub fn survival(&self, time: f64) -> f64 {
        self.step(time).map_or(1.0, |s| s.survival)
    }

    /// Pointwise confidence limits of the share at a time, for example at level 0.95; `None` once all heads have ended.
    pub fn limits(&self, time: f64, scale: Scale, level: f64) -> Option<(f64, f64)> {
        let Some(step) = self.step(time) else { return Some((1.0, 1.0)) };
        let reach = normal::quantile(0.5 + 0.5 * level) * step.greenwood.sqrt();
        (step.survival > 0.0).then(|| around(step.survival, reach, scale))
    }

    /// The time by which a share `p` of the heads has ended: the first at which no more than `1 - p` are presentable,
    /// or the middle of the interval on which exactly `1 - p` are.
    pub fn quantile(&self, p: f64) -> Option<f64> {
        let target = 1.0 - p;
        let i = self.steps.iter().position(|s| s.survival - target <= 1e-9)?;
        let (here, next) = (&self.steps[i], self.steps.get(i + 1));
        let level = (here.survival - target).abs() <= 1e-9;
        Some(next.filter(|_| level).map_or(here.time, |next| 0.5 * (here.time + next.time)))
    }
}

/// The times at which heads ended, in order.
fn times(ends: &[Ending]) -> Vec<f64> {
    let mut times: Vec<f64> = ends.iter().map(|e| e.by).filter(|t| t.is_finite()).collect();
    times.sort_unstable_by(f64::total_cmp);
    times.dedup();
    times
}

fn at_risk(ends: &[Ending], time: f64) -> f64 {
    let last_seen = |e: &&Ending| if e.by.is_finite() { e.by } else { e.after };
    ends.iter().filter(|e| last_seen(e) >= time).map(|e| e.count).sum()
}

fn ended(ends: &[Ending], time: f64) -> f64 {
    ends.iter().filter(|e| e.by == time).map(|e| e.count).sum()
}

/// Limits around a share; `reach` is how far its logarithm may be off.
fn around(share: f64, reach: f64, scale: Scale) -> (f64, f64) {
    let (low, high) = match scale {
        Scale::Plain => (share * (1.0 - reach), share * (1.0 + reach)),
        Scale::Log => (share * (-reach).exp(), share * reach.exp()),
        Scale::LogLog => {
            let wide = (reach / share.ln()).exp();
            (share.powf(1.0 / wide), share.powf(wide))
        }
    };
    (low.max(0.0), high.min(1.0))
}

/// A test of whether the heads of two groups last equally long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LogRank {
    /// Weighted number of ends in the first group.
    pub observed: f64,
    /// What that number would be if the groups did not differ.
    pub expected: f64,
    /// Variance of the difference.
    pub variance: f64,
    /// The statistic, with one degree of freedom.
    pub chi_square: f64,
    /// The probability of a statistic at least as large if the groups do not differ.
    pub p_value: f64,
}

/// Compares two groups by their exact and right-censored ends.
///
/// # Formula
/// `(O - E)^2 / V` with the hypergeometric variance. Each time is weighted with the share of both groups presentable just
/// before it, to the power `rho`: 0 is the log-rank test, 1 weights early ends more. Without ends in both groups at risk
/// together the variance is 0 and the statistic NaN.
///
/// # Source
/// Mantel (1966); Peto & Peto (1972); Harrington & Fleming (1982).
pub fn log_rank(first: &[Ending], second: &[Ending], rho: f64) -> LogRank {
    let both = [first, second].concat();
    let (mut before, mut observed, mut expected, mut variance) = (1.0_f64, 0.0, 0.0, 0.0);
    for time in times(&both) {
        let (n, n1, d) = (at_risk(&both, time), at_risk(first, time), ended(&both, time));
        let weight = before.powf(rho);
        observed += weight * ended(first, time);
        expected += weight * d * n1 / n;
        if n > 1.0 {
            variance += weight * weight * d * (n1 / n) * (1.0 - n1 / n) * (n - d) / (n - 1.0);
        }
        before *= 1.0 - d / n;
    }
    let chi_square = (observed - expected).powi(2) / variance;
    LogRank { observed, expected, variance, chi_square, p_value: 2.0 * normal::upper_tail(chi_square.sqrt()) }
}

/// Turnbull's survival curve, from ends that lie between looks.
///
/// # Formula
/// The likelihood is largest with all probability on the innermost intervals: those that begin where some interval begins
/// and end where the next one ends. Their masses are found by expectation and maximisation, iterated to convergence.
///
/// # Source
/// Turnbull (1976); Peto (1973).
///
/// # Examples
/// ```
/// use headwater::stats::survival::{Ending, Turnbull};
/// // Of ten heads, three flagged by 12:00, five more by 14:00.
/// let notes = [
///     Ending::between(0.0, 12.0).times(3.0),
///     Ending::between(12.0, 14.0).times(5.0),
///     Ending::later_than(14.0).times(2.0),
/// ];
/// let curve = Turnbull::of(&notes);
/// assert!((curve.survival(12.0) - 0.7).abs() < 1e-12);
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Turnbull {
    /// The innermost intervals in order, with the share of heads that end in each as `count`.
    pub masses: Vec<Ending>,
}

impl Turnbull {
    /// The curve of some ends of any kind.
    pub fn of(ends: &[Ending]) -> Turnbull {
        // Ties: exact ends begin before any interval ends, and censored ones begin after.
        let opens = |e: &Ending| (e.after, if e.is_exact() { 0 } else { 2 });
        let closes = |e: &Ending| (e.by, 1);
        let mut marks: Vec<(f64, u8)> = ends.iter().flat_map(|e| [opens(e), closes(e)]).collect();
        marks.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        marks.dedup();
        let inner: Vec<[(f64, u8); 2]> =
            marks.windows(2).filter(|w| w[0].1 != 1 && w[1].1 == 1).map(|w| [w[0], w[1]]).collect();
        let reach: Vec<std::ops::Range<usize>> = ends
            .iter()
            .map(|e| inner.partition_point(|i| i[0] < opens(e))..inner.partition_point(|i| i[1] <= closes(e)))
            .collect();
        let total: f64 = ends.iter().map(|e| e.count).sum();
        let mut mass = vec![1.0 / inner.len() as f64; inner.len()];
        for _ in 0..200_000 {
            let mut next = vec![0.0; inner.len()];
            for (end, range) in ends.iter().zip(&reach) {
                let scale = end.count / (total * mass[range.clone()].iter().sum::<f64>());
                range.clone().for_each(|j| next[j] += mass[j] * scale);
            }
            let moved = next.iter().zip(&mass).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            mass = next;
            if moved < 1e-14 {
                break;
            }
        }
        let masses = inner.iter().zip(mass);
        Turnbull { masses: masses.map(|([a, b], m)| Ending::between(a.0, b.0).times(m)).collect() }
    }

    /// The share still presentable at a time. Within an innermost interval, where the data cannot say, it is that at its
    /// beginning.
    pub fn survival(&self, time: f64) -> f64 {
        1.0 - self.masses.iter().filter(|m| m.by <= time).map(|m| m.count).sum::<f64>()
    }
}
