//! Reads and writes files, and never leaves one half-written.

use crate::error::{Error, Problem, Result, reason};
use rayon::prelude::*;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How often a lock is tried.
const TRIES: u32 = 1000;
/// The pause between two tries.
const PAUSE: Duration = Duration::from_millis(5);

/// Reads a text file in UTF-8.
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

/// Writes a file completely or not at all: to a temporary file beside it, which then replaces it. A writer that is
/// stopped at any moment leaves the old file or the new one.
pub fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    let moved = beside(path, bytes).and_then(|file| Ok(file.persist(path)?));
    moved.and_then(|_| synced(folder_of(path))).map_err(|e| not_written(path, &e))
}

/// Writes a new file, and fails if there is one of that name.
pub fn create(path: &Path, bytes: &[u8]) -> Result<()> {
    match beside(path, bytes).and_then(|file| Ok(file.persist_noclobber(path)?)) {
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            let problem = Problem::new(format!("{} is there already, and is left as it is", path.display()));
            Err(problem.help("choose another name").into())
        }
        other => other.map(drop).map_err(|e| not_written(path, &e)),
    }
}

/// A folder to write into, made and tried before the work whose results it takes.
pub struct Folder<'a>(&'a Path);

impl Folder<'_> {
    /// Makes the folder and those above it, and checks that files can be written there.
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

    /// The path of the folder, for messages.
    pub fn display(&self) -> std::path::Display<'_> {
        self.0.display()
    }

    /// Writes files with these names, in parallel, since each waits for the disk.
    pub fn write(&self, files: &[(String, Vec<u8>)]) -> Result<()> {
        files.par_iter().try_for_each(|(name, bytes)| {
            let path = self.0.join(name);
            let moved = beside(&path, bytes).and_then(|file| Ok(file.persist(&path)?));
            moved.map(drop).map_err(|e| not_written(&path, &e))
        })?;
        synced(self.0).map_err(|e| not_written(self.0, &e))
    }
}

/// The folder in which a file lies.
fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// Syncs a folder, so that new names in it survive a loss of power.
fn synced(folder: &Path) -> std::io::Result<()> {
    if cfg!(unix) { File::open(folder)?.sync_all() } else { Ok(()) }
}

/// A lock on a file, held until it is dropped.
#[cfg_attr(not(unix), expect(dead_code, reason = "held until it is dropped"))]
pub struct Held {
    file: File,
    name: PathBuf,
}

/// Locks a file against other runs of this program until the returned value is dropped.
///
/// The lock is on an empty file beside it, since the file itself is replaced rather than written. The operating system
/// releases it if the program dies. On a network folder without locks, files are written without one.
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
    /// Whether the lock file is still at its name: its last holder may have removed it after this one opened it.
    fn is_the_one(&self) -> bool {
        use std::os::unix::fs::MetadataExt;
        let mark = |m: std::fs::Metadata| (m.dev(), m.ino());
        let there = std::fs::metadata(&self.name).map(mark);
        matches!((there, self.file.metadata().map(mark)), (Ok(a), Ok(b)) if a == b)
    }
}

#[cfg(unix)]
impl Drop for Held {
    /// Removes the lock file while it is still locked, so that nobody can hold another of that name meanwhile.
    fn drop(&mut self) {
        if self.is_the_one() {
            let _ = std::fs::remove_file(&self.name);
        }
    }
}

#[cfg(not(unix))]
impl Held {
    /// Other systems never remove the lock file, so it is always the one.
    fn is_the_one(&self) -> bool {
        true
    }
}

/// Writes a temporary file in the folder of `path`, ready to replace it.
fn beside(path: &Path, bytes: &[u8]) -> std::io::Result<tempfile::NamedTempFile> {
    let mut file = tempfile::NamedTempFile::new_in(folder_of(path))?;
    file.write_all(bytes)?;
    file.as_file().sync_all()?;
    #[cfg(unix)]
    {
        // Temporary files are private, but the result may be read by others.
        use std::os::unix::fs::PermissionsExt;
        file.as_file().set_permissions(std::fs::Permissions::from_mode(0o644))?;
    }
    Ok(file)
}

/// The error for a file that could not be written.
fn not_written(path: &Path, e: &std::io::Error) -> Error {
    // The name of the file that was begun beside it is nobody's concern.
    let inner = e.get_ref().and_then(|wrapped| wrapped.source()?.downcast_ref::<std::io::Error>());
    let e = inner.unwrap_or(e);
    let problem = Problem::new(format!("{} cannot be written: {}", path.display(), reason(e)));
    problem.help("nothing was written; make room on the disk, or choose another place").into()
}
