//! Flowers that the trade names in place of others because they look alike.
//!
//! Source: public pages, the address of one for each pair in `reference-data/look-alikes.csv`; how strong the likeness is, is
//! judgement.

use super::catalogue::Flower;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// How alike two flowers are that are named for each other, 0 to 1, by the word of the table (judgement).
const WORDS: [(&str, f64); 3] = [("strong", 0.9), ("good", 0.7), ("fair", 0.5)];

/// The likeness by flower and by what is named in its place.
static NAMED: LazyLock<BTreeMap<(String, String), f64>> = LazyLock::new(|| {
    let table = include_str!("../../reference-data/look-alikes.csv");
    let mut rows = csv::Reader::from_reader(table.as_bytes());
    let row = |row: Result<csv::StringRecord, csv::Error>| {
        let row = row.ok()?;
        let like = WORDS.iter().find(|(word, _)| *word == &row[2])?.1;
        Some(((row[0].to_string(), row[1].to_string()), like))
    };
    rows.records().filter_map(row).collect()
});

/// How alike `other` is to `flower`, 0 to 1, if the trade names it in its place.
pub fn named(flower: &Flower, other: &Flower) -> Option<f64> {
    NAMED.get(&(flower.id().to_string(), other.id().to_string())).copied()
}

/// The pairs that are named: the flower, and what is named in its place, by their ids.
pub fn pairs() -> impl Iterator<Item = (&'static str, &'static str)> {
    NAMED.keys().map(|(flower, other)| (flower.as_str(), other.as_str()))
}
