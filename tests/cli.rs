//! The program as its users meet it: what it prints, what it writes, and how it ends.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::sync::OnceLock;
use tempfile::TempDir;

fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_headwater"));
    command.env("COLUMNS", "96");
    command
}

/// How a run ended.
struct Ran {
    code: i32,
    out: String,
    err: String,
}

impl From<Output> for Ran {
    fn from(output: Output) -> Ran {
        let ran = Ran {
            code: output.status.code().expect("no signal ended it"),
            out: String::from_utf8(output.stdout).expect("it prints UTF-8"),
            err: String::from_utf8(output.stderr).expect("it prints UTF-8"),
        };
        assert!(!ran.err.contains("panicked"), "{}", ran.err);
        ran
    }
}

fn run(args: &[&str]) -> Ran {
    program().args(args).output().expect("the program starts").into()
}

fn run_in(folder: &Path, args: &[&str]) -> Ran {
    program().current_dir(folder).args(args).output().expect("the program starts").into()
}

/// A run that must go well.
fn good(args: &[&str]) -> String {
    let ran = run(args);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
    ran.out
}

/// A run that must be refused, with a message that says this, and nothing else printed.
fn refused(args: &[&str], says: &[&str]) {
    let ran = run(args);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""), "{args:?}\n{}", ran.err);
    for words in says {
        assert!(ran.err.contains(words), "{args:?} should say {words:?}:\n{}", ran.err);
    }
}

fn json(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|e| panic!("{e}: {text}"))
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("{value} is no number"))
}

fn demo_folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/demo")
}

fn demo() -> PathBuf {
    demo_folder().join("harvest-supper.toml")
}

/// The demo's plan, made once: its run, and the folder it was written to.
fn demo_plan() -> &'static (Ran, TempDir) {
    static PLAN: OnceLock<(Ran, TempDir)> = OnceLock::new();
    PLAN.get_or_init(|| {
        let folder = TempDir::new().unwrap();
        let out = folder.path().join("made/plan");
        let ran = run(&["plan", demo().to_str().unwrap(), "--out", out.to_str().unwrap()]);
        (ran, folder)
    })
}

fn demo_report() -> Value {
    json(&std::fs::read_to_string(demo_plan().1.path().join("made/plan/plan.json")).unwrap())
}

/// A small event with the lines of its one flower, its treatments free.
fn small_event(flower: &str) -> String {
    format!(
        "[event]\nname = \"Invented lunch\"\ndate = 2027-07-03\ndoors = \"12:00\"\nend = \"18:00\"\n\n\
         [[access]]\nfrom = \"09:00\"\nto = \"11:00\"\n\n[[space]]\nname = \"hall\"\nroom = \"ordinary room\"\n\n\
         [[piece]]\nname = \"table\"\nspace = \"hall\"\nuntil = \"17:00\"\n\n[[piece.flower]]\n{flower}\n"
    )
}

/// Writes an event, and gives its folder and its path.
fn event_file(text: &str) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    let path = folder.path().join("event.toml");
    std::fs::write(&path, text).unwrap();
    let path = path.to_str().unwrap().to_string();
    (folder, path)
}

#[test]
fn examples_come_with_the_program() {
    let folder = TempDir::new().unwrap();
    for demo in ["harvest-supper", "night-before", "heat-wave", "two-helpers"] {
        let ran = run_in(folder.path(), &["new", "--demo", demo]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""));
        let file = format!("{demo}.toml");
        let shipped = std::fs::read_to_string(demo_folder().join(&file)).unwrap();
        assert_eq!(std::fs::read_to_string(folder.path().join(&file)).unwrap(), shipped);
        assert_eq!(run_in(folder.path(), &["check", &file]).code, 0);
    }
    refused(&["new", "--demo", "winter"], &["night-before"]);
}

#[test]
fn a_flower_where_a_command_belongs_leads_to_its_hours() {
    for (typed, flower) in [(vec!["dahlia"], "dahlia-ball"), (vec!["white", "roses"], "rose")] {
        let ran = run(&typed);
        assert_eq!((ran.code, ran.out.as_str()), (2, ""));
        let advice =
            ran.err.lines().find_map(|line| line.trim().strip_prefix("try: headwater ")).expect("advice");
        assert!(advice.starts_with(&format!("hours {flower} ")), "{advice}");
        let args: Vec<String> =
            advice.replace("\"warm barn\"", "warm-barn").split(' ').map(String::from).collect();
        good(&args.iter().map(String::as_str).collect::<Vec<_>>());
    }
}

#[test]
fn standard_input_is_an_event_like_another() {
    let mut child = program()
        .args(["check", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let text = small_event("flower = \"rose\"\nheads = 9\n").replace("[event]", "\u{feff}[event]");
    std::io::Write::write_all(&mut child.stdin.take().unwrap(), text.as_bytes()).unwrap();
    let ran = Ran::from(child.wait_with_output().unwrap());
    let (_folder, path) = event_file(&text);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(
        ran.out.lines().skip(1).collect::<Vec<_>>(),
        good(&["check", &path]).lines().skip(1).collect::<Vec<_>>()
    );
}

#[test]
fn quiet_leaves_remarks_out_and_nothing_else() {
    let folder = TempDir::new().unwrap();
    let ran = run_in(folder.path(), &["new", "--quiet", "supper.toml"]);
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
    let plan = |quiet: &[&str]| {
        let args = [&["plan", "supper.toml", "--out", "plan"], quiet].concat();
        run_in(folder.path(), &args).out
    };
    let (loud, quiet) = (plan(&[]), plan(&["--quiet"]));
    assert!(loud.starts_with(&quiet) && loud.len() > quiet.len() && loud.contains("Written to plan"));
    assert!(!quiet.contains("Written to"));
}

#[test]
fn manuals_and_completions_know_commands_flowers_and_rooms() {
    let folder = TempDir::new().unwrap();
    assert_eq!(run_in(folder.path(), &["manuals", "man"]).code, 0);
    let read = |name: &str| std::fs::read_to_string(folder.path().join("man").join(name)).unwrap();
    for command in ["", "-plan", "-hours", "-trial", "-trial-start"] {
        let page = read(&format!("headwater{command}.1"));
        assert!(page.contains(".SH NAME") && page.contains(".SH SYNOPSIS"), "{page}");
    }
    for shell in ["bash", "zsh", "fish"] {
        let script = read(&format!("headwater.{shell}"));
        for word in ["dahlia-ball", "warm-barn", "papers"] {
            // Fish is given the words of flags and commands alone.
            assert!(script.contains(word) || (shell, word) == ("fish", "dahlia-ball"), "{word} in {shell}");
        }
    }
    let told = |room: &str| good(&["hours", "dahlia-ball", "--room", room, "--until", "6h"]);
    assert_eq!(told("warm-barn"), told("warm barn"));
}

#[test]
fn a_new_event_is_written_once_and_can_be_used_as_it_is() {
    let folder = TempDir::new().unwrap();
    let ran = run_in(folder.path(), &["new", "supper.toml"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let path = folder.path().join("supper.toml");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), good(&["new", "-"]));

    std::fs::write(&path, "mine").unwrap();
    let again = run_in(folder.path(), &["new", "supper.toml"]);
    assert_eq!((again.code, again.out.as_str()), (2, ""));
    assert!(again.err.contains("supper.toml") && again.err.contains("try:"), "{}", again.err);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "mine");

    let ran = run_in(folder.path(), &["new"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let check = run_in(folder.path(), &["check", "event.toml"]);
    assert_eq!((check.code, check.err.as_str()), (0, ""));
    for said in ["17:00 the day before", "barn", "long table", "standard rose"] {
        assert!(check.out.contains(said), "{said}:\n{}", check.out);
    }
    let plan = run_in(folder.path(), &["plan", "event.toml"]);
    assert!(plan.code < 2 && plan.err.is_empty(), "{}", plan.err);
    assert!(plan.out.contains("long table"), "{}", plan.out);
}

#[test]
fn the_demo_lasts_and_is_written_whole() {
    let (ran, folder) = demo_plan();
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let folder = folder.path().join("made/plan");
    let text = std::fs::read_to_string(folder.join("plan.txt")).unwrap();
    assert!(ran.out.starts_with(&text) && ran.out.contains("Written to"), "{}", ran.out);
    let flowers: usize = demo_report()["pieces"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| p["flowers"].as_array().unwrap().len())
        .sum();
    let (mut svgs, mut pngs) = (0, 0);
    for entry in std::fs::read_dir(&folder).unwrap() {
        let path = entry.unwrap().path();
        let bytes = std::fs::read(&path).unwrap();
        match path.extension().and_then(|e| e.to_str()) {
            Some("svg") => {
                let svg = String::from_utf8(bytes).unwrap();
                assert!(svg.starts_with("<svg") && svg.trim_end().ends_with("</svg>"), "{}", path.display());
                assert!(svg.contains("viewBox=") && svg.contains("aria-label="), "{}", path.display());
                svgs += 1;
            }
            Some("png") => {
                assert_eq!(bytes[..8], *b"\x89PNG\r\n\x1a\n", "{}", path.display());
                assert_eq!(bytes[bytes.len() - 8..bytes.len() - 4], *b"IEND", "{}", path.display());
                pngs += 1;
            }
            _ => {}
        }
    }
    // Two of each flower, the rooms, and why it is set when it is.
    assert_eq!((svgs, pngs), (2 * flowers + 2, 2 * flowers + 2));
}

/// A band that is a share of heads.
fn is_share(band: &Value) {
    let [low, middle, high] = ["p05", "p50", "p95"].map(|p| number(&band[p]));
    assert!(0.0 <= low && low <= middle && middle <= high && high <= 1.0, "{band}");
}

/// A time of the plan lies in a window in which one may set up, ends included.
fn is_in_access(at: &Value, windows: &[(&str, &str)]) {
    let time = |text: &str| text.parse::<jiff::civil::DateTime>().unwrap_or_else(|e| panic!("{text}: {e}"));
    let at = time(at.as_str().expect("a text"));
    assert!(windows.iter().any(|(from, to)| time(from) <= at && at <= time(to)), "{at}");
}

#[test]
fn the_plan_as_json_keeps_its_contract() {
    let windows = [("2027-08-13T17:00", "2027-08-13T20:00"), ("2027-08-14T09:00", "2027-08-14T15:30")];
    let report = demo_report();
    let mut options_seen = 0;
    for piece in report["pieces"].as_array().unwrap() {
        for flower in piece["flowers"].as_array().unwrap() {
            let best = &flower["recommended"];
            let code = |v: &Value| {
                let code = v["treatment"].as_str().expect("a code").to_string();
                assert!(["tucked", "wired", "water_tube", "bud_vase"].contains(&code.as_str()), "{code}");
                code
            };
            is_in_access(&best["place_at"], &windows);
            let options = flower["options"].as_array().unwrap();
            for option in options {
                code(option);
                is_in_access(&option["place_at"], &windows);
                is_share(&option["presentable"]);
                options_seen += 1;
            }
            let same = |o: &&Value| code(o) == code(best) && o["place_at"] == best["place_at"];
            assert!(options.iter().any(|o| same(&o)), "the recommendation is among the options: {flower}");
        }
    }
    assert!(options_seen > 20, "{options_seen}");
}

#[test]
fn a_plan_that_cannot_hold_ends_with_one_and_says_so() {
    let (_folder, path) = event_file(
        &small_event("flower = \"hydrangea\"\nheads = 12\ntreatments = [\"tucked\"]\nconditioning = \"straight from the box\"")
            .replace("ordinary room", "marquee shut in sun"),
    );
    let ran = run(&["plan", &path]);
    assert_eq!((ran.code, ran.err.as_str()), (1, ""), "{}", ran.out);
    let ran = run(&["plan", &path, "--json"]);
    assert_eq!(ran.code, 1);
    let report = json(&ran.out);
    assert_eq!(report["lasts"], false);
    assert_eq!(report["pieces"][0]["flowers"][0]["recommended"]["lasts"], false);
}

#[test]
fn the_same_seed_gives_the_same_plan_and_another_one_does_not() {
    let (_folder, path) = event_file(&small_event("flower = \"dahlia\"\nheads = 12"));
    let plan = |seed: &str| run(&["plan", &path, "--json", "--seed", seed]).out;
    let first = plan("7");
    assert_eq!(first, plan("7"));
    assert_ne!(first, plan("8"));
    let hours = |seed: &str| good(&["hours", "dahlia", "--room", "warm barn", "--json", "--seed", seed]);
    assert_eq!(hours("7"), hours("7"));
    assert_ne!(hours("7"), hours("8"));
}

#[test]
fn hotter_is_never_better() {
    let (_folder, path) = event_file(&small_event("flower = \"dahlia\"\nheads = 12"));
    let shares = |extra: &[&str]| -> Vec<(String, f64)> {
        let mut args = vec!["plan", &path, "--json"];
        args.extend(extra);
        let report = json(&run(&args).out);
        let options = report["pieces"][0]["flowers"][0]["options"].as_array().unwrap().clone();
        let mut shares: Vec<(String, f64)> = options
            .iter()
            .map(|o| (format!("{} {}", o["treatment"], o["place_at"]), number(&o["presentable"]["p50"])))
            .collect();
        shares.sort_by(|a, b| a.0.cmp(&b.0));
        shares
    };
    let (usual, hotter) = (shares(&[]), shares(&["--hotter", "5C"]));
    let mut compared = 0;
    for (option, share) in &hotter {
        if let Some((_, before)) = usual.iter().find(|(o, _)| o == option) {
            assert!(*share <= before + 1e-9, "{option}: {before} and hotter {share}");
            compared += 1;
        }
    }
    assert!(compared > 0 && usual != hotter, "{usual:?} {hotter:?}");
    refused(&["plan", &path, "--hotter", "lots"], &["--hotter", "5C or 9F"]);
}

#[test]
fn hours_as_json_keeps_its_contract() {
    let answer = json(&good(&[
        "hours",
        "rose",
        "--temperature",
        "22C",
        "--humidity",
        "65",
        "--until",
        "36",
        "--json",
    ]));
    assert_eq!(answer["flower"], "standard rose");
    assert_eq!(number(&answer["until_hours"]), 36.0);
    assert!((number(&answer["conditions"]["humidity_percent"]) - 65.0).abs() < 1e-6);
    let horizon = number(&answer["horizon_hours"]);
    assert!(horizon >= 14.0 * 24.0);
    let methods = answer["treatments"].as_array().unwrap();
    let codes: Vec<&str> = methods.iter().map(|t| t["treatment"].as_str().unwrap()).collect();
    assert_eq!(codes, ["tucked", "water_tube", "bud_vase"]);
    for method in methods {
        let hours = |key: &str| {
            ["p05", "p25", "p50", "p75", "p95"].map(|p| {
                let hour = method[key].get(p).unwrap_or_else(|| panic!("no {key}.{p}"));
                if hour.is_null() { f64::INFINITY } else { number(hour) }
            })
        };
        let (flagging, wilted) = (hours("flagging_hours"), hours("wilted_hours"));
        for known in [flagging, wilted] {
            assert!(known.windows(2).all(|w| w[0] <= w[1]), "{known:?}");
            assert!(known.iter().all(|h| *h <= horizon || h.is_infinite()), "{known:?}");
        }
        assert!(flagging.iter().zip(wilted).all(|(f, w)| *f <= w), "{flagging:?} {wilted:?}");
        is_share(&method["presentable_at_until"]);
        let loss = &method["fresh_mass_loss_percent_at_until"];
        let [low, middle, high] = ["p05", "p50", "p95"].map(|p| number(&loss[p]));
        assert!(low <= middle && middle <= high && high <= 100.0, "{loss}");
    }
    assert!(number(&methods[0]["flagging_hours"]["p50"]) < horizon);
}

#[test]
fn the_same_air_in_other_words_gives_the_same_answer() {
    let middle = |air: &[&str]| {
        let mut args = vec!["hours", "dahlia", "--json"];
        args.extend(air);
        let answer = json(&good(&args));
        ["flagging_hours", "wilted_hours"].map(|k| number(&answer["treatments"][0][k]["p50"]))
    };
    let close = |a: [f64; 2], b: [f64; 2]| {
        assert!(a.iter().zip(b).all(|(a, b)| (a - b).abs() < 1e-3 * b), "{a:?} {b:?}");
    };
    let plain = middle(&["--temperature", "25C", "--humidity", "50"]);
    close(middle(&["--temperature", "77F", "--humidity", "50%"]), plain);
    // Of air at 25 C and 50 % the dew point is 13.86 C (tables of moist air).
    close(middle(&["--temperature", "25C", "--dew-point", "13.86C"]), plain);
    let room = middle(&["--room", "ordinary room"]);
    // A room in words is known roughly, which moves the middle a little; a reading is taken as it is.
    let read = middle(&["--temperature", "21C", "--humidity", "45"]);
    assert!(read.iter().zip(room).all(|(a, b)| (a - b).abs() < 0.05 * b), "{read:?} {room:?}");
    assert!(plain[0] < room[0], "warm air is harder: {plain:?} {room:?}");
}

#[test]
fn a_wrong_question_is_refused_with_a_way_out() {
    refused(&["hours", "hidrangea", "--room", "warm barn"], &["hidrangea", "try: hydrangea"]);
    refused(&["hours", "rose", "--temperature", "22C", "--humidity", "130"], &["--humidity", "1 to 100 %"]);
    refused(&["hours", "rose", "--temperature", "22C", "--humidity", "0.5"], &["write 50 if you mean 50 %"]);
    refused(&["hours", "rose", "--temperature", "22C"], &["humidity is missing", "--dew-point"]);
    refused(&["hours", "rose"], &["no air", "--room"]);
    refused(&["hours", "rose", "--temperature", "72", "--humidity", "50"], &["72F"]);
    refused(&["hours", "rose", "--room", "balroom"], &["ballroom"]);
    refused(&["hours", "rose", "--temperature", "20C", "--dew-point", "24C"], &["dew point of 24 C"]);
    refused(&["hours", "rose", "--room", "barn", "--until", "60 days"], &["from 5 minutes to 30 days"]);
    refused(&["hours", "rose", "--room", "barn", "--stage", "open"], &["half open"]);
    refused(&["flowers", "hidrangea"], &["hydrangea"]);
    refused(&["plan", "nowhere.toml"], &["nowhere.toml", "headwater new"]);
    refused(&["plna"], &["plan"]);
    // Every mistake of a command line is told at once.
    refused(
        &["hours", "hidrangea", "--temperature", "warm", "--humidity", "130", "--until", "ages"],
        &["hydrangea", "--temperature", "--humidity", "--until"],
    );
}

#[test]
fn a_wrong_event_is_refused_and_nothing_is_written() {
    let (folder, path) = event_file(&small_event("flower = \"hidrangea\"\nheads = 0"));
    let out = folder.path().join("plan");
    let says = ["line 21", "hydrangea", "line 22", "`heads`"];
    refused(&["plan", &path, "--out", out.to_str().unwrap()], &says);
    refused(&["check", &path], &says);
    assert!(!out.exists());

    std::fs::write(&path, b"[event]\nname = \"caf\xe9\"\n").unwrap();
    refused(&["plan", &path], &["not a text file", "UTF-8"]);
    refused(&["plan", folder.path().to_str().unwrap()], &["folder"]);
}

#[test]
fn a_place_that_cannot_be_written_is_refused() {
    let (folder, path) = event_file(&small_event("flower = \"rose\"\nheads = 12"));
    let file = folder.path().join("taken");
    std::fs::write(&file, "mine").unwrap();
    refused(&["plan", &path, "--out", file.to_str().unwrap()], &["taken", "--out"]);
    refused(&["plan", &path, "--out", file.join("plan").to_str().unwrap()], &["taken", "--out"]);
    refused(&["new", file.join("event.toml").to_str().unwrap()], &["taken"]);
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left behind");
}

#[test]
fn the_catalogue_and_the_rooms_can_be_read() {
    let all = good(&["flowers"]);
    let dahlias = good(&["flowers", "dahlia"]);
    let named = dahlias.lines().filter(|l| l.contains("dahlia-")).count();
    assert!(named > 1 && all.lines().count() > dahlias.lines().count(), "{dahlias}");
    // One word may be a flower of its own and a part of the names of others: neither is hidden.
    let rose = good(&["flowers", "rose"]);
    assert!(rose.contains("source:") && rose.contains("garden rose (rose-garden)"), "{rose}");
    let one = good(&["flowers", "dahlia-ball"]);
    assert!(one.contains("Dahlia") && one.contains("source:"), "{one}");
    let survivors = good(&["flowers", "rose", "dahlia", "--any", "--room", "warm barn", "--until", "6h"]);
    assert!(survivors.contains("bud vase") && survivors.contains("dahlia"), "{survivors}");
    // Every room that is listed can be asked for.
    let rooms = good(&["rooms"]);
    let words: Vec<&str> =
        rooms.lines().filter(|l| l.contains(" %   ")).filter_map(|l| l.split("  ").next()).collect();
    assert!(words.len() > 10, "{rooms}");
    for words in &words {
        headwater::climate::room::Room::find(words).unwrap_or_else(|e| panic!("{words}: {e}"));
    }
    assert!(good(&["hours", "rose", "--room", words[0]]).contains(words[0]));
}

#[test]
fn help_shows_examples_and_shells_get_completions() {
    assert!(good(&["--help"]).contains("Exit codes"));
    assert!(good(&["--version"]).starts_with("headwater "));
    for command in ["hours", "plan", "check", "new", "flowers"] {
        let help = good(&[command, "--help"]);
        let (_, examples) = help.split_once("Example").unwrap_or_else(|| panic!("{help}"));
        assert!(examples.contains(&format!("headwater {command}")), "{help}");
    }
    for shell in ["bash", "zsh", "fish"] {
        let script = good(&["completions", shell]);
        assert!(script.contains("headwater") && script.contains("hours"), "{shell}");
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_error() {
    for args in [&["flowers"][..], &["rooms"], &["completions", "bash"], &["--help"], &["new", "-"]] {
        let mut child = program().args(args).stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
        drop(child.stdout.take());
        let ran: Ran = child.wait_with_output().unwrap().into();
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{args:?}");
    }
}

#[test]
fn a_plan_says_who_and_when_and_what_to_buy() {
    let (ran, _) = demo_plan();
    for part in ["WHO AND WHEN", "TO BUY", "OTHER WAYS TO DO IT", "the cheapest mix", "Person 1"] {
        assert!(ran.out.contains(part), "{part}");
    }
    let report = demo_report();
    let assignments: usize =
        report["crew"].as_array().unwrap().iter().map(|p| p["stints"].as_array().unwrap().len()).sum();
    assert!(assignments > 10);
    let cost = &report["cost"];
    let parts = ["flowers", "material", "hands"].map(|k| number(&cost[k])).iter().sum::<f64>();
    assert!((number(&cost["total"]) - parts).abs() < 1e-6);
    assert_eq!(cost["currency"], "EUR");
}

#[test]
fn stand_ins_are_told_and_wrong_names_refused() {
    let (_folder, path) = event_file(&small_event("flower = \"dahlia\"\nheads = 20"));
    let out = good(&["swaps", &path, "dahlia", "--most", "3"]);
    assert!(out.contains("the flower itself") && out.contains("from memory"), "{out}");
    let rows = json(&good(&["swaps", &path, "dahlia", "--most", "3", "--json", "--colour", "pink"]));
    assert_eq!(rows.as_array().unwrap().len(), 4);
    refused(&["swaps", &path, "tulip"], &["no flower called \"tulip\"", "dahlia"]);
    refused(&["swaps", &path, "dahlia", "--colour", "pinc"], &["--colour cannot be", "pink"]);
}

#[test]
fn other_days_are_told_and_what_cannot_be_is_refused() {
    let (folder, path) = event_file(&small_event("flower = \"rose\"\nheads = 20"));
    let ran = run(&["whatif", &path, "--hotter", "4C", "--late", "2h"]);
    assert_ne!(ran.code, 2, "{}", ran.err);
    for part in ["as planned", "4 C hotter", "2 h late"] {
        assert!(ran.out.contains(part), "{part}:\n{}", ran.out);
    }
    let out = folder.path().join("made");
    assert_ne!(run(&["whatif", &path, "--out", out.to_str().unwrap()]).code, 2);
    assert!(std::fs::read_to_string(out.join("what-matters.svg")).unwrap().contains("What matters most"));
    refused(
        &["whatif", &path, "--cooling-fails", "17:00"],
        &["no room of this event is cooled", "cooled = true"],
    );
    refused(&["whatif", &path, "--hotter", "lots"], &["--hotter cannot be"]);
}

#[test]
fn papers_are_written_all_or_told_why_not() {
    let (folder, path) = event_file(&small_event("flower = \"rose\"\nheads = 20"));
    let out = folder.path().join("made/papers");
    let ran = run(&["papers", &path, "--out", out.to_str().unwrap()]);
    assert_ne!(ran.code, 2, "{}", ran.err);
    let mut names: Vec<String> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    let all = [
        "buying.csv",
        "buying.html",
        "buying.pdf",
        "client.html",
        "client.pdf",
        "client.txt",
        "first-time.html",
        "first-time.pdf",
        "person-1.ics",
        "run-sheet.csv",
        "run-sheet.html",
        "run-sheet.ics",
        "run-sheet.pdf",
        "take-along.html",
        "venue.html",
        "venue.pdf",
    ];
    assert_eq!(names, all);
    let blocked = folder.path().join("event.toml/papers");
    let ran = run(&["papers", &path, "--out", blocked.to_str().unwrap()]);
    assert_eq!((ran.code, ran.out.as_str()), (2, ""));
    assert!(ran.err.contains("problem:"), "{}", ran.err);
}

#[test]
fn a_season_is_its_events_a_line_each() {
    let folder = TempDir::new().expect("a folder");
    let file = |name: &str| folder.path().join(name).display().to_string();
    good(&["new", &file("later.toml")]);
    let text = std::fs::read_to_string(file("later.toml")).expect("written");
    let date = text.lines().find(|l| l.starts_with("date")).expect("it has a day");
    std::fs::write(file("early.toml"), text.replace(date, "date = 2027-05-01")).expect("writable");
    let told = run(&["season", &folder.path().display().to_string(), "--json"]);
    let season = json(&told.out);
    let events = season.as_array().expect("a list");
    assert_eq!(events.len(), 2);
    assert_eq!(events[0]["date"], "2027-05-01");
    for (event, name) in events.iter().zip(["early.toml", "later.toml"]) {
        let plan = run(&["plan", &file(name), "--json"]);
        assert_eq!(event["lasts"], json(&plan.out)["lasts"], "{name}");
        assert_eq!(event["lasts"] == true, plan.code == 0, "{name}");
        assert!(event["cost"].as_f64().is_some_and(|cost| cost > 0.0), "{name}");
    }
    assert_eq!(told.code, i32::from(events.iter().any(|e| e["lasts"] == false)));
    let text = run(&["season", &folder.path().display().to_string()]).out;
    assert!(text.contains("Sat 1 May 2027") && text.contains("of 2 events"), "{text}");

    // What is wrong with any file is told at once, and nothing else.
    std::fs::write(file("bad.toml"), "[event]\nname = 3\n").expect("writable");
    std::fs::write(file("worse.toml"), "[event\n").expect("writable");
    refused(&["season", &folder.path().display().to_string()], &["bad.toml", "worse.toml"]);
    refused(&["season", "nowhere.toml"], &["nowhere.toml cannot be read"]);
}

#[test]
fn sun_is_said_in_words_as_in_an_event() {
    let in_sun = |sun: &str| {
        let asked = ["hours", "rose", "--temperature", "24C", "--humidity", "50", "--sun", sun, "--json"];
        run(&asked).out
    };
    assert!(
        in_sun("full") == in_sun("800") && in_sun("half") == in_sun("400") && in_sun("shade") == in_sun("0")
    );
    assert_ne!(in_sun("full"), in_sun("shade"));
}

#[test]
fn what_did_not_come_is_taken_from_the_pieces_that_give_first() {
    let event = "reference-data/demo/harvest-supper.toml";
    // The roses are gone: the numbers of what follows them are those of the event without them.
    let ran = run(&["again", event, "--came", "rose 0", "--came", "dahlia 60", "--soft", "lisianthus"]);
    assert!([0, 1].contains(&ran.code) && ran.err.is_empty(), "{} {}", ran.code, ran.err);
    for told in ["head table garland: none of the 30 standard rose", "ball dahlia are too few"] {
        assert!(ran.out.contains(told), "{told}: {}", ran.out);
    }
    // No more are set out than came, spares included, less what breaks.
    let set_out: u32 = ran
        .out
        .lines()
        .filter(|line| line.contains("ball dahlia   "))
        .filter_map(|line| line.split("ball dahlia").next()?.split_whitespace().last()?.parse::<u32>().ok())
        .sum();
    assert!((40..=57).contains(&set_out), "{set_out}: {}", ran.out);
    refused(&["again", event], &["nothing is said of what came"]);
    refused(&["again", event, "--came", "tulip 5"], &["no piece has any tulip"]);
}
