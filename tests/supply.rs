//! What the program is made of, held to `deny.toml` with nothing but the toolchain: licences, where packages come from, and
//! packages that are there twice. `cargo deny check` reads the same file, and asks for advisories too.

use serde_json::Value;
use std::collections::BTreeMap;
use std::process::Command;

/// The packages that are built here.
fn packages() -> Vec<Value> {
    let told = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform"])
        .arg(if cfg!(windows) { "x86_64-pc-windows-msvc" } else { "x86_64-unknown-linux-gnu" })
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let told: Value = serde_json::from_slice(&told.stdout).expect("JSON");
    told["packages"].as_array().expect("packages").clone()
}

fn rules() -> toml::Table {
    include_str!("../deny.toml").parse().expect("deny.toml reads")
}

fn words(list: &toml::Value) -> Vec<&str> {
    list.as_array().expect("a list").iter().map(|w| w.as_str().expect("a word")).collect()
}

/// Whether a licence expression (SPDX 2.3, annex D: `AND` binds tighter than `OR`) can be met by what is allowed.
fn allowed(expression: &str, fine: &[&str]) -> bool {
    let expression = expression.replace('/', " OR ").replace('(', " ( ").replace(')', " ) ");
    let tokens: Vec<&str> = expression.split_whitespace().collect();
    let (met, rest) = either(&tokens, fine);
    assert!(rest.is_empty(), "{expression}");
    met
}

fn either<'a>(tokens: &'a [&'a str], fine: &[&str]) -> (bool, &'a [&'a str]) {
    let (mut met, mut rest) = both(tokens, fine);
    while let ["OR", more @ ..] = rest {
        let (other, left) = both(more, fine);
        (met, rest) = (met || other, left);
    }
    (met, rest)
}

fn both<'a>(tokens: &'a [&'a str], fine: &[&str]) -> (bool, &'a [&'a str]) {
    let (mut met, mut rest) = one(tokens, fine);
    while let ["AND", more @ ..] = rest {
        let (other, left) = one(more, fine);
        (met, rest) = (met && other, left);
    }
    (met, rest)
}

fn one<'a>(tokens: &'a [&'a str], fine: &[&str]) -> (bool, &'a [&'a str]) {
    match tokens {
        ["(", inner @ ..] => match either(inner, fine) {
            (met, [")", rest @ ..]) => (met, rest),
            (_, rest) => panic!("no bracket ends before {rest:?}"),
        },
        // An exception only adds to what is allowed.
        [name, "WITH", _, rest @ ..] | [name, rest @ ..] => (fine.contains(name), rest),
        [] => panic!("an expression ends early"),
    }
}

#[test]
fn licence_expressions_are_read() {
    let fine = ["MIT", "Apache-2.0", "Unicode-3.0"];
    for (expression, met) in [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("MIT OR GPL-3.0-only", true),
        ("MIT AND GPL-3.0-only", false),
        ("(MIT OR GPL-3.0-only) AND Unicode-3.0", true),
        ("GPL-3.0-only OR MIT AND Unicode-3.0", true),
        ("GPL-3.0-only OR MIT AND ISC", false),
        ("Apache-2.0 WITH LLVM-exception OR ISC", true),
        ("MIT/Apache-2.0", true),
    ] {
        assert_eq!(allowed(expression, &fine), met, "{expression}");
    }
}

#[test]
fn every_package_may_come_in() {
    let rules = rules();
    let fine = words(&rules["licenses"]["allow"]);
    let packages = packages();
    assert!(packages.len() > 50, "{}", packages.len());
    for package in &packages {
        let name = package["name"].as_str().expect("a name");
        let licence = package["license"].as_str().unwrap_or_else(|| panic!("{name} names no licence"));
        assert!(allowed(licence, &fine), "{name} is under {licence}");
        let source = package["source"].as_str();
        let registry = source.is_some_and(|s| s.starts_with("registry+") && s.contains("crates.io"));
        assert!(registry || name == "headwater", "{name} comes from {source:?}");
    }
}

#[test]
fn no_package_is_there_twice_without_a_reason() {
    let rules = rules();
    let waived: Vec<(String, &str)> = rules["bans"]["skip"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|w| {
            let (name, version) = w["crate"].as_str().expect("a crate").split_once('@').expect("its version");
            assert!(w["reason"].as_str().is_some_and(|r| r.len() > 10), "{name} is waived for a reason");
            (name.to_string(), version)
        })
        .collect();
    let mut versions: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for package in packages() {
        let text = |key: &str| package[key].as_str().expect("text").to_string();
        versions.entry(text("name")).or_default().push(text("version"));
    }
    let skipped = |name: &str, version: &String| {
        waived.iter().any(|(n, v)| n == name && version.starts_with(&format!("{v}.")))
    };
    for (name, all) in &versions {
        let left = all.iter().filter(|v| !skipped(name, v)).count();
        assert!(left <= 1, "{name} is there as {all:?}");
    }
    for (name, version) in &waived {
        let needed =
            versions.get(name).is_some_and(|all| all.len() > 1 && all.iter().any(|v| v.starts_with(version)));
        assert!(needed, "{name} {version} is waived, and is not there twice");
    }
}
