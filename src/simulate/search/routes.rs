//! The routes that the placings of a flower share.

use crate::simulate::journey::{Leg, Placing, Supply};

/// The routes through spaces of some placings, before and after placement. A route that is part of a longer one is not kept.
#[derive(Debug, Clone)]
pub struct Routes {
    pub(super) before: Vec<Route>,
    pub(super) after: Vec<Route>,
    /// For each placing the number of its route before placement, that of its route after, and the step of placement.
    pub(super) of: Vec<(usize, usize, usize)>,
}

/// The space and the supply of water in every step from `first` on.
#[derive(Debug, Clone)]
pub(super) struct Route {
    pub first: usize,
    pub steps: Vec<(usize, Supply)>,
}

impl Route {
    fn of(legs: &[Leg], first: usize) -> Route {
        let steps = legs.iter().flat_map(|l| (l.from..l.to).map(|_| (l.space, l.supply))).collect();
        Route { first, steps }
    }
}

/// The number in `known` of the route that `new` is part of. A known route that is part of `new` is replaced by it.
fn merged(known: &mut Vec<Route>, new: Route, part: impl Fn(&Route, &Route) -> bool) -> usize {
    for (i, route) in known.iter_mut().enumerate() {
        if part(&new, route) {
            return i;
        }
        if part(route, &new) {
            *route = new;
            return i;
        }
    }
    known.push(new);
    known.len() - 1
}

impl Routes {
    /// The routes of some placings, which are then known by their number.
    pub fn new<'p>(placings: impl Iterator<Item = &'p Placing>) -> Routes {
        let mut routes = Routes { before: Vec::new(), after: Vec::new(), of: Vec::new() };
        for placing in placings {
            let placed = placing.after.first().map_or(0, |l| l.from);
            let before = Route::of(&placing.before, placing.before.first().map_or(placed, |l| l.from));
            let after = Route::of(&placing.after, placed);
            let b = merged(&mut routes.before, before, |part, whole| {
                part.first == whole.first && whole.steps.starts_with(&part.steps)
            });
            let a = merged(&mut routes.after, after, |part, whole| {
                part.first >= whole.first
                    && whole.steps[(part.first - whole.first).min(whole.steps.len())..] == part.steps
            });
            routes.of.push((b, a, placed));
        }
        routes
    }
}
