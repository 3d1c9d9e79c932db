//! The published outcomes of `reference-data/experiments.csv`: what was observed, under which conditions, by whom.

use crate::climate::ClimateError;
use std::sync::LazyLock;

/// What an experiment is to the program.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
pub enum Use {
    /// It judges the program.
    #[serde(rename = "check")]
    Check,
    /// A parameter was set from it: it no longer counts.
    #[serde(rename = "fitted")]
    Fitted,
    /// The program does not hold what it would take, or is not told of it; a prediction beside it is an attempt.
    #[serde(rename = "not modelled")]
    NotModelled,
}

/// What the ends of an outcome say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reads {
    /// A value, or a range whose middle stands for it.
    Value,
    /// All that is known is that it lay between: "at least", "less than", "no significant".
    Bound,
}

/// How the air of an experiment is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum AirKnown {
    /// The paper gives it.
    Published,
    /// By a logger nearby.
    Logger,
    /// The paper does not say; a common air is assumed.
    Assumed,
}

impl AirKnown {
    /// How far off it may be: what the program allows a florist's own figures.
    pub fn error(self) -> ClimateError {
        match self {
            AirKnown::Published => ClimateError::TYPED,
            AirKnown::Logger => ClimateError::LOGGED,
            AirKnown::Assumed => ClimateError::GUESSED,
        }
    }
}

/// Stems of a treatment where the paper's abstract does not say how many (a common number, from memory).
pub const STEMS: usize = 10;

/// A published outcome.
#[derive(Debug, Clone, serde::Deserialize, serde::Serialize)]
pub struct Experiment {
    /// Short name.
    pub id: String,
    /// What was observed.
    pub what: String,
    /// Its unit.
    pub unit: String,
    /// The lower end of what was observed; both ends are equal for a single value.
    pub low: f64,
    /// The upper end.
    pub high: f64,
    /// What the two ends say.
    pub reads: Reads,
    /// What it is to the program.
    #[serde(rename = "use")]
    pub role: Use,
    /// The id of its source in sources.csv.
    pub source: String,
    /// The flower of the catalogue that stands for it, where one does.
    pub flower: Option<String>,
    /// Temperature of the air, C.
    pub air_c: Option<f64>,
    /// Relative humidity, %.
    pub humidity: Option<f64>,
    /// How the air is known, where it plays a part.
    pub air_known: Option<AirKnown>,
    /// Stems of a treatment, where the paper says.
    pub stems: Option<usize>,
    /// Under which conditions.
    pub conditions: String,
    /// What to know about it.
    pub note: String,
    /// What it means for a florist if the prediction misses.
    pub miss: String,
}

impl Experiment {
    /// How many stems the mean of a treatment was taken over.
    pub fn stems(&self) -> usize {
        self.stems.unwrap_or(STEMS)
    }
}

/// All published outcomes.
pub fn experiments() -> &'static [Experiment] {
    static ALL: LazyLock<Vec<Experiment>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("../../reference-data/experiments.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("the shipped table of experiments reads")
    });
    &ALL
}
