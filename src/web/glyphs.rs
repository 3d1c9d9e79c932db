//! Heads as small pictures: fresh, softened, limp. They tell by ink and by posture, never by colour alone.

use maud::{Markup, PreEscaped, html};

/// The three pictures, to be used by others on the same page.
pub fn defs() -> Markup {
    let petals = |n: usize,
                  from: f64,
                  radius: f64,
                  (rx, ry): (f64, f64),
                  (cx, cy): (f64, f64),
                  step: f64|
     -> String {
        (0..n)
            .map(|i| {
                let angle = from + step * i as f64;
                format!(
                    "<ellipse cx=\"{cx}\" cy=\"{:.1}\" rx=\"{rx}\" ry=\"{ry}\" transform=\"rotate({angle:.0} {cx} {cy})\"/>",
                    cy - radius
                )
            })
            .collect()
    };
    let fresh = petals(12, 0.0, 9.4, (3.3, 5.2), (18.0, 16.0), 30.0)
        + &petals(8, 15.0, 4.9, (2.7, 4.0), (18.0, 16.0), 45.0);
    let soft = petals(6, 60.0, 8.8, (3.3, 5.2), (23.0, 20.0), 30.0)
        + &petals(7, 40.0, 4.4, (2.5, 3.6), (23.0, 20.0), 51.4);
    let limp = [-48.0, -26.0, 0.0, 26.0, 48.0].into_iter().zip([14.0, 18.0, 20.0, 18.0, 14.0]).map(|(angle, length)| {
        format!(
            "<path transform=\"rotate({angle} 23.5 20)\" d=\"M23.5 22q3.6 {} 0 {length}q-3.6 -{} 0 -{length}z\"/>",
            length / 2.0,
            length / 2.0
        )
    });
    let limp: String = limp.collect();
    let all = format!(
        "<symbol id=\"g-fresh\" viewBox=\"0 0 36 57\"><path class=\"g-st\" d=\"M18 30V55M18 46q7-1 9-7q-7 0-9 7\"/>\
         <g class=\"g-fr\">{fresh}</g><circle class=\"g-ey\" cx=\"18\" cy=\"16\" r=\"2.2\"/></symbol>\
         <symbol id=\"g-soft\" viewBox=\"0 0 36 57\"><path class=\"g-st\" d=\"M12 55C11 42 13 33 20 26\"/><g class=\"g-so\">{soft}</g></symbol>\
         <symbol id=\"g-limp\" viewBox=\"0 0 36 57\"><path class=\"g-sl\" d=\"M11 55C9 36 6 14 14 9.5C20 6 24 11 23.5 19\"/>\
         <g class=\"g-li\">{limp}<path d=\"M19 21.5a4.6 4 0 0 1 9 0z\"/></g></symbol>"
    );
    html! { svg.defs width="0" height="0" aria-hidden="true" { (PreEscaped(all)) } }
}

/// The most heads that are drawn one by one; of more, each drawn one stands for several.
const MOST: u32 = 48;

/// Heads in rows of twelve: fresh first, then softened, then limp.
pub fn heads(fresh: u32, soft: u32, limp: u32) -> Markup {
    let all = fresh + soft + limp;
    let each = all.div_ceil(MOST).max(1);
    let (drawn, still) = (all.div_ceil(each), (fresh + soft).div_ceil(each));
    let upright = fresh.div_ceil(each).min(still);
    let rows = drawn.div_ceil(12).max(1);
    html! {
        svg.heads viewBox={ "0 0 432 " (rows * 59) } role="img"
            aria-label={ (fresh) " fresh, " (soft) " softened, " (limp) " limp" } {
            @for i in 0..drawn {
                @let which = if i < upright { "#g-fresh" } else if i < still { "#g-soft" } else { "#g-limp" };
                use href=(which) x=(i % 12 * 36) y=(i / 12 * 59) width="36" height="57" {}
            }
        }
        @if each > 1 { p.small { "Each stands for " (each) "." } }
    }
}
