//! The florist's habits, kept once for all her events: prices, minutes, stock, spares, her name and telephone.
//!
//! They stand in a file of her own beside her events. What an event says itself goes before them.

use super::section::{Found, Section};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::units::{Money, Scale, Share};

/// The name of the file of habits, beside the event files.
pub const HABITS_FILE: &str = "habits.toml";
/// The commented file that `headwater habits` writes.
pub const HABITS_TEMPLATE: &str = include_str!("../../reference-data/habits.toml");

/// The text of a file of habits.
#[derive(Debug, Clone, Copy)]
pub struct Habits<'a> {
    /// The file's name, for messages.
    pub file: &'a str,
    /// What is in it.
    pub text: &'a str,
}

/// Who makes the flowers, as it stands on papers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Florist {
    /// The name of the florist or the business.
    pub name: Option<String>,
    /// The telephone number.
    pub telephone: Option<String>,
}

/// One section of an event over the same section of the habits, key by key.
pub(super) struct Over<'a> {
    event: Section<'a>,
    habits: Section<'a>,
}

impl<'a> Over<'a> {
    /// The section `key` of both files.
    pub fn new(root: &Section<'a>, habits: &Section<'a>, key: &'static str) -> Over<'a> {
        Over { event: root.section(key), habits: habits.section(key) }
    }

    /// The section that a key is read from: the event's where it has the key, else the habits'.
    pub fn of(&self, key: &'static str) -> &Section<'a> {
        let in_habits = self.habits.has(key); // asked for in both, so that both know the key
        if self.event.has(key) || !in_habits { &self.event } else { &self.habits }
    }

    /// Whether either of the two has a key.
    pub fn has(&self, key: &'static str) -> bool {
        self.of(key).has(key)
    }

    /// Remembers the keys of both that nobody asked for.
    pub fn finish(&self) {
        self.event.finish();
        self.habits.finish();
    }
}

/// The sections `key` of the event, or those of the habits where the event has none.
pub(super) fn sections<'a>(root: &Section<'a>, habits: &Section<'a>, key: &'static str) -> Vec<Section<'a>> {
    let (own, usual) = (root.sections(key), habits.sections(key));
    if own.is_empty() { usual } else { own }
}

/// Reads `[florist]`, which may also say how temperatures are written.
pub(super) fn florist(root: &Section, habits: &Section) -> (Florist, Option<Scale>) {
    let section = Over::new(root, habits, "florist");
    let text = |key: &'static str| section.of(key).text(key).map(|f| f.value.trim().to_string());
    let florist = Florist { name: text("name"), telephone: text("telephone") };
    let scale =
        section.of("temperatures").option("temperatures", &[("c", Scale::Celsius), ("f", Scale::Fahrenheit)]);
    section.finish();
    (florist, scale)
}

/// The florist's shares of spares by flower, 0 to 1, of `[spares]`; those of the event first.
pub(super) fn spares(root: &Section, habits: &Section) -> Vec<(&'static Flower, f64)> {
    let share = |section: &Section, Found { value, span }: Found<String>| match value.parse::<Share>() {
        Ok(share) => Some(share.percent / 100.0),
        Err(e) => {
            let problem = crate::error::Problem::new(format!("spares cannot be {value:?}"));
            section.source.wrong(span, problem.expected(e.expected).help(e.help));
            None
        }
    };
    by_flower(root, habits, "spares", ("spare stems as a share", "10 %"), share)
}

/// The florist's prices of stems by flower, of `[prices]`; those of the event first.
pub(super) fn prices(
    root: &Section,
    habits: &Section,
    amount: impl FnMut(&Section, Found<String>) -> Option<f64>,
) -> Vec<(&'static Flower, f64)> {
    by_flower(root, habits, "prices", ("the price of a stem", "EUR 1.20"), amount)
}

/// A free table of flowers, read from the event and then from the habits.
fn by_flower(
    root: &Section,
    habits: &Section,
    key: &'static str,
    (what, example): (&str, &str),
    mut read: impl FnMut(&Section, Found<String>) -> Option<f64>,
) -> Vec<(&'static Flower, f64)> {
    let mut found = Vec::new();
    for section in [root.section(key), habits.section(key)] {
        for (name, value) in section.entries(what, example) {
            let span = value.span.clone();
            match Catalogue::shipped().find(&name) {
                Ok(flower) => found.extend(read(&section, value).map(|value| (flower, value))),
                Err(problem) => section.source.wrong(span, problem),
            }
        }
    }
    found
}

/// An amount of money in a free table.
pub(super) fn money(Found { value, span }: &Found<String>, section: &Section) -> Option<Money> {
    match value.parse::<Money>() {
        Ok(money) => Some(money),
        Err(e) => {
            let problem = crate::error::Problem::new(format!("a price cannot be {value:?}"));
            section.source.wrong(span.clone(), problem.expected(e.expected).help(e.help));
            None
        }
    }
}
