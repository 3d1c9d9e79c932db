//! The folder that the page works in, through which alone it reads and writes files.

use crate::error::{Problem, Result};
use crate::event::Event;
use std::net::IpAddr;

/// The folder that the page works in.
pub trait Folder: Send + Sync {
    /// The text of a file; `None` if there is no file of that name.
    ///
    /// # Errors
    /// If the file is there and cannot be read.
    fn text(&self, name: &str) -> Result<Option<String>>;
    /// The event in a text that is, or will be, the file `name`. Its logs and notebook lie beside it.
    ///
    /// # Errors
    /// All problems of the text.
    fn event(&self, name: &str, text: &str) -> Result<Event>;
    /// Locks a file against other writers, in this and other programs, until the returned value is dropped.
    ///
    /// # Errors
    /// If somebody else holds the lock too long.
    fn hold(&self, name: &str) -> Result<Box<dyn Send>>;
    /// Writes a file completely or not at all.
    ///
    /// # Errors
    /// If the file cannot be written.
    fn save(&self, name: &str, text: &str) -> Result<()>;
    /// Keeps a file of readings beside the events. One of that name that says something else is left as it is.
    ///
    /// # Errors
    /// If there is such a file, or the file cannot be written.
    fn keep(&self, name: &str, bytes: &[u8]) -> Result<()>;
    /// The names of the event files in the folder.
    ///
    /// # Errors
    /// If the folder cannot be read.
    fn names(&self) -> Result<Vec<String>>;
    /// The name and the text of the notebook of an event file, or of the folder if none is named; the text is `None` if
    /// there is no notebook yet.
    ///
    /// # Errors
    /// If the notebook is there and cannot be read, or the event file leaves unclear which it is.
    fn notebook(&self, event: Option<&str>) -> Result<(String, Option<String>)>;
    /// The text of a logger's file that the notebook names.
    ///
    /// # Errors
    /// If the file cannot be read.
    fn log(&self, name: &str) -> std::io::Result<String>;
    /// Random bytes of the system, for keys.
    ///
    /// # Errors
    /// If the system has none.
    fn random(&self) -> Result<[u8; 32]>;
    /// The address of this computer in the network that it is in, if it is in one.
    fn address(&self) -> Option<IpAddr>;
    /// The current time in UTC as a calendar file writes it, such as `20270814T170000Z`.
    fn stamp(&self) -> String;
    /// Changes a notebook: `change` makes the new text from the old one, if there is one. There is one writer at a
    /// time, and the file is written completely or not at all.
    ///
    /// # Errors
    /// Those of `change`; and if the notebook cannot be written.
    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()>;
}

/// Whether a name is that of a plain file with an ending, and no folder.
fn is_plain(name: &str, ending: &str) -> bool {
    let letter = |c: char| c.is_alphanumeric() || " -_.,()'".contains(c);
    let plain = name.chars().all(letter) && !name.starts_with(['.', ' ']) && name.chars().count() <= 100;
    plain && name.len() > ending.len() && name.to_lowercase().ends_with(ending)
}

/// Checks that a name is one for a file of readings: a plain one ending in `.csv`.
///
/// # Errors
/// If it is anything else.
pub fn readings_name(name: &str) -> Result<()> {
    if is_plain(name, ".csv") {
        return Ok(());
    }
    Err(Problem::new(format!("\"{name}\" is not a name for a file of readings here"))
        .expected("a plain file name that ends in .csv")
        .help("save it from the logger's program as barn.csv")
        .into())
}

/// Checks that a name is a plain file name ending in `.toml`, with no folder.
///
/// # Errors
/// If it is anything else; the problem says what a name looks like.
pub fn plain_name(name: &str) -> Result<()> {
    if is_plain(name, ".toml") && name.ends_with(".toml") {
        return Ok(());
    }
    Err(Problem::new(format!("\"{name}\" is not a name for an event file here"))
        .expected("a plain file name that ends in .toml, with no folder")
        .help("supper.toml")
        .into())
}
