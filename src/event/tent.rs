//! The air of a tent by height: the sun on the roof warms it from above, and the ground keeps its lowest air cool.

use super::model::{Piece, Space};
use crate::climate::air::saturation_vapour_pressure;
use crate::climate::{Air, Climate};
use crate::units::Length;

/// Heights in m, and by how many kelvin the air there was warmer than outside in a tent in the sun (published readings of
/// one tent, from memory).
const WARMER: [(f64, f64); 3] = [(0.1, 3.1), (1.1, 5.5), (1.7, 6.0)];

/// What the air at a height is warmer than outside, as a share of the same at a dressed table, which the balance of a
/// building stands for. Linear between the heights read, and the same below and above them.
fn share_of_warmth(height_m: f64) -> f64 {
    let [low, table, high] = WARMER;
    let (a, b) = if height_m < table.0 { (low, table) } else { (table, high) };
    let w = ((height_m - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
    (a.1 + w * (b.1 - a.1)) / table.1
}

/// Gives a piece the air of its height in every tent that it stands in; returns what to tell where it stands in none.
pub fn raise(piece: &mut Piece, height: &Length, spaces: &mut Vec<Space>) -> Option<String> {
    let stands = || std::iter::once(piece.space).chain(piece.moves.iter().map(|m| m.1));
    if !stands().any(|space| spaces[space].outside.is_some()) {
        let name = &piece.name;
        return Some(format!(
            "\"{name}\": its height changes nothing; air is known by height only in a tent with [space.building]"
        ));
    }
    piece.space = at_height(piece.space, height, spaces);
    piece.moves.iter_mut().for_each(|(_, space)| *space = at_height(*space, height, spaces));
    None
}

/// The number of the space with the air of that height, added where there is none; the space itself where it is no tent.
fn at_height(space: usize, height: &Length, spaces: &mut Vec<Space>) -> usize {
    let Some(outside) = spaces[space].outside.clone() else { return space };
    let name = format!("{}, {height} up", spaces[space].name);
    if let Some(known) = spaces.iter().position(|s| s.name == name) {
        return known;
    }
    let share = share_of_warmth(height.metres);
    let tent = &spaces[space];
    let stratified = |inside: &Climate, outside: &Climate| {
        inside.map(|hour, air| {
            let warmer = (air.temperature_c - outside.at(hour).temperature_c).max(0.0);
            let temperature_c = air.temperature_c + (share - 1.0) * warmer;
            let vapour_pressure = air.vapour_pressure.min(saturation_vapour_pressure(temperature_c));
            Air { temperature_c, vapour_pressure, ..air }
        })
    };
    let climate = tent.climate.by_the_day_of(&outside, stratified);
    let from = format!("{}; {height} up", tent.from);
    let raised = Space { name, climate: climate.off_like(space), from, cooled: tent.cooled, outside: None };
    spaces.push(raised);
    spaces.len() - 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_air_of_a_tent_is_that_read_at_three_heights_and_no_hotter_above_them() {
        let warmer = |metres: f64| 5.5 * share_of_warmth(metres);
        for (metres, kelvin) in
            [(0.0, 3.1), (0.1, 3.1), (0.6, 4.3), (1.1, 5.5), (1.4, 5.75), (1.7, 6.0), (3.0, 6.0)]
        {
            assert!((warmer(metres) - kelvin).abs() < 1e-9, "{metres} m: {}", warmer(metres));
        }
    }
}
