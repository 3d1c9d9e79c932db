//! A document as one HTML file that needs no other.

use crate::report::document::{Block, Document, Table};
use maud::{DOCTYPE, Markup, PreEscaped, html};

/// The style sheet of papers, for light and dark screens and for print.
pub const STYLE: &str = include_str!("paper.css");

/// The document as an HTML page with its style inside.
pub fn page(document: &Document) -> String {
    dressed(document, &own_style())
}

/// The style as an element of the page itself.
pub fn own_style() -> Markup {
    html! { style { (PreEscaped(STYLE)) } }
}

/// The document as an HTML page whose style, [`STYLE`], is served at the address `style`.
pub fn linked(document: &Document, style: &str) -> String {
    dressed(document, &html! { link rel="stylesheet" href=(style); })
}

fn dressed(document: &Document, style: &Markup) -> String {
    let body = html! { main { @for block in &document.blocks { (self::block(block)) } } };
    whole(&document.title, style, &body).into_string()
}

/// A whole page; `dress` holds the elements for styles and scripts in its head.
pub fn whole(title: &str, dress: &Markup, body: &Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                title { (title) }
                (dress)
            }
            body { (body) }
        }
    }
}

/// The level of headings at which blocks are shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// A page of their own, below its title.
    Top,
    /// A part of another page, below the heading of a section.
    BelowASection,
}

/// One block at the top level.
pub fn block(block: &Block) -> Markup {
    block_at(block, Level::Top)
}

/// One block at a level of headings.
pub fn block_at(block: &Block, level: Level) -> Markup {
    let top = level == Level::Top;
    match block {
        Block::Title(text) if top => html! { h1 { (text) } },
        Block::Title(text) => html! { h3 { (text) } },
        Block::Heading(text) if top => html! { h2 { (text) } },
        Block::Heading(text) => html! { h4 { (text) } },
        Block::Subheading(text) if top => html! { h3 { (text) } },
        Block::Subheading(text) => html! { h5 { (text) } },
        Block::Text(text) => html! { p { (text) } },
        Block::Small(text) => html! { p.small { (text) } },
        Block::Points(points) => html! { ul { @for point in points { li { (point) } } } },
        Block::Ticks(points) => html! { ul.ticks { @for point in points { li { (point) } } } },
        Block::Table(table) => self::table(table),
        Block::Picture(sketch, None) => html! { figure tabindex="0" { (PreEscaped(sketch.svg())) } },
        Block::Picture(wide, Some(narrow)) => html! {
            figure.wide { (PreEscaped(wide.svg())) }
            figure.narrow { (PreEscaped(narrow.svg())) }
        },
        Block::Form(head, rows) => html! {
            div.scroll tabindex="0" role="group" aria-label="form" {
                table.form {
                    thead { tr { @for name in head { (head_cell(name, None)) } } }
                    tbody { @for _ in 0..*rows { tr { @for _ in head { td {} } } } }
                }
            }
        },
        Block::NewSheet => html! { div.sheet {} },
        Block::Rule => html! { hr; },
        Block::Sign(lines) => html! { div.sign { @for line in lines { p { (line) } } } },
    }
}

/// The head of a column; a plain cell if it has no name.
fn head_cell(name: &str, class: Option<&str>) -> Markup {
    html! { @if name.is_empty() { td {} } @else { th scope="col" class=[class] { (name) } } }
}

/// A table that scrolls by itself on a narrow screen.
pub fn table(table: &Table) -> Markup {
    let number = |c: usize| table.column(c).0.then_some("number");
    html! {
        div.scroll tabindex="0" role="group" aria-label="table" {
            table {
                thead { tr { @for c in 0..table.head.len() { (head_cell(table.column(c).1, number(c))) } } }
                tbody {
                    @for row in &table.rows {
                        tr { @for (c, cell) in row.iter().enumerate() { td class=[number(c)] data-of=(table.column(c).1) { (cell) } } }
                    }
                }
            }
        }
    }
}
