//! The placings open to a piece, one for every half hour of access: the journey there, and the journey on.

use crate::event::{Event, Piece};
use crate::simulate::journey::{Grid, Leg, Placing, Supply};

/// The longest dry wait of boxes that is simulated, h.
pub const LONGEST_WAIT: f64 = 12.0;
/// The length of a simulated step, h.
pub const STEP: f64 = 1.0 / 6.0;
/// How long heads are simulated beyond the last hour of the event, h.
const AFTERWARDS: f64 = 6.0;
/// The time between two placings that are tried, h.
const EVERY: f64 = 0.5;

/// The clock of an event in steps. It begins early enough for the longest dry wait, and ends late enough that the share
/// at the last hour can be interpolated between two heads that have failed.
pub fn grid(event: &Event) -> Grid {
    let (first, last) = event.span();
    Grid::covering(first - LONGEST_WAIT, last + AFTERWARDS, STEP)
}

/// The length of a step where hundreds of days are looked at, h: placings lie on its grid, and an air that is known by the hour
/// is as well told by it.
const COARSE_STEP: f64 = 0.5;

/// [`grid`] in steps of half an hour, from when the first van leaves: boxes wait no longer than they are planned to.
pub fn coarse_grid(event: &Event) -> Grid {
    let (first, last) = event.span();
    Grid::covering((first / COARSE_STEP).floor() * COARSE_STEP, last + AFTERWARDS, COARSE_STEP)
}

/// The first step of any journey: that of the first van, or of boxes that wait longest for the last placing.
pub fn first_step(event: &Event) -> usize {
    let last = event.pieces.iter().filter_map(|piece| event.windows(piece).last().map(|w| w.1));
    let first = last.map(|end| end - LONGEST_WAIT - event.travel.drive).fold(event.span().0, f64::min);
    grid(event).index(first)
}

/// The times at which a piece may be placed, h on the event's clock.
pub fn times(event: &Event, piece: &Piece) -> Vec<f64> {
    let mut times = Vec::new();
    for (from, to) in event.windows(piece) {
        let n = ((to - from) / EVERY).floor() as usize;
        times.extend((0..=n).map(|i| from + i as f64 * EVERY));
        if times.last().is_some_and(|t| to - t > 0.1) {
            times.push(to);
        }
    }
    times
}

/// The journey of heads placed at `at` after `dry_wait` hours dry in boxes on site. `at` and `refills` are hours on the
/// event's clock.
pub fn placing(
    event: &Event,
    piece: &Piece,
    grid: &Grid,
    at: f64,
    dry_wait: f64,
    refills: &[f64],
) -> Placing {
    let arrival =
        event.windows(piece).iter().rev().find(|w| w.0 <= at + 1e-9).map_or(at, |w| w.0).min(at - dry_wait);
    let travel = &event.travel;
    let wet = |in_water: bool| if in_water { Supply::Ample } else { Supply::Boxed };
    let wait = piece.wait;
    let legs = [
        (travel.store, arrival - travel.drive, Supply::Ample),
        (travel.van, arrival, wet(travel.van_in_water)),
        (wait, at - dry_wait, wet(travel.wait_in_water)),
        (wait, at, Supply::Boxed),
    ];
    // Journeys begin in the store's buckets; what came earlier counts as conditioning.
    let mut from = grid.index(event.span().0.min(arrival - travel.drive));
    let mut before = Vec::new();
    for (space, until, supply) in legs {
        let to = grid.index(until);
        if to > from {
            before.push(Leg { space, from, to, supply });
            from = to;
        }
    }
    let mut after = Vec::new();
    let mut space = piece.space;
    for (hour, next) in piece.moves.iter().map(|(h, s)| (*h, *s)).chain([(f64::INFINITY, 0)]) {
        let to = if hour.is_finite() { grid.index(hour) } else { grid.steps };
        if to > from {
            after.push(Leg { space, from, to, supply: Supply::Dry });
            from = to;
        }
        space = next;
    }
    Placing {
        before,
        after,
        refills: refills.iter().map(|h| grid.index(*h)).collect(),
        ask: grid.index(piece.until),
    }
}

/// The spaces that the journeys of a piece touch, in rising order.
pub fn touched(event: &Event, piece: &Piece) -> Vec<usize> {
    let travel = &event.travel;
    let mut spaces: Vec<usize> =
        [travel.store, travel.van, piece.wait].into_iter().chain(piece.spaces()).collect();
    spaces.sort_unstable();
    spaces.dedup();
    spaces
}
