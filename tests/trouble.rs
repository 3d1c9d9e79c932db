//! A full disk, a folder that cannot be written, a program killed half way, a reader that has seen enough, odd names: nothing
//! is lost, nothing is half written, and the program says how it ended.
#![cfg(unix)]

use headwater::event::TEMPLATE;
use std::ffi::OsStr;
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Duration;

const PROGRAM: &str = env!("CARGO_BIN_EXE_headwater");

/// A folder with an event in it.
fn folder() -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().unwrap();
    let event = folder.path().join("supper.toml");
    std::fs::write(&event, TEMPLATE).unwrap();
    (folder, event)
}

fn run(folder: &Path, args: &[&str]) -> Output {
    Command::new(PROGRAM).args(args).current_dir(folder).output().unwrap()
}

/// The same by way of a shell, with `$HEADWATER` for the program.
fn shell(folder: &Path, line: &str) -> Output {
    Command::new("bash").args(["-c", line]).env("HEADWATER", PROGRAM).current_dir(folder).output().unwrap()
}

/// What a run printed of what went wrong; it must not have been a panic.
fn said(output: &Output) -> String {
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(!text.contains("panicked"), "{text}");
    text
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = std::fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    names.sort();
    names
}

/// Needs `/dev/full`, which Linux has: every write to it finds the disk full.
#[test]
fn a_full_disk_under_the_output_is_told() {
    if !Path::new("/dev/full").exists() {
        return;
    }
    let (folder, _) = folder();
    for args in [
        "hours rose --room 'warm barn'",
        "plan supper.toml",
        "plan supper.toml --json",
        "check supper.toml",
        "flowers",
        "rooms",
        "new -",
        "completions bash",
        "swaps supper.toml rose",
        "trial protocol",
        "papers supper.toml",
        "--help",
        "--version",
    ] {
        let ran = shell(folder.path(), &format!("\"$HEADWATER\" {args} > /dev/full"));
        let words = said(&ran);
        assert_eq!(ran.status.code(), Some(2), "{args}: {words}");
        assert!(words.contains("cannot print"), "{args}: {words}");
    }
    // With nowhere left to say so either, the code still tells.
    let ran = shell(folder.path(), "\"$HEADWATER\" rooms > /dev/full 2> /dev/full");
    assert_eq!(ran.status.code(), Some(2));
}

/// A limit on the length of files stands for a disk that fills up half way through one (`ulimit -f`, in blocks of 1024 bytes;
/// without the signal that would end the program, a write past it fails).
#[test]
fn a_disk_that_fills_up_leaves_what_was_there() {
    let (folder, event) = folder();
    let limited =
        |line: &str| shell(folder.path(), &format!("trap '' XFSZ; ulimit -f 4; \"$HEADWATER\" {line}"));
    let before = run(folder.path(), &["plan", "supper.toml", "--out", "plan"]);
    assert!(before.status.success(), "{}", said(&before));
    let kept: Vec<(String, Vec<u8>)> = names(&folder.path().join("plan"))
        .into_iter()
        .map(|n| (n.clone(), std::fs::read(folder.path().join("plan").join(n)).unwrap()))
        .collect();
    let ran = limited("plan supper.toml --seed 2 --out plan");
    let words = said(&ran);
    assert!(ran.status.code() == Some(2) && words.contains("cannot be written"), "{words}");
    for (name, bytes) in &kept {
        let now = std::fs::read(folder.path().join("plan").join(name)).unwrap();
        assert!(now == *bytes || now.len() < 4096, "{name} is whole, the old one or the new");
    }
    assert_eq!(
        names(&folder.path().join("plan")),
        kept.iter().map(|k| k.0.clone()).collect::<Vec<_>>(),
        "nothing lies about"
    );
    // A fresh event is longer than that, and is not there in part.
    let ran = limited("new fresh.toml");
    assert!(ran.status.code() == Some(2) && said(&ran).contains("fresh.toml cannot be written"));
    assert!(!folder.path().join("fresh.toml").exists());
    let ran = limited("papers supper.toml");
    assert!(ran.status.code() == Some(2) && said(&ran).contains("cannot be written"), "{}", said(&ran));
    // A notebook that has no room for another line keeps those it has.
    let start = ["trial", "start", "dahlia", "--on", "2027-06-13", "--at", "9:00", "--air", "22C 48%"];
    assert!(run(folder.path(), &start).status.success());
    let notes = std::fs::read_to_string(folder.path().join("trials.csv")).unwrap();
    let padded = format!("{notes}{}", "\n".repeat(4096));
    std::fs::write(folder.path().join("trials.csv"), &padded).unwrap();
    let ran = limited("trial look --at 12:00 --presentable 7");
    assert!(ran.status.code() == Some(2) && said(&ran).contains("nothing was noted"), "{}", said(&ran));
    assert_eq!(std::fs::read_to_string(folder.path().join("trials.csv")).unwrap(), padded);
    assert_eq!(std::fs::read_to_string(&event).unwrap(), TEMPLATE);
}

/// A path under a file cannot be made by anybody, not even by whoever runs tests as root, whom permissions do not bind.
#[test]
fn a_place_that_cannot_be_written_is_told_before_anything_is() {
    let (folder, _) = folder();
    for line in [
        "plan supper.toml --out supper.toml/plan",
        "papers supper.toml --out supper.toml/papers",
        "new supper.toml/x.toml",
    ] {
        let ran = shell(folder.path(), &format!("\"$HEADWATER\" {line}"));
        let words = said(&ran);
        assert_eq!((ran.status.code(), ran.stdout.as_slice()), (Some(2), &b""[..]), "{line}: {words}");
        assert!(words.contains("a part of its path is a file"), "{line}: {words}");
    }
    let ran = shell(
        folder.path(),
        "\"$HEADWATER\" trial start dahlia --on 2027-06-13 --at 9:00 --air '22C 48%' --notebook supper.toml/trials.csv",
    );
    assert!(ran.status.code() == Some(2) && !said(&ran).is_empty());
    assert_eq!(names(folder.path()), ["supper.toml"]);
    assert_eq!(std::fs::read_to_string(folder.path().join("supper.toml")).unwrap(), TEMPLATE);
}

#[test]
fn a_reader_that_has_seen_enough_changes_no_exit_code() {
    let (folder, event) = folder();
    for (line, code) in [("plan supper.toml", 0), ("flowers", 0), ("plan short.toml", 1)] {
        let short =
            TEMPLATE.replace("heads = 24", "heads = 24\ntreatments = [\"tucked\"]\ndry_hours = \"10 min\"");
        std::fs::write(folder.path().join("short.toml"), short).unwrap();
        let ran = shell(
            folder.path(),
            &format!("set -o pipefail; \"$HEADWATER\" {line} | head -1; exit ${{PIPESTATUS[0]}}"),
        );
        assert_eq!((ran.status.code(), said(&ran).as_str()), (Some(code), ""), "{line}");
        assert_eq!(ran.stdout.iter().filter(|b| **b == b'\n').count(), 1, "{line}");
    }
    // Nobody reads at all.
    let ran = shell(folder.path(), "\"$HEADWATER\" plan supper.toml >&-; echo $?");
    let code = String::from_utf8_lossy(&ran.stdout).trim().to_string();
    assert!(["0", "2"].contains(&code.as_str()) && !said(&ran).contains("panicked"), "{code}");
    assert!(event.exists());
}

/// Killed again and again while it writes, the program leaves every file whole, the old one or the new.
#[test]
fn a_program_that_is_killed_leaves_no_file_half_written() {
    let (folder, _) = folder();
    let plan = |seed: &str| {
        Command::new(PROGRAM)
            .args(["plan", "supper.toml", "--out", "plan", "--seed", seed])
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap()
    };
    assert!(plan("1").wait().unwrap().success());
    let out = folder.path().join("plan");
    let whole = |name: &str| {
        let bytes = std::fs::read(out.join(name)).unwrap();
        match name.rsplit_once('.').unwrap().1 {
            "svg" => bytes.trim_ascii_end().ends_with(b"</svg>"),
            // The last chunk of a PNG (its specification, second edition, 11.2.5).
            "png" => bytes.ends_with(b"IEND\xae\x42\x60\x82"),
            "json" => serde_json::from_slice::<serde_json::Value>(&bytes).is_ok(),
            _ => bytes.ends_with(b"\n"),
        }
    };
    let usual = names(&out);
    for (i, seed) in ["2", "3", "4", "5", "6", "7"].iter().enumerate() {
        let mut child = plan(seed);
        // It computes for a while, and then writes: somewhere in there it ends, or is done already.
        std::thread::sleep(Duration::from_millis(150 * (i as u64 + 1)));
        let _ = child.kill();
        child.wait().unwrap();
        for name in &usual {
            assert!(whole(name), "{name} is whole after being killed");
        }
    }
    // What a killed program leaves is a file that no later run mistakes for its own.
    assert!(names(&out).iter().all(|n| usual.contains(n) || n.starts_with(".tmp")), "{:?}", names(&out));
    assert!(plan("1").wait().unwrap().success());
    // The notebook, noted in by two at once, one of them killed now and then.
    let start = ["trial", "start", "dahlia", "--on", "2027-06-13", "--at", "9:00", "--air", "22C 48%"];
    let mut noted = 0;
    for i in 0..12u64 {
        let mut child = Command::new(PROGRAM)
            .args(start)
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap();
        if i % 3 == 2 {
            std::thread::sleep(Duration::from_millis(i));
            let _ = child.kill();
        }
        noted += u32::from(child.wait().unwrap().success());
    }
    let notes = std::fs::read_to_string(folder.path().join("trials.csv")).unwrap();
    let entries = notes.lines().filter(|l| l.starts_with("start,")).count() as u32;
    assert!(notes.ends_with('\n') && entries >= noted && entries <= 12, "{entries} of {noted} confirmed");
    assert!(run(folder.path(), &["trial", "show"]).status.success());
}

/// Killed again and again while it writes papers, now of one event and now of another, it leaves the papers of one of them.
#[test]
fn papers_are_those_of_one_event_whenever_the_program_is_killed() {
    let (folder, event) = folder();
    let few = TEMPLATE.replace("heads = 40", "heads = 4").replace("heads = 24", "heads = 3");
    let named = |name: &str, text: &str| text.replacen("name = \"", &format!("name = \"{name} "), 1);
    std::fs::write(&event, named("Firstly", &few)).unwrap();
    std::fs::write(folder.path().join("other.toml"), named("Secondly", &few)).unwrap();
    let papers = |event: &str| {
        Command::new(PROGRAM)
            .args(["papers", event, "--out", "papers"])
            .current_dir(folder.path())
            .stdout(Stdio::null())
            .spawn()
            .unwrap()
    };
    let began = std::time::Instant::now();
    assert!(papers("supper.toml").wait().unwrap().success());
    let whole = began.elapsed();
    let mut seen = std::collections::BTreeSet::new();
    for i in 0..10u32 {
        let mut child = papers(if i % 2 == 0 { "other.toml" } else { "supper.toml" });
        // Around the moment at which it writes.
        std::thread::sleep(whole * (75 + 4 * i) / 100);
        let _ = child.kill();
        child.wait().unwrap();
        let of = |word: &str| {
            let has = |name: &str| {
                std::fs::read_to_string(folder.path().join("papers").join(name))
                    .is_ok_and(|text| text.contains(word))
            };
            [has("client.html"), has("run-sheet.html"), has("buying.html"), has("take-along.html")]
        };
        match (of("Firstly"), of("Secondly")) {
            ([true, true, true, true], [false, false, false, false]) => seen.insert(1),
            ([false, false, false, false], [true, true, true, true]) => seen.insert(2),
            mixed => panic!("a mix: {mixed:?}"),
        };
    }
    assert_eq!(seen.len(), 2, "papers of both were seen");
}

/// A crew of fewer people leaves no calendar of those who stay at home.
#[test]
fn a_set_of_papers_has_none_of_the_set_before() {
    let (folder, event) = folder();
    let crew = |people: &str| TEMPLATE.replacen("people = 3", &format!("people = {people}"), 1);
    assert!(TEMPLATE.contains("people = 3"), "the template has a crew");
    std::fs::write(&event, crew("3")).unwrap();
    assert!(run(folder.path(), &["papers", "supper.toml"]).status.code() == Some(0));
    std::fs::write(folder.path().join("papers/person-9.ics"), "old").unwrap();
    assert!(run(folder.path(), &["papers", "supper.toml"]).status.code() == Some(0));
    assert!(!folder.path().join("papers/person-9.ics").exists());
    // What is not ours stays, and so does the folder.
    std::fs::write(folder.path().join("papers/mine.txt"), "mine").unwrap();
    std::fs::write(folder.path().join("papers/person-9.ics"), "old").unwrap();
    assert!(run(folder.path(), &["papers", "supper.toml"]).status.code() == Some(0));
    assert_eq!(std::fs::read_to_string(folder.path().join("papers/mine.txt")).unwrap(), "mine");
    assert!(!folder.path().join("papers/person-9.ics").exists());
    assert_eq!(names(folder.path()), ["papers", "supper.toml"], "nothing lies about");
}

#[test]
fn a_link_to_the_folder_of_results_stays_one() {
    let (folder, _) = folder();
    let real = folder.path().join("elsewhere");
    std::fs::create_dir(&real).unwrap();
    std::os::unix::fs::symlink("elsewhere", folder.path().join("plan")).unwrap();
    for seed in ["1", "2"] {
        let ran = run(folder.path(), &["plan", "supper.toml", "--out", "plan", "--seed", seed]);
        assert!([Some(0), Some(1)].contains(&ran.status.code()), "{}", said(&ran));
        assert!(std::fs::symlink_metadata(folder.path().join("plan")).unwrap().is_symlink());
        let told = std::fs::read_to_string(real.join("plan.json")).unwrap();
        assert!(told.contains(&format!("\"seed\": {seed}")), "the new set lies where the link leads");
    }
}

#[test]
fn a_file_stays_what_it_was_when_it_is_saved() {
    use std::os::unix::fs::PermissionsExt;
    let (folder, _) = folder();
    let real = folder.path().join("elsewhere");
    std::fs::create_dir(&real).unwrap();
    let start = ["trial", "start", "dahlia", "--on", "2027-06-13", "--at", "9:00", "--air", "22C 48%"];
    assert!(run(folder.path(), &start).status.success());
    let book = folder.path().join("trials.csv");
    std::fs::rename(&book, real.join("trials.csv")).unwrap();
    std::os::unix::fs::symlink("elsewhere/trials.csv", &book).unwrap();
    std::fs::set_permissions(real.join("trials.csv"), std::fs::Permissions::from_mode(0o640)).unwrap();
    assert!(run(folder.path(), &["trial", "look", "--at", "12:00", "--presentable", "7"]).status.success());
    assert!(std::fs::symlink_metadata(&book).unwrap().is_symlink());
    let mode = std::fs::metadata(&book).unwrap().permissions().mode();
    assert_eq!(mode & 0o777, 0o640);
    assert!(std::fs::read_to_string(real.join("trials.csv")).unwrap().contains("look"));
    // One that is marked read-only is left, and that is said.
    std::fs::set_permissions(real.join("trials.csv"), std::fs::Permissions::from_mode(0o440)).unwrap();
    let ran = run(folder.path(), &["trial", "look", "--at", "13:00", "--presentable", "6"]);
    assert!(ran.status.code() == Some(2) && said(&ran).contains("read-only"), "{}", said(&ran));
}

/// What never ends is no log: it is refused at once.
#[test]
fn a_pipe_or_a_device_is_no_log() {
    let (folder, event) = folder();
    assert!(shell(folder.path(), "mkfifo pipe.csv").status.success());
    let hall = "[[space]]\nname = \"tent\"\nlog = \"LOG\"\n";
    for log in ["pipe.csv", "/dev/zero", "/dev/urandom"] {
        std::fs::write(&event, format!("{TEMPLATE}\n{}", hall.replace("LOG", log))).unwrap();
        let ran = shell(folder.path(), "timeout 20 \"$HEADWATER\" check supper.toml");
        let words = said(&ran);
        assert!(ran.status.code() == Some(2) && words.contains("a pipe or a device"), "{log}: {words}");
    }
    // A log as a spreadsheet saves it, in UTF-16, or an older logger, in Latin-1.
    let body: String =
        (0..25).map(|h| format!("\n{:02}/08/2027 {:02}:00;21,5;48", 14 + h / 24, h % 24)).collect();
    let text = format!("Date;Temp \u{b0}C;RH %{body}\n");
    let wide =
        [0xfeff].into_iter().chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect::<Vec<u8>>();
    let old = text.chars().map(|c| c as u8).collect::<Vec<u8>>();
    std::fs::write(&event, format!("{TEMPLATE}\n{}", hall.replace("LOG", "log.csv"))).unwrap();
    for bytes in [wide, old] {
        std::fs::write(folder.path().join("log.csv"), bytes).unwrap();
        let ran = run(folder.path(), &["check", "supper.toml"]);
        assert_eq!(ran.status.code(), Some(0), "{}", said(&ran));
    }
}

/// Ctrl+C ends it, whatever it is doing.
#[test]
fn an_interrupt_always_ends_the_program() {
    let (folder, _) = folder();
    for line in ["open --port 0", "open supper.toml", "season ."] {
        let began = std::time::Instant::now();
        let ran =
            shell(folder.path(), &format!("timeout --signal=INT --kill-after=20 1 \"$HEADWATER\" {line}"));
        assert!(began.elapsed() < Duration::from_secs(15), "{line}: {}", said(&ran));
        assert_ne!(ran.status.code(), Some(137), "{line} had to be killed");
    }
}

#[test]
fn names_that_are_no_text_are_files_like_others() {
    let (folder, event) = folder();
    let odd = folder.path().join(OsStr::from_bytes(b"d\xeener.toml"));
    if std::fs::copy(&event, &odd).is_err() {
        return; // Some file systems take text only.
    }
    for args in [vec![OsStr::new("check")], vec![OsStr::new("plan")]] {
        let ran = Command::new(PROGRAM).args(&args).arg(&odd).output().unwrap();
        assert!(ran.status.success(), "{}", said(&ran));
    }
    let out = folder.path().join(OsStr::from_bytes(b"pl\xe4n"));
    let ran = Command::new(PROGRAM).arg("plan").arg(&odd).arg("--out").arg(&out).output().unwrap();
    assert!(ran.status.success() && out.join("plan.json").exists(), "{}", said(&ran));
    let ran = Command::new(PROGRAM).arg("open").arg(&odd).output().unwrap();
    assert!(ran.status.code() == Some(2) && said(&ran).contains("plain file name"), "{}", said(&ran));
    let ran =
        Command::new(PROGRAM).args([OsStr::from_bytes(b"h\xf6urs"), OsStr::new("rose")]).output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    said(&ran);
    let ran = Command::new(PROGRAM).arg("hours").arg(OsStr::from_bytes(b"r\xf6se")).output().unwrap();
    assert_eq!(ran.status.code(), Some(2));
    said(&ran);
}

/// The papers learn from the notebook, as the plan does.
#[test]
fn papers_learn_from_the_notebook() {
    let (folder, _) = folder();
    let start = ["trial", "start", "dahlia", "--on", "2027-06-13", "--at", "9:00", "--air", "22C 48%"];
    assert!(run(folder.path(), &start).status.success());
    assert!(run(folder.path(), &["trial", "look", "--after", "2h", "--presentable", "0"]).status.success());
    let papers = |more: &[&str]| {
        let ran = run(folder.path(), &[&["papers", "supper.toml", "--out", "papers"], more].concat());
        assert!(ran.status.code().is_some_and(|c| c < 2), "{}", said(&ran));
        std::fs::read_to_string(folder.path().join("papers/run-sheet.csv")).unwrap()
            + &std::fs::read_to_string(folder.path().join("papers/client.html")).unwrap()
            + &std::fs::read_to_string(folder.path().join("papers/take-along.html")).unwrap()
    };
    assert_ne!(papers(&[]), papers(&["--without-trials"]));
}

#[test]
fn what_cannot_be_seen_is_refused_and_the_text_that_is_advised_is_taken() {
    let (folder, event) = folder();
    let name = TEMPLATE.lines().find(|l| l.starts_with("name = ")).unwrap();
    for bad in ["Supper\\u001b]0;gone\\u0007", "\\u202eSupper", "Supper\\u0000", "Supper\\u0085"] {
        std::fs::write(&event, TEMPLATE.replacen(name, &format!("name = \"{bad}\""), 1)).unwrap();
        for args in [["check", "supper.toml"], ["plan", "supper.toml"], ["papers", "supper.toml"]] {
            let out = run(folder.path(), &args);
            let text = said(&out);
            assert_eq!(out.status.code(), Some(2), "{bad}: {text}");
            assert!(text.contains("cannot be seen") && text.contains("supper.toml, line "), "{text}");
            let all = [out.stdout, out.stderr].concat();
            let loud = |c: char| c.is_control() && c != '\n' || c == '\u{202e}';
            assert!(!String::from_utf8(all).unwrap().contains(loud), "{bad}");
            let typed = text.split("try: type it again: ").nth(1).unwrap().lines().next().unwrap();
            std::fs::write(
                folder.path().join("mended.toml"),
                TEMPLATE.replacen(name, &format!("name = {typed}"), 1),
            )
            .unwrap();
            assert_eq!(run(folder.path(), &["check", "mended.toml"]).status.code(), Some(0), "{typed}");
        }
    }
    let start = |lot: &str| {
        run(
            folder.path(),
            &[
                "trial",
                "start",
                "rose",
                "--on",
                "2027-06-13",
                "--at",
                "9:00",
                "--air",
                "22C 48%",
                "--lot",
                lot,
            ],
        )
    };
    assert_eq!(start("Grower A").status.code(), Some(0));
    let book = folder.path().join("trials.csv");
    let before = std::fs::read_to_string(&book).unwrap();
    let text = said(&start("Grower \u{7}A"));
    assert!(text.contains("cannot be seen"), "{text}");
    assert_eq!(std::fs::read_to_string(&book).unwrap(), before, "nothing was written");
    std::fs::write(&book, before.replace("Grower A", "Grower \u{1b}A")).unwrap();
    let text = said(&run(folder.path(), &["trial", "show"]));
    assert!(text.contains("cannot be seen") && text.contains("trials.csv, line 2"), "{text}");
}
