//! Processor time, and time by the clock.

use std::time::Instant;

/// Seconds of one run.
pub struct Spent {
    /// Of processors, summed over threads: other work on the machine hardly lengthens these.
    pub processor: f64,
    /// By the clock.
    #[allow(dead_code, reason = "not every bench asks for it")]
    pub clock: f64,
}

/// What one run takes.
pub fn spent(run: impl Fn()) -> Spent {
    run();
    let begun = (processor(), Instant::now());
    let mut times = 0;
    // Long enough for hundredths of a second not to matter.
    while times == 0 || begun.1.elapsed().as_secs_f64() < 1.0 {
        run();
        times += 1;
    }
    let times = f64::from(times);
    Spent { processor: (processor() - begun.0) / times, clock: begun.1.elapsed().as_secs_f64() / times }
}

/// Seconds that this process has been on a processor, booked in hundredths.
pub fn processor() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").expect("a system that books the time of processes");
    let after_name = text.rsplit(')').next().unwrap_or_default();
    // User and system time are the 14th and 15th field, the name the 2nd.
    after_name.split_whitespace().skip(11).take(2).map(|n| n.parse::<f64>().expect("a count")).sum::<f64>()
        / 100.0
}
