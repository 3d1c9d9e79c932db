//! What the placings of a flower have in common.

use crate::simulate::journey::{Leg, Placing, Supply};

/// The ways that some placings have in common: their longest ways there and on, step by step.
#[derive(Debug, Clone)]
pub struct Routes {
    pub(super) before: Vec<Route>,
    pub(super) after: Vec<Route>,
    /// For each placing its way there, its way on, and the step at which it is placed.
    pub(super) of: Vec<(usize, usize, usize)>,
}

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

/// The index of the route among `known` of which `new` is a part, or that is a part of it and then takes its place.
fn filed(known: &mut Vec<Route>, new: Route, part: impl Fn(&Route, &Route) -> bool) -> usize {
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
    /// What the placings share.
    pub fn new<'p>(placings: impl Iterator<Item = &'p Placing>) -> Routes {
        let mut routes = Routes { before: Vec::new(), after: Vec::new(), of: Vec::new() };
        for placing in placings {
            let placed = placing.after.first().map_or(0, |l| l.from);
            let before = Route::of(&placing.before, placing.before.first().map_or(placed, |l| l.from));
            let after = Route::of(&placing.after, placed);
            let b = filed(&mut routes.before, before, |part, whole| {
                part.first == whole.first && whole.steps.starts_with(&part.steps)
            });
            let a = filed(&mut routes.after, after, |part, whole| {
                part.first >= whole.first
                    && whole.steps[(part.first - whole.first).min(whole.steps.len())..] == part.steps
            });
            routes.of.push((b, a, placed));
        }
        routes
    }
}
