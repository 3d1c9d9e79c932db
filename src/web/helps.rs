//! What a remedy would change in the file of an event, so that a press can take it.

use super::draft::Draft;
use super::sheet::edits;
use crate::decide::remedies::Change;
use crate::event::{Event, OrderId, stood_in};
use crate::flower::treatment::Method;
use crate::report::facts::Facts;
use crate::units::Volume;

/// The edits that a change comes to; `None` for what only the venue can do.
pub fn edits_of(facts: &Facts, draft: &Draft, change: &Change) -> Option<String> {
    let event = facts.event;
    let mut all: Vec<(String, String)> = Vec::new();
    match change {
        Change::People(more) => {
            all.push(("set:crew.people".to_string(), (event.means.people + more).to_string()));
            if draft.has("crew.skilled") {
                all.push(("set:crew.skilled".to_string(), (event.means.skilled + more).to_string()));
            }
        }
        Change::Things(more) => {
            for path in draft.each("tubes") {
                let ml =
                    draft.get(&format!("{path}.volume")).parse::<Volume>().map_or(10.0, |v| v.millilitres);
                let tube = event.means.tubes.iter().zip(more).find(|(tube, _)| tube.ml == ml);
                if let Some(there) = tube.and_then(|(tube, more)| Some(tube.most? + more)) {
                    all.push((format!("set:{path}.most"), there.to_string()));
                }
            }
            let needed =
                event.means.tubes.iter().zip(more).filter(|(tube, more)| tube.most.is_some() && **more > 0);
            if needed.count() > all.len() {
                return None; // the stock is in her habits, which are for every event
            }
            if let Some(there) = event.means.vases {
                all.push(("set:vases.most".to_string(), (there + more.last()?).to_string()));
            }
        }
        Change::Access(from, to) => {
            let last = draft.count("access").checked_sub(1)?;
            if event.access.last().is_some_and(|w| (w.1 - from).abs() < 1e-9) {
                all.push((format!("set:access.{last}.to"), written(event, *to)));
            } else {
                all.push(("add:access".to_string(), String::new()));
                all.push(("set:access.+.from".to_string(), written(event, *from)));
                all.push(("set:access.+.to".to_string(), written(event, *to)));
            }
        }
        Change::Water(which) => {
            for id in which {
                let (piece, flower) = place_of(facts, *id);
                let mut words: Vec<&str> = facts.order(*id).order.methods.iter().map(|m| word(*m)).collect();
                words.push(word(Method::WaterTube));
                all.push((format!("set:piece.{piece}.flower.{flower}.treatments"), words.join(", ")));
            }
        }
        Change::Swap(which) => {
            for (id, new) in which {
                let (piece, flower) = place_of(facts, *id);
                all.push((format!("out:piece.{piece}.flower.{flower}.like"), String::new()));
                all.push((format!("set:piece.{piece}.flower.{flower}.flower"), new.id().to_string()));
            }
        }
        Change::Shade => {
            let fails = facts.orders.iter().filter(|o| !o.lasts());
            for space in stood_in(fails.map(|o| o.piece)) {
                let sunny = (0..24).any(|hour| event.spaces[space].climate.at(f64::from(hour)).sun > 0.0);
                let path = format!("space.{space}.sun");
                match (sunny, draft.has(&path)) {
                    (false, _) => {}
                    (true, true) => all.push((format!("set:{path}"), "shade".to_string())),
                    (true, false) => return None,
                }
            }
        }
        Change::Cooling(..) => return None,
    }
    let all: Vec<(&str, &str)> = all.iter().map(|(what, typed)| (what.as_str(), typed.as_str())).collect();
    (!all.is_empty()).then(|| edits(&all))
}

/// A time as the file writes it.
fn written(event: &Event, hours: f64) -> String {
    event.moment(hours).to_string()
}

/// A method as the file writes it.
fn word(method: Method) -> &'static str {
    match method {
        Method::Tucked => "tucked",
        Method::Wired => "wired",
        Method::WaterTube => "water tube",
        Method::BudVase => "bud vase",
        Method::Vessel => "vessel",
    }
}

/// The piece and the flower of an order, by their numbers in the file.
pub fn place_of(facts: &Facts, id: OrderId) -> (usize, usize) {
    let mut left = id.index();
    for (i, piece) in facts.event.pieces.iter().enumerate() {
        if left < piece.orders.len() {
            return (i, left);
        }
        left -= piece.orders.len();
    }
    (0, 0)
}
