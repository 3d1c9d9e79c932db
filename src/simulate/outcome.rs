//! What becomes of a head, and the share of heads that is left at an hour.

/// The hour of what does not happen.
pub(super) const NEVER: f64 = f64::INFINITY;

/// Why a head stopped being presentable.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Cause {
    /// It dried out of water.
    Drying,
    /// It aged: blown, dropped or browned.
    Ageing,
    /// Heat injured its petals.
    Heat,
    /// It dried although it was given water: the tube was empty or leaked, or the stem was blocked.
    Supply,
}

impl Cause {
    /// The cause for a head that was given water and got none: [`Cause::Drying`] becomes [`Cause::Supply`].
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
    /// How many heads this one stands for; 1 unless outcomes are mixed.
    pub weight: f64,
    /// When it stopped being presentable: it flagged, aged or was injured by heat.
    pub flagging: f64,
    /// When it was plainly wilted or past it.
    pub wilted: f64,
    /// When it was taken off the table.
    pub past_use: f64,
    /// Why it stopped being presentable.
    pub cause: Cause,
    /// When its tube first ran empty.
    pub empty: f64,
    /// Share of fresh mass lost at the hour asked about.
    pub loss: f64,
}

/// The end-point up to which a head counts as good enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndPoint {
    /// The first visible flagging.
    Flagging,
    /// Plainly wilted, or past it.
    Wilted,
}

impl EndPoint {
    /// The hour at which a head reaches this end-point.
    pub fn of(self, outcome: &HeadOutcome) -> f64 {
        match self {
            EndPoint::Flagging => outcome.flagging,
            EndPoint::Wilted => outcome.wilted,
        }
    }
}

/// The share of heads still presentable at some hours, one for each of `hours`; `ends` gives the hour at which a head ends.
///
/// # Formula
/// One minus the empirical distribution of the hours at which heads end, linear between them: the `i`-th of `n` heads of
/// the same weight stands at `(i - 1/2)/n`, so a few dozen heads give a smooth curve. Consecutive heads of the same weight
/// (those whose tubes work, and those whose tubes leak) make a distribution of their own, so that a head that lasts longer
/// never lowers the share. For the same reason a head that never ends is the limit of one that ends ever later.
///
/// Without heads, or with a total weight of 0, the shares are NaN.
///
/// # Examples
/// ```
/// use headwater::simulate::outcome::{Cause, HeadOutcome, presentable};
/// let outcome = |flagging| HeadOutcome { weight: 1.0, flagging, wilted: 9.0, past_use: 9.0, cause: Cause::Drying, empty: 9.0, loss: 0.1 };
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
            let weight = alike[0].weight * times.len() as f64;
            *share += weight * share_of_sorted(&times, *hour) / total;
        }
    }
    shares.iter().map(|share| share.clamp(0.0, 1.0)).collect()
}

/// The share of heads of the same weight left at an hour, from the hours at which they end in rising order.
fn share_of_sorted(times: &[f64], hour: f64) -> f64 {
    let ended = times.partition_point(|t| *t <= hour);
    let last = if ended == 0 { f64::NEG_INFINITY } else { times[ended - 1] };
    let next = times.get(ended).copied().unwrap_or(f64::INFINITY);
    share_left(times.len(), ended, last, next, hour)
}

/// The share of `heads` heads left at the time `at`, by which `ended` of them have ended, the last at `last`; the next ends
/// at `next`. [`presentable`] says how.
pub(super) fn share_left(heads: usize, ended: usize, last: f64, next: f64, at: f64) -> f64 {
    let gone = match ended {
        0 => 0.0,
        n if n == heads => n as f64,
        n => n as f64 - 0.5 + (at - last) / (next - last),
    };
    ((heads as f64 - gone) / heads as f64).clamp(0.0, 1.0)
}

/// The fraction of a step after which a quantity that rises from `a` to `b` reaches `limit`; 0 where it does not rise.
pub(super) fn crossing(a: f64, b: f64, limit: f64) -> f64 {
    if b > a { ((limit - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 }
}
