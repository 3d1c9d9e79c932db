//! `headwater rooms`: lists the words for rooms and the air that they stand for.

use super::output;
use crate::climate::balance::{AIRING, FABRICS};
use crate::climate::room::Room;
use crate::error::Result;
use std::process::ExitCode;

pub fn run() -> Result<ExitCode> {
    let mut out = String::from(
        "Afternoon, then before dawn, and by how much a room of these words may differ either way. From memory unless it says \
         measured; a reading of your own is better.\n\n",
    );
    for room in Room::all() {
        let sun = if room.sun > 0.0 { format!(", sun {:.0} W/m2", room.sun) } else { String::new() };
        out.push_str(&format!(
            "{:<34} {:>2.0} C {:>2.0} %   {:>2.0} C {:>2.0} %   give or take {} C, {} %   air {} m/s{sun}{}\n{:34} also: {}\n",
            room.words,
            room.day_c,
            room.day_rh,
            room.night_c,
            room.night_rh,
            room.error().kelvin,
            (100.0 * room.error().rh).round(),
            room.air_speed,
            if room.is_measured() { ", measured" } else { "" },
            "",
            room.aliases().collect::<Vec<_>>().join(", ")
        ));
    }
    out.push_str("\nFor a [space.building]: built, W/m2 and K lost through walls and roof, sun on the roof that comes in\n\n");
    for fabric in FABRICS {
        let share = 100.0 * fabric.sun;
        out.push_str(&format!("{:<34} {:.1} W/m2 K   {share:.0} %\n", fabric.words, fabric.loss));
    }
    out.push_str("\nair, and how often it is changed\n\n");
    for (words, per_hour, speed) in AIRING {
        out.push_str(&format!("{words:<34} {per_hour:.0} an hour   air {speed} m/s\n"));
    }
    output::print(&out)?;
    Ok(ExitCode::SUCCESS)
}
