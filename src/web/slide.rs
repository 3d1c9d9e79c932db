//! One flower of the plan, tried in another way while the sliders move.

use super::{Answer, Planned, Shared, alone, lock, planned, stale};
use crate::decide::options::times_tried;
use crate::decide::plan::Plan;
use crate::decide::slide::{Trial, lots, slide as tried};
use crate::event::Event;
use crate::report::chart;
use crate::report::words::{capital, clock, count, degrees, kept, treatment};
use crate::simulate::run::Lots;
use axum::Json;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use std::sync::{Arc, Mutex};

/// Deliveries simulated for an answer at once.
pub const LOTS: usize = 128;
/// The air is made warmer or cooler by this much at most, K.
pub const WARMEST: f64 = 8.0;

/// Deliveries are kept for so many flowers and airs: a slider goes to and fro.
const KEPT: usize = 12;

/// Deliveries that were drawn for the sliders, the latest first.
#[derive(Default)]
pub struct Drawn(Mutex<Vec<(Trial, Arc<Lots<'static>>)>>);

impl Drawn {
    /// Those of a trial, drawn if they are not kept.
    fn of(&self, plan: &Plan, trial: Trial) -> Option<Arc<Lots<'static>>> {
        let same = |t: &Trial| (t.piece, t.flower, t.warmer) == (trial.piece, trial.flower, trial.warmer);
        let mut kept = lock(&self.0);
        match kept.iter().position(|(t, _)| same(t)) {
            Some(at) => kept[..=at].rotate_right(1),
            None => {
                // Nobody waits for those of another flower meanwhile.
                drop(kept);
                let fresh = lots(plan, trial)?;
                kept = lock(&self.0);
                kept.insert(0, (trial, fresh));
                kept.truncate(KEPT);
            }
        }
        kept.first().map(|(_, lots)| Arc::clone(lots))
    }
}

/// What is asked.
#[derive(serde::Deserialize)]
pub struct Asked {
    plan: u64,
    piece: usize,
    flower: usize,
    warmer: f64,
    at: usize,
    treatment: usize,
}

#[derive(serde::Serialize)]
struct Told {
    text: String,
    warmer: String,
    at: String,
    svg: String,
}

/// The answer: in words, and as a curve beside the planned one.
pub async fn slide(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    let Some(planned) = planned(&app, asked.plan) else {
        return Ok(stale());
    };
    alone(app, move || match told(&planned, &asked) {
        Some(told) => Json(told).into_response(),
        None => (StatusCode::UNPROCESSABLE_ENTITY, "There is no such flower, time or way in this plan.")
            .into_response(),
    })
    .await
}

/// How much warmer, in words.
pub fn warmer(event: &Event, kelvin: f64) -> String {
    match kelvin {
        0.0 => "as expected".to_string(),
        k => format!("{} {}", degrees(event, k), if k < 0.0 { "cooler" } else { "warmer" }),
    }
}

fn told(planned: &Planned, asked: &Asked) -> Option<Told> {
    let (plan, event) = (&planned.plan, &planned.plan.event);
    let piece = plan.pieces.get(asked.piece)?;
    let flower = piece.flowers.get(asked.flower)?;
    let at = *times_tried(&flower.options).get(asked.at)?;
    let how = *flower.order.treatments().get(asked.treatment)?;
    if !(-WARMEST..=WARMEST).contains(&asked.warmer) {
        return None;
    }
    let trial = Trial {
        piece: asked.piece,
        flower: asked.flower,
        warmer: asked.warmer,
        at,
        treatment: how,
        lots: LOTS,
    };
    let (option, curve) = tried(plan, trial, planned.drawn.of(plan, trial)?)?;
    let heads = flower.order.heads;
    let wants = flower.wanted();
    let sure = match option.spares {
        Some(0) => format!("That is enough: {wants} are wanted."),
        Some(n) => format!("{wants} are wanted: it takes {n} spare."),
        None => format!("Not sure enough: {wants} are wanted."),
    };
    let warm = warmer(event, asked.warmer);
    let text = format!(
        "{}, placed {}, air {warm}: at {}, {} {}. {sure}",
        capital(&treatment(how)),
        clock(event, at),
        clock(event, piece.piece.until),
        count(&option.count, heads),
        kept(flower.order.counts)
    );
    let mut drawn = flower.clone();
    drawn.curves = vec![curve, flower.curves[0].clone()];
    let svg = chart::survival(event, piece, &drawn).svg().ok()?;
    Some(Told { text, warmer: warm, at: clock(event, at), svg })
}
