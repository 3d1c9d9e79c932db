//! What a florist can do with a head, and how it was handled before.

use super::boxes::Boxes;
use super::catalogue::{Flower, Quantity};
use super::learned::{Learned, WAYS};
use crate::numerics::elementary::ln;
use std::fmt;

/// How a head is placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, schemars::JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Cut short and tucked dry among the greens.
    Tucked,
    /// Wired and tucked dry: the same clock, finer to look at, slower to make.
    Wired,
    /// Tucked with its stem in a water tube.
    WaterTube,
    /// In a low bud vase close to the runner.
    BudVase,
    /// In a vessel whose water all its stems drink: a bowl, a jug, an urn.
    Vessel,
}

impl Method {
    /// All methods of which a florist can choose one; a vessel is part of the piece that it holds.
    pub const ALL: [Method; 4] = [Method::Tucked, Method::Wired, Method::WaterTube, Method::BudVase];

    /// What the trade calls this method.
    pub fn words(self) -> &'static str {
        match self {
            Method::Tucked => "tucked dry",
            Method::Wired => "wired",
            Method::WaterTube => "water tube",
            Method::BudVase => "bud vase",
            Method::Vessel => "vessel",
        }
    }

    /// The method as an instruction to the crew.
    pub fn order(self) -> &'static str {
        match self {
            Method::Tucked => "Tuck dry",
            Method::Wired => "Wire and tuck",
            Method::WaterTube => "Tuck in water tubes",
            Method::BudVase => "Stand in low bud vases beside the greens",
            Method::Vessel => "Arrange in the vessel",
        }
    }

    /// Whether some words name a method in which heads stand in water.
    pub fn waters(words: &str) -> bool {
        words.parse::<Method>().is_ok_and(|method| !method.is_dry())
    }

    /// Whether heads are out of water once placed.
    pub fn is_dry(self) -> bool {
        matches!(self, Method::Tucked | Method::Wired)
    }
}

/// A method of placing heads, with the size of tube where it needs one.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, schemars::JsonSchema)]
pub struct Treatment {
    /// How the head is placed.
    #[serde(rename = "treatment")]
    pub method: Method,
    /// Nominal volume of its tube or its share of the water of a vessel, ml; 0 where there is neither.
    pub tube_ml: f64,
}

impl Treatment {
    /// A treatment with a tube or a share of a vessel of this volume, ml, where the method needs one.
    ///
    /// ```
    /// use headwater::flower::treatment::{Method, Treatment};
    /// assert_eq!(Treatment::new(Method::BudVase, 10.0).tube_ml, 0.0);
    /// ```
    pub fn new(method: Method, tube_ml: f64) -> Treatment {
        let holds = matches!(method, Method::WaterTube | Method::Vessel);
        Treatment { method, tube_ml: if holds { tube_ml } else { 0.0 } }
    }

    /// One treatment for each method, with one size of tube, ml.
    pub fn all(methods: &[Method], tube_ml: f64) -> Vec<Treatment> {
        methods.iter().map(|t| Treatment::new(*t, tube_ml)).collect()
    }
}

impl fmt::Display for Method {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl std::str::FromStr for Method {
    type Err = String;
    /// Reads the words or the code of a method, also of more than one.
    ///
    /// # Errors
    /// If there is no such method: the nearest words that would do.
    fn from_str(text: &str) -> Result<Self, String> {
        const WORDS: [(&str, Method); 12] = [
            ("tucked", Method::Tucked),
            ("tucked dry", Method::Tucked),
            ("dry", Method::Tucked),
            ("wired", Method::Wired),
            ("water tube", Method::WaterTube),
            ("water_tube", Method::WaterTube),
            ("tube", Method::WaterTube),
            ("tubed", Method::WaterTube),
            ("bud vase", Method::BudVase),
            ("bud_vase", Method::BudVase),
            ("vase", Method::BudVase),
            ("vessel", Method::Vessel),
        ];
        let wanted = text.trim().to_lowercase();
        let one = wanted.strip_suffix('s').unwrap_or(&wanted);
        WORDS.iter().find(|(w, _)| *w == wanted || *w == one).map(|(_, t)| *t).ok_or_else(|| {
            crate::error::nearest(&wanted, WORDS.iter().map(|(w, _)| *w)).unwrap_or("tucked").to_string()
        })
    }
}

/// Defines an enum whose variants a user writes in words.
macro_rules! words {
    ($(#[$doc:meta])* $name:ident { $($(#[$vdoc:meta])* $variant:ident = $first:literal $(| $other:literal)*),+ $(,)? }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
        pub enum $name { $($(#[$vdoc])* $variant),+ }

        impl $name {
            /// The words for each variant, the first of them the one to show.
            pub const WORDS: &'static [&'static [&'static str]] = &[$(&[$first $(, $other)*]),+];

            /// The variant meant by some words, in any case.
            pub fn from_words(text: &str) -> Option<$name> {
                let wanted = text.trim().to_lowercase();
                [$($name::$variant),+].into_iter().find(|v| Self::WORDS[*v as usize].contains(&wanted.as_str()))
            }

            /// The words to show for it.
            pub fn words(self) -> &'static str {
                Self::WORDS[self as usize][0]
            }
        }
    };
}

words!(
    /// How a flower was prepared before it leaves the water.
    Conditioning {
        /// Overnight in the cool, in water.
        #[default]
        Overnight = "overnight in the cool" | "overnight" | "conditioned",
        /// Two to four hours in water.
        FewHours = "a few hours in water" | "few hours" | "2-4 h" | "two hours",
        /// Straight from the box, without water.
        FromTheBox = "straight from the box" | "from the box" | "none" | "unconditioned",
    }
);

words!(
    /// What lies around a head where it is set.
    Lying {
        /// Nothing: on top of the greens.
        #[default]
        OnTop = "on top" | "free",
        /// Greens: deep among them.
        Nested = "deep in greens" | "nested",
        /// The same heads before and behind it, as on a string.
        Garland = "in a garland" | "garland",
        /// The same heads all around it, several layers deep: petals or heads in a basket.
        Heap = "in a heap" | "heap" | "in a basket",
    }
);

impl Lying {
    /// By what factor that lengthens its hours in still air: 1.1 to 1.3 among greens; in a garland it shows half to three
    /// quarters of itself; of a heap of some five layers two meet the air (judgement, all).
    pub fn shelter(self) -> f64 {
        match self {
            Lying::OnTop => 1.0,
            Lying::Nested => 1.2,
            Lying::Garland => 1.6,
            Lying::Heap => 2.5,
        }
    }
}

impl Conditioning {
    /// The factor on dry hours (judgement: 1.0, 0.85, 0.4 to 0.6): what is missing is gone when the head leaves its last
    /// bucket. A bucket on the way does not make up for it; water afterwards does, as for any other head.
    pub fn start(self) -> f64 {
        match self {
            Conditioning::Overnight => 1.0,
            Conditioning::FewHours => 0.85,
            Conditioning::FromTheBox => 0.5,
        }
    }
}

impl Conditioning {
    /// The share of stems that do not drink which are still there: overnight most are noticed and thrown out (judgement).
    pub fn air_locks(self) -> f64 {
        match self {
            Conditioning::Overnight => 0.4,
            Conditioning::FewHours => 0.7,
            Conditioning::FromTheBox => 1.0,
        }
    }
}

words!(
    /// How far open a head is.
    Stage {
        /// Half open, as most are used.
        #[default]
        HalfOpen = "half open" | "half-open" | "just right",
        /// Still in tight bud.
        Tight = "tight" | "bud" | "closed",
        /// Fully open, or blown.
        Blown = "blown" | "fully open" | "full open",
    }
);

impl Stage {
    /// The factor on dry hours (judgement).
    pub fn hours_factor(self) -> f64 {
        match self {
            Stage::HalfOpen => 1.0,
            Stage::Tight => 1.15,
            Stage::Blown => 0.6,
        }
    }

    /// The factor on life in a vase (judgement; a Dendrobium spray cut three quarters open lived half as long
    /// as one cut a quarter open, Acta Horticulturae 970:251).
    pub fn life_factor(self) -> f64 {
        match self {
            Stage::HalfOpen => 1.0,
            Stage::Tight => 1.25,
            Stage::Blown => 0.6,
        }
    }
}

/// How a head was prepared, and how it is used.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Handling {
    /// How it was conditioned before it left the water.
    pub conditioning: Conditioning,
    /// How far open it is.
    pub stage: Stage,
    /// Whether its leaves are left on.
    pub leaves_on: bool,
    /// Whether the cultivar is one the florist knows.
    pub cultivar_known: bool,
    /// What lies around it.
    pub lying: Lying,
    /// The boxes in which it travels and waits where it is out of water.
    pub boxes: Boxes,
    /// The florist's own dry hours of this flower, h, above 0.
    pub own_dry_hours: Option<f64>,
    /// What the florist's notebook has taught about it.
    pub learned: Option<Learned>,
    /// Into how many parts each head is cut; `None` for whole heads.
    pub split: Option<std::num::NonZeroU32>,
}

impl Handling {
    /// The catalogue's factors by which it changes dry hours: conditioning, stage, leaves, and what lies around.
    ///
    /// ```
    /// use headwater::flower::treatment::Handling;
    /// let leafy = Handling { leaves_on: true, ..Handling::default() };
    /// assert!(leafy.factors()[2] < 1.0 && Handling::default().factors() == [1.0; 4]);
    /// ```
    pub fn factors(&self) -> [f64; WAYS] {
        [self.conditioning.start(), self.stage.hours_factor(), 1.0 / self.leaves_lose(), self.lying.shelter()]
    }

    /// Their logarithms in the standard normals behind a flower's dry hours.
    pub fn shifts(&self, flower: &Flower) -> [f64; WAYS] {
        let side = flower.parameter(Quantity::DryHours).ln_sd();
        self.factors().map(|factor| ln(factor) / side)
    }

    /// By how much leaves left on hasten drying out of water, as a factor.
    pub fn leaves_lose(&self) -> f64 {
        if self.leaves_on { LEAVES_ON_RATE } else { 1.0 }
    }

    /// By how much leaves left on raise what is drunk in water, as a factor.
    pub fn leaves_drink(&self) -> f64 {
        if self.leaves_on { LEAVES_DRINK } else { 1.0 }
    }

    /// How much of a whole head each part is, 0 to 1.
    pub fn part_of_head(&self) -> f64 {
        self.split.map_or(1.0, |parts| 1.0 / f64::from(parts.get()))
    }
}

/// Factor on the standard deviation of ignorance where the florist gives dry hours: one trial of one lot halves it
/// (judgement).
pub const UNKNOWN_AFTER_A_TRIAL: f64 = 0.5;

/// A drying rose's leaves drew a third of the water that its bud lost, so a head with leaves dries half as fast again.
/// Source: see `leaves-draw` in reference-data/sources.csv.
pub const LEAVES_ON_RATE: f64 = 1.5;

/// How many times as much a stem with its leaves drinks as its bare head would. Leafy 'Bridal Pink' roses drank 1 g per 100 g and
/// hour at 20 C in the dark (`leafy-uptake`), 7 to 12 g a day for a stem of 30 to 50 g (from memory), where a bare head of the
/// catalogue drinks 1.8; the head of a leafy chrysanthemum is 12 % of what the stem loses (`fanourakis-2021`). 5 is judgement between
/// the two, and on the low side: light opens leaves.
pub const LEAVES_DRINK: f64 = 5.0;

/// Share of a tube's nominal volume that a stem can drink (judgement).
pub const TUBE_USABLE: f64 = 0.65;

/// Share of a vessel's water that its stems can drink before the shortest stands dry (from memory: 0.6 to 0.8 with wire
/// or a pin holder).
pub const VESSEL_USABLE: f64 = 0.7;
