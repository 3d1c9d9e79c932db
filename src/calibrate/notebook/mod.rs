//! The notebook: a plain CSV that opens in a spreadsheet, read whole, with every problem reported at once.
//!
//! Each line is one entry: a trial's `start`, a `look` at it, or what became of a flower at an `event`. Columns may stand
//! in any order, and columns of the florist's own are left alone.

mod book;
mod cells;
mod edits;
mod entries;
mod sheet;

pub use book::{COLUMNS, Load, Notebook};
pub use edits::{Cells, LastEntry, When, begun, last_entry, looked, with_entry, without_last};
