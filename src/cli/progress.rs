//! A word on what takes a while: one line on the terminal that erases itself, and never a letter in a file or a pipe.

use super::output;
use std::io::{IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// What is over sooner is not worth a word.
const PATIENCE: Duration = Duration::from_millis(500);

/// Does some work; if it takes longer than a moment, says what is being done and for how long.
pub fn during<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if !std::io::stderr().is_terminal() {
        return work();
    }
    let (done, over) = channel::<()>();
    std::thread::scope(|scope| {
        scope.spawn(move || {
            let began = Instant::now();
            let mut wide = 0;
            while over.recv_timeout(PATIENCE) == Err(RecvTimeoutError::Timeout) {
                let line = line(what, began.elapsed().as_secs(), output::width());
                wide = line.chars().count();
                say(&format!("\r{line}"));
            }
            // Blanks erase it on any terminal, in colour or not.
            if wide > 0 {
                say(&format!("\r{}\r", " ".repeat(wide)));
            }
        });
        let result = work();
        drop(done);
        result
    })
}

/// The line, no wider than the terminal: one that wraps cannot be erased.
fn line(what: &str, seconds: u64, width: usize) -> String {
    let line = if seconds == 0 { format!("{what} ...") } else { format!("{what} ... {seconds} s") };
    line.chars().take(width.saturating_sub(1)).collect()
}

fn say(words: &str) {
    let mut terminal = std::io::stderr().lock();
    let _ = terminal.write_all(words.as_bytes()).and_then(|()| terminal.flush());
}

#[cfg(test)]
mod tests {
    use super::line;

    #[test]
    fn a_line_never_wraps() {
        assert_eq!(line("Planning", 0, 80), "Planning ...");
        assert_eq!(line("Planning", 12, 80), "Planning ... 12 s");
        assert_eq!(line("Planning", 12, 10), "Planning ");
    }
}
