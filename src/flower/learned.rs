//! What a florist's own trials have taught about a flower, small enough to be part of every order of it.

use super::catalogue::{Flower, Quantity};
use super::spread::two_piece;

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

    /// The same with the standard deviations of ignorance and of lots multiplied by a factor.
    pub fn widened(self, factor: f64) -> Learned {
        Learned { spread: self.spread * factor, lot: self.lot * factor, ..self }
    }
}
