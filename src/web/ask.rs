//! The quick answer: one flower, one room, some hours.

use super::glyphs;
use super::layout::{Page, problems, whole};
use super::state::{Answer, Shared, alone};
use crate::climate::Air;
use crate::climate::room::Room;
use crate::decide::hours::{Question, answer};
use crate::decide::limits::{Asked as Limit, LONGEST, TRIED_C, limits};
use crate::error::{Error, Problem, Result};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::report::limits::{counts_sentence, dry_sentence, heading, humidity_sentence, need_sentence};
use crate::report::pictures::limits::picture;
use crate::report::words::{capital, short_name};
use crate::units::{Scale, Span};
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse};
use maud::{Markup, PreEscaped, html};

/// How many heads the answer counts.
const HEADS: f64 = 12.0;

/// What is asked.
#[derive(Default, serde::Deserialize)]
#[serde(default)]
pub struct Asked {
    flower: String,
    room: String,
    hours: String,
    file: Option<String>,
}

/// Shows the question, and its answer if it was asked.
pub async fn show(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    alone(app, move || {
        let told = (!asked.flower.trim().is_empty()).then(|| told(&asked));
        Html(page(&asked, told).into_string()).into_response()
    })
    .await
}

/// The answer as a part of the page.
fn told(asked: &Asked) -> Result<Markup> {
    let mut wrong = Vec::new();
    let flower = Catalogue::shipped().find(&asked.flower).map_err(|p| wrong.push(p)).ok();
    let room = Room::find(&asked.room).map_err(|p| wrong.push(p)).ok();
    let hours = asked.hours.parse::<Span>().or_else(|_| format!("{} h", asked.hours.trim()).parse());
    let hours = hours
        .map_err(|e| wrong.push(Problem::new("these hours cannot be read").expected(e.expected).help(e.help)))
        .ok();
    let (Some(flower), Some(room), Some(hours)) = (flower, room, hours) else {
        return Err(Error { problems: wrong });
    };
    answered(flower, room, hours)
}

fn answered(flower: &'static Flower, room: &Room, hours: Span) -> Result<Markup> {
    let answers = answer(&Question::new(flower, room.afternoon(Air::SEA_LEVEL), hours.hours))?;
    let good = answers.iter().find(|a| a.will_do());
    let name = capital(&short_name(flower.name()));
    let finding = match good {
        Some(a) if a.is_no_trouble() => {
            format!("{name}: {} is no trouble for {hours}.", a.method.words())
        }
        Some(a) => format!("{name}: {} will do for {hours}, with a usual delivery.", a.method.words()),
        None => format!("{name}: nothing keeps them fresh for {hours} in this room."),
    };
    Ok(html! {
        (glyphs::defs())
        h2 #answer { (finding) }
        table.fate {
            caption.unseen { "Heads still fresh after " (hours) }
            thead { tr { th scope="col" { "Set" } th scope="col" { "After " (hours) ", usual delivery" } th scope="col" { "Poor delivery: one in twenty" } } }
            tbody {
                @for a in &answers {
                    tr {
                        th scope="row" { (capital(a.method.words())) }
                        @for share in [a.presentable_at_until.p50, a.presentable_at_until.p05] {
                            @let fresh = (share * HEADS).round() as u32;
                            td {
                                p { b { (fresh) " of " (HEADS as u32) } " still fresh" }
                                (glyphs::heads(fresh, 0, HEADS as u32 - fresh))
                            }
                        }
                    }
                }
            }
        }
        p.small { (room.words) ", an afternoon's air, " (room.known_from()) ": " (format!("{} C, {} %", room.day_c, room.day_rh)) ". Measure if you can." }
        @if !flower.caution().is_empty() { p { "Take care: " (flower.caution()) } }
        @if room.sun == 0.0 && hours.hours <= LONGEST { (elsewhere(flower, room, hours)?) }
    })
}

/// Where dry stops being enough, in rooms as dry as this one.
fn elsewhere(flower: &'static Flower, room: &Room, hours: Span) -> Result<Markup> {
    let temperatures: Vec<f64> = TRIED_C.map(f64::from).collect();
    let limits = limits(Limit::new(flower), room.day_rh / 100.0, &temperatures)?;
    Ok(html! {
        h2 { "In a cooler or a warmer room" }
        p { b { (heading(&limits)) ": " (dry_sentence(&limits, Scale::Celsius)) "." } }
        p { (need_sentence(&limits, hours, Scale::Celsius)) " " (humidity_sentence(&limits, Scale::Celsius)) }
        figure tabindex="0" { (PreEscaped(picture(&limits, hours, Scale::Celsius).svg())) }
        p.small { (counts_sentence(&limits)) }
    })
}

fn page(asked: &Asked, told: Option<Result<Markup>>) -> Markup {
    let hours = if asked.hours.is_empty() { "6" } else { &asked.hours };
    let room = if asked.room.is_empty() { "barn with no cooling in August" } else { &asked.room };
    let body = html! {
        main.wrap #ask-page tabindex="-1" {
            h1 { "Ask about one flower" }
            form.sen method="get" action="ask" {
                @if let Some(file) = &asked.file { input type="hidden" name="file" value=(file); }
                label for="flower" { "A " }
                input #flower name="flower" type="text" value=(asked.flower) list="flowers" required autocomplete="off" placeholder="dahlia";
                datalist #flowers { @for f in Catalogue::shipped().all() { option value=(f.name()) {} } }
                label for="room" { " in a room like a " }
                select #room name="room" {
                    @if !Room::all().iter().any(|r| r.words == *room) { option selected { (room) } }
                    @for r in Room::all() { option value=(r.words) selected[r.words == *room] { (r.words) " (" (r.day_c) " C, " (r.day_rh) " %)" } }
                }
                label for="hours" { " for " }
                input #hours name="hours" type="text" value=(hours) size="4" required autocomplete="off";
                " hours "
                button.main type="submit" { "Ask" }
            }
            div aria-live="polite" {
                @match told {
                    Some(Ok(told)) => (told),
                    Some(Err(error)) => { (problems(&error, "")) }
                    None => { p { "Dry, in a water tube or in a bud vase: how many are still fresh?" } }
                }
            }
        }
    };
    let page =
        Page { file: asked.file.as_deref(), name: "", title: "One flower", main: "ask-page", script: "" };
    whole(&page, &body)
}
