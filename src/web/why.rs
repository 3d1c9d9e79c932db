//! Why a flower is to be set as the plan says: how its heads fare by the hour that matters, and what is known of it.

use super::file::planned_now;
use super::glyphs;
use super::layout::{Page, encoded, problems, whole, with_event};
use super::slide::{LOTS, WARMEST, warmer};
use super::state::{Answer, AppState, Planned, Shared, alone, mark};
use crate::decide::options::{PlacingOption, times_tried};
use crate::error::{Error, Problem, Result};
use crate::event::{Criterion, Event};
use crate::report::advice::{advice, dry_hours};
use crate::report::clock::clock;
use crate::report::facts::{Facts, OrderFacts};
use crate::report::pictures::{chances, survival};
use crate::report::words::{capital, kept, treatment_name};
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse};
use maud::{Markup, PreEscaped, html};
use std::sync::Arc;

/// The flower that is asked about, by its numbers in the file.
#[derive(serde::Deserialize)]
pub struct Which {
    file: String,
    piece: usize,
    flower: usize,
}

/// Shows one flower of an event, which is planned first unless its plan is kept.
pub async fn show(State(app): Shared, Query(which): Query<Which>) -> Answer {
    alone(Arc::clone(&app), move || match page(&app, &which) {
        Ok(page) => Html(page.into_string()).into_response(),
        Err(error) => {
            let body = html! { main.wrap #why { h1 { "One flower" } (problems(&error, &which.file)) } };
            let page = Page { file: Some(&which.file), name: "", title: "Why", main: "why", script: "" };
            (StatusCode::UNPROCESSABLE_ENTITY, Html(whole(&page, &body).into_string())).into_response()
        }
    })
    .await
}

/// The page of one flower.
fn page(app: &AppState, which: &Which) -> Result<Markup> {
    let planned = planned_now(app, &which.file)?;
    let text = app.folder.text(&which.file)?.unwrap_or_default();
    let facts = Facts::of(&planned.plan);
    let gone = || Error::from(Problem::new("there is no such flower in the event any more"));
    let (piece, orders) = facts.pieces().nth(which.piece).ok_or_else(gone)?;
    let order = orders.get(which.flower).ok_or_else(gone)?;
    let name = capital(&order.called());
    let title = format!("{name}, {}", piece.name);
    let event = facts.event;
    let body = html! {
        main.wrap #why tabindex="-1" {
            h1 { (title) ": " (treatment_name(order.treatment())) @if let Some((from, _)) = order.placed { ", from " (clock(event, from)) } }
            p.small { (order.order.heads) " heads in the " (event.spaces[piece.space].name) ", good until " (clock(event, piece.until)) "." }
            (glyphs::defs())
            (heads(event, order))
            ul.advice { @for line in advice(event, order) { li { (line) } } }
            h2 { "Through the event" }
            figure tabindex="0" { (PreEscaped(survival::picture(event, order).svg())) }
            (sliders(&planned, event, order, &order.called()))
            h2 { "How sure, by the time of setting" }
            figure tabindex="0" { (PreEscaped(chances::picture(event, order).svg())) }
            h2 { "What is known, and what would narrow it" }
            p { (dry_hours(order.order)) }
            form.row method="post" action={ "know?file=" (encoded(&which.file)) "&piece=" (which.piece) "&flower=" (which.flower) "&was=" (encoded(&mark(&text))) } {
                label for="hours" { "I know better: mine stand dry in an ordinary room for" }
                input #hours name="hours" type="text" size="6" placeholder="3 h" autocomplete="off" maxlength="20"
                    value=(order.order.handling.own_dry_hours.map_or(String::new(), |h| crate::units::Span { hours: h }.to_string()));
                button type="submit" { "Use it" }
            }
            p.row {
                a.button href={ (with_event("trials", Some(&which.file))) "&flower=" (encoded(order.flower().name())) "#begin" } { "Try ten heads" }
                a.button href={ "event?file=" (encoded(&which.file)) } { "Back to " (event.name) }
            }
        }
    };
    let page =
        Page { file: Some(&which.file), name: &event.name, title: "Why", main: "why", script: "why.js" };
    Ok(whole(&page, &body))
}

/// How the heads fare dry, in a tube and in a vase, in a usual and in a poor delivery.
fn heads(event: &Event, order: &OrderFacts) -> Markup {
    let chosen = order.recommended();
    let mut shown: Vec<&PlacingOption> = Vec::new();
    for option in order.options.iter().filter(|o| o.top_up.is_none()) {
        match shown.iter_mut().find(|s| s.treatment.method == option.treatment.method) {
            // The planned one where it is planned; another at its latest time, in the size that does best then.
            Some(there) if option.treatment == chosen.treatment && option.place_at == chosen.place_at => {
                *there = option
            }
            Some(there) if there.treatment == chosen.treatment && there.place_at == chosen.place_at => {}
            Some(there) if (option.place_at, option.expected) >= (there.place_at, there.expected) => {
                *there = option
            }
            Some(_) => {}
            None => shown.push(option),
        }
    }
    let until = clock(event, order.piece.until);
    let ordered = order.order.heads;
    let shown_as = |count: f64| {
        let good = (count as u32).min(ordered);
        match order.order.counts {
            Criterion::Flagging => glyphs::heads(good, 0, ordered - good),
            Criterion::Wilted => glyphs::heads(0, good, ordered - good),
        }
    };
    html! {
        table.fate {
            caption.unseen { "How many heads are " (kept(order.order.counts)) " at " (until) }
            thead { tr { th scope="col" { "Set" } th scope="col" { "At " (until) ", usual delivery" } th scope="col" { "Poor delivery: one in twenty" } } }
            tbody {
                @for option in shown {
                    tr {
                        th scope="row" { (capital(&treatment_name(option.treatment))) span.small { " set " (clock(event, option.place_at)) } }
                        @for count in [option.count.p50, option.count.p05] {
                            td { p { b { (format!("{count:.0} of {ordered}")) } " " (kept(order.order.counts)) } (shown_as(count)) }
                        }
                    }
                }
            }
        }
    }
}

/// Native inputs for air, placing time and treatment; a text says what each change does.
fn sliders(planned: &Planned, event: &Event, order: &OrderFacts, name: &str) -> Markup {
    let number = planned.number;
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
