//! The published schemas hold for what is read and told, by a general-purpose validator of JSON Schema 2020-12, and grow
//! with it.

mod common;

use common::planned;
use headwater::event::Event;
use headwater::report::facts::Facts;
use headwater::report::render::{json, schema};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::Path;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn demo(name: &str) -> String {
    std::fs::read_to_string(root().join("reference-data/demo").join(name)).unwrap()
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

/// TOML told as JSON; its dates and times become text.
fn as_json(value: toml::Value) -> Value {
    match value {
        toml::Value::Datetime(when) => json!(when.to_string()),
        toml::Value::Array(all) => all.into_iter().map(as_json).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(k, v)| (k, as_json(v))).collect(),
        other => serde_json::to_value(other).unwrap(),
    }
}

fn faults(schema: &Value, value: &Value) -> Vec<String> {
    let validator = jsonschema::draft202012::new(schema).expect("a schema");
    validator.iter_errors(value).map(|e| format!("{}: {e}", e.instance_path())).collect()
}

#[test]
fn the_demo_events_hold_to_the_schema() {
    let schema = parsed(schema::EVENT);
    assert!(jsonschema::draft202012::meta::is_valid(&schema));
    let mut seen = 0;
    for entry in std::fs::read_dir(root().join("reference-data/demo")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        seen += 1;
        let table: toml::Table = std::fs::read_to_string(&path).unwrap().parse().unwrap();
        let event = as_json(toml::Value::Table(table));
        assert_eq!(faults(&schema, &event), Vec::<String>::new(), "{}", path.display());
        // And what is wrong is seen.
        let mut wrong = event.clone();
        wrong["piece"][0]["flower"][0]["hedas"] = json!(3);
        assert_eq!(faults(&schema, &wrong).len(), 1);
        let mut wrong = event;
        wrong["event"].as_object_mut().unwrap().remove("date");
        assert_eq!(faults(&schema, &wrong).len(), 1);
    }
    assert!(seen >= 5, "{seen} events");
}

/// Every section of an event, once, each with a word that nothing is like; `SPACE` is a way of giving a climate.
const EVERY_SECTION: &str = r#"
zzzzzzzzzzzz = 1
[event]
zzzzzzzzzzzz = 1
name = "A supper"
date = 2027-08-14
doors = "17:00"
end = "23:00"
[target]
zzzzzzzzzzzz = 1
[crew]
zzzzzzzzzzzz = 1
[[tubes]]
zzzzzzzzzzzz = 1
volume = "10 ml"
[vases]
zzzzzzzzzzzz = 1
[venue]
zzzzzzzzzzzz = 1
[[chore]]
zzzzzzzzzzzz = 1
name = "x"
work = "45 min"
[[access]]
zzzzzzzzzzzz = 1
from = "10:00"
to = "16:00"
[travel]
zzzzzzzzzzzz = 1
[[space]]
zzzzzzzzzzzz = 1
name = "barn"
SPACE
[[space.hour]]
zzzzzzzzzzzz = 1
at = "09:00"
temperature = "19 C"
humidity = "60 %"
[space.building]
zzzzzzzzzzzz = 1
built = "timber"
floor_area = "200 m2"
height = "6 m"
[[space.guests]]
zzzzzzzzzzzz = 1
from = "17:00"
to = "23:00"
people = 120
[florist]
zzzzzzzzzzzz = 1
name = "us"
[minutes]
zzzzzzzzzzzz = 1
tucked = "40 s"
[[vessels]]
zzzzzzzzzzzz = 1
name = "bowl"
[[piece]]
zzzzzzzzzzzz = 1
name = "t"
space = "barn"
until = "22:00"
[[piece.move]]
zzzzzzzzzzzz = 1
at = "17:30"
to = "barn"
[[piece.flower]]
zzzzzzzzzzzz = 1
flower = "rose"
heads = 40
"#;

/// The keys that the program says a section may have, by the section's heading.
fn keys_told() -> Vec<(String, BTreeSet<String>)> {
    let mut all = Vec::new();
    for space in [
        "",
        "room = \"warm barn\"",
        "temperature = \"18 C\"\ndew_point = \"9 C\"",
        "log = \"x.csv\"",
        "low = \"9 C\"",
    ] {
        let text = EVERY_SECTION.replace("SPACE", space);
        let load = |_: &str| Err(std::io::ErrorKind::NotFound.into());
        for problem in Event::read("event.toml", &text, &load).unwrap_err().problems {
            let Some((section, _)) = problem.message.split_once(" has no use for `zzzzzzzzzzzz`") else {
                continue;
            };
            let keys = problem.expected.unwrap();
            let keys = keys.strip_prefix("one of: ").expect("all keys are told").split(", ");
            all.push((
                section.split(" number").next().unwrap().to_string(),
                keys.map(String::from).collect(),
            ));
        }
    }
    all
}

#[test]
fn every_key_of_an_event_is_in_the_schema_and_no_other() {
    let schema = parsed(schema::EVENT);
    let told = keys_told();
    let sections: BTreeSet<&str> = told.iter().map(|(s, _)| s.as_str()).collect();
    assert_eq!(sections.len(), 20, "{sections:?}");
    for section in sections {
        let mut here = &schema;
        for part in section.trim_matches(['[', ']']).split('.').filter(|p| *p != "the file") {
            here = &here["properties"][part];
            here = here.get("items").unwrap_or(here);
        }
        let written: BTreeSet<String> =
            here["properties"].as_object().expect(section).keys().cloned().collect();
        let read: BTreeSet<String> =
            told.iter().filter(|(s, _)| s == section).flat_map(|(_, keys)| keys.clone()).collect();
        assert_eq!(written, read, "{section}");
    }
}

#[test]
fn a_plan_holds_to_the_schema_that_is_published_with_it() {
    let published = std::fs::read_to_string(root().join("reference-data/schema/result.json")).unwrap();
    assert_eq!(
        published,
        schema::result(),
        "make it anew: headwater schema result > reference-data/schema/result.json"
    );
    let schema = parsed(&published);
    assert!(jsonschema::draft202012::meta::is_valid(&schema));
    let report = parsed(&json::plan(&Facts::of(&planned(&demo("template.toml")))));
    assert_eq!(faults(&schema, &report), Vec::<String>::new());
    // And what is wrong is seen.
    let mut wrong = report.clone();
    wrong["pieces"][0]["flowers"][0]["heads"] = json!("many");
    assert!(!faults(&schema, &wrong).is_empty());
    // Nothing is told that the schema does not name.
    unnamed(&schema, &schema, &report, "plan");
}

/// Fails at a key of a value that its schema does not name.
fn unnamed(whole: &Value, schema: &Value, value: &Value, place: &str) {
    let named = |schema: &Value| match schema["$ref"].as_str() {
        Some(name) => whole["$defs"][name.rsplit('/').next().unwrap()].clone(),
        None => schema.clone(),
    };
    let schema = named(schema);
    let schema = schema["anyOf"].as_array().map_or(schema.clone(), |any| named(&any[0]));
    match value {
        Value::Object(object) => {
            for (key, value) in object {
                let own = &schema["properties"][key];
                assert!(!own.is_null(), "{place}.{key} is not in the schema");
                unnamed(whole, own, value, &format!("{place}.{key}"));
            }
        }
        Value::Array(values) => values.iter().for_each(|v| unnamed(whole, &schema["items"], v, place)),
        _ => {}
    }
}
