//! The program as it is used, from its start to its last byte: twenty orders printed and drawn against ten, the page's first
//! answer against its whole one, and a season of two hundred events against one of a hundred, with the memory they take.

#[path = "../tests/common/page.rs"]
mod page;

use headwater::event::EXAMPLES;
use page::{Page, most_memory};
use std::fmt::Write as _;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Instant;

/// Runs of each thing that is timed; they take turns, and the middle one counts.
const RUNS: usize = 15;
/// Flowers of a table of ten orders.
const FLOWERS: [&str; 10] = [
    "dahlia",
    "rose",
    "hydrangea",
    "peony",
    "lisianthus",
    "carnation",
    "tulip",
    "sweet pea",
    "ranunculus",
    "chrysanthemum",
];

/// A day of so many tables of ten orders each. If `ways` are given, every order may be set in each of them, and people may come
/// at four in the morning.
fn event(tables: usize, ways: Option<&str>) -> String {
    let (from, people) = if ways.is_some() { ("04:00", 9) } else { ("09:00", 6) };
    let mut text = format!(
        "[event]\nname = \"Invented\"\ndate = 2027-08-21\ndoors = \"16:00\"\nend = \"23:00\"\n\
         [crew]\npeople = {people}\nhourly = \"EUR 22\"\n\
         [[tubes]]\nvolume = \"10 ml\"\nprice = \"EUR 0.18\"\n[vases]\nprice = \"EUR 0.90\"\n\
         [[access]]\nfrom = \"{from}\"\nto = \"15:30\"\n[[space]]\nname = \"hall\"\nroom = \"warm barn\"\n"
    );
    for table in 1..=tables {
        write!(
            text,
            "[[piece]]\nname = \"table {table}\"\nspace = \"hall\"\nuntil = \"22:00\"\ncounts = \"flagging\"\n\
             length = \"10 m\"\n"
        )
        .expect("text");
        for flower in FLOWERS {
            writeln!(text, "[[piece.flower]]\nflower = \"{flower}\"\nheads = 40").expect("text");
            if let Some(ways) = ways {
                writeln!(text, "treatments = {ways}").expect("text");
            }
        }
    }
    text
}

/// The program about its work in a folder.
fn program(folder: &Path, words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_headwater"));
    command
        .args(words)
        .current_dir(folder)
        .env("BROWSER", "true")
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    command
}

/// Milliseconds of one run by the clock. A plan that does not last ends with 1.
fn run(folder: &Path, words: &[&str]) -> f64 {
    let begun = Instant::now();
    let status = program(folder, words).status().expect("the program");
    assert!(matches!(status.code(), Some(0 | 1)), "{words:?}: {status}");
    1000.0 * begun.elapsed().as_secs_f64()
}

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

/// The middle times of some things that take turns.
fn middles<const N: usize>(things: [&dyn Fn() -> f64; N]) -> [f64; N] {
    for thing in things {
        thing();
    }
    let mut times = [const { Vec::new() }; N];
    for _ in 0..RUNS {
        things.iter().zip(&mut times).for_each(|(thing, times)| times.push(thing()));
    }
    times.map(middle)
}

/// Milliseconds and the most memory, MB, of one run that goes on for a while.
fn watched(folder: &Path, words: &[&str]) -> (f64, usize) {
    let begun = Instant::now();
    let mut child = program(folder, words).spawn().expect("the program");
    let mut most = 0;
    let status = loop {
        most = most.max(most_memory(&child).unwrap_or(0));
        if let Some(status) = child.try_wait().expect("the program") {
            break status;
        }
        std::thread::sleep(std::time::Duration::from_millis(5));
    };
    assert!(matches!(status.code(), Some(0 | 1)), "{words:?}: {status}");
    (1000.0 * begun.elapsed().as_secs_f64(), most)
}

fn main() {
    println!("on {} threads", std::thread::available_parallelism().map_or(1, usize::from));
    let folder = tempfile::tempdir().expect("a folder");
    let at = folder.path();
    let save = |name: &str, text: &str| std::fs::write(at.join(name), text).expect("a file");
    save("ten.toml", &event(1, None));
    save("twenty.toml", &event(2, None));
    save("ways.toml", &event(2, Some("[\"tucked\", \"wired\", \"water tube\", \"bud vase\"]")));
    let printed = |file: &'static str| move || run(at, &["plan", file, "--deliveries", "128"]);
    let drawn =
        |file: &'static str| move || run(at, &["plan", file, "--deliveries", "128", "--out", "papers"]);
    let [ten, twenty, ways, usual, pictures] = middles([
        &printed("ten.toml"),
        &printed("twenty.toml"),
        &printed("ways.toml"),
        &|| run(at, &["plan", "twenty.toml"]),
        &drawn("twenty.toml"),
    ]);
    println!("printed, 4,096 heads for every way and time: ten orders {ten:.0} ms, twenty {twenty:.0} ms");
    println!("twenty orders in four ways at 24 times: {ways:.0} ms, {:.2} times as long", ways / twenty);
    println!("twenty orders with the usual 10,240 heads: {usual:.0} ms, {:.2} times as long", usual / twenty);
    println!("twenty orders with all pictures: {pictures:.0} ms, {:.2} times as long", pictures / twenty);

    let (_, _, supper) = EXAMPLES.iter().find(|(name, ..)| *name == "harvest-supper").expect("the example");
    save("supper.toml", supper);
    let page = &Page::open(at, "supper.toml");
    let was = page.was();
    let answer = |quick: bool| {
        let path = format!("/plan?file=supper.toml&was={was}&quick={quick}");
        move || {
            let begun = Instant::now();
            let told = page.post(&path, supper);
            assert_eq!(told.status, 200, "{}", told.text);
            1000.0 * begun.elapsed().as_secs_f64()
        }
    };
    let [first, whole] = middles([&answer(true), &answer(false)]);
    println!("the page, ten orders: first answer {first:.0} ms, the whole plan {whole:.0} ms");

    let mut before = None;
    for events in [100, 200] {
        let season = at.join(format!("season-{events}"));
        std::fs::create_dir(&season).expect("a folder");
        for i in 0..events {
            let text = supper.replacen("2027-08-14", &format!("2027-{:02}-{:02}", 5 + i / 28, 1 + i % 28), 1);
            std::fs::write(season.join(format!("event-{i:03}.toml")), text).expect("a file");
        }
        let name = season.to_string_lossy().into_owned();
        let (time, memory) = watched(at, &["season", &name]);
        let more = before.map_or(String::new(), |(t, m)| {
            format!(": {:.2} times as long and {:.2} times the memory", time / t, memory as f64 / m)
        });
        println!("a season of {events} events: {:.1} s, {memory} MB at most{more}", time / 1000.0);
        before = Some((time, memory as f64));
    }
}
