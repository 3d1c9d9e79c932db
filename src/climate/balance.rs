//! The air inside a building, by a balance of heat and of moisture over time steps.
//!
//! Heat is stored in the air of the room and in the mass in it (floor, walls, tables), moisture in the air alone. Outdoor
//! air comes in, heat is lost through walls and roof, the sun shines on the roof, people and candles give off heat and
//! vapour, and cooling and heating hold their set points.
//!
//! Left out are lights and kitchens, water taken up by wood and cloth, the heat of condensation, rain, and machines too weak
//! for the day. The parameters are judgement by plain words: an estimate until somebody measures.

use super::Air;
use super::air::{
    density, humidity_ratio, latent_heat, saturation_vapour_pressure, vapour_pressure_from_humidity_ratio,
};

/// What a building is made of, in figures for each square metre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fabric {
    /// The plain word for it.
    pub words: &'static str,
    /// Heat lost through each square metre of wall and roof, W m-2 K-1 (from memory).
    pub loss: f64,
    /// Heat capacity for each square metre of floor, with walls and furniture, J m-2 K-1.
    ///
    /// The classes of EN ISO 13790:2008, table 12 (from memory): very light 80, light 110, medium 165, heavy 260, very
    /// heavy 370 kJ. A tent on grass is below the lightest (judgement).
    pub mass: f64,
    /// Share of the sunshine on the roof that ends as heat inside (judgement: it brings the rooms of the plain words to
    /// their temperatures).
    pub sun: f64,
    /// Share of what comes in that still shines on flowers (judgement).
    pub light: f64,
}

/// The word for the fabric of a tent.
pub const CANVAS: &str = "canvas";

/// The kinds of building that are known.
pub const FABRICS: [Fabric; 5] = [
    Fabric { words: CANVAS, loss: 6.0, mass: 40e3, sun: 0.15, light: 0.0 },
    Fabric { words: "glass", loss: 5.8, mass: 80e3, sun: 0.3, light: 0.4 },
    Fabric { words: "timber", loss: 2.0, mass: 110e3, sun: 0.05, light: 0.0 },
    Fabric { words: "stone", loss: 1.5, mass: 370e3, sun: 0.03, light: 0.0 },
    Fabric { words: "insulated", loss: 0.5, mass: 165e3, sun: 0.03, light: 0.0 },
];

/// Ways of airing: the words, air changes an hour, and the air speed past the flowers, m/s (all judgement).
pub const AIRING: [(&str, f64, f64); 4] = [
    ("doors shut", 1.0, Air::STILL),
    ("doors open", 4.0, 0.15),
    ("fans", 10.0, 0.5), // that blow through open doors
    ("sides up", 30.0, 0.4),
];

/// What a person gives off at 24 C, by activity, W: sensible heat and latent heat.
///
/// ASHRAE Handbook Fundamentals, table of heat gain from occupants, from memory: restaurant, standing and light work,
/// moderate dancing.
pub const ACTIVITIES: [(&str, f64, f64); 3] =
    [("seated", 80.0, 80.0), ("standing", 75.0, 55.0), ("dancing", 90.0, 160.0)];

/// Air temperature at which [`ACTIVITIES`] holds, C.
const COMFORT_C: f64 = 24.0;
/// Temperature of the skin, C: air this warm takes up no sensible heat, and sweat carries all of it (from memory).
const SKIN_C: f64 = 35.0;
/// Paraffin that a candle burns, kg s-1: 5 g an hour, between a tea light and a table candle (from memory).
const CANDLE_BURNS: f64 = 0.005 / 3600.0;
/// Lower heating value of paraffin, J kg-1 (from memory).
const PARAFFIN_HEAT: f64 = 43e6;
/// Water made by burning paraffin, kg kg-1: 26 of water (18.015) for one of C25H52 (352.7).
const PARAFFIN_WATER: f64 = 26.0 * 18.015 / 352.7;
/// Heat transfer between air and mass for each square metre of floor, W m-2 K-1: 3.45 over 4.5 m2 of surface, then
/// 9.1 over 2.5 m2 of mass, in series (EN ISO 13790:2008, 7.2.2.2 and 12.2.2, from memory).
const COUPLING: f64 = 9.2;
/// Share of a heat gain that goes to the air; the rest goes to the mass (EN ISO 13790:2008, from memory).
const AT_ONCE: f64 = 0.5;
/// Temperature of a cooling coil, C: air that passes it leaves no moister than saturated at this (judgement).
const COIL_C: f64 = 12.0;
/// The coil is at least this much colder than the air of the room, K (judgement).
const COIL_BELOW: f64 = 8.0;
/// Specific heat of moist air, J kg-1 K-1: 1006 + 1860 W (ASHRAE Handbook Fundamentals 2017, ch. 1), at 8 g/kg.
pub const SPECIFIC_HEAT: f64 = 1020.0;

/// Length of a time step, s. Halving it changes no hour by a tenth of a kelvin.
pub const STEP: f64 = 30.0;
/// Hours simulated before the first one that is wanted, so that the start does not matter: three time constants of stone.
const BEFORE: f64 = 168.0;

/// The parameters of a building in the balance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Building {
    /// Volume of its air, m3.
    pub volume: f64,
    /// Heat loss through walls and roof, W K-1.
    pub loss: f64,
    /// Heat capacity of its mass, J K-1.
    pub mass: f64,
    /// Heat transfer between its air and its mass, W K-1.
    pub coupling: f64,
    /// Area that would collect its solar gain in full sunshine, m2.
    pub sun: f64,
    /// Share of the sunshine outdoors that shines on flowers.
    pub light: f64,
}

impl Building {
    /// A square hall with a flat roof. `sun` replaces the fabric's share of sunshine that ends as heat inside.
    ///
    /// ```
    /// use headwater::climate::balance::{Building, FABRICS};
    /// // 100 m2 under canvas, 3 m high: 100 m2 of roof and 120 m2 of wall at 6 W m-2 K-1.
    /// let tent = Building::new(&FABRICS[0], 100.0, 3.0, None);
    /// assert_eq!((tent.volume, tent.loss), (300.0, 1320.0));
    /// ```
    pub fn new(fabric: &Fabric, floor_m2: f64, height_m: f64, sun: Option<f64>) -> Building {
        let sun = sun.unwrap_or(fabric.sun);
        Building {
            volume: floor_m2 * height_m,
            loss: fabric.loss * (floor_m2 + 4.0 * floor_m2.sqrt() * height_m),
            mass: fabric.mass * floor_m2,
            coupling: COUPLING * floor_m2,
            sun: sun * floor_m2,
            light: sun * fabric.light,
        }
    }
}

/// The loads on a building at one instant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// The air outdoors, with the sunshine on the roof.
    pub outside: Air,
    /// Air changes an hour.
    pub air_changes: f64,
    /// Sensible heat that the people would give off at 24 C, W.
    pub sensible: f64,
    /// Latent heat that the people would give off at 24 C, W.
    pub latent: f64,
    /// Number of burning candles.
    pub candles: f64,
    /// Set point of cooling, C; none where it is off.
    pub cooled_to: Option<f64>,
    /// Set point of heating, C; none where it is off.
    pub heated_to: Option<f64>,
}

impl Load {
    /// Nobody inside, and all machines off.
    pub fn empty(outside: Air, air_changes: f64) -> Load {
        Load {
            outside,
            air_changes,
            sensible: 0.0,
            latent: 0.0,
            candles: 0.0,
            cooled_to: None,
            heated_to: None,
        }
    }

    /// Adds people who each give off this much sensible and latent heat at 24 C, W.
    pub fn with_people(mut self, people: f64, sensible: f64, latent: f64) -> Load {
        self.sensible += people * sensible;
        self.latent += people * latent;
        self
    }

    /// Sensible heat, W, and vapour, kg s-1, that people and candles give off at an operative temperature `felt_c`, C.
    ///
    /// # Formula
    /// The total heat of a body is constant; its sensible part falls linearly to 0 at 35 C (judgement, after the handbook's
    /// tables at several temperatures, from memory). A candle burns 5 g of paraffin an hour.
    /// # Examples
    /// ```
    /// use headwater::climate::{Air, balance::Load};
    /// let supper = Load::empty(Air::reference(), 1.0).with_people(100.0, 80.0, 80.0);
    /// let (heat, vapour) = supper.gains(24.0);
    /// assert_eq!(heat, 8000.0);
    /// assert!((vapour * 3600.0 - 11.8).abs() < 0.1, "some twelve litres an hour");
    /// assert!(supper.gains(30.0).0 < heat && supper.gains(30.0).1 > vapour);
    /// ```
    pub fn gains(&self, felt_c: f64) -> (f64, f64) {
        let body = self.sensible + self.latent;
        let dry = (self.sensible * (SKIN_C - felt_c) / (SKIN_C - COMFORT_C)).clamp(0.0, body);
        let burnt = self.candles * CANDLE_BURNS;
        (dry + burnt * PARAFFIN_HEAT, (body - dry) / latent_heat(COMFORT_C) + burnt * PARAFFIN_WATER)
    }
}

/// The temperatures and the moisture inside a building.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct State {
    /// Temperature of its air, C.
    pub air_c: f64,
    /// Temperature of its mass, C.
    pub mass_c: f64,
    /// Humidity ratio of the air, kg of water per kg of dry air.
    pub moisture: f64,
}

impl State {
    /// Operative temperature, which a body feels: midway between air and mass, C.
    pub fn felt_c(&self) -> f64 {
        0.5 * (self.air_c + self.mass_c)
    }
}

/// The air, water and heat that were moved in a time step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moved {
    /// Dry air exchanged with the outside, kg.
    pub air: f64,
    /// Water given off by people and candles, kg.
    pub given_off: f64,
    /// Water condensed on the cooling coil and on cold walls, kg.
    pub taken_out: f64,
    /// Heat removed by cooling; negative where heating added it, J.
    pub cooling: f64,
}

/// Mass of dry air in a volume, kg, taken at 20 C: the difference at room temperatures is small.
pub fn dry_air(volume: f64, pressure: f64) -> f64 {
    volume * density(20.0, 0.0, pressure)
}

/// One time step of some seconds under a constant load: the state after it, and what was moved.
///
/// # Formula
/// ```text
/// C_a dT/dt = (m' c_p + UA) (T_out - T) + K (T_m - T) + Q/2 + Q_machines
/// C_m dT_m/dt = K (T - T_m) + Q/2                            Q = people + candles + sun
/// m dW/dt = m' (W_out - W) + vapour - m'_coil (W - W_coil)   m'_coil = Q_cooling / (c_p (T - T_coil))
/// ```
/// The last term applies where `W` exceeds `W_coil`, saturation at the coil; what exceeds saturation in the room condenses on
/// its walls. The backward Euler method is stable at any step and keeps order: a warmer or moister start, outside or load
/// never ends cooler or drier, as long as there are fewer than five people to a square metre.
pub fn step(building: &Building, from: &State, load: &Load, seconds: f64) -> (State, Moved) {
    let outside = load.outside;
    let air = dry_air(building.volume, outside.pressure);
    let let_in = air * load.air_changes / 3600.0;
    let (gain, vapour) = load.gains(from.felt_c());
    let heat = gain + outside.sun * building.sun;

    let exchange = let_in * SPECIFIC_HEAT + building.loss;
    let (in_air, in_mass) = (air * SPECIFIC_HEAT / seconds, building.mass / seconds);
    let mass_at = |air_c: f64| {
        (in_mass * from.mass_c + building.coupling * air_c + (1.0 - AT_ONCE) * heat)
            / (in_mass + building.coupling)
    };
    // With T_m from the second equation substituted into the first, `hold * T = input + machines`.
    let hold = in_air + exchange + building.coupling * in_mass / (in_mass + building.coupling);
    let input = in_air * from.air_c
        + exchange * outside.temperature_c
        + AT_ONCE * heat
        + building.coupling * mass_at(0.0);
    let free = input / hold;
    let air_c =
        free.min(load.cooled_to.unwrap_or(f64::INFINITY)).max(load.heated_to.unwrap_or(f64::NEG_INFINITY));
    let cooling = input - hold * air_c;

    let ratio = |vapour_pressure: f64| humidity_ratio(vapour_pressure, outside.pressure);
    let (mut water, mut holds) = (
        air * from.moisture + seconds * (let_in * ratio(outside.vapour_pressure) + vapour),
        air + seconds * let_in,
    );
    let mut taken_out = 0.0;
    if cooling > 0.0 {
        let coil_c = COIL_C.min(air_c - COIL_BELOW);
        let coil = ratio(saturation_vapour_pressure(coil_c));
        if water / holds > coil {
            let through = seconds * cooling / (SPECIFIC_HEAT * (air_c - coil_c));
            water += through * coil;
            holds += through;
            taken_out += through * (water / holds - coil);
        }
    }
    let moisture = (water / holds).min(ratio(saturation_vapour_pressure(air_c)));
    taken_out += (water / holds - moisture) * (air + seconds * let_in);
    let moved =
        Moved { air: seconds * let_in, given_off: seconds * vapour, taken_out, cooling: seconds * cooling };
    (State { air_c, mass_c: mass_at(air_c), moisture }, moved)
}

/// The air inside between two hours of the event's clock, every quarter of an hour, after a week of the same days.
///
/// `load` gives the loads at an hour of the event's clock; it is also asked about the week before.
pub fn indoors(building: &Building, from: f64, to: f64, load: impl Fn(f64) -> Load) -> Vec<(f64, Air)> {
    const QUARTER: f64 = 0.25;
    let per_quarter = (QUARTER * 3600.0 / STEP).round();
    let begin = load(from - BEFORE).outside;
    let mut state = State {
        air_c: begin.temperature_c,
        mass_c: begin.temperature_c,
        moisture: humidity_ratio(begin.vapour_pressure, begin.pressure),
    };
    let quarters = ((to - from + BEFORE) / QUARTER).ceil() as usize;
    let mut series = Vec::new();
    for quarter in 0..=quarters {
        let hour = from - BEFORE + QUARTER * quarter as f64;
        if hour >= from {
            let outside = load(hour).outside;
            let air = Air {
                temperature_c: state.air_c,
                vapour_pressure: vapour_pressure_from_humidity_ratio(state.moisture, outside.pressure),
                pressure: outside.pressure,
                speed: Air::STILL,
                sun: outside.sun * building.light,
                outdoors: false,
            };
            series.push((hour, air));
        }
        let load = load(hour + 0.5 * QUARTER);
        for _ in 0..per_quarter as usize {
            state = step(building, &state, &load, STEP).0;
        }
    }
    series
}
