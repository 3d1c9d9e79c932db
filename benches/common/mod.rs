//! Processor time.

use std::time::Instant;

/// Processor seconds of one run, summed over threads: other work on the machine lengthens the clock's, hardly these.
pub fn spent(run: impl Fn()) -> f64 {
    run();
    let begun = (processor(), Instant::now());
    let mut times = 0;
    // Long enough for hundredths of a second not to matter.
    while times == 0 || begun.1.elapsed().as_secs_f64() < 1.0 {
        run();
        times += 1;
    }
    (processor() - begun.0) / f64::from(times)
}

/// Seconds that this process has been on a processor, booked in hundredths.
pub fn processor() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").expect("a system that books the time of processes");
    let after_name = text.rsplit(')').next().unwrap_or_default();
    // User and system time are the 14th and 15th field, the name the 2nd.
    after_name.split_whitespace().skip(11).take(2).map(|n| n.parse::<f64>().expect("a count")).sum::<f64>()
        / 100.0
}
