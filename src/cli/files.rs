//! Reads and writes files, and never leaves one half-written.

use crate::error::{Error, Problem, Result, reason};
use rayon::prelude::*;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Read, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How often a lock is tried.
const TRIES: u32 = 1000;
/// The pause between two tries.
const PAUSE: Duration = Duration::from_millis(5);

/// The name that stands for standard input.
pub const STDIN: &str = "-";
/// A text of more bytes is nobody's event and nobody's log.
const LONGEST: u64 = 256 << 20;

/// Reads a text file, or standard input for `-`.
pub fn read(path: &Path) -> Result<String> {
    let shown = path.display();
    let read = if path.as_os_str() == STDIN {
        let mut bytes = Vec::new();
        std::io::stdin().lock().take(LONGEST).read_to_end(&mut bytes).and_then(|_| decoded(bytes, false))
    } else {
        bytes(path, false).and_then(|bytes| decoded(bytes, false))
    };
    read.map_err(|e| match e.kind() {
        ErrorKind::InvalidData => {
            Problem::new(format!("{shown} is not a text file")).help("save it as plain text in UTF-8").into()
        }
        _ => {
            let problem = Problem::new(format!("{shown} cannot be read: {}", reason(&e)));
            problem.help("check the name, or write a fresh file with: headwater new NAME.toml").into()
        }
    })
}

/// Reads a logger's file, which may be written in an older way than UTF-8; a pipe or a device, which may never end, is
/// refused.
pub fn log(path: &Path) -> std::io::Result<String> {
    bytes(path, true).and_then(|bytes| decoded(bytes, true))
}

fn bytes(path: &Path, only_files: bool) -> std::io::Result<Vec<u8>> {
    let what = std::fs::metadata(path)?;
    let endless = if only_files { !what.is_file() && !what.is_dir() } else { is_device(&what) };
    if endless {
        return Err(std::io::Error::other("it is no file but a pipe or a device"));
    }
    if what.len() > LONGEST {
        return Err(std::io::Error::other("it is longer than any such file"));
    }
    std::fs::read(path)
}

#[cfg(unix)]
fn is_device(what: &std::fs::Metadata) -> bool {
    use std::os::unix::fs::FileTypeExt;
    what.file_type().is_char_device() || what.file_type().is_block_device()
}

#[cfg(not(unix))]
fn is_device(_: &std::fs::Metadata) -> bool {
    false
}

/// The text of bytes in UTF-8, or in UTF-16 with its mark, as spreadsheets and some editors write it; `any`: or else in
/// Latin-1, in which older loggers write the degree sign.
fn decoded(bytes: Vec<u8>, any: bool) -> std::io::Result<String> {
    let wide = |of: fn([u8; 2]) -> u16| {
        let units: Vec<u16> = bytes[2..].chunks_exact(2).map(|pair| of([pair[0], pair[1]])).collect();
        String::from_utf16(&units).map_err(|_| ErrorKind::InvalidData.into())
    };
    match bytes.as_slice() {
        [0xff, 0xfe, ..] => wide(u16::from_le_bytes),
        [0xfe, 0xff, ..] => wide(u16::from_be_bytes),
        _ => match String::from_utf8(bytes) {
            Err(e) if any && !e.as_bytes().contains(&0) => {
                Ok(e.as_bytes().iter().map(|b| char::from(*b)).collect())
            }
            Err(_) => Err(ErrorKind::InvalidData.into()),
            Ok(text) => Ok(text.strip_prefix('\u{feff}').map_or(text.clone(), str::to_string)),
        },
    }
}

/// Writes a file completely or not at all: to a temporary file beside it, which then replaces it. A writer that is
/// stopped at any moment leaves the old file or the new one.
///
/// What the file is stays: who may read it, and where it lies if this is a link to it. One that is marked read-only is left.
pub fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    let real = std::fs::canonicalize(path).unwrap_or_else(|_| path.to_path_buf());
    let moved = beside(&real, bytes).and_then(|file| Ok(file.persist(&real)?));
    moved.and_then(|_| synced(folder_of(&real))).map_err(|e| not_written(path, &e))
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

    /// Writes a set of files with these names; a file of an earlier set that `is_of_set` and is not in this one is taken
    /// away.
    ///
    /// All are written beside the folder first. Where the folder holds nothing but such a set, the two folders then change
    /// places in one step, so that a program that is stopped leaves the old set or the new one. Otherwise each file takes the
    /// place of the one before it.
    pub fn write(&self, files: &[(String, Vec<u8>)], is_of_set: &dyn Fn(&str) -> bool) -> Result<()> {
        let failed = |e: std::io::Error| not_written(self.0, &e);
        // A link to the folder stays one.
        let real = std::fs::canonicalize(self.0).map_err(failed)?;
        let parent = real.parent().unwrap_or(&real);
        clear(parent);
        let mut new = tempfile::Builder::new();
        new.prefix(BEGUN);
        let new = new.tempdir_in(parent).or_else(|_| new.tempdir_in(self.0)).map_err(failed)?;
        files.par_iter().try_for_each(|(name, bytes)| {
            let path = new.path().join(name);
            let written = File::create(&path).and_then(|mut file| {
                file.write_all(bytes)?;
                file.sync_all()?;
                readable_by_all(&file, 0o644)
            });
            written.map_err(|e| not_written(&self.0.join(name), &e))
        })?;
        let is_new = |name: &str| files.iter().any(|(new, _)| new == name);
        let there: Vec<String> = names(self.0).map_err(failed)?;
        if there.iter().all(|name| is_new(name) || is_of_set(name)) && change_places(new.path(), &real) {
            return synced(parent).map_err(failed);
        }
        let mut done: Vec<&str> = Vec::new();
        for (name, _) in files {
            if let Err(e) = std::fs::rename(new.path().join(name), self.0.join(name)) {
                let mut error = not_written(&self.0.join(name), &e);
                if !done.is_empty() {
                    let help = format!("these are new, and the others as they were: {}", done.join(", "));
                    error.problems.iter_mut().for_each(|p| p.help = Some(help.clone()));
                }
                return Err(error);
            }
            done.push(name);
        }
        for old in there.iter().filter(|name| !is_new(name) && is_of_set(name)) {
            std::fs::remove_file(self.0.join(old)).map_err(failed)?;
        }
        synced(self.0).map_err(failed)
    }
}

/// How the names of folders begin in which a set of files is being written.
const BEGUN: &str = ".headwater-";
/// What was begun this long ago was left by a program that was stopped.
const LEFT: Duration = Duration::from_secs(600);

/// Takes away what programs that were stopped have left in a folder.
fn clear(folder: &Path) {
    for entry in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let begun = entry.file_name().to_string_lossy().starts_with(BEGUN);
        let age = entry.metadata().and_then(|m| m.modified()).ok().and_then(|at| at.elapsed().ok());
        if begun && age.is_some_and(|age| age > LEFT) {
            let _ = std::fs::remove_dir_all(entry.path());
        }
    }
}

/// The names of what lies in a folder.
fn names(folder: &Path) -> std::io::Result<Vec<String>> {
    let names = std::fs::read_dir(folder)?.map(|entry| Ok(entry?.file_name().to_string_lossy().into_owned()));
    names.collect()
}

/// Lets two folders change places in one step; `false` where the system cannot.
#[cfg(any(target_os = "linux", target_os = "macos"))]
fn change_places(new: &Path, old: &Path) -> bool {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    let kept = std::fs::metadata(old).and_then(|m| std::fs::set_permissions(new, m.permissions()));
    kept.is_ok() && renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE).is_ok()
}

#[cfg(not(any(target_os = "linux", target_os = "macos")))]
fn change_places(_: &Path, _: &Path) -> bool {
    false
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
    let there = std::fs::metadata(path).ok().map(|m| m.permissions());
    if there.as_ref().is_some_and(std::fs::Permissions::readonly) {
        return Err(std::io::Error::other("it is marked read-only"));
    }
    match there {
        Some(permissions) => file.as_file().set_permissions(permissions)?,
        None => readable_by_all(file.as_file(), 0o644)?,
    }
    Ok(file)
}

/// Temporary files are private, but the result may be read by others.
#[cfg(unix)]
fn readable_by_all(file: &File, mode: u32) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.set_permissions(std::fs::Permissions::from_mode(mode))
}

#[cfg(not(unix))]
fn readable_by_all(_: &File, _: u32) -> std::io::Result<()> {
    Ok(())
}

/// The error for a file that could not be written.
fn not_written(path: &Path, e: &std::io::Error) -> Error {
    // The name of the file that was begun beside it is nobody's concern.
    let inner = e.get_ref().and_then(|wrapped| wrapped.source()?.downcast_ref::<std::io::Error>());
    let e = inner.unwrap_or(e);
    let problem = Problem::new(format!("{} cannot be written: {}", path.display(), reason(e)));
    problem.help("nothing was written; make room on the disk, or choose another place").into()
}
