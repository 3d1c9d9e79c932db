//! A plan as parts of the page: the answer in the bar, what would help, the ribbon, the papers, and all the rest below.

use super::draft::Draft;
use super::helps::edits_of;
use super::layout::with_event;
use super::ribbon::ribbon;
use super::sheet::edits;
use super::signs::{Sign, sign};
use super::state::Planned;
use crate::error::Error;
use crate::event::Way;
use crate::report::cautions;
use crate::report::clock::day_and_clock;
use crate::report::crew::people;
use crate::report::days::{failing, usual};
use crate::report::document::Block;
use crate::report::eve;
use crate::report::facts::Facts;
use crate::report::money;
use crate::report::papers::PAPERS;
use crate::report::pictures::{days as days_picture, rooms};
use crate::report::render::html::{Level, block_at, table};
use crate::report::sections;
use crate::report::words::capital;
use maud::{Markup, PreEscaped, html};

/// The papers to download: the name of each file and its title.
const FILES: [(&str, &str); 5] = [
    ("client.txt", "The client's page as a message"),
    ("run-sheet.ics", "Calendar for the crew"),
    ("run-sheet.csv", "Run sheet as a table"),
    ("buying.csv", "Buying list as a table"),
    ("take-along.html", "Page to take along on a phone"),
];

/// A plan in the parts that the script puts into the page.
#[derive(serde::Serialize)]
pub struct Parts {
    /// What the bar says, as HTML.
    bar: String,
    /// What stands below the cards, as HTML.
    below: String,
}

/// The parts of a plan, or of a quick look at one, of an event whose file is taken apart in `draft`.
pub fn parts(planned: &Planned, draft: &Draft, quick: bool) -> Parts {
    let facts = Facts::of(&planned.plan);
    Parts { bar: bar(&facts, quick).into_string(), below: below(planned, &facts, draft, quick).into_string() }
}

/// How many times in ten something comes true, rounded down.
pub fn times_in_ten(chance: f64) -> String {
    format!("{:.0} times in 10", (10.0 * chance + 1e-9).floor())
}

/// What does not last, in a few words; empty if all does.
fn shortfall(facts: &Facts) -> String {
    let fails: Vec<_> = facts.orders.iter().filter(|o| !o.lasts()).collect();
    match fails.split_first() {
        Some((first, rest)) => {
            let place = format!("The {} on the {} will not last", first.called(), first.piece.name);
            match rest.len() {
                0 => format!("{place}."),
                1 => format!("{place}, nor will one other."),
                n => format!("{place}, nor will {n} others."),
            }
        }
        None => {
            let lacking = money::lacking(facts.event, facts.lacking);
            if lacking.is_empty() {
                String::new()
            } else {
                capital(&format!("it takes {}.", lacking.join(", and ")))
            }
        }
    }
}

/// The answer in the bar. A quick look says no money and gives no papers.
fn bar(facts: &Facts, quick: bool) -> Markup {
    let event = facts.event;
    let sure = times_in_ten(event.assurance);
    html! {
        (sign(if quick { Sign::Stale } else if facts.lasts { Sign::Good } else { Sign::Bad }))
        p.v.answer {
            @if facts.lasts {
                b { @if quick { "It looks as if all lasts." } @else { "All lasts, sure " (sure) "." } }
            } @else {
                b { @if quick { "It looks as if: " } (shortfall(facts)) }
            }
            " " (material(facts))
            @if quick { ", about." } @else { @if let Some(total) = money::total(event, facts.alternatives[0].cost) { ", " (total) } "." }
        }
        @if !quick {
            @if !facts.lasts && !facts.remedies.is_empty() {
                a.button.main href="#helps" {
                    "What would help: " (facts.remedies.len()) @if facts.remedies.len() == 1 { " way" } @else { " ways" }
                }
            } @else { a.button.main href="#papers" { "Papers" } }
        }
    }
}

/// Tubes, vases and people in a few words.
fn material(facts: &Facts) -> String {
    let mut all: Vec<String> = facts.bill.things.iter().filter(|t| t.number > 0).map(money::thing).collect();
    let most = facts.alternatives[0].people;
    let first = facts.people.iter().map(|p| p.from).reduce(f64::min);
    all.extend(first.map(|from| format!("{} from {}", people(most), day_and_clock(facts.event, from))));
    all.join(", ")
}

/// Whether an event lasts, for the list of events.
pub fn verdict(facts: &Facts) -> Markup {
    html! {
        (sign(if facts.lasts { Sign::Good } else { Sign::Bad }))
        span { @if facts.lasts { "All lasts, by a quick look." } @else { (shortfall(facts)) } }
    }
}

/// What keeps an event from being planned, for the list of events.
pub fn incomplete(error: &Error) -> Markup {
    let missing = error.problems.iter().all(|p| p.lacks.is_some());
    html! {
        (sign(if missing { Sign::Empty } else { Sign::Bad }))
        span { @if missing { "Not complete yet." } @else { "Something is not understood." } }
    }
}

/// Everything below the cards.
fn below(planned: &Planned, facts: &Facts, draft: &Draft, quick: bool) -> Markup {
    let number = planned.number;
    html! {
        @if !quick && !facts.lasts { (helps(facts, draft)) }
        (ribbon(&planned.file, facts))
        @if quick { p.small { "The papers come with the full answer." } }
        @else {
            (papers(number, &planned.file))
            h2 { "The plan" }
            @if let Some(answer) = sections::first_access(facts) { p { (answer) } }
            @if let Some(days) = eve::days_sentence(facts) { p { (days) } }
            @if let Some((question, points)) = eve::rule_points(facts) {
                h3 { (question) }
                ul { @for point in &points { li { (point) } } }
            }
            (table(&sections::summary(facts)))
            (part("Who and when", &html! {
                (blocks(&sections::calls(facts)))
                @for person in &facts.people {
                    h3 { (sections::day(facts.event, person)) }
                    ul { @for line in sections::assignments(facts, person) { li { (line) } } }
                }
            }))
            (part("To buy", &blocks(&sections::buying(facts))))
            (part("Other ways to do it", &html! {
                (blocks(&sections::alternatives(facts)))
                (choice(facts))
            }))
            details.card #days data-plan=(number) {
                summary { b { "Other days" } span.s { "What if it is hotter, drier, late?" } }
                div.in #days-in {}
            }
            (part("The air by the hour", &html! {
                ul { @for line in sections::air(facts.event) { li { (line) } } }
                figure tabindex="0" { (PreEscaped(rooms::picture(facts.event).svg())) }
            }))
            (part("Assumed, and to take care of", &html! {
                (list("Assumed", &facts.event.assumptions))
                (list("Take care", &cautions::of(facts)))
                p.small {
                    "Simulated: " (facts.simulation.lots) " deliveries of " (facts.simulation.heads_per_lot)
                    " heads for every treatment and time. Ranges hold nine times out of ten."
                }
            }))
        }
    }
}

/// A press for each other way that works: it is then the plan, and the papers follow.
fn choice(facts: &Facts) -> Markup {
    let others = facts.alternatives.iter().skip(1).filter(|a| a.works());
    html! {
        ul.helps {
            @for other in others {
                @let edit = match other.way {
                    Way::Cheapest => ("out:event.way", ""),
                    way => ("set:event.way", way.word()),
                };
                li {
                    button type="button" data-edit=(edits(&[edit])) {
                        b { "Plan it so: " (money::alternative(other.way)) } span { (capital(&money::instead(facts, other))) "." }
                    }
                }
            }
        }
    }
}

/// A part that is opened when it is wanted.
fn part(title: &str, body: &Markup) -> Markup {
    html! { details.card { summary { b { (title) } } div.in { (body) } } }
}

/// What would help, each way planned in full: a press takes it into the event.
fn helps(facts: &Facts, draft: &Draft) -> Markup {
    html! {
        section #helps aria-labelledby="helps-title" tabindex="-1" {
            h2 #helps-title { "What would help" }
            @if facts.remedies.is_empty() {
                (blocks(&sections::shortfall(facts).into_iter().collect::<Vec<_>>()))
            } @else {
                p { "Each of these was planned in full, and everything lasts with it:" }
                ul.helps {
                    @for remedy in facts.remedies {
                        @let what = capital(&money::change(facts, &remedy.change));
                        @let then = capital(&money::instead(facts, &remedy.then));
                        li {
                            @if let Some(edits) = edits_of(facts, draft, &remedy.change) {
                                button type="button" data-edit=(edits) { b { (what) } span { (then) "." } }
                            } @else {
                                div.told { b { (what) } span { (then) ". This is for the venue to do: ask, and say it of the room when it is agreed." } }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// The plan in other scenarios, as a part of the page.
pub fn days(facts: &Facts) -> Markup {
    let days = facts.days(usual(facts.event));
    let svg = days_picture::picture(facts, &days).svg();
    html! {
        ul { @for line in failing(facts, &days) { li { (line) } } }
        figure tabindex="0" { (PreEscaped(svg)) }
    }
}

/// Some blocks, their headings below those of this page.
fn blocks(blocks: &[Block]) -> Markup {
    html! { @for block in blocks { (block_at(block, Level::BelowASection)) } }
}

fn papers(number: u64, file: &str) -> Markup {
    html! {
        nav #papers aria-labelledby="papers-title" tabindex="-1" {
            h2 #papers-title { "Papers" }
            ul.papers {
                @for (paper, name) in PAPERS {
                    @let at = format!("paper?plan={number}&name={paper}");
                    li {
                        a href={ (at) ".html" } target="_blank" rel="noopener" { b { (name) } }
                        span {
                            a href={ (at) ".pdf" } target="_blank" rel="noopener" aria-label={ "PDF, A4: " (name) } { "PDF, A4" }
                            " or "
                            a href={ (at) ".pdf&page=letter" } target="_blank" rel="noopener"
                                aria-label={ "Letter: " (name) ", as PDF" } { "Letter" }
                        }
                    }
                }
            }
            form.row method="post" action=(with_event("phone", Some(file))) {
                button type="submit" { "Link for a phone in this network" }
            }
            ul.files {
                @for (kept, name) in FILES {
                    li { a href={ "paper?plan=" (number) "&name=" (kept) } download=(kept) { (name) } }
                }
            }
        }
    }
}

fn list(title: &str, lines: &[String]) -> Markup {
    html! { @if !lines.is_empty() { h3 { (title) } ul { @for line in lines { li { (line) } } } } }
}
