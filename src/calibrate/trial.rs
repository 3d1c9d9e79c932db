//! What a florist notes of one trial, and of one flower at one event.

use crate::climate::{Climate, ClimateError};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::{Handling, Method};
use crate::stats::survival::Ending;
use jiff::civil::Date;

/// A household thermometer-hygrometer beside the flowers: how far off it may be (judgement; makers of such instruments
/// commonly state 0.5 to 1 C and 3 to 5 % of relative humidity, from memory).
pub const READ_HERE: ClimateError = ClimateError { kelvin: 0.5, rh: 0.03 };

/// Some heads of one delivery, held dry, and looked at now and then.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Its number in the notebook.
    pub number: u32,
    /// Its day.
    pub date: Date,
    /// When the heads came out of the water, h from the midnight that begins its day.
    pub start: f64,
    /// The flower.
    pub flower: &'static Flower,
    /// Which delivery: grower, cultivar, day, in the florist's own words.
    pub lot: Option<String>,
    /// How many heads.
    pub heads: u32,
    /// How they were prepared.
    pub handling: Handling,
    /// What was done to them that is not done to others, in the florist's own words; nothing for the plain way.
    pub treated: String,
    /// Their air, on the clock of its day.
    pub climate: Climate,
    /// Their air in the florist's words.
    pub air: String,
    /// What all the heads weighed together at the start, g.
    pub fresh_g: Option<f64>,
    /// What was seen, in rising order of time.
    pub looks: Vec<Look>,
}

/// One look at the heads of a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// When, h from the midnight that begins the trial's day.
    pub at: f64,
    /// How many heads were still there.
    pub of: u32,
    /// How many were presentable.
    pub presentable: Option<u32>,
    /// How many were plainly limp.
    pub wilted: Option<u32>,
    /// What all the heads weighed together, g.
    pub weight_g: Option<f64>,
}

/// Which end a trial's counts tell of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sign {
    /// The first softening.
    Softening,
    /// Plainly limp: where nobody noted how many were still presentable.
    Limpness,
}

impl Trial {
    /// Which end its counts tell of.
    pub fn sign(&self) -> Sign {
        match self.looks.iter().any(|l| l.presentable.is_some()) {
            true => Sign::Softening,
            false => Sign::Limpness,
        }
    }

    /// When heads ended, in hours from the start, as the looks bracket it.
    ///
    /// Heads that are gone from one look to the next were last seen well at the first of them.
    pub fn endings(&self) -> Vec<Ending> {
        let sign = self.sign();
        let counted = self.looks.iter().filter_map(|look| {
            let ended = match sign {
                Sign::Softening => look.of - look.presentable?,
                Sign::Limpness => look.wilted?,
            };
            Some((look.at - self.start, look.of, ended))
        });
        let (mut endings, mut last) = (Vec::new(), (0.0, self.heads, 0));
        let mut add = |ending: Ending, count: u32| {
            if count > 0 {
                endings.push(ending.times(f64::from(count)));
            }
        };
        for (hours, of, ended) in counted {
            let gone = last.1 - of;
            if last.0 > 0.0 {
                add(Ending::later_than(last.0), gone); // nothing is learned of a head that nobody looked at
            }
            add(Ending::between(last.0, hours), ended.saturating_sub(last.2));
            last = (hours, of, ended);
        }
        if last.0 > 0.0 {
            add(Ending::later_than(last.0), last.1 - last.2);
        }
        endings
    }

    /// Hours to the end of half of the heads, as the notes bracket them; none where fewer ended.
    pub fn half_ended(&self) -> Option<(f64, f64)> {
        let endings = self.endings();
        let total: f64 = endings.iter().map(|e| e.count).sum();
        let mut up_to = 0.0;
        let half = endings.iter().filter(|e| e.by.is_finite()).find(|e| {
            up_to += e.count;
            up_to >= 0.5 * total
        })?;
        Some((half.after, half.by))
    }
}

/// What became of one flower of one piece at an event, and what had been forecast.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Its number in the notebook.
    pub number: u32,
    /// The event's day.
    pub date: Date,
    /// The piece.
    pub piece: String,
    /// The flower.
    pub flower: &'static Flower,
    /// Which delivery.
    pub lot: Option<String>,
    /// How they were set.
    pub method: Method,
    /// How they were prepared.
    pub handling: Handling,
    /// How many heads were counted.
    pub of: u32,
    /// How many of them were presentable.
    pub presentable: u32,
    /// Hours from placing to the count.
    pub hours: f64,
    /// Hours of the reference air that heads out of water went through until then, and how far off that may be, as a
    /// standard deviation of its logarithm.
    pub worth: Option<(f64, f64)>,
    /// What had been forecast: equally likely counts.
    pub forecast: Vec<f64>,
}
