//! Cautions. Advice, never certification: local codes and licensed practice decide.

use super::words::{capital, short_name};
use crate::decide::plan::Plan;
use crate::event::Near;
use crate::flower::catalogue::Kind;
use crate::flower::treatment::Method;
use std::collections::BTreeSet;

/// A space at least this warm asks for care of the crew, C (judgement).
const HOT_FOR_PEOPLE_C: f64 = 29.0;

/// What the model does not know below freezing.
pub const FROST: &str = "Frost: below freezing flowers are injured, which the numbers here do not know.";

/// What is said last.
const LAST: &str =
    "A flower without a caution here is not thereby safe. Local codes and licensed practice decide.";

/// The cautions that a plan calls for.
pub fn of(plan: &Plan) -> Vec<String> {
    let own = with_cautions(plan).into_iter().map(|(name, caution)| format!("{name}: {caution}"));
    about_guests(plan).into_iter().chain(about_work(plan)).chain(own).chain([LAST.to_string()]).collect()
}

/// Those that concern a client and the guests, the flowers' own in one sentence.
pub fn for_client(plan: &Plan) -> Vec<String> {
    let mut cautions = about_guests(plan);
    let names: Vec<String> = with_cautions(plan).into_iter().map(|(name, _)| name.to_lowercase()).collect();
    if !names.is_empty() {
        cautions
            .push(format!("Not to be eaten or chewed, or apt to irritate or burn: {}.", names.join(", ")));
    }
    cautions.push(LAST.to_string());
    cautions
}

/// The flowers of a plan that call for care, and what for.
fn with_cautions(plan: &Plan) -> Vec<(String, &'static str)> {
    let flowers = plan.flowers().map(|f| f.order.flower).filter(|f| !f.caution().is_empty());
    let own: BTreeSet<(String, &str)> =
        flowers.map(|f| (capital(&short_name(f.name())), f.caution())).collect();
    own.into_iter().collect()
}

/// What guests may meet with: food, pets, children, flame.
fn about_guests(plan: &Plan) -> Vec<String> {
    let pieces = &plan.pieces;
    let near = |what: Near| {
        let names: Vec<&str> =
            pieces.iter().filter(|p| p.piece.near.contains(&what)).map(|p| p.piece.name.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let mut cautions = Vec::new();
    if let Some(names) = near(Near::Food) {
        cautions.push(format!(
            "Food ({names}): florist flowers are not food and may carry residues. Near food or cake use flowers \
             grown for eating, named, with a barrier between, and with the caterer's word."
        ));
    }
    if let Some(names) = near(Near::Pets) {
        cautions
            .push(format!("Pets ({names}): true lilies are deadly to cats, pollen and vase water included."));
    }
    if let Some(names) = near(Near::Children) {
        cautions.push(format!(
            "Children ({names}): keep berries, tubes, pins and anything poisonous out of reach."
        ));
    }
    let greens = pieces.iter().flat_map(|p| &p.flowers).any(|f| f.order.flower.kind() == Kind::Foliage);
    if let Some(names) = near(Near::Flame) {
        cautions.push(format!(
            "Flame ({names}): no open flame on or near greens, which dry out through the evening; keep exits clear. \
             The venue's and the fire authority's rules decide."
        ));
    } else if greens {
        let text = "Greens dry out and burn: no open flame on or near them. The venue's and the fire authority's rules \
                    decide.";
        cautions.push(text.to_string());
    }
    cautions
}

/// What the crew may meet with.
fn about_work(plan: &Plan) -> Vec<String> {
    let pieces = &plan.pieces;
    let mut cautions = Vec::new();
    let overhead = pieces.iter().filter(|p| p.piece.near.contains(&Near::Overhead));
    let names = overhead.map(|p| p.piece.name.as_str()).collect::<Vec<_>>().join(", ");
    if !names.is_empty() {
        cautions.push(format!("Ladders ({names}): trained people, one to hold it, nothing loose overhead."));
    }
    let used =
        |t: Method| pieces.iter().flat_map(|p| &p.flowers).any(|f| f.recommended().treatment.method == t);
    let (tubes, wires) = (used(Method::WaterTube), used(Method::Wired));
    if tubes || wires {
        let what = match (tubes, wires) {
            (true, true) => "Tubes, pins and wires",
            (true, false) => "Tubes and pins",
            _ => "Wires and pins",
        };
        cautions.push(format!("{what}: count them in and count them out, above all where people eat."));
    }
    if tubes || used(Method::BudVase) {
        let text = "Water and glass: away from electrics and from the dance floor; wipe spills at once.";
        cautions.push(text.to_string());
    }
    let hot = |p: &crate::decide::plan::PiecePlan| {
        plan.event.spaces[p.piece.space].climate.at(15.0).temperature_c + plan.settings.hotter
            >= HOT_FOR_PEOPLE_C
    };
    if pieces.iter().any(hot) {
        cautions.push("Heat: the crew needs shade, water and breaks.".to_string());
    }
    let freezes = |s: &crate::event::Space| (0..24).any(|h| s.climate.at(f64::from(h)).temperature_c < 0.0);
    if plan.event.spaces.iter().any(freezes) {
        cautions.push(FROST.to_string());
    }
    cautions
}
