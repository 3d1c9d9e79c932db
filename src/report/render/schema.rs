//! JSON Schemas (draft 2020-12) of an event file and of a plan, for other programs.

use super::report::Report;

/// The schema of an event file, with its TOML read as JSON.
pub const EVENT: &str = include_str!("../../../reference-data/schema/event.json");

/// The schema of a plan as [`super::json::plan`] writes it.
pub fn result() -> String {
    let schema = serde_json::to_string_pretty(&schemars::schema_for!(Report)).expect("plain data");
    format!("{schema}\n")
}
