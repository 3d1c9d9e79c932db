//! The glyphs, widths and bytes of the shipped font for a PDF.

use crate::report::render::mark::mark;
use std::collections::BTreeMap;
use std::sync::LazyLock;
use subsetter::GlyphRemapper;
use ttf_parser::GlyphId;

/// One face of the shipped font.
pub struct Face {
    /// The name of the face in a PDF.
    pub name: &'static str,
    /// The short name by which pages refer to it.
    pub short: &'static [u8],
    /// The bytes of its font file.
    pub bytes: &'static [u8],
    parsed: LazyLock<ttf_parser::Face<'static>>,
}

macro_rules! face {
    ($name:literal, $short:literal, $file:literal) => {
        Face {
            name: $name,
            short: $short,
            bytes: include_bytes!(concat!("../../../../reference-data/fonts/", $file)),
            parsed: LazyLock::new(|| {
                let bytes = include_bytes!(concat!("../../../../reference-data/fonts/", $file));
                ttf_parser::Face::parse(bytes, 0).expect("the shipped font reads")
            }),
        }
    };
}

/// The regular face and the bold one.
pub static FACES: [Face; 2] =
    [face!("Inter-Regular", b"F0", "Inter-Regular.otf"), face!("Inter-Bold", b"F1", "Inter-Bold.otf")];

impl Face {
    /// The face for text that is bold or not.
    pub fn of(bold: bool) -> &'static Face {
        &FACES[usize::from(bold)]
    }

    /// The glyph of a letter; that of a question mark if the font has none.
    pub fn glyph(&self, letter: char) -> GlyphId {
        let known = |c| self.parsed.glyph_index(c);
        known(letter).or_else(|| known('?')).unwrap_or(GlyphId(0))
    }

    /// The width of a glyph, in thousandths of the font size.
    pub fn advance(&self, glyph: GlyphId) -> f32 {
        let units = f32::from(self.parsed.units_per_em());
        f32::from(self.parsed.glyph_hor_advance(glyph).unwrap_or(0)) * 1000.0 / units
    }

    /// The width of a text at a font size, in the unit of the size.
    pub fn width(&self, text: &str, size: f32) -> f32 {
        text.chars().map(|c| self.advance(self.glyph(c))).sum::<f32>() * size / 1000.0
    }

    /// Ascent, descent, height of capitals and the box around all glyphs (left, bottom, right, top), in thousandths of
    /// the font size.
    pub fn measures(&self) -> (f32, f32, f32, [f32; 4]) {
        let face = &self.parsed;
        let scale = 1000.0 / f32::from(face.units_per_em());
        let all = face.global_bounding_box();
        let of = |v: i16| f32::from(v) * scale;
        let capitals = face.capital_height().map_or(of(face.ascender()), of);
        let around = [of(all.x_min), of(all.y_min), of(all.x_max), of(all.y_max)];
        (of(face.ascender()), of(face.descender()), capitals, around)
    }
}

/// The part of a face that a document uses, with glyph numbers of its own.
pub struct Subset {
    /// The face it is of.
    pub face: &'static Face,
    numbers: GlyphRemapper,
    letters: BTreeMap<u16, char>,
}

impl Subset {
    /// The part of a face that some letters need.
    pub fn of(face: &'static Face, letters: impl Iterator<Item = char>) -> Subset {
        let used: BTreeMap<u16, char> = letters.map(|c| (face.glyph(c).0, c)).collect();
        let mut numbers = GlyphRemapper::new();
        let letters = used.iter().map(|(glyph, letter)| (numbers.remap(*glyph), *letter)).collect();
        Subset { face, numbers, letters }
    }

    /// The name of the part: six letters of its own before that of the face (ISO 32000-1, 2008, 9.6.4).
    pub fn name(&self) -> String {
        let mark = mark(self.letters.values().flat_map(|letter| u32::from(*letter).to_be_bytes()));
        let letter = |i: u32| char::from(b'A' + (mark / 26_u64.pow(i) % 26) as u8);
        format!("{}+{}", (0..6).map(letter).collect::<String>(), self.face.name)
    }

    /// A text as the two-byte glyph numbers of a PDF.
    pub fn encoded(&self, text: &str) -> Vec<u8> {
        let number = |c| self.numbers.get(self.face.glyph(c).0).unwrap_or(0);
        text.chars().flat_map(|c| number(c).to_be_bytes()).collect()
    }

    /// Its glyphs, each with its letter and its width in thousandths of the font size.
    pub fn glyphs(&self) -> impl Iterator<Item = (u16, char, f32)> + '_ {
        self.letters
            .iter()
            .map(|(glyph, letter)| (*glyph, *letter, self.face.advance(self.face.glyph(*letter))))
    }

    /// The outlines of its glyphs as a compact font.
    pub fn outlines(&self) -> Vec<u8> {
        let font = subsetter::subset(self.face.bytes, 0, &self.numbers).expect("the shipped font reads");
        let tables = ttf_parser::RawFace::parse(&font, 0).expect("a subset is a font");
        tables.table(ttf_parser::Tag::from_bytes(b"CFF ")).expect("the shipped font has outlines").to_vec()
    }
}
