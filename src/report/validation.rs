//! The comparison with published experiments as a document.

use super::document::{Block, Document};
use super::validation_words::basis;
use crate::flower::catalogue::source;
use crate::units::short;
use crate::validate::{
    Comparison, Covered, LeftOut, Reads, Sharpness, Use, Verdict, by_class, score, sharpness,
};

/// A number: with two decimals at most below 10, else with few digits.
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

/// The observed value or range, without its unit.
pub fn observed(c: &Comparison) -> String {
    let e = &c.experiment;
    if e.reads == Reads::Bound && e.low == 0.0 {
        format!("at most {}", number(e.high))
    } else if e.low == e.high {
        number(e.low)
    } else {
        format!("{} to {}", number(e.low), number(e.high))
    }
}

/// The unit after a blank; empty for ratios and shares.
pub fn unit(c: &Comparison) -> String {
    match c.experiment.unit.as_str() {
        "ratio" | "share" => String::new(),
        unit => format!(" {unit}"),
    }
}

/// How wide the intervals are, and how they score against a naive forecast.
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
         which knows neither flower nor air, and for a life the other lives in the list, below 1 if the program is worth asking: {}.",
        factor.p50,
        factor.p05,
        factor.p95,
        groups.collect::<Vec<_>>().join(", ")
    )
}

/// How a class of outcomes fared.
fn covered(c: &Covered) -> String {
    let Covered { class, inside, all, share: [low, high] } = c;
    format!(
        "{}: {inside} of {all} inside, which leaves {:.0} to {:.0} % for the share that would be",
        class.words(),
        100.0 * low,
        100.0 * high
    )
}

/// What pooled statements add to the trade's memory, and what has not been shown of them.
fn pooled(left_out: &LeftOut) -> Vec<String> {
    let LeftOut { groups, statements, pooled, trade, unknown_flower, printed } = left_out;
    vec![
        format!(
            "{groups} independent groups make {statements} statements. Each group was left out in turn, and what it says \
             foretold: logarithmic score {:.1} by the other groups and the trade's memory, {:.1} by the trade's memory alone, \
             {:.1} by somebody who knows no flower. More is better.",
            pooled.log_score, trade.log_score, unknown_flower.log_score
        ),
        format!(
            "Of {} statements that name hours between two limits, ranges meant to hold eight in ten held {} by pooling, and \
             {} by the trade's 10 and 90 % points as they are printed.",
            pooled.closed, pooled.held, printed.held
        ),
        "So pooling beats knowing no flower. That it beats the trade's own order has not been shown: statements give support \
         and honest widths, not better hours. They rarely say when a flower counts as gone, so that they cannot tell the \
         level that all share; it stays the trade's, with an allowance."
            .to_string(),
    ]
}

/// The document of the comparison, outcome by outcome.
pub fn document(comparisons: &[Comparison], left_out: &LeftOut) -> Document {
    let (inside, overlaps, all) = score(comparisons);
    let title = "The model against published experiments".to_string();
    let mut blocks = vec![
        Block::Title(title.clone()),
        Block::Text(format!(
            "Of {all} outcomes that can judge it, the 90 % interval holds {inside} (one true to its name would hold about \
             {:.0}); {overlaps} more it meets at the edge. Outcomes from which a parameter was set, or that turn on what \
             the program is not told, are shown, and do not count. Vase lives make up most of the list: of heads held \
             dry little is published, and nearly all of it on roses.",
            0.9 * all as f64
        )),
        Block::Points(by_class(comparisons).iter().map(covered).collect()),
        Block::Text(sharp(&sharpness(comparisons))),
        Block::Heading("What is said in public of dry hours".to_string()),
        Block::Points(pooled(left_out)),
    ];
    for (role, title) in [
        (Use::Check, "Outcomes that judge the program"),
        (Use::Member, "Members of a set, which count as one"),
        (Use::Fitted, "Outcomes that parameters were set from"),
        (Use::NotModelled, "Outcomes that the program does not model"),
    ] {
        blocks.push(Block::Heading(title.to_string()));
        for c in comparisons.iter().filter(|c| c.experiment.role == role) {
            blocks.push(Block::Subheading(format!("{}: {}", c.experiment.id, c.experiment.what)));
            blocks.push(Block::Points(outcome(c)));
        }
    }
    Document { title, blocks }
}

/// One outcome: observed and predicted values, conditions and source.
fn outcome(c: &Comparison) -> Vec<String> {
    let (e, unit) = (&c.experiment, unit(c));
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
    let mut lines = vec![format!("observed {}{unit}{predicted}", observed(c)), format!("{}.", e.conditions)];
    lines.extend(basis(c).map(|basis| format!("Predicted from {basis}.")));
    if !e.note.is_empty() {
        lines.push(format!("Note: {}.", e.note));
    }
    if e.role == Use::Check && c.verdict != Some(Verdict::Inside) {
        lines.push(format!("What the miss means: {}", e.miss));
    }
    lines.push(format!("Source: {}", source(&e.source)));
    lines
}
