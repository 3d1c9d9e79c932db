//! Numbers with units, as people write and read them.

use std::fmt::{self, Display};

/// What was wrong with a quantity: what was expected, and what to type instead.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnitError {
    /// What should have stood there, in the user's terms.
    pub expected: String,
    /// What to type instead.
    pub help: String,
}

impl UnitError {
    pub(super) fn new(expected: &str, help: impl Into<String>) -> Self {
        UnitError { expected: expected.into(), help: help.into() }
    }
}

impl Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        write!(f, "expected {}; {}", self.expected, self.help)
    }
}

impl std::error::Error for UnitError {}

/// Splits `"22.5 °C"` into the number and its unit in lower case, without blanks or a degree sign (or what a
/// phone types for one).
pub(super) fn number_and_unit(text: &str) -> Option<(f64, String)> {
    // A comma before three digits may set off thousands or decimals: nobody can tell.
    if let Some((_, after)) = text.split_once(',')
        && after.chars().take_while(char::is_ascii_digit).count() == 3
    {
        return None;
    }
    let text = text.trim().replace('−', "-").replace(',', ".");
    let end = text
        .char_indices()
        .find(|(i, c)| !(c.is_ascii_digit() || *c == '.' || (*i == 0 && (*c == '-' || *c == '+'))))
        .map_or(text.len(), |(i, _)| i);
    let number: f64 = text[..end].parse().ok()?;
    let unit = text[end..].replace(['°', 'º', '˚', ' '], "").to_lowercase();
    number.is_finite().then_some((number, unit))
}

/// Shows a number with at most one decimal, and none where it is whole.
pub fn short(number: f64) -> String {
    let rounded = (number * 10.0).round() / 10.0 + 0.0; // no minus before a nought
    if rounded == rounded.trunc() { format!("{rounded:.0}") } else { format!("{rounded:.1}") }
}
