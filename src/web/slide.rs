//! Requests of the sliders: one order of the plan, tried with other air, placing time or treatment.

use super::state::{Answer, Planned, Shared, alone, aside, planned, stale};
use crate::decide::options::times_tried;
use crate::decide::trial::{Trial, trial};
use crate::event::Event;
use crate::report::clock::clock;
use crate::report::facts::Facts;
use crate::report::pictures::survival;
use crate::report::words::{capital, count, degrees, kept, treatment_name};
use axum::Json;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::IntoResponse;
use std::sync::Arc;

/// How many lots are simulated for a quick answer.
pub const LOTS: usize = 128;
/// The most that the air is made warmer or cooler, K.
pub const WARMEST: f64 = 8.0;

/// What the sliders ask for.
#[derive(serde::Deserialize)]
pub struct Asked {
    plan: u64,
    order: usize,
    warmer: f64,
    at: usize,
    treatment: usize,
}

/// The answer: a sentence, the labels of the sliders, and the curve as SVG.
#[derive(serde::Serialize)]
struct Told {
    text: String,
    warmer: String,
    at: String,
    svg: String,
}

/// Answers the sliders in words, and with a curve beside the planned one.
pub async fn slide(State(app): Shared, Query(asked): Query<Asked>) -> Answer {
    let held = Arc::clone(&app);
    let planned =
        aside(move || planned(&held, asked.plan).map(|planned| (planned, asked))).await?.ok_or_else(stale)?;
    let (planned, asked) = planned;
    alone(app, move || match told(&planned, &asked) {
        Some(told) => Json(told).into_response(),
        None => (StatusCode::UNPROCESSABLE_ENTITY, "There is no such flower, time or way in this plan.")
            .into_response(),
    })
    .await
}

/// How much warmer or cooler the air is, in words.
pub fn warmer(event: &Event, kelvin: f64) -> String {
    match kelvin {
        0.0 => "as expected".to_string(),
        k => format!("{} {}", degrees(event, k), if k < 0.0 { "cooler" } else { "warmer" }),
    }
}

/// Simulates what the sliders ask for; `None` if the plan has no such order, time or treatment.
fn told(planned: &Planned, asked: &Asked) -> Option<Told> {
    let facts = Facts::of(&planned.plan);
    let event = facts.event;
    let order = facts.order(event.order_id(asked.order)?);
    let at = *times_tried(&order.options).get(asked.at)?;
    let treatment = *order.order.treatments().get(asked.treatment)?;
    if !(-WARMEST..=WARMEST).contains(&asked.warmer) {
        return None;
    }
    let asked = Trial { order: order.id, warmer: asked.warmer, at, treatment, lots: LOTS };
    let (option, curve) = trial(&planned.plan, asked, planned.drawn.of(&planned.plan, asked));
    let wanted = order.wanted;
    let sure = match option.spares {
        Some(0) => format!("That is enough: {wanted} are wanted."),
        Some(n) => format!("{wanted} are wanted: it takes {n} spare."),
        None => format!("Not sure enough: {wanted} are wanted."),
    };
    let warm = warmer(event, asked.warmer);
    let text = format!(
        "{}, placed {}, air {warm}: at {}, {} {}. {sure}",
        capital(&treatment_name(treatment)),
        clock(event, at),
        clock(event, order.piece.until),
        count(&option.count, order.order.heads),
        kept(order.order.counts)
    );
    let svg = survival::sized(event, order, &[curve, order.curves[0].clone()], survival::SIZE).svg();
    Some(Told { text, warmer: warm, at: clock(event, at), svg })
}
