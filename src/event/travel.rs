//! `[travel]`: how flowers come to the venue, and where they wait.

use super::model::{Space, Travel};
use super::section::{Found, Section};
use super::site::Site;
use super::spaces::find_space;
use crate::climate::room::Room;
use crate::flower::boxes::{Boxes, Lining, Load};
use crate::units::Span;

/// How long the drive takes, h; half an hour where the file does not say.
pub fn drive(section: &Section) -> f64 {
    section.quantity::<Span>("drive").map_or(0.5, |s| s.value.hours)
}

/// Reads `[travel.boxes]`.
fn boxes(section: &Section) -> Boxes {
    let lining = [("none", Lining::None), ("paper", Lining::Paper), ("film", Lining::Film)];
    let load = [("full", Load::Full), ("half", Load::Half), ("few", Load::Few)];
    let boxes = Boxes {
        lining: section.option("lining", &lining).unwrap_or_default(),
        lid: section.flag("lid").unwrap_or(false),
        load: section.option("load", &load).unwrap_or_default(),
    };
    section.finish();
    boxes
}

/// Reads the rest of `[travel]`: the journey, and the space in which flowers wait, where the file names one. A store or
/// van given as a room in words becomes a space of its own.
pub fn travel(
    section: &Section,
    drive: f64,
    spaces: &mut Vec<Space>,
    names: &[String],
    site: &Site,
) -> (Option<Travel>, Option<usize>) {
    let wait = section.text("wait").and_then(|found| find_space(section.source, found, names));
    let mut space = |key: &'static str, usual: &str| -> Option<usize> {
        let found = section.text(key).unwrap_or(Found { value: usual.to_string(), span: 0..0 });
        if let Some(i) = names.iter().position(|n| *n == found.value) {
            return Some(i);
        }
        let room = Room::find(&found.value).map_err(|p| section.source.wrong(found.span, p)).ok()?;
        spaces.push(Space {
            name: room.words.clone(),
            climate: room.climate(site.pressure, |hour| site.sky.share(hour)),
            from: format!("{}: from the words, {}", room.words, room.known_from()),
            cooled: false,
            outside: None,
        });
        Some(spaces.len() - 1)
    };
    let (store, van) = (space("store", "cool store"), space("van", "van"));
    let van_in_water = section.flag("van_in_water").unwrap_or(true);
    let wait_in_water = section.flag("wait_in_water").unwrap_or(true);
    let boxes = boxes(&section.section("boxes"));
    section.finish();
    let travel =
        store.zip(van).map(|(store, van)| Travel { store, van, drive, van_in_water, wait_in_water, boxes });
    (travel, wait)
}
