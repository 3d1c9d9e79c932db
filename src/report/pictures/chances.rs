//! How sure an order is to last, by the hour at which it is placed, for each treatment.

use super::axes::{across, apart, hours};
use super::sketch::{Anchor, Sketch};
use super::style::{FAINT, INK, SOFT, colour, dashes};
use crate::decide::options::PlacingOption;
use crate::event::Event;
use crate::flower::treatment::Treatment;
use crate::report::clock::clock;
use crate::report::facts::OrderFacts;
use crate::report::words::{capital, title, treatment_name};

const SIZE: (u32, u32) = (960, 420);
const TOP: f64 = 84.0;
const BASE: f64 = 372.0;

/// The picture of an order.
pub fn picture(event: &Event, order: &OrderFacts) -> Sketch {
    let tried = |treatment: Treatment| -> Vec<&PlacingOption> { order.of(treatment).collect() };
    let treatments: Vec<(Treatment, Vec<&PlacingOption>)> =
        order.order.treatments().into_iter().map(|w| (w, tried(w))).collect();
    let all = || treatments.iter().flat_map(|(_, tried)| tried.iter().map(|c| c.place_at));
    let first = all().fold(f64::INFINITY, f64::min);
    // One time alone still takes some room.
    let last = all().fold(first + 1.0, f64::max);
    let x = |hour: f64| across(hour, (first, last), SIZE.0);
    let y = |chance: f64| TOP + (1.0 - chance) * (BASE - TOP);
    let name = title(&order.piece.name, order.flower().name(), order.order.heads);
    let mut sheet = Sketch::new(SIZE, described(event, &name, &treatments));
    sheet.text(&name, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = format!(
        "In how many of 100 such events at least {} are still good at {}, by the time of placing, without spares",
        order.wanted,
        clock(event, order.piece.until)
    );
    sheet.text(&under, (16.0, 40.0), 14.5, SOFT, false, Anchor::TopLeft);
    for chance in [0.0, 0.25, 0.5, 0.75, 1.0] {
        sheet.line(&[(x(first), y(chance)), (x(last), y(chance))], FAINT, 1.0);
        let words = format!("{:.0}", 100.0 * chance);
        sheet.text(&words, (x(first) - 8.0, y(chance)), 13.0, SOFT, false, Anchor::Right);
    }
    sheet.line(&[(x(first), y(event.assurance)), (x(last), y(event.assurance))], INK, 1.4);
    hours(&mut sheet, event, (first, last), x, BASE);
    let mut labels = vec![(y(event.assurance), treatments.len())];
    for (w, (treatment, tried)) in treatments.iter().enumerate() {
        let (shade, chosen) = (colour(treatment.method), *treatment == order.treatment());
        let thick = if chosen { 3.2 } else { 2.0 };
        // Nothing is placed between two times of access, so no line runs there.
        let windows = event.windows(order.piece);
        let window = |c: &&PlacingOption| {
            windows.iter().position(|(a, b)| (a - 1e-6..=b + 1e-6).contains(&c.place_at))
        };
        for part in tried.chunk_by(|a, b| window(a) == window(b)) {
            let points: Vec<_> = part.iter().map(|c| (x(c.place_at), y(c.assurance))).collect();
            match dashes(treatment.method) {
                Some(dashes) if points.len() > 1 => sheet.dashed(&points, shade, thick, dashes),
                _ => sheet.line(&points, shade, thick),
            }
            points.iter().for_each(|p| sheet.dot(*p, 2.6, shade));
        }
        labels.extend(tried.last().map(|c| (y(c.assurance), w)));
    }
    apart(&mut labels, 17.0, BASE);
    for (height, w) in labels {
        let at = (x(last) + 10.0, height);
        match treatments.get(w) {
            Some((one, _)) => {
                let chosen = *one == order.treatment();
                sheet.text(&treatment_name(*one), at, 14.0, colour(one.method), chosen, Anchor::Left);
            }
            None => {
                let words = format!("as sure as is wanted: {:.0}", 100.0 * event.assurance);
                sheet.text(&words, at, 12.5, INK, false, Anchor::Left);
            }
        }
    }
    sheet
}

/// What the picture shows, for those who cannot see it.
fn described(event: &Event, name: &str, treatments: &[(Treatment, Vec<&PlacingOption>)]) -> String {
    let lines: Vec<String> = treatments
        .iter()
        .filter_map(|(one, tried)| {
            let (a, b) = (tried.first()?, tried.last()?);
            let at = |c: &PlacingOption| {
                format!("{:.0} in 100 if placed {}", 100.0 * c.assurance, clock(event, c.place_at))
            };
            Some(format!("{}: {}, {}", capital(&treatment_name(*one)), at(a), at(b)))
        })
        .collect();
    format!("{name}: how sure it is to last, by the time of placing. {}.", lines.join("; "))
}
