//! What the program is made of, held to `deny.toml` with nothing but the toolchain: licences, where packages come from, and
//! packages that are there twice. `cargo deny check` reads the same file, and asks for advisories too.

use std::collections::{BTreeMap, BTreeSet};
use std::process::Command;

/// A package that is built here, for the program or its tests.
struct Package {
    name: String,
    version: String,
    licence: String,
    /// Where it comes from, unless that is the registry.
    from: String,
}

fn packages() -> Vec<Package> {
    let told = Command::new(env!("CARGO"))
        .args([
            "tree",
            "--locked",
            "--offline",
            "--edges",
            "all",
            "--prefix",
            "none",
            "--no-dedupe",
            "--format",
            "{p}|{l}",
        ])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    assert!(told.status.success(), "{}", String::from_utf8_lossy(&told.stderr));
    let told = String::from_utf8(told.stdout).expect("text");
    let lines: BTreeSet<&str> = told.lines().filter(|l| l.contains(" v") && l.contains('|')).collect();
    lines
        .into_iter()
        .map(|line| {
            let (package, licence) = line.split_once('|').expect("a licence");
            let mut words = package.replace(" (proc-macro)", "").replace(" (*)", "");
            let from = words.find(" (").map(|at| words.split_off(at)).unwrap_or_default();
            let (name, version) = words.split_once(" v").expect("a version");
            Package { name: name.into(), version: version.into(), licence: licence.replace(" (*)", ""), from }
        })
        .collect()
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
    for Package { name, licence, from, .. } in &packages {
        assert!(!licence.is_empty() && allowed(licence, &fine), "{name} is under {licence:?}");
        assert!(from.is_empty() || name == "headwater", "{name} comes from {from}");
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
        let all = versions.entry(package.name).or_default();
        if !all.contains(&package.version) {
            all.push(package.version);
        }
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

/// No package asks for a newer compiler than the program says it does. That the program's own lines ask for none is seen by
/// clippy, which goes by `rust-version` in `Cargo.toml`.
#[cfg(all(target_os = "linux", target_arch = "x86_64"))]
#[test]
fn no_package_asks_for_a_newer_compiler() {
    let told = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform"])
        .arg("x86_64-unknown-linux-gnu")
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    let told: serde_json::Value = serde_json::from_slice(&told.stdout).expect("JSON");
    let version =
        |text: &str| -> Vec<u32> { text.split('.').map(|n| n.parse().expect("a number")).collect() };
    let own = version(env!("CARGO_PKG_RUST_VERSION"));
    let packages = told["packages"].as_array().expect("packages");
    let asking = packages.iter().filter_map(|p| Some((&p["name"], p["rust_version"].as_str()?)));
    for (name, asks) in asking.clone() {
        assert!(version(asks)[..2] <= own[..2], "{name} asks for {asks}");
    }
    assert!(asking.count() > 50, "of {} packages", packages.len());
}
