//! Standard output, and what is asked of the system besides files: the width of the terminal, and the time.

use crate::error::{Problem, Result};
use std::io::{ErrorKind, Write};

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

/// The width of the terminal, as the shell tells it.
pub fn width() -> usize {
    std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok()).unwrap_or(96)
}

/// The time now, as a calendar writes it in UTC.
pub fn stamp() -> String {
    let now = jiff::Timestamp::try_from(std::time::SystemTime::now()).unwrap_or_default();
    now.strftime("%Y%m%dT%H%M%SZ").to_string()
}
