//! The plan as text for a terminal of a given width.

use super::words::{capital, clock, heads, path, short_name};
use super::{FlowerReport, Report};
use crate::decide::plan::{Choice, FlowerPlan, Grade, Plan};
use crate::event::{Criterion, Event};
use crate::flower::catalogue::Kind;

/// Most placing times shown of a flower.
const COLUMNS: usize = 5;

/// The whole plan.
pub fn plan(plan: &Plan, report: &Report, width: usize) -> String {
    let width = width.clamp(60, 110);
    let mut out = Text { width, text: String::new() };
    out.line(&plan.event.name.to_uppercase(), 0);
    for line in &report.heading {
        out.line(line, 0);
    }
    out.blank();
    summary(&mut out, plan);
    for (piece, told) in plan.pieces.iter().zip(&report.pieces) {
        out.blank();
        out.rule();
        out.line(
            &format!(
                "{} ({}), until {}",
                piece.piece.name.to_uppercase(),
                path(&plan.event, &piece.piece),
                clock(&plan.event, piece.piece.until)
            ),
            0,
        );
        for (flower, words) in piece.flowers.iter().zip(&told.flowers) {
            out.blank();
            out.line(
                &format!(
                    "{}: {}; {}",
                    capital(&words.flower),
                    amount(flower, words),
                    counts(flower.order.counts)
                ),
                0,
            );
            for line in &words.advice {
                out.line(line, 2);
            }
            table(&mut out, &plan.event, flower);
            out.line(&words.dry_hours, 2);
        }
    }
    let list = |out: &mut Text, title: &str, lines: &[String]| {
        if !lines.is_empty() {
            out.blank();
            out.rule();
            out.line(title, 0);
            for line in lines {
                out.line(&format!("- {line}"), 2);
            }
        }
    };
    list(&mut out, "THE AIR", &report.spaces);
    list(&mut out, "ASSUMED", &report.assumptions);
    list(&mut out, "TAKE CARE", &report.cautions);
    out.blank();
    out.line(
        &format!(
            "Simulated: {} deliveries of {} heads for every treatment and time, seed {}; the simulation's own error of an \
             expected share is about {:.1} heads in 100. Ranges hold nine times out of ten: they contain the luck of \
             the heads, of the delivery and of the weather, and what nobody has measured. Most flower numbers are trade \
             practice from memory; `headwater flowers NAME` shows where each comes from.",
            report.simulation.lots,
            report.simulation.heads_per_lot,
            report.simulation.seed,
            100.0 * report.simulation.error
        ),
        0,
    );
    out.text
}

/// Heads, and what to buy for them.
fn amount(flower: &FlowerPlan, words: &FlowerReport) -> String {
    let n = |n: u32, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let heads = match flower.order.flower.kind() {
        Kind::Foliage => n(words.heads, "sprig", "sprigs"),
        Kind::Flower => heads(words.heads),
    };
    let faces = flower.order.flower.faces_per_stem();
    let stems = if faces > 1 { format!(" ({faces} heads to a stem)") } else { String::new() };
    let (stem, bunch) = (n(words.stems, "stem", "stems"), n(words.bunches, "bunch", "bunches"));
    format!("{heads}, {stem}{stems}, {bunch} without spares")
}

/// What counts as still good.
fn counts(counts: Criterion) -> &'static str {
    match counts {
        Criterion::Flagging => "counts until its first softening",
        Criterion::Wilted => "counts until it is limp",
    }
}

/// One line a flower: what, how, when, and how many last.
fn summary(out: &mut Text, plan: &Plan) {
    let event = &plan.event;
    let mut rows = vec![
        ["piece", "heads", "", "what to do", "not before", "not after", "good at the end"]
            .map(String::from)
            .to_vec(),
    ];
    for piece in &plan.pieces {
        for flower in &piece.flowers {
            let count = flower.choice().count;
            rows.push(vec![
                if std::ptr::eq(&piece.flowers[0], flower) {
                    piece.piece.name.clone()
                } else {
                    String::new()
                },
                flower.order.heads.to_string(),
                short_name(flower.order.flower.name()),
                flower.choice().treatment.words().to_string(),
                head(event, flower.window.0).trim().to_string(),
                head(event, flower.window.1).trim().to_string(),
                format!(
                    "{} ({}-{}){}",
                    count.p50,
                    count.p05,
                    count.p95,
                    match flower.grade() {
                        Grade::Fine => "",
                        Grade::Borderline => "  borderline",
                        Grade::Short => "  FALLS SHORT",
                    }
                ),
            ]);
        }
    }
    columns(out, &rows, &[true, false, true, true, false, false, true], 0);
}

/// Rows in columns two blanks apart; `left` tells which columns start at the left.
fn columns(out: &mut Text, rows: &[Vec<String>], left: &[bool], indent: usize) {
    let widths: Vec<usize> =
        (0..rows[0].len()).map(|c| rows.iter().map(|r| r[c].chars().count()).max().unwrap_or(0)).collect();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .zip(left)
            .map(
                |((cell, &width), left)| {
                    if *left { format!("{cell:<width$}") } else { format!("{cell:>width$}") }
                },
            )
            .collect();
        out.text.push_str(&format!("{}{}\n", " ".repeat(indent), cells.join("  ").trim_end()));
    }
}

/// Heads still good by treatment and placing time.
fn table(out: &mut Text, event: &Event, flower: &FlowerPlan) {
    let times = times(flower);
    let first = format!(
        "{} of {} by placing time",
        if flower.order.counts == Criterion::Flagging { "fresh" } else { "upright" },
        flower.order.heads
    );
    let mut rows =
        vec![std::iter::once(first).chain(times.iter().map(|t| head(event, *t))).collect::<Vec<_>>()];
    for &treatment in &flower.order.treatments {
        let cells = times.iter().map(|t| {
            let choice: &Choice =
                flower.of(treatment).find(|c| c.place_at == *t).expect("every time is tried");
            let chosen = std::ptr::eq(choice, flower.choice());
            format!(
                "{} ({}-{}){}",
                choice.count.p50,
                choice.count.p05,
                choice.count.p95,
                if chosen { "*" } else { " " }
            )
        });
        rows.push(std::iter::once(treatment.words().to_string()).chain(cells).collect());
    }
    let left: Vec<bool> = (0..rows[0].len()).map(|c| c == 0).collect();
    out.blank();
    columns(out, &rows, &left, 4);
    out.blank();
}

/// A column's head: the day too, where setting up begins on another than the event's own.
fn head(event: &Event, hours: f64) -> String {
    let moment = event.moment(hours);
    let (day, _) = moment.day_and_minute();
    let date = event.date.saturating_add(jiff::Span::new().days(day));
    let several = event.access.iter().any(|w| w.0 < 0.0);
    let weekday = if several || day != 0 { format!("{} ", date.strftime("%a")) } else { String::new() };
    format!("{weekday}{} ", moment.clock())
}

/// The telling placing times: the ends of every access, the choice, and what lies between.
fn times(flower: &FlowerPlan) -> Vec<f64> {
    let all: Vec<f64> = flower.of(flower.choice().treatment).map(|c| c.place_at).collect();
    let mut chosen: Vec<f64> = vec![flower.choice().place_at, all[0], all[all.len() - 1]];
    // The ends of access windows are where more than the usual half hour lies between two times.
    for pair in all.windows(2) {
        if pair[1] - pair[0] > 0.75 {
            chosen.extend([pair[1], pair[0]]);
        }
    }
    // Room left over goes to the widest gaps.
    loop {
        chosen.sort_unstable_by(f64::total_cmp);
        chosen.dedup();
        if chosen.len() >= COLUMNS {
            return chosen;
        }
        let between = chosen
            .windows(2)
            .filter_map(|w| {
                let inside: Vec<f64> = all.iter().copied().filter(|t| *t > w[0] && *t < w[1]).collect();
                (!inside.is_empty()).then(|| (inside.len(), inside[inside.len() / 2]))
            })
            .max_by_key(|(n, _)| *n);
        match between {
            Some((_, t)) => chosen.push(t),
            None => return chosen,
        }
    }
}

/// Text wrapped at a width.
pub struct Text {
    /// The width.
    pub width: usize,
    /// What is written so far.
    pub text: String,
}

impl Text {
    /// A line, wrapped at blanks, `indent` columns in; later lines of a list item hang under its text.
    pub fn line(&mut self, line: &str, indent: usize) {
        let hang = indent
            + if line.starts_with("- ") || line.starts_with("! ") || line.starts_with("  ") { 2 } else { 0 };
        let mut column = indent;
        self.text.push_str(&" ".repeat(indent));
        if let Some(rest) = line.strip_prefix("  ") {
            self.text.push_str("  ");
            column += 2;
            self.words(rest, column, hang);
        } else {
            self.words(line, column, hang);
        }
        self.text.push('\n');
    }

    fn words(&mut self, line: &str, mut column: usize, hang: usize) {
        let mut first = true;
        for word in line.split(' ') {
            let length = word.chars().count();
            if !first && column + 1 + length > self.width {
                self.text.push('\n');
                self.text.push_str(&" ".repeat(hang));
                column = hang;
                first = true;
            }
            if !first {
                self.text.push(' ');
                column += 1;
            }
            self.text.push_str(word);
            column += length;
            first = false;
        }
    }

    /// An empty line.
    pub fn blank(&mut self) {
        self.text.push('\n');
    }

    /// A line across.
    pub fn rule(&mut self) {
        self.text.push_str(&"-".repeat(self.width));
        self.text.push('\n');
    }
}
