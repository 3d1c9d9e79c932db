//! A florist's habits, under an event that says little itself.

use crate::events::sound;
use crate::logs::load;
use crate::requests::SUPPER;
use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::event::{Event, HABITS_FILE, HABITS_TEMPLATE, Habits};

/// Whether they are read, and then an event with them.
pub fn read(text: &str) -> bool {
    match Event::read_with("supper.toml", SUPPER, Some(Habits { file: HABITS_FILE, text }), &load) {
        Ok(event) => sound(&event),
        Err(error) => refused(&error),
    }
}

/// Whole sets of habits.
const SMALL: &[&str] = &[
    "[florist]\nname = \"Meadow and Thread\"\ntelephone = \"0123\"\ntemperatures = \"F\"\n[crew]\nhourly = \"EUR 30\"\npeople = 3\n",
    "[prices]\nrose = \"EUR 1.10\"\ndahlia = \"0.90 EUR\"\nhydrangea = 4\n[spares]\nrose = \"10 %\"\ndahlia = \"20 %\"\n",
    "[[vessels]]\nname = \"bowl\"\nprice = \"EUR 3\"\nmost = 12\n[[vessels]]\nname = \"urn\"\n[minutes]\nvessel = \"3 min\"\nrefill = \"15 s\"\n",
    "[minutes]\ntucked = \"40 s\"\nwired = \"2 min\"\nwater_tube = \"75 s\"\nbud_vase = 1\n[[tubes]]\nvolume = \"10 ml\"\nprice = \"EUR 0.18\"\nmost = 400\n",
    "[vases]\nprice = \"EUR 0.90\"\nmost = 120\n[crew]\nminimum = \"3 h\"\nslack = \"25 %\"\n[target]\npresentable = \"90 %\"\nassurance = \"80 %\"\n",
];

#[test]
fn habits_are_read_or_refused() {
    // The template with its examples taken in.
    let filled: String =
        HABITS_TEMPLATE.lines().map(|l| l.strip_prefix("# ").unwrap_or(l)).collect::<Vec<_>>().join("\n");
    let mut corpus: Vec<String> = SMALL.iter().map(|t| (*t).to_string()).collect();
    corpus.extend([HABITS_TEMPLATE.to_string(), filled]);
    corpus.extend(texts("tests/found", ".habits").into_iter().map(|t| t.1));
    fuzz("habits", 2000, &Corpus::new(corpus, Form::Lines(&['='])), read);
}
