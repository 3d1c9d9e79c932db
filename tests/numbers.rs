//! No report holds a number that is none, whatever the event: odd hours, harsh air, hundreds of heads, parties past
//! midnight, drawn at random and planned with few deliveries.

mod common;

use headwater::climate::room::Room;
use headwater::decide::plan::{Plan, Settings, plan};
use headwater::event::Event;
use headwater::numerics::random::Key;
use headwater::report::days::{document, usual};
use headwater::report::facts::Facts;
use headwater::report::papers::{PAPERS, paper};
use headwater::report::pictures::{chances, days as days_picture, rooms, survival};
use headwater::report::render::{calendar, csv as tables, html, json, pdf, take_along, terminal};
use headwater::report::sections;
use rand::RngExt;
use rand::seq::IndexedRandom;
use serde_json::Value;
use std::fmt::Write;

/// Events drawn, or as many as `HEADWATER_NUMBERS` says.
fn events() -> u32 {
    std::env::var("HEADWATER_NUMBERS").ok().and_then(|n| n.parse().ok()).unwrap_or(6)
}

/// Deliveries simulated for each.
const LOTS: usize = 32;

/// Where a report may say that there is nothing to tell.
const MAY_BE_NOTHING: &[&str] = &[
    "place",
    "gap",
    "spares",
    "top_up",
    "tube_empty",
    "p05",
    "p50",
    "p95",
    "longest",
    "passed_over",
    "runner_up",
    "dry_wait",
    "from",
    "to",
    "learned",
    "sign",
    "money",
    "stem_price",
    "tube_ml",
    "mass_lost_if_dry",
    "drinks_g_per_hour",
    "refill",
    "boxes_may_wait_dry_hours",
];

/// An event of a kind, its numbers drawn from all that may be written.
fn drawn(generator: &mut impl rand::Rng) -> String {
    let mut text = String::new();
    let day = format!(
        "20{}-{:02}-{:02}",
        generator.random_range(24..60),
        generator.random_range(1..=12),
        generator.random_range(1..=28)
    );
    let doors: u32 = generator.random_range(1..24);
    let end =
        *["23:59", "next day 00:01", "next day 02:30", "next day 14:00"].choose(generator).expect("an end");
    write!(
        text,
        "[event]\nname = \"Drawn\"\ndate = {day}\ndoors = \"{doors:02}:{:02}\"\nend = \"{end}\"\naltitude = \"{} m\"\nlatitude = {}\n",
        generator.random_range(0..59),
        generator.random_range(-400..=4500),
        generator.random_range(-90..=90)
    )
    .expect("text grows");
    let (presentable, assurance) = (generator.random_range(1..=100), generator.random_range(1..=100));
    writeln!(text, "[target]\npresentable = {presentable}\nassurance = {assurance}").expect("text grows");
    let people = generator.random_range(1..=12);
    writeln!(
        text,
        "[crew]\npeople = {people}\nskilled = {}\nslack = {}",
        generator.random_range(0..=people),
        generator.random_range(0..=200)
    )
    .expect("text grows");
    if generator.random_bool(0.5) {
        writeln!(
            text,
            "[[tubes]]\nvolume = {}\nmost = {}",
            generator.random_range(1..200),
            generator.random_range(0..500)
        )
        .expect("text grows");
        writeln!(text, "[vases]\nmost = {}", generator.random_range(0..50)).expect("text grows");
    }
    if generator.random_bool(0.3) {
        writeln!(text, "[venue]\nglass = false\ndry_greens = {}", generator.random_bool(0.5))
            .expect("text grows");
    }
    if generator.random_bool(0.4) {
        writeln!(
            text,
            "[[access]]\nfrom = \"day before {:02}:00\"\nto = \"day before 23:10\"",
            generator.random_range(8..23)
        )
        .expect("text grows");
    }
    let from = generator.random_range(0..doors);
    writeln!(
        text,
        "[[access]]\nfrom = \"{from:02}:{:02}\"\nto = \"{doors:02}:00\"",
        generator.random_range(0..59)
    )
    .expect("text grows");
    let spaces = generator.random_range(1..=3);
    for i in 0..spaces {
        writeln!(text, "[[space]]\nname = \"s{i}\"").expect("text grows");
        match generator.random_range(0..5) {
            0 => {
                let room = &Room::all().choose(generator).expect("a room").words;
                writeln!(text, "room = \"{room}\"").expect("text grows");
            }
            1 => {
                let (a, b): (i32, i32) = (generator.random_range(-20..=60), generator.random_range(-20..=60));
                let (low, high) = (a.min(b), a.max(b));
                writeln!(
                    text,
                    "low = \"{low} C\"\nhigh = \"{high} C\"\nhumidity = {}",
                    generator.random_range(1..=100)
                )
                .expect("text grows");
                writeln!(text, "sun = \"{}\"", ["full", "half", "none"].choose(generator).expect("a word"))
                    .expect("text grows");
            }
            2 => {
                let (t, rh) = (generator.random_range(-20..=60), generator.random_range(1..=100));
                writeln!(
                    text,
                    "temperature = \"{t} C\"\nhumidity = {rh}\nair_speed = {}",
                    generator.random_range(0..=30)
                )
                .expect("text grows");
            }
            3 => {
                for hour in [0, 9, 17] {
                    let (t, rh) = (generator.random_range(-20..=60), generator.random_range(1..=100));
                    writeln!(
                        text,
                        "[[space.hour]]\nat = \"{hour:02}:00\"\ntemperature = \"{t} C\"\nhumidity = {rh}"
                    )
                    .expect("text grows");
                }
            }
            _ => {
                writeln!(
                    text,
                    "low = \"{} C\"\nhigh = \"{} C\"\nhumidity = 50",
                    generator.random_range(-20..15),
                    generator.random_range(15..45)
                )
                .expect("text grows");
                writeln!(text, "[space.building]\nbuilt = \"{}\"\nfloor_area = \"{} m2\"\nheight = \"{} m\"\nair = \"doors open\"",
                    ["canvas", "glass", "timber", "stone", "insulated"].choose(generator).expect("a word"),
                    generator.random_range(4..2000), generator.random_range(2..20)).expect("text grows");
                writeln!(text, "[[space.guests]]\nfrom = \"{doors:02}:30\"\nto = \"{end}\"\npeople = {}\ndoing = \"dancing\"\ncandles = {}",
                    generator.random_range(1..600), generator.random_range(0..300)).expect("text grows");
            }
        }
    }
    for i in 0..generator.random_range(1..=3) {
        writeln!(text, "[[piece]]\nname = \"p{i}\"\nspace = \"s{}\"", generator.random_range(0..spaces))
            .expect("text grows");
        writeln!(text, "counts = \"{}\"", ["flagging", "wilted"].choose(generator).expect("a word"))
            .expect("text grows");
        writeln!(text, "shape = \"{}\"", ["table", "arch", "cake"].choose(generator).expect("a word"))
            .expect("text grows");
        if generator.random_bool(0.3) {
            writeln!(text, "[[piece.move]]\nat = \"{end}\"\nto = \"s{}\"", generator.random_range(0..spaces))
                .expect("text grows");
        }
        for _ in 0..generator.random_range(1..=2) {
            let flower = common::flowers().choose(generator).expect("a flower").id();
            let heads = *[1, 2, 7, 40, 900, 100_000].choose(generator).expect("a number");
            writeln!(text, "[[piece.flower]]\nflower = \"{flower}\"\nheads = {heads}").expect("text grows");
            if generator.random_bool(0.3) {
                let dry = *["1 min", "10 min", "1 h", "60 days"].choose(generator).expect("a time");
                writeln!(text, "dry_hours = \"{dry}\"\nleaves = \"on\"").expect("text grows");
            }
            if generator.random_bool(0.3) {
                writeln!(text, "conditioning = \"straight from the box\"\nrefill = [\"{doors:02}:00\"]")
                    .expect("text grows");
            }
        }
    }
    text
}

/// Numbers that are none, in words.
fn is_clean(what: &str, text: &str, event: &str) {
    for word in text.split(|c: char| !c.is_alphanumeric()) {
        assert!(
            !["NaN", "nan", "inf", "Infinity", "infinity"].contains(&word),
            "{word:?} in {what} of\n{event}"
        );
    }
}

/// JSON has no word for a number that is none: it becomes nothing at all.
fn nothings(value: &Value, key: &str, found: &mut Vec<String>) {
    match value {
        Value::Null if !MAY_BE_NOTHING.iter().any(|k| key.contains(k)) => found.push(key.to_string()),
        Value::Array(items) => items.iter().for_each(|v| nothings(v, key, found)),
        Value::Object(map) => map.iter().for_each(|(k, v)| nothings(v, k, found)),
        _ => {}
    }
}

/// Everything that is made of a plan.
fn told(plan: &Plan, event: &str) {
    let facts = Facts::of(plan);
    is_clean("the terminal", &terminal::text(&sections::plan(&facts), 96), event);
    let written = json::plan(&facts);
    is_clean("JSON", &written, event);
    let mut found = Vec::new();
    nothings(&serde_json::from_str(&written).expect("JSON"), "", &mut found);
    assert!(found.is_empty(), "nothing at {found:?} of\n{event}");
    for (name, _) in PAPERS {
        let document = paper(&facts, name).expect("a paper");
        is_clean(name, &html::linked(&document, "/paper.css"), event);
        let printed = pdf::pdf(&document, pdf::Sheet::A4);
        for word in [&b"NaN"[..], b" inf ", b" -inf "] {
            assert!(!printed.windows(word.len()).any(|w| w == word), "{name}.pdf of\n{event}");
        }
    }
    for order in &facts.orders {
        is_clean("a curve", &survival::picture(&plan.event, order).svg(), event);
        is_clean("chances", &chances::picture(&plan.event, order).svg(), event);
    }
    let sketch = rooms::picture(&plan.event);
    is_clean("the rooms", sketch.description(), event);
    is_clean("the rooms", &sketch.svg(), event);
    is_clean("the run sheet", &String::from_utf8(tables::run_sheet(&facts)).expect("text"), event);
    is_clean("the buying list", &String::from_utf8(tables::buying(&facts)).expect("text"), event);
    let calendar = calendar::run_sheet(&facts, "20270101T000000Z");
    is_clean("the calendar", &String::from_utf8(calendar).expect("text"), event);
    let days = facts.days(usual(&plan.event));
    is_clean("other days", &terminal::text(&document(&facts, &days, None), 96), event);
    is_clean("other days", &days_picture::picture(&facts, &days).svg(), event);
    let page = take_along::page(&facts);
    // Its script may say what it likes of numbers; what it is given may not.
    let (_, data) = page.split_once("type=\"application/json\"").expect("the page is given its numbers");
    let (data, _) = data.split_once("</script>").expect("the numbers end");
    assert!(data.contains(|c: char| c.is_ascii_digit()), "{data}");
    is_clean("the page to take along", data, event);
    let number = |x: f64| assert!(x.is_finite(), "{x} of\n{event}");
    for flower in plan.orders.iter() {
        for option in flower.options.iter() {
            [option.place_at, option.expected, option.error, option.assurance].into_iter().for_each(number);
            [option.share.p05, option.share.p50, option.share.p95].into_iter().for_each(number);
            assert!(
                (0.0..=1.0).contains(&option.share.p50) && option.share.p05 <= option.share.p95,
                "{event}"
            );
        }
        [flower.hours, flower.count.p05, flower.count.p95, flower.window.0, flower.window.1]
            .into_iter()
            .for_each(number);
    }
    number(plan.bill.paid_hours);
    number(plan.error());
    number(plan.gap);
}

#[test]
fn no_report_holds_a_number_that_is_none() {
    let key = Key::named(1, "numbers");
    let (mut planned, mut refused) = (0, Vec::new());
    for number in 0..events() {
        let text = drawn(&mut key.generator(number));
        match Event::read("drawn.toml", &text, &|_| Err(std::io::ErrorKind::NotFound.into())) {
            Ok(event) => {
                let plan =
                    plan(event, Settings { lots: LOTS, seed: u64::from(number), ..Settings::default() })
                        .expect("a plan");
                told(&plan, &text);
                planned += 1;
            }
            Err(error) => refused.push(error.to_string()),
        }
    }
    println!("{planned} planned, {} refused", refused.len());
    assert!(planned * 2 > events(), "{}", refused.join("\n\n"));
}
