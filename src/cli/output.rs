//! Standard output, the width of the terminal, and the time.

use crate::error::{Problem, Result};
use std::io::{ErrorKind, Write};
use std::sync::atomic::{AtomicBool, Ordering};

/// Prints to standard output. A reader that closes the pipe early is not an error.
pub fn print(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    printed(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
}

/// Whether remarks and progress are left out.
static QUIET: AtomicBool = AtomicBool::new(false);

/// Leaves out remarks and progress from now on.
pub fn be_quiet() {
    QUIET.store(true, Ordering::Relaxed);
}

/// Whether remarks and progress are left out.
pub fn is_quiet() -> bool {
    QUIET.load(Ordering::Relaxed)
}

/// Prints a remark, which is not what was asked for, such as where something was written.
pub fn remark(text: &str) -> Result<()> {
    if is_quiet() { Ok(()) } else { print(text) }
}

/// The result of printing, in which a closed pipe is not an error.
pub fn printed(outcome: std::io::Result<()>) -> Result<()> {
    match outcome {
        Err(e) if e.kind() != ErrorKind::BrokenPipe => Err(Problem::new(format!("cannot print: {e}")).into()),
        _ => Ok(()),
    }
}

/// The width of the terminal in characters as the shell reports it, or else 96.
pub fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(96)
}

/// The current time in UTC as a calendar file writes it, such as `20270814T170000Z`.
pub fn stamp() -> String {
    let now = jiff::Timestamp::try_from(std::time::SystemTime::now()).unwrap_or_default();
    now.strftime("%Y%m%dT%H%M%SZ").to_string()
}
