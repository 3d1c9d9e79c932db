//! The picture of what makes heads fail, order by order.

use super::sketch::{Anchor, Sketch};
use super::style::{Colour, FAINT, INK, PAPER, SOFT};
use crate::report::clock::clock;
use crate::report::facts::Facts;
use crate::report::words::capital;
use crate::simulate::outcome::Cause;

const LEFT: f64 = 340.0;
const RIGHT: f64 = 760.0;
const ROW: f64 = 34.0;
const TOP: f64 = 96.0;
/// The expected number of failing heads below which an order has no bar.
const HARDLY: f64 = 0.5;

/// A cause in a word or two, its colour and that of text on it. The colours differ in lightness, too.
fn cause(cause: Cause) -> (&'static str, Colour, Colour) {
    match cause {
        Cause::Drying => ("dried", (150, 68, 24), PAPER),
        Cause::Supply => ("water gave out", (38, 110, 168), PAPER),
        Cause::Ageing => ("aged", (172, 178, 150), INK),
        Cause::Heat => ("too hot", (240, 206, 140), INK),
    }
}

/// The picture of the causes of failure in a plan.
pub fn picture(facts: &Facts) -> Sketch {
    let rows = &facts.orders;
    let height = TOP + ROW * rows.len() as f64 + 20.0;
    let told: Vec<String> = rows
        .iter()
        .filter(|o| o.expected_losses() >= HARDLY)
        .filter_map(|o| {
            let (first, share) = o.causes.first()?;
            let name = o.called();
            let of = format!("{:.0} of {}", o.expected_losses(), o.heads);
            Some(format!("{name}, {}: about {of}, {:.0} % {}", o.piece.name, 100.0 * share, cause(*first).0))
        })
        .collect();
    let told =
        if told.is_empty() { "Hardly a head is lost.".to_string() } else { format!("{}.", told.join("; ")) };
    let alt = format!("What ends the heads that do not last to their hour, as planned. {told}");
    let mut sheet = Sketch::new((960, height as u32), alt);
    sheet.text("What ends those that do not last", (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under =
        format!("{}, as planned: the bar is all heads that end before their piece's hour", facts.event.name);
    sheet.text(&under, (16.0, 42.0), 14.5, SOFT, false, Anchor::TopLeft);
    for (i, order) in rows.iter().enumerate() {
        let y = TOP + ROW * i as f64;
        if i > 0 {
            sheet.line(&[(16.0, y - 17.0), (944.0, y - 17.0)], FAINT, 1.0);
        }
        let name = format!("{}, {}", capital(&order.called()), order.piece.name);
        sheet.text(&name, (16.0, y), 13.5, INK, false, Anchor::Left);
        let until = clock(facts.event, order.piece.until);
        if order.expected_losses() < HARDLY {
            sheet.text(
                &format!("hardly one of {} lost by {until}", order.heads),
                (LEFT, y),
                13.0,
                SOFT,
                false,
                Anchor::Left,
            );
            continue;
        }
        let (mut x, mut also) = (LEFT, Vec::new());
        for (why, share) in &order.causes {
            let (words, shade, ink) = cause(*why);
            let wide = share * (RIGHT - LEFT);
            sheet.rectangle((x, y - 11.0), (x + wide, y + 11.0), shade, 1.0);
            if wide > 7.0 * words.len() as f64 + 12.0 {
                sheet.text(words, (x + 6.0, y), 12.5, ink, false, Anchor::Left);
            } else if *share >= 0.005 {
                also.push(format!("{words} {:.0} %", 100.0 * share));
            }
            x += wide;
        }
        let of = format!("about {:.0} of {} by {until}", order.expected_losses(), order.heads);
        let up = if also.is_empty() { 0.0 } else { 6.0 };
        sheet.text(&of, (RIGHT + 10.0, y - up), 13.0, INK, false, Anchor::Left);
        sheet.text(&also.join(", "), (RIGHT + 10.0, y + 9.0), 11.5, SOFT, false, Anchor::Left);
    }
    sheet
}
