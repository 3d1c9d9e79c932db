//! Stand-ins for a flower: how similar they are, and how they would fare in its place.

use super::options::{Scene, wanted};
use crate::climate::Climate;
use crate::event::{Event, Order, Piece};
use crate::flower::catalogue::{Catalogue, Flower, Quantity};
use crate::flower::lookalikes;
use crate::flower::trade::Colour;
use crate::flower::treatment::Treatment;
use crate::stats::Band;

/// How similar one flower is to another.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Likeness {
    /// Its diameter divided by the other's.
    pub size: f64,
    /// Whether it has the same shape.
    pub same_shape: bool,
    /// The share of the other's colours that it comes in; 1 or 0 if one colour is wanted.
    pub colours: f64,
    /// Its price a head divided by the other's.
    pub price: f64,
    /// Whether it is in season in the month asked about.
    pub in_season: bool,
    /// All of these in one number from 0 to 1.
    pub score: f64,
}

/// The factors by which another shape and being out of season lower the score (judgement).
const OTHER_SHAPE: f64 = 0.7;
const OUT_OF_SEASON: f64 = 0.4;
/// The ratios of size and of price that lower the score to 1/e (judgement).
const SIZE_SCALE: f64 = 1.8;
const PRICE_SCALE: f64 = 4.0;

/// How similar `other` is to `flower` in a month (1 to 12), in one colour if one is wanted.
///
/// # Formula
/// `score = exp(-|ln size| / ln 1.8) exp(-max(0, ln price) / ln 4) c s m`, where `c` is the share of colours, `s` is
/// 0.7 for another shape and `m` is 0.4 out of season, else 1. A dearer stand-in scores lower, a cheaper one no higher. A
/// flower that the trade names in its place for its looks scores at least its likeness there ([`lookalikes::named`]) times
/// `m`, and `c` if one colour is wanted. Judgement throughout.
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
    // What the trade names for its looks comes before what is only as large and as dear.
    let named = lookalikes::named(flower, other).map_or(0.0, |like| {
        like * if colour.is_some() { colours } else { 1.0 } * if in_season { 1.0 } else { OUT_OF_SEASON }
    });
    let score = score.max(named);
    Likeness { size, same_shape, colours, price, in_season, score }
}

/// The flowers most similar to `flower` and of its kind, at most `most` of them, the most similar first.
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

/// A stand-in for the flower of an order.
#[derive(Debug, Clone)]
pub struct StandIn {
    /// The flower that stands in.
    pub flower: &'static Flower,
    /// How similar it is; `None` for the flower itself.
    pub likeness: Option<Likeness>,
    /// The simplest treatment that meets the target, and its earliest placing, h on the event's clock; `None` if none
    /// does.
    pub lasts: Option<(Treatment, f64)>,
    /// How many of the heads ordered will be presentable if they are tucked in dry at the last moment.
    pub dry: Band,
}

/// How the flower of an order and up to `most` stand-ins fare in its place. The flower itself comes first, then the
/// stand-ins that last, by trouble and then by similarity, then the others.
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
        // The florist's own name and hours are of the ordered flower alone.
        let order = if likeness.is_some() { event.stand_in(order, flower) } else { order.clone() };
        let scene = Scene::new(event, (piece, &order), spaces, (seed, lots));
        let options = scene.options();
        // Nobody has time to work if everything is placed at the last moment.
        let end = options.iter().map(|o| o.place_at).fold(f64::NEG_INFINITY, f64::max);
        let mut lasts = None;
        for treatment in order.treatments() {
            let run: Vec<_> =
                options.iter().filter(|o| o.treatment == treatment && o.top_up.is_none()).collect();
            let good = run.iter().rev().take_while(|o| o.spares.is_some()).count();
            let from = run[run.len() - good.max(1)].place_at;
            if good > 0 && from < end && lasts.is_none() {
                lasts = Some((treatment, from));
            }
        }
        let dry = options.iter().rev().find(|o| o.treatment.method.is_dry() && o.top_up.is_none());
        let none = Band { p05: 0.0, p50: 0.0, p95: 0.0 };
        StandIn { flower, likeness, lasts, dry: dry.map_or(none, |o| o.count) }
    };
    let itself = tried(order.flower, None);
    let mut others: Vec<StandIn> = likest(order.flower, month, colour, most)
        .into_iter()
        .map(|(flower, like)| tried(flower, Some(like)))
        .collect();
    let wanted = f64::from(wanted(order.heads, event.target_share));
    let key = |s: &StandIn| {
        let trouble = s.lasts.map_or(9, |(treatment, _)| treatment.method as u8);
        // Of those that last with equal trouble the most similar comes first; of the others, the one that nearly lasts.
        let like = s.likeness.map_or(0.0, |l| l.score);
        (trouble, -if s.lasts.is_some() { like } else { like * s.dry.p50 / wanted })
    };
    others.sort_by(|a, b| key(a).partial_cmp(&key(b)).expect("scores are numbers"));
    std::iter::once(itself).chain(others).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The formula as powers: `(1/e)^(ln x / ln 1.8)` is `x^(-1/ln 1.8)`. A flower is wholly like itself in season, and as much as
    /// [`OUT_OF_SEASON`] out of it; in a colour that the other has not, it is not like it at all.
    #[test]
    fn likeness_falls_with_size_price_colour_shape_and_season() {
        let all = Catalogue::shipped().all();
        let (mut dearer, mut named) = (0, 0);
        for (a, b) in
            all.iter().flat_map(|a| all.iter().map(move |b| (a, b))).filter(|(a, b)| a.kind() == b.kind())
        {
            let like = likeness(a, b, 6, None);
            let size = b.median(Quantity::Size) / a.median(Quantity::Size);
            let a_head = |f: &Flower| f.relative_price() / f64::from(f.faces_per_stem());
            assert!((like.price * a_head(a) - a_head(b)).abs() < 1e-12 && (like.size - size).abs() < 1e-12);
            let of_size = size.max(1.0 / size).powf(-1.0 / 1.8_f64.ln());
            let of_price = like.price.max(1.0).powf(-1.0 / 4.0_f64.ln());
            let of_shape = if a.form() == b.form() { 1.0 } else { 0.7 };
            let of_season = if b.months().has(6) { 1.0 } else { 0.4 };
            let known = of_size * of_price * of_shape * of_season * like.colours;
            // What the trade names for its looks is at least so like, in season.
            let looks = lookalikes::named(a, b).map(|like| like * of_season);
            let known = known.max(looks.unwrap_or(0.0));
            named += usize::from(looks.is_some_and(|looks| looks == known) && of_season < 1.0);
            assert!((like.score - known).abs() < 1e-12, "{} {}: {} {known}", a.id(), b.id(), like.score);
            dearer += usize::from(like.price > 1.2);
        }
        assert!(dearer > 20 && named > 3, "{dearer}, {named}");
        let rose = Catalogue::shipped().find("rose").unwrap();
        let missing =
            [Colour::White, Colour::Blue, Colour::Green].into_iter().find(|c| !rose.colours().contains(c));
        assert_eq!(missing.map(|colour| likeness(rose, rose, 6, Some(colour)).score), Some(0.0));
        assert!((likeness(rose, rose, 6, None).score - 1.0).abs() < 1e-12);
    }

    /// In an ordinary room until three: what lasts comes first, the simplest treatment before others, and of equals the likest.
    #[test]
    fn stand_ins_that_last_come_by_trouble_and_then_by_looks() {
        let event = crate::event::invented(
            "[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n",
            "[[piece.flower]]\nflower = \"sweet pea\"\nheads = 40\n",
        );
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let (_, piece, order) = event.orders().next().unwrap();
        let found = stand_ins(&event, (piece, order), &spaces, None, (1, 16), 12);
        assert!(
            found.len() == 13 && found[0].flower.id() == order.flower.id() && found[0].likeness.is_none()
        );
        let key = |s: &StandIn| (s.lasts.map_or(9, |(t, _)| t.method as u8), -s.likeness.unwrap().score);
        let lasting: Vec<_> = found[1..].iter().filter(|s| s.lasts.is_some()).map(key).collect();
        assert!(lasting.len() > 3 && lasting.is_sorted(), "{lasting:?}");
        assert!(found[1..].iter().map(|s| s.lasts.is_some()).is_sorted_by(|a, b| a >= b));
    }

    #[test]
    fn the_likest_come_first_and_are_of_its_kind() {
        let dahlia = Catalogue::shipped().find("dahlia").unwrap();
        let found = likest(dahlia, 8, None, 12);
        assert_eq!(found.len(), 12);
        assert!(found.windows(2).all(|pair| pair[0].1.score >= pair[1].1.score));
        assert!(found.iter().all(|(f, _)| f.kind() == dahlia.kind() && f.id() != dahlia.id()));
    }
}
