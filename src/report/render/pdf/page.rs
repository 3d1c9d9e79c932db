//! What stands on the pages of a PDF, and the elements that are read out.

use crate::report::pictures::style::Colour;
use pdf_writer::types::StructRole;

/// Something on a page. Points are across and down from the top left corner.
#[derive(Debug, Clone)]
pub enum Item {
    /// A piece of an element begins: the role of the element, and the number of the piece on the page.
    Begin(StructRole, i32),
    /// Something begins that is seen and not read out.
    Ornament,
    /// The end of what [`Item::Begin`] or [`Item::Ornament`] began.
    End,
    /// Words on one line.
    Words {
        /// The text of the line.
        text: String,
        /// Where it begins on its base line, points.
        at: (f32, f32),
        /// The font size, points.
        size: f32,
        /// Whether the text is bold.
        bold: bool,
        /// The colour of the text.
        colour: Colour,
    },
    /// A line through points, with its colour and its width in points.
    Line(Vec<(f32, f32)>, Colour, f32),
    /// A filled area with corners, colour and opacity from 0 to 1.
    Area(Vec<(f32, f32)>, Colour, f64),
}

impl Item {
    /// The words, and whether they are bold; `None` for anything else.
    pub fn words(&self) -> Option<(&str, bool)> {
        if let Item::Words { text, bold, .. } = self { Some((text, *bold)) } else { None }
    }

    /// The opacity of an area in percent; `None` if it is opaque, and for anything else.
    pub fn opacity(&self) -> Option<u8> {
        let Item::Area(_, _, opacity) = self else { return None };
        (*opacity < 1.0).then(|| (100.0 * opacity).round() as u8)
    }
}

/// One page of a PDF.
#[derive(Debug, Clone, Default)]
pub struct Page {
    /// What stands on it, in the order of painting.
    pub items: Vec<Item>,
    /// The index of the element that each numbered piece belongs to, by the number of the piece.
    pub owners: Vec<usize>,
}

/// Something that is read out as a whole.
#[derive(Debug, Clone)]
pub struct Element {
    /// The kind of element, such as a heading or a cell.
    pub role: StructRole,
    /// The index of the element that it is part of; `None` at the top.
    pub parent: Option<usize>,
    /// Of a picture: the text that is read out instead, and its left, upper, right and lower edges.
    pub figure: Option<(String, [f32; 4])>,
    /// The pieces that it is made of, each with its page and its number there.
    pub pieces: Vec<(usize, i32)>,
}
