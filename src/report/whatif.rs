//! A plan on other days, as text, as data and as a picture.

use super::sketch::{Anchor, Sketch};
use super::style::{FAINT, INK, SOFT, colour};
use super::terminal::{Text, columns};
use super::words::{capital, clock, degrees, range, short_name, treatment};
use crate::decide::plan::Plan;
use crate::decide::whatif::{Outcome, Scenario, Sensitivity, outcomes};
use crate::event::Event;
use crate::flower::treatment::Method;
use crate::units::Span;
use serde::Serialize;

/// One other day and what becomes of the plan on it.
#[derive(Debug, Clone)]
pub struct Day {
    /// The day.
    pub scenario: Scenario,
    /// What becomes of every flower.
    pub outcomes: Vec<Outcome>,
}

/// What becomes of a plan on some days.
pub fn days(plan: &Plan, scenarios: Vec<Scenario>) -> Vec<Day> {
    scenarios.into_iter().map(|scenario| Day { scenario, outcomes: outcomes(plan, scenario) }).collect()
}

/// A flower on one day.
#[derive(Debug, Clone, Serialize)]
pub struct OutcomeReport {
    /// The piece.
    pub piece: String,
    /// The flower.
    pub flower: String,
    /// What happens.
    #[serde(rename = "if")]
    pub day: String,
    /// Heads placed.
    pub heads: u32,
    /// How many of them will be presentable.
    pub presentable: crate::stats::Band,
    /// Whether that is as sure as is wanted.
    pub lasts: bool,
}

/// A day in a few words.
pub fn title(event: &Event, scenario: Scenario) -> String {
    match scenario {
        Scenario::None => "as planned".to_string(),
        Scenario::Warmer(k) => format!("{} {}", degrees(event, k), if k < 0.0 { "cooler" } else { "hotter" }),
        Scenario::Moister(rh) => {
            let towards = if rh < 0.0 { "drier" } else { "moister" };
            format!("{:.0} pts {towards}", 100.0 * rh.abs())
        }
        Scenario::CoolingFails(at) => format!("cooling off {}", event.moment(at).clock()),
        Scenario::Late(h) => {
            format!("{} {}", Span { hours: h.abs() }, if h < 0.0 { "early" } else { "late" })
        }
        Scenario::PlacedEarlier(h) => {
            format!("placed {} {}", Span { hours: h.abs() }, if h < 0.0 { "later" } else { "earlier" })
        }
    }
}

/// The days as text, with what a plan made for the worst of the heat would be.
pub fn text(plan: &Plan, days: &[Day], robust: Option<(f64, &Plan)>, width: usize) -> String {
    let event = &plan.event;
    let mut out = Text { width: width.clamp(60, 110), text: String::new() };
    out.line(&format!("WHAT IF: {}", event.name), 0);
    out.line(
        "The plan as it is, on other days than the one it was made for. Heads still good at each piece's hour, placed when \
         the crew places them; ! where fewer last than are wanted, or less surely.",
        0,
    );
    out.blank();
    let mut head = vec!["piece".to_string(), "placed".to_string(), String::new()];
    head.extend(days.iter().map(|d| title(event, d.scenario) + " "));
    let mut rows = vec![head];
    let flowers = plan.pieces.iter().flat_map(|p| {
        p.flowers.iter().enumerate().map(move |(i, f)| (if i == 0 { p.piece.name.as_str() } else { "" }, f))
    });
    for (i, (piece, flower)) in flowers.enumerate() {
        let mut row = vec![
            piece.to_string(),
            flower.heads().to_string(),
            format!(
                "{}, {}",
                short_name(flower.order.flower.name()),
                treatment(flower.recommended().treatment)
            ),
        ];
        row.extend(days.iter().map(|d| {
            let o = &d.outcomes[i];
            format!("{}{}{}", o.count.p50, range(&o.count, "-"), if o.lasts { " " } else { "!" })
        }));
        rows.push(row);
    }
    // As many days to a table as fit.
    let wide = |from: usize, to: usize| -> usize {
        let of = |c: usize| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0) + 2;
        (0..3).chain(from..to).map(of).sum()
    };
    let mut from = 3;
    while from < rows[0].len() {
        let mut to = from + 1;
        while to < rows[0].len() && wide(from, to + 1) <= out.width {
            to += 1;
        }
        let part: Vec<Vec<String>> =
            rows.iter().map(|r| r[..3].iter().chain(&r[from..to]).cloned().collect()).collect();
        let left: Vec<bool> = (0..part[0].len()).map(|c| c == 0 || c == 2).collect();
        columns(&mut out, &part, &left, 0);
        out.blank();
        from = to;
    }
    for line in failing(plan, days) {
        out.line(&format!("- {line}"), 0);
    }
    if let Some((kelvin, other)) = robust {
        out.blank();
        for line in robust_lines(plan, kelvin, other) {
            out.line(&line, 0);
        }
    }
    out.text
}

/// Which flowers no longer hold on which day.
pub fn failing(plan: &Plan, days: &[Day]) -> Vec<String> {
    let lost = |day: &Day| -> Vec<String> {
        let mut names: Vec<String> = Vec::new();
        for piece in &plan.pieces {
            for flower in &piece.flowers {
                names.push(format!("{} of the {}", short_name(flower.order.flower.name()), piece.piece.name));
            }
        }
        let planned = &days[0].outcomes;
        let some = names.into_iter().enumerate();
        some.filter(|(i, _)| planned[*i].lasts && !day.outcomes[*i].lasts).map(|(_, name)| name).collect()
    };
    days[1..]
        .iter()
        .map(|day| {
            let lost = lost(day);
            let title = capital(&title(&plan.event, day.scenario));
            match lost.len() {
                0 => format!("{title}: the plan holds."),
                1..=4 => format!("{title}: no longer sure are {}.", lost.join(", ")),
                n => format!("{title}: no longer sure are {n} of its {} lines.", plan.flowers().count()),
            }
        })
        .collect()
}

/// What a plan made for a hotter day does otherwise.
fn robust_lines(plan: &Plan, kelvin: f64, other: &Plan) -> Vec<String> {
    let event = &plan.event;
    let money = &event.means.currency;
    let more = other.bill.total() - plan.bill.total();
    let by = degrees(event, kelvin);
    let mut lines = vec![if other.lasts() {
        format!(
            "To be safe if it is {by} hotter: a plan made for that day costs {} {}, and holds on the day you expect too.",
            money.show(more.abs()),
            if more < 0.0 { "less" } else { "more" }
        )
    } else {
        format!("If it is {by} hotter, no plan within your means holds everything.")
    }];
    for (a, b) in plan.pieces.iter().zip(&other.pieces) {
        for (f, g) in a.flowers.iter().zip(&b.flowers) {
            let (now, then) = (f.recommended(), g.recommended());
            if now.treatment != then.treatment || f.window.0 != g.window.0 || f.heads() != g.heads() {
                lines.push(format!(
                    "- {}, {}: {} {} not before {}, instead of {} {} not before {}{}",
                    a.piece.name,
                    short_name(f.order.flower.name()),
                    g.heads(),
                    treatment(then.treatment),
                    clock(event, g.window.0),
                    f.heads(),
                    treatment(now.treatment),
                    clock(event, f.window.0),
                    if g.lasts { "" } else { "; and still not enough" }
                ));
            }
        }
    }
    lines
}

/// The days as data.
pub fn rows(plan: &Plan, days: &[Day]) -> Vec<OutcomeReport> {
    let mut rows = Vec::new();
    for day in days {
        let flowers = plan.pieces.iter().flat_map(|p| p.flowers.iter().map(move |f| (p, f)));
        for ((piece, flower), outcome) in flowers.zip(&day.outcomes) {
            rows.push(OutcomeReport {
                piece: piece.piece.name.clone(),
                flower: flower.order.flower.name().to_string(),
                day: title(&plan.event, day.scenario),
                heads: flower.heads(),
                presentable: outcome.count,
                lasts: outcome.lasts,
            });
        }
    }
    rows
}

/// What matters for this event: how far each thing moves the number of heads still good.
pub fn picture(plan: &Plan, base: f64, sensitivities: &[Sensitivity]) -> Sketch {
    let placed: u32 = plan.flowers().map(|f| f.heads()).sum();
    let height = 150 + 44 * sensitivities.len() as u32;
    let strongest = sensitivities.first().map_or("nothing", |l| l.name.as_str());
    let alt = format!(
        "How far each of {} things moves the number of heads still good, about {base:.0} of {placed} as planned. The \
         strongest is {strongest}.",
        sensitivities.len()
    );
    let mut sheet = Sketch::new((960, height), alt);
    sheet.text(
        &format!("What matters most: {}", plan.event.name),
        (16.0, 14.0),
        21.0,
        INK,
        true,
        Anchor::TopLeft,
    );
    let under =
        format!("Heads still good at their piece's hour, of {placed} placed; about {base:.0} as planned");
    sheet.text(&under, (16.0, 42.0), 14.0, SOFT, false, Anchor::TopLeft);
    let low = sensitivities.iter().map(|l| l.low).fold(base, f64::min);
    let high = sensitivities.iter().map(|l| l.high).fold(base, f64::max);
    let room = (high - low).max(4.0);
    let x = |v: f64| 440.0 + 440.0 * (v - low) / room;
    let bottom = f64::from(height) - 44.0;
    sheet.line(&[(x(base), 80.0), (x(base), bottom)], INK, 1.6);
    for (i, sensitivity) in sensitivities.iter().enumerate() {
        let y = 104.0 + 44.0 * i as f64;
        sheet.line(&[(16.0, y + 22.0), (944.0, y + 22.0)], FAINT, 1.0);
        sheet.text(&sensitivity.name, (16.0, y), 14.0, INK, i == 0, Anchor::Left);
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

/// Days side by side: for every flower how many are still good on each.
pub fn side_by_side(plan: &Plan, days: &[Day]) -> Sketch {
    const LEFT: f64 = 316.0;
    const TOP: f64 = 116.0;
    const ROW: f64 = 40.0;
    let event = &plan.event;
    let rows: Vec<_> = plan.pieces.iter().flat_map(|p| p.flowers.iter().map(move |f| (p, f))).collect();
    let height = (TOP + ROW * rows.len() as f64 + 40.0) as u32;
    let alt = format!("The plan on other days. {}", failing(plan, days).join(" "));
    let mut sheet = Sketch::new((960, height), alt);
    let name = format!("The plan on other days: {}", event.name);
    sheet.text(&name, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under = "Heads still good at their piece's hour, of those placed. Orange and ! where too few last, or not surely enough";
    sheet.text(under, (16.0, 42.0), 14.5, SOFT, false, Anchor::TopLeft);
    let each = (944.0 - LEFT) / days.len().max(1) as f64;
    let wide = each - 14.0;
    for (d, day) in days.iter().enumerate() {
        let x = LEFT + each * d as f64;
        let title = title(event, day.scenario).replace(" pts", " points");
        // Two short lines rather than one that runs into the next.
        let cut = title.match_indices(' ').min_by_key(|(i, _)| i.abs_diff(title.len() / 2)).map(|(i, _)| i);
        let (upper, lower) = cut.map_or(("", title.as_str()), |i| (&title[..i], &title[i + 1..]));
        sheet.text(upper, (x, TOP - 42.0), 13.0, INK, false, Anchor::TopLeft);
        sheet.text(lower, (x, TOP - 27.0), 13.0, INK, false, Anchor::TopLeft);
    }
    for (i, (piece, flower)) in rows.iter().enumerate() {
        let y = TOP + ROW * i as f64 + 10.0;
        sheet.line(&[(16.0, y - 14.0), (944.0, y - 14.0)], FAINT, 1.0);
        let name = format!(
            "{}, {}",
            capital(&short_name(flower.order.flower.name())),
            treatment(flower.recommended().treatment)
        );
        sheet.text(&name, (16.0, y - 1.0), 13.5, INK, false, Anchor::Left);
        let where_to = format!("{}, {} placed", piece.piece.name, flower.heads());
        sheet.text(&where_to, (16.0, y + 14.0), 11.5, SOFT, false, Anchor::Left);
        for (d, day) in days.iter().enumerate() {
            let (x, outcome) = (LEFT + each * d as f64, &day.outcomes[i]);
            let share = (outcome.count.p50 / f64::from(flower.heads().max(1))).clamp(0.0, 1.0);
            let shade = colour(if outcome.lasts { Method::WaterTube } else { Method::Tucked });
            sheet.rectangle((x, y + 8.0), (x + wide, y + 18.0), FAINT, 1.0);
            sheet.rectangle((x, y + 8.0), (x + wide * share, y + 18.0), shade, 1.0);
            let mark = if outcome.lasts { "" } else { " !" };
            let words = format!("{:.0}{mark}", outcome.count.p50);
            sheet.text(&words, (x, y - 1.0), 13.5, INK, !outcome.lasts, Anchor::Left);
        }
    }
    sheet
}
