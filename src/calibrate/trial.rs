//! What a florist notes of one trial, and of one flower at one event.

use crate::climate::{Climate, ClimateError};
use crate::flower::catalogue::Flower;
use crate::flower::treatment::{Handling, Method};
use crate::simulate::outcome::EndPoint;
use crate::stats::survival::Ending;
use jiff::civil::Date;

/// The error of a household thermometer-hygrometer beside the flowers (judgement; makers of such instruments commonly state 0.5 to 1
/// C and 3 to 5 % of relative humidity, from memory).
pub const READ_HERE: ClimateError = ClimateError { kelvin: 0.5, rh: 0.03 };

/// Some heads of one delivery, most often held dry, and looked at from time to time.
#[derive(Debug, Clone)]
pub struct Trial {
    /// Its number in the notebook.
    pub number: u32,
    /// The day it began.
    pub date: Date,
    /// When the heads came out of the bucket, h from the midnight that begins that day.
    pub start: f64,
    /// The flower that was tried.
    pub flower: &'static Flower,
    /// The delivery, in the florist's own words: grower, cultivar, day.
    pub lot: Option<String>,
    /// How many heads it began with.
    pub heads: u32,
    /// How the heads were prepared.
    pub handling: Handling,
    /// What was done to them and not to others, in the florist's own words; empty for plain heads.
    pub treated: String,
    /// Their air, on the clock of that day.
    pub climate: Climate,
    /// Their air in the florist's own words.
    pub air: String,
    /// What all the heads together weighed at the start, g.
    pub fresh_g: Option<f64>,
    /// What was seen, in rising order of time.
    pub looks: Vec<Look>,
}

/// One look at the heads of a trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Look {
    /// When it was, h from the midnight that begins the trial's day.
    pub at: f64,
    /// How many heads were still there.
    pub of: u32,
    /// How many were presentable.
    pub presentable: Option<u32>,
    /// How many were plainly limp.
    pub wilted: Option<u32>,
    /// What all the heads together weighed, g.
    pub weight_g: Option<f64>,
    /// What all the heads together had drunk since the start, g; only of heads in water.
    pub drunk_g: Option<f64>,
}

impl Trial {
    /// Whether its heads stand in water: such a trial teaches what they drink, and nothing of dry hours.
    pub fn in_water(&self) -> bool {
        Method::waters(&self.treated)
    }

    /// The end-point that its counts tell of: wilting where nobody noted how many heads were still presentable.
    pub fn end_point(&self) -> EndPoint {
        match self.looks.iter().any(|l| l.presentable.is_some()) {
            true => EndPoint::Flagging,
            false => EndPoint::Wilted,
        }
    }

    /// The hours from the start between which heads reached the end-point, as the looks bracket it.
    ///
    /// Heads that are gone at a look were last seen well at the look before it.
    pub fn endings(&self) -> Vec<Ending> {
        let end_point = self.end_point();
        let counted = self.looks.iter().filter_map(|look| {
            let ended = match end_point {
                EndPoint::Flagging => look.of - look.presentable?,
                EndPoint::Wilted => look.wilted?,
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
                add(Ending::later_than(last.0), gone); // nothing is learned from a head that nobody looked at
            }
            add(Ending::between(last.0, hours), ended.saturating_sub(last.2));
            last = (hours, of, ended);
        }
        if last.0 > 0.0 {
            add(Ending::later_than(last.0), last.1 - last.2);
        }
        endings
    }

    /// The hours from the start between which half of the heads had ended; `None` where fewer did.
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

/// What became of one flower of one piece at an event, and what had been forecast of it.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Its number in the notebook.
    pub number: u32,
    /// The day of the event.
    pub date: Date,
    /// The name of the piece.
    pub piece: String,
    /// The flower that was counted.
    pub flower: &'static Flower,
    /// The delivery, in the florist's own words.
    pub lot: Option<String>,
    /// How the heads were set.
    pub method: Method,
    /// How the heads were prepared.
    pub handling: Handling,
    /// How many heads were counted.
    pub of: u32,
    /// How many of them were presentable.
    pub presentable: u32,
    /// Hours from placing to the count.
    pub hours: f64,
    /// Hours of the reference air that heads went through, boxes and where they stood, until the count, and the standard deviation of the
    /// logarithm of that.
    pub worth: Option<(f64, f64)>,
    /// The forecast, as equally likely counts of presentable heads.
    pub forecast: Vec<f64>,
}
