//! The one place where the program asks what the processor can do.
//!
//! A loop of arithmetic is compiled three times: for any processor, for those that do four doubles at a time, and for
//! those that do eight. Each operation rounds alike in all, and none is fused with another unless that is written, so all
//! give the same bits.

use std::sync::OnceLock;

/// How many doubles are done at a time.
static LANES: OnceLock<u8> = OnceLock::new();

/// Keeps to so many doubles at a time, though the processor could do more, so that the ways can be held against each
/// other on one machine. To be called before anything is worked out: later it does nothing.
pub fn at_most(lanes: u8) {
    let _ = LANES.set(found().min(lanes));
}

/// How many doubles this processor does at a time, as far as the program is compiled for it.
#[cfg(target_arch = "x86_64")]
fn found() -> u8 {
    let four = is_x86_feature_detected!("avx2") && is_x86_feature_detected!("fma");
    let eight = is_x86_feature_detected!("avx512f")
        && is_x86_feature_detected!("avx512dq")
        && is_x86_feature_detected!("avx512vl");
    match (four, eight) {
        (true, true) => 8,
        (true, false) => 4,
        (false, _) => 1,
    }
}

/// Other processors do what they can of themselves.
#[cfg(not(target_arch = "x86_64"))]
fn found() -> u8 {
    1
}

/// Does some work with the widest instructions that this processor has. The work must be inlined here to gain from it:
/// give it as `#[inline(always)] || ...`, made of functions that are themselves inlined.
///
/// ```
/// use headwater::simulate::dispatch::widest;
/// assert_eq!(widest(#[inline(always)] || 6.0 * 7.0), 42.0);
/// ```
#[allow(unsafe_code)]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    #[cfg(target_arch = "x86_64")]
    {
        #[target_feature(enable = "avx2,fma")]
        fn four_at_a_time<R>(work: impl FnOnce() -> R) -> R {
            work()
        }
        #[target_feature(enable = "avx2,fma,avx512f,avx512dq,avx512vl")]
        fn eight_at_a_time<R>(work: impl FnOnce() -> R) -> R {
            work()
        }
        match LANES.get_or_init(found) {
            // SAFETY: the processor has what these are compiled for; it was asked.
            8.. => return unsafe { eight_at_a_time(work) },
            4.. => return unsafe { four_at_a_time(work) },
            _ => {}
        }
    }
    work()
}
