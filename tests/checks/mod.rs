//! Tables of values from outside the program, compared row by row.
#![allow(dead_code, reason = "each test file uses its own part")]

use serde_json::Value;
use std::path::{Path, PathBuf};

/// One line of the table.
pub struct Row {
    pub id: String,
    pub topic: String,
    pub quantity: String,
    pub variant: String,
    pub inputs: Value,
    pub expected: f64,
    unit: String,
    tolerance: String,
    scope: String,
    source: String,
}

impl Row {
    /// A number among the inputs; one row writes it with a remark behind.
    pub fn get(&self, name: &str) -> f64 {
        let value = &self.inputs[name];
        value
            .as_f64()
            .or_else(|| value.as_str()?.split(' ').next()?.parse().ok())
            .unwrap_or_else(|| panic!("{}: no number {name} in {}", self.id, self.inputs))
    }

    pub fn has(&self, name: &str) -> bool {
        !self.inputs[name].is_null()
    }

    pub fn list(&self, name: &str) -> Vec<f64> {
        let values = self.inputs[name].as_array().expect("a list");
        values.iter().map(|v| v.as_f64().expect("a number")).collect()
    }

    fn accepts(&self, got: f64, error: f64) -> bool {
        let (kind, size) = self.tolerance.split_once(' ').expect("kind and size");
        let size: f64 = size.parse().expect("a tolerance");
        let allowed = match kind {
            "abs" => size,
            "rel" => size * self.expected.abs(),
            "se" => size * error,
            other => panic!("{}: tolerance of kind {other}", self.id),
        };
        (got - self.expected).abs() <= allowed
    }
}

/// Where the tables and the data sets are.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/checks")
}

fn rows(table: &str, area: &str) -> Vec<Row> {
    let path = folder().join(table);
    let mut reader = csv::Reader::from_path(path).expect("the table of check values");
    let headers = reader.headers().expect("a header").clone();
    reader
        .records()
        .map(|record| {
            let record = record.expect("a record");
            let cell = |name: &str| {
                let at = headers.iter().position(|h| h == name).expect("a known column");
                record[at].to_owned()
            };
            (
                cell("area"),
                Row {
                    id: cell("id"),
                    topic: cell("topic"),
                    quantity: cell("quantity"),
                    variant: cell("formula_variant"),
                    inputs: serde_json::from_str(&cell("inputs")).expect("inputs in JSON"),
                    expected: cell("expected").parse().expect("a number"),
                    unit: cell("unit"),
                    tolerance: cell("our_tolerance"),
                    scope: cell("scope"),
                    source: cell("source"),
                },
            )
        })
        .filter(|(of, _)| of == area)
        .map(|(_, row)| row)
        .collect()
}

/// A computed value, with its standard error where it was sampled.
#[derive(Clone, Copy)]
pub struct Got {
    pub value: f64,
    pub error: f64,
}

impl From<f64> for Got {
    fn from(value: f64) -> Self {
        Got { value, error: 0.0 }
    }
}

/// Checks every row of an area, and that exactly `checked` were, so that no row drops out unseen.
pub fn check<G: Into<Got>>(
    table: &str,
    area: &str,
    compute: impl Fn(&Row) -> Option<G>,
    checked: usize,
    out_of_scope: usize,
) {
    let (mut compared, mut skipped, mut failures) = (0, 0, Vec::new());
    for row in rows(table, area) {
        if let Some(reason) = row.scope.strip_prefix("out of scope: ") {
            assert!(!reason.is_empty(), "{}: no reason", row.id);
            skipped += 1;
            continue;
        }
        compared += 1;
        let Got { mut value, error } = compute(&row).map(Into::into).unwrap_or_else(|| {
            panic!("{}: nothing computes {} | {} | {}", row.id, row.topic, row.quantity, row.variant)
        });
        // Tables print kilo-units; the program is SI throughout.
        if row.unit.starts_with('k') && !row.unit.starts_with("kg") && row.unit != "km" {
            value /= 1e3;
        }
        if !row.accepts(value, error) {
            failures.push(format!(
                "{} {} | {} | {}\n  inputs {}\n  expected {} {} within {}, got {}\n  source {}",
                row.id,
                row.topic,
                row.quantity,
                row.variant,
                row.inputs,
                row.expected,
                row.unit,
                row.tolerance,
                value,
                row.source
            ));
        }
    }
    println!("{area}: {compared} rows checked, {skipped} out of scope");
    assert!(failures.is_empty(), "{} of {compared} rows differ\n{}", failures.len(), failures.join("\n"));
    assert_eq!((compared, skipped), (checked, out_of_scope), "rows of {area}");
}
