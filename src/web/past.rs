//! How an event went: how many of each flower were still good, noted for the plans to come.

use super::file::planned_now;
use super::folder::plain_name;
use super::layout::{Page, problems, whole, with_event};
use super::notes::{done, notebook};
use super::state::{Answer, AppState, Shared, alone};
use crate::calibrate::forecast::Count;
use crate::calibrate::notebook::{Notebook, with_entry};
use crate::error::{Error, Problem, Result};
use crate::report::facts::{Facts, OrderFacts};
use crate::report::words::{capital, kept, treatment_name};
use crate::units::Moment;
use axum::Form;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use std::collections::HashMap;
use std::sync::Arc;

/// The event that is told of.
#[derive(serde::Deserialize)]
pub struct Whose {
    file: String,
}

/// Shows the form, filled in as the event was planned.
pub async fn show(State(app): Shared, Query(whose): Query<Whose>) -> Answer {
    alone(Arc::clone(&app), move || answer(&app, &whose.file, &HashMap::new(), None)).await
}

/// Notes what was counted, and goes back to the notebook.
pub async fn note(
    State(app): Shared,
    Query(whose): Query<Whose>,
    Form(told): Form<HashMap<String, String>>,
) -> Answer {
    alone(Arc::clone(&app), move || match noted(&app, &whose.file, &told) {
        Ok(()) => done(Some(&whose.file), "noted", ""),
        Err(error) => answer(&app, &whose.file, &told, Some(&error)),
    })
    .await
}

fn answer(app: &AppState, file: &str, told: &HashMap<String, String>, wrong: Option<&Error>) -> Response {
    let code = if wrong.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    match planned_now(app, file) {
        Ok(planned) => {
            (code, Html(page(file, &Facts::of(&planned.plan), told, wrong).into_string())).into_response()
        }
        Err(error) => {
            let body = html! { main.wrap #past { h1 { "How did it go?" } (problems(&error, file)) } };
            let page = Page { file: Some(file), name: "", title: "How did it go?", main: "past", script: "" };
            (StatusCode::UNPROCESSABLE_ENTITY, Html(whole(&page, &body).into_string())).into_response()
        }
    }
}

/// The orders that a notebook can hold: those of flowers that are in the catalogue themselves.
fn countable<'a>(facts: &'a Facts) -> impl Iterator<Item = &'a OrderFacts<'a>> {
    facts.orders.iter().filter(|o| o.order.own_name.is_none())
}

/// Writes every count that was filled in into the notebook, all or none.
fn noted(app: &AppState, file: &str, told: &HashMap<String, String>) -> Result<()> {
    let planned = planned_now(app, file)?;
    let facts = Facts::of(&planned.plan);
    let event = facts.event;
    let said = |what: &str, order: &OrderFacts| {
        told.get(&format!("{what}-{}", order.id.index())).map_or("", |t| t.trim()).to_string()
    };
    let (mut counts, mut wrong) = (Vec::new(), Vec::new());
    for order in countable(&facts) {
        let good = said("good", order);
        if good.is_empty() {
            continue;
        }
        let of = order.order.heads;
        let name = format!("{} of {}", order.called(), order.piece.name);
        let good = good.parse::<u32>().ok().filter(|n| *n <= of);
        let placed = said("set", order).parse::<Moment>().ok();
        let (Some(good), Some(placed)) = (good, placed) else {
            let expected = format!("a number of heads from 0 to {of}, and the time when they were set");
            wrong.push(Problem::new(format!("the {name} cannot be read")).expected(expected).help("14:30"));
            continue;
        };
        let placed = match event.passed(placed) {
            Ok(placed) => placed,
            Err(problem) => {
                wrong.push(problem);
                continue;
            }
        };
        let seen = order.piece.until;
        if seen <= placed {
            wrong.push(
                Problem::new(format!("the {name} were set after their last hour"))
                    .help("name the day, such as day before 18:00"),
            );
            continue;
        }
        let treatment = order.treatment();
        counts.push((
            Count { event, piece: order.piece, order: order.order, treatment, placed, seen, of },
            good,
        ));
    }
    if !wrong.is_empty() {
        return Err(Error { problems: wrong });
    }
    if counts.is_empty() {
        return Err(Problem::new("nothing is filled in yet").help("fill in one number at least").into());
    }
    let known: Vec<_> = counts.iter().map(|(count, _)| (count.forecast(1), count.worth())).collect();
    plain_name(file)?;
    let (name, _) = notebook(app, Some(file))?;
    app.folder.note(&name, &mut |text| {
        let mut text = text;
        for ((count, good), (forecast, worth)) in counts.iter().zip(&known) {
            let load = |log: &str| app.folder.log(log);
            let before =
                text.as_deref().map_or(Ok(Notebook::default()), |text| Notebook::read(&name, text, &load))?;
            let entry = count.entry(before.next_number(), *good, (forecast, *worth), "");
            text = Some(with_entry(&name, text.as_deref(), &entry)?);
        }
        Ok(text.unwrap_or_default())
    })
}

fn page(file: &str, facts: &Facts, told: &HashMap<String, String>, wrong: Option<&Error>) -> Markup {
    let event = facts.event;
    let body = html! {
        main.wrap #past tabindex="-1" {
            h1 { "How did it go?" }
            p { "Count what you can; leave the rest empty. Each count makes the next plan surer." }
            @if let Some(error) = wrong { div #wrong role="alert" tabindex="-1" { (problems(error, file)) } }
            form method="post" action=(with_event("past-note", Some(file))) {
                @for order in countable(facts) {
                    @let id = order.id.index();
                    @let planned = event.moment(order.placed.map_or(order.recommended().place_at, |p| p.0)).to_string();
                    @let filled = |what: &str| told.get(&format!("{what}-{id}")).cloned();
                    p.sen {
                        b { (capital(&order.called())) ", " (order.piece.name) } ": at " (event.moment(order.piece.until).clock()) " "
                        span.slot {
                            label.unseen for={ "good-" (id) } { "How many " (order.called()) " of " (order.piece.name) " were " (kept(order.order.counts)) }
                            input id={ "good-" (id) } name={ "good-" (id) } type="text" inputmode="numeric" size="4" autocomplete="off"
                                maxlength="6" value=(filled("good").unwrap_or_default());
                        }
                        " of " (order.order.heads) " were " (kept(order.order.counts))
                        "; set (" (treatment_name(order.treatment())) ") at "
                        span.slot {
                            label.unseen for={ "set-" (id) } { "When they were set" }
                            input id={ "set-" (id) } name={ "set-" (id) } type="text" size="14" autocomplete="off" maxlength="40"
                                value=(filled("set").unwrap_or(planned));
                        }
                    }
                }
                p { button.main type="submit" { "Note it" } }
            }
        }
    };
    let page =
        Page { file: Some(file), name: &event.name, title: "How did it go?", main: "past", script: "" };
    whole(&page, &body)
}
