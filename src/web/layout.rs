//! What all pages have in common: their head, the way between them, their foot.

use crate::error::{Error, Problem};
use crate::report::render::html;
use maud::{Markup, html};

/// A page of this server: the event that it belongs to, if any, the name of the page, and the script that it needs.
pub struct Page<'a> {
    /// The file of the event.
    pub file: Option<&'a str>,
    /// What the event is called.
    pub name: &'a str,
    /// The title of the page.
    pub title: &'a str,
    /// The id that the skip link leads to.
    pub main: &'a str,
    /// The script of the page, if it has one.
    pub script: &'a str,
}

/// A whole page.
pub fn whole(page: &Page, body: &Markup) -> Markup {
    let dress = html! {
        link rel="stylesheet" href="page.css";
        @if !page.script.is_empty() { script src=(page.script) defer {} }
    };
    let here = |title: &str| (page.title == title).then_some("page");
    let body = html! {
        a.skip href={ "#" (page.main) } { "To the content" }
        header.wrap {
            nav aria-label="Pages" {
                a href="." aria-current=[here("Events")] { "All events" }
                @if let Some(file) = page.file {
                    a href=(event_page(file)) aria-current=[here("Event")] { @if page.name.is_empty() { (file.trim_end_matches(".toml")) } @else { (page.name) } }
                }
                a href=(with_event("ask", page.file)) aria-current=[here("One flower")] { "One flower" }
                a href=(with_event("trials", page.file)) aria-current=[here("Trials")] { "My trials" }
            }
        }
        (body)
        footer.wrap {
            p.small {
                "Advice, never certification: local codes and licensed practice decide. Most flower numbers are the trade's \
                 practice from memory; the ranges say how unsure they are. All of it stays on this computer."
            }
        }
    };
    let named =
        if page.name.is_empty() { page.title.to_string() } else { format!("{}: {}", page.title, page.name) };
    html::whole(&format!("{named} - headwater"), &dress, &body)
}

/// The address of the page of an event.
pub fn event_page(file: &str) -> String {
    with_event("event", Some(file))
}

/// The address of a page that belongs to an event, if any.
pub fn with_event(page: &str, file: Option<&str>) -> String {
    match file {
        Some(file) => format!("{page}?file={}", encoded(file)),
        None => page.to_string(),
    }
}

/// A text as a part of an address.
pub fn encoded(text: &str) -> String {
    let plain = |b: u8| match b {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'-' | b'_' | b'.' => char::from(b).to_string(),
        b => format!("%{b:02X}"),
    };
    text.bytes().map(plain).collect()
}

/// All problems of an error, with a button for each that has a line in the event `file`.
pub fn problems(error: &Error, file: &str) -> Markup {
    let n = error.problems.len();
    html! {
        p.wrong { @if n == 1 { "One thing is" } @else { (n) " things are" } " not understood yet:" }
        ul.problems { @for problem in &error.problems { li { (self::problem(problem, file)) } } }
    }
}

/// One problem, with what was expected and what may help.
fn problem(problem: &Problem, file: &str) -> Markup {
    html! {
        @if let Some(place) = &problem.place {
            @if place.file == file {
                button type="button" data-line=(place.line) data-column=(place.column) data-width=(place.width) {
                    "Line " (place.line)
                }
            } @else {
                b { (place.file) ", line " (place.line) }
            }
            " "
        }
        (problem.message) "."
        @if let Some(expected) = &problem.expected { br; "Expected: " (expected) "." }
        @if let Some(help) = &problem.help { br; "Try: " code { (help) } }
    }
}
