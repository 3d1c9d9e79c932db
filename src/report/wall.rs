//! The sheets for the workshop wall: every flower, where dry stops being enough.

use super::document::{Block, Document};
use super::pictures::wall;
use super::words::{capital, small, times};
use crate::decide::limits::{GOOD, Limits};
use crate::units::{Scale, Span};

/// The sheets for the wall: every flower with its dry hours by temperature, and what it needs for so many hours.
pub fn document(all: &[Limits], until: Span, scale: Scale) -> Document {
    let mut blocks = vec![
        Block::Title("Where dry stops being enough".to_string()),
        Block::Text(format!(
            "Find the flower, then the room. The number is how many hours it lasts dry; the shade is what it needs for {until}.",
        )),
    ];
    for (n, sheet) in all.chunks(wall::ROWS * wall::COLUMNS).enumerate() {
        if n > 0 {
            blocks.push(Block::NewSheet);
        }
        blocks.push(Block::Picture(wall::picture(sheet, until, scale), None));
    }
    if let Some(first) = all.first() {
        blocks.push(Block::Small(format!(
            "{} deliveries of ten have {} of their heads good so long: flowers to the first softening, greens until limp. Rounded \
             down to half hours. Counts on {:.0} % humidity, still air, shade, stems cut short after a night in cool water. In sun \
             or wind, or in drier air, take the next warmer columns. Mostly the trade's memory, not measured: your own trials \
             overrule it. Advice, never certification.",
            capital(&small((10.0 * first.asked.sure).floor() as u32)),
            times(GOOD).replace(" in ", " of "),
            100.0 * first.humidity,
        )));
    }
    Document { title: "Where dry stops being enough".to_string(), blocks }
}
