//! The folder that the page works in: what the page may ask of the world.

use crate::error::{Problem, Result};
use crate::event::Event;

/// The one folder that is worked in.
pub trait Folder: Send + Sync {
    /// The text of a file, or nothing where there is none.
    ///
    /// # Errors
    /// When it is there and cannot be read.
    fn text(&self, name: &str) -> Result<Option<String>>;
    /// The event in a text that is, or is to be, the file of that name; logs and notebook lie beside it.
    ///
    /// # Errors
    /// Every problem in the text.
    fn event(&self, name: &str, text: &str) -> Result<Event>;
    /// Keeps everybody else, other programs too, from writing a file, until what is returned is dropped.
    ///
    /// # Errors
    /// When somebody else keeps it too long.
    fn hold(&self, name: &str) -> Result<Box<dyn Send>>;
    /// Writes a file, whole or not at all.
    ///
    /// # Errors
    /// When it cannot be written.
    fn save(&self, name: &str, text: &str) -> Result<()>;
    /// The names of the event files.
    ///
    /// # Errors
    /// When the folder cannot be read.
    fn names(&self) -> Result<Vec<String>>;
    /// The name and the text of the notebook that the event file of that name goes by; no text where there is none yet.
    ///
    /// # Errors
    /// When it is there and cannot be read, or the event does not tell which it is.
    fn notebook(&self, event: &str) -> Result<(String, Option<String>)>;
    /// A logger's file that the notebook names.
    ///
    /// # Errors
    /// When it cannot be read.
    fn log(&self, name: &str) -> std::io::Result<String>;
    /// The time now, as a calendar writes it in UTC.
    fn stamp(&self) -> String;
    /// Changes the notebook of that name: `change` makes the new text of the old one. One writer at a time; whole or not at
    /// all.
    ///
    /// # Errors
    /// Those of `change`, and when it cannot be written.
    fn note(&self, name: &str, change: &mut dyn FnMut(Option<String>) -> Result<String>) -> Result<()>;
}

/// Whether a name is that of a file in the folder itself.
///
/// # Errors
/// When it is anything else: the problem says what a name looks like.
pub fn plain_name(name: &str) -> Result<()> {
    let letter = |c: char| c.is_alphanumeric() || " -_.,()'".contains(c);
    let plain = name.chars().all(letter) && !name.starts_with(['.', ' ']) && name.chars().count() <= 100;
    if plain && name.len() > ".toml".len() && name.ends_with(".toml") {
        return Ok(());
    }
    Err(Problem::new(format!("\"{name}\" is not a name for an event file here"))
        .expected("a plain file name that ends in .toml, with no folder")
        .help("supper.toml")
        .into())
}
