//! The page of an event: the bar with the answer, the five cards, the file.

use super::cards::cards;
use super::habits;
use super::layout::{Page, problems, whole};
use super::sheet::Sheet;
use super::signs::{Sign, sign};
use crate::climate::room::Room;
use crate::error::{Error, Result};
use crate::event::{Event, HABITS_FILE};
use maud::{Markup, html};

/// An event as it stands, in the parts that the script puts into the page.
#[derive(serde::Serialize)]
pub struct Now {
    /// What the event is called.
    name: String,
    /// The text of its file.
    text: String,
    /// Its cards, as HTML.
    cards: String,
    /// What is wrong with the text, by its lines, as HTML.
    wrong: String,
    /// Whether it can be planned.
    reads: bool,
    /// The bar while there is no plan of it, as HTML.
    bar: String,
    /// Whether a change can be taken back.
    undo: bool,
}

impl Now {
    /// The state of a file with some text, and what reading it gave.
    pub fn of(file: &str, text: &str, read: Result<Event>, undo: bool) -> Now {
        let wrong = read.as_ref().err().map_or(String::new(), |error| problems(error, file).into_string());
        let reads = read.is_ok();
        let error = read.as_ref().err().cloned();
        let sheet = Sheet::of(file, text, read);
        let habits = file == HABITS_FILE;
        Now {
            name: match &sheet {
                _ if habits => "My habits".to_string(),
                Some(sheet) => sheet.draft.get("event.name"),
                None => String::new(),
            },
            text: text.to_string(),
            cards: match &sheet {
                Some(sheet) if habits => habits::form(sheet).into_string(),
                Some(sheet) => cards(sheet).into_string(),
                None => html! { p.wrong { "The file cannot be read as it stands. Mend it below, or take the last change back." } }
                    .into_string(),
            },
            wrong,
            reads: reads && !habits,
            bar: if habits && reads { kept() } else { waiting(error.as_ref()) }.into_string(),
            undo,
        }
    }
}

/// The bar while there is no plan of the event as it stands.
fn waiting(error: Option<&Error>) -> Markup {
    let slips = error.map_or(0, |e| e.problems.iter().filter(|p| p.lacks.is_none()).count());
    html! {
        @match (error, slips) {
            (None, _) => { (sign(Sign::Stale)) p.v { b { "Planning\u{2026}" } } }
            (Some(_), 0) => { (sign(Sign::Empty)) p.v { b { "Not complete yet." } " The open card says what is missing." } }
            (Some(_), n) => { (sign(Sign::Bad)) p.v {
                b { @if n == 1 { "One thing is not understood." } @else { (n) " things are not understood." } }
                " See the marked fields."
            } }
        }
    }
}

/// The bar of habits that read well: there is nothing to plan.
fn kept() -> Markup {
    html! { (sign(Sign::Good)) p.v { b { "Kept for every event." } " What you change is used by the next plan of each." } }
}

/// The page of an event. `was` is the mark of its text.
pub fn page(file: &str, was: &str, now: &Now) -> Markup {
    let body = html! {
        div.bar #bar role="status" aria-live="polite" {
            div.wrap #bar-in { (maud::PreEscaped(&now.bar)) }
            div.wrap.do {
                button #undo type="button" disabled[!now.undo] aria-keyshortcuts="Control+Z" { "Undo" }
                span #saved {}
            }
        }
        main.wrap #event data-file=(file) data-was=(was) data-reads=(now.reads) tabindex="-1" {
            h1 #title { @if now.name.is_empty() { "A new event" } @else { (now.name) } }
            p #trouble.wrong role="alert" {}
            div #cards { (maud::PreEscaped(&now.cards)) }
            datalist #rooms {
                @for room in Room::all() { option value=(room.words) { (format!("{} C, {} %", room.day_c, room.day_rh)) } }
            }
            div #planned {}
            details.card #file-card {
                summary { b { "The file" } span.s { (file) ": the same as a text, for those who like it." } }
                div.in {
                    label for="text" { "What you change here changes the cards, and the other way round." }
                    textarea #text rows="24" spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off"
                        aria-describedby="wrong" { "\n" (now.text) }
                    div #wrong { (maud::PreEscaped(&now.wrong)) }
                }
            }
        }
    };
    let page = Page { file: Some(file), name: &now.name, title: "Event", main: "event", script: "page.js" };
    whole(&page, &body)
}
