//! The fields of an event on the page: each stands for one value of the file, with what is wrong with it below.

use super::draft::Draft;
use super::layout::encoded;
use super::plain::{Said, called, said};
use crate::error::Error;
use crate::event::{Event, day};
use crate::report::words::capital;
use crate::units::Moment;
use maud::{Markup, html};

/// An event as the page shows it.
pub struct Sheet {
    /// The text, taken apart.
    pub draft: Draft,
    /// The event, if it reads well.
    pub event: Option<Event>,
    /// What is wrong, each with the path of its field.
    problems: Vec<(String, Said)>,
    /// What is wrong with other files that the event names, with their names.
    pub elsewhere: Vec<(String, Said)>,
}

/// The words for the day of a time: as the file has them, and as the page says them.
const DAYS: [(&str, &str); 3] =
    [("day before", "the day before"), ("", "on the day"), ("next day", "the day after")];

impl Sheet {
    /// The sheet of a text and of what reading it gave; `None` if the text is not TOML. `file` is the event's name.
    pub fn of(file: &str, text: &str, read: Result<Event, Error>) -> Option<Sheet> {
        let draft = Draft::read(text)?;
        let (event, error) = match read {
            Ok(event) => (Some(event), None),
            Err(error) => (None, Some(error)),
        };
        let (mut problems, mut elsewhere) = (Vec::new(), Vec::new());
        for problem in error.iter().flat_map(|e| &e.problems) {
            match &problem.place {
                Some(place) if place.file == file => {
                    let at = draft.path_at(place);
                    let path = match &problem.lacks {
                        // A section that is missing is missing from the whole file.
                        Some(key) if top_level(key, &at) => key.clone(),
                        Some(key) => format!("{at}.{key}").trim_start_matches('.').to_string(),
                        None => at,
                    };
                    let key = path.rsplit('.').next().unwrap_or_default().to_string();
                    problems.push((path, said(problem, &key)));
                }
                Some(place) => {
                    elsewhere.push((format!("{}, line {}", place.file, place.line), said(problem, "")))
                }
                None => problems.push((String::new(), said(problem, ""))),
            }
        }
        Some(Sheet { draft, event, problems, elsewhere })
    }

    /// The problems at a path and below it.
    pub fn below<'a>(&'a self, path: &'a str) -> impl Iterator<Item = &'a Said> {
        let inside =
            move |p: &str| p.strip_prefix(path).is_some_and(|rest| rest.is_empty() || rest.starts_with('.'));
        self.problems.iter().filter(move |(p, _)| inside(p)).map(|(_, said)| said)
    }

    /// The problems of no field: those whose path lies below none of these.
    pub fn left(&self, paths: &[&str]) -> Vec<&Said> {
        let first = |path: &str| path.split('.').next().unwrap_or_default().to_string();
        self.problems.iter().filter(|(p, _)| !paths.contains(&first(p).as_str())).map(|(_, s)| s).collect()
    }

    /// Whether nothing is wrong or missing at some paths.
    pub fn is_right(&self, paths: &[&str]) -> bool {
        paths.iter().all(|path| self.below(path).next().is_none())
    }

    fn at<'a>(&'a self, path: &'a str) -> impl Iterator<Item = &'a Said> {
        self.problems.iter().filter(move |(p, _)| p == path).map(|(_, said)| said)
    }

    fn wrong(&self, path: &str) -> bool {
        self.at(path).any(|said| !said.missing)
    }

    /// What is still to be said at some paths, and what is wrong there, each with a remedy to press where there is one.
    pub fn told(&self, paths: &[&str]) -> Markup {
        let missing: Vec<String> = paths
            .iter()
            .filter(|path| self.at(path).any(|said| said.missing))
            .map(|path| called(path.rsplit('.').next().unwrap_or(path)))
            .collect();
        html! {
            @if !missing.is_empty() { p.missing { "Still to say: " (missing.join(", ")) "." } }
            @for path in paths {
                @for said in self.at(path).filter(|said| !said.missing) {
                    p.wrong id={ (id(path)) "-told" } {
                        (capital(&said.text)) "."
                        @if !said.expected.is_empty() { " Expected: " (said.expected) "." }
                        @if !said.advice.is_empty() { " " (capital(&said.advice)) "." }
                        @if let Some(meant) = &said.meant {
                            " " button type="button" data-edit=(set(path, meant)) { "Use " (meant) }
                        }
                    }
                }
            }
        }
    }

    /// A field for a text. `wide` is how many letters it shows.
    pub fn text(&self, path: &str, label: &str, wide: usize, hint: &str) -> Markup {
        self.input(path, label, "text", wide, hint, None)
    }

    /// A field for a day of the calendar.
    pub fn day(&self, path: &str, label: &str) -> Markup {
        self.input(path, label, "date", 0, "", None)
    }

    /// A field for a text that is often one of those in a list of the page.
    pub fn listed(&self, path: &str, label: &str, wide: usize, list: &str) -> Markup {
        self.input(path, label, "text", wide, "", Some(list))
    }

    fn input(
        &self,
        path: &str,
        label: &str,
        kind: &str,
        wide: usize,
        hint: &str,
        list: Option<&str>,
    ) -> Markup {
        let id = id(path);
        let wrong = self.wrong(path);
        // A day that is none would be shown empty by a field for days.
        let kind = if wrong { "text" } else { kind };
        let typed = self.draft.get(path);
        // It shows no other writing of a day, and would take it out.
        let typed = if kind == "date" { day(&typed).map_or(String::new(), |d| d.to_string()) } else { typed };
        let size = (wide > 0).then(|| wide.to_string());
        html! {
            span.slot.bad[wrong] data-path=(path) {
                label.unseen for=(id) { (label) }
                input id=(id) type=(kind) value=(typed) size=[size] placeholder=(hint) list=[list]
                    autocomplete="off" maxlength="200" aria-invalid=[wrong.then_some("true")]
                    aria-describedby=[wrong.then(|| format!("{id}-told"))];
            }
        }
    }

    /// A field for a whole number, with a button for one less and one for one more.
    pub fn number(&self, path: &str, label: &str) -> Markup {
        self.number_or(path, label, "")
    }

    /// [`Sheet::number`], which shows what holds where the file says nothing.
    pub fn number_or(&self, path: &str, label: &str, usual: &str) -> Markup {
        let id = id(path);
        let value = Some(self.draft.get(path)).filter(|v| !v.is_empty()).unwrap_or_else(|| usual.to_string());
        let wrong = self.wrong(path);
        html! {
            span.step.bad[wrong] data-path=(path) {
                button type="button" data-step="-1" data-for=(id) aria-label={ "one less: " (label) } { "\u{2212}" }
                label.unseen for=(id) { (label) }
                input id=(id) type="text" inputmode="numeric" value=(value) size="4" autocomplete="off"
                    maxlength="7" aria-invalid=[wrong.then_some("true")]
                    aria-describedby=[wrong.then(|| format!("{id}-told"))];
                button type="button" data-step="1" data-for=(id) aria-label={ "one more: " (label) } { "+" }
            }
        }
    }

    /// A field for one of some words, each as the file has it and as the page says it. The first is what holds where the
    /// file says nothing.
    pub fn choice(&self, path: &str, label: &str, words: &[(&str, &str)]) -> Markup {
        let id = id(path);
        let now = self.draft.get(path);
        let now = if now.is_empty() { words.first().map_or("", |w| w.0) } else { &now };
        let other = (!words.iter().any(|w| w.0 == now)).then_some(now);
        html! {
            span.slot.bad[self.wrong(path)] data-path=(path) {
                label.unseen for=(id) { (label) }
                select id=(id) aria-describedby=[self.wrong(path).then(|| format!("{id}-told"))] {
                    @if let Some(other) = other { option value=(other) selected { (other) } }
                    @for (word, shown) in words { option value=(word) selected[*word == now] { (shown) } }
                }
            }
        }
    }

    /// A field for a time, with the day it is on.
    pub fn time(&self, path: &str, label: &str, hint: &str) -> Markup {
        let id = id(path);
        let written = self.draft.get(path);
        let read = written.parse::<Moment>().ok();
        let on = read.map_or(0, |m| m.day_and_minute().0);
        let (day, clock) = match read {
            Some(moment) if (-1..=1).contains(&on) => (DAYS[(on + 1) as usize].0, moment.clock()),
            _ => ("", written),
        };
        let wrong = self.wrong(path);
        html! {
            span.slot.bad[wrong] data-path=(path) {
                label.unseen for={ (id) "-day" } { (label) ": on which day" }
                select id={ (id) "-day" } {
                    @for (word, shown) in DAYS { option value=(word) selected[word == day] { (shown) } }
                }
                label.unseen for=(id) { (label) }
                input id=(id) type="text" value=(clock) size="6" placeholder=(hint) autocomplete="off" maxlength="40"
                    aria-invalid=[wrong.then_some("true")] aria-describedby=[wrong.then(|| format!("{id}-told"))];
            }
        }
    }
}

/// Whether a missing part belongs to the whole file, told at a path.
fn top_level(key: &str, at: &str) -> bool {
    ["event", "access", "space", "piece"].contains(&key) && !at.contains('.')
}

/// A name that none of the sections `all` has: `name`, or with a number.
pub fn free_name(sheet: &Sheet, all: &[String], name: &str) -> String {
    let taken: Vec<String> = all.iter().map(|path| sheet.draft.get(&format!("{path}.name"))).collect();
    let names = std::iter::once(name.to_string()).chain((2..).map(|n| format!("{name} {n}")));
    names.into_iter().find(|name| !taken.contains(name)).unwrap_or_default()
}

/// The id of the field of a path.
pub fn id(path: &str) -> String {
    format!("f-{}", path.replace('.', "-"))
}

/// The edit that sets one value.
pub fn set(path: &str, typed: &str) -> String {
    edits(&[(&format!("set:{path}"), typed)])
}

/// Edits one after the other, as a form would send them.
pub fn edits(all: &[(&str, &str)]) -> String {
    all.iter()
        .map(|(what, typed)| format!("{}={}", encoded(what), encoded(typed)))
        .collect::<Vec<_>>()
        .join("&")
}

/// A button that makes some edits, and may lead to the field of a path afterwards.
pub fn button(words: &str, all: &[(&str, &str)], then: &str) -> Markup {
    let then = (!then.is_empty()).then(|| id(then));
    html! { button type="button" data-edit=(edits(all)) data-then=[then] { (words) } }
}

/// A button that takes something out.
pub fn out(path: &str, what: &str) -> Markup {
    html! {
        button.x type="button" data-edit=(edits(&[(&format!("out:{path}"), "")])) aria-label={ "Take out " (what) } { "\u{d7}" }
    }
}
