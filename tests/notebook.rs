//! The notebook as a file: what is wrong in it is told all at once, and a writer that dies loses nothing confirmed.

use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

fn trial(folder: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_headwater"))
        .env("COLUMNS", "96")
        .current_dir(folder)
        .arg("trial")
        .args(args)
        .output()
        .expect("the program starts")
}

fn good(folder: &Path, args: &[&str]) -> String {
    let out = trial(folder, args);
    assert!(out.status.success(), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).unwrap()
}

fn refused(folder: &Path, args: &[&str], says: &[&str]) {
    let out = trial(folder, args);
    let err = String::from_utf8(out.stderr).unwrap();
    assert_eq!(out.status.code(), Some(2), "{args:?}: {err}");
    assert!(out.stdout.is_empty() && !err.contains("panicked"), "{err}");
    for words in says {
        assert!(err.contains(words), "{args:?} should say {words:?}:\n{err}");
    }
}

fn begun() -> TempDir {
    let folder = TempDir::new().unwrap();
    good(
        folder.path(),
        &[
            "start",
            "dahlia",
            "--on",
            "2027-06-13",
            "--at",
            "9:00",
            "--air",
            "72F 48%",
            "--lot",
            "Fen; \"June\"",
        ],
    );
    folder
}

#[test]
fn a_trial_is_noted_shown_learned_from_and_taken_back() {
    let folder = begun();
    let at = folder.path();
    good(at, &["look", "--at", "11:00 am", "--presentable", "9", "--weight", "5oz"]);
    good(at, &["look", "--after", "4h", "--presentable", "5", "--wilted", "1", "--air", "24C 44%"]);
    good(at, &["look", "--at", "15:00", "--presentable", "1"]);
    let before = std::fs::read_to_string(at.join("trials.csv")).unwrap();
    good(at, &["look", "--at", "16:00", "--presentable", "0", "--note", "a, b\nc"]);
    let taken = good(at, &["undo"]);
    assert!(taken.contains("16:00"), "{taken}");
    assert_eq!(std::fs::read_to_string(at.join("trials.csv")).unwrap(), before);
    let shown = good(at, &["show"]);
    for words in ["TRIAL 1", "5 presentable", "141.7 g", "between 2 and 4 h"] {
        assert!(shown.contains(words), "{words}:\n{shown}");
    }
    let learned = good(at, &["learned", "--out", "pictures"]);
    assert!(learned.contains("After your one trial") && learned.contains("sound"), "{learned}");
    assert!(at.join("pictures/learned-dahlia-ball.svg").exists());
    good(at, &["learned", "--json"]);
    good(at, &["score"]);
    let page = good(at, &["protocol", "-"]);
    assert!(page.starts_with("<!DOCTYPE html>") && !page.contains("http"), "it needs nothing else");
}

#[test]
fn nonsense_is_refused_and_nothing_is_noted() {
    let folder = begun();
    let at = folder.path();
    good(at, &["look", "--at", "12:00", "--presentable", "6", "--wilted", "2"]);
    let before = std::fs::read_to_string(at.join("trials.csv")).unwrap();
    refused(at, &["look", "--at", "12:00", "--presentable", "5"], &["does not come after", "next day"]);
    refused(at, &["look", "--at", "13:00", "--presentable", "8"], &["4 were before", "count again"]);
    refused(at, &["look", "--at", "13:00", "--wilted", "1"], &["limp", "2 were before"]);
    refused(at, &["look", "--at", "13:00", "--presentable", "11"], &["of 10 heads"]);
    refused(at, &["look", "--at", "13:00"], &["says nothing"]);
    refused(at, &["look", "--at", "25:00", "--presentable", "5"], &["--at", "clock time"]);
    refused(at, &["look", "--trial", "9", "--at", "13:00", "--presentable", "5"], &["no trial 9"]);
    refused(
        at,
        &["start", "hidrangea", "--on", "2027-06-13", "--at", "9x", "--air", "21C"],
        &["hydrangea", "--at"],
    );
    refused(
        at,
        &["start", "rose", "--on", "13.6.27", "--at", "9:00", "--air", "120 C 30 %"],
        &["13.6.27", "120 C 30 %"],
    );
    refused(at, &["compare", "1", "7"], &["no trial \"7\""]);
    refused(at, &["learned", "rose"], &["no note"]);
    assert_eq!(std::fs::read_to_string(at.join("trials.csv")).unwrap(), before);
    let empty = TempDir::new().unwrap();
    refused(empty.path(), &["look", "--at", "12:00", "--presentable", "5"], &["no trial is begun"]);
    refused(empty.path(), &["undo"], &["no entry"]);
    refused(empty.path(), &["show"], &["no trial yet"]);
}

/// A tube is weighed: what was drunk cannot grow less, and out of water nothing is drunk. What a message advises is taken.
#[test]
fn what_heads_drank_is_noted_where_they_stand_in_water() {
    let folder = begun();
    let at = folder.path();
    refused(
        at,
        &["look", "--at", "12:00", "--drunk", "7g"],
        &["stand in no water", "--treated \"water tube\""],
    );
    let begin = ["start", "rose", "--on", "2027-06-13", "--at", "9:00", "--heads", "5", "--air", "22C 48%"];
    refused(at, &[&begin[..], &["--lying", "heapp"]].concat(), &["try: in a heap"]);
    let told = good(at, &[&begin[..], &["--treated", "water tubes", "--leaves-on"]].concat());
    assert!(told.contains("in water on") && told.contains("--drunk"), "{told}");
    good(at, &["look", "--after", "6h", "--drunk", "14 g"]);
    refused(at, &["look", "--after", "9h", "--drunk", "13g"], &["14 g by the one before", "at least 14 g"]);
    good(at, &["look", "--after", "9h", "--drunk", "0.7oz"]);
    let shown = good(at, &["show"]);
    assert!(shown.contains("leaves on") && shown.contains("19.8 g drunk"), "{shown}");
    assert!(shown.contains("No heads were counted."), "{shown}");
    let learned = good(at, &["learned", "rose"]);
    assert!(learned.contains("stem with its leaves on drinks"), "{learned}");
}

/// A notebook that was begun without a column gets it when something is to stand there; its other lines stay as they were.
#[test]
fn a_notebook_without_a_column_gets_it_when_it_is_needed() {
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    for (text, first) in [
        ("entry,trial,date,at,flower,heads,air,presentable\n", "presentable,"),
        ("\u{feff}entry;trial;date;at;flower;heads;air;presentable\r\n", "presentable;"),
    ] {
        let mark = first.chars().last().unwrap();
        let noted =
            format!("start{mark}1{mark}2027-06-13{mark}09:00{mark}rose{mark}10{mark}21 C 45 %{mark}\n");
        std::fs::write(at.join("trials.csv"), format!("{text}{noted}")).unwrap();
        let begin = ["start", "rose", "--on", "2027-06-13", "--at", "9:00", "--air", "22C 48%"];
        good(at, &[&begin[..], &["--lying", "in a heap"]].concat());
        let now = std::fs::read_to_string(at.join("trials.csv")).unwrap();
        assert!(now.lines().next().unwrap().contains(first) && now.contains(&noted), "{now}");
        assert!(now.lines().next().unwrap().contains(&format!("{mark}lying")), "{now}");
        assert!(good(at, &["show", "2"]).contains("in a heap"), "{now}");
    }
}

#[test]
fn every_problem_of_a_notebook_is_told_with_its_line() {
    let folder = TempDir::new().unwrap();
    let text = "entry;trial;date;at;flower;heads;air;presentable;mine\n\
                start;1;2027-06-13;09:00:00;dalia;10;21 C 45 %;;\n\
                start;2;13/06/2027;9:00 am;rose;ten;21 K;;\n\
                start;3;2027-06-13;09:00;rose;10;21,5 C 45 %;;kept\n\
                look;3;;10:00:00;;;;10;\n\
                look;3;;9:30;;;;9;\n\
                look;4;;9:30;;;;9;\n\
                glance;3;;11:00;;;;9;\n\
                ;;;;;;;;\n";
    // A spreadsheet on another system ends its lines otherwise.
    for text in [text.to_string(), text.replace('\n', "\r\n")] {
        std::fs::write(folder.path().join("trials.csv"), text).unwrap();
        refused(
            folder.path(),
            &["show"],
            &[
                "line 2, column 29",
                "dahlia",
                "line 3",
                "13/06/2027",
                "\"ten\"",
                "21 K",
                "line 6",
                "does not come after",
                "line 7",
                "no trial 4",
                "line 8",
                "try: look",
            ],
        );
    }
}

/// Five hundred writers are killed at any moment: whatever was confirmed is there, and the notebook always reads.
#[test]
#[cfg(unix)]
fn a_killed_writer_loses_nothing_that_was_confirmed() {
    use std::{io::Read, time::Duration};
    const WRITES: u32 = 500;
    let folder = TempDir::new().unwrap();
    let at = folder.path();
    good(
        at,
        &["start", "carnation", "--on", "2027-06-13", "--at", "0:00", "--air", "20C 50%", "--heads", "1000"],
    );
    let (mut confirmed, mut killed) = (Vec::new(), 0);
    // The moment of the blow wanders over the life of a writer, whose length is felt out: longer where the blow came
    // too early to let anything be confirmed, shorter where it came too late.
    let mut random = 12_345_u64;
    let mut life = 5_000.0_f64;
    for i in 0..WRITES {
        let note = format!("note-{i}");
        let after = format!("{}min", i + 2);
        let mut child = Command::new(env!("CARGO_BIN_EXE_headwater"))
            .current_dir(at)
            .args(["trial", "look", "--after", &after, "--presentable", "1000", "--note", &note])
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        std::thread::sleep(Duration::from_micros((random >> 33) % (life as u64 + 1)));
        let _ = child.kill(); // SIGKILL; one that has ended already is well
        let mut said = String::new();
        child.stdout.take().unwrap().read_to_string(&mut said).unwrap();
        let ended = child.wait().unwrap();
        killed += u32::from(!ended.success());
        let noted = said.contains("Noted");
        life = (life * if noted { 0.9 } else { 1.1 }).clamp(100.0, 200_000.0);
        if noted {
            confirmed.push(note);
        }
    }
    let text = std::fs::read_to_string(at.join("trials.csv")).unwrap();
    let noted: Vec<&str> =
        text.lines().filter_map(|l| l.rsplit(',').next()).filter(|n| n.starts_with("note-")).collect();
    let mut rest = noted.iter();
    for note in &confirmed {
        assert!(rest.any(|n| n == note), "{note} was confirmed and is lost, or out of order");
    }
    println!("{killed} killed, {} confirmed, {} noted", confirmed.len(), noted.len());
    assert!(killed > 50 && confirmed.len() > 20, "{killed} killed, {} confirmed", confirmed.len());
    good(at, &["show"]);
    good(at, &["look", "--after", "900min", "--presentable", "999"]);
}

/// Writers at the same time wait for one another.
#[test]
fn writers_at_once_lose_nothing() {
    let folder = begun();
    let writers: Vec<_> = (0..12)
        .map(|_| {
            Command::new(env!("CARGO_BIN_EXE_headwater"))
                .current_dir(folder.path())
                .args(["trial", "start", "rose", "--on", "2027-06-13", "--at", "9:00", "--air", "21C 45%"])
                .stdout(Stdio::null())
                .spawn()
                .unwrap()
        })
        .collect();
    for mut writer in writers {
        assert!(writer.wait().unwrap().success());
    }
    let text = std::fs::read_to_string(folder.path().join("trials.csv")).unwrap();
    let mut numbers: Vec<u32> =
        text.lines().skip(1).map(|l| l.split(',').nth(1).unwrap().parse().unwrap()).collect();
    numbers.sort_unstable();
    assert_eq!(numbers, (1..=13).collect::<Vec<u32>>());
}

/// The whole way of a florist: a trial, a plan that uses it, what happened, and the score.
#[test]
fn plans_use_the_notebook_beside_the_event_and_events_come_back_into_it() {
    let folder = begun();
    let at = folder.path();
    for (time, well) in [("12:00", "10"), ("14:00", "8"), ("16:00", "4"), ("18:00", "1")] {
        good(at, &["look", "--at", time, "--presentable", well]);
    }
    let event = |head: &str, lot: &str| {
        let text = format!(
            "[event]\nname = \"Invented lunch\"\ndate = 2027-07-03\ndoors = \"12:00\"\nend = \"20:00\"\n{head}\n\
             [[access]]\nfrom = \"09:00\"\nto = \"11:00\"\n[[space]]\nname = \"hall\"\nroom = \"ordinary room\"\n\
             [[piece]]\nname = \"table\"\nspace = \"hall\"\nuntil = \"16:00\"\n\
             [[piece.flower]]\nflower = \"dahlia\"\nheads = 40\ntreatments = [\"tucked\"]\n{lot}\n"
        );
        std::fs::write(at.join("lunch.toml"), text).unwrap();
    };
    let plan = |more: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_headwater"))
            .current_dir(at)
            .args([&["plan", "lunch.toml"], more].concat())
            .output()
            .unwrap();
        (out.status.code(), String::from_utf8(out.stdout).unwrap(), String::from_utf8(out.stderr).unwrap())
    };
    let dahlias = |more: &[&str]| -> serde_json::Value {
        let (_, out, err) = plan(&[more, &["--json"]].concat());
        assert!(err.is_empty(), "{err}");
        serde_json::from_str::<serde_json::Value>(&out).unwrap()["pieces"][0]["flowers"][0].clone()
    };
    event("", "");
    let (with, without) = (dahlias(&[]), dahlias(&["--without-trials"]));
    assert_eq!(with["learned"]["trials"], 1);
    assert!(without["learned"].is_null());
    let middle = |v: &serde_json::Value| v["learned"]["middle_head_hours"]["p50"].as_f64().unwrap();
    assert!(middle(&with) > 3.5, "they held longer than the table's three hours: {with}");
    let told = plan(&[]).1;
    assert!(told.contains("After your one trial") && told.contains("--without-trials"), "{told}");
    event("", "lot = \"Fen; \\\"June\\\"\"");
    let known = dahlias(&[]);
    assert_eq!(known["learned"]["of_this_delivery"], true);
    let width = |v: &serde_json::Value| {
        let hours = &v["learned"]["middle_head_hours"];
        hours["p95"].as_f64().unwrap() / hours["p05"].as_f64().unwrap()
    };
    assert!(width(&known) < 0.7 * width(&with), "{known}");
    event("notebook = \"other.csv\"", "");
    let (code, _, err) = plan(&[]);
    assert_eq!(code, Some(2));
    assert!(err.contains("other.csv") && err.contains("try:"), "{err}");
    assert_eq!(plan(&["--without-trials"]).0, Some(1), "dahlias do not last so long");

    event("", "");
    let happened = ["happened", "lunch.toml", "--piece", "table", "--flower", "dahlia", "--placed", "10:30"];
    let told = good(at, &[&happened[..], &["--presentable", "25"]].concat());
    assert!(told.contains("25 of 40") && told.contains("teaches as a trial does"), "{told}");
    refused(at, &[&happened[..], &["--presentable", "41"]].concat(), &["at most 40"]);
    refused(
        at,
        &[
            "happened",
            "lunch.toml",
            "--piece",
            "tabel",
            "--flower",
            "rose",
            "--placed",
            "10:30",
            "--presentable",
            "1",
        ],
        &["try: table"],
    );
    let learned: serde_json::Value = serde_json::from_str(&good(at, &["learned", "--json"])).unwrap();
    assert_eq!((&learned[0]["trials"], &learned[0]["events"]), (&1.into(), &1.into()));
    let score: serde_json::Value = serde_json::from_str(&good(at, &["score", "--json"])).unwrap();
    assert_eq!(score["forecasts"].as_array().unwrap().len(), 2);
    assert_eq!(score["spread"]["factor"], 1.0, "two forecasts change nothing");
    assert!(good(at, &["next", "lunch.toml"]).contains("WHICH TRIAL"));
}
