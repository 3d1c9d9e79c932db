//! The `[[piece]]` sections of an event file: what is made, where it stands and when it moves.

use super::looks::{LOOKS, Look};
use super::means::{Means, Purse, number};
use super::model::{Near, Order, Piece, Shape};
use super::orders::{Asked, COUNTS, order};
use super::section::{Found, Section};
use super::spaces::find_space;
use super::vessels::{share_water, vessel};
use crate::error::{Problem, nearest};
use crate::units::{Length, Moment};
use std::ops::Range;

/// At most this many flowers, over all pieces, are planned at once: more would take hours, and memory that laptops lack.
pub const MOST_ORDERS: usize = 200;

/// What the pieces of an event have in common, and what is collected from them.
pub struct ParseContext<'a> {
    /// The names of the spaces.
    pub spaces: &'a [String],
    /// What there is to work with.
    pub means: &'a Means,
    /// The money met so far.
    pub purse: &'a mut Purse,
    /// When the event ends.
    pub end: Moment,
    /// Names of pieces that are taken.
    pub taken: Vec<String>,
    /// What was assumed because the file does not say.
    pub assumptions: &'a mut Vec<String>,
}

/// Where a piece stands in the file, for the problems of its times.
pub struct Written<'a> {
    /// The section of the piece.
    pub section: Section<'a>,
    /// The time of each of its moves.
    pub moves: Vec<Range<usize>>,
    /// How high its flowers are, where the file says.
    pub height: Option<Length>,
}

/// Reads the pieces, each with its place in the file; those that are wrong are left out, their problems remembered.
pub fn pieces<'a>(root: &Section<'a>, mut context: ParseContext) -> (Vec<Piece>, Vec<Written<'a>>) {
    let sections = root.required_sections(
        "piece",
        "[[piece]]",
        "a section for each thing you make",
        "name = \"long table\"",
    );
    let first = sections.first().map(|s| s.span.clone());
    let mut pieces = Vec::new();
    let mut written = Vec::new();
    for section in sections {
        let height = section.quantity::<Length>("height").map(|h| h.value);
        if let Some((piece, moves)) = piece(&section, &mut context) {
            pieces.push(piece);
            written.push(Written { section, moves, height });
        }
    }
    let flowers: usize = pieces.iter().map(|p: &Piece| p.orders.len()).sum();
    if let Some(first) = first.filter(|_| flowers > MOST_ORDERS) {
        let problem =
            Problem::new(format!("{flowers} flowers in all the pieces are more than can be planned at once"))
                .expected(format!("at most {MOST_ORDERS} [[piece.flower]] sections in one file"))
                .help("make one piece of those that are alike: count = 10 for ten tables");
        root.source.wrong(first, problem);
    }
    (pieces, written)
}

/// One piece, and where the times of its moves stand.
fn piece(section: &Section, context: &mut ParseContext) -> Option<(Piece, Vec<Range<usize>>)> {
    let name = name(section, &mut context.taken);
    let space = section
        .required_text("space", "the name of the [[space]] it stands in", "\"barn\"")
        .and_then(|found| find_space(section.source, found, context.spaces));
    let until = section.moment("until").map_or(context.end.hours, |m| m.value.hours);
    let counts = section.option("counts", COUNTS);
    let shape = section.option("shape", SHAPES).unwrap_or_default();
    let placed = own_limits(section);
    let length = section.quantity::<Length>("length").map(|l| l.value);
    let near = section.texts("near").into_iter().filter_map(|found| near(section, found)).collect();
    let (moves, places) = moves(section, context.spaces);
    let moved_by_venue = section.option("moved_by", &[("crew", false), ("venue", true)]).unwrap_or(false);
    let flowers = section.required_sections(
        "flower",
        "[[piece.flower]]",
        "a section for each flower in it",
        "flower = \"dahlia\" and heads = 40",
    );
    let look = section.option("look", LOOKS);
    let count = number(section, "count", "how many such pieces there are, all alike", 1..=500).unwrap_or(1);
    let vessel = vessel(section, count, context.assumptions);
    let asked = Asked { counts, shape, by_look: look.is_some(), count, in_vessel: vessel.is_some() };
    let mut orders = Vec::new();
    for flower in flowers.iter().take_while(|_| !section.source.is_full()) {
        orders.extend(order(flower, context.means, context.purse, asked));
    }
    if let Some(look) = look {
        let name = name.as_deref().unwrap_or_default();
        context.assumptions.extend(filled(section, look, &mut orders, (length.as_ref(), count), name));
    }
    if let Some(vessel) = &vessel {
        share_water(vessel, &mut orders);
    }
    section.finish();
    if orders.len() < flowers.len() {
        return None;
    }
    let (name, space) = (name?, space?);
    let piece = Piece {
        name,
        space,
        moves,
        moved_by_venue,
        until,
        wait: space,
        shape,
        placed,
        length,
        count,
        vessel,
        near,
        orders,
    };
    Some((piece, places))
}

fn name(section: &Section, taken: &mut Vec<String>) -> Option<String> {
    let Found { value, span } =
        section.required_text("name", "what you call this piece", "\"long table\"")?;
    if taken.contains(&value) {
        let problem = Problem::new(format!("two pieces are called \"{value}\""))
            .expected("a name of its own for each piece")
            .help(format!("name = \"{value} {}\"", taken.len() + 1));
        section.source.wrong(span, problem);
    }
    taken.push(value.clone());
    Some(value)
}

/// The florist's own limits on when the piece is placed.
fn own_limits(section: &Section) -> Option<(f64, f64)> {
    let from = section.moment("placed_from").map(|m| m.value.hours);
    let to = section.moment("placed_to").map(|m| m.value.hours);
    (from.is_some() || to.is_some()).then(|| (from.unwrap_or(f64::NEG_INFINITY), to.unwrap_or(f64::INFINITY)))
}

/// The moves of a piece in rising order of time, and where their times stand.
fn moves(section: &Section, spaces: &[String]) -> (Vec<(f64, usize)>, Vec<Range<usize>>) {
    let (mut moves, mut places): (Vec<(f64, usize)>, _) = (Vec::new(), Vec::new());
    for step in section.sections("move") {
        let at = step.required_moment("at", "the time at which the piece moves", "\"17:00\"");
        let to = step
            .required_text("to", "the name of the [[space]] it moves to", "\"hall\"")
            .and_then(|found| find_space(section.source, found, spaces));
        step.finish();
        let (Some(at), Some(to)) = (at, to) else { continue };
        if moves.last().is_some_and(|(last, _)| *last >= at.value.hours) {
            let problem =
                Problem::new(format!("this move at {} does not come after the one before it", at.value))
                    .expected("moves in rising order of time")
                    .help("sort the moves by time, or write \"next day\" before a time after midnight");
            section.source.wrong(at.span.clone(), problem);
        }
        places.push(at.span);
        moves.push((at.value.hours, to));
    }
    (moves, places)
}

/// Counts what the florist left to the look, for which a length is needed; returns what to tell about it.
fn filled(
    section: &Section,
    look: Look,
    orders: &mut [Order],
    (length, count): (Option<&Length>, u32),
    piece: &str,
) -> Option<String> {
    let Some(length) = length else {
        section.source.wrong(
            section.place_of("look"),
            Problem::new("`look` says how full the piece is, but not how long it is")
                .expected("the length beside it, from which greens and heads are counted")
                .help("length = \"12 m\""),
        );
        return None;
    };
    look.fill(orders, (length, count), piece)
}

fn near(section: &Section, found: Found<String>) -> Option<Near> {
    let wanted = found.value.to_lowercase();
    let near = NEAR.iter().find(|(w, _)| *w == wanted).map(|(_, n)| *n);
    if near.is_none() {
        let all: Vec<&str> = NEAR.iter().map(|(w, _)| *w).collect();
        let problem = Problem::new(format!("`near` cannot be {:?}", found.value))
            .expected(format!("any of: {}", all.join(", ")))
            .help(match nearest(&wanted, all.iter().copied()) {
                Some(near) => format!("\"{near}\""),
                None => "near = [\"cake\", \"candles\"]".to_string(),
            });
        section.source.wrong(found.span, problem);
    }
    near
}

/// Words for what a piece stands near.
const NEAR: [(&str, Near); 13] = [
    ("food", Near::Food),
    ("buffet", Near::Food),
    ("cake", Near::Food),
    ("pets", Near::Pets),
    ("cat", Near::Pets),
    ("dog", Near::Pets),
    ("children", Near::Children),
    ("child", Near::Children),
    ("kids", Near::Children),
    ("candles", Near::Flame),
    ("flame", Near::Flame),
    ("overhead", Near::Overhead),
    ("ladder", Near::Overhead),
];
/// Words for what kind of piece it is.
const SHAPES: &[(&str, Shape)] = &[
    ("table", Shape::Table),
    ("arch", Shape::Arch),
    ("aisle", Shape::Arch),
    ("pew", Shape::Arch),
    ("cake", Shape::Cake),
];
