//! The comparison with published experiments, as text and as a picture.

use super::sketch::{Anchor, Sketch};
use super::style::{INK, SOFT, colour};
use super::terminal::Text;
use super::validation_words::basis;
use crate::flower::catalogue::source;
use crate::flower::treatment::Method;
use crate::stats::Band;
use crate::units::short;
use crate::validate::{Comparison, Reads, Sharpness, Use, Verdict, score, sharpness};

/// Numbers with the digits that they deserve.
fn number(x: f64) -> String {
    if x.is_infinite() {
        return "beyond 90 days".to_string();
    }
    if x.abs() < 10.0 {
        format!("{x:.2}").trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        short(x)
    }
}

fn observed(c: &Comparison) -> String {
    let e = &c.experiment;
    if e.reads == Reads::Bound && e.low == 0.0 {
        format!("at most {}", number(e.high))
    } else if e.low == e.high {
        number(e.low)
    } else {
        format!("{} to {}", number(e.low), number(e.high))
    }
}

/// The unit with a blank before it, where there is one.
fn unit(c: &Comparison) -> String {
    match c.experiment.unit.as_str() {
        "ratio" | "share" => String::new(),
        unit => format!(" {unit}"),
    }
}

/// How wide the intervals are, and whether they are worth having.
fn sharp(sharpness: &Sharpness) -> String {
    let Sharpness { factor, against_naive } = sharpness;
    let groups = against_naive.iter().map(|(unit, n, ratio)| {
        let what = match *unit {
            "d" => "lives in water",
            "h" => "life out of it in hours",
            _ => "losses of mass",
        };
        format!("{ratio:.2} over {n} {what}")
    });
    format!(
        "How wide the intervals are: the upper end is {:.1} times the lower in the middle outcome ({:.1} to {:.1}). Their \
         interval score (Gneiting & Raftery 2007: width, and twenty times what is missed) against that of a forecast \
         which knows neither flower nor air, below 1 if the program is worth asking: {}.",
        factor.p50,
        factor.p05,
        factor.p95,
        groups.collect::<Vec<_>>().join(", ")
    )
}

/// The comparison as text.
pub fn text(comparisons: &[Comparison], width: usize) -> String {
    let mut out = Text { width: width.clamp(60, 110), text: String::new() };
    let (inside, overlaps, all) = score(comparisons);
    out.line("THE MODEL AGAINST PUBLISHED EXPERIMENTS", 0);
    out.line(
        &format!(
            "Of {all} outcomes that can judge it, the 90 % interval holds {inside} (one true to its name would hold about \
             {:.0}); {overlaps} more it meets at the edge. Outcomes from which a parameter was set, or that turn on what \
             the program is not told, are shown, and do not count. Vase lives make up most of the list: of heads held \
             dry little is published, and nearly all of it on roses.",
            0.9 * all as f64
        ),
        0,
    );
    out.line(&sharp(&sharpness(comparisons)), 0);
    for (role, title) in [
        (Use::Check, "OUTCOMES THAT JUDGE THE PROGRAM"),
        (Use::Fitted, "OUTCOMES THAT PARAMETERS WERE SET FROM"),
        (Use::NotModelled, "OUTCOMES THAT THE PROGRAM DOES NOT MODEL"),
    ] {
        out.blank();
        out.rule();
        out.line(title, 0);
        for c in comparisons.iter().filter(|c| c.experiment.role == role) {
            let e = &c.experiment;
            out.blank();
            out.line(&format!("{}: {}", e.id, e.what), 0);
            let unit = unit(c);
            let predicted = c.predicted.map_or(String::new(), |p| {
                let verdict = match c.verdict {
                    Some(Verdict::Inside) => ": INSIDE",
                    Some(Verdict::Overlaps) => ": OVERLAPS",
                    Some(Verdict::Outside) => ": OUTSIDE",
                    None => "",
                };
                let range = match p.p05 == p.p95 {
                    true => " (one number, no verdict)".to_string(),
                    false => format!(" ({} to {})", number(p.p05), number(p.p95)),
                };
                format!("; predicted {}{unit}{range}{verdict}", number(p.p50))
            });
            out.line(&format!("observed {}{unit}{predicted}", observed(c)), 4);
            out.line(&format!("{}.", e.conditions), 4);
            if let Some(from) = basis(c) {
                out.line(&format!("Predicted from {from}."), 4);
            }
            if !e.note.is_empty() {
                out.line(&format!("Note: {}.", e.note), 4);
            }
            if role == Use::Check && c.verdict != Some(Verdict::Inside) {
                out.line(&format!("What the miss means: {}", e.miss), 4);
            }
            out.line(&format!("Source: {}", source(&e.source)), 4);
        }
    }
    out.text
}

/// Predicted against observed for the outcomes that judge the program, each on its own scale.
pub fn picture(comparisons: &[Comparison]) -> Sketch {
    let judged: Vec<(&Comparison, Band)> = comparisons
        .iter()
        .filter(|c| c.experiment.role == Use::Check)
        .filter_map(|c| c.predicted.map(|p| (c, p)))
        .collect();
    let (inside, overlaps, all) = score(comparisons);
    let height = 96 + 28 * judged.len() as u32;
    let alt = format!(
        "Predicted intervals and observed values of {all} published outcomes: {inside} lie inside, {overlaps} overlap."
    );
    let mut sheet = Sketch::new((960, height), alt);
    let title =
        format!("The model against published experiments: {inside} of {all} inside, {overlaps} at the edge");
    sheet.text(&title, (16.0, 14.0), 21.0, INK, true, Anchor::TopLeft);
    let under =
        "Bars: where nine of ten are predicted to lie. Black: what was observed. Each row on its own scale.";
    sheet.text(under, (16.0, 40.0), 14.0, SOFT, false, Anchor::TopLeft);
    for (i, (c, p)) in judged.into_iter().enumerate() {
        let y = 88.0 + 28.0 * i as f64;
        let (low, high) = (c.experiment.low, c.experiment.high);
        // A bar that has no end is drawn to four times its middle.
        let last = if p.p95.is_finite() { p.p95 } else { 4.0 * p.p50 };
        let (from, to) = (p.p05.min(low).min(0.0), last.max(high));
        let x = |v: f64| 560.0 + 240.0 * (v - from) / (to - from);
        let hit = c.verdict == Some(Verdict::Inside);
        let shade = colour(if hit { Method::WaterTube } else { Method::Tucked });
        let name = format!("{}: {}", c.experiment.id, c.experiment.what);
        sheet.text(&name, (16.0, y), 12.5, INK, false, Anchor::Left);
        sheet.rectangle((x(p.p05), y - 7.0), (x(last), y + 7.0), shade, 0.45);
        sheet.line(&[(x(p.p50), y - 7.0), (x(p.p50), y + 7.0)], shade, 2.4);
        sheet.line(&[(x(low), y), (x(high), y)], INK, 2.4);
        sheet.dot((x(low), y), 3.6, INK);
        sheet.dot((x(high), y), 3.6, INK);
        let verdict = match c.verdict {
            Some(Verdict::Overlaps) => ", at the edge",
            Some(Verdict::Outside) => ", outside",
            _ => "",
        };
        let words = format!("{}{}{verdict}", observed(c), unit(c));
        sheet.text(&words, (820.0, y), 12.5, INK, !hit, Anchor::Left);
    }
    sheet
}
