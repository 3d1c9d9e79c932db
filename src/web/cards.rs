//! The five cards that an event is written on: the day, the rooms, setting up, the pieces, hands and supplies.

use super::pieces;
use super::rooms;
use super::sheet::{Sheet, button, out};
use super::signs::{Sign, sign};
use super::strip::strip;
use crate::event::Event;
use crate::report::words::capital;
use maud::{Markup, html};

/// A card: the sections of the file that it stands for, and its title.
struct Card {
    id: &'static str,
    title: &'static str,
    paths: &'static [&'static str],
}

const CARDS: [Card; 5] = [
    Card { id: "the-day", title: "The day", paths: &["event", "target", "marks"] },
    Card { id: "the-rooms", title: "The rooms", paths: &["space"] },
    Card { id: "setting-up", title: "Setting up", paths: &["access", "chore", "travel"] },
    Card { id: "the-pieces", title: "The pieces", paths: &["piece"] },
    Card {
        id: "hands",
        title: "Hands and supplies",
        paths: &["crew", "tubes", "vases", "vessels", "minutes", "prices", "spares", "florist", "venue"],
    },
];

/// All cards, each closed but the first that is not right yet.
pub fn cards(sheet: &Sheet) -> Markup {
    let first = CARDS.iter().position(|card| !sheet.is_right(card.paths));
    let all: Vec<&str> = CARDS.iter().flat_map(|c| c.paths).copied().collect();
    html! {
        @for (file, said) in &sheet.elsewhere {
            p.wrong { "In " (file) ": " (said.text) "." @if !said.expected.is_empty() { " Expected: " (said.expected) "." } }
        }
        @for said in sheet.left(&all) {
            p.wrong { (capital(&said.text)) ". " @if !said.expected.is_empty() { "Expected: " (said.expected) ". " } "See the file, below." }
        }
        @for (i, card) in CARDS.iter().enumerate() {
            details.card id=(card.id) open[first == Some(i)] {
                summary {
                    (state(sheet, card))
                    b { (card.title) }
                    span.s { (summary(sheet, card)) }
                    span.ch aria-hidden="true" { "change" }
                }
                div.in { (body(sheet, card)) }
            }
        }
    }
}

/// Whether a card is right, as a sign with a word for those who cannot see it.
fn state(sheet: &Sheet, card: &Card) -> Markup {
    let wrong = card.paths.iter().flat_map(|p| sheet.below(p)).any(|said| !said.missing);
    sign(match (sheet.is_right(card.paths), wrong) {
        (true, _) => Sign::Good,
        (false, true) => Sign::Bad,
        (false, false) => Sign::Empty,
    })
}

/// A card in a line, for when it is closed.
fn summary(sheet: &Sheet, card: &Card) -> String {
    let wrong = card.paths.iter().flat_map(|p| sheet.below(p)).find(|said| !said.missing);
    if let Some(said) = wrong {
        return capital(&format!("{}.", said.text));
    }
    let missing = card.paths.iter().flat_map(|p| sheet.below(p)).next();
    let Some(event) = &sheet.event else {
        return match (card.id, missing) {
            ("the-rooms", Some(_)) if sheet.draft.count("space") == 0 => {
                "Where do the flowers stand?".to_string()
            }
            ("setting-up", Some(_)) if sheet.draft.count("access") == 0 => "When may you set up?".to_string(),
            ("the-pieces", Some(_)) if sheet.draft.count("piece") == 0 => "What do you make?".to_string(),
            (_, Some(said)) => capital(&format!("{}.", said.text)),
            ("the-day", None) => day_in_words(&sheet.draft.get("event.date")),
            ("the-rooms", None) => some(sheet, "space", "room"),
            ("setting-up", None) => some(sheet, "access", "set-up time"),
            ("the-pieces", None) => some(sheet, "piece", "piece"),
            _ => hands_in_a_line(sheet),
        };
    };
    match card.id {
        "the-day" => the_day_in_a_line(event),
        "the-rooms" => rooms::in_a_line(event, sheet.draft.count("space")),
        "setting-up" => set_up_in_a_line(event),
        "the-pieces" => pieces::in_a_line(event),
        _ => hands_in_a_line(sheet),
    }
}

/// A day as it is written in the file, in words where it is one.
fn day_in_words(written: &str) -> String {
    let day = written.parse::<jiff::civil::Date>();
    day.map_or(written.to_string(), |day| format!("{}.", day.strftime("%A %-d %B %Y")))
}

fn some(sheet: &Sheet, path: &str, what: &str) -> String {
    match sheet.draft.count(path) {
        1 => format!("One {what}."),
        n => format!("{n} {what}s."),
    }
}

fn the_day_in_a_line(event: &Event) -> String {
    let place = event.place.as_ref().map_or(String::new(), |p| format!(", {p}"));
    let clock = |hours: f64| crate::report::clock::clock(event, hours);
    format!(
        "{}, guests {} to {}{place}.",
        event.date.strftime("%A %-d %B %Y"),
        event.moment(event.doors).clock(),
        clock(event.end)
    )
}

fn set_up_in_a_line(event: &Event) -> String {
    let clock = |hours: f64| crate::report::clock::clock(event, hours);
    let times: Vec<String> = event
        .access
        .iter()
        .map(|(from, to)| format!("{} to {}", clock(*from), event.moment(*to).clock()))
        .collect();
    let chores: Vec<&str> = event.means.chores.iter().map(|c| c.name.as_str()).collect();
    let chores = if chores.is_empty() { String::new() } else { format!(" Also: {}.", chores.join(", ")) };
    format!("{}.{chores}", times.join(", "))
}

fn hands_in_a_line(sheet: &Sheet) -> String {
    let said = |path: &str| Some(sheet.draft.get(path)).filter(|v| !v.is_empty());
    let people = match said("crew.people").as_deref() {
        Some("1") => "One person".to_string(),
        Some(n) => format!("{n} people"),
        None => "Two people, as nothing is said".to_string(),
    };
    let wage = said("crew.hourly").map_or("wage not said".to_string(), |w| format!("{w} an hour"));
    let tubes: Vec<String> = sheet
        .draft
        .each("tubes")
        .iter()
        .map(|t| {
            let volume = said(&format!("{t}.volume")).unwrap_or("10 ml".to_string());
            said(&format!("{t}.most"))
                .map_or(format!("tubes of {volume}"), |n| format!("{n} tubes of {volume}"))
        })
        .collect();
    let tubes = if tubes.is_empty() { "tubes as needed".to_string() } else { tubes.join(", ") };
    let vases = said("vases.most").map_or("vases as needed".to_string(), |n| format!("{n} bud vases"));
    format!("{people}, {wage}; {tubes}; {vases}.")
}

fn body(sheet: &Sheet, card: &Card) -> Markup {
    match card.id {
        "the-day" => the_day(sheet),
        "the-rooms" => rooms::rooms(sheet),
        "setting-up" => setting_up(sheet),
        "the-pieces" => pieces::pieces(sheet),
        _ => hands(sheet),
    }
}

fn the_day(sheet: &Sheet) -> Markup {
    html! {
        p.sen { "We call it " (sheet.text("event.name", "What you call this event", 26, "Orchard lunch"))}
        (sheet.told(&["event.name"]))
        p.sen {
            "It is on " (sheet.day("event.date", "Day"))
            ", guests from " (sheet.text("event.doors", "Guests from", 6, "16:00"))
            " until " (sheet.time("event.end", "Until", "23:00"))
        }
        (sheet.told(&["event", "event.date", "event.doors", "event.end"]))
        details.more {
            summary { "Place, and how good it must be" }
            p.sen { "It is at " (sheet.text("event.place", "Place", 20, "a barn"))}
            p.sen {
                "For flowers outdoors: latitude " (sheet.text("event.latitude", "Latitude in degrees", 6, "51.5"))
                ", longitude " (sheet.text("event.longitude", "Longitude in degrees", 6, "-0.1"))
                ", time zone " (sheet.text("event.time_zone", "Time zone", 14, "Europe/London"))
                ", height above the sea " (sheet.text("event.altitude", "Height above the sea", 7, "120 m"))
            }
            p.sen {
                (sheet.text("target.presentable", "Share of heads still good", 6, "95 %"))
                " of the heads still good, sure " (sheet.text("target.assurance", "How sure", 6, "90 %"))
            }
            (sheet.told(&["event.place", "event.latitude", "event.longitude", "event.time_zone", "event.altitude", "target.presentable", "target.assurance"]))
        }
    }
}

/// When the set-up on the day begins that a button adds.
const DAY_FROM: &str = "9:00";

fn setting_up(sheet: &Sheet) -> Markup {
    let times = sheet.draft.each("access");
    let begins = |time: &str| sheet.draft.get(&format!("{time}.from"));
    let is_given = times.iter().any(|time| begins(time) == DAY_FROM);
    html! {
        @for (i, time) in times.iter().enumerate() {
            @let (from, to) = (format!("{time}.from"), format!("{time}.to"));
            p.sen {
                @if i == 0 { "We may set up from " } @else { "and from " }
                (sheet.time(&from, "Set up from", "9:00")) " until " (sheet.time(&to, "Set up until", "15:30"))
                " " (out(time, "this set-up time"))
            }
            (strip(sheet, time))
            (sheet.told(&[time, &from, &to]))
        }
        @if times.is_empty() { p.missing { "When may you set up?" } }
        p.row {
            @if times.is_empty() {
                (button(
                    "The evening before, 17:00 to 20:00",
                    &[("add:access", ""), ("set:access.+.from", "day before 17:00"), ("set:access.+.to", "day before 20:00")],
                    "access.0.from",
                ))
            }
            @let next = format!("access.{}.from", times.len());
            @if !is_given {
                (button(
                    "On the day, 9:00 to 15:00",
                    &[("add:access", ""), ("set:access.+.from", DAY_FROM), ("set:access.+.to", "15:00")],
                    &next,
                ))
            }
        }
        details.more {
            summary { "Other work, and the journey" }
            @for chore in sheet.draft.each("chore") {
                @let of = |key: &str| format!("{chore}.{key}");
                p.sen {
                    (sheet.text(&of("name"), "Other work", 18, "unload the van")) " takes one person "
                    (sheet.text(&of("work"), "How long it takes", 7, "45 min")) ", done by "
                    (sheet.time(&of("to"), "Done by", "12:00")) " " (out(&chore, "this work"))
                }
                (sheet.told(&[&chore, &of("name"), &of("work"), &of("from"), &of("to")]))
            }
            p.row {
                @let next = format!("chore.{}.name", sheet.draft.count("chore"));
                (button(
                    "Add other work",
                    &[("add:chore", ""), ("set:chore.+.name", "unload the van"), ("set:chore.+.work", "45 min")],
                    &next,
                ))
            }
            p.sen {
                "The drive takes " (sheet.text("travel.drive", "Drive", 7, "30 min")) ", "
                (sheet.choice("travel.van_in_water", "In the van", &[("true", "in water"), ("false", "dry in boxes")]))
                "; at the venue they wait "
                (sheet.choice("travel.wait_in_water", "Waiting at the venue", &[("true", "in water"), ("false", "dry in boxes")]))
            }
            (sheet.told(&["travel", "travel.drive", "travel.van_in_water", "travel.wait_in_water"]))
        }
    }
}

fn hands(sheet: &Sheet) -> Markup {
    let tubes = sheet.draft.each("tubes");
    html! {
        p.sen {
            (sheet.number("crew.people", "People who can come")) " people can come, "
            (sheet.text("crew.skilled", "How many can wire and climb", 4, "all")) " of them can wire and climb a ladder, at "
            (sheet.text("crew.hourly", "Wage an hour", 7, "\u{20ac}22")) " an hour, "
            (sheet.text("crew.minimum", "Shortest paid call", 5, "3 h")) " at least."
        }
        (sheet.told(&["crew", "crew.people", "crew.skilled", "crew.hourly", "crew.minimum", "crew.slack"]))
        p.small { "What you leave empty is guessed, and the plan says so." }
        @for tube in &tubes {
            @let of = |key: &str| format!("{tube}.{key}");
            p.sen {
                (sheet.text(&of("most"), "How many tubes", 5, "any")) " water tubes of "
                (sheet.text(&of("volume"), "Size of the tubes", 7, "10 ml")) " at "
                (sheet.text(&of("price"), "Price of a tube", 7, "\u{20ac}0.20")) " " (out(tube, "this size of tube"))
            }
            (sheet.told(&[tube, &of("most"), &of("volume"), &of("price")]))
        }
        @let next = format!("tubes.{}.most", tubes.len());
        p.row { (button("Add a size of water tube", &[("add:tubes", ""), ("set:tubes.+.volume", "10 ml")], &next)) }
        p.sen {
            (sheet.text("vases.most", "How many bud vases", 5, "any")) " bud vases at "
            (sheet.text("vases.price", "Price of a vase", 7, "\u{20ac}1"))
        }
        (sheet.told(&["vases", "vases.most", "vases.price"]))
        p.sen {
            "The venue allows "
            (sheet.choice("venue.glass", "Glass", &[("true", "glass"), ("false", "no glass")])) " and "
            (sheet.choice("venue.dry_greens", "Greens out of water", &[("true", "greens out of water"), ("false", "no greens out of water")]))
        }
        (sheet.told(&["venue", "venue.glass", "venue.dry_greens"]))
    }
}
