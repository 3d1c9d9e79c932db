//! A page of drawings for hands that have never done it: the work of this event in four steps each, how many there are of
//! it, how long one takes, and the two mistakes that spoil it.

use crate::decide::offers::minutes_a_head;
use crate::flower::treatment::Method;
use crate::report::document::{Block, Document};
use crate::report::facts::{Facts, OrderFacts};
use crate::report::pictures::hands::Craft;
use crate::report::words::several;

/// The crafts in the order of a day, with their titles and what spoils each (common practice, no source).
const CRAFTS: [(Craft, &str, &str); 4] = [
    (
        Craft::Greens,
        "Lay the greens",
        "All tips one way, so that the middle shows cut ends. Stems that hang over the edge, where a sleeve takes them along.",
    ),
    (
        Craft::Tuck,
        "Tuck a head dry",
        "A long stem: the head tips over. Holding it by the petals: every finger is a brown mark by the evening.",
    ),
    (
        Craft::Tube,
        "A head in a water tube",
        "A stem that does not reach the water, or a tube that is half full. A cut end that waits in the air.",
    ),
    (
        Craft::Vase,
        "A head in a low vase",
        "A leaf under water: it fouls the vase. A vase that drips on to the cloth, or stands by a cable.",
    ),
];

/// The page for people who do it for the first time.
pub fn first_time(facts: &Facts) -> Document {
    let title = "For hands that have not done it before".to_string();
    let mut blocks = vec![
        Block::Title(title.clone()),
        Block::Small(format!("{}. Do one with somebody who has, before you do the rest.", facts.event.name)),
    ];
    for (craft, name, spoils) in CRAFTS {
        let orders: Vec<&OrderFacts> = facts.orders.iter().filter(|o| craft_of(o) == Some(craft)).collect();
        if orders.is_empty() {
            continue;
        }
        blocks.push(Block::Heading(name.to_string()));
        blocks.push(Block::Text(counted(facts, &orders)));
        blocks.push(Block::Picture(craft.strip(), None));
        blocks.push(Block::Text(format!("What spoils it: {spoils}")));
    }
    let mut leave =
        vec!["Flowers wait in water and in the shade until their turn: take one bunch at a time."];
    if facts.orders.iter().any(|o| o.treatment().method == Method::Wired) {
        leave.push("Wiring and ladders are for those who have learned it.");
    }
    leave.push("Wash your hands before you eat; tell somebody if your skin itches. Tubes, pins and glass are counted at the end.");
    blocks.push(Block::Heading("And always".to_string()));
    blocks.push(Block::Points(leave.into_iter().map(String::from).collect()));
    Document { title, blocks }
}

/// The craft that an order takes; `None` where it is not for new hands.
fn craft_of(order: &OrderFacts) -> Option<Craft> {
    match order.treatment().method {
        Method::Tucked if order.is_foliage() => Some(Craft::Greens),
        Method::Tucked => Some(Craft::Tuck),
        Method::WaterTube => Some(Craft::Tube),
        Method::BudVase | Method::Vessel => Some(Craft::Vase),
        Method::Wired => None,
    }
}

/// How many there are of what, and how long one takes.
fn counted(facts: &Facts, orders: &[&OrderFacts]) -> String {
    let what: Vec<String> = orders
        .iter()
        .map(|o| {
            let name = if o.is_foliage() { o.called() } else { several(&o.called()) };
            format!("{} {name} ({})", o.heads, o.piece.name)
        })
        .collect();
    let seconds = orders
        .iter()
        .map(|o| 60.0 * minutes_a_head(facts.event, o.piece, o.treatment().method))
        .fold(0.0, f64::max);
    let each = match seconds {
        s if s < 90.0 => format!("{:.0} seconds", ((s / 5.0).round() * 5.0).max(5.0)),
        s => format!("{:.0} minutes", (s / 60.0).ceil()),
    };
    format!("{}. A practised hand takes about {each} for one; the first ones take longer.", what.join(", "))
}
