//! What an event is, once its file is read and checked.
//!
//! Hours are hours from the midnight that begins the event's day, on the clock of that day's noon: they pass as they do,
//! whatever the clocks show.

use super::clocks::passed;
use super::habits::Florist;
use super::means::Means;
use super::site::Met;
use super::way::Way;
use crate::climate::Climate;
use crate::error::Problem;
use crate::flower::boxes::Boxes;
use crate::flower::catalogue::Flower;
use crate::flower::learned::Learned;
use crate::flower::treatment::{Handling, Method, Treatment};
use crate::units::{ClockStyle, Length, Moment, Scale, Turn};
use std::collections::BTreeMap;

/// Everything the plan needs to know about an event.
#[derive(Debug, Clone)]
pub struct Event {
    /// What the event is called.
    pub name: String,
    /// Where it takes place.
    pub place: Option<String>,
    /// The day it takes place.
    pub date: jiff::civil::Date,
    /// The hour by which everything must be in place.
    pub doors: f64,
    /// The hour at which it ends.
    pub end: f64,
    /// Other hours worth showing on the clock, each with its name.
    pub marks: Vec<(String, f64)>,
    /// Windows in which the florist may set up, in rising order.
    pub access: Vec<(f64, f64)>,
    /// How the flowers come to the venue.
    pub travel: Travel,
    /// The spaces in which flowers stand.
    pub spaces: Vec<Space>,
    /// The days of which it meets one, the coolest first; none where its day is given. Climates have theirs in the same order.
    pub met: Vec<Met>,
    /// The pieces that the florist makes.
    pub pieces: Vec<Piece>,
    /// Share of heads that should be presentable, 0 to 1.
    pub target_share: f64,
    /// The probability with which that share should be reached, 0 to 1.
    pub assurance: f64,
    /// People, material, prices and the venue's rules.
    pub means: Means,
    /// How clock times are written.
    pub clock: ClockStyle,
    /// The change of the clocks near it, where the file names the time zone.
    pub turn: Option<Turn>,
    /// How temperatures are written.
    pub scale: Scale,
    /// The notebook of trials that the file names, as it is written there.
    pub notebook: Option<String>,
    /// The way in which it is to be done.
    pub way: Way,
    /// What the notebook has taught of any flower, by its id, for orders of it and for stand-ins.
    pub taught: BTreeMap<&'static str, Learned>,
    /// Who makes the flowers.
    pub florist: Florist,
    /// What was assumed because the file does not say.
    pub assumptions: Vec<String>,
}

/// How flowers come to the venue: out of the cool store, in the van, then waiting on site until placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Travel {
    /// Index of the space in which they are stored before the drive.
    pub store: usize,
    /// Index of the space in which they travel.
    pub van: usize,
    /// How long the drive takes, h.
    pub drive: f64,
    /// Whether they travel in water.
    pub van_in_water: bool,
    /// Whether they wait in water.
    pub wait_in_water: bool,
    /// The boxes in which they are where they are not.
    pub boxes: Boxes,
}

/// A place with a climate.
#[derive(Debug, Clone)]
pub struct Space {
    /// What the space is called.
    pub name: String,
    /// Its air by the hour.
    pub climate: Climate,
    /// Where its climate comes from, in words.
    pub from: String,
    /// Whether a machine keeps it cool, and so could fail.
    pub cooled: bool,
    /// The air outside it, where it is a tent worked out from its building.
    pub outside: Option<Climate>,
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
    /// What the piece is called.
    pub name: String,
    /// Index of the space in which it is set up.
    pub space: usize,
    /// The hours at which it moves, and the space it moves to, in rising order.
    pub moves: Vec<(f64, usize)>,
    /// Whether the venue's people move it, rather than the crew.
    pub moved_by_venue: bool,
    /// The hour until which it must look good.
    pub until: f64,
    /// Index of the space in which its flowers wait until they are placed.
    pub wait: usize,
    /// What kind of piece it is, which limits what may be done with it.
    pub shape: Shape,
    /// The florist's own limits on when it is placed.
    pub placed: Option<(f64, f64)>,
    /// How long the piece is, where the file says.
    pub length: Option<Length>,
    /// How many there are of it, all alike. Its orders hold the flowers of all of them.
    pub count: u32,
    /// The vessel in which all its flowers stand, if they do.
    pub vessel: Option<Vessel>,
    /// What it stands near, for the cautions.
    pub near: Vec<Near>,
    /// Its flowers and greens.
    pub orders: Vec<Order>,
}

/// A vessel with water of which all flowers of a piece drink.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// What it is called: a bowl, a jug, an urn.
    pub name: String,
    /// The water that is put in, ml.
    pub ml: f64,
    /// How many there are, in all of the pieces that are alike.
    pub number: u32,
}

/// What kind of piece it is.
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
    /// Cats or dogs about the place.
    Pets,
    /// Small children who touch things.
    Children,
    /// Candles or other flame.
    Flame,
    /// Something overhead, reached by ladder.
    Overhead,
}

/// Some heads of one flower in one piece.
#[derive(Debug, Clone)]
pub struct Order {
    /// The flower or foliage, or the one of the catalogue that it is like.
    pub flower: &'static Flower,
    /// What the florist calls it, where it is only like a flower of the catalogue.
    pub own_name: Option<String>,
    /// The colour that she names, which says which to buy and nothing of how long it lasts.
    pub colour: Option<String>,
    /// How many heads, or sprigs of a foliage.
    pub heads: u32,
    /// What counts as still good.
    pub counts: Criterion,
    /// The delivery, by the name it has in the notebook.
    pub lot: Option<String>,
    /// How they were prepared, and how they arrive.
    pub handling: Handling,
    /// The methods allowed for them, the least work first.
    pub methods: Vec<Method>,
    /// The hours at which their tubes are refilled.
    pub refills: Vec<f64>,
    /// Sizes of tubes that would fit them, ml, smallest first.
    pub tubes: Vec<f64>,
    /// Each head's share of the water in its vessel, ml; 0 where there is none.
    pub vessel_ml: f64,
    /// What a stem costs.
    pub price: StemPrice,
}

/// What a stem costs, in money.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StemPrice {
    /// The florist's own price of it.
    pub own: Option<f64>,
    /// The price of a standard rose, from which all others follow: scaled to the florist's prices, or a guess.
    pub rose: f64,
}

/// The price of a stem of a standard rose where the florist gives none (a guess, from memory).
pub const ROSE: f64 = 1.2;

/// A flower as it is bought: of the catalogue or the florist's own, in a colour.
#[derive(Debug, Clone)]
pub struct Sort {
    /// The flower, or the one of the catalogue that it is like.
    pub flower: &'static Flower,
    /// What the florist calls it, where it is only like a flower of the catalogue.
    pub own_name: Option<String>,
    /// Its colour, where one is named.
    pub colour: Option<String>,
}

impl PartialEq for Sort {
    fn eq(&self, other: &Sort) -> bool {
        self.flower.id() == other.flower.id()
            && self.own_name == other.own_name
            && self.colour == other.colour
    }
}

impl Order {
    /// What is bought for it.
    pub fn sort(&self) -> Sort {
        Sort { flower: self.flower, own_name: self.own_name.clone(), colour: self.colour.clone() }
    }

    /// What the flower is called: by the florist, or else in the catalogue.
    pub fn flower_name(&self) -> &str {
        self.own_name.as_deref().unwrap_or(self.flower.name())
    }

    /// The price of a stem, in the event's money: the florist's own, or one that follows from that of a rose.
    pub fn stem_price(&self) -> f64 {
        self.price.own.unwrap_or(self.price.rose * self.flower.relative_price())
    }

    /// The same order of another flower, of which nothing is known but what the catalogue says.
    fn of(&self, flower: &'static Flower) -> Order {
        let handling = Handling {
            own_dry_hours: None,
            learned: None,
            cultivar_known: false,
            split: None,
            ..self.handling
        };
        let price = StemPrice { own: None, ..self.price };
        Order { flower, own_name: None, colour: None, lot: None, handling, price, ..self.clone() }
    }

    /// How many heads come from a stem: those that it bears, or the parts into which its one head is cut.
    pub fn heads_per_stem(&self) -> u32 {
        self.handling.split.map_or(self.flower.faces_per_stem(), std::num::NonZeroU32::get)
    }

    /// How many stems these heads take.
    pub fn stems(&self) -> u32 {
        self.heads.div_ceil(self.heads_per_stem())
    }

    /// The treatments allowed for them: water tubes once for every size.
    pub fn treatments(&self) -> Vec<Treatment> {
        self.methods
            .iter()
            .flat_map(|&method| match method {
                Method::WaterTube => self.tubes.iter().map(|ml| Treatment::new(method, *ml)).collect(),
                _ => vec![Treatment::new(method, self.vessel_ml)],
            })
            .collect()
    }
}

impl Piece {
    /// The spaces it stands in, one after the other.
    pub fn spaces(&self) -> impl Iterator<Item = usize> {
        std::iter::once(self.space).chain(self.moves.iter().map(|m| m.1))
    }

    /// The space it stands in at an hour.
    pub fn space_at(&self, hour: f64) -> usize {
        let moved = self.moves.iter().rev().find(|(at, _)| *at <= hour);
        moved.map_or(self.space, |(_, to)| *to)
    }
}

/// The spaces in which any of the pieces stands, each once, in their own order.
pub fn stood_in<'a>(pieces: impl Iterator<Item = &'a Piece>) -> Vec<usize> {
    let spaces: std::collections::BTreeSet<usize> = pieces.flat_map(Piece::spaces).collect();
    spaces.into_iter().collect()
}

impl Event {
    /// The same order of another flower, of which the notebook and the catalogue tell.
    pub fn stand_in(&self, order: &Order, flower: &'static Flower) -> Order {
        let other = order.of(flower);
        let handling = Handling { learned: self.taught.get(flower.id()).copied(), ..other.handling };
        Order { handling, ..other }
    }

    /// A moment on the event's clock, written in the florist's own style.
    pub fn moment(&self, hours: f64) -> Moment {
        Moment { hours, style: self.clock, turn: self.turn }
    }

    /// A time as it was read off the clock, in the hours that pass.
    ///
    /// # Errors
    /// If the clock leaps over it, that night.
    pub fn passed(&self, read: Moment) -> std::result::Result<f64, Problem> {
        passed(read, self.turn).map(|moment| moment.hours)
    }

    /// Whether there is time to set up between two hours.
    pub(super) fn has_access_within(&self, (from, to): (f64, f64)) -> bool {
        self.access.iter().any(|(a, b)| a.max(from) < b.min(to).min(self.doors))
    }

    /// When `piece` may be set up: the access windows up to the doors, within the piece's own limits.
    pub(super) fn setup_windows(&self, piece: &Piece) -> Vec<(f64, f64)> {
        let (from, to) = piece.placed.unwrap_or((f64::NEG_INFINITY, f64::INFINITY));
        self.access
            .iter()
            .map(|(a, b)| (a.max(from), b.min(to).min(self.doors)))
            .filter(|(a, b)| a <= b)
            .collect()
    }

    /// When flowers of `piece` may be placed: whenever it may be set up, but not after the hour until which it must
    /// look good.
    pub fn windows(&self, piece: &Piece) -> Vec<(f64, f64)> {
        let until_its_hour = |(a, b): (f64, f64)| (a, b.min(piece.until));
        self.setup_windows(piece).into_iter().map(until_its_hour).filter(|(a, b)| a <= b).collect()
    }

    /// From the hour at which the first flowers leave the store to the last hour asked about.
    pub fn span(&self) -> (f64, f64) {
        let first = self.access.iter().map(|w| w.0).fold(self.doors, f64::min) - self.travel.drive;
        let last = self.pieces.iter().map(|p| p.until).fold(self.end, f64::max);
        (first, last)
    }
}
