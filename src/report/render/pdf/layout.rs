//! Lays a document out page by page, and builds the tree of elements that are read out.

use super::face::Face;
use super::page::{Element, Item, Page};
use crate::report::document::{Block, Document, Table};
use crate::report::pictures::sketch::{Anchor, Shape, Sketch};
use crate::report::pictures::style::{Colour, FAINT, INK, SOFT};
use pdf_writer::types::StructRole;

/// The margins of a page, points.
const MARGIN: f32 = 42.0;
/// The line spacing as a multiple of the font size.
const LEADING: f32 = 1.38;

/// A document laid out on pages.
#[derive(Debug, Clone)]
pub struct Layout {
    /// The pages, in order.
    pub pages: Vec<Page>,
    /// The elements that are read out, parents before their parts.
    pub elements: Vec<Element>,
    /// Width and height of a page, points.
    paper: (f32, f32),
    /// How far down the current page is full, points.
    y: f32,
    /// The usual font size, points.
    size: f32,
    /// The share of its width that a picture is given.
    pictures: f32,
}

/// The size of a title, as a multiple of the usual: as large as it fits on one line, within limits.
const TITLES: (f32, f32) = (1.5, 1.9);

impl Layout {
    /// Lays a document out on a paper size, in points, at a scale of the usual font size, with pictures at a share of their
    /// width.
    pub fn of(document: &Document, paper: (f32, f32), scale: f32, pictures: f32) -> Layout {
        let mut layout = Layout {
            pages: vec![Page::default()],
            elements: Vec::new(),
            paper,
            y: MARGIN,
            size: 10.0 * scale,
            pictures,
        };
        for block in &document.blocks {
            layout.block(block);
        }
        layout
    }

    fn width(&self) -> f32 {
        self.paper.0 - 2.0 * MARGIN
    }

    fn page(&mut self) -> &mut Page {
        self.pages.last_mut().expect("there is a page from the beginning")
    }

    /// Goes on to the next page unless `height` points still fit.
    fn room(&mut self, height: f32) {
        if self.y + height > self.paper.1 - MARGIN && self.y > MARGIN {
            self.pages.push(Page::default());
            self.y = MARGIN;
        }
    }

    fn element(&mut self, role: StructRole, parent: Option<usize>) -> usize {
        self.elements.push(Element { role, parent, figure: None, pieces: Vec::new() });
        self.elements.len() - 1
    }

    fn begin(&mut self, element: usize) {
        let page = self.pages.len() - 1;
        let number = self.page().owners.len() as i32;
        let role = self.elements[element].role;
        self.page().owners.push(element);
        self.page().items.push(Item::Begin(role, number));
        self.elements[element].pieces.push((page, number));
    }

    fn end(&mut self) {
        self.page().items.push(Item::End);
    }

    fn ornament(&mut self, item: Item) {
        self.page().items.extend([Item::Ornament, item, Item::End]);
    }

    fn words(&mut self, text: &str, at: (f32, f32), size: f32, bold: bool, colour: Colour) {
        self.page().items.push(Item::Words { text: text.to_string(), at, size, bold, colour });
    }

    fn block(&mut self, block: &Block) {
        let size = self.size;
        match block {
            Block::Title(text) => {
                let one_line = self.width() / Face::of(true).width(text, size);
                let large = if one_line < TITLES.0 { TITLES.1 } else { one_line.min(TITLES.1) };
                self.paragraph(StructRole::H1, None, text, (MARGIN, self.width()), large * size, true, INK);
                self.y += 0.2 * size;
            }
            Block::Heading(text) => {
                self.y += 0.75 * size;
                self.room(4.0 * size);
                self.paragraph(StructRole::H2, None, text, (MARGIN, self.width()), 1.15 * size, true, INK);
                self.y += 0.1 * size;
            }
            Block::Subheading(text) => {
                self.y += 0.4 * size;
                self.room(3.0 * size);
                self.paragraph(StructRole::H3, None, text, (MARGIN, self.width()), size, true, INK);
            }
            Block::Rule => {
                self.room(size);
                let edges = vec![(MARGIN, self.y), (MARGIN + self.width(), self.y)];
                self.ornament(Item::Line(edges, SOFT, 0.6));
                self.y += 0.4 * size;
            }
            Block::Text(text) => {
                self.paragraph(StructRole::P, None, text, (MARGIN, self.width()), size, false, INK);
                self.y += 0.3 * size;
            }
            Block::Small(text) => {
                self.paragraph(StructRole::P, None, text, (MARGIN, self.width()), 0.85 * size, false, SOFT);
                self.y += 0.3 * size;
            }
            Block::Points(points) => self.points(points, false),
            Block::Ticks(points) => self.points(points, true),
            Block::Table(table) => self.table(table),
            Block::Picture(sketch, _) => self.picture(sketch),
            Block::Form(head, rows) => self.form(head, *rows),
            Block::NewSheet => {
                self.pages.push(Page::default());
                self.y = MARGIN;
            }
            Block::Sign(lines) => self.sign(lines),
        }
    }

    /// Lays out a paragraph, wrapped at blanks within a width from the left edge, points.
    #[allow(clippy::too_many_arguments, reason = "a paragraph is all of these")]
    fn paragraph(
        &mut self,
        role: StructRole,
        parent: Option<usize>,
        text: &str,
        (left, width): (f32, f32),
        size: f32,
        bold: bool,
        colour: Colour,
    ) {
        let element = self.element(role, parent);
        for line in wrapped(text, width, size, bold) {
            self.room(LEADING * size);
            self.begin(element);
            let at = (left, self.y + size);
            self.words(&line, at, size, bold, colour);
            self.end();
            self.y += LEADING * size;
        }
    }

    fn points(&mut self, points: &[String], tick: bool) {
        let size = self.size;
        let list = self.element(StructRole::L, None);
        for point in points {
            self.room(LEADING * size);
            let (x, y) = (MARGIN + 0.3 * size, self.y + 0.66 * size);
            let half = if tick { 0.34 * size } else { 0.13 * size };
            let corners =
                [(x, y - half), (x + 2.0 * half, y - half), (x + 2.0 * half, y + half), (x, y + half)];
            self.ornament(if tick {
                Item::Line(corners.iter().copied().chain([corners[0]]).collect(), INK, 0.7)
            } else {
                Item::Area(corners.to_vec(), INK, 1.0)
            });
            let item = self.element(StructRole::LI, Some(list));
            let edges = (MARGIN + 1.5 * size, self.width() - 1.5 * size);
            self.paragraph(StructRole::LBody, Some(item), point, edges, size, false, INK);
            self.y += 0.12 * size;
        }
        self.y += 0.2 * size;
    }

    fn table(&mut self, table: &Table) {
        let size = 0.92 * self.size;
        let gap = 0.9 * size;
        let widths = columns(table, size, self.width() - gap * (table.head.len() as f32 - 1.0));
        let whole = self.element(StructRole::Table, None);
        self.y += 0.2 * size;
        let heads: Vec<String> = (0..table.head.len()).map(|c| table.column(c).1.to_string()).collect();
        let titled = heads.iter().any(|h| !h.is_empty());
        for (r, row) in titled.then_some(&heads).into_iter().chain(&table.rows).enumerate() {
            let head = titled && r == 0;
            let cells: Vec<Vec<String>> =
                row.iter().zip(&widths).map(|(cell, width)| wrapped(cell, *width, size, head)).collect();
            let lines = cells.iter().map(Vec::len).max().unwrap_or(1).max(1) as f32;
            let height = lines * 1.28 * size + 0.35 * size;
            self.room(height);
            let of_row = self.element(StructRole::TR, Some(whole));
            let mut x = MARGIN;
            for (c, (cell, width)) in cells.iter().zip(&widths).enumerate() {
                let role = if head { StructRole::TH } else { StructRole::TD };
                let element = self.element(role, Some(of_row));
                let colour = if head { SOFT } else { INK };
                for (l, line) in cell.iter().enumerate() {
                    self.begin(element);
                    let left = match table.column(c).0 {
                        true => x + width - Face::of(head).width(line, size),
                        false => x,
                    };
                    let y = self.y + (l as f32 * 1.28 + 0.95) * size;
                    self.words(line, (left, y), size, head, colour);
                    self.end();
                }
                x += width + gap;
            }
            self.y += height;
            let (left, right) = (MARGIN, MARGIN + self.width());
            self.ornament(Item::Line(vec![(left, self.y), (right, self.y)], FAINT, 0.6));
            self.y += 0.12 * size;
        }
        self.y += 0.4 * size;
    }

    /// Lays out a form: heads, and empty rows to write in.
    fn form(&mut self, head: &[String], rows: usize) {
        let size = 0.85 * self.size;
        let each = self.width() / head.len().max(1) as f32;
        let (left, right) = (MARGIN, MARGIN + self.width());
        let lines: Vec<Vec<String>> = head.iter().map(|h| wrapped(h, each - size, size, true)).collect();
        let deepest = lines.iter().map(Vec::len).max().unwrap_or(1) as f32;
        self.room((deepest * 1.28 + 0.8) * size + rows as f32 * 2.6 * size);
        let top = self.y;
        let whole = self.element(StructRole::Table, None);
        let row = self.element(StructRole::TR, Some(whole));
        for (c, words) in lines.iter().enumerate() {
            let element = self.element(StructRole::TH, Some(row));
            for (l, line) in words.iter().enumerate() {
                self.begin(element);
                let at = (left + c as f32 * each + 0.4 * size, self.y + (l as f32 * 1.28 + 1.1) * size);
                self.words(line, at, size, true, SOFT);
                self.end();
            }
        }
        self.y += (deepest * 1.28 + 0.6) * size;
        let ruled = (0..=rows).map(|r| self.y + r as f32 * 2.6 * size).chain([top]);
        let bottom = self.y + rows as f32 * 2.6 * size;
        for y in ruled.collect::<Vec<_>>() {
            self.ornament(Item::Line(vec![(left, y), (right, y)], SOFT, 0.4));
        }
        for c in 0..=head.len() {
            let x = left + c as f32 * each;
            self.ornament(Item::Line(vec![(x, top), (x, bottom)], SOFT, 0.4));
        }
        self.y = bottom + 0.6 * size;
    }

    fn picture(&mut self, sketch: &Sketch) {
        let share = (self.pictures * self.size / 10.0).min(1.0);
        let scale = share * self.width() / sketch.size().0 as f32;
        let (width, height) = (sketch.size().0 as f32 * scale, sketch.size().1 as f32 * scale);
        self.room(height);
        let figure = self.element(StructRole::Figure, None);
        let corner = (MARGIN + (self.width() - width) / 2.0, self.y);
        let edges = [corner.0, corner.1, corner.0 + width, corner.1 + height];
        self.elements[figure].figure = Some((sketch.description().to_string(), edges));
        self.begin(figure);
        let at = |p: &(f64, f64)| (corner.0 + p.0 as f32 * scale, corner.1 + p.1 as f32 * scale);
        for shape in sketch.shapes() {
            let item = match shape {
                Shape::Text { words, at: point, size, colour, bold, anchor } => {
                    // A text size in a picture is the height of its line.
                    let size = *size as f32 * scale / 1.24;
                    let wide = Face::of(*bold).width(words, size);
                    let (x, y) = at(point);
                    let x = match anchor {
                        Anchor::TopLeft | Anchor::Left => x,
                        Anchor::Right => x - wide,
                        Anchor::Top | Anchor::Bottom => x - wide / 2.0,
                    };
                    let y = match anchor {
                        Anchor::TopLeft | Anchor::Top => y + size,
                        Anchor::Left | Anchor::Right => y + 0.36 * size,
                        Anchor::Bottom => y - 0.24 * size,
                    };
                    Item::Words { text: words.clone(), at: (x, y), size, bold: *bold, colour: *colour }
                }
                Shape::Line { points, colour, thick } => {
                    Item::Line(points.iter().map(at).collect(), *colour, *thick as f32 * scale)
                }
                Shape::Area { points, colour, opacity } => {
                    Item::Area(points.iter().map(at).collect(), *colour, *opacity)
                }
                Shape::Dot { at: point, radius, colour } => {
                    let (x, y) = at(point);
                    let r = *radius as f32 * scale;
                    let turn = |i: u8| f32::from(i) * std::f32::consts::TAU / 16.0;
                    let round = (0..16).map(|i| (x + r * turn(i).cos(), y + r * turn(i).sin()));
                    Item::Area(round.collect(), *colour, 1.0)
                }
            };
            self.page().items.push(item);
        }
        self.end();
        self.y += height + 0.4 * self.size;
    }

    fn sign(&mut self, lines: &[String]) {
        let size = 0.85 * self.size;
        self.room(4.2 * size);
        self.y += 2.6 * size;
        let gap = 24.0;
        let each = (self.width() - gap * (lines.len() as f32 - 1.0)) / lines.len().max(1) as f32;
        for (i, line) in lines.iter().enumerate() {
            let x = MARGIN + i as f32 * (each + gap);
            let y = self.y;
            self.ornament(Item::Line(vec![(x, y), (x + each, y)], INK, 0.7));
            let element = self.element(StructRole::P, None);
            self.begin(element);
            self.words(line, (x, y + 1.2 * size), size, false, SOFT);
            self.end();
        }
        self.y += 1.6 * size;
    }
}

/// Text broken into lines at blanks; a word wider than the line has a line to itself.
fn wrapped(text: &str, width: f32, size: f32, bold: bool) -> Vec<String> {
    let face = Face::of(bold);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ') {
        let longer = if line.is_empty() { word.to_string() } else { format!("{line} {word}") };
        if !line.is_empty() && face.width(&longer, size) > width {
            lines.push(std::mem::replace(&mut line, word.to_string()));
        } else {
            line = longer;
        }
    }
    lines.push(line);
    lines
}

/// The widths of a table's columns, points: as wide as they need, then the widest narrowed until all fit into `room`.
fn columns(table: &Table, size: f32, room: f32) -> Vec<f32> {
    let need = |c: usize| {
        let cells = table.rows.iter().map(|r| Face::of(false).width(&r[c], size));
        cells.fold(Face::of(true).width(table.column(c).1, size), f32::max)
    };
    let mut widths: Vec<f32> = (0..table.head.len()).map(need).collect();
    loop {
        let over = widths.iter().sum::<f32>() - room;
        if over <= 0.0 {
            break;
        }
        let widest = (0..widths.len()).max_by(|a, b| widths[*a].total_cmp(&widths[*b])).unwrap_or(0);
        let second =
            widths.iter().enumerate().filter(|(c, _)| *c != widest).map(|(_, w)| *w).fold(0.0, f32::max);
        // Down to the next widest, or as far as needed.
        let narrower = (widths[widest] - over).max(second - 1.0).min(widths[widest] - 1.0);
        widths[widest] = narrower;
    }
    // Room left over goes to the first column, up to a limit.
    let left = room - widths.iter().sum::<f32>();
    if left > 0.0 && !widths.is_empty() {
        widths[0] += left.min(0.15 * room);
    }
    widths
}
