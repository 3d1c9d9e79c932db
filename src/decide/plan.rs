//! The plan of an event: for every piece and flower the chance of every treatment and placing time, and the choice.

pub use super::placing::LONGEST_WAIT;
use super::placing::{grid, placing, times, touched};
use crate::climate::Climate;
use crate::event::{Criterion, Event, Order, Piece};
use crate::flower::treatment::Treatment;
use crate::simulate::journey::Grid;
use crate::simulate::kernel::{Cause, Fate};
use crate::simulate::random::Key;
use crate::simulate::run::{Job, Knowledge, Lots, Placing, presentable};
use crate::stats::{Band, Quantiles, counts, stratified_error};

const WAITS: [f64; 8] = [0.5, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0, LONGEST_WAIT];
/// Curves have a point this often, h.
const CURVE_EVERY: f64 = 0.25;

/// How the plan is computed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// The seed of the random draws.
    pub seed: u64,
    /// How many lots are simulated.
    pub lots: usize,
    /// All spaces but the cool store this much warmer at the same moisture, K.
    pub hotter: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { seed: 1, lots: crate::simulate::run::LOTS, hotter: 0.0 }
    }
}

/// One treatment at one placing time.
#[derive(Debug, Clone)]
pub struct Choice {
    /// The treatment.
    pub treatment: Treatment,
    /// When, on the event's clock.
    pub place_at: f64,
    /// Share presentable at the piece's hour: the band is over lots and what we do not know.
    pub share: Band,
    /// The share to be expected, all told.
    pub expected: f64,
    /// The simulation's own standard error of that.
    pub error: f64,
    /// How many heads that is, chance between heads included.
    pub count: Band,
    /// Share of lots in which the wanted share is met.
    pub assurance: f64,
}

/// A survival curve: the share of heads still presentable by the clock.
#[derive(Debug, Clone)]
pub struct Curve {
    /// The treatment.
    pub treatment: Treatment,
    /// When it is placed.
    pub place_at: f64,
    /// Hours of the event's clock, and the band of the share there.
    pub points: Vec<(f64, Band)>,
}

/// What is planned for one flower of a piece.
#[derive(Debug, Clone)]
pub struct FlowerPlan {
    /// The order it answers.
    pub order: Order,
    /// Everything tried: treatments in order of trouble, each by placing time.
    pub choices: Vec<Choice>,
    /// The index of the one recommended.
    pub chosen: usize,
    /// Whether it meets the target; if not, it is the best there is.
    pub lasts: bool,
    /// The share wanted.
    pub target: f64,
    /// Not before, not after; where it does not last, from when to when it makes no difference.
    pub window: (f64, f64),
    /// A treatment of less trouble that would do, had the crew hands enough for its few hours.
    pub too_hurried: Option<(Treatment, f64)>,
    /// The band with what we do not know of the flower taken at its median: what trials could teach.
    pub share_if_known: Band,
    /// The same as a count of heads.
    pub count_if_known: Band,
    /// When tubes run empty.
    pub tube_empty: Option<Quantiles>,
    /// Share of failures at the piece's hour by cause, for the choice.
    pub causes: Vec<(Cause, f64)>,
    /// Longest the boxes may wait dry just before the latest placing, h, and whether longer waits were not even tried.
    pub dry_wait: Option<(f64, bool)>,
    /// Curves: the choice first, then each other treatment at its best, then dry at the earliest access.
    pub curves: Vec<Curve>,
}

/// How well a flower lasts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Grade {
    /// The wanted share with the wanted assurance.
    Fine,
    /// The wanted share in the middle delivery, with less than the wanted assurance.
    Borderline,
    /// Not the wanted share even in the middle delivery.
    Short,
}

impl FlowerPlan {
    /// How well it lasts.
    pub fn grade(&self) -> Grade {
        match self.lasts {
            true => Grade::Fine,
            false if self.choice().share.p50 >= self.target => Grade::Borderline,
            false => Grade::Short,
        }
    }

    /// The choice that is recommended.
    pub fn choice(&self) -> &Choice {
        &self.choices[self.chosen]
    }

    /// The choices of one treatment, by placing time.
    pub fn of(&self, treatment: Treatment) -> impl Iterator<Item = &Choice> {
        self.choices.iter().filter(move |c| c.treatment == treatment)
    }
}

/// What is planned for a piece.
#[derive(Debug, Clone)]
pub struct PiecePlan {
    /// The piece.
    pub piece: Piece,
    /// Its flowers.
    pub flowers: Vec<FlowerPlan>,
}

/// The plan of an event.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The event.
    pub event: Event,
    /// How it was computed.
    pub settings: Settings,
    /// Its pieces.
    pub pieces: Vec<PiecePlan>,
}

impl Plan {
    /// The simulation's own standard error of an expected share, in the root mean square over all choices.
    pub fn error(&self) -> f64 {
        let choices = || self.pieces.iter().flat_map(|p| &p.flowers).flat_map(|f| &f.choices);
        (choices().map(|c| c.error.powi(2)).sum::<f64>() / choices().count() as f64).sqrt()
    }

    /// Whether every flower lasts as wanted.
    pub fn lasts(&self) -> bool {
        self.pieces.iter().flat_map(|p| &p.flowers).all(|f| f.lasts)
    }
}

/// When a head stops being good enough for a piece.
pub fn ends(counts: Criterion) -> impl Fn(&Fate) -> f64 + Copy {
    move |fate| match counts {
        Criterion::Flagging => fate.flagging,
        Criterion::Wilted => fate.wilted,
    }
}

/// Plans an event. The same event and settings give the same plan to the last bit.
pub fn plan(event: Event, settings: Settings) -> Plan {
    let grid = grid(&event);
    let spaces: Vec<Climate> = event
        .spaces
        .iter()
        .enumerate()
        .map(|(i, s)| match settings.hotter {
            k if k != 0.0 && i != event.travel.store => s.climate.map(|_, air| air.shifted(k, 0.0)),
            _ => s.climate.clone(),
        })
        .collect();
    let pieces = event
        .pieces
        .iter()
        .map(|piece| PiecePlan {
            piece: piece.clone(),
            flowers: piece
                .orders
                .iter()
                .map(|order| flower(&event, piece, order, &spaces, grid, settings))
                .collect(),
        })
        .collect();
    Plan { event, settings, pieces }
}

fn flower(
    event: &Event,
    piece: &Piece,
    order: &Order,
    spaces: &[Climate],
    grid: Grid,
    settings: Settings,
) -> FlowerPlan {
    let touched = touched(event, piece);
    let job = Job {
        flower: order.flower,
        handling: order.handling,
        spaces,
        touched: &touched,
        grid,
        tube_ml: order.tube_ml,
        seed: settings.seed,
        lots: settings.lots,
    };
    let lots = Lots::new(job);
    let ends = ends(order.counts);
    let until = grid.hour(grid.index(piece.until) as f64);
    let times = times(event, piece);
    let way = |at: f64, dry_wait: f64| placing(event, piece, &grid, at, dry_wait, &order.refills);
    let placings: Vec<_> = times.iter().map(|at| way(*at, 0.0)).collect();
    let share = |_: usize, _: Treatment, fates: &[Fate]| presentable(fates, &[until], ends)[0];
    let shares = lots.live(Knowledge::AsItIs, &placings, &order.treatments, share);
    let meets = |share: f64| share >= event.target_share;
    let assurance = |lots: &[f64]| lots.iter().filter(|s| meets(**s)).count() as f64 / lots.len() as f64;
    let key = Key::named(settings.seed, &format!("{} {}", piece.name, order.flower.id()));
    let mut choices = Vec::new();
    for (t, &treatment) in order.treatments.iter().enumerate() {
        for (p, &place_at) in times.iter().enumerate() {
            let by_lot: Vec<f64> = shares.iter().map(|lot| lot[p][t]).collect();
            choices.push(Choice {
                treatment,
                place_at,
                share: Band::of(&by_lot),
                expected: by_lot.iter().sum::<f64>() / by_lot.len() as f64,
                error: stratified_error(&by_lot),
                count: counts(&by_lot, order.heads, key),
                assurance: assurance(&by_lot),
            });
        }
    }
    let work = |t: Treatment| f64::from(order.heads) * t.minutes() / 60.0 / f64::from(event.people);
    let Chosen { chosen, lasts, window, too_hurried } = choose(&choices, event.assurance, work);
    let choice = &choices[chosen];

    let mut shown = vec![(choice.treatment, choice.place_at)];
    let (earliest, latest) = (times[0], times[times.len() - 1]);
    for &treatment in &order.treatments {
        let ats = if treatment.is_dry() { vec![earliest, latest] } else { vec![choice.place_at] };
        for at in ats {
            if !shown.contains(&(treatment, at)) {
                shown.push((treatment, at));
            }
        }
    }
    let curves = shown
        .iter()
        .map(|&(treatment, at)| curve(&lots, &way(at, 0.0), treatment, at, event, ends))
        .collect();

    let chosen_way = [way(choice.place_at, 0.0)];
    let if_known: Vec<f64> = lots
        .live(Knowledge::Perfect, &chosen_way, &[choice.treatment], share)
        .into_iter()
        .map(|lot| lot[0][0])
        .collect();
    let all: Vec<Fate> = lots
        .live(Knowledge::AsItIs, &chosen_way, &[choice.treatment], |_, _, fates| fates.to_vec())
        .into_iter()
        .flat_map(|mut lot| lot.remove(0).remove(0))
        .collect();
    let tube_empty = (choice.treatment == Treatment::WaterTube)
        .then(|| Quantiles::of(all.iter().filter(|f| f.weight > 0.5).map(|f| (f.empty, f.weight)).collect()));

    FlowerPlan {
        order: order.clone(),
        share_if_known: Band::of(&if_known),
        count_if_known: counts(&if_known, order.heads, key),
        tube_empty,
        causes: causes(&all, until, ends),
        dry_wait: lasts.then(|| {
            let (first, at) = (grid.start + event.travel.drive, window.1);
            let waits: Vec<f64> = WAITS.iter().copied().filter(|w| at - w >= first).collect();
            let placings: Vec<_> = waits.iter().map(|w| way(at, *w)).collect();
            let shares = lots.live(Knowledge::AsItIs, &placings, &[choice.treatment], share);
            let fine = (0..waits.len())
                .take_while(|p| {
                    assurance(&shares.iter().map(|lot| lot[*p][0]).collect::<Vec<_>>()) >= event.assurance
                })
                .count();
            (if fine == 0 { 0.0 } else { waits[fine - 1] }, fine == waits.len())
        }),
        curves,
        chosen,
        lasts,
        target: event.target_share,
        window,
        too_hurried,
        choices,
    }
}

/// The treatment of least trouble that meets the target, as early as it does; else the best there is.
///
/// A time counts only if every later one of the same treatment meets the target too, so that a late crew is never
/// worse off than an early one. A treatment whose times are too short for its `work`, in hours of the whole crew,
/// waits behind those that leave enough.
fn choose(choices: &[Choice], assurance: f64, work: impl Fn(Treatment) -> f64) -> Chosen {
    let mut hurried: Option<Chosen> = None;
    let mut start = 0;
    while start < choices.len() {
        let treatment = choices[start].treatment;
        let end = start + choices[start..].iter().take_while(|c| c.treatment == treatment).count();
        let fine = choices[start..end].iter().rev().take_while(|c| c.assurance >= assurance).count();
        if fine > 0 {
            let chosen = end - fine;
            let window = (choices[chosen].place_at, choices[end - 1].place_at);
            if window.1 - window.0 >= work(treatment) {
                let too_hurried = hurried.map(|h| (choices[h.chosen].treatment, h.window.0));
                return Chosen { chosen, lasts: true, window, too_hurried };
            }
            hurried = hurried.or(Some(Chosen { chosen, lasts: true, window, too_hurried: None }));
        }
        start = end;
    }
    hurried.unwrap_or_else(|| best(choices))
}

struct Chosen {
    chosen: usize,
    lasts: bool,
    window: (f64, f64),
    too_hurried: Option<(Treatment, f64)>,
}

/// The best of choices none of which meets the target: the treatment that keeps most heads, the least trouble among
/// equals, as early as it is no worse by a head than its best.
fn best(choices: &[Choice]) -> Chosen {
    let score = |c: &Choice| (c.count.p50, c.count.p05, c.share.p50);
    let top = (0..choices.len())
        .rev()
        .max_by(|&a, &b| score(&choices[a]).partial_cmp(&score(&choices[b])).expect("shares are numbers"))
        .expect("a checked event has at least one placing");
    let treatment = choices[top].treatment;
    let same: Vec<usize> = (0..choices.len()).filter(|&i| choices[i].treatment == treatment).collect();
    let close = |i: &&usize| {
        choices[**i].count.p50 >= choices[top].count.p50 - 1.0
            && choices[**i].count.p05 >= choices[top].count.p05 - 1.0
    };
    let run = same.iter().rev().take_while(close).count().max(1);
    let (first, last) = (same[same.len() - run], same[same.len() - 1]);
    let chosen = if same[same.len() - run..].contains(&top) { first } else { top };
    Chosen {
        chosen,
        lasts: false,
        window: (choices[chosen].place_at, choices[last].place_at),
        too_hurried: None,
    }
}

fn causes(fates: &[Fate], until: f64, ends: impl Fn(&Fate) -> f64) -> Vec<(Cause, f64)> {
    let failed = fates.iter().filter(|f| ends(f) <= until);
    let total: f64 = failed.clone().map(|f| f.weight).sum();
    let mut causes: Vec<(Cause, f64)> = [Cause::Drying, Cause::Ageing, Cause::Heat, Cause::Supply]
        .into_iter()
        .map(|cause| {
            (cause, failed.clone().filter(|f| f.cause == cause).map(|f| f.weight).sum::<f64>() / total)
        })
        .filter(|(_, share)| *share > 0.0)
        .collect();
    causes.sort_by(|a, b| b.1.total_cmp(&a.1));
    causes
}

fn curve(
    lots: &Lots,
    way: &Placing,
    treatment: Treatment,
    place_at: f64,
    event: &Event,
    ends: impl Fn(&Fate) -> f64 + Copy + Sync,
) -> Curve {
    let last = event.span().1;
    let n = ((last - place_at) / CURVE_EVERY).floor() as usize;
    let hours: Vec<f64> = (0..=n).map(|i| place_at + i as f64 * CURVE_EVERY).collect();
    let shares = lots.live(Knowledge::AsItIs, std::slice::from_ref(way), &[treatment], |_, _, fates| {
        presentable(fates, &hours, ends)
    });
    let points = hours
        .iter()
        .enumerate()
        .map(|(i, h)| (*h, Band::of(&shares.iter().map(|lot| lot[0][0][i]).collect::<Vec<_>>())))
        .collect();
    Curve { treatment, place_at, points }
}
