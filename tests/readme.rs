//! The commands of README and of the guide run, and print what is shown; the figures are the program's.

use headwater::validate::influence::{Measurement, chance, influences, measurements};
use headwater::validate::{compare, score, sharpness};
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

const README: &str = include_str!("../README.md");
const ASKING: &str = include_str!("../reference-data/guide/asking.md");
const EVENT_FILE: &str = include_str!("../reference-data/guide/event-file.md");
const TRIALS: &str = include_str!("../reference-data/guide/trials.md");
const TRUST: &str = include_str!("../reference-data/guide/trust.md");

/// A block of code, with its language.
struct Block {
    language: &'static str,
    text: &'static str,
}

/// The blocks of code of a page from one line to another, which hold these words.
fn blocks(page: &'static str, from: &str, to: &str) -> Vec<Block> {
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("the page says no more {words:?}"));
    let mut blocks = Vec::new();
    let mut rest = &page[at(from)..at(to)];
    while let Some(begin) = rest.find("```") {
        let (language, body) = rest[begin + 3..].split_once('\n').expect("a block has lines");
        let (text, after) = body.split_once("\n```").expect("a block ends");
        blocks.push(Block { language, text });
        rest = after;
    }
    blocks
}

/// The arguments of the program in a line of a shell; nothing where the line runs something else.
fn arguments(line: &str) -> Option<Vec<String>> {
    let line = line.split(" #").next()?.trim();
    let line = line.strip_prefix("headwater ").or_else(|| line.strip_prefix("cargo run --release -- "))?;
    let mut quoted = false;
    let mut arguments = vec![String::new()];
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => arguments.push(String::new()),
            c => arguments.last_mut().expect("there is one").push(c),
        }
    }
    arguments.retain(|a| !a.is_empty());
    Some(arguments)
}

fn run(folder: &Path, arguments: &[String]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_headwater"))
        .env("COLUMNS", "96")
        .current_dir(folder)
        .args(arguments)
        .output()
        .expect("the program starts")
}

/// Runs the commands of some blocks one after the other, and looks for what the blocks show in what they print. Returns how
/// many commands ran and how many lines were found.
fn holds(folder: &Path, blocks: &[Block]) -> (usize, usize) {
    let (mut ran, mut found, mut printed) = (0, 0, String::new());
    for block in blocks {
        match block.language {
            "sh" => {
                printed.clear();
                for arguments in block.text.lines().filter_map(arguments) {
                    let out = run(folder, &arguments);
                    let told = String::from_utf8_lossy(&out.stderr).into_owned();
                    assert!(out.status.success(), "{arguments:?}: {told}");
                    printed.push_str(&String::from_utf8_lossy(&out.stdout));
                    ran += 1;
                }
            }
            "text" => found += shown(block, &printed),
            _ => {}
        }
    }
    (ran, found)
}

/// How many lines a block shows, each of which must be among those printed, in their order.
fn shown(block: &Block, printed: &str) -> usize {
    let mut lines = printed.lines();
    for line in block.text.lines() {
        assert!(lines.any(|l| l.trim_end() == line), "shown is {line:?}, printed was:\n{printed}");
    }
    block.text.lines().count()
}

/// A folder with the demo under the name by which README calls it.
fn with_demo() -> TempDir {
    let folder = TempDir::new().unwrap();
    let to = folder.path().join("reference-data/demo");
    std::fs::create_dir_all(&to).unwrap();
    for entry in std::fs::read_dir(Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/demo")).unwrap()
    {
        let path = entry.unwrap().path();
        std::fs::copy(&path, to.join(path.file_name().unwrap())).unwrap();
    }
    folder
}

#[test]
fn the_demo_is_planned_and_prints_what_is_shown() {
    let folder = with_demo();
    let first = blocks(README, "## Get it", "## The page");
    let lines: Vec<Vec<String>> = first[0].text.lines().filter_map(arguments).collect();
    let [plan] = &lines[..] else { panic!("one command of the program: {lines:?}") };
    let out = run(folder.path(), plan);
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    for file in ["plan.txt", "plan.json"] {
        assert!(folder.path().join("plan").join(file).is_file(), "{file}");
    }
    let printed = String::from_utf8(out.stdout).unwrap();
    for (page, from, to) in [
        (README, "And the beginning of a plan", "## Your own event"),
        (ASKING, "How many\npeople, from when?", "**Which on my list survive"),
    ] {
        assert_eq!(shown(&blocks(page, from, to)[0], &printed), 6);
    }
}

#[test]
fn questions_without_a_file_are_answered_as_shown() {
    let folder = TempDir::new().unwrap();
    let readme = blocks(README, "One without a file", "And the beginning of a plan");
    assert_eq!(holds(folder.path(), &readme), (1, 4));
    let hours =
        blocks(ASKING, "**How long does this flower last here?**", "**Can I set up the night before?");
    assert_eq!(holds(folder.path(), &hours), (3, 4));
    let flowers = blocks(ASKING, "**Which on my list survive", "**Will the arch last");
    assert_eq!(holds(folder.path(), &flowers), (2, 0));
}

#[test]
fn an_event_of_ones_own_is_begun_checked_planned_and_its_mistakes_told_as_shown() {
    let folder = TempDir::new().unwrap();
    let short = blocks(README, "## Your own event", "## How far");
    assert_eq!(holds(TempDir::new().unwrap().path(), &short), (4, 0));
    let own = blocks(EVENT_FILE, "# Your own event", "What there is to work with goes into");
    assert_eq!(holds(folder.path(), &own[..1]), (3, 0));
    assert!(folder.path().join("plan/plan.txt").is_file());

    // The mistake that is shown is made: a flower of the template is misspelt.
    let file = folder.path().join("supper.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replacen("flower = \"rose\"", "flower = \"hidrangea\"", 1)).unwrap();
    let check = ["check", "supper.toml"].map(String::from);
    let out = run(folder.path(), &check);
    assert_eq!(out.status.code(), Some(2));
    assert_eq!(own[1].language, "text");
    assert_eq!(shown(&own[1], &String::from_utf8(out.stderr).unwrap()), 6);

    // The barn takes the place of the template's own, and reads.
    assert_eq!(own[2].language, "toml");
    let barn = text.find("[[space]]").unwrap();
    let after = barn + text[barn..].find("\n[").unwrap();
    let event = format!("{}{}\n{}", &text[..barn], own[2].text, &text[after..]);
    std::fs::write(&file, event).unwrap();
    let out = run(folder.path(), &check);
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    let told = in_one_line(&String::from_utf8_lossy(&out.stdout));
    assert!(told.contains("worked out: timber, 200 m2 by 6 m"), "{told}");
}

#[test]
fn trials_are_noted_and_teach_what_is_shown() {
    let folder = with_demo();
    let trials = blocks(TRIALS, "# Teach it your flowers", "![What two invented trials taught");
    assert_eq!(holds(folder.path(), &trials[..1]), (6, 0));
    let demo = folder.path().join("reference-data/demo/notebook.csv");
    std::fs::copy(demo, folder.path().join("trials.csv")).unwrap();
    let last = trials[0].text.lines().rev().find_map(arguments).unwrap();
    let out = run(folder.path(), &last);
    assert_eq!(shown(&trials[1], &String::from_utf8(out.stdout).unwrap()), 5);
    // The quick answer and the ranking go by it too.
    for (quick, word) in [
        ("hours dahlia --room barn", "After your two trials"),
        ("flowers dahlia --room barn", "your notebook"),
    ] {
        let told = |more: &str| {
            let words: Vec<String> = format!("{quick} {more}").split_whitespace().map(String::from).collect();
            String::from_utf8(run(folder.path(), &words).stdout).unwrap().contains(word)
        };
        assert!(told("") && !told("--without-trials"), "{quick}");
    }
}

/// Every line of the kitchen experiments that is a command is one, and its forms go into a notebook.
#[test]
fn kitchen_experiments_are_noted_and_compared_as_written() {
    let folder = TempDir::new().unwrap();
    let guide = include_str!("../reference-data/guide/kitchen-experiments.md");
    let lines: Vec<Vec<String>> = guide.lines().filter_map(arguments).collect();
    assert_eq!(guide.matches("\n## ").count(), 6);
    assert!(lines.len() > 20, "{} commands", lines.len());
    let mut learned = Vec::new();
    for line in lines {
        let out = run(folder.path(), &line);
        assert_eq!(out.status.code(), Some(0), "{line:?}: {}", String::from_utf8_lossy(&out.stderr));
        let compared = line.get(1).is_some_and(|word| word == "compare");
        assert!(!compared || !out.stdout.is_empty());
        let told = in_one_line(&String::from_utf8_lossy(&out.stdout));
        let mut last = line.clone();
        last.drain(..1);
        if last == ["learned", "rose"] {
            learned.push(told);
        }
    }
    // What was weighed and what handling is worth is learned, each once it was tried.
    let says = [
        "stem with its leaves on drinks",
        "Straight from the box, standard rose lasts",
        "With leaves on, standard rose lasts",
    ];
    assert_eq!(learned.len(), says.len());
    for (told, says) in learned.iter().zip(says) {
        assert!(told.contains(says), "{says}: {told}");
    }
    let notes = std::fs::read_to_string(folder.path().join("trials.csv")).expect("a notebook");
    assert!(notes.contains("\"lined box, lid on\"") || notes.contains("lined box"), "{notes}");
}

/// A text without its line breaks.
fn in_one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn figures_of_the_comparison_with_experiments_are_the_programs() {
    let comparisons = compare(1);
    let (inside, overlaps, all) = score(&comparisons);
    let (other, ..) = score(&compare(2));
    let factor = sharpness(&comparisons).factor.p50;
    for words in [
        format!(
            "Of {all} that can judge it, its 90 % interval holds {inside} ({other} with other random draws) and meets {overlaps} at the edge"
        ),
        format!("it would hold about {:.0}:", 0.9 * all as f64),
        format!("in the middle outcome the upper end is {factor:.1} times the lower"),
        format!("of {all} published outcomes: {inside} lie inside, {overlaps} overlap"),
    ] {
        assert!(in_one_line(TRUST).contains(&words), "trust.md says something else than: {words}");
    }
    let short = format!(
        "Of {all} published outcomes its 90 % interval holds {inside}, where it should hold about {:.0}:",
        0.9 * all as f64
    );
    assert!(in_one_line(README).contains(&short), "README says something else than: {short}");
}

#[test]
fn the_two_numbers_to_measure_first_are_the_programs() {
    let said = "The first explains about six tenths of the spread in the answer, the second about one tenth; two tenths are chance";
    assert!(in_one_line(TRUST).contains(said), "trust.md says something else than: {said}");
    let influences = influences(1);
    let measurements = measurements(&influences);
    let tenths = |share: f64| (10.0 * share).round();
    assert_eq!(measurements[0].0, Measurement::DryHours);
    assert_eq!(measurements[1].0, Measurement::Temperature);
    assert_eq!((tenths(measurements[0].1), tenths(measurements[1].1)), (6.0, 1.0), "{measurements:?}");
    assert_eq!(tenths(chance(&influences)), 2.0);
}

#[test]
fn readme_is_short_and_every_page_it_leads_to_is_there() {
    let words = README.split_whitespace().filter(|w| w.chars().any(char::is_alphanumeric)).count();
    assert!(words <= 1200, "{words} words");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut links = 0;
    for (page, folder) in [
        (README, root.to_path_buf()),
        (ASKING, root.join("reference-data/guide")),
        (EVENT_FILE, root.join("reference-data/guide")),
        (TRIALS, root.join("reference-data/guide")),
        (TRUST, root.join("reference-data/guide")),
    ] {
        for link in page.split("](").skip(1).map(|rest| rest.split(')').next().unwrap()) {
            assert!(link.starts_with("https://") || folder.join(link).exists(), "{link} is not there");
            links += 1;
        }
    }
    assert!(links > 10, "{links} links");
}
