//! Events with a mistake, each with the message it brings, and events without one.

mod common;

use common::planned;
use headwater::error::{Error, Problem};
use headwater::event::{Event, TEMPLATE};
use headwater::flower::catalogue::Quantity;
use headwater::report::facts::Facts;
use headwater::report::papers::paper;
use headwater::report::render::{csv, json, terminal};
use std::path::{Path, PathBuf};

/// Reads the text of an event with the logs that lie in a folder.
fn read_text(name: &str, text: &str, folder: &Path) -> Result<Event, Error> {
    Event::read(name, text, &|log| std::fs::read_to_string(folder.join(log)))
}

fn text_of(path: &Path) -> String {
    std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn read(path: &Path) -> Result<Event, Error> {
    let name = path.file_name().expect("a file has a name").to_string_lossy();
    read_text(&name, &text_of(path), path.parent().expect("a file lies in a folder"))
}

fn wrong_events() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/wrong-events")
}

#[test]
fn every_wrong_event_says_what_is_wrong() {
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_snapshot_path("wrong-events/messages");
    settings.bind(|| {
        insta::glob!("wrong-events/*.toml", |path| {
            let message =
                read(path).map_or_else(|error| error.to_string(), |_| "nothing is wrong".to_string());
            assert_ne!(message, "nothing is wrong", "{}", path.display());
            insta::assert_snapshot!("message", message);
        });
    });
}

/// The text with a problem's advice followed to the letter, where the advice is something to type.
fn mended(text: &str, problem: &Problem) -> Option<String> {
    let (help, place) = (problem.help.as_deref()?, problem.place.as_ref()?);
    let cut = [" if ", "; `", " for ", ", or say "]
        .into_iter()
        .filter_map(|end| help.find(end))
        .min()
        .unwrap_or(help.len());
    let help = &help[..cut];
    let mut lines: Vec<String> = text.lines().map(str::to_string).collect();
    let line = lines.get(place.line - 1)?.clone();
    let is_setting = |text: &str| {
        text.split_once(" = ").is_some_and(|(key, value)| {
            key.chars().all(|c| c.is_ascii_lowercase() || c == '_') && !value.contains(" and ")
        })
    };
    let quoted = help.starts_with('"') && help.ends_with('"') && help.len() > 2;
    let alternative = help.split_once(", or ").map_or(help, |(_, last)| last);
    if let Some(setting) = help.strip_prefix("add ").filter(|s| is_setting(s)) {
        lines.insert(place.line, setting.to_string());
    } else if is_setting(help) || help.starts_with('[') && place.text.starts_with('[') {
        lines[place.line - 1] = help.to_string();
    } else if is_setting(alternative) && place.text.starts_with(alternative.split(' ').next()?) {
        lines[place.line - 1] = alternative.to_string();
    } else if quoted || !help.contains(' ') && !help.starts_with('[') {
        let (before, rest): (String, String) =
            (line.chars().take(place.column - 1).collect(), line.chars().skip(place.column - 1).collect());
        let read: String = rest.chars().take(place.width).collect();
        let after: String = rest.chars().skip(place.width).collect();
        let typed = if read.starts_with('"') && !quoted { format!("\"{help}\"") } else { help.to_string() };
        lines[place.line - 1] = format!("{before}{typed}{after}");
    } else {
        return None;
    }
    Some(lines.join("\n"))
}

#[test]
fn advice_that_can_be_typed_works() {
    let (mut followed, mut failed) = (0, String::new());
    for entry in std::fs::read_dir(wrong_events()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let text = text_of(&path);
        let error = read(&path).unwrap_err();
        let [problem] = error.problems.as_slice() else { continue };
        if problem.place.as_ref().is_none_or(|p| !p.file.ends_with(".toml")) {
            continue;
        }
        if let Some(mended) = mended(&text, problem) {
            followed += 1;
            if let Err(e) = read_text("mended.toml", &mended, &wrong_events()) {
                failed.push_str(&format!("the advice of\n{problem}\nleads to\n{e}\n\n"));
            }
        }
    }
    assert!(failed.is_empty(), "{failed}");
    assert!(followed > 50, "advice that can be typed was found only {followed} times");
}

/// Words of the file format, which nobody who writes an event needs to know.
const JARGON: [&str; 13] = [
    "TOML", "newline", "literal", "unquoted", "boolean", "float", "array", "token", "parse", "integer",
    "string", "syntax", "invalid",
];

/// What people in a hurry type, a line each: a line of an event, and what they make of it. All of it is read, or refused in
/// plain words; and what the words say to type, typed, makes an event of it.
#[test]
fn what_is_typed_in_a_hurry_is_read_or_told_how_to_type() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/hurried");
    let supper = text_of(&folder.join("supper.toml"));
    let (mut refused, mut mended_by_words, mut told) = (0, 0, String::new());
    for typed in text_of(&folder.join("typed.txt")).lines() {
        let (line, instead) = typed.split_once(" => ").expect("a line, and what is typed for it");
        assert!(supper.contains(line), "{line} is not in the event");
        let mut text = supper.replacen(line, &instead.replace("\\n", "\n"), 1);
        let first = match read_text("supper.toml", &text, &folder) {
            Ok(_) => continue,
            Err(error) => error,
        };
        refused += 1;
        told.push_str(&format!("{instead}\n{first}\n\n"));
        for problem in &first.problems {
            let words = [problem.message.as_str(), problem.expected.as_deref().unwrap_or_default()].concat();
            assert!(JARGON.iter().all(|word| !words.contains(word)), "{typed}: {problem}");
            assert!(problem.place.is_some() && problem.help.is_some(), "{typed}: {problem}");
            assert!(!first.to_string().contains("take flower out"), "{typed}: {problem}");
        }
        let mut error = Some(first);
        // The advice may lead to a question of its own: another currency, the afternoon.
        for _ in 0..3 {
            let Some(now) = &error else { break };
            let advised = now.problems.iter().rev().try_fold(text.clone(), |text, p| mended(&text, p));
            let Some(advised) = advised else { break };
            assert_ne!(advised, text, "{typed}: nothing new is advised by\n{now}");
            text = advised;
            error = read_text("supper.toml", &text, &folder).err();
            if error.is_none() {
                mended_by_words += 1;
            }
        }
        let only_words =
            error.as_ref().is_some_and(|e| e.problems.iter().any(|p| mended(&text, p).is_none()));
        assert!(error.is_none() || only_words, "{typed} leads to\n{}", error.unwrap());
    }
    assert!(refused >= 80 && mended_by_words * 4 >= refused * 3, "{mended_by_words} of {refused}");
    let mut settings = insta::Settings::clone_current();
    settings.set_prepend_module_to_snapshot(false);
    settings.set_snapshot_path("hurried");
    settings.bind(|| insta::assert_snapshot!("told", told));
}

#[test]
fn all_mistakes_of_a_file_are_told_at_once_in_its_order() {
    let error = read(&wrong_events().join("many-mistakes.toml")).unwrap_err();
    let lines: Vec<usize> = error.problems.iter().map(|p| p.place.as_ref().unwrap().line).collect();
    assert_eq!(lines, [3, 4, 9, 13, 18, 21, 22, 23, 26, 29, 30]);
}

#[test]
fn every_problem_says_where_it_is_what_should_be_there_and_what_to_do() {
    for entry in std::fs::read_dir(wrong_events()).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            for problem in read(&path).unwrap_err().problems {
                let whole = problem.place.is_some() && problem.expected.is_some() && problem.help.is_some();
                assert!(whole, "{}: {problem}", path.display());
            }
        }
    }
}

/// Reads an event that may be spoilt anywhere: it is refused with its problems in the order of the file, or read.
fn read_spoilt(text: &str) -> usize {
    match read_text("spoilt.toml", text, &wrong_events()) {
        Ok(event) => {
            assert!(
                !event.pieces.is_empty() && !event.spaces.is_empty() && !event.access.is_empty(),
                "{text}"
            );
            0
        }
        Err(error) => {
            let lines: Vec<usize> = error
                .problems
                .iter()
                .filter_map(|p| p.place.as_ref())
                .filter(|place| place.file == "spoilt.toml")
                .map(|place| place.line)
                .collect();
            assert!(!error.problems.is_empty() && lines.is_sorted(), "{text}\n\n{error}");
            assert!(
                !error.to_string().contains(|c: char| c.is_control() && c != '\n' && c != '\t'),
                "{text:?}"
            );
            lines.len()
        }
    }
}

#[test]
fn an_event_spoilt_anywhere_is_read_or_refused() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/demo");
    let mut refused = 0;
    for entry in std::fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "toml") {
            continue;
        }
        let text = text_of(&path);
        let lines: Vec<&str> = text.lines().collect();
        for i in 0..lines.len() {
            let with = |line: &str| {
                let mut spoilt = lines.clone();
                spoilt[i] = line;
                spoilt.join("\n")
            };
            let mut spoilt =
                vec![with(""), lines[..i].join("\n"), with(&format!("{}\n{}", lines[i], lines[i]))];
            if let Some((key, _)) = lines[i].split_once(" = ") {
                for value in [
                    "\"\"",
                    "-1",
                    "1e308",
                    "nan",
                    "[]",
                    "{}",
                    "[[]]",
                    "{ a = 1 }",
                    "\"\\u0007\"",
                    "\"9 days\"",
                ] {
                    spoilt.push(with(&format!("{key} = {value}")));
                }
            }
            refused += spoilt.iter().filter(|text| read_spoilt(text) > 0).count();
        }
        for at in (0..text.len()).step_by(7).filter(|i| text.is_char_boundary(*i)) {
            for piece in ["é", "\u{1}", "\"", "[", "=", "\r", "𝄞"] {
                refused += usize::from(read_spoilt(&format!("{}{piece}{}", &text[..at], &text[at..])) > 0);
            }
        }
    }
    assert!(refused > 1000, "{refused}");
}

#[test]
fn events_without_a_mistake_read() {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/demo");
    let mut read_well = 0;
    for entry in std::fs::read_dir(demo).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_some_and(|e| e == "toml") {
            read(&path).unwrap_or_else(|e| panic!("{}:\n{e}", path.display()));
            read_well += 1;
        }
    }
    assert!(read_well >= 2, "the template and an event");
}

#[test]
fn files_of_other_editors_read_the_same() {
    let windows = format!("\u{feff}{}", TEMPLATE.replace('\n', "\r\n"));
    let (plain, windows) =
        (read_text("t", TEMPLATE, &wrong_events()), read_text("t", &windows, &wrong_events()));
    assert_eq!(format!("{:?}", plain.unwrap()), format!("{:?}", windows.unwrap()));
    let error = read_text("t", "\u{feff}[event]\r\nnmae = 1\r\n", &wrong_events()).unwrap_err();
    let place = error.problems[0].place.clone().unwrap();
    assert!(
        error.problems.iter().any(|p| p.place.as_ref().is_some_and(|p| p.line == 2 && p.text == "nmae = 1"))
    );
    assert!(!place.text.contains(['\r', '\u{feff}']), "{:?}", place.text);
}

/// The lines of the template that are commented out so that they can be used, with the comment marks taken away.
#[test]
fn every_line_of_the_template_can_be_used() {
    // The log that it names is not shipped: it is made up here.
    let log: String = std::iter::once("time,temperature C,humidity %\n".to_string())
        .chain((0..24).map(|h| format!("2027-08-07 {h:02}:00,21,55\n")))
        .collect();
    let used: Vec<String> = TEMPLATE
        .lines()
        .map(|line| match line.strip_prefix("# ") {
            Some(rest)
                if rest.starts_with('[') || rest.split_once(" = ").is_some_and(|(k, _)| !k.contains(' ')) =>
            {
                rest.to_string()
            }
            _ => line.to_string(),
        })
        .collect();
    let used = used.join("\n");
    assert!(used.contains("\n[[space.hour]]") && used.contains("\n[[piece.move]]"), "{used}");
    let event =
        Event::read("template.toml", &used, &|_| Ok(log.clone())).unwrap_or_else(|e| panic!("{used}\n\n{e}"));
    assert_eq!(
        event
            .spaces
            .iter()
            .filter(|s| ["garden", "hall", "orangery", "marquee"].contains(&s.name.as_str()))
            .count(),
        4
    );
    assert!(!event.pieces[0].near.is_empty() && event.pieces[0].placed.is_some());
}

/// An event of one flower, given as the lines that say which, and a green.
fn supper(flower: &str) -> String {
    format!(
        "[event]\nname = \"A supper\"\ndate = 2027-08-14\ndoors = \"16:00\"\nend = \"23:00\"\n\
         [[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n[[space]]\nname = \"barn\"\nroom = \"warm barn\"\n\
         [[piece]]\nname = \"long table\"\nspace = \"barn\"\nuntil = \"22:00\"\n\
         [[piece.flower]]\n{flower}\nheads = 40\n[[piece.flower]]\nflower = \"bay\"\nheads = 30\n"
    )
}

#[test]
fn a_flower_like_another_has_its_numbers_and_keeps_its_own_name() {
    for more in ["", "\ndry_hours = \"9 h\""] {
        let nerine = planned(&supper(&format!("flower = \"nerine\"{more}")));
        let own = planned(&supper(&format!("flower = \"rain flower\"\nlike = \"Nerines\"{more}")));
        let told = json::plan(&Facts::of(&own));
        let renamed = told
            .replace("rain flower is taken to be like nerine: ", "")
            .replace("rain flower", "nerine")
            .replace("Rain flower", "Nerine");
        assert!(told.contains("\"rain flower\""), "{told}");
        let unknown = |line: &&str| !line.contains("not in the catalogue");
        let both = [json::plan(&Facts::of(&nerine)), renamed]
            .map(|text| text.lines().filter(unknown).map(String::from).collect::<Vec<_>>());
        assert_eq!(both[0], both[1]);
    }
}

#[test]
fn a_flower_like_another_keeps_its_name_on_every_paper() {
    let plan = planned(&supper(
        "flower = \"rain flower\"\nlike = \"nerine\"\nheads = 12\n\
         [[piece.flower]]\nflower = \"snow flower, late\"\nlike = \"nerine\"",
    ));
    let facts = Facts::of(&plan);
    let mut papers: Vec<String> = ["client", "run-sheet", "buying"]
        .map(|name| terminal::text(&paper(&facts, name).expect(name), 120))
        .to_vec();
    papers.push(String::from_utf8(csv::buying(&facts)).expect("text"));
    for paper in papers {
        let small = paper.to_lowercase().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(small.contains("rain flower") && small.contains("snow flower, late"), "{paper}");
        assert!(!small.contains("nerine"), "{paper}");
    }
    assert_eq!(facts.bill.lines.len(), 3, "two names are two lines");
}

#[test]
fn own_dry_hours_take_the_place_of_those_of_the_flower_it_is_like() {
    let event =
        |more: &str| planned(&supper(&format!("flower = \"rain flower\"\nlike = \"nerine\"{more}"))).event;
    let (plain, own) = (event(""), event("\ndry_hours = \"9 h\""));
    let (plain, own) = (&plain.pieces[0].orders[0], &own.pieces[0].orders[0]);
    assert_eq!((plain.flower_name(), plain.flower.id()), ("rain flower", "nerine"));
    assert_eq!(plain.handling.own_dry_hours, None);
    assert_eq!(own.handling.own_dry_hours, Some(9.0));
    assert_ne!(own.flower.median(Quantity::DryHours), 9.0);
}
