//! An event as the florist writes it: a TOML file, read whole, with every problem reported at once.

mod access;
mod as_meant;
mod building;
mod climate;
mod clocks;
mod cooling;
mod faults;
mod habits;
mod heading;
mod hours;
mod log;
mod looks;
mod means;
mod model;
mod order_id;
mod orders;
mod parse;
mod pieces;
mod section;
mod site;
mod spaces;
mod tent;
mod travel;
mod vessel_words;
mod vessels;
mod way;
mod weather;

pub use habits::{Florist, HABITS_FILE, HABITS_TEMPLATE, Habits};
pub use heading::day;
pub use means::{Chore, Guessed, Means, Minutes, Stems, Tube, VesselStock};
pub use model::{
    Criterion, Event, Near, Order, Piece, Shape, Sort, Space, StemPrice, Travel, Vessel, stood_in,
};
pub use order_id::OrderId;
pub use pieces::MOST_ORDERS;
pub use site::Met;
pub use spaces::MOST_SPACES;
pub use way::Way;

/// The commented event that `headwater new` writes.
pub const TEMPLATE: &str = include_str!("../../reference-data/demo/template.toml");

/// The invented events that are shipped as examples: the name of the file, what it is about, and its text.
pub const EXAMPLES: [(&str, &str, &str); 4] = [
    (
        "harvest-supper",
        "A harvest supper in a barn",
        include_str!("../../reference-data/demo/harvest-supper.toml"),
    ),
    (
        "night-before",
        "A winter dinner, set up the night before",
        include_str!("../../reference-data/demo/night-before.toml"),
    ),
    (
        "heat-wave",
        "A heat wave, and an arch that moves",
        include_str!("../../reference-data/demo/heat-wave.toml"),
    ),
    (
        "two-helpers",
        "Two friends and little money",
        include_str!("../../reference-data/demo/two-helpers.toml"),
    ),
];

/// An invented event with a table in a hall, for tests: access, crew and what else comes before it, and its flowers.
#[cfg(test)]
pub(crate) fn invented(means: &str, flowers: &str) -> Event {
    let file = format!(
        "[event]\nname = \"Invented\"\ndate = 2027-06-13\ndoors = \"16:00\"\nend = \"23:00\"\n{means}\
         [[space]]\nname = \"hall\"\nroom = \"ordinary room\"\n\
         [[piece]]\nname = \"table\"\nspace = \"hall\"\nuntil = \"22:00\"\n{flowers}"
    );
    Event::read("invented.toml", &file, &|_| Err(std::io::Error::other("no other file")))
        .unwrap_or_else(|e| panic!("{e}"))
}
