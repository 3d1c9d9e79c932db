//! What has been said in public of how long flowers last out of water: who said it, of which flowers, and where it can be
//! read.
//!
//! No table of hours out of water by species is in print. Most statements are of some ordinary room and leave the
//! end-point open, and one page says little; so independent groups are counted, never statements.

use super::catalogue::Flower;
use std::sync::LazyLock;

/// How long a flower lasts, in a word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Rank {
    /// It wilts at once, or is said to be delicate.
    Poor,
    /// It lasts a few hours.
    Moderate,
    /// It lasts the day or the evening.
    Good,
}

/// One public statement.
#[derive(Debug, Clone, serde::Deserialize)]
pub struct Statement {
    /// Its number, which does not change.
    pub id: String,
    /// The flower, as it is called there.
    pub said_of: String,
    flowers: String,
    /// The least hours that it names.
    pub low_h: Option<f64>,
    /// The most hours that it names.
    pub high_h: Option<f64>,
    /// The word that it uses, or that its hours amount to.
    pub rank: Rank,
    /// What it says of the end-point, or its own words.
    pub words: String,
    /// What it says of the conditions.
    pub conditions: String,
    /// Who says it: a florist, a school, a shop, a magazine.
    pub kind: String,
    /// The group of statements that do not speak independently of one another.
    pub group: String,
    /// Where it can be read.
    pub address: String,
    /// Why it is not used; empty where it is.
    pub left_out: String,
}

impl Statement {
    /// The ids of the flowers that the name covers in the catalogue.
    pub fn flowers(&self) -> impl Iterator<Item = &str> {
        self.flowers.split(';').filter(|id| !id.is_empty())
    }

    /// Whether it counts.
    pub fn used(&self) -> bool {
        self.left_out.is_empty()
    }

    /// Whether it is about a flower.
    pub fn is_about(&self, flower: &Flower) -> bool {
        self.flowers().any(|id| id == flower.id())
    }
}

/// Every statement, in the order of the table.
pub fn statements() -> &'static [Statement] {
    static TABLE: LazyLock<Vec<Statement>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("../../reference-data/statements.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("the shipped table of statements reads")
    });
    &TABLE
}

/// The groups whose statements count, in alphabetical order.
pub fn groups() -> Vec<&'static str> {
    let mut groups: Vec<&str> = statements().iter().filter(|s| s.used()).map(|s| s.group.as_str()).collect();
    groups.sort_unstable();
    groups.dedup();
    groups
}
