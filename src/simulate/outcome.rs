//! What becomes of a head, and what share of heads that leaves.

pub(super) const NEVER: f64 = f64::INFINITY;

/// What ends a head's looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It dried.
    Drying,
    /// It aged: blown, dropped or browned.
    Ageing,
    /// It was too hot.
    Heat,
    /// It dried although it had been given water: tube empty, stem blocked, air lock.
    Supply,
}

impl Cause {
    /// The cause of a head that was to have water and got none.
    pub fn after_failed_supply(self) -> Cause {
        match self {
            Cause::Drying => Cause::Supply,
            other => other,
        }
    }
}

/// What became of one head. Hours are on the event's clock; infinite where it did not happen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeadOutcome {
    /// How many heads this one stands for.
    pub weight: f64,
    /// When it stopped being presentable.
    pub flagging: f64,
    /// When it was plainly wilted or past it.
    pub wilted: f64,
    /// Why it stopped being presentable.
    pub cause: Cause,
    /// When its tube first ran empty.
    pub empty: f64,
    /// Share of fresh mass lost at the hour asked about.
    pub loss: f64,
}

/// What makes a head no longer good enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndPoint {
    /// The first visible flagging.
    Flagging,
    /// Plainly wilted.
    Wilted,
}

impl EndPoint {
    /// When a head reaches it.
    pub fn of(self, outcome: &HeadOutcome) -> f64 {
        match self {
            EndPoint::Flagging => outcome.flagging,
            EndPoint::Wilted => outcome.wilted,
        }
    }
}

/// The share of heads still presentable at some hours.
///
/// # Formula
/// One minus the distribution of the times at which heads end, linear between them: the `i`-th of `n` heads that weigh
/// alike stands at `(i - 1/2)/n`. A few dozen heads then give a smooth curve. Heads that weigh differently (those whose
/// tubes work, and those whose tubes leak) have each their own, so that a head that lives longer never lowers the
/// share; for the same reason a head that ends beyond what was simulated counts as the limit for an ever later one.
///
/// # Examples
/// ```
/// use headwater::simulate::outcome::{Cause, HeadOutcome, presentable};
/// let outcome = |flagging| HeadOutcome { weight: 1.0, flagging, wilted: 9.0, cause: Cause::Drying, empty: 9.0, loss: 0.1 };
/// let shares = presentable(&[outcome(3.0), outcome(1.0)], &[0.5, 2.0, 3.5], |f| f.flagging);
/// assert_eq!(shares, [1.0, 0.5, 0.0]);
/// ```
pub fn presentable(outcomes: &[HeadOutcome], hours: &[f64], ends: impl Fn(&HeadOutcome) -> f64) -> Vec<f64> {
    let total: f64 = outcomes.iter().map(|f| f.weight).sum();
    let mut shares = vec![0.0; hours.len()];
    for alike in outcomes.chunk_by(|a, b| a.weight == b.weight) {
        let mut times: Vec<f64> = alike.iter().map(&ends).collect();
        times.sort_unstable_by(f64::total_cmp);
        for (share, hour) in shares.iter_mut().zip(hours) {
            let ended = times.partition_point(|t| t <= hour);
            let last = if ended == 0 { f64::NEG_INFINITY } else { times[ended - 1] };
            let next = times.get(ended).copied().unwrap_or(f64::INFINITY);
            let weight = alike[0].weight * times.len() as f64;
            *share += weight * share_left(times.len(), ended, last, next, *hour) / total;
        }
    }
    shares.iter().map(|share| share.clamp(0.0, 1.0)).collect()
}

/// The share of `heads` heads left at a time by which `ended` have ended, the last of them at `last`, while the next ends
/// at `next`.
pub(super) fn share_left(heads: usize, ended: usize, last: f64, next: f64, at: f64) -> f64 {
    let gone = match ended {
        0 => 0.0,
        n if n == heads => n as f64,
        n => n as f64 - 0.5 + (at - last) / (next - last),
    };
    ((heads as f64 - gone) / heads as f64).clamp(0.0, 1.0)
}

/// The share of a step after which a quantity that goes from `a` to `b` reaches `limit`.
pub(super) fn crossing(a: f64, b: f64, limit: f64) -> f64 {
    if b > a { ((limit - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 }
}
