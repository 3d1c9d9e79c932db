//! The notebook's file: locked against a second writer, and written whole or not at all.

use super::output;
use crate::calibrate::notebook::Notebook;
use crate::error::{Problem, Result, reason};
use std::fs::File;
use std::io::Write;
use std::path::Path;

/// The notebook's name where none is given.
pub const NAME: &str = "trials.csv";

/// Its text, where it is there.
pub fn text(path: &Path) -> Result<Option<String>> {
    if path.exists() { output::read(path).map(Some) } else { Ok(None) }
}

/// Its notes; logs that it names lie beside it. A notebook that is not there yet is empty.
pub fn read(path: &Path) -> Result<Notebook> {
    match text(path)? {
        Some(text) => parsed(path, &text),
        None => Ok(Notebook::default()),
    }
}

/// The notes in a text that is, or is to be, a notebook.
pub fn parsed(path: &Path, text: &str) -> Result<Notebook> {
    Notebook::read(&path.display().to_string(), text, &beside(path))
}

/// Fetches the logs that a notebook names, which lie beside it.
pub fn beside(path: &Path) -> impl Fn(&str) -> std::io::Result<String> {
    let folder = path.parent().unwrap_or(Path::new("")).to_path_buf();
    move |name| std::fs::read_to_string(folder.join(name))
}

/// Changes it: `change` makes the new text from the old one, which is checked, then put in the old one's place. Only
/// one writer does so at a time, and a writer that is stopped at any moment leaves the old notebook or the new one.
pub fn change<R>(path: &Path, change: impl FnOnce(Option<String>) -> Result<(String, R)>) -> Result<R> {
    let failed = |e: &std::io::Error| {
        let problem = Problem::new(format!("{} cannot be written: {}", path.display(), reason(e)));
        problem.help("nothing was noted; choose another place with --notebook")
    };
    let _held = output::held(path)?;
    let (new, told) = change(text(path)?)?;
    parsed(path, &new)?;
    let mut fresh = path.as_os_str().to_owned();
    fresh.push(".new");
    (|| {
        let mut file = File::create(&fresh)?;
        file.write_all(new.as_bytes())?;
        file.sync_all()?;
        std::fs::rename(&fresh, path)?;
        // The new name must outlast a loss of power, too.
        #[cfg(unix)]
        File::open(path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new(".")))?
            .sync_all()?;
        Ok(())
    })()
    .map_err(|e: std::io::Error| failed(&e))?;
    Ok(told)
}
