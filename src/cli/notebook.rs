//! The file of the notebook: locked against other writers, and written completely or not at all.

use super::files;
use crate::calibrate::notebook::Notebook;
use crate::error::Result;
use std::path::Path;

/// The name of the notebook if none is given.
pub const NAME: &str = "trials.csv";

/// The text of a notebook; `None` if there is no such file.
pub fn text(path: &Path) -> Result<Option<String>> {
    if path.exists() { files::read(path).map(Some) } else { Ok(None) }
}

/// The notes in a notebook; none if there is no such file yet.
pub fn read(path: &Path) -> Result<Notebook> {
    match text(path)? {
        Some(text) => parsed(path, &text),
        None => Ok(Notebook::default()),
    }
}

/// The notes in a text that is, or will be, the notebook at `path`.
pub fn parsed(path: &Path, text: &str) -> Result<Notebook> {
    Notebook::read(&path.display().to_string(), text, &beside(path))
}

/// A reader of the logs that a notebook names, which lie beside it.
pub fn beside(path: &Path) -> impl Fn(&str) -> std::io::Result<String> {
    let folder = path.parent().unwrap_or(Path::new("")).to_path_buf();
    move |name| files::log(&folder.join(name))
}

/// Changes a notebook: `change` makes the new text from the old one, and the new text is checked before it replaces the
/// old. There is one writer at a time, and one that is stopped at any moment leaves the old notebook or the new one.
pub fn change<R>(path: &Path, change: impl FnOnce(Option<String>) -> Result<(String, R)>) -> Result<R> {
    let _held = files::held(path)?;
    let (new, told) = change(text(path)?)?;
    parsed(path, &new)?;
    files::write(path, new.as_bytes()).map_err(|mut error| {
        let help = "nothing was noted; choose another place with --notebook";
        error.problems.iter_mut().for_each(|problem| problem.help = Some(help.to_string()));
        error
    })?;
    Ok(told)
}
