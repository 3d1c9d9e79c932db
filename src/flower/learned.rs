//! What a florist's own notes have taught about a flower, small enough to travel with every order of it.

use super::catalogue::{Confidence, Flower, Quantity};
use super::spread::{Shares, two_piece};

/// What is known of a flower's dry hours, in standard normals behind the trade's 10, 50 and 90 % points.
///
/// A head stands at `middle + spread z + lot z' + head z''`: what is not known of the flower, its delivery against
/// others, and the head against others of its delivery. The trade's table is the same with `middle = 0` and the
/// roots of [`Shares`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learned {
    /// Where the middle head of a middle delivery stands; of this very delivery, where that is known.
    pub middle: f64,
    /// What is still not known of that, as a standard deviation.
    pub spread: f64,
    /// Standard deviation between deliveries; 0 where the delivery itself is known.
    pub lot: f64,
    /// Standard deviation between heads.
    pub head: f64,
    /// What is known of its loss at flagging.
    pub flagging: Flagging,
    /// How many trials taught it.
    pub trials: u32,
    /// How many past events did.
    pub events: u32,
    /// Whether the delivery itself is among them.
    pub of_this_lot: bool,
}

/// What is known of a flower's loss at flagging: `middle + on_dry z + spread z'`, the first `z` being that behind what
/// is not known of its dry hours, because weighing a head tells of both at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flagging {
    /// Where it stands.
    pub middle: f64,
    /// How it goes with the dry hours.
    pub on_dry: f64,
    /// What is not known of it otherwise.
    pub spread: f64,
}

impl Learned {
    /// What the trade's table says, before any note.
    pub fn nothing(confidence: Confidence) -> Learned {
        let shares = Shares::of(confidence);
        Learned {
            middle: 0.0,
            spread: shares.ignorance.sqrt(),
            lot: shares.lot.sqrt(),
            head: shares.head.sqrt(),
            flagging: Flagging { middle: 0.0, on_dry: 0.0, spread: 1.0 },
            trials: 0,
            events: 0,
            of_this_lot: false,
        }
    }

    /// Dry hours of the middle head of the next delivery, at the `z`-th standard deviation of what is not known and of
    /// deliveries together.
    ///
    /// ```
    /// use headwater::flower::{catalogue::Catalogue, learned::Learned};
    /// let dahlia = Catalogue::shipped().find("dahlia").unwrap();
    /// assert_eq!(Learned::nothing(dahlia.confidence()).hours(dahlia, 0.0), 3.0);
    /// ```
    pub fn hours(&self, flower: &Flower, z: f64) -> f64 {
        two_piece(flower.parameter(Quantity::DryHours), self.middle + libm::hypot(self.spread, self.lot) * z)
    }

    /// With what is not known, and how deliveries differ, made wider or narrower by a factor.
    pub fn widened(self, factor: f64) -> Learned {
        Learned { spread: self.spread * factor, lot: self.lot * factor, ..self }
    }
}
