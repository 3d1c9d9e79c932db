//! What the trade offers of a flower: colours, months, price and spares, for choosing a stand-in.
//!
//! All of it is common practice, no source, from memory.

use serde::Deserialize;
use std::fmt::{self, Display};

/// A family of colours, as a wholesaler sorts them. Burgundy is red, peach is orange or pink, lilac and mauve are purple.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize)]
#[serde(rename_all = "lowercase")]
#[allow(missing_docs)]
pub enum Colour {
    White,
    Cream,
    Yellow,
    Orange,
    Red,
    Pink,
    Purple,
    Blue,
    Green,
    Brown,
    Silver,
}

impl Colour {
    /// Every family, in the order of the wheel.
    pub const ALL: [Colour; 11] = [
        Colour::White,
        Colour::Cream,
        Colour::Yellow,
        Colour::Orange,
        Colour::Red,
        Colour::Pink,
        Colour::Purple,
        Colour::Blue,
        Colour::Green,
        Colour::Brown,
        Colour::Silver,
    ];

    /// The family of that name, in any case.
    ///
    /// ```
    /// use headwater::flower::trade::Colour;
    /// assert_eq!(Colour::named("Pink"), Some(Colour::Pink));
    /// assert_eq!(Colour::named("plaid"), None);
    /// ```
    pub fn named(word: &str) -> Option<Colour> {
        let word = word.trim().to_lowercase();
        Colour::ALL.into_iter().find(|c| c.to_string() == word)
    }
}

impl Display for Colour {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(match self {
            Colour::White => "white",
            Colour::Cream => "cream",
            Colour::Yellow => "yellow",
            Colour::Orange => "orange",
            Colour::Red => "red",
            Colour::Pink => "pink",
            Colour::Purple => "purple",
            Colour::Blue => "blue",
            Colour::Green => "green",
            Colour::Brown => "brown",
            Colour::Silver => "silver",
        })
    }
}

/// The colours of a row: words with `;` between.
#[derive(Debug, Clone, Deserialize)]
#[serde(try_from = "String")]
pub(super) struct Colours(pub Vec<Colour>);

impl TryFrom<String> for Colours {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let word = |word| Colour::named(word).ok_or_else(|| format!("{word:?} is not a family of colours"));
        text.split(';').map(word).collect::<Result<_, _>>().map(Colours)
    }
}

/// The months in which a florist of the northern hemisphere can count on a flower, growers and import together.
///
/// Outside them it may be had forced, flown in from the south or not at all, and costs more.
///
/// ```
/// use headwater::flower::trade::Months;
/// let lilac: Months = "11-5".to_string().try_into().unwrap();
/// assert!(lilac.has(12) && lilac.has(5) && !lilac.has(8));
/// assert_eq!(lilac.to_string(), "November to May");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(try_from = "String")]
pub struct Months([bool; 12]);

const NAMES: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];

impl Months {
    /// Whether it is in season in a month, 1 to 12; no other number is a month.
    pub fn has(self, month: i8) -> bool {
        usize::try_from(month - 1).is_ok_and(|at| self.0.get(at).is_some_and(|there| *there))
    }

    /// The month of a name in any case, 1 to 12; of more than two letters it may be the beginning, such as `Sept`.
    pub fn named(word: &str) -> Option<i8> {
        let word = word.to_lowercase();
        let is = |name: &str| word.len() > 2 && name.to_lowercase().starts_with(&word);
        let at = NAMES.iter().position(|name| is(name))?;
        i8::try_from(at + 1).ok()
    }

    /// Whether it can be had all year.
    pub fn all_year(self) -> bool {
        self.0 == [true; 12]
    }
}

impl TryFrom<String> for Months {
    type Error = String;

    /// Reads `all year`, or spans of months such as `4-7;11-12`; a span may go over the new year.
    ///
    /// # Errors
    /// If a span cannot be read: what it is not.
    fn try_from(text: String) -> Result<Self, String> {
        if text == "all year" {
            return Ok(Months([true; 12]));
        }
        let mut there = [false; 12];
        for span in text.split(';') {
            let month = |text: &str| match text.parse::<usize>() {
                Ok(month) if (1..=12).contains(&month) => Ok(month - 1),
                _ => Err(format!("{span:?} is not a span of months")),
            };
            let (first, last) = span.split_once('-').unwrap_or((span, span));
            let (first, last) = (month(first)?, month(last)?);
            (0..=(last + 12 - first) % 12).for_each(|n| there[(first + n) % 12] = true);
        }
        Ok(Months(there))
    }
}

impl Display for Months {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        if self.all_year() {
            return f.write_str("all year");
        }
        let there = |month: usize| self.0[month % 12];
        let begins = (0..12).filter(|m| there(*m) && !there(m + 11));
        let spans: Vec<String> = begins
            .map(|first| match (first..).find(|m| !there(m + 1)).unwrap_or(first) {
                last if last == first => NAMES[first].to_string(),
                last => format!("{} to {}", NAMES[first], NAMES[last % 12]),
            })
            .collect();
        f.write_str(&spans.join(", "))
    }
}

/// Price of a stem relative to a standard rose, by its level from 1 (cheapest) to 5: the middle of a wide range.
pub(super) const PRICES: [f64; 5] = [0.4, 0.7, 1.0, 2.0, 4.0];

/// Days in water before the event, the fewest and the most, of flowers that come tight and must open: see
/// `garden-rose-opening`, `lily-opening` and `bulbs-opening` in reference-data/sources.csv.
const OPENING: [(&str, (u8, u8)); 7] = [
    ("rose-garden", (4, 5)),
    ("lily", (7, 10)),
    ("lily-double", (7, 10)),
    ("lily-martagon", (3, 5)),
    ("gladiolus", (3, 5)),
    ("ranunculus", (3, 5)),
    ("ranunculus-butterfly", (3, 5)),
];
/// The same of all others: a night in water, and a day to spare (common practice, no source).
const OPENS_AT_ONCE: (u8, u8) = (1, 2);

/// How many days before an event a flower should be there, by its id.
pub(super) fn days_before(id: &str) -> (u8, u8) {
    OPENING.iter().find(|(flower, _)| *flower == id).map_or(OPENS_AT_ONCE, |(_, days)| *days)
}

/// Share of heads to buy as spares, by class: the least dry hours of a class, h, and its share.
///
/// The trade takes 5 % for what lasts for days up to 25 % for what hangs within two hours; the classes are judgement.
const SPARES: [(f64, f64); 5] = [(36.0, 0.05), (16.0, 0.10), (6.0, 0.15), (2.0, 0.20), (0.0, 0.25)];

/// The trade's usual share of spares for a flower of so many dry hours.
pub(super) fn spare_share(dry_hours: f64) -> f64 {
    SPARES.iter().find(|(least, _)| dry_hours >= *least).map_or(SPARES[4].1, |(_, share)| *share)
}
