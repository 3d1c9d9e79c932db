//! Standard output, the width of the terminal, and the time.

use crate::error::{Problem, Result};
use std::io::{ErrorKind, Write};

/// Prints to standard output. A reader that closes the pipe early is not an error.
pub fn print(text: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    printed(out.write_all(text.as_bytes()).and_then(|()| out.flush()))
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
