//! Event files.

use crate::logs::{load, sane};
use crate::run::{fuzz, refused};
use crate::spoil::{Corpus, Form};
use crate::texts;
use headwater::event::Event;
use headwater::simulate::random::Key;
use rand::RngExt;
use rand::seq::IndexedRandom;

/// Whether it is read, and then as an event that can be planned.
pub fn read(text: &str) -> bool {
    let event = match Event::read("event.toml", text, &load) {
        Ok(event) => event,
        Err(error) => return refused(&error),
    };
    let (from, to) = event.span();
    assert!(from.is_finite() && to.is_finite() && to - from < 24.0 * 100.0);
    event.spaces.iter().for_each(|s| sane(&s.climate));
    assert!(!event.access.is_empty() && event.pieces.iter().all(|p| !p.orders.is_empty()));
    let orders = || event.pieces.iter().flat_map(|p| &p.orders);
    assert!(orders().all(|o| o.heads >= 1 && !o.ways().is_empty() && o.stem_price().is_finite()));
    let slots = headwater::decide::tasks::slots(&event);
    assert!(slots.iter().all(|s| s.from < s.to));
    assert!(headwater::report::words::heading(&event, 0.0).len() > 1);
    true
}

/// The parts that an event needs, each in several forms, and those it may have. All names agree.
const HEADS: &[&str] = &[
    "[event]\nname = \"Supper\"\ndate = 2027-08-14\ndoors = \"16:00\"\nend = \"23:00\"\n",
    "[event]\nname = \"Supper\"\ndate = \"2027-08-14\"\ndoors = \"5 pm\"\nend = \"next day 01:00\"\naltitude = \"400 ft\"\nlatitude = 51.5\n",
    "[event]\nname = \"Frost\"\ndate = 2028-02-29\nplace = \"A hall\"\ndoors = \"12:30\"\nend = \"21:30\"\nlatitude = -33\n",
];
const ACCESS: &[&str] = &[
    "[[access]]\nfrom = \"09:00\"\nto = \"12:00\"\n",
    "[[access]]\nfrom = \"day before 18:00\"\nto = \"day before 21:00\"\n[[access]]\nfrom = \"8 am\"\nto = \"noon\"\n",
];
const SPACES: &[&str] = &[
    "[[space]]\nname = \"barn\"\nroom = \"warm barn\"\n",
    "[[space]]\nname = \"barn\"\nroom = \"cooled ballroom\"\ncooling_off = \"23:00\"\ncooling_on = \"08:00\"\n",
    "[[space]]\nname = \"barn\"\ntemperature = \"21 C\"\nhumidity = \"50 %\"\nair_speed = \"0.2 m/s\"\n",
    "[[space]]\nname = \"barn\"\nlow = \"14 C\"\nhigh = \"80 F\"\nhumidity = 48\nsun = \"half\"\noutdoors = true\n",
    "[[space]]\nname = \"barn\"\nlog = \"whole-day.csv\"\n",
    "[[space]]\nname = \"barn\"\n[[space.hour]]\nat = \"06:00\"\ntemperature = \"15 C\"\nhumidity = \"80 %\"\n[[space.hour]]\nat = \"15:00\"\ntemperature = \"29 C\"\ndew_point = \"14 C\"\nsun = \"300\"\n",
];
/// Its air takes longer to work out than the file to read: few have it.
const BUILDING: &str = "[[space]]\nname = \"barn\"\nlow = \"11 C\"\nhigh = \"22 C\"\nhumidity = \"55 %\"\n[space.building]\nbuilt = \"stone\"\nfloor_area = \"140 m2\"\nheight = \"4.5 m\"\nair = \"doors open\"\n[[space.guests]]\nfrom = \"16:00\"\nto = \"21:00\"\npeople = 60\ndoing = \"seated\"\n";
const PIECES: &[&str] = &[
    "[[piece]]\nname = \"table\"\nspace = \"barn\"\nuntil = \"22:00\"\n[[piece.flower]]\nflower = \"dahlia\"\nheads = 40\n",
    "[[piece]]\nname = \"runner\"\nspace = \"barn\"\nlength = \"12 m\"\nlook = \"lush\"\nnear = [\"cake\", \"candles\"]\n[[piece.flower]]\nflower = \"ruscus\"\n[[piece.flower]]\nflower = \"rose\"\nprice = \"£1.20\"\nlot = \"Hill\"\n",
    "[[piece]]\nname = \"arch\"\nspace = \"barn\"\nshape = \"arch\"\ncounts = \"wilted\"\nplaced_from = \"09:30\"\n[[piece.flower]]\nflower = \"carnation\"\nstems = 60\ntreatments = [\"wired\", \"water tube\"]\ntube = \"10 ml\"\nrefill = [\"15:00\"]\n[[piece.move]]\nat = \"17:30\"\nto = \"barn\"\n",
    "[[piece]]\nname = \"cake\"\nspace = \"barn\"\nshape = \"cake\"\nuntil = \"20:30\"\n[[piece.flower]]\nflower = \"lisianthus\"\nheads = 12\ndry_hours = \"6h\"\nconditioning = \"overnight in the cool\"\nstage = \"half open\"\nleaves = \"on\"\n",
];
const REST: &[&str] = &[
    "[target]\npresentable = \"90 %\"\nassurance = \"80 %\"\n",
    "[crew]\npeople = 4\nskilled = 1\nhourly = \"£22\"\nminimum = \"3 h\"\nslack = \"25 %\"\n",
    "[[tubes]]\nvolume = \"10 ml\"\nprice = \"£0.18\"\nmost = 400\n[[tubes]]\nvolume = \"0.7 oz\"\n",
    "[vases]\nprice = \"£0.90\"\nmost = 120\n",
    "[venue]\nglass = true\ndry_greens = false\n",
    "[[chore]]\nname = \"unload\"\nwork = \"1 h\"\nto = \"12:00\"\n",
    "[marks]\nceremony = \"16:30\"\n\"first dance\" = \"9 pm\"\n",
    "[travel]\ndrive = \"45 min\"\nstore = \"cool store\"\nwait = \"barn\"\nvan_in_water = false\n",
];

/// An event put together from one form of each part, and from some of those that may be.
fn small(generator: &mut impl rand::Rng) -> String {
    let spaces = if generator.random_bool(0.02) { &[BUILDING] } else { SPACES };
    let mut text: String =
        [HEADS, ACCESS, spaces].map(|part| *part.choose(generator).expect("a form")).concat();
    for part in REST {
        if generator.random_bool(0.15) {
            text += part;
        }
    }
    text + PIECES.choose(generator).expect("a piece")
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
