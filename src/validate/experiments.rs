//! The published outcomes of `reference-data/experiments.csv`: what was observed, under which conditions, by whom.

use crate::climate::ClimateError;
use std::sync::LazyLock;

/// How an experiment is used.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
pub enum Use {
    /// The outcome judges the program.
    #[serde(rename = "check")]
    Check,
    /// A parameter was set from it, so that it no longer counts.
    #[serde(rename = "fitted")]
    Fitted,
    /// One prediction serves it and others, which are judged together as a set.
    #[serde(rename = "member")]
    Member,
    /// The program lacks what it would take to predict it, or is not told of it; a prediction beside it is an attempt.
    #[serde(rename = "not modelled")]
    NotModelled,
}

/// What was held, and asked of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Class {
    /// Whole heads or florets, held dry.
    Dry,
    /// Detached petals.
    Petal,
    /// Detached leaves.
    Leaf,
    /// Stems in sealed packs: what they lose.
    Pack,
    /// Lives in a vase.
    Life,
    /// Days in store, dry or wet: what they cost.
    Store,
    /// Days in store that a handbook allows.
    Handbook,
    /// How much stems, lots and cultivars differ, and what changes a life.
    Other,
}

impl Class {
    /// Every class that outcomes are judged by.
    pub const ALL: [Class; 8] = [
        Class::Dry,
        Class::Petal,
        Class::Leaf,
        Class::Pack,
        Class::Life,
        Class::Store,
        Class::Handbook,
        Class::Other,
    ];

    /// What it is, in words.
    pub fn words(self) -> &'static str {
        match self {
            Class::Dry => "whole heads or florets held dry",
            Class::Petal => "petals",
            Class::Leaf => "leaves",
            Class::Pack => "losses in sealed packs",
            Class::Life => "lives in a vase",
            Class::Store => "days in store or dry",
            Class::Handbook => "days in store that a handbook allows",
            Class::Other => "others",
        }
    }
}

/// What the ends of an outcome say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reads {
    /// A value, or a range whose middle stands for it.
    Value,
    /// A bound: the outcome is only known to lie between ("at least", "less than", "no significant").
    Bound,
}

/// How the air of an experiment is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum AirKnown {
    /// The paper gives the air.
    Published,
    /// A logger nearby recorded it.
    Logger,
    /// The paper does not give it, and a common air is assumed.
    Assumed,
}

impl AirKnown {
    /// How far off the air may be: as much as the program allows for a florist's own figures.
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

/// A published outcome and the conditions under which it was observed.
#[derive(Debug, Clone, serde::Deserialize, serde::Serialize)]
pub struct Experiment {
    /// A short name of its own.
    pub id: String,
    /// What was observed, in words.
    pub what: String,
    /// What was held.
    pub class: Class,
    /// The unit of what was observed.
    pub unit: String,
    /// The lower end of what was observed; both ends are equal for a single value.
    pub low: f64,
    /// The upper end of what was observed.
    pub high: f64,
    /// Whether the two ends are a value or a bound.
    pub reads: Reads,
    /// Whether it judges the program.
    #[serde(rename = "use")]
    pub role: Use,
    /// The id of its source in sources.csv.
    pub source: String,
    /// The flower of the catalogue that stands for it, where one does.
    pub flower: Option<String>,
    /// Temperature of the air, C.
    pub air_c: Option<f64>,
    /// Relative humidity of the air, %.
    pub humidity: Option<f64>,
    /// How the air is known, where it matters.
    pub air_known: Option<AirKnown>,
    /// Temperature of a store before the vase, C.
    pub store_c: Option<f64>,
    /// How long they were in store, d.
    pub stored_d: Option<f64>,
    /// How many stems a treatment had, where the paper says.
    pub stems: Option<usize>,
    /// The conditions of the experiment, in words.
    pub conditions: String,
    /// What else to know about it.
    pub note: String,
    /// What it means for a florist if the prediction misses.
    pub miss: String,
}

impl Experiment {
    /// The middle of what was observed.
    pub fn middle(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// The temperature of the store before the vase, C.
    pub(super) fn air_in_store(&self) -> f64 {
        self.store_c.expect("an experiment on lives after a store says how warm it was")
    }

    /// How long they were in store, d.
    pub(super) fn stored_days(&self) -> f64 {
        self.stored_d.expect("an experiment on days in store says how many")
    }

    /// How many stems the mean of a treatment was taken over.
    pub(super) fn stems(&self) -> usize {
        self.stems.unwrap_or(STEMS)
    }
}

/// Every published outcome in the shipped table.
pub fn experiments() -> &'static [Experiment] {
    static ALL: LazyLock<Vec<Experiment>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("../../reference-data/experiments.csv").as_bytes())
            .deserialize()
            .collect::<Result<_, _>>()
            .expect("the shipped table of experiments reads")
    });
    &ALL
}
