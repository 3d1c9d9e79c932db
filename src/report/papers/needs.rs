//! What the florist needs from client and venue.

use crate::report::clock::day_and_clock;
use crate::report::crew::people;
use crate::report::facts::Facts;

/// When people come, and what they need to work.
pub fn needs(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut needs: Vec<String> = on_site(facts);
    if event.spaces.iter().any(|s| s.cooled) {
        needs.push("The cooling on, and left on, from before we come until the end".to_string());
    }
    needs.push("Water within reach, and a shaded place for buckets".to_string());
    let sunny = event.pieces.iter().any(|p| event.spaces[p.space].climate.at(14.0).sun > 50.0);
    if sunny {
        needs.push("Shade over what stands in the sun, wherever it can be had".to_string());
    }
    needs.push("Nobody moves, waters or sprays the flowers once they stand".to_string());
    needs
}

/// When somebody of the crew is on site, a line for each time that people come.
pub fn on_site(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut calls = facts.calls.clone();
    calls.sort_by(|a, b| (a.from, a.to).partial_cmp(&(b.from, b.to)).expect("times are numbers"));
    // People who are there at one time are one line.
    let mut together: Vec<(f64, f64, u32)> = Vec::new();
    for call in calls {
        match together.last_mut().filter(|last| call.from <= last.1 + 1e-9) {
            Some(last) => *last = (last.0, last.1.max(call.to), last.2 + call.people),
            None => together.push((call.from, call.to, call.people)),
        }
    }
    let line = |(from, to, n): &(f64, f64, u32)| {
        let (from, to) = (day_and_clock(event, *from), event.moment(*to).clock());
        format!("Access for {}, {from} to {to}", people(*n))
    };
    together.iter().map(line).collect()
}

/// Moves that the venue's own people make.
pub fn moves(facts: &Facts) -> Vec<String> {
    let event = facts.event;
    let mut asked = Vec::new();
    for piece in event.pieces.iter().filter(|p| p.moved_by_venue) {
        for (at, to) in &piece.moves {
            asked.push(format!(
                "Two people of the venue to move the {} to the {} at {}",
                piece.name,
                event.spaces[*to].name,
                event.moment(*at).clock()
            ));
        }
    }
    asked
}
