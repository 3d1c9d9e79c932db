//! The page of the notebook: trials, looks, and what they teach. It needs a script only to fill in the day.

use super::forms::{Book, Look, Shown, Start};
use super::layout::{Page, problems, with_event};
use crate::calibrate::trial::Trial;
use crate::climate::room::Room;
use crate::error::Error;
use crate::flower::catalogue::{Catalogue, Flower};
use crate::flower::treatment::{Conditioning, Lying, Stage};
use crate::report::document::Table;
use crate::report::lesson::flowers;
use crate::report::render::html::table;
use crate::report::trials as told;
use crate::report::words::{capital, short_name};
use maud::{Markup, PreEscaped, html};

/// A page of the notebook of an event, or of the folder.
fn whole(file: Option<&str>, body: &Markup) -> Markup {
    let page = Page { file, name: "", title: "Trials", main: "trials-title", script: "trials.js" };
    super::layout::whole(&page, body)
}

/// The page of a notebook.
pub fn page(file: Option<&str>, book: &Book, shown: &Shown) -> Markup {
    let body = html! {
        main.wrap.trials {
            h1 { "My trials" }
            section aria-labelledby="begin-title" {
                @if let Some(error) = &shown.wrong { div #wrong role="alert" tabindex="-1" { (problems(error, "")) } }
                p #done role="status" { (shown.done) }
                (last(file, book))
                (start(file, book, &shown.start))
            }
            section aria-labelledby="trials-title" {
                h2 #trials-title { "The notebook" }
                p.small { "Kept in " (book.name) ", a plain table beside the event; every plan of the event uses it." }
                @if book.notes.trials.is_empty() { p { "No trial yet." } }
                (taught(file, book))
                (asked(file, book))
                @for trial in book.notes.trials.iter().rev() { (one(file, trial, &shown.look)) }
                @if !book.notes.outcomes.is_empty() {
                    h3 { "Past events" }
                    ul { @for o in &book.notes.outcomes { li { (capital(&told::outcome(o))) } } }
                }
                @if !book.notes.trials.is_empty() { p.small { "The ranges hold nine times out of ten, and come from the counts alone." } }
            }
        }
    };
    whole(file, &body)
}

/// The page if the notebook cannot be read, or has nothing on a flower.
pub fn unreadable(file: Option<&str>, error: &Error) -> Markup {
    let body =
        html! { main.wrap.trials { section { h1 #trials-title { "The notebook" } (problems(error, "")) } } };
    whole(file, &body)
}

/// The page on what the notebook teaches about a flower.
pub fn learned(file: Option<&str>, flower: &Flower, lines: &[String], picture: &str) -> Markup {
    let body = html! {
        main.wrap.trials {
            section {
                h1 #trials-title { (capital(&short_name(flower.name()))) ": what your notes taught" }
                p { a href=(with_event("trials", file)) { "Back to the notebook" } }
                figure tabindex="0" { (PreEscaped(picture)) }
                @for part in lines.chunk_by(|a, b| a.starts_with("- ") && b.starts_with("- ")) {
                    @if part[0].starts_with("- ") { ul { @for point in part { li { (point.trim_start_matches("- ")) } } } }
                    @else { p { (part[0]) } }
                }
            }
        }
    };
    whole(file, &body)
}

/// The last entry, with a button to take it out.
fn last(file: Option<&str>, book: &Book) -> Markup {
    html! {
        @if let Some((words, entry)) = &book.last {
            form.row method="post" action=(with_event("trial-undo", file)) {
                input type="hidden" name="entry" value=(entry);
                span { "Last noted: " (words) "." }
                button type="submit" { "Take it out again" }
            }
        }
    }
}

/// Links to what the notebook teaches about each flower.
fn taught(file: Option<&str>, book: &Book) -> Markup {
    let known: Vec<_> =
        flowers(&book.notes).into_iter().filter(|f| !book.notes.evidence(f).is_empty()).collect();
    html! {
        @if !known.is_empty() {
            nav aria-label="What was learned" {
                p { "What they taught:" }
                ul.papers { @for flower in known {
                    li { a href={ (with_event("learned", file)) @if file.is_some() { "&" } @else { "?" } "flower=" (flower.id()) } { (capital(&short_name(flower.name()))) } }
                } }
            }
        }
    }
}

/// The ways to ask the notebook as a whole.
fn asked(file: Option<&str>, book: &Book) -> Markup {
    let trials = &book.notes.trials;
    html! {
        p.row {
            @if let Some(file) = file {
                a.button href=(with_event("past", Some(file))) { "How did the event go?" }
                a.button href=(with_event("next", Some(file))) { "Which trial next?" }
            }
            @if !trials.is_empty() || !book.notes.outcomes.is_empty() {
                a.button href=(with_event("score", file)) { "How good were the forecasts?" }
            }
        }
        @if trials.len() > 1 {
            form.row method="get" action="compare" {
                @if let Some(file) = file { input type="hidden" name="file" value=(file); }
                @for (id, label) in [("first", "Compare trial"), ("second", "with trial")] {
                    label for=(id) { (label) }
                    select id=(id) name=(id) {
                        @for (i, trial) in trials.iter().enumerate() {
                            option value=(trial.number) selected[i == usize::from(id == "second")] {
                                (trial.number) ": " (short_name(trial.flower.name())) " " (trial.treated)
                            }
                        }
                    }
                }
                button type="submit" { "Compare" }
            }
        }
    }
}

/// A text field with its label above and a word of help below.
fn text(id: &str, name: &str, label: &str, value: &str, help: &str) -> Markup {
    let described = (!help.is_empty()).then(|| format!("{id}-help"));
    html! {
        p.field {
            label for=(id) { (label) }
            input id=(id) name=(name) type="text" value=(value) autocomplete="off" maxlength="200"
                aria-describedby=[described.as_ref()];
            @if let Some(described) = &described { span.small id=(described) { (help) } }
        }
    }
}

/// A field to choose one of some words, each with its synonyms after it.
fn one_of(id: &str, label: &str, words: &[&[&str]], value: &str) -> Markup {
    html! {
        p.field {
            label for=(id) { (label) }
            select id=(id) name=(id) { @for all in words { option selected[all[0] == value] { (all[0]) } } }
        }
    }
}

/// The form to begin a trial.
fn start(file: Option<&str>, book: &Book, form: &Start) -> Markup {
    let lots: std::collections::BTreeSet<&str> =
        book.notes.trials.iter().filter_map(|t| t.lot.as_deref()).collect();
    let heads = if form.heads.is_empty() { "10" } else { &form.heads };
    html! {
        h2 #begin-title { "Begin a trial" }
        p.small {
            "Ten heads of one delivery, held dry, looked at every hour. "
            a href="protocol.html" target="_blank" rel="noopener" { "How to do one, with a form to print" }
            " ("
            a href="protocol.pdf" target="_blank" rel="noopener" aria-label="PDF: how to do one" { "PDF" }
            ")."
        }
        form.fields #begin method="post" action=(with_event("trial-start", file)) {
            p.field {
                label for="flower" { "Flower" }
                input #flower name="flower" type="text" value=(form.flower) list="flowers" required autocomplete="off";
                datalist #flowers { @for f in Catalogue::shipped().all() { option value=(f.name()) {} } }
            }
            p.field {
                label for="date" { "Day" }
                input #date name="date" type="date" value=(form.date) required;
            }
            p.field {
                label for="at" { "Out of the water at" }
                input #at name="at" type="time" value=(form.at) required;
            }
            p.field {
                label for="heads" { "Heads" }
                input #heads name="heads" type="number" min="1" max="10000" value=(heads) required;
            }
            p.field {
                label for="air" { "Their air" }
                input #air name="air" type="text" value=(form.air) list="rooms" required autocomplete="off"
                    aria-describedby="air-help";
                span.small #air-help { "22 C 48 %, read beside them; or words for a room; or a logger's CSV" }
                datalist #rooms { @for room in Room::all() { option value=(room.words) {} } }
            }
            p.field {
                label for="lot" { "Which delivery" }
                input #lot name="lot" type="text" value=(form.lot) list="lots" autocomplete="off" maxlength="200"
                    aria-describedby="lot-help";
                span.small #lot-help { "grower and day, in your words; an event can name it" }
                datalist #lots { @for lot in lots { option value=(lot) {} } }
            }
            details {
                summary { "More" }
                div.fields {
                    (one_of("conditioning", "Conditioned", Conditioning::WORDS, &form.conditioning))
                    (one_of("stage", "How open", Stage::WORDS, if form.stage.is_empty() { "half open" } else { &form.stage }))
                    p.field {
                        label for="leaves" { "Leaves left on" }
                        input #leaves name="leaves" type="checkbox" value="on" checked[!form.leaves.is_empty()];
                    }
                    (one_of("lying", "They lie", Lying::WORDS, &form.lying))
                    (text("weight", "weight", "All together weigh", &form.weight, "142.5 g or 5 oz"))
                    (text("treated", "treated", "Done to these and not to others", &form.treated, "such as sealing spray; or water tube, to learn what they drink"))
                    (text("note", "note", "Anything else", &form.note, ""))
                }
            }
            p { button.main type="submit" { "Begin" } }
        }
    }
}

/// One trial with its looks, and the form to note another.
fn one(file: Option<&str>, trial: &Trial, form: &Look) -> Markup {
    let n = trial.number;
    let rows: Vec<Vec<String>> =
        told::looks(trial).into_iter().map(|t| vec![t.at, t.after, t.seen, t.share]).collect();
    let known = rows.iter().any(|r| !r[3].is_empty());
    let empty = Look::default();
    let mine = form.trial == n;
    let form = if mine { form } else { &empty };
    let id = |what: &str| format!("{what}-{n}");
    html! {
        article #{ "trial-" (n) } {
            h3 { "Trial " (n) ": " (capital(&short_name(trial.flower.name()))) }
            p.small { (told::heading(trial)) "." }
            @if rows.is_empty() { p { "No look yet." } }
            @else { (table(&Table::new(&["looked at", "after", "seen", "so far"], rows))) }
            @if known { p { (told::ended(trial)) } }
            details open[mine] {
                summary { "Note a look at trial " (n) }
                form.fields method="post" action=(with_event("trial-look", file)) {
                    input type="hidden" name="trial" value=(n);
                    p.field {
                        label for=(id("seen-at")) { "Looked at" }
                        input id=(id("seen-at")) name="at" type="time" value=(form.at) aria-describedby=(id("at-help"));
                        span.small id=(id("at-help")) { "on the day it began" }
                    }
                    (text(&id("after"), "after", "or hours after the start", &form.after, "for later days, such as 26 h"))
                    p.field {
                        label for=(id("good")) { "Presentable" }
                        input id=(id("good")) name="presentable" type="number" min="0" max=(trial.heads)
                            value=(form.presentable);
                    }
                    p.field {
                        label for=(id("limp")) { "Plainly limp" }
                        input id=(id("limp")) name="wilted" type="number" min="0" max=(trial.heads) value=(form.wilted);
                    }
                    (text(&id("air"), "air", "Their air now", &form.air, "22 C 48 %"))
                    (text(&id("weight"), "weight", "All together weigh", &form.weight, "142.5 g or 5 oz"))
                    @if trial.in_water() {
                        (text(&id("drunk"), "drunk", "All together drank", &form.drunk, "since the start: what their tubes lost"))
                    }
                    (text(&id("left"), "heads", "Heads still there", &form.heads, "if some were taken away"))
                    (text(&id("note"), "note", "Anything else", &form.note, ""))
                    p { button.main type="submit" { "Note it" } }
                }
            }
        }
    }
}
