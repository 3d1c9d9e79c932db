//! Imports point one way: a room uses only rooms of lower layers, and no files use one another in a circle.

use std::collections::{BTreeMap, BTreeSet, VecDeque};
use std::path::{Path, PathBuf};

/// The layers of DEVELOPERS.md, lowest first.
const LAYERS: [&[&str]; 13] = [
    &["numerics", "error"],
    &["units", "stats"],
    &["climate"],
    &["physics"],
    &["flower"],
    &["event"],
    &["simulate"],
    &["decide"],
    &["calibrate"],
    &["validate"],
    &["report"],
    &["web"],
    &["cli"],
];

/// The files of `src`, by their paths there, with their texts.
type Tree = BTreeMap<String, String>;

fn sources(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            files.push(path);
        }
    }
    files
}

fn tree() -> Tree {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let inside = |path: &Path| {
        let parts: Vec<_> = path.strip_prefix(&root).unwrap().iter().map(|p| p.to_str().unwrap()).collect();
        parts.join("/")
    };
    sources(&root).iter().map(|path| (inside(path), std::fs::read_to_string(path).unwrap())).collect()
}

/// The module that a file holds: `event/mod.rs` holds `event`, and `event/parse.rs` `event::parse`.
fn module(path: &str) -> Vec<&str> {
    let parts = path.trim_end_matches(".rs").split('/');
    parts.filter(|part| !["mod", "lib", "main"].contains(part)).collect()
}

/// Names and signs of Rust code; comments, texts and characters are left out.
fn tokens(code: &str) -> Vec<&str> {
    let mut tokens = Vec::new();
    let mut rest = code;
    while let Some(first) = rest.chars().next() {
        let name = |c: char| c.is_alphanumeric() || c == '_';
        let raw = rest.strip_prefix('r').map(|r| r.len() - r.trim_start_matches('#').len());
        let length = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if let Some(hashes) = raw.filter(|hashes| rest[1 + hashes..].starts_with('"')) {
            let end = format!("\"{}", "#".repeat(hashes));
            let begin = hashes + 2;
            rest[begin..].find(&end).map_or(rest.len(), |at| begin + at + end.len())
        } else if first == '"' {
            let mut escaped = false;
            let closes = |c: char| {
                let closes = c == '"' && !escaped;
                escaped = c == '\\' && !escaped;
                closes
            };
            rest[1..].find(closes).map_or(rest.len(), |at| at + 2)
        } else if let Some(quoted) = rest.strip_prefix('\'') {
            // A character, or else the mark before a lifetime.
            let one = quoted.chars().next().map_or(0, char::len_utf8);
            match quoted {
                q if q.starts_with('\\') => q[2..].find('\'').map_or(1, |at| at + 4),
                q if q[one..].starts_with('\'') => one + 2,
                _ => 1,
            }
        } else {
            let length = match first {
                c if name(c) => rest.find(|c| !name(c)).unwrap_or(rest.len()),
                ':' if rest.starts_with("::") => 2,
                c => c.len_utf8(),
            };
            if !first.is_whitespace() {
                tokens.push(&rest[..length]);
            }
            length
        };
        rest = &rest[length..];
    }
    tokens
}

/// The paths that branch off at a token, such as `a::b` and `a::c` of `a::{b, c}`, and the token after them.
fn branches<'a>(tokens: &[&'a str], mut at: usize, stem: &[&'a str], found: &mut Vec<Vec<&'a str>>) -> usize {
    let mut path = stem.to_vec();
    loop {
        match tokens.get(at) {
            Some(&"{") => {
                at += 1;
                while tokens.get(at).is_some_and(|t| *t != "}") {
                    at = branches(tokens, at, &path, found);
                    while tokens.get(at).is_some_and(|t| !["}", ","].contains(t)) {
                        at += 1; // `as` and the new name
                    }
                    at += usize::from(tokens.get(at) == Some(&","));
                }
                return at + 1;
            }
            Some(name) if name.starts_with(|c: char| c.is_alphanumeric() || c == '_') => {
                path.push(name);
                at += 1;
                if tokens.get(at) != Some(&"::") {
                    found.push(path);
                    return at;
                }
                at += 1;
            }
            _ => {
                found.push(path);
                return at + 1;
            }
        }
    }
}

/// Every path in a file that leads through the crate, from its root.
fn paths<'a>(file: &'a str, code: &'a str, modules: &BTreeMap<Vec<&str>, &str>) -> Vec<Vec<&'a str>> {
    let own = module(file);
    let tokens = tokens(code);
    let mut paths = Vec::new();
    for (at, token) in tokens.iter().enumerate() {
        let begins = tokens.get(at + 1) == Some(&"::") && (at == 0 || tokens[at - 1] != "::");
        let child = || modules.contains_key([&own[..], &[*token]].concat().as_slice());
        if !begins || !(["crate", "super", "self"].contains(token) || child()) {
            continue;
        }
        let mut found = Vec::new();
        branches(&tokens, at, &[], &mut found);
        paths.extend(found.into_iter().map(|path| {
            let ups = path.iter().filter(|part| **part == "super").count();
            let stem = match path[0] {
                "crate" => &[],
                _ => &own[..own.len() - ups],
            };
            let rest = path.iter().filter(|part| !["crate", "super", "self"].contains(part));
            stem.iter().chain(rest).copied().collect()
        }));
    }
    paths
}

fn modules(tree: &Tree) -> BTreeMap<Vec<&str>, &str> {
    tree.keys().filter(|path| *path != "main.rs").map(|path| (module(path), path.as_str())).collect()
}

/// The files that each file uses: those that hold the modules which its paths lead to. A glob or a re-export leads to
/// the file named.
fn graph(tree: &Tree) -> BTreeMap<&str, BTreeSet<&str>> {
    let modules = modules(tree);
    let holder = |path: &[&str]| (0..=path.len()).rev().find_map(|n| modules.get(&path[..n])).copied();
    tree.iter()
        .map(|(file, text)| {
            // What the tests within a file use is no part of the design.
            let code = text.split("#[cfg(test)]").next().unwrap();
            let used: BTreeSet<&str> =
                paths(file, code, &modules).iter().filter_map(|path| holder(path)).collect();
            (file.as_str(), used.into_iter().filter(|other| other != file).collect())
        })
        .collect()
}

/// The shortest way from a file back to itself, if there is one.
fn circle<'a>(graph: &BTreeMap<&'a str, BTreeSet<&'a str>>, file: &'a str) -> Option<Vec<&'a str>> {
    let mut queue = VecDeque::from([vec![file]]);
    let mut seen = BTreeSet::new();
    while let Some(way) = queue.pop_front() {
        for &next in &graph[way[way.len() - 1]] {
            if next == file {
                return Some(way);
            }
            if seen.insert(next) {
                queue.push_back([&way[..], &[next]].concat());
            }
        }
    }
    None
}

/// The circles between files, each once, beginning with its first file.
fn circles(tree: &Tree) -> BTreeSet<Vec<&str>> {
    let graph = graph(tree);
    let found = graph.keys().filter_map(|file| circle(&graph, file));
    found
        .map(|mut circle| {
            let first = (0..circle.len()).min_by_key(|i| circle[*i]).unwrap_or(0);
            circle.rotate_left(first);
            circle
        })
        .collect()
}

#[test]
fn no_files_use_one_another_in_a_circle() {
    let tree = tree();
    let edges: usize = graph(&tree).values().map(BTreeSet::len).sum();
    assert!(edges > 300, "only {edges} uses were read: has the layout of the source changed?");
    let told: Vec<String> = circles(&tree).iter().map(|c| c.join(" -> ")).collect();
    assert!(told.is_empty(), "files use one another in circles:\n{}", told.join("\n"));
}

#[test]
fn imports_point_one_way() {
    let layer = |room: &str| LAYERS.iter().position(|l| l.contains(&room));
    let tree = tree();
    let modules = modules(&tree);
    let mut seen = 0;
    for (file, text) in &tree {
        let Some(room) = module(file).first().copied() else { continue };
        let own = layer(room).unwrap_or_else(|| panic!("{room} has no layer: add it to the map"));
        for path in paths(file, text, &modules) {
            // Within a module of tests `super` is the file itself: what is no room there is an item of the file.
            let other_room = |used: &&&str| **used != room && modules.contains_key(&[**used][..]);
            let Some(used) = path.first().filter(other_room) else { continue };
            let other = layer(used).unwrap_or_else(|| panic!("{file}: {used}?"));
            seen += 1;
            assert!(other < own || (own == 0 && other == 0), "{file}: {room} may not use {used}");
        }
    }
    assert!(seen > 100, "only {seen} imports were read: has the layout of the source changed?");
}

fn made_up(files: &[(&str, &str)]) -> Tree {
    files.iter().map(|(path, text)| (path.to_string(), text.to_string())).collect()
}

#[test]
fn a_circle_is_seen() {
    let straight = made_up(&[
        ("lib.rs", "pub mod room;\npub mod under;"),
        ("room/mod.rs", "mod one;\nmod two;\npub use one::One;"),
        ("room/one.rs", "use super::two::{self, Two};\nuse crate::under::*;"),
        (
            "room/two.rs",
            "// use super::one::One;\nconst TEXT: &str = \"super::one\"; fn f<'a>(c: char) { c == '\"' }",
        ),
        ("under.rs", "#[cfg(test)]\nmod tests { use crate::room::One; }"),
    ]);
    assert_eq!(circles(&straight), BTreeSet::new());
    let uses = |file: &str| graph(&straight)[file].clone();
    assert_eq!(uses("room/mod.rs"), BTreeSet::from(["room/one.rs"]));
    assert_eq!(uses("room/one.rs"), BTreeSet::from(["room/two.rs", "under.rs"]));

    let with = |path: &str, text: &str| {
        let mut tree = straight.clone();
        tree.get_mut(path).unwrap().push_str(text);
        circles(&tree).into_iter().map(|c| c.join(" ")).collect::<Vec<String>>()
    };
    // By a use with a new name, by a path in the code, through a re-export, by a glob, over three files.
    assert_eq!(with("room/two.rs", "\nuse super::{one::One as First};"), ["room/one.rs room/two.rs"]);
    assert_eq!(
        with("room/two.rs", "\nfn g() { self::super::one::h(\"\\\"\") }"),
        ["room/one.rs room/two.rs"]
    );
    assert_eq!(with("room/one.rs", "\nuse super::One;"), ["room/mod.rs room/one.rs"]);
    let mut three = straight.clone();
    three.insert("under.rs".to_string(), "use crate::room::*;".to_string());
    let found: Vec<String> = circles(&three).into_iter().map(|c| c.join(" ")).collect();
    assert_eq!(found, ["room/mod.rs room/one.rs under.rs"]);
}

#[test]
fn only_the_command_line_prints() {
    for (file, text) in tree().iter().filter(|(file, _)| !file.starts_with("cli/")) {
        for word in ["println!", "print!", "std::env", "std::fs", "SystemTime", "Instant::now"] {
            let mut code = text.lines().filter(|l| !l.trim_start().starts_with("//"));
            assert!(!code.any(|l| l.contains(word)), "{file}: {word}");
        }
    }
}
