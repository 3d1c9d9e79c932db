//! How the lots and heads of a flower differ.
//!
//! Three kinds of uncertainty are kept apart. The **spread between heads** of a lot averages out over many heads. The
//! **spread between lots** (grower, cultivar, season) does not average out within one event. **Ignorance**, what is not
//! known of a flower, shrinks with the florist's own trials. The 10 and 90 % points of the dry hours hold all three;
//! [`Shares`](super::support::Shares) divides their variance. Every function here maps uniform numbers to values and samples
//! nothing itself.

use super::catalogue::{Flower, Quantity, Tag};
use super::learned::{Bears, Learned, WAYS};
use super::loss::{CLOSED_AT, LossCurve, WATER_SHARE};
use super::spread::{TwoPiece, two_piece};
use super::treatment::{Handling, UNKNOWN_AFTER_A_TRIAL};
use crate::climate::Air;
use crate::numerics::elementary::{exp, ln, pow};
use crate::numerics::normal::{self, Z90};
use crate::physics::ageing::Ageing;
use nalgebra::Matrix3;
use std::sync::LazyLock;

/// Number of heads simulated in a lot.
pub const HEADS: usize = 32;

/// The traits in which lots differ; each takes one uniform number.
#[derive(Debug, Clone, Copy)]
pub enum LotTrait {
    /// Dry hours: ignorance of the flower.
    Ignorance,
    /// Dry hours: this lot against others.
    Lot,
    /// Loss at flagging: ignorance of the flower.
    FlaggingIgnorance,
    /// Vase life: ignorance of the flower.
    LifeIgnorance,
    /// Vase life: this lot against others.
    LifeLot,
    /// How ageing quickens with warmth.
    AgeingQ10,
    /// The temperature above which ageing quickens no more.
    AgeingCap,
    /// The temperature up to which heat does no harm.
    Heat,
    /// How the skin's conductance rises with warmth.
    SkinQ10,
    /// How much water its stems can supply.
    Supply,
    /// How many tubes leak or pull out.
    Leak,
    /// How many stems do not drink.
    AirLock,
    /// The relative water deficit at which its stomata are shut.
    Closing,
    /// How much cold slows its ageing.
    Cold,
    /// What conditioning is worth to it.
    Conditioning,
    /// What its stage is worth.
    Stage,
    /// How far leaves draw on its heads.
    Leaves,
    /// How far what lies around them shelters them.
    Shelter,
}

/// The number of [`LotTrait`]s.
pub const LOT_TRAITS: usize = 18;

/// The traits in which the heads of a lot differ; each takes one uniform number for each head.
#[derive(Debug, Clone, Copy)]
pub enum HeadTrait {
    /// Dry hours of this head.
    Dry,
    /// Loss of fresh mass at flagging.
    Flagging,
    /// Loss of fresh mass when wilted, against that at flagging.
    Wilting,
    /// Life in a vase.
    Life,
    /// Dose of heat that it bears.
    Heat,
    /// Fresh mass of the head.
    Mass,
}

/// The number of [`HeadTrait`]s.
pub const HEAD_TRAITS: usize = 6;

/// The probability below a standard normal `z`, kept off 0 and 1.
fn share_below(z: f64) -> f64 {
    normal::cdf(z).clamp(f64::EPSILON, 1.0 - f64::EPSILON)
}

/// Rotates the normals behind [`LotTrait::Ignorance`] and [`LotTrait::Lot`] so that the first is their sum in dry hours.
///
/// Independent normals stay independent normals when rotated, so the distribution does not change. But the sum, which
/// decides most, is then as evenly stratified over lots as the first number was, and a sample of a few hundred lots hits
/// its quantiles ten times as well.
pub fn align(flower: &Flower, handling: &Handling, draws: &mut [f64; LOT_TRAITS]) {
    let Learned { lot, spread: unknown, .. } = known(flower, handling);
    let length = libm::hypot(lot, unknown);
    let (along, across) = (
        normal::quantile(draws[LotTrait::Ignorance as usize]),
        normal::quantile(draws[LotTrait::Lot as usize]),
    );
    draws[LotTrait::Ignorance as usize] = share_below((unknown * along + lot * across) / length);
    draws[LotTrait::Lot as usize] = share_below((lot * along - unknown * across) / length);
}

/// The value at `u` from 0 to 1, linear from the lowest to the middle at one half and on to the highest.
fn triangle([low, middle, high]: [f64; 3], u: f64) -> f64 {
    if u < 0.5 { low + 2.0 * u * (middle - low) } else { middle + (2.0 * u - 1.0) * (high - middle) }
}

/// What the heads of one lot have in common.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// The part of the standard normal behind dry hours that comes from the lot and from ignorance.
    dry_z: f64,
    /// Standard deviation of that normal between the heads of the lot.
    head: f64,
    /// The part of the standard normal behind the loss at flagging that comes from ignorance.
    flagging_z: f64,
    /// Median life in water at 20 C, d.
    pub life_days: f64,
    /// How it ages with temperature.
    pub ageing: Ageing,
    /// Q10 of the skin's conductance to water vapour.
    pub skin_q10: f64,
    /// Rate at which a stem in water refills the store, 1/h.
    pub refill_per_hour: f64,
    /// Deficit with which its heads leave their last bucket, h of the reference air: they dried alike.
    pub start_deficit: f64,
    /// The factor by which its stage multiplies its hours.
    stage: f64,
    /// The factor by which leaves left on hasten its drying out of water.
    pub leaves: f64,
    /// The factor by which what lies around its heads lengthens their hours in still air.
    pub shelter: f64,
    /// The share of a room's drying that reaches its heads in boxes.
    pub boxed: f64,
    /// Share of water tubes that leak or pull out.
    pub leak_share: f64,
    /// Share of stems that do not drink at all.
    pub air_lock_share: f64,
    /// How many times as much its heads drink as the catalogue says.
    pub drinks: f64,
    /// How loss of fresh mass follows the drying clock.
    pub curve: LossCurve,
    /// Petal temperature below which heat does no lasting harm, C.
    pub harmless_c: f64,
}

/// Ageing's Q10: median 2.5, 1.8 to 3.5 (5 to 95 %). Source: respiration of cut flowers has a Q10 of 2.6 to 3
/// (Çelikel, Cevallos & Reid 2010); wild flowers age with an apparent 2.1 to 2.7 (Song et al. 2022); the range is
/// judgement.
const AGEING_Q10: (f64, f64) = (2.5, 0.202);
/// Ageing at 0 C relative to the Q10: median 1, and a spread of one in the logarithm. Computed on abstracts: 0.15 for
/// peony buds at 0 to 1 C over 12 weeks, 1.75 for narcissus at 3 C, up to 1.6 for a dahlia and 2.4 for lupins at 1 C.
const COLD_AGEING: (f64, f64) = (1.0, 1.0);
/// Ageing quickens no more above a temperature between these. Source: carnations aged no faster at 32 than at 24 C
/// (J. Japan. Soc. Hort. Sci. 74(4):337, 2005).
const AGEING_CAP_C: (f64, f64) = (24.0, 32.0);
/// Lot-to-lot standard deviation of the logarithm of vase life: a known cultivar, and an unknown one. Sources: 0.213
/// between 556 carnation genotypes; 0.33 between 38 rose cultivars (Macnish et al. 2010).
const LIFE_LOT: (f64, f64) = (0.20, 0.35);
/// Shape of the Weibull distribution of the lives of single stems within a lot. Source: 3,234 single carnation stems.
const LIFE_SHAPE: f64 = 4.7;
/// Standard deviation of the logarithm of that distribution: pi / sqrt(6) / shape.
const LIFE_STEM: f64 = 0.273;
/// What is not known of a flower's median vase life at least, as a standard deviation of its logarithm: where it was
/// read, and where it is remembered (judgement).
const LIFE_UNKNOWN: [f64; 2] = [0.15, 0.30];
/// Temperature below which heat does no lasting harm, C: petals, and leaves, pods and succulents (judgement; leaves of
/// tropical trees fail at 47 to 49 C); and how far flowers differ from it, K (judgement).
const HARMLESS_C: [f64; 2] = [38.0, 43.0];
const HARMLESS_SD_K: f64 = 2.0;
/// Shape of the Weibull distribution of the doses that heads bear: harm builds up, it does not strike at once (judgement).
const HEAT_SHAPE: f64 = 3.0;
/// Correlations within a lot of the normals behind dry hours, loss at flagging and loss at wilting (judgement: a head
/// that bears more loss lasts longer).
const HEAD_CORRELATION: [[f64; 3]; 3] = [[1.0, 0.5, 0.2], [0.5, 1.0, 0.3], [0.2, 0.3, 1.0]];
/// Loss when plainly limp over the median loss at first flagging: 19 % against 10 % of fresh mass, and its spread, which
/// gives 14 to 26 % (5 to 95 %) of a rose, with limp never before soft.
/// Source: 19 % of petal mass, 'Mercedes' roses; the spread is judgement.
const WILTING: (f64, f64) = (1.9, 0.18);

/// Loss of fresh mass at which a head is taken off the table: about a third, as loose flowers are sold (judgement).
const PAST_USE: f64 = 0.33;

/// Percent of fresh mass that a head in the middle has lost at the first softening, when plainly limp, and when past use.
pub fn mass_lost(flower: &Flower) -> [f64; 3] {
    let soft = flower.median(Quantity::FlaggingLoss);
    let limp = (soft * WILTING.0).min(0.95 * WATER_SHARE);
    [soft, limp, PAST_USE.max(1.15 * limp).min(0.95 * WATER_SHARE)].map(|share| 100.0 * share)
}

impl Lot {
    /// The lot behind a set of uniform numbers strictly between 0 and 1, one for each [`LotTrait`].
    pub fn new(flower: &Flower, handling: &Handling, draws: &[f64; LOT_TRAITS]) -> Lot {
        let u = |t: LotTrait| draws[t as usize];
        let z = |t: LotTrait| normal::quantile(u(t));
        let between = |(a, b): (f64, f64), t: LotTrait| a + (b - a) * u(t);
        let lognormal = |(median, sd): (f64, f64), t: LotTrait| median * exp(sd * z(t));
        let parameter = |q: Quantity, z: f64| two_piece(flower.parameter(q), z);
        let known = known(flower, handling);
        let life_sd = if handling.cultivar_known { LIFE_LOT.0 } else { LIFE_LOT.1 };
        let unknown = z(LotTrait::Ignorance);
        let dry_z = known.middle + known.lot * z(LotTrait::Lot) + known.spread * unknown;
        let lot_hours = parameter(Quantity::DryHours, dry_z) * own(flower, handling);
        let ways = [LotTrait::Conditioning, LotTrait::Stage, LotTrait::Leaves, LotTrait::Shelter];
        let [start, stage, slowed, shelter] = std::array::from_fn(|way| match handling.factors()[way] {
            1.0 => 1.0,
            factor => pow(factor, known.bears.power(way, known.spread, unknown, z(ways[way]))),
        });
        // The stated range of a vase life includes the spread of stems and of unknown cultivars: what is left is ignorance.
        let life = flower.parameter(Quantity::VaseDays);
        let least = LIFE_UNKNOWN[usize::from(life.tag == Tag::FromMemory)];
        let met = life.ln_sd();
        let life_unknown =
            (met * met - LIFE_LOT.1 * LIFE_LOT.1 - LIFE_STEM * LIFE_STEM).max(least * least).sqrt();
        let q10 = lognormal(AGEING_Q10, LotTrait::AgeingQ10);
        Lot {
            dry_z,
            head: known.head,
            flagging_z: known.flagging.middle
                + known.flagging.on_dry * unknown
                + known.flagging.spread * z(LotTrait::FlaggingIgnorance),
            life_days: life.value
                * exp(life_unknown * z(LotTrait::LifeIgnorance) + life_sd * z(LotTrait::LifeLot))
                * handling.stage.life_factor(),
            ageing: Ageing {
                q10,
                cap_c: between(AGEING_CAP_C, LotTrait::AgeingCap),
                cold: lognormal(COLD_AGEING, LotTrait::Cold).min(q10),
            },
            skin_q10: between((1.0, 1.4), LotTrait::SkinQ10),
            refill_per_hour: parameter(Quantity::SupplyMargin, z(LotTrait::Supply)) / lot_hours,
            start_deficit: (1.0 - start) * lot_hours * stage,
            stage,
            leaves: 1.0 / slowed,
            shelter,
            boxed: handling.boxes.share(thirst(flower, lot_hours)),
            drinks: known.drinks_times(handling.leaves_on),
            leak_share: between((0.02, 0.05), LotTrait::Leak), // judgement
            harmless_c: HARMLESS_C[usize::from(flower.surface() != "petal")]
                + HARMLESS_SD_K * z(LotTrait::Heat),
            curve: match flower.loss_curve() {
                LossCurve::Passive => LossCurve::Passive,
                LossCurve::Closing(_) => LossCurve::Closing(triangle(CLOSED_AT, u(LotTrait::Closing))),
            },
            air_lock_share: (parameter(
                Quantity::AirLockShare,
                known.locked.middle + known.locked.spread * z(LotTrait::AirLock),
            ) * handling.conditioning.air_locks())
            .min(0.5),
        }
    }
}

impl Lot {
    /// Dry hours of the head that stands at standard normal `z` among the heads of this lot, from when it leaves the bucket, h;
    /// below 0 if it is soft by then.
    pub fn dry_hours(&self, flower: &Flower, handling: &Handling, z: f64) -> f64 {
        let hours = two_piece(flower.parameter(Quantity::DryHours), self.head * z + self.dry_z);
        times(hours, [own(flower, handling), self.stage]) - self.start_deficit
    }
}

/// What heads with these dry hours lose in the reference air, g an hour and kPa for each gram of them.
fn thirst(flower: &Flower, hours: f64) -> f64 {
    let lost = flower.loss_curve().clock(flower.median(Quantity::FlaggingLoss));
    lost / hours / (1e-3 * Air::reference().vapour_pressure_deficit())
}

#[inline(always)]
fn times(hours: f64, [own, stage]: [f64; 2]) -> f64 {
    hours * own * stage
}

/// What is known of a flower's dry hours: the florist's own figure comes before the notebook, and that before the trade's
/// table.
fn known(flower: &Flower, handling: &Handling) -> Learned {
    let table = Learned::nothing(flower);
    match (handling.own_dry_hours, handling.learned) {
        (Some(_), learned) => Learned {
            spread: UNKNOWN_AFTER_A_TRIAL * table.spread,
            locked: learned.map_or(table.locked, |l| l.locked),
            drinks: learned.map_or(table.drinks, |l| l.drinks),
            bears: learned.map_or(table.bears, |l| Bears { with_place: [0.0; WAYS], ..l.bears }),
            ..table
        },
        (None, learned) => learned.unwrap_or(table),
    }
}

/// The florist's own dry hours over the catalogue's.
fn own(flower: &Flower, handling: &Handling) -> f64 {
    handling.own_dry_hours.map_or(1.0, |hours| hours / flower.median(Quantity::DryHours))
}

/// How much later than the first softening a head is plainly limp, as the logarithm of the ratio of their drying clocks:
/// median, standard deviation with all spread, and that of the part that comes from ignorance.
pub fn limp_after_soft(flower: &Flower) -> [f64; 3] {
    let flagging = flower.parameter(Quantity::FlaggingLoss);
    let curve = flower.loss_curve();
    let limp = (flagging.value * WILTING.0).min(0.95 * WATER_SHARE);
    let half = std::f64::consts::FRAC_1_SQRT_2 * ln(flagging.high / flagging.low) / (2.0 * Z90);
    [ln(curve.clock(limp) / curve.clock(flagging.value)), libm::hypot(half, WILTING.1), half]
}

/// The heads of one lot, one array for each trait.
#[derive(Debug, Clone, PartialEq)]
pub struct Heads {
    /// Drying rate: one over the dry hours of a head, 1/h of the reference air.
    pub rate: [f64; HEADS],
    /// Reading of the drying clock at flagging, as a share of fresh mass.
    pub flagging_clock: [f64; HEADS],
    /// Deficit at which it is plainly wilted, in units of its deficit at flagging.
    pub wilted_at: [f64; HEADS],
    /// Deficit at which it is taken off the table, in units of its deficit at flagging.
    pub past_use_at: [f64; HEADS],
    /// Life of each head in water at 20 C, d.
    pub life_days: [f64; HEADS],
    /// Dose of heat injury that ends it.
    pub heat_limit: [f64; HEADS],
    /// Fresh mass that water is lost from as from each head, g: its own, and with leaves on as much more as they drink.
    pub mass: [f64; HEADS],
    /// How loss of fresh mass follows the drying clock.
    pub curve: LossCurve,
}

impl Heads {
    /// The heads behind a set of uniform numbers strictly between 0 and 1: for each [`HeadTrait`] one for each head.
    #[inline(always)]
    pub fn new(
        flower: &Flower,
        handling: &Handling,
        lot: &Lot,
        draws: &[[f64; HEADS]; HEAD_TRAITS],
    ) -> Heads {
        // The Cholesky factor, by row.
        static ROOT: LazyLock<[[f64; 3]; 3]> = LazyLock::new(|| {
            let c = Matrix3::from_fn(|i, j| HEAD_CORRELATION[i][j]);
            let l = c.cholesky().expect("the correlations are positive definite").l();
            l.transpose().into()
        });
        let root = *ROOT;
        let pieces = |quantity| TwoPiece::of(flower.parameter(quantity));
        let [dry, loss, mass] =
            [pieces(Quantity::DryHours), pieces(Quantity::FlaggingLoss), pieces(Quantity::FreshMass)];
        let z = |t: HeadTrait| normal::quantiles(&draws[t as usize]);
        let z0 = [z(HeadTrait::Dry), z(HeadTrait::Flagging), z(HeadTrait::Wilting), z(HeadTrait::Mass)];
        let [life, heat] = [&draws[HeadTrait::Life as usize], &draws[HeadTrait::Heat as usize]];
        let factors = [own(flower, handling), lot.stage];
        let leaves = lot.leaves;
        let part = handling.part_of_head();
        // The clock of the head runs as fast as leaves draw on it; what the stem drinks is more than that.
        let thirsty = lot.drinks * handling.leaves_drink() / leaves;
        let mut heads = Heads {
            rate: [0.0; HEADS],
            flagging_clock: [0.0; HEADS],
            wilted_at: [0.0; HEADS],
            past_use_at: [0.0; HEADS],
            life_days: [0.0; HEADS],
            heat_limit: [0.0; HEADS],
            mass: [0.0; HEADS],
            curve: lot.curve,
        };
        // Without branches, so that vector instructions handle several heads at a time.
        for h in 0..HEADS {
            let [dry_z, loss_z, limp_z] =
                root.map(|row| row[0] * z0[0][h] + row[1] * z0[1][h] + row[2] * z0[2][h]);
            let hours = times(dry.at(lot.head * dry_z + lot.dry_z), factors);
            // Half of the variance of the loss at flagging is between heads, half is ignorance of the flower.
            let flagging = loss.at(std::f64::consts::FRAC_1_SQRT_2 * (loss_z + lot.flagging_z));
            let flagging = flagging.min(0.7 * WATER_SHARE);
            // A head is limp after it is soft, whatever the two random numbers are.
            let limp = loss.middle * WILTING.0 * exp(WILTING.1 * limp_z);
            heads.rate[h] = leaves / hours;
            heads.flagging_clock[h] = flagging;
            heads.wilted_at[h] = limp.max(1.15 * flagging).min(0.95 * WATER_SHARE);
            heads.past_use_at[h] =
                PAST_USE.max(1.15 * heads.wilted_at[h]).min(0.95 * WATER_SHARE).max(heads.wilted_at[h]);
            heads.life_days[h] = lot.life_days * pow(-ln(life[h]) / std::f64::consts::LN_2, 1.0 / LIFE_SHAPE);
            heads.heat_limit[h] = pow(-ln(heat[h]), 1.0 / HEAT_SHAPE);
            heads.mass[h] = thirsty * part * mass.at(z0[3][h]);
        }
        // From losses to readings of the drying clock.
        let ends = heads.wilted_at.iter_mut().zip(&mut heads.past_use_at);
        for (flagging, (wilted, past_use)) in heads.flagging_clock.iter_mut().zip(ends) {
            *flagging = lot.curve.clock(*flagging);
            *wilted = lot.curve.clock(*wilted) / *flagging;
            *past_use = lot.curve.clock(*past_use) / *flagging;
        }
        heads
    }
}
