//! An event as the user writes it: a TOML file, read whole, with every problem found at once.

mod building;
mod clocks;
mod cooling;
mod faults;
mod logged;
mod means;
mod orders;
mod parse;
mod pieces;
mod read;
mod spaces;
mod times;
mod typed;

pub use means::{Chore, Means, Tube};
pub use orders::OrderId;

use crate::climate::Climate;
use crate::error::Problem;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::{Handling, Method, Treatment};
use crate::units::{ClockStyle, Length, Moment, Scale};

/// The commented event that `headwater new` writes.
pub const TEMPLATE: &str = include_str!("../../reference-data/demo/template.toml");

/// Everything the plan needs to know, checked.
#[derive(Debug, Clone)]
pub struct Event {
    /// What it is called.
    pub name: String,
    /// Where it is.
    pub place: Option<String>,
    /// Its day.
    pub date: jiff::civil::Date,
    /// By when everything must stand, in hours from the midnight that begins its day.
    pub doors: f64,
    /// When it ends.
    pub end: f64,
    /// Other times worth marking on the clock.
    pub marks: Vec<(String, f64)>,
    /// When the florist may place things, in rising order.
    pub access: Vec<(f64, f64)>,
    /// How the flowers come.
    pub travel: Travel,
    /// Where they stand.
    pub spaces: Vec<Space>,
    /// What they make.
    pub pieces: Vec<Piece>,
    /// Share of heads that should be presentable.
    pub target_share: f64,
    /// How sure the florist wants to be of that.
    pub assurance: f64,
    /// What there is to work with.
    pub means: Means,
    /// How clock times are written.
    pub clock: ClockStyle,
    /// How temperatures are written.
    pub scale: Scale,
    /// The notebook of trials it names, as written there.
    pub notebook: Option<String>,
    /// What was assumed because the file does not say.
    pub assumptions: Vec<String>,
}

/// More flowers than this, over all pieces, are not planned at once: it would take hours, and memory that laptops lack.
pub const MOST_ORDERS: usize = 200;

/// More spaces than this are no event: every piece is looked for in all of them.
pub const MOST_SPACES: usize = 200;

/// How flowers come to the venue: out of the cool store, in the van, then waiting on site until placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// The space they are kept in before.
    pub store: usize,
    /// The space they travel in.
    pub van: usize,
    /// How long the drive takes, h.
    pub drive: f64,
    /// Whether they travel in water.
    pub van_in_water: bool,
    /// Whether they wait in water.
    pub wait_in_water: bool,
}

/// A place with a climate.
#[derive(Debug, Clone)]
pub struct Space {
    /// What it is called.
    pub name: String,
    /// Its air by the hour.
    pub climate: Climate,
    /// Where its climate comes from, in words.
    pub from: String,
    /// Whether a machine keeps it cool, which can fail.
    pub cooled: bool,
}

/// When a head counts as no longer good enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "lowercase")]
pub enum Criterion {
    /// At the first visible softening: seen from close up.
    Flagging,
    /// When plainly limp: seen from the other side of a table.
    Wilted,
}

/// Something the florist makes.
#[derive(Debug, Clone)]
pub struct Piece {
    /// What it is called.
    pub name: String,
    /// Where it is set up.
    pub space: usize,
    /// When it moves, and where to, in rising order.
    pub moves: Vec<(f64, usize)>,
    /// Until when it must look good.
    pub until: f64,
    /// Where its flowers wait until they are placed.
    pub wait: usize,
    /// What it is, for what may be done with it.
    pub shape: Shape,
    /// The florist's own limits on when it is placed.
    pub placed: Option<(f64, f64)>,
    /// Its length.
    pub length: Option<Length>,
    /// Things to be careful of: food, cats, children, candles.
    pub near: Vec<Near>,
    /// Its flowers and greens.
    pub orders: Vec<Order>,
}

/// What a piece is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Shape {
    /// Something on a table or the floor, beside which a vase can stand.
    #[default]
    Table,
    /// Something upright: an arch, an aisle, a pew end.
    Arch,
    /// Flowers on a cake.
    Cake,
}

/// What a piece stands near, for the cautions.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Near {
    /// A cake, a buffet, plates.
    Food,
    /// Cats or dogs.
    Pets,
    /// Small children.
    Children,
    /// Candles or other flame.
    Flame,
    /// Something overhead, reached by ladder.
    Overhead,
}

/// Some heads of one flower in one piece.
#[derive(Debug, Clone)]
pub struct Order {
    /// The flower.
    pub flower: &'static Flower,
    /// How many heads (sprigs, of a green).
    pub heads: u32,
    /// What counts as still good.
    pub counts: Criterion,
    /// Which delivery, by the name it has in the notebook.
    pub lot: Option<String>,
    /// How they arrive and are set.
    pub handling: Handling,
    /// What may be done with them, the least trouble first.
    pub methods: Vec<Method>,
    /// When tubes are filled up.
    pub refills: Vec<f64>,
    /// Sizes of tubes that would fit them, ml, smallest first.
    pub tubes: Vec<f64>,
    /// What a stem of them costs, where the florist says so.
    pub stem_price: Option<f64>,
}

/// What a stem of a standard rose costs where nobody says (a guess, from memory).
const ROSE: f64 = 1.2;

impl Order {
    /// What a stem costs.
    pub fn stem_price(&self) -> f64 {
        self.stem_price.unwrap_or(ROSE * self.flower.relative_price())
    }

    /// What may be done with them, with every size of tube.
    pub fn treatments(&self) -> Vec<Treatment> {
        self.methods
            .iter()
            .flat_map(|&method| match method {
                Method::WaterTube => self.tubes.iter().map(|ml| Treatment::new(method, *ml)).collect(),
                _ => vec![Treatment::new(method, 0.0)],
            })
            .collect()
    }
}

impl Piece {
    /// The spaces it stands in, one after the other.
    pub fn spaces(&self) -> impl Iterator<Item = usize> {
        std::iter::once(self.space).chain(self.moves.iter().map(|m| m.1))
    }
}

/// The spaces that some pieces stand in, each once, in their own order.
pub fn stood_in<'a>(pieces: impl Iterator<Item = &'a Piece>) -> Vec<usize> {
    let spaces: std::collections::BTreeSet<usize> = pieces.flat_map(Piece::spaces).collect();
    spaces.into_iter().collect()
}

impl Event {
    /// Reads an event file. `load` fetches a logger's file named in it, by the name written there.
    ///
    /// # Errors
    /// Every problem in the file, each with line, what was expected and what to type.
    pub fn read(
        file: &str,
        text: &str,
        load: &dyn Fn(&str) -> std::io::Result<String>,
    ) -> crate::error::Result<Event> {
        parse::event(file, text, load)
    }

    /// A moment of its clock, written as the user writes it.
    pub fn moment(&self, hours: f64) -> Moment {
        Moment::at(hours).shown_as(self.clock)
    }

    /// Whether there is time to set up between two hours.
    fn someone_on_site(&self, (from, to): (f64, f64)) -> bool {
        self.access.iter().any(|(a, b)| a.max(from) < b.min(to).min(self.doors))
    }

    /// When `piece` may be set up: the access windows up to the doors, within the piece's own limits.
    fn allowed(&self, piece: &Piece) -> Vec<(f64, f64)> {
        let (from, to) = piece.placed.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        self.access
            .iter()
            .map(|(a, b)| (a.max(from), b.min(to).min(self.doors)))
            .filter(|(a, b)| a <= b)
            .collect()
    }

    /// When `piece` may be placed: as it may be set up, and not after its own hour.
    pub fn windows(&self, piece: &Piece) -> Vec<(f64, f64)> {
        let before_its_hour = |(a, b): (f64, f64)| (a, b.min(piece.until));
        self.allowed(piece).into_iter().map(before_its_hour).filter(|(a, b)| a <= b).collect()
    }

    /// The hours from the first flowers leaving the store to the last hour asked about.
    pub fn span(&self) -> (f64, f64) {
        let first = self.access.iter().map(|w| w.0).fold(self.doors, f64::min) - self.travel.drive;
        let last = self.pieces.iter().map(|p| p.until).fold(self.end, f64::max);
        (first, last)
    }
}

/// The space of that name, or the problem that there is none.
///
/// No problem where spaces or their names are missing: that is told already.
fn find_space(name: &str, names: &[String]) -> Result<usize, Option<Problem>> {
    if let Some(i) = names.iter().position(|n| n == name) {
        return Ok(i);
    }
    if names.iter().all(|n| n.is_empty()) {
        return Err(None);
    }
    let help = match crate::error::nearest(name, names.iter().map(String::as_str)) {
        Some(near) => format!("\"{near}\""),
        None => format!("add a [[space]] with name = \"{name}\""),
    };
    let problem = Problem::new(format!("there is no space called \"{name}\""));
    Err(Some(problem.expected(format!("the name of a [[space]]: {}", names.join(", "))).help(help)))
}
