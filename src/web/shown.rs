//! A plan as a part of the page.

use super::slide::{LOTS, WARMEST, warmer};
use crate::decide::options::times_tried;
use crate::decide::plan::{FlowerPlan, Grade, PiecePlan, Plan};
use crate::report::document::Table;
use crate::report::html::table;
use crate::report::papers::{PAPERS, days_told};
use crate::report::sketch::Failure;
use crate::report::words::{capital, clock, path, range, short_name, treatment};
use crate::report::work::{self, day_and_clock};
use crate::report::{FlowerReport, Report, causes, chances, chart, rooms, whatif};
use crate::units::Span;
use maud::{Markup, PreEscaped, html};

/// What of the papers is kept as a file: the name, and what it is called.
const FILES: [(&str, &str); 4] = [
    ("run-sheet.ics", "Calendar for the crew"),
    ("run-sheet.csv", "Run sheet as a table"),
    ("buying.csv", "Buying list as a table"),
    ("take-along.html", "Page to take along on a phone"),
];

/// The plan of that number.
///
/// # Errors
/// When a curve cannot be drawn.
pub fn plan(number: u64, plan: &Plan, report: &Report) -> Result<Markup, Failure> {
    let mut flowers = Vec::new();
    for (p, (piece, told)) in plan.pieces.iter().zip(&report.pieces).enumerate() {
        let each = piece.flowers.iter().zip(&told.flowers).enumerate();
        let each: Vec<Markup> = each
            .map(|(o, (f, words))| flower(number, plan, piece, (p, o), f, words))
            .collect::<Result<_, _>>()?;
        flowers.push(html! {
            h3 { (capital(&piece.piece.name)) }
            p.small { (path(&plan.event, &piece.piece)) ", until " (clock(&plan.event, piece.piece.until)) }
            @for flower in &each { (flower) }
        });
    }
    Ok(html! {
        div data-plan=(number) {
            p.event { strong { (plan.event.name) } }
            @for line in &report.heading { p.small { (line) } }
            @if report.lasts { p.fine { "It all lasts as wanted." } }
            @else { p.wrong { "As things stand it cannot all be done as wanted." } }
            (table(&summary(plan)))
            @if !report.lasts { (remedies(report)) }
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
            h3 { "Who and when" }
            (hands(plan, report))
            h3 { "To buy" }
            (table(&work::buying(plan, report)))
            ul { @for (thing, cost) in work::things(plan) { li { (thing) ": " (plan.event.means.currency.show(cost)) } } }
            p { (work::costs(plan)) }
            h3 { "Other ways to do it" }
            (table(&work::others_side_by_side(plan, report)))
            ul { @for o in report.others.iter().filter(|o| !o.works) { li { (capital(&o.name)) ": " (o.but) "." } } }
            h3 { "Other days" }
            div #days data-plan=(number) { p { button type="button" #whatif { "What if it is hotter, drier, late?" } } }
            @for flower in &flowers { (flower) }
            h3 { "What ends the heads that do not last" }
            figure tabindex="0" { (PreEscaped(causes::picture(plan).svg()?)) }
            (list("The air", &report.spaces))
            figure tabindex="0" { (PreEscaped(rooms::picture(plan).svg()?)) }
            (list("Assumed", &report.assumptions))
            (list("Take care", &report.cautions))
            p.small {
                "Simulated: " (report.simulation.lots) " deliveries of " (report.simulation.heads_per_lot)
                " heads for every treatment and time. Ranges hold nine times out of ten."
            }
        }
    })
}

/// The plan on other days, as a part of the page.
///
/// # Errors
/// When the picture cannot be drawn.
pub fn days(plan: &Plan) -> Result<Markup, Failure> {
    let days = whatif::days(plan, days_told(plan));
    let svg = whatif::side_by_side(plan, &days).svg()?;
    Ok(html! {
        ul { @for line in whatif::failing(plan, &days) { li { (line) } } }
        figure tabindex="0" { (PreEscaped(svg)) }
    })
}

fn list(title: &str, lines: &[String]) -> Markup {
    html! { @if !lines.is_empty() { h3 { (title) } ul { @for line in lines { li { (line) } } } } }
}

/// One line a flower: what, how, when, and how many last.
fn summary(plan: &Plan) -> Table {
    let event = &plan.event;
    let mut rows = Vec::new();
    for (p, piece) in plan.pieces.iter().enumerate() {
        for (o, flower) in piece.flowers.iter().enumerate() {
            let planned = work::planned(plan, p, o)
                .map_or("no time".to_string(), |(from, to)| format!("{from} to {to}"));
            let count = flower.count;
            let grade = match flower.grade() {
                Grade::Fine => "",
                Grade::Borderline => ", borderline",
                Grade::Short => ", falls short",
            };
            rows.push(vec![
                if o == 0 { capital(&piece.piece.name) } else { String::new() },
                flower.heads().to_string(),
                short_name(flower.order.flower.name()),
                treatment(flower.recommended().treatment),
                day_and_clock(event, flower.window.0),
                planned,
                format!("{}{}{grade}", count.p50, range(&count, " to ")),
            ]);
        }
    }
    let head = ["piece", ">heads", "flower", "what to do", "not before", "planned", "good at the end"];
    Table::new(&head, rows)
}

fn remedies(report: &Report) -> Markup {
    html! {
        ul {
            @for line in &report.lacking { li { "The plan takes " (line) "." } }
            @for line in &report.remedies { li { "What would help: " (line) "." } }
            @if report.remedies.is_empty() {
                li { "Nothing that was tried makes it all last: more people, more access, cooler rooms." }
            }
        }
    }
}

fn hands(plan: &Plan, report: &Report) -> Markup {
    html! {
        ul { @for line in work::calls(plan) { li { (line) } } }
        @if plan.rota.left > 0.2 {
            p.wrong { "The hours are tight: about " (Span { hours: plan.rota.left }) " of work found no time of its own." }
        }
        @for person in &report.crew {
            details {
                summary { (person.name) ", " (person.from) " to " (person.to) }
                ul { @for assignment in &person.assignments { li { (assignment.from) " to " (assignment.to) ": " (assignment.what) } } }
            }
        }
    }
}

fn flower(
    number: u64,
    plan: &Plan,
    piece: &PiecePlan,
    (p, o): (usize, usize),
    flower: &FlowerPlan,
    words: &FlowerReport,
) -> Result<Markup, Failure> {
    let name = short_name(flower.order.flower.name());
    let svg = chart::survival(&plan.event, piece, flower).svg()?;
    let chances = chances::picture(&plan.event, piece, flower).svg()?;
    Ok(html! {
        article {
            h4 { (capital(&name)) }
            ul.advice { @for line in &words.advice { li { (line) } } }
            p.small { (words.dry_hours) }
            figure tabindex="0" { (PreEscaped(svg)) }
            (sliders(number, plan, (p, o), flower, &name))
            details {
                summary { "How sure, by the time of placing" }
                figure tabindex="0" { (PreEscaped(chances)) }
            }
        }
    })
}

/// Native inputs: how warm, when, which way; what comes of it is said as it changes.
fn sliders(number: u64, plan: &Plan, (p, o): (usize, usize), flower: &FlowerPlan, name: &str) -> Markup {
    let id = |what: &str| format!("{what}-{p}-{o}");
    let (event, option) = (&plan.event, flower.recommended());
    let times = times_tried(&flower.options);
    let at = times.iter().position(|t| *t == option.place_at).unwrap_or(0);
    html! {
        form.slide data-plan=(number) data-piece=(p) data-flower=(o) {
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
                        @for (i, w) in flower.order.treatments().into_iter().enumerate() {
                            option value=(i) selected[w == option.treatment] { (treatment(w)) }
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
