//! Cautions: advice, never certification. Local codes and licensed practice decide.

use super::facts::{Facts, OrderFacts};
use super::words::capital;
use crate::event::{Near, Space};
use crate::flower::treatment::Method;
use std::collections::BTreeSet;

/// The temperature from which a space is a strain on the crew, C (judgement).
const HOT_FOR_PEOPLE_C: f64 = 29.0;

/// The caution about frost, which the model does not know.
pub const FROST: &str = "Frost: below freezing flowers are injured, which the numbers here do not know.";

/// The caution about a flower that is not in the catalogue.
pub const UNKNOWN: &str =
    "not in the catalogue, so what it does to skin, children and pets is not known here: ask your supplier.";

/// The caution that ends every list.
const LAST: &str =
    "A flower without a caution here is not thereby safe. Local codes and licensed practice decide.";

/// All cautions for a plan.
pub fn of(facts: &Facts) -> Vec<String> {
    let own = with_cautions(facts).into_iter().map(|(name, caution)| format!("{name}: {caution}"));
    about_guests(facts).into_iter().chain(about_work(facts)).chain(own).chain([LAST.to_string()]).collect()
}

/// The cautions for the client and the guests, those about flowers in one sentence.
pub fn for_client(facts: &Facts) -> Vec<String> {
    let mut cautions = about_guests(facts);
    let names: Vec<String> = with_cautions(facts).into_iter().map(|(name, _)| name.to_lowercase()).collect();
    if !names.is_empty() {
        cautions
            .push(format!("Not to be eaten or chewed, or apt to irritate or burn: {}.", names.join(", ")));
    }
    cautions.push(LAST.to_string());
    cautions
}

/// The names of a plan's flowers that need care, each with its caution, in alphabetical order.
fn with_cautions(facts: &Facts) -> Vec<(String, &'static str)> {
    let said = |o: &OrderFacts| {
        let of_its_own = o.order.own_name.as_ref().map_or("", |_| UNKNOWN);
        [o.flower().caution(), of_its_own].map(|caution| (capital(&o.called()), caution))
    };
    let all: BTreeSet<(String, &str)> = facts.orders.iter().flat_map(said).collect();
    all.into_iter().filter(|(_, caution)| !caution.is_empty()).collect()
}

/// Cautions about guests: food, pets, children, flame.
fn about_guests(facts: &Facts) -> Vec<String> {
    let pieces = &facts.event.pieces;
    let near = |what: Near| {
        let names: Vec<&str> =
            pieces.iter().filter(|p| p.near.contains(&what)).map(|p| p.name.as_str()).collect();
        (!names.is_empty()).then(|| names.join(", "))
    };
    let mut cautions = Vec::new();
    if let Some(names) = near(Near::Food) {
        cautions.push(format!(
            "Food ({names}): florist flowers are not food and may carry residues. Near it only flowers grown for \
             eating, with a barrier between, and with the caterer's word."
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
    let greens = facts.orders.iter().any(OrderFacts::is_foliage);
    if let Some(names) = near(Near::Flame) {
        cautions.push(format!(
            "Flame ({names}): greens dry out and burn: no open flame on or near them; keep exits clear. The venue's \
             and the fire authority's rules decide."
        ));
    } else if greens {
        let text = "Greens dry out and burn: no open flame on or near them. The venue's and the fire authority's rules \
                    decide.";
        cautions.push(text.to_string());
    }
    cautions
}

/// Cautions for the crew: ladders, sharp things, water, heat, frost.
fn about_work(facts: &Facts) -> Vec<String> {
    let pieces = &facts.event.pieces;
    let mut cautions = Vec::new();
    let overhead = pieces.iter().filter(|p| p.near.contains(&Near::Overhead));
    let names = overhead.map(|p| p.name.as_str()).collect::<Vec<_>>().join(", ");
    if !names.is_empty() {
        cautions.push(format!("Ladders ({names}): trained people, one to hold it, nothing loose overhead."));
    }
    let used = |m: Method| facts.orders.iter().any(|o| o.treatment().method == m);
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
    let spaces = &facts.event.spaces;
    let hot = |space: usize| spaces[space].climate.at(15.0).temperature_c + facts.hotter >= HOT_FOR_PEOPLE_C;
    if pieces.iter().any(|p| hot(p.space)) {
        cautions.push("Heat: the crew needs shade, water and breaks.".to_string());
    }
    let freezes = |s: &Space| (0..24).any(|h| s.climate.at(f64::from(h)).temperature_c < 0.0);
    if spaces.iter().any(freezes) {
        cautions.push(FROST.to_string());
    }
    cautions
}
