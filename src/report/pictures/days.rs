//! The picture of a plan in several scenarios: how many heads of every order are still good in each.

use super::sketch::{Anchor, Sketch};
use super::style::{FAINT, INK, SOFT, colour};
use crate::flower::treatment::Method;
use crate::report::days::{failing, lost, title};
use crate::report::facts::{DayFacts, Facts};
use crate::report::words::{capital, treatment_name};

/// The picture of some scenarios side by side, the plan's own conditions first.
pub fn picture(facts: &Facts, days: &[DayFacts]) -> Sketch {
    const LEFT: f64 = 316.0;
    const TOP: f64 = 116.0;
    const ROW: f64 = 40.0;
    let event = facts.event;
    let rows = &facts.orders;
    let height = (TOP + ROW * rows.len() as f64 + 40.0) as u32;
    let alt = format!("The plan on other days. {}", failing(facts, days).join(" "));
    let mut sheet = Sketch::new((960, height), alt);
    sheet.text(&hardest(facts, days), (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = "Heads still good at their piece's hour: in a usual delivery (pale), and in a poor one, one in twenty (dark). ! where that is not sure enough";
    sheet.text(under, (16.0, 42.0), 14.5, SOFT, false, Anchor::TopLeft);
    let each = (944.0 - LEFT) / days.len().max(1) as f64;
    let wide = each - 14.0;
    for (d, day) in days.iter().enumerate() {
        let x = LEFT + each * d as f64;
        let title = title(event, day.scenario).replace(" pts", " points");
        // Two short lines, so that a title does not run into the next.
        let cut = title.match_indices(' ').min_by_key(|(i, _)| i.abs_diff(title.len() / 2)).map(|(i, _)| i);
        let (upper, lower) = cut.map_or(("", title.as_str()), |i| (&title[..i], &title[i + 1..]));
        sheet.text(upper, (x, TOP - 42.0), 13.0, INK, false, Anchor::TopLeft);
        sheet.text(lower, (x, TOP - 27.0), 13.0, INK, false, Anchor::TopLeft);
    }
    for (i, order) in rows.iter().enumerate() {
        let y = TOP + ROW * i as f64 + 10.0;
        sheet.line(&[(16.0, y - 14.0), (944.0, y - 14.0)], FAINT, 1.0);
        let name = format!("{}, {}", capital(&order.called()), treatment_name(order.treatment()));
        sheet.text(&name, (16.0, y - 1.0), 13.5, INK, false, Anchor::Left);
        let where_to = format!("{}, {} placed", order.piece.name, order.heads);
        sheet.text(&where_to, (16.0, y + 14.0), 11.5, SOFT, false, Anchor::Left);
        for (d, day) in days.iter().enumerate() {
            let (x, outcome) = (LEFT + each * d as f64, &day.outcomes[i]);
            let share = |heads: f64| (heads / f64::from(order.heads.max(1))).clamp(0.0, 1.0);
            let shade = colour(if outcome.lasts { Method::WaterTube } else { Method::Tucked });
            sheet.rectangle((x, y + 8.0), (x + wide, y + 18.0), FAINT, 1.0);
            let (usual, poor) = (share(outcome.count.p50), share(outcome.count.p05));
            sheet.rectangle((x, y + 8.0), (x + wide * usual, y + 18.0), shade, 0.35);
            sheet.rectangle((x, y + 8.0), (x + wide * poor, y + 18.0), shade, 1.0);
            let mark = if outcome.lasts { "" } else { " !" };
            let words = format!("{:.0}, {:.0}{mark}", outcome.count.p50, outcome.count.p05);
            sheet.text(&words, (x, y - 1.0), 13.5, INK, !outcome.lasts, Anchor::Left);
        }
    }
    sheet
}

/// What the picture shows, in one line: the day on which most is no longer sure.
fn hardest(facts: &Facts, days: &[DayFacts]) -> String {
    let lost = |day: &DayFacts| lost(facts, &days[0], day).len();
    let worst = days.iter().skip(1).max_by_key(|day| lost(day)).filter(|day| lost(day) > 0);
    match worst {
        Some(day) => format!(
            "{}: {} of {} lines are no longer sure",
            capital(&title(facts.event, day.scenario).replace(" pts", " points")),
            lost(day),
            facts.orders.len()
        ),
        None => "On each of these days everything still lasts".to_string(),
    }
}
