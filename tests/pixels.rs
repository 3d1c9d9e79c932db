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
/// Pictures are compared by the mean grey of blocks so wide and so high, in pixels, each beginning half a block after the
/// one before. Two versions of a reader smooth letters differently, which moves grey within a block and hardly changes its
/// mean; a line of text is about five pixels high, so that it fills most of the blocks it lies in.
const BLOCK: (usize, usize) = (16, 8);
/// The most by which the mean grey of a block may differ, of 255: half of what the faintest line of the pictures makes.
const OFF: f64 = 7.5;

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
        Block::Picture(sketch, None),
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

/// The largest difference in mean grey of any block.
fn off(a: &Grey, b: &Grey) -> f64 {
    let (width, height) = (a.0, a.1);
    assert_eq!((width, height), (b.0, b.1), "another size");
    let mean = |pixels: &[u8], x: usize, y: usize| {
        let rows = (y..(y + BLOCK.1).min(height)).map(|y| &pixels[y * width..][x..(x + BLOCK.0).min(width)]);
        rows.flatten().map(|p| f64::from(*p)).sum::<f64>() / (BLOCK.0 * BLOCK.1) as f64
    };
    let blocks =
        (0..height).step_by(BLOCK.1 / 2).flat_map(|y| (0..width).step_by(BLOCK.0 / 2).map(move |x| (x, y)));
    blocks.map(|(x, y)| (mean(&a.2, x, y) - mean(&b.2, x, y)).abs()).fold(0.0, f64::max)
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
                assert!(far <= OFF, "{name}, {}, page {}: a block is off by {far:.1}", sheet.1, p + 1);
            }
        }
    }
}

/// The bands of rows with something on them: lines of text, rows of a table, a picture.
fn bands((width, _, pixels): &Grey) -> Vec<std::ops::Range<usize>> {
    let mut bands: Vec<std::ops::Range<usize>> = Vec::new();
    for (y, row) in pixels.chunks_exact(*width).enumerate() {
        if row.iter().all(|p| *p >= 200) {
            continue;
        }
        match bands.last_mut() {
            Some(band) if band.end == y => band.end = y + 1,
            _ => bands.push(y..y + 1),
        }
    }
    bands
}

#[test]
fn the_comparison_sees_every_line_that_is_gone_or_has_moved() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference-data/pixels");
    let mut seen = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let picture = read(&path);
        assert_eq!(off(&picture, &picture), 0.0);
        let width = picture.0;
        for band in bands(&picture) {
            let rows = band.start * width..band.end * width;
            let mut gone = picture.clone();
            gone.2[rows.clone()].fill(255);
            let mut moved = gone.clone();
            // Down by the height of a line of text: into the gap below, or onto what stands there.
            let to = rows.start + 5 * width;
            moved.2[to..to + rows.len()].copy_from_slice(&picture.2[rows]);
            for (what, other) in [("gone", gone), ("moved", moved)] {
                let far = off(&picture, &other);
                assert!(far > OFF, "{}: rows {band:?} {what}, off by only {far:.1}", path.display());
            }
            seen += 1;
        }
    }
    assert!(seen > 100, "{seen} bands");
}
