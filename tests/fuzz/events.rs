//! Event files.

use crate::logs::{load, sane};
use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::event::Event;
use headwater::numerics::random::Key;
use rand::RngExt;
use rand::seq::IndexedRandom;

/// Whether it is read, and then as an event that can be planned.
pub fn read(text: &str) -> bool {
    let event = match Event::read("event.toml", text, &load) {
        Ok(event) => event,
        Err(error) => return refused(&error),
    };
    sound(&event)
}

/// What was read can be planned.
pub fn sound(event: &Event) -> bool {
    let (from, to) = event.span();
    assert!(from.is_finite() && to.is_finite() && to - from < 24.0 * 100.0);
    event.spaces.iter().for_each(|s| sane(&s.climate));
    assert!(!event.access.is_empty() && event.pieces.iter().all(|p| !p.orders.is_empty()));
    let orders = || event.pieces.iter().flat_map(|p| &p.orders);
    assert!(orders().all(|o| o.heads >= 1 && !o.treatments().is_empty() && o.stem_price().is_finite()));
    let slots = headwater::decide::slots::slots(event, &headwater::decide::duties::duties(event));
    assert!(slots.iter().all(|s| s.from < s.to));
    assert!(headwater::report::words::heading(event, 0.0).len() > 1);
    true
}

/// The parts of events, in several forms, all of whose names agree: a line that says what part it is, then its text. The air
/// of a building and the days of a season take longer to work out than the file to read: few have them.
const PARTS: &str = include_str!("parts.toml");

/// The forms of a part.
fn forms(part: &str) -> Vec<&'static str> {
    let blocks = PARTS.split("#: ").filter_map(|block| block.split_once('\n'));
    blocks.filter(|(name, _)| *name == part).map(|(_, text)| text).collect()
}

/// An event put together from one form of each part that it needs, and from some of those that may be.
fn small(generator: &mut impl rand::Rng) -> String {
    let space = if generator.random_bool(0.02) { "rare" } else { "space" };
    let mut text = String::new();
    for part in ["head", "access", space] {
        text += forms(part).choose(generator).expect("a form");
    }
    for part in forms("rest") {
        if generator.random_bool(0.15) {
            text += part;
        }
    }
    text + forms("piece").choose(generator).expect("a form")
}

#[test]
fn events_are_read_or_refused() {
    let key = Key::named(1, "small events");
    let mut corpus: Vec<String> = (0..1000).map(|i| small(&mut key.generator(i))).collect();
    for folder in ["reference-data/demo", "tests/wrong-events", "tests/found"] {
        corpus.extend(texts(folder, ".toml").into_iter().map(|t| t.1));
    }
    fuzz("event", 4000, &Corpus::new(corpus, Form::Lines(&['='])), read);
}
