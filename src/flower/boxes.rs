//! The air that heads make for themselves in a box.

use crate::climate::air::WATER_MOLAR_MASS;

/// What lines a box.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Lining {
    /// Nothing: the card itself.
    #[default]
    None,
    /// Paper or tissue.
    Paper,
    /// Film.
    Film,
}

/// How full a box is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Load {
    /// Packed: about 12 g of heads a litre (from memory: one rose with its stem a litre).
    #[default]
    Full,
    /// Half of that.
    Half,
    /// A few heads: a sixth of that.
    Few,
}

/// Boxes in which heads are out of water. By default they are open card boxes, full.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Boxes {
    /// What lines them.
    pub lining: Lining,
    /// Whether a lid is on.
    pub lid: bool,
    /// How full they are.
    pub load: Load,
}

/// Changes of the air of a box in an hour: open, and with a lid by lining (judgement: an open box stirs like a still room, a
/// lid with hand holes a tenth of that, folded film is nearly shut).
const OPEN: f64 = 20.0;
const LIDDED: [f64; 3] = [3.0, 1.5, 0.5];
/// Water that passes the walls of a box, g h-1 kPa-1 for each litre of it: 13 m2 of wall a cubic metre; corrugated board passes
/// 400 g, paper over it 200 g and film 15 g a square metre and day at 38 C and 90 % (all from memory).
const WALLS: [f64; 3] = [0.036, 0.018, 0.0013];

impl Boxes {
    /// The share of the room's deficit that heads feel in these boxes, above 0 and at most 1.
    ///
    /// # Formula
    /// What leaves the heads leaves the box: `share = leak / (leak + heads)`, with `leak` what air and walls carry off and
    /// `heads` what the heads give off, both in g h-1 kPa-1 a litre. Thirsty heads so make moister air.
    ///
    /// # Units
    /// `thirst`: what heads lose, in g an hour and kPa for each gram of them.
    ///
    /// # Source
    /// Conservation of mass; water in moist air `M / (R T)` g m-3 a pascal, at 294 K. Constants are judgement or from memory.
    ///
    /// # Examples
    /// ```
    /// use headwater::flower::boxes::{Boxes, Lining, Load};
    /// let rose = 0.0073;
    /// let open = Boxes::default().share(rose);
    /// let lined = Boxes { lining: Lining::Film, lid: true, load: Load::Full }.share(rose);
    /// assert!(open > 0.5 && lined < 0.1);
    /// ```
    pub fn share(&self, thirst: f64) -> f64 {
        let air = 1e-3 * 1e6 * WATER_MOLAR_MASS / (8.314 * 294.0);
        let lining = self.lining as usize;
        let changes = if self.lid { LIDDED[lining] } else { OPEN };
        let leak = changes * air + WALLS[lining];
        let grams = match self.load {
            Load::Full => 12.0,
            Load::Half => 6.0,
            Load::Few => 2.0,
        };
        leak / (leak + grams * thirst)
    }

    /// What they are, in words.
    pub fn words(&self) -> String {
        let lining = ["unlined", "lined with paper", "lined with film"][self.lining as usize];
        let lid = if self.lid { "lid on" } else { "open" };
        let load = ["full", "half full", "with few heads"][self.load as usize];
        format!("{lid}, {lining}, {load}")
    }
}
