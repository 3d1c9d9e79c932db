//! What an event file may say and what a plan tells, for other programs: JSON Schema, draft 2020-12.

use super::json::Report;

/// The schema of an event file, its TOML told as JSON.
pub const EVENT: &str = include_str!("../../../reference-data/schema/event.json");

/// The schema of a plan as [`super::json::plan`] tells it.
pub fn result() -> String {
    let schema = serde_json::to_string_pretty(&schemars::schema_for!(Report)).expect("plain data");
    format!("{schema}\n")
}
