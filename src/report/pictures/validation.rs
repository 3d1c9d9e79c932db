//! The picture of predicted against observed outcomes of published experiments.

use super::sketch::{Anchor, Sketch};
use super::style::{INK, SOFT, colour};
use crate::flower::treatment::Method;
use crate::report::validation::{observed, unit};
use crate::stats::Band;
use crate::validate::{Comparison, Use, Verdict, score};

/// The picture of the outcomes that judge the program, each on its own scale.
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
        // A bar with no end is drawn to four times its median.
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
