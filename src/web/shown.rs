//! A plan as a part of the page: the sections that all renderers share, with pictures and sliders between them.

use super::slide::{LOTS, WARMEST, warmer};
use crate::decide::options::times_tried;
use crate::event::Event;
use crate::report::advice::{advice, dry_hours};
use crate::report::cautions;
use crate::report::clock::clock;
use crate::report::days::{failing, usual};
use crate::report::document::Block;
use crate::report::facts::{Facts, OrderFacts};
use crate::report::papers::PAPERS;
use crate::report::pictures::{causes, chances, days as days_picture, rooms, survival};
use crate::report::render::html::{Level, block_at, table};
use crate::report::sections;
use crate::report::words::{capital, heading, treatment_name};
use maud::{Markup, PreEscaped, html};

/// The papers to download: the name of each file and its title.
const FILES: [(&str, &str); 4] = [
    ("run-sheet.ics", "Calendar for the crew"),
    ("run-sheet.csv", "Run sheet as a table"),
    ("buying.csv", "Buying list as a table"),
    ("take-along.html", "Page to take along on a phone"),
];

/// The plan with its number.
pub fn plan(number: u64, facts: &Facts) -> Markup {
    let event = facts.event;
    html! {
        div data-plan=(number) {
            p.event { strong { (event.name) } }
            @for line in heading(event, facts.hotter) { p.small { (line) } }
            @if facts.lasts { p.fine { "It all lasts as wanted." } }
            @else { p.wrong { "As things stand it cannot all be done as wanted." } }
            @if let Some(answer) = sections::first_access(facts) { p { (answer) } }
            (table(&sections::summary(facts)))
            (blocks(&sections::shortfall(facts).into_iter().collect::<Vec<_>>()))
            (papers(number))
            h3 { "Who and when" }
            (blocks(&sections::calls(facts)))
            @for person in &facts.people {
                details {
                    summary { (sections::day(event, person)) }
                    ul { @for line in sections::assignments(facts, person) { li { (line) } } }
                }
            }
            h3 { "To buy" }
            (blocks(&sections::buying(facts)))
            h3 { "Other ways to do it" }
            (blocks(&sections::alternatives(facts)))
            h3 { "Other days" }
            div #days data-plan=(number) { p { button type="button" #whatif { "What if it is hotter, drier, late?" } } }
            @for (piece, orders) in facts.pieces() {
                h3 { (capital(&piece.name)) }
                p.small { (sections::whereabouts(event, piece)) }
                @for o in orders { (order(number, event, o)) }
            }
            h3 { "What ends the heads that do not last" }
            figure tabindex="0" { (PreEscaped(causes::picture(facts).svg())) }
            (list("The air", &sections::air(event)))
            figure tabindex="0" { (PreEscaped(rooms::picture(event).svg())) }
            (list("Assumed", &event.assumptions))
            (list("Take care", &cautions::of(facts)))
            p.small {
                "Simulated: " (facts.simulation.lots) " deliveries of " (facts.simulation.heads_per_lot)
                " heads for every treatment and time. Ranges hold nine times out of ten."
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

fn papers(number: u64) -> Markup {
    html! {
        nav aria-label="Papers" {
            h3 { "Papers" }
            ul.papers {
                @for (paper, name) in PAPERS {
                    li {
                        a href={ "/papers/" (number) "/" (paper) ".html" } target="_blank" rel="noopener" { (name) }
                        " ("
                        a href={ "/papers/" (number) "/" (paper) ".pdf" } target="_blank" rel="noopener"
                            aria-label={ "PDF, A4: " (name) } { "PDF, A4" }
                        " or "
                        a href={ "/papers/" (number) "/" (paper) ".pdf?page=letter" } target="_blank" rel="noopener"
                            aria-label={ "Letter: " (name) ", as PDF" } { "Letter" }
                        ")"
                    }
                }
                @for (file, name) in FILES {
                    li { a href={ "/papers/" (number) "/" (file) } download { (name) } }
                }
            }
        }
    }
}

fn list(title: &str, lines: &[String]) -> Markup {
    html! { @if !lines.is_empty() { h3 { (title) } ul { @for line in lines { li { (line) } } } } }
}

fn order(number: u64, event: &Event, order: &OrderFacts) -> Markup {
    let name = order.called();
    let svg = survival::picture(event, order).svg();
    let chances = chances::picture(event, order).svg();
    html! {
        article {
            h4 { (capital(&name)) }
            ul.advice { @for line in advice(event, order) { li { (line) } } }
            p.small { (dry_hours(order.order)) }
            figure tabindex="0" { (PreEscaped(svg)) }
            (sliders(number, event, order, &name))
            details {
                summary { "How sure, by the time of placing" }
                figure tabindex="0" { (PreEscaped(chances)) }
            }
        }
    }
}

/// Native inputs for air, placing time and treatment; a text says what each change does.
fn sliders(number: u64, event: &Event, order: &OrderFacts, name: &str) -> Markup {
    let id = |what: &str| format!("{what}-{}", order.id.index());
    let option = order.recommended();
    let times = times_tried(&order.options);
    let at = times.iter().position(|t| *t == option.place_at).unwrap_or(0);
    html! {
        form.slide data-plan=(number) data-order=(order.id.index()) {
            fieldset {
                legend { "Try " (name) " another way" }
                p {
                    label for=(id("warmer")) { "Air " }
                    output for=(id("warmer")) data-of="warmer" { (warmer(event, 0.0)) }
                    input id=(id("warmer")) name="warmer" type="range" min=(-WARMEST) max=(WARMEST) step="1" value="0"
                        aria-valuetext=(warmer(event, 0.0));
                }
                p {
                    label for=(id("at")) { "Placed " }
                    output for=(id("at")) data-of="at" { (clock(event, option.place_at)) }
                    input id=(id("at")) name="at" type="range" min="0" max=(times.len().saturating_sub(1)) step="1"
                        value=(at) aria-valuetext=(clock(event, option.place_at));
                }
                p {
                    label for=(id("treatment")) { "How " }
                    select id=(id("treatment")) name="treatment" {
                        @for (i, t) in order.order.treatments().into_iter().enumerate() {
                            option value=(i) selected[t == option.treatment] { (treatment_name(t)) }
                        }
                    }
                    " "
                    button type="reset" { "As planned" }
                }
                p.told role="status" aria-live="polite" {}
                p.small { "A quick look at " (LOTS) " deliveries, without spares and filling up; the plan itself stays as it is." }
            }
        }
    }
}
