//! Numbers that stand for what a file holds, so that the same event has the same identifiers on every computer.

/// A number that stands for some bytes.
///
/// # Source
/// FNV-1a, 64 bits (Fowler, Noll and Vo 1991, from memory).
pub fn mark(bytes: impl Iterator<Item = u8>) -> u64 {
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}
