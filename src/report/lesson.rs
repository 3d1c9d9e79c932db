//! What a notebook teaches about one flower: lines, a picture and data.

use super::learning::{bears, drinks, from_notes, next, range, stems};
use super::pictures::learned::{Mark, picture};
use super::pictures::sketch::Sketch;
use super::words::{capital, short_name};
use crate::calibrate::compare::half;
use crate::calibrate::drinking::weighed;
use crate::calibrate::evidence::{Evidence, in_reference_air, judged_until};
use crate::calibrate::fit::{Posterior, largest_tail};
use crate::calibrate::influence::{Influence, influences};
use crate::calibrate::notebook::Notebook;
use crate::calibrate::score::spread_factor;
use crate::calibrate::teach::Lessons;
use crate::calibrate::trial::{Outcome, Trial};
use crate::calibrate::wet::teaches;
use crate::flower::catalogue::Flower;
use crate::flower::learned::Learned;
use crate::units::Span;
use serde_json::{Value, json};

/// The flowers with trials or past events in a notebook, in the order of their first notes.
pub fn flowers(notes: &Notebook) -> Vec<&'static Flower> {
    let named = notes.trials.iter().map(|t| t.flower).chain(notes.outcomes.iter().map(|o| o.flower));
    let mut flowers: Vec<&'static Flower> = Vec::new();
    for flower in named {
        if !flowers.iter().any(|f| f.id() == flower.id()) {
            flowers.push(flower);
        }
    }
    flowers
}

/// What a notebook teaches about one flower.
pub struct Lesson<'a> {
    notes: &'a Notebook,
    flower: &'a Flower,
    known: Learned,
    posterior: Posterior<'a>,
    influences: Vec<Influence>,
    lots: Vec<String>,
}

/// What to check in a note that does not fit.
const CHECK: &str = "check its start, its temperature and its flower";

impl<'a> Lesson<'a> {
    /// The lesson of the evidence on a flower, of which there must be some.
    pub fn of(notes: &'a Notebook, flower: &'a Flower, evidence: &'a [Evidence]) -> Lesson<'a> {
        let posterior = Posterior::of(flower, evidence);
        let mut lots: Vec<String> = notes
            .trials
            .iter()
            .filter(|t| t.flower.id() == flower.id() && t.treated.is_empty())
            .filter_map(|t| t.lot.clone())
            .collect();
        lots.dedup();
        Lesson {
            notes,
            flower,
            known: Lessons::of(notes)
                .learned(flower, None)
                .unwrap_or_else(|| posterior.learned(None).widened(spread_factor(notes).factor)),
            influences: influences(flower, evidence),
            lots,
            posterior,
        }
    }

    /// The lesson in words; lines that belong to a list begin with a hyphen.
    pub fn lines(&self) -> Vec<String> {
        let Lesson { notes, flower, known, posterior, influences, lots } = self;
        let name = short_name(flower.name());
        let table = next(&Learned::nothing(flower), flower);
        let mut lines = vec![format!(
            "After your {}, the middle head of your next delivery of {name} holds {} dry in an ordinary room, instead of {} by \
             the catalogue. Ranges hold nine times out of ten.",
            from_notes(known),
            range(&next(known, flower)),
            range(&table)
        )];
        for lot in lots {
            if let Some(band) = posterior.lot_hours(lot) {
                lines.push(format!("- Delivery \"{lot}\": {}", range(&band)));
            }
        }
        match &influences[..] {
            [only] if only.odd => {
                let what = what(only.event, only.number);
                lines.push(format!("{} is far from what the trade says: {CHECK}.", capital(&what)));
            }
            [_] => {}
            all => {
                lines.push("Which note moved it: without it the middle head would hold".to_string());
                for i in all {
                    let odd =
                        if i.odd { format!("; IT DOES NOT FIT THE OTHERS: {CHECK}") } else { String::new() };
                    let which = what(i.event, i.number);
                    lines.push(format!("- {which}: {}{odd}", range(&i.without_hours)));
                }
            }
        }
        let treated = notes
            .trials
            .iter()
            .filter(|t| t.flower.id() == flower.id() && !t.treated.is_empty() && !t.in_water());
        lines.extend(
            match treated.count() {
                0 => None,
                1 => Some("One trial of it".to_string()),
                n => Some(format!("{n} trials of it")),
            }
            .map(|these| {
                format!("{these} with something done to the heads: only `trial compare` uses that.")
            }),
        );
        lines.extend(besides(notes, flower, known));
        lines.extend(left_out(notes, flower));
        let limit = largest_tail(1000);
        lines.push(match posterior.trusted() {
            true => format!(
                "Checked: the sampling behind these numbers is sound (tail {:.2}, good below {limit:.2}; worth {:.0} draws).",
                posterior.tail, posterior.effective
            ),
            false => format!(
                "NOT TO BE TRUSTED: the notes contradict one another, and the sampling behind these numbers fails its check \
                 (tail {:.2}, good below {limit:.2}). Plans go by the catalogue until that is mended. Look at the note that \
                 moved it most: its flower, its start, its temperature.",
                posterior.tail
            ),
        });
        lines
    }

    /// The picture of what was believed before and after.
    pub fn picture(&self) -> Sketch {
        picture(self.flower, &self.known, &self.marks())
    }

    /// The lesson as JSON, hours in h.
    pub fn json(&self) -> Value {
        let Lesson { flower, known, posterior, influences, lots, .. } = self;
        let lots: Vec<Value> =
            lots.iter().map(|l| json!({ "lot": l, "middle_head_hours": posterior.lot_hours(l) })).collect();
        json!({
            "flower": flower.id(),
            "trials": known.trials,
            "events": known.events,
            "next_delivery_middle_head_hours": next(known, flower),
            "trade_table_middle_head_hours": next(&Learned::nothing(flower), flower),
            "middle_delivery_middle_head_hours": posterior.typical_hours(),
            "lots": lots,
            "influences": influences,
            "sampling": { "tail": posterior.tail, "effective_draws": posterior.effective, "trusted": posterior.trusted() },
        })
    }

    /// The trials of the flower for the picture.
    fn marks(&self) -> Vec<Mark> {
        let plain =
            |t: &&Trial| t.flower.id() == self.flower.id() && t.treated.is_empty() && !t.looks.is_empty();
        let mark = |t: &Trial| (format!("trial {}, {}", t.number, t.date), half(&in_reference_air(t)));
        self.notes.trials.iter().filter(plain).map(mark).collect()
    }
}

/// What a notebook teaches about a flower of whose dry hours it tells nothing.
pub fn besides_dry_hours(notes: &Notebook, flower: &Flower) -> Vec<String> {
    let known = Lessons::of(notes).learned(flower, None).unwrap_or_else(|| Learned::nothing(flower));
    besides(notes, flower, &known).into_iter().chain(left_out(notes, flower)).collect()
}

/// What is known of a flower besides its dry hours: of stems that do not drink, of what they drink, and of each way of handling that
/// was tried.
fn besides(notes: &Notebook, flower: &Flower, known: &Learned) -> Vec<String> {
    let mut told: Vec<String> = stems(flower, known).into_iter().chain(drinks(flower, known)).collect();
    let trials = notes.trials.iter().map(|t| (t.flower, t.handling));
    let outcomes = notes.outcomes.iter().map(|o| (o.flower, o.handling));
    for (_, handling) in trials.chain(outcomes).filter(|(f, _)| f.id() == flower.id()) {
        let new = bears(flower, known, &handling).into_iter().filter(|line| !told.contains(line));
        told.extend(new.collect::<Vec<_>>());
    }
    told.into_iter().map(|line| format!("{line}.")).collect()
}

/// What was seen of a flower and does not count, or not wholly, and why.
fn left_out(notes: &Notebook, flower: &Flower) -> Vec<String> {
    let of = |f: &Flower| f.id() == flower.id();
    let trials = notes.trials.iter().filter(|t| of(t.flower) && t.treated.is_empty());
    let late = trials.filter_map(|t| {
        let hours = judged_until(t)?;
        Some(format!(
            "- trial {}: drying alone is judged up to {}; heads that were well later count as well then, and ends seen later \
             do not count, because age ends heads too",
            t.number,
            Span { hours }
        ))
    });
    let silent = |o: &&Outcome| of(o.flower) && Evidence::of_outcome(o).is_none() && !teaches(o);
    let silent = notes.outcomes.iter().filter(silent).map(|o| {
        format!(
            "- event {}: scored, but not learned from: only limp heads were counted, or its hours or its forecast were not noted",
            o.number
        )
    });
    let unweighed = notes.trials.iter().filter(|t| of(t.flower) && t.in_water() && weighed(t).is_none());
    let unweighed = unweighed.map(|t| {
        format!("- trial {}: stands in water, and nothing says how much all its heads drank", t.number)
    });
    let lines: Vec<String> = late.chain(silent).chain(unweighed).collect();
    if lines.is_empty() {
        return lines;
    }
    std::iter::once("What was seen and does not count in full".to_string()).chain(lines).collect()
}

/// The name of a note: a trial or a past event, with its number.
fn what(event: bool, number: u32) -> String {
    if event { format!("event {number}") } else { format!("trial {number}") }
}
