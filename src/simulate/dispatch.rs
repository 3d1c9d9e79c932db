//! The one place where the program asks what the processor can do.
//!
//! A loop of arithmetic is compiled twice, for any processor and for those that do four doubles at a time. Each operation
//! rounds alike in both, and none is fused with another, so both give the same bits.

/// Does some work with the widest instructions that this processor has. The work must be inlined here to gain from it:
/// give it as `#[inline(always)] || ...`, made of functions that are themselves inlined.
///
/// ```
/// use headwater::simulate::dispatch::widest;
/// assert_eq!(widest(#[inline(always)] || 6.0 * 7.0), 42.0);
/// ```
#[cfg(target_arch = "x86_64")]
#[allow(unsafe_code)]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    #[target_feature(enable = "avx2")]
    fn four_at_a_time<R>(work: impl FnOnce() -> R) -> R {
        work()
    }
    if is_x86_feature_detected!("avx2") {
        // SAFETY: the processor has what the function is compiled for; that was asked just now.
        unsafe { four_at_a_time(work) }
    } else {
        work()
    }
}

/// Other processors do what they can of themselves.
#[cfg(not(target_arch = "x86_64"))]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    work()
}
