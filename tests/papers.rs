//! The papers of an event: complete, self-contained, and readable by other programs.

mod common;

use common::planned;
use headwater::decide::plan::Plan;
use headwater::decide::whatif::outcomes;
use headwater::report::pdf::Sheet;
use headwater::report::whatif::Day;
use headwater::report::{Report, html, papers, pdf, tables};
use std::sync::LazyLock;

/// The demo, its name made hostile.
static PLAN: LazyLock<Plan> = LazyLock::new(|| {
    let text = include_str!("../reference-data/demo/harvest-supper.toml");
    planned(&text.replace("Harvest supper for", "<script>alert(1)</script>, \\\"supper\\\"; for"))
});

fn client() -> headwater::report::document::Document {
    let days: Vec<Day> = papers::days_told(&PLAN)
        .into_iter()
        .map(|scenario| Day { scenario, outcomes: outcomes(&PLAN, scenario) })
        .collect();
    papers::brief(&PLAN, &Report::of(&PLAN), &days)
}

// Read by a general-purpose parser of RFC 5545.
#[test]
fn the_calendar_is_one() {
    use icalendar::parser::{read_calendar, unfold};
    let bytes = tables::calendar(&PLAN, "20270101T000000Z");
    let text = String::from_utf8(bytes).expect("UTF-8");
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "a line of more than 75 octets");
    assert!(!text.replace("\r\n", "").contains('\n'));
    let unfolded = unfold(&text);
    let calendar = read_calendar(&unfolded).expect("a calendar");
    let assignments: usize = PLAN.rota.people.iter().map(|p| p.assignments.len()).sum();
    let moves: usize = PLAN.event.pieces.iter().map(|p| p.moves.len()).sum();
    assert!(calendar.components.len() > assignments / 2 + moves);
    let mut seen = std::collections::BTreeSet::new();
    for event in &calendar.components {
        let value = |name: &str| {
            event.find_prop(name).unwrap_or_else(|| panic!("an entry without {name}")).val.to_string()
        };
        assert_eq!(event.name, "VEVENT");
        assert!(seen.insert(value("UID")), "two entries of one name");
        let (from, to) = (value("DTSTART"), value("DTEND"));
        assert!(from < to && from.len() == 15 && !from.ends_with('Z'), "{from} {to}: the venue's own time");
        assert!(!value("SUMMARY").is_empty());
    }
}

#[test]
fn the_tables_are_read_back() {
    let mut reader = csv::Reader::from_reader(&*tables::run_sheet(&PLAN).leak());
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), PLAN.rota.people.iter().map(|p| p.assignments.len()).sum::<usize>());
    let report = Report::of(&PLAN);
    let mut reader = csv::Reader::from_reader(&*tables::buying(&PLAN, &report).leak());
    let costs = reader.headers().expect("a head").iter().position(|h| h == "cost").expect("a cost");
    let sum: f64 = reader
        .records()
        .map(|r| r.expect("a row").get(costs).expect("a cost").parse::<f64>().expect("a number"))
        .sum();
    assert!((sum - PLAN.bill.flowers() - PLAN.bill.material()).abs() < 0.1, "{sum}");
}

#[test]
fn pages_need_nothing_and_let_nothing_in() {
    let report = Report::of(&PLAN);
    for document in [client(), papers::run_sheet(&PLAN, &report), papers::buying(&PLAN, &report)] {
        let page = html::page(&document).expect("a page");
        assert!(!page.contains("<script"), "a name became a script");
        for outside in ["http://", "https://", "src=", "@import", "url("] {
            let ours = page.replace("http://www.w3.org/2000/svg", "");
            assert!(!ours.contains(outside), "{}: {outside}", document.title);
        }
        assert_eq!(page.matches("<h1>").count(), 1);
    }
}

#[test]
fn a_client_is_told_no_jargon() {
    let page = html::page(&client()).expect("a page");
    let told = page.split("</style>").nth(1).expect("a body").to_lowercase();
    for word in
        ["vpd", "kpa", "w/m2", "conductance", "quantile", "monte carlo", "percentile", "lots", "nan", "inf "]
    {
        assert!(!told.contains(word), "{word}");
    }
    for needed in
        ["why this way", "what would change it", "what we need from you", "take care", "client, date"]
    {
        assert!(told.contains(needed), "{needed}");
    }
    for flower in PLAN.flowers() {
        let name = headwater::report::words::short_name(flower.order.flower.name()).to_lowercase();
        assert!(told.contains(&name), "{name} is not on it");
    }
}

#[test]
fn the_client_gets_one_page_that_can_be_read_out() {
    let bytes = pdf::pdf(&client(), Sheet::A4);
    assert!(bytes.starts_with(b"%PDF-1.7") && bytes.len() < 400_000);
    let text = String::from_utf8_lossy(&bytes);
    assert_eq!(text.matches("/Type /Page\n").count(), 1, "more than one page");
    for tag in ["/StructTreeRoot", "/S /H1", "/S /Table", "/S /Figure", "/Alt", "/Lang", "/ToUnicode"] {
        assert!(text.contains(tag), "{tag}");
    }
    assert_eq!(pdf::pdf(&client(), Sheet::A4), bytes, "the same paper twice");
}
