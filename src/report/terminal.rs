//! The plan as text for a terminal of a given width.

use super::document::Table;
use super::words::{capital, clock, heads, path, range, short_name, treatment};
use super::work::day_and_clock;
use super::{FlowerReport, Report, work};
use crate::decide::plan::{FlowerPlan, Grade, PlacingOption, Plan};
use crate::event::{Criterion, Event};
use crate::flower::catalogue::Kind;
use crate::flower::treatment::Treatment;
use crate::units::Span;

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
    remedies(&mut out, report);
    hands(&mut out, plan, report);
    buying(&mut out, plan, report);
    others(&mut out, plan, report);
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
             practice from memory; `headwater flowers NAME` shows where each comes from, and \
             reference-data/README.md where all other numbers do.",
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
        ["piece", "heads", "", "what to do", "not before", "planned", "good at the end"]
            .map(String::from)
            .to_vec(),
    ];
    for (p, piece) in plan.pieces.iter().enumerate() {
        for (o, flower) in piece.flowers.iter().enumerate() {
            let count = flower.count;
            rows.push(vec![
                if std::ptr::eq(&piece.flowers[0], flower) {
                    piece.piece.name.clone()
                } else {
                    String::new()
                },
                flower.heads().to_string(),
                short_name(flower.order.flower.name()),
                treatment(flower.recommended().treatment),
                day_and_clock(event, flower.window.0),
                work::planned(plan, p, o).map_or("no time".to_string(), |(from, to)| format!("{from}-{to}")),
                format!(
                    "{}{}{}",
                    count.p50,
                    range(&count, "-"),
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

/// Who comes when, and what each does.
fn hands(out: &mut Text, plan: &Plan, report: &Report) {
    out.blank();
    out.rule();
    out.line("WHO AND WHEN", 0);
    for line in work::calls(plan) {
        out.line(&format!("- {line}"), 2);
    }
    if plan.rota.left > 0.2 {
        let left = Span { hours: plan.rota.left };
        out.line(&format!("! The hours are tight: about {left} of work found no time of its own."), 2);
    }
    for person in &report.crew {
        out.blank();
        out.line(&format!("{}, {} to {}", person.name, person.from, person.to), 2);
        for assignment in &person.assignments {
            out.line(&format!("- {} to {}: {}", assignment.from, assignment.to, assignment.what), 4);
        }
    }
}

/// What to buy, and what it all costs.
fn buying(out: &mut Text, plan: &Plan, report: &Report) {
    out.blank();
    out.rule();
    out.line("TO BUY", 0);
    out.blank();
    let money = &plan.event.means.currency;
    side_by_side(out, work::buying(plan, report), 2);
    out.blank();
    for (thing, cost) in work::things(plan) {
        out.line(&format!("- {thing}: {}", money.show(cost)), 2);
    }
    out.line(&work::costs(plan), 2);
}

/// What stands in the way, and what would help.
fn remedies(out: &mut Text, report: &Report) {
    if report.lasts {
        return;
    }
    out.blank();
    for line in &report.lacking {
        out.line(&format!("! The plan takes {line}."), 0);
    }
    for (i, line) in report.remedies.iter().enumerate() {
        out.line(&format!("- {} {line}.", if i == 0 { "What would help:" } else { "Or" }), 0);
    }
    if report.remedies.is_empty() {
        out.line("- Nothing that was tried makes it all last: more people, more access, cooler rooms.", 0);
    }
}

/// Other ways to do the whole event: a late crew against tubes against vases.
fn others(out: &mut Text, plan: &Plan, report: &Report) {
    out.blank();
    out.rule();
    out.line("OTHER WAYS TO DO IT: hands, tubes, vases and spare stems together", 0);
    out.blank();
    let mut table = work::others_side_by_side(plan, report);
    *table.head.last_mut().expect("it has columns") = String::new();
    side_by_side(out, table, 2);
    for other in report.others.iter().filter(|o| !o.works) {
        out.line(&format!("- {}: {}.", capital(&other.name), other.but), 2);
    }
}

/// A table under its heads; what its first column holds shows by itself.
fn side_by_side(out: &mut Text, mut table: Table, indent: usize) {
    table.head[0].clear();
    let (left, head): (Vec<bool>, Vec<String>) = (0..table.head.len())
        .map(|c| table.column(c))
        .map(|(number, head)| (!number, head.to_string()))
        .unzip();
    table.rows.insert(0, head);
    columns(out, &table.rows, &left, indent);
}

/// Rows in columns two blanks apart; `left` tells which columns start at the left.
pub fn columns(out: &mut Text, rows: &[Vec<String>], left: &[bool], indent: usize) {
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
    let mut rows = vec![
        std::iter::once(first)
            .chain(times.iter().map(|t| day_and_clock(event, *t) + " "))
            .collect::<Vec<_>>(),
    ];
    for tried in shown_ways(flower) {
        let cells = times.iter().map(|t| {
            let option: &PlacingOption = flower
                .options
                .iter()
                .filter(|c| {
                    (c.treatment, c.top_up) == tried || (c.treatment == tried.0 && c.top_up.is_none())
                })
                .filter(|c| c.place_at == *t)
                .max_by_key(|c| c.top_up == tried.1)
                .expect("every time is tried");
            let chosen = std::ptr::eq(option, flower.recommended());
            format!("{}{}{}", option.count.p50, range(&option.count, "-"), if chosen { "*" } else { " " })
        });
        let name =
            if tried.1.is_some() { format!("{} refilled", treatment(tried.0)) } else { treatment(tried.0) };
        rows.push(std::iter::once(name).chain(cells).collect());
    }
    let left: Vec<bool> = (0..rows[0].len()).map(|c| c == 0).collect();
    out.blank();
    columns(out, &rows, &left, 4);
    out.blank();
}

/// The ways worth a row: every treatment once, tubes in the chosen size or else the smallest, filled up if that is the
/// choice.
fn shown_ways(flower: &FlowerPlan) -> Vec<(Treatment, Option<f64>)> {
    let option = flower.recommended();
    let mut treatments: Vec<(Treatment, Option<f64>)> = Vec::new();
    for c in &flower.options {
        if !treatments.iter().any(|(w, _)| w.method == c.treatment.method) {
            let chosen = c.treatment.method == option.treatment.method;
            treatments.push(if chosen { (option.treatment, option.top_up) } else { (c.treatment, None) });
        }
    }
    treatments
}

/// The telling placing times: the ends of every access, the choice, and what lies between.
fn times(flower: &FlowerPlan) -> Vec<f64> {
    let all: Vec<f64> = flower.of(flower.recommended().treatment).map(|c| c.place_at).collect();
    let mut chosen: Vec<f64> = vec![flower.recommended().place_at, all[0], all[all.len() - 1]];
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
