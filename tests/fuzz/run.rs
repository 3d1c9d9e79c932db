//! Many inputs, one after another, under a watch.

use crate::spoil::Corpus;
use headwater::error::Error;
use headwater::numerics::random::Key;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// How long the watch waits between two looks. Time is counted in looks, so that a program that was stopped for a while,
/// or got no processor, is not taken to be slow.
const LOOK: Duration = Duration::from_millis(200);
/// No input takes longer than so many looks, on a machine that is busy with other things: 20 s.
const LONGEST: u32 = 100;
/// Inputs are cut to this many bytes.
pub const MOST_BYTES: usize = 32 * 1024;
/// More memory than this, MB, and something grows without bound.
const MOST_MEMORY: usize = 1024;
/// At least one input in so many is read: a corpus of nothing but refusals would test the first line of a reader.
const ONE_READ_IN: usize = 5;

/// The most memory this program ever had, MB, where the system tells.
fn memory() -> Option<usize> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"))?;
    Some(line.trim().split(' ').next()?.parse::<usize>().ok()? / 1024)
}

/// The numbers of the inputs that are asked for: a count, or from one number to before another.
fn asked() -> Option<std::ops::Range<u32>> {
    let text = std::env::var("HEADWATER_FUZZ").ok()?.replace('_', "");
    let (from, to) = text.split_once("..").unwrap_or(("0", &text));
    Some(from.parse().expect("a number")..to.parse().expect("a number"))
}

/// What is being tried, and since which look.
type Begun = Mutex<Option<(u32, u32)>>;

/// Holds `test` against so many spoilt texts; `test` says whether a text was read.
pub fn fuzz(name: &str, usual: u32, corpus: &Corpus, test: impl Fn(&str) -> bool + Sync) {
    let (long, numbers) = (asked().is_some(), asked().unwrap_or(0..usual));
    let key = Key::named(1, name);
    let text = |number: u32| corpus.spoilt(&mut key.generator(number));
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    // Threads of their own: what is tested shares out work among those of the program.
    let begun: Vec<Begun> = (0..threads).map(|_| Begun::default()).collect();
    let (next, looks) = (AtomicU32::new(numbers.start), AtomicU32::new(0));
    let (over, read, broken) = (AtomicBool::new(false), AtomicUsize::new(0), Mutex::new(Vec::new()));
    let slowest = Mutex::new((Duration::ZERO, 0));
    let start = Instant::now();
    let work = &|slot: &Begun| {
        while let Some(number) = Some(next.fetch_add(1, Ordering::Relaxed)).filter(|n| *n < numbers.end) {
            let text = text(number);
            let since = Instant::now();
            *slot.lock().expect("a slot") = Some((looks.load(Ordering::Relaxed), number));
            match catch_unwind(AssertUnwindSafe(|| test(&text))) {
                Ok(fine) => drop(read.fetch_add(usize::from(fine), Ordering::Relaxed)),
                Err(_) => {
                    broken.lock().expect("a list").push((number, keep(name, &number.to_string(), &text)))
                }
            }
            *slot.lock().expect("a slot") = None;
            let mut slowest = slowest.lock().expect("a time");
            *slowest = (*slowest).max((since.elapsed(), number));
        }
    };
    let watch = || {
        let mut told = Instant::now();
        while !over.load(Ordering::Relaxed) {
            std::thread::sleep(LOOK);
            let now = looks.fetch_add(1, Ordering::Relaxed);
            let tried: Vec<(u32, u32)> =
                begun.iter().filter_map(|slot| *slot.lock().expect("a slot")).collect();
            let heavy = memory().is_some_and(|mb| mb > MOST_MEMORY);
            if let Some((_, number)) = tried.iter().find(|(since, _)| heavy || now > since + LONGEST) {
                let path = keep(name, "too-much", &text(*number));
                eprintln!(
                    "{name}: too long or too much memory for number {number}, kept as {}",
                    path.display()
                );
                std::process::exit(1);
            }
            if told.elapsed() > Duration::from_secs(60) {
                told = Instant::now();
                println!("{name}: at number {}", next.load(Ordering::Relaxed));
            }
        }
    };
    std::thread::scope(|scope| {
        if long {
            scope.spawn(watch);
        }
        let workers: Vec<_> = begun.iter().map(|slot| scope.spawn(move || work(slot))).collect();
        workers.into_iter().for_each(|w| w.join().expect("a worker"));
        over.store(true, Ordering::Relaxed);
    });
    let (read, broken) = (read.into_inner(), broken.into_inner().expect("a list"));
    let (longest, number) = slowest.into_inner().expect("a time");
    println!(
        "{name}: {} inputs, {read} read, {} broke, {:.0?}, the slowest {longest:.1?} (number {number}), at most {:?} MB",
        numbers.len(),
        broken.len(),
        start.elapsed(),
        memory().unwrap_or(0)
    );
    assert!(broken.is_empty(), "{name} breaks on {:?}", &broken[..broken.len().min(5)]);
    assert!(memory().is_none_or(|mb| mb < MOST_MEMORY), "{:?} MB", memory());
    assert!(
        read > numbers.len() / ONE_READ_IN && read < numbers.len(),
        "{read} of {} are read",
        numbers.len()
    );
}

/// Puts a text where it can be looked at.
fn keep(name: &str, what: &str, text: &str) -> PathBuf {
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{name}-{what}"));
    let _ = std::fs::write(&path, text);
    path
}

/// A refusal says something, in bounded length and without characters that move the cursor.
pub fn refused(error: &Error) -> bool {
    let shown = error.to_string();
    assert!(!error.problems.is_empty() && shown.len() > 10);
    // A problem may quote what it read once as a whole, twice as it is shown.
    assert!(shown.len() < 60 * 2000 + 4 * MOST_BYTES, "{} bytes", shown.len());
    assert!(!shown.contains(|c: char| c.is_control() && c != '\n' && c != '\t'), "{shown:?}");
    for place in error.problems.iter().filter_map(|p| p.place.as_ref()) {
        assert!(place.line >= 1 && place.column >= 1 && place.width >= 1 && place.lead < 1 << 16);
    }
    false
}
