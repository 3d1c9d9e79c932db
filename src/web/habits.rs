//! Her habits as a form: what is the same at every event, kept once.

use super::sheet::{Sheet, button, out};
use crate::error::Result;
use crate::event::{Event, Habits, TEMPLATE};
use maud::{Markup, html};

/// How long one person takes, by what is done: the key, and the words of the page.
const MINUTES: [(&str, &str, &str); 6] = [
    ("tucked", "to tuck one head", "40 s"),
    ("wired", "to wire one", "2 min"),
    ("water_tube", "for one in a water tube", "75 s"),
    ("bud_vase", "for one in a bud vase", "1 min"),
    ("vessel", "to set a bowl that is made up", "3 min"),
    ("refill", "to fill up a tube", "15 s"),
];

/// What reading a text as habits gives: an example read over them, or what is wrong with them.
///
/// # Errors
/// All problems of the text.
pub fn read(file: &str, text: &str) -> Result<Event> {
    Event::read_with("an example", TEMPLATE, Some(Habits { file, text }), &|_| {
        Err(std::io::ErrorKind::NotFound.into())
    })
}

/// The form.
pub fn form(sheet: &Sheet) -> Markup {
    let stock = |what: &str| sheet.draft.each(what);
    html! {
        p { "What is the same at every event: what an event says itself goes first. What you leave empty is guessed, and every paper says so." }
        section.part aria-label="On papers" {
            p.sen {
                "On papers I am " (sheet.text("florist.name", "Your name, as it stands on papers", 22, "your name"))
                ", telephone " (sheet.text("florist.telephone", "Telephone", 14, "your number"))
                ", temperatures in " (sheet.choice("florist.temperatures", "Temperatures", &[("", "C or F, as each event"), ("C", "C"), ("F", "F")]))
            }
            (sheet.told(&["florist", "florist.name", "florist.telephone", "florist.temperatures"]))
        }
        section.part aria-label="Hands" {
            p.sen {
                "An hour of one person costs " (sheet.text("crew.hourly", "Wage an hour", 8, "EUR 22"))
                ", paid for " (sheet.text("crew.minimum", "Shortest paid call", 5, "3 h"))
                " at least; on top of the work " (sheet.text("crew.slack", "Walking and looking for things", 5, "25 %"))
                " for walking and looking for things."
            }
            (sheet.told(&["crew", "crew.hourly", "crew.minimum", "crew.slack"]))
            p.sen {
                "One person takes "
                @for (i, (key, words, hint)) in MINUTES.iter().enumerate() {
                    @if i > 0 { ", " }
                    (sheet.text(&format!("minutes.{key}"), &format!("Time {words}"), 6, hint)) " " (words)
                }
                "."
            }
            @let keys: Vec<String> = MINUTES.iter().map(|m| format!("minutes.{}", m.0)).collect();
            (sheet.told(&std::iter::once("minutes").chain(keys.iter().map(String::as_str)).collect::<Vec<_>>()))
        }
        section.part aria-label="Stock" {
            @for tube in stock("tubes") {
                @let of = |key: &str| format!("{tube}.{key}");
                p.sen {
                    "I have " (sheet.text(&of("most"), "How many tubes", 5, "any")) " water tubes of "
                    (sheet.text(&of("volume"), "Size of the tubes", 7, "10 ml")) " at "
                    (sheet.text(&of("price"), "Price of a tube", 8, "EUR 0.18")) " " (out(&tube, "this size of tube"))
                }
                (sheet.told(&[&tube, &of("most"), &of("volume"), &of("price")]))
            }
            p.sen {
                "I have " (sheet.text("vases.most", "How many bud vases", 5, "any")) " bud vases at "
                (sheet.text("vases.price", "Price of the use of a vase", 8, "EUR 0.90")) " each time."
            }
            (sheet.told(&["vases", "vases.most", "vases.price"]))
            @for vessel in stock("vessels") {
                @let of = |key: &str| format!("{vessel}.{key}");
                p.sen {
                    "I have " (sheet.text(&of("most"), "How many vessels", 5, "any")) " of "
                    (sheet.text(&of("name"), "What vessel", 8, "bowl")) " at "
                    (sheet.text(&of("price"), "Price of its use", 8, "EUR 3")) " each time " (out(&vessel, "this vessel"))
                }
                (sheet.told(&[&vessel, &of("most"), &of("name"), &of("price")]))
            }
            p.row {
                (button("Add a size of water tube", &[("add:tubes", ""), ("set:tubes.+.volume", "10 ml")], &format!("tubes.{}.most", sheet.draft.count("tubes"))))
                (button("Add a vessel", &[("add:vessels", ""), ("set:vessels.+.name", "bowl")], &format!("vessels.{}.most", sheet.draft.count("vessels"))))
            }
        }
        section.part aria-label="Flowers" {
            @for (table, words, hint) in [("prices", "a stem costs", "EUR 1.10"), ("spares", "I add spare stems of", "10 %")] {
                @let keys = with_rose(sheet.draft.keys(table));
                p.sen {
                    @for (i, key) in keys.iter().enumerate() {
                        @if i > 0 { ", " }
                        @if table == "prices" { (key.replace('-', " ")) ": " (words) " " } @else { (words) " " (key.replace('-', " ")) ": " }
                        (sheet.text(&format!("{table}.{key}"), &format!("{key}, {words}"), 8, hint))
                    }
                    "."
                }
                @let paths: Vec<String> = keys.iter().map(|k| format!("{table}.{k}")).collect();
                (sheet.told(&std::iter::once(table).chain(paths.iter().map(String::as_str)).collect::<Vec<_>>()))
            }
            p.small { "One price is enough to begin with: the others are scaled from it. More flowers can be named in the file, below." }
        }
    }
}

/// The flowers of a table, the rose among them: other prices are scaled from its.
fn with_rose(mut keys: Vec<String>) -> Vec<String> {
    if !keys.iter().any(|key| key == "rose") {
        keys.insert(0, "rose".to_string());
    }
    keys
}
