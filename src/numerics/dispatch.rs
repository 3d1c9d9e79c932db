//! Loops compiled for the widest instructions that the processor has.
//!
//! A loop of arithmetic is compiled three times: for any processor of its kind, for those that handle four doubles at a time,
//! and for those that handle eight. Every operation rounds the same way in all three, and a multiplication and an addition
//! are fused only where the source says so. All three therefore give the same bits.
//!
//! This is the only file that asks the processor what it can do, and the only one with unsafe code.

use std::sync::OnceLock;

/// How many doubles are handled at a time.
static LANES: OnceLock<u8> = OnceLock::new();

/// Limits the program to that many doubles at a time (8, 4 or 1), so that the three versions can be compared on one machine.
/// It must be called before the first [`widest`]; later it does nothing.
pub fn at_most(lanes: u8) {
    let _ = LANES.set(found().min(lanes));
}

/// How many doubles this processor handles at a time, of the versions that were compiled.
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

/// For other processors one version is compiled.
#[cfg(not(target_arch = "x86_64"))]
fn found() -> u8 {
    1
}

/// Runs `work` compiled for the widest instructions that this processor has.
///
/// Only what is inlined into `work` is compiled for them: pass `#[inline(always)] || ...`, and mark the functions that it
/// calls `#[inline(always)]`, too.
///
/// ```
/// use headwater::numerics::dispatch::widest;
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
            // SAFETY: `found` has asked the processor for every feature that these two are compiled with.
            8.. => return unsafe { eight_at_a_time(work) },
            4.. => return unsafe { four_at_a_time(work) },
            _ => {}
        }
    }
    work()
}
