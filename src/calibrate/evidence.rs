//! What each note says of a flower's dry hours, whatever air it was made in.
//!
//! A head that flags after `t` hours in some air would flag after `D(t)` hours in the reference air, `D` being the drying
//! clock of the model. In the standard normals behind the trade's points (`spread::two_piece`) a note then says: of `n`
//! heads at `a + s z`, so many lie below `w(D)`. That is what is learned from.

use super::trial::{Outcome, Trial};
use crate::climate::{Air, Climate, ClimateError};
use crate::flower::catalogue::{Flower, Parameter, Quantity};
use crate::flower::learned::WAYS;
use crate::flower::population::{LOT_TRAITS, Lot, limp_after_soft};
use crate::flower::spread::{two_piece, two_piece_z};
use crate::flower::treatment::{Handling, Lying};
use crate::numerics::normal;
use crate::physics::transpiration::{Skin, reference_flux, water_loss_against};
use crate::simulate::outcome::EndPoint;
use crate::stats::survival::Ending;

/// The longest step of the clock, h.
const STEP: f64 = 0.25;
/// Chance that a head was noted in the wrong place, so that a slip costs little (judgement).
const SLIP: f64 = 0.02;
/// Weibull shape of the ages at which heads of any delivery end: the shape between stems (4.7), widened by the spread of
/// cultivars and by what is not known (a standard deviation of 0.47 of the logarithm together).
const AGEING_SHAPE: f64 = 2.7;
/// Looks count as long as age alone would have left at least this share of the heads (judgement).
const YOUNG: f64 = 0.9;
/// Standard deviation of the skin's Q10 in its range of 1.0 to 1.4.
const SKIN_Q10_SD: f64 = 0.115;
/// Error of a rate of loss off a kitchen scale, drafts and handling included, in the logarithm (judgement).
pub(super) const WEIGHING: f64 = 0.05;
/// Up to about this loss heads lose in proportion to the clock; beyond it the shape of the loss curve matters too much.
const WEIGHED_UP_TO: f64 = 0.25;

/// What one trial or one event says of one flower.
#[derive(Debug, Clone)]
pub struct Evidence {
    /// Its number in the notebook.
    pub number: u32,
    /// Whether it comes from an event rather than from a trial.
    pub event: bool,
    /// The delivery, by the name it has in the notebook.
    pub lot: Option<String>,
    /// How many heads ended between one look and the next.
    pub cells: Vec<Cell>,
    /// What its weights say, where there are any.
    pub weighed: Option<Weighed>,
    /// Standard error of its drying clock as a whole, in standard normals: from its air, and from the step to the reference
    /// air.
    pub error: f64,
    /// Extra spread of wilting beyond that of flagging, where limp heads were counted, in standard normals.
    pub extra: f64,
    /// Whether something was done to its heads and not to the others.
    pub treated: bool,
    /// Logarithms of the factors by which its handling changes dry hours, in standard normals.
    pub handled: [f64; WAYS],
    /// The flower, and the hours that its heads lacked when they left the bucket for each hour that their median head lasts;
    /// `None` where they lacked none.
    pub lacked: Option<(&'static Flower, f64)>,
}

/// Heads that ended between two looks; looks are places in standard normals.
#[derive(Debug, Clone, Copy)]
pub struct Cell {
    /// The last look at which they were well.
    pub after: f64,
    /// The look at which they were not.
    pub by: f64,
    /// The shares that ageing alone would have left at both looks.
    pub aged: [f64; 2],
    /// How many heads they were.
    pub count: f64,
}

/// What the weights of a trial say: the share of its fresh mass that the middle head loses in an hour of the reference air.
#[derive(Debug, Clone, Copy)]
pub struct Weighed {
    /// Logarithm of the rate, 1/h.
    pub log_rate: f64,
    /// Standard error of that logarithm.
    pub error: f64,
    /// Logarithm of the factor by which leaves and stage change dry hours.
    pub handling: f64,
}

/// The clocks of a flower in some air.
struct Clocks {
    /// Hours of the reference air.
    drying: f64,
    /// Days of life at 20 C.
    ageing: f64,
}

/// Runs the clocks of a lot out of water through a climate that is off by `shift`, in K and as a share of saturation.
fn clocks(
    (flower, lying): (&Flower, Lying),
    lot: &Lot,
    skin_q10: f64,
    climate: &Climate,
    shift: (f64, f64),
    from: f64,
    to: f64,
) -> Clocks {
    let bare: Skin = flower.skin();
    let reference = reference_flux(&bare, skin_q10);
    let skin = Skin { shelter: lying.shelter(), ..bare };
    let steps = ((to - from) / STEP).ceil().max(1.0);
    let step = (to - from) / steps;
    let mut sums = Clocks { drying: 0.0, ageing: 0.0 };
    let mut last: Option<(Air, f64, f64)> = None;
    for n in 0..steps as usize {
        let air = climate.at(from + (n as f64 + 0.5) * step).shifted(shift.0, shift.1);
        let (drying, ageing) = match last {
            Some((same, drying, ageing)) if same == air => (drying, ageing),
            _ => {
                let loss = water_loss_against(reference, &air, &skin, skin_q10);
                (loss.relative, lot.ageing.pace(loss.sealed_c))
            }
        };
        last = Some((air, drying, ageing));
        sums.drying += drying * step;
        sums.ageing += ageing * step / 24.0;
    }
    sums
}

/// How many hours of the reference air the hours from `from` to `to` in a climate are worth to a flower out of water, lying as it
/// does, and the standard deviation of the logarithm of that, from the error of the climate and the skin's response to warmth.
///
/// # Examples
/// ```
/// use headwater::calibrate::evidence::worth;
/// use headwater::climate::{Air, Climate, ClimateError};
/// use headwater::flower::{catalogue::Catalogue, treatment::Lying};
/// let dahlia = Catalogue::shipped().find("dahlia").unwrap();
/// let barn = Climate::constant(Air::indoors(29.0, 0.55).unwrap(), ClimateError::GUESSED);
/// let (hours, give_or_take) = worth((dahlia, Lying::OnTop), &barn, 0.0, 2.0);
/// assert!(hours > 2.4 && give_or_take > 0.05);
/// assert!(worth((dahlia, Lying::Heap), &barn, 0.0, 2.0).0 < 0.6 * hours);
/// ```
pub fn worth((flower, lying): (&Flower, Lying), climate: &Climate, from: f64, to: f64) -> (f64, f64) {
    let lot = middle(flower, &Handling::default());
    let drying =
        |q10: f64, shift: (f64, f64)| clocks((flower, lying), &lot, q10, climate, shift, from, to).drying;
    let ClimateError { kelvin, rh } = climate.error;
    let q10 = lot.skin_q10;
    let apart = |a: f64, b: f64| 0.5 * (a / b).ln();
    let spread = [
        apart(drying(q10, (kelvin, 0.0)), drying(q10, (-kelvin, 0.0))),
        apart(drying(q10, (0.0, rh)), drying(q10, (0.0, -rh))),
        apart(drying(q10 + SKIN_Q10_SD, (0.0, 0.0)), drying(q10 - SKIN_Q10_SD, (0.0, 0.0))),
    ];
    (drying(q10, (0.0, 0.0)), spread.iter().map(|s| s * s).sum::<f64>().sqrt())
}

/// The median lot of a flower.
pub(super) fn middle(flower: &Flower, handling: &Handling) -> Lot {
    Lot::new(flower, handling, &[0.5; LOT_TRAITS])
}

/// The factor by which leaves and stage change dry hours.
fn preparation(handling: &Handling) -> f64 {
    handling.stage.hours_factor() / handling.leaves_lose()
}

/// What heads lacked when they left the bucket: hours for each hour of the median head of their delivery, which they count as soon as
/// the end-point comes `later` times as late as softening.
///
/// # Formula
/// As in [`Lot::new`]: a delivery leaves with the deficit `(1 - c) L s`, `L` being the hours of its median head, `c` by
/// conditioning and `s` by stage; so a head ends after `H s / l` less that deficit, `l` by leaves.
fn lacked(flower: &'static Flower, handling: &Handling, later: f64) -> Option<(&'static Flower, f64)> {
    let missing = (1.0 - handling.conditioning.start()) * handling.leaves_lose() / later;
    (missing > 0.0).then_some((flower, missing))
}

/// The place of heads that go soft after some hours of the reference air from when they left the bucket, leaves and stage reckoned
/// in, if their median head lasts as long as the catalogue says.
fn soft_after(dry: &Parameter, hours: f64, lacked: Option<(&'static Flower, f64)>) -> f64 {
    two_piece_z(dry, hours + lacked.map_or(0.0, |(_, missing)| missing * dry.value))
}

/// The flower of a trial and how its heads lie.
fn of(trial: &Trial) -> (&'static Flower, Lying) {
    (trial.flower, trial.handling.lying)
}

/// The clocks of the median lot of a trial, so many hours after its start.
fn after(trial: &Trial, lot: &Lot, hours: f64) -> Clocks {
    let (from, to) = (trial.start, trial.start + hours);
    clocks(of(trial), lot, lot.skin_q10, &trial.climate, (0.0, 0.0), from, to)
}

/// When the heads of a trial ended, in hours of the reference air, so that trials in different air can be compared.
pub fn in_reference_air(trial: &Trial) -> Vec<Ending> {
    let lot = middle(trial.flower, &trial.handling);
    let carried = |hours: f64| match hours {
        h if h > 0.0 && h.is_finite() => after(trial, &lot, h).drying,
        h => h,
    };
    trial.endings().iter().map(|e| Ending { after: carried(e.after), by: carried(e.by), ..*e }).collect()
}

/// The share of heads that age alone would have left after some days of life at 20 C.
fn spared_by_age(days: f64, life_days: f64) -> f64 {
    (-std::f64::consts::LN_2 * (days / life_days).powf(AGEING_SHAPE)).exp()
}

/// The hours from the start of a trial up to which drying alone is judged, if any look lies beyond: later, age would have
/// ended more than a few heads, and ignorance of the flower's life would pass for knowledge of its dry hours. Heads that were
/// well at a later look were well then, and count as such.
///
/// # Formula
/// The hour at which age alone would leave `YOUNG`, by bisection to a thousandth of the trial.
pub fn judged_until(trial: &Trial) -> Option<f64> {
    let lot = middle(trial.flower, &trial.handling);
    let spared = |hours: f64| {
        let clocks = after(trial, &lot, hours);
        spared_by_age(clocks.ageing, lot.life_days)
    };
    let last = trial.looks.last()?.at - trial.start;
    if last <= 0.0 || spared(last) >= YOUNG {
        return None;
    }
    let (mut young, mut old) = (0.0, last);
    for _ in 0..10 {
        let middle = 0.5 * (young + old);
        *(if spared(middle) >= YOUNG { &mut young } else { &mut old }) = middle;
    }
    Some(young)
}

/// The place of heads that go soft after some hours of the reference air out of water.
pub(super) fn placed(flower: &'static Flower, handling: &Handling, hours: f64) -> f64 {
    let dry = flower.parameter(Quantity::DryHours);
    soft_after(dry, hours / preparation(handling), lacked(flower, handling, 1.0))
}

impl Evidence {
    /// What a trial says; `None` where nothing was seen.
    pub fn of(trial: &Trial) -> Option<Evidence> {
        let flower = trial.flower;
        let dry = flower.parameter(Quantity::DryHours);
        let lot = middle(flower, &trial.handling);
        let until = |hours: f64| after(trial, &lot, hours);
        let limp = trial.end_point() == EndPoint::Wilted;
        let [later, between_heads, unknown] = if limp { limp_after_soft(flower) } else { [0.0; 3] };
        let lacked = lacked(flower, &trial.handling, later.exp());
        let at = |hours: f64| match hours {
            h if h <= 0.0 => (f64::NEG_INFINITY, 1.0),
            h if h.is_infinite() => (f64::INFINITY, 0.0),
            h => {
                let Clocks { drying, ageing } = until(h);
                let softening = drying / (preparation(&trial.handling) * later.exp());
                (soft_after(dry, softening, lacked), spared_by_age(ageing, lot.life_days))
            }
        };
        let young = judged_until(trial).unwrap_or(f64::INFINITY);
        let cells: Vec<Cell> = trial
            .endings()
            .iter()
            .map(|e| {
                let by = if e.by > young { f64::INFINITY } else { e.by };
                let ((after, left), (by, then)) = (at(e.after.min(young)), at(by));
                Cell { after, by, aged: [left, then], count: e.count }
            })
            .filter(|c| c.after > f64::NEG_INFINITY || c.by < f64::INFINITY)
            .collect();
        let weighed = weighed(trial, &|hours| until(hours).drying);
        let end = trial.looks.last()?.at;
        let (_, give_or_take) = worth(of(trial), &trial.climate, trial.start, end);
        (!cells.is_empty() || weighed.is_some()).then(|| Evidence {
            number: trial.number,
            event: false,
            lot: trial.lot.clone(),
            cells,
            weighed,
            error: give_or_take.hypot(unknown) / dry.ln_sd(),
            extra: between_heads / dry.ln_sd(),
            treated: !trial.treated.is_empty(),
            handled: trial.handling.shifts(flower),
            lacked,
        })
    }

    /// What an event says of a flower that was out of water; `None` where it was in water.
    pub fn of_outcome(outcome: &Outcome) -> Option<Evidence> {
        let dry = outcome.flower.parameter(Quantity::DryHours);
        let (hours, give_or_take) = outcome.worth.filter(|_| outcome.method.is_dry())?;
        let lacked = lacked(outcome.flower, &outcome.handling, 1.0);
        let at = placed(outcome.flower, &outcome.handling, hours);
        let well = f64::from(outcome.presentable);
        let cells = vec![
            Cell { after: f64::NEG_INFINITY, by: at, aged: [1.0, 1.0], count: f64::from(outcome.of) - well },
            Cell { after: at, by: f64::INFINITY, aged: [1.0, 0.0], count: well },
        ];
        Some(Evidence {
            number: outcome.number,
            event: true,
            lot: outcome.lot.clone(),
            cells,
            weighed: None,
            error: give_or_take / dry.ln_sd(),
            extra: 0.0,
            treated: false,
            handled: outcome.handling.shifts(outcome.flower),
            lacked,
        })
    }

    /// Where a place of its cells lies if the median head of the delivery stands at `middle`: what its heads lacked when they left the
    /// bucket is in proportion to the hours of that head.
    pub fn place(&self, cell: f64, middle: f64) -> f64 {
        let Some((flower, missing)) = self.lacked.filter(|_| cell.is_finite()) else { return cell };
        let dry = flower.parameter(Quantity::DryHours);
        two_piece_z(dry, two_piece(dry, cell) + missing * (two_piece(dry, middle) - dry.value))
    }

    /// Logarithm of the likelihood of its counts, if the median head is at `middle` and heads have the standard deviation
    /// `spread`, both in standard normals.
    ///
    /// # Formula
    /// Between two looks, `P = S(w_1) - S(w_2)` with `S(w) = Phi((a - w)/s) A`, `A` being the share that age leaves.
    /// A slip of the pen has a small chance, spread evenly over the cells.
    pub fn counted(&self, middle: f64, spread: f64) -> f64 {
        let spread = spread.hypot(self.extra);
        let even = SLIP / self.cells.len().max(2) as f64;
        // A cell mostly begins where the one before it ends.
        let mut last = (f64::NEG_INFINITY, 1.0);
        let mut beyond = |w: f64| {
            if w != last.0 {
                last = (w, above((self.place(w, middle) - middle) / spread));
            }
            last.1
        };
        let mut log = 0.0;
        for c in &self.cells {
            let chance = c.aged[0] * beyond(c.after) - c.aged[1] * beyond(c.by);
            log += c.count * ((1.0 - SLIP) * chance.max(0.0) + even).ln();
        }
        log
    }
}

/// The upper tail of the standard normal; beyond seven standard deviations it is taken as one or nothing.
fn above(z: f64) -> f64 {
    match z {
        z if z <= -7.0 => 1.0,
        z if z >= 7.0 => 0.0,
        z => normal::upper_tail(z),
    }
}

/// Logarithm of the share of its fresh mass that the median head of a delivery loses in an hour of the reference air.
pub fn log_rate(flower: &Flower, middle: f64, flagging: f64) -> f64 {
    let loss =
        two_piece(flower.parameter(Quantity::FlaggingLoss), std::f64::consts::FRAC_1_SQRT_2 * flagging);
    let hours = two_piece(flower.parameter(Quantity::DryHours), middle);
    (flower.loss_curve().clock(loss.min(0.5)) / hours).ln()
}

/// Variance between the heads of a delivery of the logarithm of what they lose in an hour, as a share of their mass.
pub(super) fn between_heads(flower: &Flower) -> f64 {
    let hours_sd = flower.shares().head.sqrt() * flower.parameter(Quantity::DryHours).ln_sd();
    let loss_sd = std::f64::consts::FRAC_1_SQRT_2 * flower.parameter(Quantity::FlaggingLoss).ln_sd();
    hours_sd * hours_sd + loss_sd * loss_sd - hours_sd * loss_sd // their correlation is one half
}

/// What a trial's weights say: the slope through the first of them on the drying clock.
fn weighed(trial: &Trial, drying: &dyn Fn(f64) -> f64) -> Option<Weighed> {
    let flower = trial.flower;
    let whole = trial.looks.iter().filter(|l| l.of == trial.heads);
    let later = whole.filter_map(|l| Some((l.at - trial.start, l.weight_g?)));
    let mut weights = trial.fresh_g.map(|g| (0.0, g)).into_iter().chain(later);
    let (first, fresh) = weights.next()?;
    let curve = flower.loss_curve();
    let from = if first > 0.0 { drying(first) } else { 0.0 };
    let points: Vec<(f64, f64)> = weights
        .map(|(hours, grams)| (drying(hours) - from, 1.0 - grams / fresh))
        .filter(|(d, lost)| *d > 0.0 && (0.0..WEIGHED_UP_TO).contains(lost))
        .map(|(d, lost)| (d, curve.clock(lost)))
        .collect();
    let (top, bottom) = points.iter().fold((0.0, 0.0), |(a, b), (d, c)| (a + d * c, b + d * d));
    if top <= 0.0 {
        return None;
    }
    // Heads weighed together give their mean rate; that of the median head is lower, the more they differ.
    let between = between_heads(flower);
    Some(Weighed {
        log_rate: (top / bottom).ln() - 0.5 * between,
        error: (between / f64::from(trial.heads)).sqrt().hypot(WEIGHING),
        handling: preparation(&trial.handling).ln(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::flower::catalogue::Catalogue;
    use crate::flower::treatment::Conditioning;

    /// A head that lacked half of its median's hours when it left the bucket, and is soft after the other half, lies in the
    /// middle; one that lacked nothing lies there after all of them.
    #[test]
    fn what_heads_lacked_counts_among_their_hours() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let dry = rose.parameter(Quantity::DryHours);
        assert!(soft_after(dry, 0.5 * dry.value, Some((rose, 0.5))).abs() < 1e-12);
        assert!(soft_after(dry, dry.value, None).abs() < 1e-12);
        assert!(soft_after(dry, 0.5 * dry.value, None) < -0.3);
    }

    #[test]
    fn only_heads_that_did_not_drink_all_night_lack_something() {
        let rose = Catalogue::shipped().find("rose").unwrap();
        let of = |conditioning: Conditioning, later: f64| {
            let handling = Handling { conditioning, leaves_on: false, ..Handling::default() };
            lacked(rose, &handling, later).map(|(_, missing)| missing)
        };
        assert_eq!(of(Conditioning::Overnight, 1.0), None);
        let boxed = of(Conditioning::FromTheBox, 1.0).unwrap();
        assert!((boxed - (1.0 - Conditioning::FromTheBox.start())).abs() < 1e-12);
        // What comes twice as late hides half of it.
        assert!((of(Conditioning::FromTheBox, 2.0).unwrap() - 0.5 * boxed).abs() < 1e-12);
    }
}
