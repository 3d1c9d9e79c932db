//! How an event fares on each of the days that it may meet, done in one way or another.

use super::options::{PlacingOption, Scene, wanted};
use super::order::OrderPlan;
use super::placing::coarse_grid;
use super::prospects::{Settings, lots_on, spaces};
use crate::climate::Climate;
use crate::event::{Event, Met};
use crate::flower::treatment::Treatment;
use crate::simulate::run::Knowledge;
use crate::stats::counts::Counts;
use crate::units::{Scale, Temperature};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Deliveries that meet each of the days, the same on all of them.
const LOTS_A_DAY: usize = 48;
/// Of more days than this every so many-th is looked at, by their heat.
const MOST_DAYS: usize = 60;
/// On a single day the least sure order may be so much less sure than is wanted on average over all days (judgement).
const SLACK: f64 = 0.15;

/// How one order is done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// How its heads are placed.
    pub treatment: Treatment,
    /// When they are placed, h on the event's clock.
    pub place_at: f64,
    /// When tubes are filled up beyond the refills that the event asks for, h.
    pub top_up: Option<f64>,
    /// How many heads are placed, spares included.
    pub heads: u32,
}

impl Placement {
    /// So many heads placed as an option says.
    pub fn of(option: &PlacingOption, heads: u32) -> Placement {
        let PlacingOption { treatment, place_at, top_up, .. } = *option;
        Placement { treatment, place_at, top_up, heads }
    }
}

/// At most so many of the days that an event may meet, evenly over their heat.
pub fn some_days(event: &Event, most: usize) -> Vec<usize> {
    let (n, taken) = (event.met.len(), event.met.len().min(most));
    (0..taken).map(|i| (2 * i + 1) * n / (2 * taken)).collect()
}

/// How sure an event is on a day if its least sure order is so sure as a day may make it.
pub fn sure_enough(event: &Event) -> f64 {
    event.assurance - SLACK
}

/// Looks at ways of doing an event on some of its days, each way once.
pub struct Chances {
    /// The days that are looked at, the coolest first.
    pub days: Vec<usize>,
    settings: Settings,
    known: Vec<(Vec<Placement>, Vec<Vec<f64>>)>,
}

impl Chances {
    /// Nothing looked at yet.
    pub fn new(event: &Event, settings: Settings) -> Chances {
        let days = some_days(event, MOST_DAYS);
        Chances { days, settings: Settings { lots: LOTS_A_DAY, ..settings }, known: Vec::new() }
    }

    /// The chance that enough heads last: by way of doing the event, by day, then by order.
    pub fn by_order(&mut self, event: &Event, all: &[Vec<Placement>]) -> Vec<Vec<Vec<f64>>> {
        let is_new = |ways: &&Vec<Placement>| !self.known.iter().any(|(known, _)| known == *ways);
        let new: Vec<Vec<Placement>> = all.iter().filter(is_new).cloned().collect();
        let by_way = chances(event, self.settings, &new, &self.days);
        self.known.extend(new.into_iter().zip(by_way));
        let of = |ways: &Vec<Placement>| {
            self.known.iter().find(|(known, _)| known == ways).map(|(_, sure)| sure.clone())
        };
        all.iter().filter_map(of).collect()
    }
}

/// The chance of the least sure of some orders, 0 to 1.
pub fn least(orders: &[f64]) -> f64 {
    orders.iter().copied().fold(1.0, f64::min)
}

/// The chance that enough heads of every order last, on some of the days that the event may meet: by way of doing the event,
/// by day, then by order. `all` gives the way of every order for each way of doing the event.
pub fn chances(
    event: &Event,
    settings: Settings,
    all: &[Vec<Placement>],
    days: &[usize],
) -> Vec<Vec<Vec<f64>>> {
    if all.is_empty() {
        return Vec::new();
    }
    let climates = spaces(event, settings.hotter);
    let grid = (coarse_grid(event), 0);
    // Each order in each of its ways once.
    let distinct: Vec<Vec<Placement>> = (0..event.orders().count())
        .map(|order| {
            let mut ways: Vec<Placement> = Vec::new();
            for way in all.iter().map(|ways| ways[order]) {
                if !ways.contains(&way) {
                    ways.push(way);
                }
            }
            // Ways that share a placing stand together, so that it is simulated once.
            ways.sort_by(|a, b| {
                a.place_at
                    .total_cmp(&b.place_at)
                    .then(a.top_up.partial_cmp(&b.top_up).unwrap_or(Ordering::Equal))
            });
            ways
        })
        .collect();
    let on = |day: &usize| -> Vec<Vec<f64>> {
        let today: Vec<Climate> = climates.iter().map(|c| c.on_day(*day).clone()).collect();
        let by_order =
            event.orders().zip(lots_on(grid, event, &today, settings)).map(|((id, piece, order), lots)| {
                let scene = Scene::of(event, (piece, order), lots);
                let ways = &distinct[id.index()];
                let cases: Vec<_> =
                    ways.iter().map(|w| (scene.journey(w.place_at, 0.0, w.top_up), w.treatment)).collect();
                let shares = scene.shares(Knowledge::AsItIs, &cases);
                let chance = |(case, way): (usize, &Placement)| {
                    let by_lot: Vec<f64> = shares.iter().map(|lot| lot[case]).collect();
                    let counts = Counts::of(&by_lot, way.heads).expect("a job has lots");
                    counts.at_least(wanted(order.heads, event.target_share))
                };
                ways.iter().enumerate().map(chance).collect::<Vec<f64>>()
            });
        by_order.collect()
    };
    let by_day: Vec<Vec<Vec<f64>>> = days.par_iter().map(on).collect();
    let of = |ways: &Vec<Placement>, day: &Vec<Vec<f64>>| -> Vec<f64> {
        let place =
            |order: usize| distinct[order].iter().position(|w| *w == ways[order]).expect("one of them");
        (0..ways.len()).map(|order| day[order][place(order)]).collect()
    };
    all.iter().map(|ways| by_day.iter().map(|day| of(ways, day)).collect()).collect()
}

/// How a plan fares on each of the days that its event may meet.
#[derive(Debug, Clone, PartialEq)]
pub struct OnDays {
    /// The days that were looked at, by their numbers, the coolest first.
    pub days: Vec<usize>,
    /// By day: the chance of the least sure order, 0 to 1.
    pub least_sure: Vec<f64>,
    /// By day: whether every order is [`sure_enough`].
    pub lasts: Vec<bool>,
    /// The share of the days on which it lasts, 0 to 1.
    pub share: f64,
    /// The standard error of that share, years drawn anew; `None` for a single year.
    pub error: Option<f64>,
    /// The days on which it fails, told by their heat; `None` where that does not tell them.
    pub fails_above: Option<f64>,
}

/// How a plan fares on the days that its event may meet; `None` where its day is given.
pub fn on_days(event: &Event, orders: &[OrderPlan], looked: &mut Chances) -> Option<OnDays> {
    if event.met.is_empty() {
        return None;
    }
    let ways = orders.iter().map(|order| Placement::of(order.recommended(), order.heads));
    let days = looked.days.clone();
    let by_day = looked.by_order(event, &[ways.collect()]).remove(0);
    let least_sure: Vec<f64> = by_day.iter().map(|orders| least(orders)).collect();
    let lasts: Vec<bool> = least_sure.iter().map(|chance| *chance >= sure_enough(event)).collect();
    let share = lasts.iter().filter(|l| **l).count() as f64 / lasts.len() as f64;
    let met: Vec<&Met> = days.iter().map(|d| &event.met[*d]).collect();
    let (error, fails_above) = (between_years(&met, &lasts), fails_above(event.scale, &met, &lasts));
    Some(OnDays { days, least_sure, lasts, share, error, fails_above })
}

/// The standard error of a share of days, whose years are the independent witnesses; `None` for fewer than two years.
///
/// # Formula
/// `sqrt(sum_y (n_y (p_y - p))^2 Y / (Y - 1)) / n`, the error of a ratio over clusters (survey sampling, from memory).
fn between_years(met: &[&Met], lasts: &[bool]) -> Option<f64> {
    let mut years: BTreeMap<i32, (f64, f64)> = BTreeMap::new();
    for (met, lasts) in met.iter().zip(lasts) {
        let year = years.entry(met.year).or_default();
        *year = (year.0 + 1.0, year.1 + f64::from(u8::from(*lasts)));
    }
    if years.len() < 2 {
        return None;
    }
    let n = lasts.len() as f64;
    let share = years.values().map(|y| y.1).sum::<f64>() / n;
    let squares: f64 = years.values().map(|(days, good)| (good - days * share).powi(2)).sum();
    let y = years.len() as f64;
    Some((squares * y / (y - 1.0)).sqrt() / n)
}

/// The whole degree of the florist's scale, in C, above which days fail and up to which they do not, with at most one day in
/// twenty on the wrong side, and most of the failing ones above; `None` if there is none, or all days are alike.
fn fails_above(scale: Scale, met: &[&Met], lasts: &[bool]) -> Option<f64> {
    let failing = lasts.iter().filter(|l| !**l).count();
    if failing == 0 || failing == lasts.len() {
        return None;
    }
    let (first, last) = (met.first()?.high_c, met.last()?.high_c);
    let wrong = |c: f64| {
        let days = met.iter().zip(lasts);
        let mut sides = [0, 0];
        days.filter(|(met, lasts)| (met.high_c > c) == **lasts)
            .for_each(|(_, lasts)| sides[usize::from(*lasts)] += 1);
        sides
    };
    let best = degrees(scale, first, last).into_iter().min_by_key(|c| wrong(*c).iter().sum::<usize>())?;
    let [kind, unkind] = wrong(best);
    let few = kind + unkind <= lasts.len() / 20 + 1 && 3 * kind <= failing;
    few.then_some(best)
}

/// The whole degrees of a scale from one temperature to another, C.
pub fn degrees(scale: Scale, from_c: f64, to_c: f64) -> Vec<f64> {
    let celsius = |n: i32| match scale {
        Scale::Celsius => f64::from(n),
        Scale::Fahrenheit => (f64::from(n) - 32.0) / 1.8,
    };
    let number = |c: f64| match scale {
        Scale::Celsius => c,
        Scale::Fahrenheit => Temperature::from_celsius(c).celsius * 1.8 + 32.0,
    };
    (number(from_c).floor() as i32..=number(to_c).ceil() as i32).map(celsius).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::invented;

    fn met(year: i32, high_c: f64) -> Met {
        Met { name: String::new(), year, high_c }
    }

    /// One day of one year, which is good, and four of another, one of which is: a share of 0.4. The years are 0.6 good days above
    /// and below it: `sqrt((0.36 + 0.36) 2 / 1) / 5 = 0.24` (by hand).
    #[test]
    fn years_not_days_are_the_witnesses_of_a_share() {
        let days = [2001, 2002, 2002, 2002, 2002].map(|year| met(year, 20.0));
        let days: Vec<&Met> = days.iter().collect();
        let error = between_years(&days, &[true, true, false, false, false]).unwrap();
        assert!((error - 0.24).abs() < 1e-12, "{error}");
        assert_eq!(between_years(&days, &[true; 5]), Some(0.0), "years that fare alike leave no doubt");
        assert_eq!(between_years(&days[1..], &[true, false, false, false]), None, "one year is no witness");
    }

    #[test]
    fn days_that_fail_are_told_by_their_heat_where_it_tells_them() {
        let days: Vec<Met> = (20..40).map(|c| met(2001, f64::from(c))).collect();
        let days: Vec<&Met> = days.iter().collect();
        let above = |fails: &dyn Fn(i32) -> bool| {
            fails_above(Scale::Celsius, &days, &(20..40).map(|c| !fails(c)).collect::<Vec<bool>>())
        };
        assert_eq!(above(&|c| c > 30), Some(30.0));
        assert_eq!(above(&|c| c > 30 && c != 35), Some(30.0), "one hot day that lasts, of twenty");
        assert_eq!(above(&|c| c > 30 || c == 22), Some(30.0), "one cool day that does not");
        assert_eq!(above(&|c| c % 2 == 0), None, "heat does not tell them");
        assert_eq!(above(&|c| c == 22 || c == 39), None, "half of those that fail are cool");
        assert_eq!((above(&|_| true), above(&|_| false)), (None, None));
        // By the florist's own degrees: 86 F is 30 C, and 88 F more than 31 C.
        let lasts: Vec<bool> = (20..40).map(|c| c <= 30).collect();
        let told = fails_above(Scale::Fahrenheit, &days, &lasts).unwrap() * 1.8 + 32.0;
        assert!((told - told.round()).abs() < 1e-9 && (85.9..87.1).contains(&told), "{told}");
    }

    /// Days evenly over their heat: of ten, those in the middle of each fifth.
    #[test]
    fn some_days_stand_for_all() {
        let means = "[target]\nassurance = \"90 %\"\n[[access]]\nfrom = \"09:00\"\nto = \"15:30\"\n";
        let met = (0..10).map(|i| met(2001, f64::from(i))).collect();
        let event = Event { met, ..invented(means, "[[piece.flower]]\nflower = \"rose\"\nheads = 40\n") };
        assert_eq!((some_days(&event, 5), some_days(&event, 20)), (vec![1, 3, 5, 7, 9], (0..10).collect()));
        // A day may leave the least sure order three in twenty less sure.
        assert!((sure_enough(&event) - 0.75).abs() < 1e-12);
    }

    #[test]
    fn thresholds_are_whole_degrees_of_the_florist() {
        assert_eq!(degrees(Scale::Celsius, 19.4, 22.2), [19.0, 20.0, 21.0, 22.0, 23.0]);
        let in_fahrenheit: Vec<f64> =
            degrees(Scale::Fahrenheit, 20.2, 21.9).iter().map(|c| (c * 1.8 + 32.0).round()).collect();
        assert_eq!(in_fahrenheit, [68.0, 69.0, 70.0, 71.0, 72.0]);
    }
}
