//! The page of an event file, and the parts of it that the script fetches.

use crate::climate::room::Room;
use crate::error::{Error, Problem};
use crate::event::{Event, TEMPLATE};
use crate::flower::catalogue::{Catalogue, Flower};
use crate::report::render::html;
use crate::report::words::{heading, short_name};
use maud::{Markup, html};

/// The most flowers that a search lists.
const MOST_FOUND: usize = 12;

/// The parts of an event that buttons add to the file: the name of the button, the heading that is selected instead if
/// the file already has it, and the text to add.
const PARTS: [(&str, &str, &str); 7] = [
    ("A piece", "", "[[piece]]\nname = \"long table\"\nspace = \"SPACE\"\nuntil = \"22:00\"\n"),
    ("Set-up time", "", "[[access]]\nfrom = \"10:00\"\nto = \"16:00\"\n\n"),
    ("People", "[crew]", "[crew]\npeople = 3\n# skilled = 2\n# hourly = \"20\"\n\n"),
    ("Water tubes", "[[tubes]]", "[[tubes]]\nvolume = \"10 ml\"\nmost = 200\n\n"),
    ("Vases", "[vases]", "[vases]\nmost = 80\n\n"),
    ("Rules of the venue", "[venue]", "[venue]\nglass = true\ndry_greens = true\n\n"),
    ("Other work", "", "[[chore]]\nname = \"unload the van\"\nwork = \"45 min\"\nto = \"16:00\"\n\n"),
];

/// A page of this server with the common header and footer. `title` is "Event" or "Trials"; `name` is that of the
/// event.
pub fn whole(title: &str, name: &str, body: &Markup) -> Markup {
    let trials = title == "Trials";
    let dress = html! {
        link rel="stylesheet" href="/page.css";
        script src=(if trials { "/trials.js" } else { "/page.js" }) defer {}
    };
    let body = html! {
        a.skip href=(if trials { "#trials-title" } else { "#plan" }) { @if trials { "To the notebook" } @else { "To the plan" } }
        header {
            h1 { "headwater" }
            nav aria-label="Pages" {
                a href="/" aria-current=[(!trials).then_some("page")] { "Event" }
                a href="/trials" aria-current=[trials.then_some("page")] { "Trials" }
            }
            p { "How long each cut flower lasts out of water, and what to do about it. All on this computer." }
        }
        (body)
        footer {
            p.small {
                "Advice, never certification: local codes and licensed practice decide. Most flower numbers are the trade's \
                 practice from memory; the ranges say how unsure they are."
            }
        }
    };
    html::whole(&format!("{title}: {name} - headwater"), &dress, &body)
}

/// The page of an event file, or of a fresh one if `text` is `None`. `was` is the mark of the text, `others` are the
/// files of the folder.
pub fn page(name: &str, text: Option<&str>, was: &str, others: &[String]) -> Markup {
    let body = html! {
        main {
            section.file aria-labelledby="file-title" { (file(name, text, was)) (tools(name, others)) }
            section #plan aria-labelledby="plan-title" aria-busy="false" tabindex="-1" {
                h2 #plan-title { "The plan" }
                p.row {
                    span #plan-state role="status" { "Press Plan to see what to do, when, and why." }
                    span.small #seconds aria-hidden="true" {}
                }
                div #planned {}
            }
        }
    };
    whole("Event", name, &body)
}

/// The form with the text of the file.
fn file(name: &str, text: Option<&str>, was: &str) -> Markup {
    html! {
        h2 #file-title { "The event" }
        form #file data-was=(was) {
            p.row {
                label for="name" { "File" }
                input #name name="name" type="text" value=(name) autocomplete="off" spellcheck="false" maxlength="100"
                    aria-describedby="name-help";
                button #make type="submit" aria-keyshortcuts="Control+Enter" { "Plan" }
                button #save type="button" aria-keyshortcuts="Control+S" { "Save" }
            }
            p.small #name-help {
                "Beside the file that was opened. Save with Ctrl+S, plan with Ctrl+Enter."
                @if text.is_none() { " There is no file of this name yet: this is one to start from." }
            }
            p #saved role="status" {}
            label for="text" { "What you plan, when, where, with which flowers" }
            textarea #text name="text" rows="28" spellcheck="false" autocapitalize="off" autocomplete="off" wrap="off"
                aria-describedby="problems" { "\n" (text.unwrap_or(TEMPLATE)) }
        }
        div #problems role="status" {}
    }
}

/// The tools that help to write the file.
fn tools(name: &str, others: &[String]) -> Markup {
    html! {
        div.tools {
            fieldset {
                legend { "Add to the file" }
                p.row {
                    @for (part, heading, text) in PARTS {
                        button type="button" data-heading=(heading) data-part=(text) { (part) }
                    }
                }
            }
            form #find role="search" {
                label for="wanted" { "Add a flower to the piece you are in" }
                input #wanted type="search" autocomplete="off" placeholder="dahlia" aria-controls="found";
                ul #found aria-label="Flowers found" {}
            }
            form #room {
                label for="words" { "Add a room by what it is like" }
                span.row {
                    input #words type="text" list="rooms" autocomplete="off" placeholder="warm barn";
                    button type="submit" { "Add" }
                }
                datalist #rooms {
                    @for room in Room::all() {
                        option value=(room.words) { (format!("{} C, {} %", room.day_c, room.day_rh)) }
                    }
                }
            }
            @if others.iter().any(|o| o != name) {
                form method="get" action="/" {
                    label for="other" { "Another event of this folder" }
                    span.row {
                        select #other name="file" { @for other in others { option selected[other == name] { (other) } } }
                        button type="submit" { "Open" }
                    }
                }
            }
        }
    }
}

/// The message that a file reads well, with its size.
pub fn reads_well(event: &Event) -> Markup {
    let flowers: usize = event.pieces.iter().map(|p| p.orders.len()).sum();
    let heads: u32 = event.pieces.iter().flat_map(|p| &p.orders).map(|o| o.heads).sum();
    let line = heading(event, 0.0).into_iter().next().unwrap_or_default();
    html! {
        p.fine {
            "Reads well: " (event.name) ". " (line) " "
            (event.pieces.len()) @if event.pieces.len() == 1 { " piece, " } @else { " pieces, " }
            (flowers) @if flowers == 1 { " flower, " } @else { " flowers, " }
            (heads) " heads and sprigs."
        }
    }
}

/// All problems of an error, with a button for each line that has one.
pub fn problems(error: &Error) -> Markup {
    let n = error.problems.len();
    html! {
        p.wrong { @if n == 1 { "One thing is" } @else { (n) " things are" } " not understood yet:" }
        ul.problems { @for problem in &error.problems { li { (self::problem(problem)) } } }
    }
}

/// One problem, with what was expected and what may help.
fn problem(problem: &Problem) -> Markup {
    html! {
        @if let Some(place) = &problem.place {
            button type="button" data-line=(place.line) data-column=(place.column) data-width=(place.width) {
                "Line " (place.line)
            }
            " "
        }
        (problem.message) "."
        @if let Some(expected) = &problem.expected { br; "Expected: " (expected) "." }
        @if let Some(help) = &problem.help { br; "Try: " code { (help) } }
    }
}

/// The list of flowers whose names contain all of some words.
pub fn flowers(words: &str) -> Markup {
    let words: Vec<String> = words.split_whitespace().map(String::from).collect();
    if words.is_empty() {
        return html! {};
    }
    let found = Catalogue::shipped().search(&words);
    html! {
        @if found.is_empty() { li { "None in the catalogue by that name." } }
        @for flower in found.iter().take(MOST_FOUND) {
            li {
                button type="button" data-flower=(flower.id()) { (short_name(flower.name())) }
                " " span.small { i { (flower.botanical()) } ", " (hours(flower)) }
            }
        }
        @if found.len() > MOST_FOUND { li.small { "and " (found.len() - MOST_FOUND) " more: type another word" } }
    }
}

/// A flower's dry hours in a few words.
fn hours(flower: &Flower) -> String {
    use crate::flower::catalogue::Quantity;
    let hours = flower.median(Quantity::DryHours);
    format!("about {} dry", crate::units::Span { hours })
}
