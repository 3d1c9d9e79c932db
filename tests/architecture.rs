//! Imports point one way: a module uses only modules of lower layers and its own.

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

fn layer(module: &str) -> Option<usize> {
    LAYERS.iter().position(|l| l.contains(&module))
}

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

#[test]
fn imports_point_one_way() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut seen = 0;
    for file in sources(&root) {
        let inside = file.strip_prefix(&root).unwrap();
        let first = inside.components().next().unwrap().as_os_str().to_str().unwrap();
        let own = first.trim_end_matches(".rs");
        if own == "lib" || own == "main" {
            continue;
        }
        let own_layer = layer(own).unwrap_or_else(|| panic!("{own} has no layer: add it to the map"));
        let text = std::fs::read_to_string(&file).unwrap();
        for (number, line) in text.lines().enumerate() {
            if line.trim_start().starts_with("//") {
                continue;
            }
            for found in line.match_indices("crate::").map(|(i, _)| &line[i + "crate::".len()..]) {
                let module: String = found.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
                let other =
                    layer(&module).unwrap_or_else(|| panic!("{}:{}: {module}?", file.display(), number + 1));
                seen += 1;
                assert!(
                    module == own || other < own_layer,
                    "{}:{}: {own} may not use {module}",
                    inside.display(),
                    number + 1
                );
            }
        }
    }
    assert!(seen > 100, "only {seen} imports were read: has the layout of the source changed?");
}

#[test]
fn only_the_command_line_prints() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    for file in sources(&root) {
        if file.starts_with(root.join("cli")) {
            continue;
        }
        let text = std::fs::read_to_string(&file).unwrap();
        for word in ["println!", "print!", "std::env", "std::fs", "SystemTime", "Instant::now"] {
            let code = text.lines().filter(|l| !l.trim_start().starts_with("//"));
            assert!(!code.into_iter().any(|l| l.contains(word)), "{}: {word}", file.display());
        }
    }
}
