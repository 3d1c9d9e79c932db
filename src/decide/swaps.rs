//! Stand-ins for a flower: how like it they are, and how they would fare in its place.

use super::options::{Scene, wanted};
use crate::climate::Climate;
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::trade::Colour;
use crate::flower::treatment::{Handling, Treatment};
use crate::stats::Band;

/// How like one flower is to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likeness {
    /// Its size across as a share of the other's.
    pub size: f64,
    /// Whether it has the same shape.
    pub same_shape: bool,
    /// The share of the other's colours it can be had in; 1 or 0 where one colour is wanted.
    pub colours: f64,
    /// The price of a head as a share of the other's.
    pub price: f64,
    /// Whether it is in season.
    pub in_season: bool,
    /// All of that in one number from 0 to 1.
    pub score: f64,
}

/// How much the score falls for a flower of another shape, and out of season (judgement).
const OTHER_SHAPE: f64 = 0.7;
const OUT_OF_SEASON: f64 = 0.4;
/// A head of this many times the size or the price counts for 1/e (judgement).
const SIZE_SCALE: f64 = 1.8;
const PRICE_SCALE: f64 = 4.0;

/// How like `other` is to `flower` in a month, in a colour if one is wanted.
///
/// # Formula
/// `score = exp(-|ln size| / ln 1.8) exp(-max(0, ln price) / ln 4) c s m`: dearer counts against a stand-in, cheaper
/// does not; `c` is its share of colours, `s` 0.7 for another shape, `m` 0.4 out of season. Judgement throughout.
///
/// ```
/// use headwater::{decide::swaps::likeness, flower::catalogue::Catalogue};
/// let find = |name: &str| Catalogue::shipped().find(name).unwrap();
/// let like = |name: &str| likeness(find("dahlia"), find(name), 8, None).score;
/// assert!(like("chrysanthemum-disbud") > like("lavender"));
/// ```
pub fn likeness(flower: &Flower, other: &Flower, month: i8, colour: Option<Colour>) -> Likeness {
    let of = |f: &Flower| f.median(Quantity::Size);
    let a_head = |f: &Flower| f.relative_price() / f64::from(f.faces_per_stem());
    let size = of(other) / of(flower);
    let price = a_head(other) / a_head(flower);
    let same_shape = other.form() == flower.form();
    let colours = match colour {
        Some(colour) => f64::from(u8::from(other.colours().contains(&colour))),
        None => {
            let shared = flower.colours().iter().filter(|c| other.colours().contains(c)).count();
            shared as f64 / flower.colours().len().max(1) as f64
        }
    };
    let in_season = other.months().has(month);
    let score = (-size.ln().abs() / SIZE_SCALE.ln()).exp()
        * (-price.ln().max(0.0) / PRICE_SCALE.ln()).exp()
        * colours
        * if same_shape { 1.0 } else { OTHER_SHAPE }
        * if in_season { 1.0 } else { OUT_OF_SEASON };
    Likeness { size, same_shape, colours, price, in_season, score }
}

/// The flowers most like one, the likest first.
pub fn likest(
    flower: &Flower,
    month: i8,
    colour: Option<Colour>,
    most: usize,
) -> Vec<(&'static Flower, Likeness)> {
    let mut others: Vec<(&Flower, Likeness)> = Catalogue::shipped()
        .all()
        .iter()
        .filter(|f| f.id() != flower.id() && f.kind() == flower.kind())
        .map(|f| (f, likeness(flower, f, month, colour)))
        .filter(|(_, like)| like.score > 0.02)
        .collect();
    others.sort_by(|a, b| b.1.score.total_cmp(&a.1.score));
    others.truncate(most);
    others
}

/// A stand-in in the place of an order.
#[derive(Debug, Clone)]
pub struct StandIn {
    /// The flower.
    pub flower: &'static Flower,
    /// How like it is; `None` for the flower itself.
    pub likeness: Option<Likeness>,
    /// The simplest way that lasts and from when, if any does.
    pub lasts: Option<(Treatment, f64)>,
    /// Tucked dry at the last moment: how many of the heads ordered will be presentable.
    pub dry: Band,
}

/// The flower of an order and its stand-ins in its place: the flower first, then those that last, the least trouble and
/// the likest first, then the others.
pub fn stand_ins(
    event: &Event,
    (piece, order): (&Piece, &Order),
    spaces: &[Climate],
    colour: Option<Colour>,
    (seed, lots): (u64, usize),
    most: usize,
) -> Vec<StandIn> {
    let month = event.date.month();
    let tried = |flower: &'static Flower, likeness: Option<Likeness>| {
        let mut order = Order { flower, ..order.clone() };
        if likeness.is_some() {
            // What is known of the flower itself is not known of another.
            order.handling = Handling { own_dry_hours: None, learned: None, ..order.handling };
        }
        let scene = Scene::new(event, (piece, &order), spaces, (seed, lots));
        let options = scene.options();
        // The last moment itself leaves nobody time to work.
        let end = options.iter().map(|c| c.place_at).fold(f64::NEG_INFINITY, f64::max);
        let mut lasts = None;
        for treatment in order.treatments() {
            let run: Vec<_> =
                options.iter().filter(|c| c.treatment == treatment && c.top_up.is_none()).collect();
            let good = run.iter().rev().take_while(|c| c.spares.is_some()).count();
            let from = run[run.len() - good.max(1)].place_at;
            if good > 0 && from < end && lasts.is_none() {
                lasts = Some((treatment, from));
            }
        }
        let dry = options.iter().rev().find(|c| c.treatment.method.is_dry() && c.top_up.is_none());
        let none = Band { p05: 0.0, p50: 0.0, p95: 0.0 };
        StandIn { flower, likeness, lasts, dry: dry.map_or(none, |c| c.count) }
    };
    let itself = tried(order.flower, None);
    let mut others: Vec<StandIn> = likest(order.flower, month, colour, most)
        .into_iter()
        .map(|(flower, like)| tried(flower, Some(like)))
        .collect();
    let wanted = f64::from(wanted(order.heads, event.target_share));
    let key = |s: &StandIn| {
        let trouble = s.lasts.map_or(9, |(treatment, _)| treatment.method as u8);
        // Among those that last as easily the likest is first; among those that do not, the one that nearly does.
        let like = s.likeness.map_or(0.0, |l| l.score);
        (trouble, -if s.lasts.is_some() { like } else { like * s.dry.p50 / wanted })
    };
    others.sort_by(|a, b| key(a).partial_cmp(&key(b)).expect("scores are numbers"));
    std::iter::once(itself).chain(others).collect()
}
