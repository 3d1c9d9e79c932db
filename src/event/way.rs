//! The ways to do a whole event, one of which the florist may choose.

use super::section::Section;

/// What sets a plan for the whole event apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Way {
    /// The cheapest combination of all allowed treatments: the plan itself, or the plan with a remedy.
    #[default]
    Cheapest,
    /// No flower has water once it is placed, but for those in vessels.
    AllDry,
    /// Tubes are allowed, vases are not.
    Tubes,
    /// No tubes where a vase is possible.
    Vases,
    /// Everything is placed during the first access.
    FirstAccess,
    /// Everything is placed in the last hours of access.
    LastHours,
    /// As few people at one time as can do it.
    FewestHands,
    /// It bears one person missing or half an hour lost.
    Calm,
}

/// The words for the ways, the first of each as it is advised.
const WORDS: [(&str, Way); 10] = [
    ("cheapest", Way::Cheapest),
    ("all dry", Way::AllDry),
    ("no vases", Way::Tubes),
    ("no tubes", Way::Vases),
    ("first access", Way::FirstAccess),
    ("the evening before", Way::FirstAccess),
    ("last two hours", Way::LastHours),
    ("fewest hands", Way::FewestHands),
    ("calm", Way::Calm),
    ("calmest", Way::Calm),
];

impl Way {
    /// The word for it in a file.
    pub fn word(self) -> &'static str {
        WORDS.iter().find(|(_, way)| *way == self).map_or("cheapest", |(word, _)| word)
    }
}

/// The way that `[event]` asks for.
pub fn way(head: &Section) -> Way {
    head.option("way", &WORDS).unwrap_or_default()
}
