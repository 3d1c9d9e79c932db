//! Vessels with many stems: what they hold, and how their flowers share the water.

use super::means::Means;
use super::model::{Order, Vessel};
use super::section::Section;
use super::vessel_words::{VESSELS, name_of};
use crate::error::{Problem, nearest};
use crate::flower::catalogue::Quantity;
use crate::units::{VesselWater, short};

/// The vessel of a piece of which there are `count`, as `vessel`, `vessels` and `vessel_water` give it.
pub(super) fn vessel(section: &Section, count: u32, assumptions: &mut Vec<String>) -> Option<Vessel> {
    let each = super::means::number(section, "vessels", "how many vessels are in each of them", 1..=1000);
    let water = section.quantity::<VesselWater>("vessel_water").map(|v| v.value.millilitres);
    let Some(name) = section.text("vessel") else {
        for key in ["vessels", "vessel_water"] {
            if section.has(key) {
                let problem = Problem::new(format!("`{key}` is given, but no vessel"))
                    .expected("what the flowers stand in beside it")
                    .help("vessel = \"bowl\"");
                section.source.wrong(section.place_of(key), problem);
            }
        }
        return None;
    };
    let word = name_of(&name.value);
    let ml = match (water, VESSELS.iter().find(|v| v.0 == word)) {
        (Some(ml), _) => ml,
        (None, Some((name, ml, [low, high]))) => {
            let told = format!(
                "{} {name} is filled with {} l of water ({} to {} l, from memory): add `vessel_water`",
                if *name == "urn" { "an" } else { "a" },
                short(ml / 1000.0),
                short(low / 1000.0),
                short(high / 1000.0)
            );
            if !assumptions.contains(&told) {
                assumptions.push(told);
            }
            *ml
        }
        (None, None) => {
            let near = nearest(&word, VESSELS.iter().map(|v| v.0));
            let all: Vec<&str> = VESSELS.iter().map(|v| v.0).collect();
            let problem = Problem::new(format!("nobody knows how much water a {:?} holds", name.value))
                .expected(format!("one of: {}; or its water beside it", all.join(", ")))
                .help(match near {
                    Some(near) => format!("vessel = \"{near}\", or add vessel_water = \"1.2 l\""),
                    None => "add vessel_water = \"1.2 l\"".to_string(),
                });
            section.source.wrong(name.span, problem);
            return None;
        }
    };
    Some(Vessel { name: word, ml, number: each.unwrap_or(1) * count })
}

/// Gives every head its share of the water: in proportion to what the flowers lose in the reference air, as far as the
/// catalogue knows it.
pub(super) fn share_water(vessel: &Vessel, orders: &mut [Order]) {
    let loss = |o: &Order| {
        let median = |quantity| o.flower.median(quantity);
        median(Quantity::FreshMass) * o.handling.part_of_head() * median(Quantity::FlaggingLoss)
            / median(Quantity::DryHours)
    };
    let all: f64 = orders.iter().map(|o| f64::from(o.heads) * loss(o)).sum();
    let water = vessel.ml * f64::from(vessel.number);
    for order in orders {
        order.vessel_ml = water * loss(order) / all;
    }
}

/// What to tell where there are fewer vessels than the pieces take.
pub(super) fn too_few(vessels: &[&Vessel], means: &Means) -> Vec<String> {
    let mut told = Vec::new();
    for stock in &means.vessels {
        let needed: u32 = vessels.iter().filter(|v| v.name == stock.name).map(|v| v.number).sum();
        if let Some(most) = stock.most.filter(|most| *most < needed) {
            told.push(format!(
                "{needed} of \"{}\" are needed, {} more than there are",
                stock.name,
                needed - most
            ));
        }
    }
    told
}
