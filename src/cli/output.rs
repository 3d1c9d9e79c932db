//! Reading, writing and printing, with nothing half-written.

use crate::error::{Error, Problem, Result, reason};
use crate::report::pdf::Sheet;
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Another writer is waited for this often.
const TRIES: u32 = 1000;
/// And this long each time.
const PAUSE: Duration = Duration::from_millis(5);

/// Prints to standard output. A reader that has seen enough is not an error.
pub fn print(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    printed(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// What came of printing.
pub fn printed(outcome: std::io::Result<()>) -> Result<()> {
    match outcome {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Problem::new(format!("cannot print: {e}")).into()),
        _ => Ok(()),
    }
}

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

/// Writes a file whole or not at all: beside its place first, then moved there.
pub fn write(path: &Path, bytes: &[u8]) -> Result<()> {
    beside(path, bytes).and_then(|file| Ok(file.persist(path)?)).map(drop).map_err(|e| not_written(path, &e))
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
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut file = tempfile::NamedTempFile::new_in(folder)?;
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
    let problem = Problem::new(format!("{} cannot be written: {}", path.display(), reason(e)));
    problem.help("nothing was written; make room on the disk, or choose another place").into()
}

/// Makes a folder, and those above it.
pub fn folder(path: &Path) -> Result<()> {
    std::fs::create_dir_all(path).map_err(|e| {
        let problem = Problem::new(format!("the folder {} cannot be made: {}", path.display(), reason(&e)));
        problem.help("choose another with --out").into()
    })
}

/// The width of the terminal, as the shell tells it.
pub fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(96)
}

/// The time now, as a calendar writes it in UTC.
pub fn stamp() -> String {
    let now = jiff::Timestamp::try_from(std::time::SystemTime::now()).unwrap_or_default();
    now.strftime("%Y%m%dT%H%M%SZ").to_string()
}

/// The sheet that papers are printed on, as it is asked for.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Page {
    A4,
    Letter,
}

impl From<Page> for Sheet {
    fn from(page: Page) -> Sheet {
        match page {
            Page::A4 => Sheet::A4,
            Page::Letter => Sheet::Letter,
        }
    }
}
