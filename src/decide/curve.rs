//! Survival curves on the event's clock, for the chosen option and for others to compare.

use super::options::{PlacingOption, Scene, times_tried};
use crate::flower::treatment::{Method, Treatment};
use crate::simulate::outcome::HeadOutcome;
use crate::simulate::run::{Case, Knowledge};
use crate::stats::Band;

/// The time between two points of a curve, h.
const EVERY: f64 = 0.25;

/// A survival curve: the share of heads still presentable, over the event's clock.
#[derive(Debug, Clone)]
pub struct Curve {
    /// How the heads are placed.
    pub treatment: Treatment,
    /// When they are placed, h on the event's clock.
    pub place_at: f64,
    /// Hours on the event's clock, each with the share presentable then as a band over lots.
    pub points: Vec<(f64, Band)>,
}

/// What became of heads under the chosen option, and what is drawn of it and of others.
pub(super) struct Shown {
    /// The outcomes of heads under the chosen option, by lot.
    pub chosen: Vec<Vec<HeadOutcome>>,
    /// The same had they been placed dry; `None` if they are.
    pub dry: Option<Vec<Vec<HeadOutcome>>>,
    /// The chosen option first, then each method at the times worth showing: the earliest and latest placing for dry methods, the
    /// chosen time for the others.
    pub curves: Vec<Curve>,
}

/// Simulates the chosen option, and what is shown beside it.
pub(super) fn shown(scene: &Scene, options: &[PlacingOption], chosen: usize) -> Shown {
    let option = &options[chosen];
    let times = times_tried(options);
    let (earliest, latest) = (times[0], times[times.len() - 1]);
    let mut shown = vec![(option.treatment, option.place_at, option.top_up)];
    for method in &scene.order.methods {
        let ats = if method.is_dry() { vec![earliest, latest] } else { vec![option.place_at] };
        let treatment = options.iter().map(|o| o.treatment).find(|t| t.method == *method);
        for (at, treatment) in ats.into_iter().zip(treatment.into_iter().cycle()) {
            if !shown.iter().any(|(t, placed, _)| t.method == *method && *placed == at) {
                shown.push((treatment, at, None));
            }
        }
    }
    // Where its heads stand in water, each was simulated without it, too: that costs nothing more.
    let in_water = !option.treatment.method.is_dry();
    if in_water {
        shown.insert(1, (Treatment::new(Method::Tucked, 0.0), option.place_at, option.top_up));
    }
    let dry = in_water.then_some(1);
    // In order of time, so that the state of heads placed at the same time is simulated once.
    let mut by_time: Vec<usize> = (0..shown.len()).collect();
    by_time.sort_by(|a, b| shown[*a].1.total_cmp(&shown[*b].1));
    let case = |i: &usize| (scene.journey(shown[*i].1, 0.0, shown[*i].2), shown[*i].0);
    let cases: Vec<Case> = by_time.iter().map(case).collect();
    let hours: Vec<Vec<f64>> = shown.iter().map(|(_, at, _)| hours(scene, *at)).collect();
    let lots = scene.lots.simulate(Knowledge::AsItIs, &cases, |case, outcomes| {
        let number = by_time[case];
        let is_dry = dry == Some(number);
        let whole = if number == 0 || is_dry { outcomes.to_vec() } else { Vec::new() };
        (whole, if !is_dry { scene.presentable(outcomes, &hours[number]) } else { Vec::new() })
    });
    let mut lots = lots.expect("journeys of the event");
    let case_of = |shown: usize| by_time.iter().position(|i| *i == shown).expect("each is simulated");
    let curves = shown.iter().zip(&hours).enumerate().filter(|(i, _)| dry != Some(*i));
    let curves = curves.map(|(i, (&(treatment, place_at, _), hours))| {
        let case = case_of(i);
        Curve::of(treatment, place_at, hours, lots.iter().map(|lot| &lot[case].1[..]))
    });
    let curves = curves.collect();
    let mut taken = |case: usize| lots.iter_mut().map(|lot| std::mem::take(&mut lot[case].0)).collect();
    Shown { chosen: taken(case_of(0)), dry: dry.map(|dry| taken(case_of(dry))), curves }
}

/// The curve of heads with one treatment, placed at `place_at`, h on the event's clock.
pub(super) fn curve(scene: &Scene, treatment: Treatment, place_at: f64) -> Curve {
    let hours = hours(scene, place_at);
    let shares = scene.shares_at(scene.journey(place_at, 0.0, None), treatment, &hours);
    Curve::of(treatment, place_at, &hours, shares.iter().map(|lot| &lot[..]))
}

/// The hours at which a curve has its points, from the placing to the end of the event.
fn hours(scene: &Scene, place_at: f64) -> Vec<f64> {
    let n = ((scene.event.span().1 - place_at) / EVERY).floor() as usize;
    (0..=n).map(|i| place_at + i as f64 * EVERY).collect()
}

impl Curve {
    /// The curve through the shares of each lot at `hours`.
    fn of<'a>(
        treatment: Treatment,
        place_at: f64,
        hours: &[f64],
        lots: impl Iterator<Item = &'a [f64]> + Clone,
    ) -> Curve {
        let band =
            |i: usize| Band::of(&lots.clone().map(|lot| lot[i]).collect::<Vec<_>>()).expect("a job has lots");
        let points = hours.iter().enumerate().map(|(i, hour)| (*hour, band(i))).collect();
        Curve { treatment, place_at, points }
    }
}
