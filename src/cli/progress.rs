//! Progress of long work: a line on the terminal that erases itself. Nothing is written to files or pipes.

use super::output;
use std::io::{IsTerminal, Write};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// The time after which progress is shown, and then updated.
const PATIENCE: Duration = Duration::from_millis(500);

/// Does some work and, if it takes longer than [`PATIENCE`], shows what is being done and for how long.
pub fn during<T>(what: &str, work: impl FnOnce() -> T) -> T {
    if output::is_quiet() || !std::io::stderr().is_terminal() {
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
            // Blanks erase the line on any terminal.
            if wide > 0 {
                say(&format!("\r{}\r", " ".repeat(wide)));
            }
        });
        let result = work();
        drop(done);
        result
    })
}

/// The progress line, narrower than the terminal, because a line that wraps cannot be erased.
fn line(what: &str, seconds: u64, width: usize) -> String {
    let line = if seconds == 0 { format!("{what} ...") } else { format!("{what} ... {seconds} s") };
    line.chars().take(width.saturating_sub(1)).collect()
}

/// Writes words to the terminal at once.
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
