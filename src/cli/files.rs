//! Files, read and written with nothing half-written.

use crate::error::{Error, Problem, Result, reason};
use rayon::prelude::*;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Another writer is waited for this often.
const TRIES: u32 = 1000;
/// And this long each time.
const PAUSE: Duration = Duration::from_millis(5);

/// Reads a text file.
pub fn read(path: &Path) -> Result<String> {
    let shown = path.display();
    std::fs::read(path)
        .map_err(|e| {
            let problem = Problem::new(format!("{shown} cannot be read: {}", reason(&e)));
            problem.help("check the name, or write a fresh file with: headwater new NAME.toml")
        })
        .and_then(|bytes| {
            String::from_utf8(bytes).map_err(|_| {
                Problem::new(format!("{shown} is not a text file")).help("save it as plain text in UTF-8")
            })
        })
        .map_err(Into::into)
}

/// Writes a file whole or not at all: beside its place first, then moved there. A writer that is stopped at any moment
/// leaves the old file or the new one.
pub fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    let moved = beside(path, bytes).and_then(|file| Ok(file.persist(path)?));
    moved.and_then(|_| synced(folder_of(path))).map_err(|e| not_written(path, &e))
}

/// Writes a file that is not there yet.
pub fn create(path: &Path, bytes: &[u8]) -> Result<()> {
    match beside(path, bytes).and_then(|file| Ok(file.persist_noclobber(path)?)) {
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            let problem = Problem::new(format!("{} is there already, and is left as it is", path.display()));
            Err(problem.help("choose another name").into())
        }
        other => other.map(drop).map_err(|e| not_written(path, &e)),
    }
}

/// A folder to write into, made and tried before anybody waits for what is to be written.
pub struct Folder<'a>(&'a Path);

impl Folder<'_> {
    /// Makes the folder, and those above it, and sees that files can be written there.
    pub fn open(path: &Path) -> Result<Folder<'_>> {
        std::fs::create_dir_all(path).map_err(|e| {
            let problem =
                Problem::new(format!("the folder {} cannot be made: {}", path.display(), reason(&e)));
            problem.help("choose another with --out")
        })?;
        tempfile::tempfile_in(path).map_err(|e| {
            let problem =
                Problem::new(format!("nothing can be written into {}: {}", path.display(), reason(&e)));
            problem.help("choose another folder with --out")
        })?;
        Ok(Folder(path))
    }

    /// Its path, to be shown.
    pub fn display(&self) -> std::path::Display<'_> {
        self.0.display()
    }

    /// Writes files of these names, side by side, since each waits for the disk.
    pub fn write(&self, files: &[(String, Vec<u8>)]) -> Result<()> {
        files.par_iter().try_for_each(|(name, bytes)| {
            let path = self.0.join(name);
            let moved = beside(&path, bytes).and_then(|file| Ok(file.persist(&path)?));
            moved.map(drop).map_err(|e| not_written(&path, &e))
        })?;
        synced(self.0).map_err(|e| not_written(self.0, &e))
    }
}

/// The folder that a file lies in.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// New names must outlast a loss of power, too.
fn synced(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// A file that nobody else writes meanwhile.
#[cfg_attr(not(unix), expect(dead_code, reason = "held until it is dropped"))]
pub struct Held {
    file: File,
    name: PathBuf,
}

/// Keeps other runs of this program from writing a file, until what is returned is dropped.
///
/// What is locked is an empty file beside it, since the file itself is replaced and not written. The lock is the system's and
/// belongs to the running program: one that dies lets go of it. A folder of another computer that knows no locks is written
/// in without one.
pub fn held(path: &Path) -> Result<Held> {
    let mut name = path.as_os_str().to_owned();
    name.push(".lock");
    for _ in 0..TRIES {
        let opened = OpenOptions::new().create(true).truncate(false).write(true).open(&name);
        let file = opened.map_err(|e| not_written(path, &e))?;
        match file.try_lock() {
            Ok(()) | Err(TryLockError::Error(_)) => {
                let held = Held { file, name: name.clone().into() };
                if held.is_the_one() {
                    return Ok(held);
                }
            }
            Err(TryLockError::WouldBlock) => std::thread::sleep(PAUSE),
        }
    }
    let problem = Problem::new(format!("somebody else is writing in {}", path.display()))
        .expected("one writer at a time")
        .help("nothing was written; try again in a moment");
    Err(problem.into())
}

#[cfg(unix)]
impl Held {
    /// Whether whoever comes next will find this file: its last holder may have taken it away since it was opened.
    fn is_the_one(&self) -> bool {
        use std::os::unix::fs::MetadataExt;
        let mark = |m: std::fs::Metadata| (m.dev(), m.ino());
        let there = std::fs::metadata(&self.name).map(mark);
        matches!((there, self.file.metadata().map(mark)), (Ok(a), Ok(b)) if a == b)
    }
}

#[cfg(unix)]
impl Drop for Held {
    /// Taken away while it is still locked, so that nothing lies about and nobody holds another in its place.
    fn drop(&mut self) {
        if self.is_the_one() {
            let _ = std::fs::remove_file(&self.name);
        }
    }
}

#[cfg(not(unix))]
impl Held {
    /// Elsewhere the file is left lying, and so is always the one.
    fn is_the_one(&self) -> bool {
        true
    }
}

/// A finished file beside the place it is meant for.
fn beside(path: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let mut file = tempfile::NamedTempFile::new_in(folder_of(path))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    #[cfg(unix)]
    {
        // Temporary files are private; what is written here is meant to be read.
        use std::os::unix::fs::PermissionsExt;
        file.as_file().set_permissions(std::fs::Permissions::from_mode(0o644))?;
    }
    Ok(file)
}

fn not_written(path: &Path, e: &std::io::Error) -> Error {
    // The name of the file that was begun beside it is nobody's concern.
    let inner = e.get_ref().and_then(|wrapped| wrapped.source()?.downcast_ref::<std::io::Error>());
    let e = inner.unwrap_or(e);
    let problem = Problem::new(format!("{} cannot be written: {}", path.display(), reason(e)));
    problem.help("nothing was written; make room on the disk, or choose another place").into()
}
