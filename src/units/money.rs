//! Money as people write it: a sign or a code before or after the number, or none.

use super::read::{UnitError, number_and_unit};
use std::fmt::{self, Display};
use std::str::FromStr;

/// What an amount may be for, said after it: the key of the file says it already.
const EACH: [&str; 11] = [
    " an hour",
    " per hour",
    "/hour",
    "/hr",
    "/h",
    " each",
    " apiece",
    " a stem",
    " per stem",
    "/stem",
    " a piece",
];

/// An amount of money in some currency.
///
/// ```
/// use headwater::units::Money;
/// let tube: Money = "£0.25".parse().unwrap();
/// assert_eq!(tube.amount, 0.25);
/// assert_eq!("24 EUR".parse::<Money>().unwrap().currency.show(1200.4), "1200 EUR");
/// assert!("24 apples".parse::<Money>().is_err());
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Money {
    /// The number of units of the currency.
    pub amount: f64,
    /// The currency, as it was written.
    pub currency: Currency,
}

/// How a currency is written; nothing where the user wrote none.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Currency {
    /// The sign or code.
    pub sign: String,
    /// Whether it stands before the number.
    pub before: bool,
}

impl Currency {
    /// An amount with its currency: to the hundredth below 10, whole above.
    pub fn show(&self, amount: f64) -> String {
        let amount = amount + 0.0; // no minus before a nought
        let number = if amount.abs() < 9.995 && (amount - amount.round()).abs() > 0.004 {
            format!("{amount:.2}")
        } else {
            format!("{amount:.0}")
        };
        match (self.sign.as_str(), self.before) {
            ("", _) => number,
            (sign, true) if sign.chars().count() == 1 => format!("{sign}{number}"),
            (sign, true) => format!("{sign} {number}"),
            (sign, false) => format!("{number} {sign}"),
        }
    }
}

impl FromStr for Money {
    type Err = UnitError;
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let wrong = || UnitError::new("an amount of money", "write it like £1.20, 1.20 EUR or 1.20");
        let text = EACH.iter().find_map(|each| text.trim().strip_suffix(each)).unwrap_or(text).trim();
        let starts = text.find(|c: char| c.is_ascii_digit() || c == '.' || c == '-').ok_or_else(wrong)?;
        let (sign, rest) = text.split_at(starts);
        let (amount, _) = number_and_unit(rest).ok_or_else(wrong)?;
        let after = rest.trim_start_matches(|c: char| c.is_ascii_digit() || ".,-".contains(c));
        let (sign, before) = match (sign.trim(), after.trim()) {
            (sign, "") => (sign, true),
            ("", sign) => (sign, false),
            _ => return Err(wrong()),
        };
        // A sign is one character; a code is three capital letters, as ISO 4217 has them, or the crown's two.
        let fine = sign.is_empty()
            || (sign.chars().count() == 1 && !sign.chars().all(char::is_alphanumeric))
            || (sign.len() == 3 && sign.chars().all(|c| c.is_ascii_uppercase()))
            || sign == "kr";
        if !fine || !(0.0..=1e6).contains(&amount) {
            return Err(wrong());
        }
        let amount = amount.abs(); // no minus before a nought
        Ok(Money { amount, currency: Currency { sign: sign.to_string(), before } })
    }
}

impl Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(&self.currency.show(self.amount))
    }
}
