//! The papers of an event: complete, self-contained, and readable by other programs.

mod common;

use common::planned;
use headwater::decide::plan::Plan;
use headwater::report::document::{Block, Document};
use headwater::report::facts::Facts;
use headwater::report::papers::{PAPERS, paper};
use headwater::report::render::pdf::Sheet;
use headwater::report::render::{calendar, csv as tables, html, message, pdf};
use std::sync::LazyLock;

/// The demo, its name made hostile.
static PLAN: LazyLock<Plan> = LazyLock::new(|| {
    let text = include_str!("../reference-data/demo/harvest-supper.toml");
    planned(&text.replace("Harvest supper for", "<script>alert(1)</script>, \\\"supper\\\"; for"))
});

fn written(name: &str) -> Document {
    paper(&Facts::of(&PLAN), name).expect("a paper of that name")
}

fn client() -> Document {
    written("client")
}

// Read by a general-purpose parser of RFC 5545.
#[test]
fn the_calendar_is_one() {
    use icalendar::parser::{read_calendar, unfold};
    let bytes = calendar::run_sheet(&Facts::of(&PLAN), "20270101T000000Z");
    let text = String::from_utf8(bytes).expect("UTF-8");
    assert!(text.split("\r\n").all(|line| line.len() <= 75), "a line of more than 75 octets");
    assert!(!text.replace("\r\n", "").contains('\n'));
    let unfolded = unfold(&text);
    let calendar = read_calendar(&unfolded).expect("a calendar");
    let assignments: usize = PLAN.roster.people.iter().map(|p| p.assignments.len()).sum();
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

/// What the last look may find soft is told flower by flower: how long a tube still saves it, or that it is to be swapped.
#[test]
fn the_last_look_knows_what_a_tube_still_saves() {
    let facts = Facts::of(&PLAN);
    let sheet = written("run-sheet");
    let at = sheet.blocks.iter().position(|b| matches!(b, Block::Heading(h) if h == "At the last look"));
    let Some(Block::Points(lines)) = at.and_then(|at| sheet.blocks.get(at + 1)) else {
        panic!("no last look")
    };
    let soft = facts.orders.iter().filter(|o| o.repairs > 0 && !o.is_foliage());
    let mut told = 0;
    for order in soft {
        let comes_back = if order.water.comes_back_within < 1.0 { "swap it" } else { "comes back" };
        let is_told = |line: &&String| {
            line.to_lowercase().contains(order.called().as_str()) && line.contains(comes_back)
        };
        assert!(lines.iter().any(|line| is_told(&line)), "{}: {lines:?}", order.called());
        told += 1;
    }
    assert!(told > 0, "nothing of the demo is ever soft");
}

#[test]
fn the_tables_are_read_back() {
    let mut reader = csv::Reader::from_reader(&*tables::run_sheet(&Facts::of(&PLAN)).leak());
    let rows: Vec<csv::StringRecord> = reader.records().collect::<Result<_, _>>().expect("rows");
    assert_eq!(rows.len(), PLAN.roster.people.iter().map(|p| p.assignments.len()).sum::<usize>());
    let mut reader = csv::Reader::from_reader(&*tables::buying(&Facts::of(&PLAN)).leak());
    let costs = reader.headers().expect("a head").iter().position(|h| h == "cost").expect("a cost");
    let sum: f64 = reader
        .records()
        .map(|r| r.expect("a row").get(costs).expect("a cost").parse::<f64>().expect("a number"))
        .sum();
    assert!((sum - PLAN.bill.flowers() - PLAN.bill.material()).abs() < 0.1, "{sum}");
}

/// Two kinds of vessels are two things; where no price is known none is written, and what is guessed is marked.
#[test]
fn the_buying_list_names_vessels_and_marks_prices() {
    let flower = "[[piece.flower]]\nflower = \"rose\"\nheads = 12\n";
    let piece = |name: &str, vessel: &str| {
        format!(
            "[[piece]]\nname = \"{name}\"\nspace = \"hall\"\nuntil = \"21:00\"\nvessel = \"{vessel}\"\n{flower}"
        )
    };
    let event = |means: &str| {
        format!(
            "[event]\nname = \"Invented\"\ndate = 2027-06-13\ndoors = \"16:00\"\nend = \"22:00\"\n{means}\
             [[access]]\nfrom = \"10:00\"\nto = \"15:00\"\n[[space]]\nname = \"hall\"\nroom = \"ordinary room\"\n{}{}",
            piece("table", "bowls"),
            piece("door", "urn")
        )
    };
    let told = |means: &str| {
        String::from_utf8(tables::buying(&Facts::of(&common::planned(&event(means))))).expect("text")
    };
    let unpriced = told("");
    assert!(unpriced.contains("bowl for 1.4 l of water") && unpriced.contains("urn for 2.7 l of water"));
    assert!(unpriced.lines().skip(1).all(|line| line.ends_with(",,")), "{unpriced}");
    // A name in the plural is that of the piece's bowl.
    let priced = told("[[vessels]]\nname = \"Bowls\"\nprice = \"EUR 3\"\n[prices]\ntulip = \"EUR 2\"\n");
    assert!(priced.lines().any(|line| line.starts_with("bowl") && line.ends_with(",3.00,own")), "{priced}");
    assert!(
        priced.lines().any(|line| line.starts_with("standard rose") && line.ends_with(",guessed")),
        "{priced}"
    );
}

#[test]
fn pages_need_nothing_and_let_nothing_in() {
    for document in ["client", "venue", "run-sheet", "buying"].map(written) {
        let page = html::page(&document);
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
    let page = html::page(&client());
    let told = page.split("</style>").nth(1).expect("a body").to_lowercase();
    for word in
        ["vpd", "kpa", "w/m2", "conductance", "quantile", "monte carlo", "percentile", "lots", "nan", "inf "]
    {
        assert!(!told.contains(word), "{word}");
    }
    for needed in [
        "here is why",
        "what you can count on",
        "could it all be set on friday 17:00 to 20:00?",
        "what we need from you",
        "please take care",
        "client, date",
        "venue, date",
        "florist, date",
    ] {
        assert!(told.contains(needed), "{needed}");
    }
    // No cost of the florist's, no spare and no key of the file.
    for word in ["eur", "spare", "until =", "flagging", "wilted", "assurance"] {
        assert!(!told.contains(word), "{word}");
    }
}

#[test]
fn what_fails_is_advised_against_and_not_promised() {
    let text = include_str!("../reference-data/demo/harvest-supper.toml");
    let dry = text.replace("flower = \"dahlia\"", "flower = \"dahlia\"\ntreatments = [\"tucked\"]");
    let plan = planned(&dry);
    let page = html::page(&paper(&Facts::of(&plan), "client").expect("a page"));
    let told = page.split("</style>").nth(1).expect("a body");
    assert!(told.contains("What we advise against") && told.contains("Ball dahlias on the"), "{told}");
    let promised = told.split("What you can count on").nth(1).unwrap().split("<h2").next().unwrap();
    assert!(!promised.contains("dahlia"), "{promised}");
}

#[test]
fn the_client_gets_one_page_that_can_be_read_out() {
    let bytes = pdf::pdf(&client(), Sheet::A4);
    assert!(bytes.starts_with(b"%PDF-1.7") && bytes.len() < 150_000);
    let text = String::from_utf8_lossy(&bytes);
    assert_eq!(text.matches("/Type /Page\n").count(), 1, "more than one page");
    for tag in ["/StructTreeRoot", "/S /H1", "/S /Table", "/S /Figure", "/Alt", "/Lang", "/ToUnicode"] {
        assert!(text.contains(tag), "{tag}");
    }
    // ISO 14289-1 (2014): metadata with a title and the standard's part (5, 7.1), heads of tables with their scope (7.5),
    // and the place of every figure (ISO 32000-1, 2008, table 345).
    for tag in ["/Subtype /XML", "<pdfuaid:part>1<", "<dc:title>", "/Scope /Column", "/BBox", "/ID ["] {
        assert!(text.contains(tag), "{tag}");
    }
    assert_eq!(text.matches("/S /TH").count(), text.matches("/Scope /Column").count());
    assert_eq!(pdf::pdf(&client(), Sheet::A4), bytes, "the same paper twice");
}

#[test]
fn every_paper_is_small() {
    for (name, _) in PAPERS {
        let size = pdf::pdf(&written(name), Sheet::A4).len();
        assert!(size < 60_000, "{name}: {size} bytes");
    }
}

#[test]
fn the_message_says_all_that_the_page_says_but_its_picture() {
    let client = client();
    let message = message::text(&client);
    let mut said = 0;
    for block in &client.blocks {
        let texts: Vec<String> = match block {
            Block::Title(t) | Block::Heading(t) | Block::Text(t) | Block::Small(t) => vec![t.clone()],
            Block::Points(all) | Block::Ticks(all) => all.clone(),
            Block::Table(table) => table.rows.concat(),
            _ => Vec::new(),
        };
        for text in texts {
            assert!(message.contains(&text), "{text}");
            said += 1;
        }
    }
    assert!(said > 20 && !message.contains("Client, date"), "{said}: {message}");
}

#[test]
fn new_hands_are_shown_each_work_of_the_event_and_no_other() {
    let drawn = |text: &str| {
        let plan = planned(text);
        let page = paper(&Facts::of(&plan), "first-time").unwrap();
        let heads =
            page.blocks.iter().filter_map(|b| if let Block::Heading(h) = b { Some(h.clone()) } else { None });
        let pictures = page.blocks.iter().filter(|b| matches!(b, Block::Picture(..))).count();
        (heads.collect::<Vec<_>>(), pictures)
    };
    let (heads, pictures) = drawn(include_str!("../reference-data/demo/harvest-supper.toml"));
    assert_eq!(heads, ["Lay the greens", "A head in a water tube", "And always"]);
    assert_eq!(pictures, 2);
    let (heads, pictures) = drawn(include_str!("../reference-data/demo/two-helpers.toml"));
    assert!(heads.contains(&"A head in a low vase".to_string()), "{heads:?}");
    assert_eq!(pictures, heads.len() - 1);
}
