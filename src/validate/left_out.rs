//! How well pooled statements foretell what a group that was left out says of dry hours.

use crate::calibrate::pooling::{Forecast, Pool};
use crate::flower::statements::{groups, statements};
use rayon::prelude::*;

/// How forecasts by somebody fare.
#[derive(Debug, Clone, Copy, Default, serde::Serialize)]
pub struct Fared {
    /// Sum of the logarithms of the chances of what was said; more is better.
    pub log_score: f64,
    /// How many statements that name hours between two limits lie in the 80 % range.
    pub held: usize,
    /// How many statements name hours between two limits.
    pub closed: usize,
}

/// Every group's statements, foretold by those of the others.
#[derive(Debug, Clone, Copy, Default, serde::Serialize)]
pub struct LeftOut {
    /// How many groups were left out in turn.
    pub groups: usize,
    /// How many statements they make.
    pub statements: usize,
    /// By the statements of other groups and the trade's memory.
    pub pooled: Fared,
    /// By the trade's memory, and how statements differ.
    pub trade: Fared,
    /// By what flowers have in common, and how statements differ.
    pub unknown_flower: Fared,
    /// By the trade's points as they are printed.
    pub printed: Fared,
}

/// Leaves each group out in turn and scores the forecasts of what it says. Nothing is drawn.
pub fn left_out() -> LeftOut {
    let groups = groups();
    let forecasts: Vec<[Forecast; 4]> = groups
        .par_iter()
        .flat_map_iter(|group| {
            let others = Pool::without(Some(group)).learned();
            let said = statements().iter().filter(|s| s.used() && s.group == *group);
            said.map(move |s| {
                let f = others.forecasts(s);
                [f.pooled, f.trade, f.unknown_flower, f.printed]
            })
            .collect::<Vec<_>>()
        })
        .collect();
    let fared = |who: usize| {
        let held: Vec<bool> = forecasts.iter().filter_map(|f| f[who].holds()).collect();
        Fared {
            log_score: forecasts.iter().map(|f| f[who].score()).sum(),
            held: held.iter().filter(|held| **held).count(),
            closed: held.len(),
        }
    };
    LeftOut {
        groups: groups.len(),
        statements: forecasts.len(),
        pooled: fared(0),
        trade: fared(1),
        unknown_flower: fared(2),
        printed: fared(3),
    }
}
