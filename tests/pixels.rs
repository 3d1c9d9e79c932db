//! Papers and pictures as they come out of a printer: drawn to pixels by poppler's pdftoppm, a reader that is not ours, and
//! held against small pictures that somebody has looked at. `HEADWATER_NEW_PIXELS=1 cargo test --test pixels` makes them anew.

mod common;

use common::{missing, planned};
use headwater::decide::plan::Plan;
use headwater::report::document::{Block, Document, Table};
use headwater::report::facts::Facts;
use headwater::report::papers::{PAPERS, paper};
use headwater::report::pictures::sketch::{Anchor, Sketch};
use headwater::report::protocol;
use headwater::report::render::pdf::{Sheet, pdf};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

/// Dots to the inch: enough to see that a line has moved, and few bytes.
const DPI: &str = "40";
/// Two readers of one version, or two versions of one reader, smooth letters differently: a pixel may be off by so much grey,
const GREY: i32 = 72;
/// and so many of a thousand may be off by more.
const OFF: usize = 6;

static PLAN: LazyLock<Plan> =
    LazyLock::new(|| planned(include_str!("../reference-data/demo/harvest-supper.toml")));

fn planned_papers() -> Vec<(&'static str, Document)> {
    let facts = Facts::of(&PLAN);
    PAPERS.map(|(name, _)| (name, paper(&facts, name).expect("a paper of that name"))).into()
}

/// Papers that say the same whatever the model says: one of every block, and the protocol.
fn lasting_papers() -> Vec<(&'static str, Document)> {
    let words = |all: &[&str]| all.iter().map(ToString::to_string).collect::<Vec<String>>();
    let mut sketch = Sketch::new((860, 300), "A rising line".to_string());
    sketch.text("A picture", (16.0, 14.0), 21.0, (34, 38, 42), true, Anchor::TopLeft);
    sketch.area(vec![(60.0, 260.0), (800.0, 80.0), (800.0, 260.0)], (38, 110, 168), 0.2);
    sketch.line(&[(60.0, 260.0), (800.0, 80.0)], (190, 92, 38), 3.0);
    sketch.dashed(&[(60.0, 260.0), (800.0, 160.0)], (18, 62, 48), 2.0, (12.0, 5.0));
    sketch.dot((430.0, 170.0), 6.0, (34, 38, 42));
    let rows = vec![
        words(&["Head table", "24", "ball dahlia"]),
        words(&["", "120", "standard rose, in tubes of water"]),
    ];
    let blocks = vec![
        Block::Title("One of every block".to_string()),
        Block::Text("A paragraph long enough that it must be broken at a blank, at the latest somewhere about here, or it would run off the sheet.".to_string()),
        Block::Heading("A table and its numbers".to_string()),
        Block::Table(Table::new(&["piece", ">heads", "flower"], rows)),
        Block::Points(words(&["A point.", "Another point."])),
        Block::Ticks(words(&["To tick off."])),
        Block::Picture(sketch, 1.0),
        Block::Small("Small print: 21 C, 45 %, \u{a3}3.50.".to_string()),
        Block::Form(words(&["time", "presentable"]), 3),
        Block::Sign(words(&["Client, date", "Florist, date"])),
        Block::NewSheet,
        Block::Heading("On a sheet of its own".to_string()),
    ];
    vec![("blocks", Document { title: "Blocks".to_string(), blocks }), ("protocol", protocol::document())]
}

/// A grey picture: width, height, pixels.
type Grey = (usize, usize, Vec<u8>);

/// Every page of a PDF as it is printed; nothing where no printer's eye is installed.
fn drawn(bytes: &[u8]) -> Option<Vec<Grey>> {
    let folder = tempfile::TempDir::new().unwrap();
    let file = folder.path().join("paper.pdf");
    std::fs::write(&file, bytes).unwrap();
    let out = folder.path().join("page");
    let Ok(ran) = Command::new("pdftoppm").args(["-gray", "-r", DPI]).arg(&file).arg(&out).output() else {
        missing("no pdftoppm was found, of poppler-utils");
        return None;
    };
    // A paper that keeps the standard makes it say nothing.
    assert!(ran.status.success() && ran.stderr.is_empty(), "{}", String::from_utf8_lossy(&ran.stderr));
    let mut pages: Vec<PathBuf> =
        std::fs::read_dir(folder.path()).unwrap().map(|e| e.unwrap().path()).filter(|p| *p != file).collect();
    pages.sort();
    Some(pages.iter().map(|p| portable(&std::fs::read(p).unwrap())).collect())
}

/// A portable greymap: "P5", width, height and 255 as text, then a byte for each pixel.
fn portable(bytes: &[u8]) -> Grey {
    let mut parts = bytes.splitn(4, |b| b.is_ascii_whitespace());
    let mut word = || std::str::from_utf8(parts.next().unwrap()).unwrap().to_string();
    assert_eq!(word(), "P5");
    let (width, height): (usize, usize) = (word().parse().unwrap(), word().parse().unwrap());
    (width, height, bytes[bytes.len() - width * height..].to_vec())
}

fn read(path: &Path) -> Grey {
    let file = std::fs::File::open(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut reader = png::Decoder::new(file).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!((info.color_type, info.bit_depth), (png::ColorType::Grayscale, png::BitDepth::Eight));
    pixels.truncate(info.buffer_size());
    (info.width as usize, info.height as usize, pixels)
}

fn write(path: &Path, (width, height, pixels): &Grey) {
    let mut encoder = png::Encoder::new(std::fs::File::create(path).unwrap(), *width as u32, *height as u32);
    encoder.set_color(png::ColorType::Grayscale);
    encoder.set_compression(png::Compression::Best);
    encoder.set_adaptive_filter(png::AdaptiveFilterType::Adaptive);
    encoder.write_header().unwrap().write_image_data(pixels).unwrap();
}

/// How many of a thousand pixels differ by more than smoothing does.
fn off(a: &Grey, b: &Grey) -> usize {
    assert_eq!((a.0, a.1), (b.0, b.1), "another size");
    let differ = a.2.iter().zip(&b.2).filter(|(a, b)| (i32::from(**a) - i32::from(**b)).abs() > GREY).count();
    differ * 1000 / a.2.len()
}

const SHEETS: [(Sheet, &str, f64, f64); 2] =
    [(Sheet::A4, "a4", 8.268, 11.693), (Sheet::Letter, "letter", 8.5, 11.0)];

/// The pages of a paper, each of its sheet's size in inches, and bare at its edges.
fn pages(document: &Document, (sheet, on, wide, high): (Sheet, &str, f64, f64)) -> Option<Vec<Grey>> {
    let pages = drawn(&pdf(document, sheet))?;
    for page in &pages {
        let near = |pixels: usize, inches: f64| (pixels as f64 - 40.0 * inches).abs() <= 1.0;
        assert!(near(page.0, wide) && near(page.1, high), "{} by {}", page.0, page.1);
        let bare = |x: usize, y: usize| page.2[y * page.0 + x] > 250;
        assert!((0..page.1).all(|y| bare(3, y) && bare(page.0 - 4, y)), "{} runs off {on}", document.title);
        assert!((0..page.0).all(|x| bare(x, 3) && bare(x, page.1 - 4)), "{} runs off {on}", document.title);
    }
    Some(pages)
}

#[test]
fn papers_of_a_plan_stay_on_their_sheets() {
    for (name, document) in planned_papers() {
        for sheet in SHEETS {
            let Some(pages) = pages(&document, sheet) else { return };
            assert!(name != "client" || pages.len() == 1, "the client gets one page, on {}", sheet.1);
        }
    }
}

#[test]
fn papers_look_as_they_did() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/pixels");
    for (name, document) in lasting_papers() {
        for sheet in SHEETS {
            let Some(pages) = pages(&document, sheet) else { return };
            assert_eq!(pages.len(), 2, "{name} on {}", sheet.1);
            for (p, page) in pages.iter().enumerate() {
                let kept = folder.join(format!("{name}-{}-{}.png", sheet.1, p + 1));
                if std::env::var_os("HEADWATER_NEW_PIXELS").is_some() {
                    write(&kept, page);
                }
                let far = off(page, &read(&kept));
                assert!(far <= OFF, "{name}, {}, page {}: {far} of 1000 pixels differ", sheet.1, p + 1);
            }
        }
    }
}

#[test]
fn the_comparison_sees_a_line_that_has_moved() {
    let blank = (100, 100, vec![255; 10_000]);
    let mut lined = blank.clone();
    lined.2[..200].fill(0);
    assert_eq!(off(&blank, &blank), 0);
    assert!(off(&blank, &lined) > OFF);
}
