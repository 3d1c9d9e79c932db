//! What a florist's own trials have taught about a flower, small enough to be part of every order of it.

use super::catalogue::{Flower, Quantity};
use super::spread::two_piece;
use crate::numerics::elementary::exp;

/// What is known of a flower's dry hours, in standard normals behind the trade's 10, 50 and 90 % points.
///
/// A head stands at `middle + spread z + lot z' + head z''`, with independent standard normals for what is not known of the
/// flower, for its lot against other lots, and for the head against others of its lot. Before any trial `middle` is 0, and
/// the others are the square roots of the flower's [`Shares`](super::support::Shares).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Where the median head of a median lot stands, or that of this very lot where it was tried.
    pub middle: f64,
    /// Standard deviation of what is still not known of `middle`.
    pub spread: f64,
    /// Standard deviation between lots; 0 where the lot itself was tried.
    pub lot: f64,
    /// Standard deviation between the heads of a lot.
    pub head: f64,
    /// What is known of the loss at flagging.
    pub flagging: Flagging,
    /// What is known of the stems that do not drink.
    pub locked: Locked,
    /// What is known of how it bears handling.
    pub bears: Bears,
    /// What is known of how much it drinks: bare heads, and stems with their leaves.
    pub drinks: [Drinks; 2],
    /// Number of trials behind it.
    pub trials: u32,
    /// Number of past events behind it.
    pub events: u32,
    /// Whether this very lot is among them.
    pub of_this_lot: bool,
}

/// What is known of a flower's loss of fresh mass at flagging, in standard normals: `middle + on_dry z + spread z'`.
///
/// The `z` is the one behind what is not known of the dry hours, because the weights of a trial inform about both.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flagging {
    /// The median of the loss, as a standard normal.
    pub middle: f64,
    /// How far it moves with one standard deviation of the dry hours.
    pub on_dry: f64,
    /// Standard deviation of what is not known of it otherwise.
    pub spread: f64,
}

/// What is known of how much a flower drinks in water.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drinks {
    /// Logarithm of what it drinks over what its dry hours and the mass of its head say.
    pub middle: f64,
    /// Number of weighed trials behind it.
    pub trials: u32,
}

/// The number of ways of handling whose factors on dry hours can be learned: conditioning, stage, leaves, and what lies around.
pub const WAYS: usize = 4;

/// What is known of how a flower bears handling: the catalogue's factors to the power `1 + x`, with an `x` for each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bears {
    /// The middle of each `x`.
    pub middle: [f64; WAYS],
    /// Their covariance.
    pub covariance: [[f64; WAYS]; WAYS],
    /// The covariance of each with the place of the median head.
    pub with_place: [f64; WAYS],
}

/// Standard deviation of `x` before any trial. Two of the factors were middles of ranges: 1.1 to 1.3 among greens, and half to three
/// quarters shown in a garland, which say 0.35 and 0.34 read as 10 and 90 % points (judgement).
pub const BEARS_SD: f64 = 0.35;

impl Bears {
    /// The power `1 + x` of the factor of a way of handling: where the standard normal of what is not known of the flower's hours, whose
    /// deviation is `spread`, stands at `unknown`, and that of the way itself at `own`. No handling that costs hours gains any.
    ///
    /// # Formula
    /// `x = m + c/s u + sqrt(C - c^2/s^2) o`: normal, given the place.
    pub fn power(&self, way: usize, spread: f64, unknown: f64, own: f64) -> f64 {
        let with_place = if spread > 0.0 { self.with_place[way] / spread } else { 0.0 };
        let rest = (self.covariance[way][way] - with_place * with_place).max(0.0);
        (1.0 + self.middle[way] + with_place * unknown + rest.sqrt() * own).max(0.0)
    }
}

impl Default for Bears {
    /// What the catalogue says.
    fn default() -> Self {
        let variance = |i, j| if i == j { BEARS_SD * BEARS_SD } else { 0.0 };
        Bears {
            middle: [0.0; WAYS],
            covariance: std::array::from_fn(|i| std::array::from_fn(|j| variance(i, j))),
            with_place: [0.0; WAYS],
        }
    }
}

/// What is known of the share of a flower's stems that do not drink: a delivery stands at `middle + spread z` behind the catalogue's
/// points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Locked {
    /// Where the median delivery stands.
    pub middle: f64,
    /// Standard deviation of deliveries and of what is not known.
    pub spread: f64,
    /// Number of past events behind it.
    pub events: u32,
}

impl Default for Locked {
    /// What the catalogue says.
    fn default() -> Self {
        Locked { middle: 0.0, spread: 1.0, events: 0 }
    }
}

impl Learned {
    /// What the catalogue says, before any trial.
    pub fn nothing(flower: &Flower) -> Learned {
        let shares = flower.shares();
        Learned {
            middle: 0.0,
            spread: shares.ignorance.sqrt(),
            lot: shares.lot.sqrt(),
            head: shares.head.sqrt(),
            flagging: Flagging { middle: 0.0, on_dry: 0.0, spread: 1.0 },
            locked: Locked::default(),
            bears: Bears::default(),
            drinks: Default::default(),
            trials: 0,
            events: 0,
            of_this_lot: false,
        }
    }

    /// Dry hours of the median head of the next lot, h, at `z` standard deviations of what is not known and of lots together.
    ///
    /// ```
    /// use headwater::flower::{catalogue::Catalogue, learned::Learned};
    /// let dahlia = Catalogue::shipped().find("dahlia").unwrap();
    /// assert_eq!(Learned::nothing(dahlia).hours(dahlia, 0.0), dahlia.support().dry_hours);
    /// ```
    pub fn hours(&self, flower: &Flower, z: f64) -> f64 {
        two_piece(flower.parameter(Quantity::DryHours), self.middle + libm::hypot(self.spread, self.lot) * z)
    }

    /// What is known of the hours of heads that were handled otherwise than usual, as one normal, given the logarithms `l` of the
    /// catalogue's factors in standard normals ([`Handling::shifts`](super::treatment::Handling::shifts)). The factors themselves are
    /// reckoned with elsewhere; what is not known of them, or was learned, is part of what is known of the hours.
    ///
    /// # Formula
    /// The middle moves by `l x`, and the variance of what is not known grows by `2 l c + l C l`, `C` being the covariance of `x` and
    /// `c` that with the place.
    ///
    /// ```
    /// use headwater::flower::{catalogue::Catalogue, learned::Learned, treatment::Handling};
    /// let rose = Catalogue::shipped().find("rose").unwrap();
    /// let leafy = Handling { leaves_on: true, ..Handling::default() };
    /// let known = Learned::nothing(rose);
    /// assert!(known.handled(&leafy.shifts(rose)).spread > known.spread);
    /// assert_eq!(known.handled(&Handling::default().shifts(rose)), known);
    /// ```
    pub fn handled(self, l: &[f64; WAYS]) -> Learned {
        if *l == [0.0; WAYS] {
            return self;
        }
        let along = |by: &[f64; WAYS]| l.iter().zip(by).map(|(l, x)| l * x).sum::<f64>();
        let added =
            2.0 * along(&self.bears.with_place) + along(&self.bears.covariance.map(|row| along(&row)));
        let spread = (self.spread * self.spread + added).max(0.0).sqrt();
        Learned { middle: self.middle + along(&self.bears.middle), spread, ..self }
    }

    /// How many times as much a head drinks as the catalogue says, with leaves or without.
    pub fn drinks_times(&self, leafy: bool) -> f64 {
        exp(self.drinks[usize::from(leafy)].middle)
    }

    /// The same with the standard deviations of ignorance and of lots multiplied by a factor.
    pub fn widened(self, factor: f64) -> Learned {
        let bears = Bears { with_place: self.bears.with_place.map(|c| c * factor), ..self.bears };
        Learned { spread: self.spread * factor, lot: self.lot * factor, bears, ..self }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::normal::quantile;

    /// Summed over even places of both normals, the power has the mean, the variance and the covariance with the hours that were learned.
    #[test]
    fn a_power_is_as_uncertain_as_what_was_learned() {
        let mut bears = Bears::default();
        (bears.middle[2], bears.covariance[2][2], bears.with_place[2]) = (0.2, 0.04, -0.05);
        let (spread, n) = (0.5, 400);
        let normals: Vec<f64> = (0..n).map(|i| quantile((f64::from(i) + 0.5) / f64::from(n))).collect();
        let mut sums = [0.0; 3];
        for unknown in &normals {
            for own in &normals {
                let x = bears.power(2, spread, *unknown, *own) - 1.0;
                let of = [x, (x - 0.2) * (x - 0.2), (x - 0.2) * spread * unknown];
                sums.iter_mut().zip(of).for_each(|(sum, value)| *sum += value / f64::from(n * n));
            }
        }
        let [mean, variance, with_place] = sums;
        assert!((mean - 0.2).abs() < 1e-9, "{mean}");
        assert!(
            (variance - 0.04).abs() < 4e-4 && (with_place + 0.05).abs() < 5e-4,
            "{variance} {with_place}"
        );
        // However unsure, what costs hours never gains any; and where the hours are known, the rest is the way's own.
        assert_eq!(bears.power(2, spread, 9.0, -9.0), 0.0);
        assert!((bears.power(2, 0.0, 5.0, 1.0) - 1.4).abs() < 1e-12);
    }
}
