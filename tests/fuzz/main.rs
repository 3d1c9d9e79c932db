//! Texts spoilt at random, by the million: whatever is written, the program reads it or refuses it, and never breaks.
//!
//! Each input is a text of a corpus with a few changes drawn from a counter, so that every input has a number and can be
//! made again. Most of them are changed only a little, line by line, so that many are still read and what lies behind the
//! reader is reached; the others are changed without regard.
//!
//! A run in passing takes a few thousand of each kind. More are asked for with a count, or with the numbers to try:
//! `HEADWATER_FUZZ=1_000_000 cargo test --profile fuzz --test fuzz -- --nocapture --test-threads 1 events`. Then a watch
//! ends the program with the input that takes too long or too much. What breaks is written beside the tests' other
//! temporary files, and belongs into `tests/found/` once it is mended.

mod events;
mod habits;
mod logs;
mod notebooks;
mod quantities;
mod requests;
mod run;
mod spoil;
mod weather;

use std::path::{Path, PathBuf};

/// The texts of a folder whose names end so, by name.
fn texts(folder: &str, ending: &str) -> Vec<(String, String)> {
    let Ok(entries) = std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)) else {
        return Vec::new();
    };
    let mut paths: Vec<PathBuf> = entries.map(|e| e.expect("an entry").path()).collect();
    paths.sort();
    let named = |p: PathBuf| {
        let name = p.file_name()?.to_str()?.to_string();
        name.ends_with(ending)
            .then(|| (name, String::from_utf8_lossy(&std::fs::read(&p).expect("a file")).into_owned()))
    };
    paths.into_iter().filter_map(named).collect()
}

#[test]
fn every_case_found_before_stays_mended() {
    for (ending, test) in [
        (".toml", events::read as fn(&str) -> bool),
        (".log", logs::read),
        (".notes", notebooks::read),
        (".quantity", quantities::read),
        (".http", requests::answer),
        (".habits", habits::read),
        (".weather", weather::read),
    ] {
        for (name, text) in texts("tests/found", ending) {
            assert!(std::panic::catch_unwind(|| test(&text)).is_ok(), "{name} breaks");
        }
    }
}
