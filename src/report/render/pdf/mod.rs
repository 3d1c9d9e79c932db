//! A document as PDF on A4 or Letter: vector pictures, text that can be selected and searched, and tags for screen
//! readers.

mod face;
mod layout;
mod page;

use crate::report::document::{Block, Document};
use crate::report::render::mark::mark;
use face::{FACES, Subset};
use layout::Layout;
use page::{Item, Page};
use pdf_writer::types::{CidFontType, FontFlags, StructRole, SystemInfo, TableHeaderScope, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeSet;

/// The size of sheet to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Sheet {
    /// 210 by 297 mm (ISO 216, 2007).
    #[default]
    A4,
    /// 8.5 by 11 in (ANSI/ASME Y14.1, 2020, size A).
    Letter,
}

impl Sheet {
    /// Width and height in points, 72 to an inch.
    ///
    /// ```
    /// assert_eq!(headwater::report::render::pdf::Sheet::Letter.size(), (612.0, 792.0));
    /// ```
    pub fn size(self) -> (f32, f32) {
        match self {
            Sheet::A4 => (595.3, 841.9),
            Sheet::Letter => (612.0, 792.0),
        }
    }
}

/// The largest scale at which a document is set, at which the body is 11 points; the smallest, to save pages; and the steps
/// between them.
const LARGEST: f32 = 1.1;
const SMALLEST: f32 = 0.78;
const SMALLER: f32 = 0.02;
/// The shares of their width that pictures are given, the first that fits: they yield before the text does.
const PICTURES: [f32; 3] = [1.0, 0.9, 0.8];

/// The document as PDF, as large as each of its sheets fits on one page, within limits.
pub fn pdf(document: &Document, sheet: Sheet) -> Vec<u8> {
    let paper = sheet.size();
    let sheets = 1 + document.blocks.iter().filter(|b| matches!(b, Block::NewSheet)).count();
    let usual = Layout::of(document, paper, 1.0, 1.0);
    let steps = ((LARGEST - SMALLEST) / SMALLER) as u32;
    let scales = (0..=steps).map(|i| LARGEST - i as f32 * SMALLER);
    let sizes = scales.flat_map(|scale| PICTURES.map(|share| (scale, share)));
    let mut laid = sizes.map(|(scale, share)| Layout::of(document, paper, scale, share));
    let fitting = laid.find(|l| l.pages.len() == sheets);
    // If even the smallest scale needs more pages, the usual size is easier to read.
    written(document, &fitting.unwrap_or(usual), paper)
}

/// Hands out the numbers of PDF objects.
struct Numbers(i32);

impl Numbers {
    fn next(&mut self) -> Ref {
        self.0 += 1;
        Ref::new(self.0)
    }

    fn each<T>(&mut self, of: &[T]) -> Vec<Ref> {
        of.iter().map(|_| self.next()).collect()
    }
}

/// The numbers of the objects that others refer to.
struct Objects {
    /// The tree of pages.
    tree: Ref,
    pages: Vec<Ref>,
    /// For every page the list of elements that its pieces belong to.
    owners: Vec<Ref>,
    /// The root of the structure, and the document element below it.
    root: Ref,
    top: Ref,
    elements: Vec<Ref>,
    fonts: Vec<Ref>,
}

/// A document laid out, as the bytes of a PDF.
fn written(document: &Document, layout: &Layout, paper: (f32, f32)) -> Vec<u8> {
    let mut numbers = Numbers(0);
    let (catalog, tree, info, root) = (numbers.next(), numbers.next(), numbers.next(), numbers.next());
    let described = numbers.next();
    let (pages, owners) = (numbers.each(&layout.pages), numbers.each(&layout.pages));
    let elements = numbers.each(&layout.elements);
    let fonts = numbers.each(&FACES);
    let top = numbers.next();
    let objects = Objects { tree, pages, owners, root, top, elements, fonts };
    let mut pdf = Pdf::new();

    let mut all = pdf.catalog(catalog);
    all.pages(tree).lang(TextStr("en-GB"));
    all.viewer_preferences().display_doc_title(true);
    all.mark_info().marked(true);
    all.metadata(described);
    all.pair(Name(b"StructTreeRoot"), root);
    all.finish();
    pdf.document_info(info).title(TextStr(&document.title)).creator(TextStr("headwater"));
    pdf.metadata(described, metadata(&document.title).as_bytes());
    pdf.pages(tree).kids(objects.pages.iter().copied()).count(objects.pages.len() as i32);

    structure(&mut pdf, layout, &objects, paper.1);
    let words = || layout.pages.iter().flat_map(|p| &p.items).filter_map(Item::words);
    let subsets = [0, 1].map(|bold| {
        let letters = words().filter(|(_, b)| usize::from(*b) == bold).flat_map(|(text, _)| text.chars());
        Subset::of(&FACES[bold], letters)
    });
    for (subset, font) in subsets.iter().zip(&objects.fonts) {
        embed(&mut pdf, subset, *font, &mut numbers);
    }
    contents(&mut pdf, layout, &objects, &subsets, paper, &mut numbers);
    // The same document is the same file, its identifier included (ISO 32000-1, 2008, 14.4).
    let parts = [mark(document.title.bytes()), mark(words().flat_map(|(text, _)| text.bytes()))];
    let id: Vec<u8> = parts.iter().flat_map(|part| part.to_be_bytes()).collect();
    pdf.set_file_id((id.clone(), id));
    pdf.finish()
}

/// What the file says of itself to other programs (XMP, ISO 16684-1, 2019), and the standard whose rules it keeps (ISO
/// 14289-1, 2014, clause 5).
fn metadata(title: &str) -> String {
    let title = title.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;");
    format!(
        r#"<?xpacket begin="{}" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>en-GB</rdf:li></rdf:Bag></dc:language>
<xmp:CreatorTool>headwater</xmp:CreatorTool>
<pdfuaid:part>1</pdfuaid:part>
</rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="r"?>"#,
        '\u{feff}'
    )
}

/// Writes the tree of what is read out, and for every page of some height the elements that its pieces belong to.
fn structure(pdf: &mut Pdf, layout: &Layout, objects: &Objects, height: f32) {
    let Objects { pages, owners, root, top, elements, .. } = objects;
    let mut structure = pdf.indirect(*root).start::<pdf_writer::writers::StructTreeRoot>();
    structure.child(*top);
    let mut parents = structure.parent_tree();
    let mut entries = parents.nums();
    for (p, list) in owners.iter().enumerate() {
        entries.insert(p as i32, *list);
    }
    entries.finish();
    parents.finish();
    structure.finish();
    for (page, list) in layout.pages.iter().zip(owners) {
        pdf.indirect(*list).array().items(page.owners.iter().map(|e| elements[*e]));
    }
    let mut whole = pdf.indirect(*top).start::<pdf_writer::writers::StructElement>();
    whole.kind(StructRole::Document).parent(*root);
    let mut parts = whole.children();
    for (element, id) in layout.elements.iter().zip(elements) {
        if element.parent.is_none() {
            parts.struct_element(*id);
        }
    }
    parts.finish();
    whole.finish();
    for (e, element) in layout.elements.iter().enumerate() {
        let mut written = pdf.indirect(elements[e]).start::<pdf_writer::writers::StructElement>();
        written.kind(element.role).parent(element.parent.map_or(*top, |p| elements[p]));
        if let Some((words, [left, top, right, bottom])) = &element.figure {
            written.alt(TextStr(words));
            let edges = Rect::new(*left, height - bottom, *right, height - top);
            written.attributes().push().layout().bbox(edges);
        }
        if element.role == StructRole::TH {
            written.attributes().push().table().scope(TableHeaderScope::Column);
        }
        let mut kids = written.children();
        for (page, number) in &element.pieces {
            kids.marked_content_ref().page(pages[*page]).marked_content_id(*number);
        }
        for (part, id) in layout.elements.iter().zip(elements) {
            if part.parent == Some(e) {
                kids.struct_element(*id);
            }
        }
        kids.finish();
        written.finish();
    }
}

/// Writes the pages with what is painted on them.
fn contents(
    pdf: &mut Pdf,
    layout: &Layout,
    objects: &Objects,
    subsets: &[Subset; 2],
    paper: (f32, f32),
    numbers: &mut Numbers,
) {
    let opacities: BTreeSet<u8> =
        layout.pages.iter().flat_map(|p| &p.items).filter_map(Item::opacity).collect();
    let states: Vec<(u8, Ref)> = opacities.into_iter().map(|o| (o, numbers.next())).collect();
    for (opacity, state) in &states {
        pdf.ext_graphics(*state).non_stroking_alpha(f32::from(*opacity) / 100.0);
    }
    for (p, page) in layout.pages.iter().enumerate() {
        let content = numbers.next();
        pdf.stream(content, &deflated(&painted(page, subsets, paper.1))).filter(Filter::FlateDecode);
        let mut written = pdf.page(objects.pages[p]);
        written.parent(objects.tree).media_box(Rect::new(0.0, 0.0, paper.0, paper.1)).contents(content);
        written.struct_parents(p as i32);
        written.pair(Name(b"Tabs"), Name(b"S"));
        let mut resources = written.resources();
        let mut named = resources.fonts();
        for (face, font) in FACES.iter().zip(&objects.fonts) {
            named.pair(Name(face.short), *font);
        }
        named.finish();
        let mut named = resources.ext_g_states();
        for (opacity, state) in &states {
            named.pair(Name(format!("A{opacity}").as_bytes()), *state);
        }
        named.finish();
        resources.finish();
        written.finish();
    }
}

/// Writes the glyphs that are used of a face into the PDF, with their widths and letters.
fn embed(pdf: &mut Pdf, subset: &Subset, font: Ref, numbers: &mut Numbers) {
    let (cid, descriptor, letters_of, file) =
        (numbers.next(), numbers.next(), numbers.next(), numbers.next());
    let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
    let (name, face) = (subset.name(), subset.face);
    let name = Name(name.as_bytes());
    pdf.type0_font(font)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(letters_of);
    let mut described = pdf.cid_font(cid);
    described
        .subtype(CidFontType::Type0)
        .base_font(name)
        .system_info(system)
        .font_descriptor(descriptor)
        .default_width(0.0);
    let mut widths = described.widths();
    for (glyph, _, advance) in subset.glyphs() {
        widths.consecutive(glyph, [advance]);
    }
    widths.finish();
    described.finish();
    let (ascent, descent, capitals, around) = face.measures();
    pdf.font_descriptor(descriptor)
        .name(name)
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(around[0], around[1], around[2], around[3]))
        .italic_angle(0.0)
        .ascent(ascent)
        .descent(descent)
        .cap_height(capitals)
        .stem_v(if face.name.ends_with("Bold") { 140.0 } else { 90.0 })
        .font_file3(file);
    let mut map = UnicodeCmap::new(Name(b"Custom"), system);
    for (glyph, letter, _) in subset.glyphs() {
        map.pair(glyph, letter);
    }
    pdf.cmap(letters_of, &map.finish());
    let bytes = deflated(&subset.outlines());
    let mut stream = pdf.stream(file, &bytes);
    stream.filter(Filter::FlateDecode).pair(Name(b"Subtype"), Name(b"CIDFontType0C"));
    stream.finish();
}

/// Bytes for a stream that is to be inflated.
fn deflated(bytes: &[u8]) -> Vec<u8> {
    const LEVEL: u8 = 8;
    miniz_oxide::deflate::compress_to_vec_zlib(bytes, LEVEL)
}

/// The content stream that paints a page of some height, in points.
fn painted(page: &Page, subsets: &[Subset; 2], height: f32) -> Vec<u8> {
    let mut content = Content::new();
    let part = |c: u8| f32::from(c) / 255.0;
    let up = |(x, y): (f32, f32)| (x, height - y);
    for item in &page.items {
        match item {
            Item::Begin(role, number) => {
                let mut mark = content.begin_marked_content_with_properties(role.to_name());
                mark.properties().identify(*number);
                mark.finish();
            }
            Item::Ornament => {
                content.begin_marked_content(Name(b"Artifact"));
            }
            Item::End => {
                content.end_marked_content();
            }
            Item::Words { text, at, size, bold, colour } => {
                let subset = &subsets[usize::from(*bold)];
                let (x, y) = up(*at);
                content.set_fill_rgb(part(colour.0), part(colour.1), part(colour.2));
                content.begin_text().set_font(Name(subset.face.short), *size).next_line(x, y);
                content.show(Str(&subset.encoded(text))).end_text();
            }
            Item::Line(points, colour, thick) => {
                content.set_stroke_rgb(part(colour.0), part(colour.1), part(colour.2)).set_line_width(*thick);
                path(&mut content, points.iter().map(|p| up(*p)));
                content.stroke();
            }
            Item::Area(points, colour, _) => {
                content.save_state();
                content.set_fill_rgb(part(colour.0), part(colour.1), part(colour.2));
                if let Some(opacity) = item.opacity() {
                    content.set_parameters(Name(format!("A{opacity}").as_bytes()));
                }
                path(&mut content, points.iter().map(|p| up(*p)));
                content.close_path().fill_nonzero().restore_state();
            }
        }
    }
    content.finish().into_vec()
}

fn path(content: &mut Content, points: impl Iterator<Item = (f32, f32)>) {
    for (i, (x, y)) in points.enumerate() {
        if i == 0 {
            content.move_to(x, y);
        } else {
            content.line_to(x, y);
        }
    }
}
