//! What a remedy would change in the file of an event, so that a press can take it.

use super::draft::Draft;
use super::sheet::edits;
use crate::decide::remedies::Change;
use crate::event::{Event, OrderId, stood_in};
use crate::flower::treatment::Method;
use crate::report::facts::Facts;
use crate::units::Volume;

/// What is said of an order because of the flower that it has, and does not hold of another.
const OF_THE_FLOWER: [&str; 6] = ["like", "dry_hours", "price", "lot", "cultivar_known", "split"];

/// The edits that a change comes to; `None` for what only the venue can do.
pub fn edits_of(facts: &Facts, draft: &Draft, change: &Change) -> Option<String> {
    let event = facts.event;
    let mut all: Vec<(String, String)> = Vec::new();
    match change {
        Change::People(more) => all.extend(people(event, *more)),
        Change::Things(more) => all.extend(things(event, draft, more)?),
        Change::PeopleAndThings(n, more) => {
            all.extend(people(event, *n));
            all.extend(things(event, draft, more)?);
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
                let order = format!("piece.{piece}.flower.{flower}");
                all.extend(OF_THE_FLOWER.map(|key| (format!("out:{order}.{key}"), String::new())));
                all.push((format!("set:{order}.flower"), new.id().to_string()));
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

/// More people, all of whom can do all work.
fn people(event: &Event, more: u32) -> Vec<(String, String)> {
    let means = &event.means;
    let mut all = vec![("set:crew.people".to_string(), (means.people + more).to_string())];
    if means.skilled < means.people {
        all.push(("set:crew.skilled".to_string(), (means.skilled + more).to_string()));
    }
    all
}

/// More tubes of each size and more vases; `None` where the stock is in her habits, which are for every event.
fn things(event: &Event, draft: &Draft, more: &[u32]) -> Option<Vec<(String, String)>> {
    let mut all = Vec::new();
    let tubes = || event.means.tubes.iter().zip(more);
    for path in draft.each("tubes") {
        let ml = draft.get(&format!("{path}.volume")).parse::<Volume>().map_or(10.0, |v| v.millilitres);
        let tube = tubes().find(|(tube, _)| tube.ml == ml);
        if let Some(there) = tube.and_then(|(tube, more)| Some(tube.most? + more)) {
            all.push((format!("set:{path}.most"), there.to_string()));
        }
    }
    if tubes().filter(|(tube, more)| tube.most.is_some() && **more > 0).count() > all.len() {
        return None;
    }
    if let Some(there) = event.means.vases {
        all.push(("set:vases.most".to_string(), (there + more.last()?).to_string()));
    }
    Some(all)
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
