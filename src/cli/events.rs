//! Reads event files, with the logs and the notebook that lie beside them.

use super::{files, notebook};
use crate::calibrate::teach::teach;
use crate::error::{Problem, Result};
use crate::event::{Event, HABITS_FILE, Habits};
use crate::report::learned_words;
use std::path::{Path, PathBuf};

/// Reads an event file and the logs that it names, without its notebook.
pub fn read(path: &Path) -> Result<Event> {
    let text = files::read(path)?;
    let folder = path.parent().unwrap_or(Path::new(""));
    let habits = habits(folder)?;
    let habits = habits.as_ref().map(|(file, text)| Habits { file, text });
    let load = |name: &str| files::log(&folder.join(name));
    Event::read_with(&path.display().to_string(), &text, habits, &load)
}

/// The florist's habits in a folder of events, as a file name and its text; `None` if there are none.
pub fn habits(folder: &Path) -> Result<Option<(String, String)>> {
    let path = folder.join(HABITS_FILE);
    match path.exists() {
        true => Ok(Some((path.display().to_string(), files::read(&path)?))),
        false => Ok(None),
    }
}

/// Reads an event file with what its notebook teaches.
pub fn known(path: &Path) -> Result<Event> {
    taught(path, read(path)?, None)
}

/// The path of an event's notebook: the one that it names, or the usual one beside it.
pub fn notebook_of(path: &Path, event: &Event) -> PathBuf {
    path.parent().unwrap_or(Path::new("")).join(event.notebook.as_deref().unwrap_or(notebook::NAME))
}

/// Teaches an event what a notebook holds: `given`, or else its own. If the event names a notebook and none is given,
/// it must be there.
pub fn taught(path: &Path, mut event: Event, given: Option<&Path>) -> Result<Event> {
    let own = notebook_of(path, &event);
    let book = given.unwrap_or(&own);
    if notebook::text(book)?.is_none() {
        if event.notebook.is_some() && given.is_none() {
            let problem = Problem::new(format!(
                "the notebook {} cannot be read: there is nothing of that name",
                book.display()
            ));
            return Err(problem
                .help("give its name as seen from the folder of the event, or take `notebook` out of [event]")
                .into());
        }
        return Ok(event);
    }
    let caveats = teach(&mut event, &notebook::read(book)?);
    event.assumptions.extend(caveats.iter().map(learned_words::caveat));
    let n = event.pieces.iter().flat_map(|p| &p.orders).filter(|o| o.handling.learned.is_some()).count();
    if n > 0 {
        event.assumptions.push(format!(
            "what your notebook {} has taught counts; --without-trials leaves it out",
            book.display()
        ));
    }
    Ok(event)
}
