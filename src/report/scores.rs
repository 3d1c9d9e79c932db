//! How good the forecasts of a notebook were, in words.

use super::document::Line;
use crate::calibrate::notebook::Notebook;
use crate::calibrate::score::{ENOUGH, ENOUGH_TO_NARROW, Scored, Spread, scored, spread};
use crate::stats::scores::brier;

/// Every forecast of a notebook, and how good they were together. Pairs are of the forecasts and of the trade's table.
pub struct Scores {
    /// Each forecast with what happened.
    pub all: Vec<Scored>,
    /// What follows for the width of ranges.
    pub spread: Spread,
    /// The mean misses (CRPS), as shares of the heads.
    pub crps: (f64, f64),
    /// The Brier scores of at least half still good.
    pub briers: (f64, f64),
}

impl Scores {
    /// The scores of a notebook; `None` if it holds no forecast.
    pub fn of(notes: &Notebook) -> Option<Scores> {
        let all = scored(notes);
        if all.is_empty() {
            return None;
        }
        let n = all.len() as f64;
        let mean = |value: fn(&Scored) -> f64| all.iter().map(value).sum::<f64>() / n;
        let crps =
            (mean(|s| s.crps_heads / f64::from(s.of)), mean(|s| s.crps_heads_of_the_table / f64::from(s.of)));
        let halves = |chance: fn(&Scored) -> f64| {
            brier(&all.iter().map(|s| (chance(s), s.half())).collect::<Vec<_>>())
        };
        let briers = (halves(|s| s.chance_of_half), halves(|s| s.chance_of_half_of_the_table));
        Some(Scores { spread: spread(&all), crps, briers, all })
    }

    /// All forecasts against what happened, and what follows.
    pub fn lines(&self) -> Vec<Line> {
        let Scores { all, spread, crps, briers } = self;
        let mut lines = vec![
            Line::new("FORECASTS AGAINST WHAT HAPPENED"),
            Line::new(
                "Trials are forecast from the notes before them, at the look that was hardest to call; events as they were forecast.",
            ),
        ];
        lines.extend(all.iter().map(forecast));
        lines.push(Line::blank());
        lines.push(Line::new(format!(
            "Held in the 90 % range: {} of {}. In the 50 % range: {}.",
            spread.inside_90, spread.forecasts, spread.inside_50
        )));
        lines.extend(histogram(all));
        lines.push(Line::new(format!(
        "Mean miss, in heads of a hundred (CRPS): {:.1}; of the trade's table taken as it stands: {:.1}. At least half still good \
         (Brier score, 0 is perfect): {:.3}; of the table: {:.3}.",
        100.0 * crps.0,
        100.0 * crps.1,
        briers.0,
        briers.1
    )));
        lines.push(Line::new(verdict(spread.forecasts, spread.factor, spread.p_value)));
        lines
    }
}

/// One forecast with what happened.
fn forecast(s: &Scored) -> Line {
    let inside = if (0.05..=0.95).contains(&s.pit) { "inside" } else { "OUTSIDE" };
    let what = if s.event { "event" } else { "trial" };
    Line::item(format!(
        "- {what} {}, {}: {} of {} good; forecast {:.0} ({:.0} to {:.0}), {inside}",
        s.number, s.flower, s.observed, s.of, s.forecast.p50, s.forecast.p05, s.forecast.p95
    ))
}

/// The histogram of where the outcomes fell in their forecasts.
fn histogram(all: &[Scored]) -> Vec<Line> {
    let head = "Where the outcomes fell in their forecasts (even if these are honest; heaped at both ends if too sure, in the middle if too shy):";
    let bin = |bin: i32| {
        let (from, to) = (f64::from(bin) / 5.0, f64::from(bin + 1) / 5.0);
        let count = all.iter().filter(|s| s.pit >= from && (s.pit < to || bin == 4)).count();
        let words = ["lowest fifth", "low", "middle", "high", "highest fifth"][bin as usize];
        Line::item(format!("{words:<14}{} {count}", "#".repeat(count)))
    };
    std::iter::once(Line::new(head)).chain((0..5).map(bin)).collect()
}

/// What `n` forecasts say about the width of ranges: `factor` is how much wider plans make them, and `p` the
/// probability of ranks as uneven as these if the forecasts are honest.
fn verdict(n: usize, factor: f64, p: f64) -> String {
    if n < ENOUGH {
        return format!(
            "{} so far: too few to say whether ranges are wide enough. Plans leave them as they are until there are {ENOUGH}.",
            if n == 1 { "1 forecast".to_string() } else { format!("{n} forecasts") }
        );
    }
    let by = 100.0 * (factor - 1.0).abs();
    let judged = match factor {
        f if f > 1.1 => format!(
            "The forecasts were too sure of themselves: plans make ranges of dry hours {by:.0} % wider."
        ),
        f if f < 0.9 => {
            format!("The forecasts were too shy: plans make ranges of dry hours {by:.0} % narrower.")
        }
        1.0 => format!(
            "Nothing says that ranges are too narrow; plans leave them as they are until {ENOUGH_TO_NARROW} forecasts say that they could be narrower."
        ),
        _ => format!("The ranges are about as wide as they should be; plans change them by {by:.0} %."),
    };
    format!("{judged} Ranks as uneven as these come from honest forecasts {:.0} times in 100.", 100.0 * p)
}
