//! The picture of sensitivities: how far each factor changes the number of heads still good.

use super::sketch::{Anchor, Sketch};
use super::style::{FAINT, INK, SOFT, colour};
use crate::decide::scenarios::Sensitivity;
use crate::flower::treatment::Method;
use crate::report::days::factor;
use crate::report::facts::Facts;

/// The picture of the sensitivities of an event, the strongest first.
pub fn picture(facts: &Facts) -> Sketch {
    let (base, sensitivities) = facts.sensitivities();
    let placed: u32 = facts.orders.iter().map(|o| o.heads).sum();
    let height = 150 + 44 * sensitivities.len() as u32;
    let name = |s: &Sensitivity| factor(facts.event, s.factor);
    let strongest = sensitivities.first().map_or("nothing".to_string(), name);
    let alt = format!(
        "How far each of {} things moves the number of heads still good, about {base:.0} of {placed} as planned. The \
         strongest is {strongest}.",
        sensitivities.len()
    );
    let mut sheet = Sketch::new((960, height), alt);
    sheet.text(
        &format!("What matters most: {}", facts.event.name),
        (16.0, 14.0),
        21.0,
        INK,
        true,
        Anchor::TopLeft,
    );
    let under =
        format!("Heads still good at their piece's hour, of {placed} placed; about {base:.0} as planned");
    sheet.text(&under, (16.0, 42.0), 14.0, SOFT, false, Anchor::TopLeft);
    let low = sensitivities.iter().map(|s| s.low).fold(base, f64::min);
    let high = sensitivities.iter().map(|s| s.high).fold(base, f64::max);
    let room = (high - low).max(4.0);
    let x = |v: f64| 440.0 + 440.0 * (v - low) / room;
    let bottom = f64::from(height) - 44.0;
    sheet.line(&[(x(base), 80.0), (x(base), bottom)], INK, 1.6);
    for (i, sensitivity) in sensitivities.iter().enumerate() {
        let y = 104.0 + 44.0 * i as f64;
        sheet.line(&[(16.0, y + 22.0), (944.0, y + 22.0)], FAINT, 1.0);
        sheet.text(&name(sensitivity), (16.0, y), 14.0, INK, i == 0, Anchor::Left);
        let ends = (sensitivity.low.min(sensitivity.high), sensitivity.low.max(sensitivity.high));
        sheet.rectangle(
            (x(ends.0), y - 9.0),
            (x(base.clamp(ends.0, ends.1)), y + 9.0),
            colour(Method::Tucked),
            0.75,
        );
        sheet.rectangle(
            (x(base.clamp(ends.0, ends.1)), y - 9.0),
            (x(ends.1), y + 9.0),
            colour(Method::WaterTube),
            0.75,
        );
        sheet.text(&format!("{:.0}", ends.0), (x(ends.0) - 6.0, y), 13.0, INK, false, Anchor::Right);
        sheet.text(&format!("{:.0}", ends.1), (x(ends.1) + 6.0, y), 13.0, INK, false, Anchor::Left);
    }
    let note = "Left of the line: what the bad end costs. Right: what the good end gains.";
    sheet.text(note, (16.0, bottom + 14.0), 13.0, SOFT, false, Anchor::TopLeft);
    sheet
}
