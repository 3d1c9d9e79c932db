//! Random numbers that are a pure function of (seed, stream, group, column, row).
//!
//! They are counter-based, so what is compared can share its numbers, any part can be drawn on any thread, and the same seed
//! gives the same bits everywhere. They are stratified: each column takes every one of `n` equal slices of (0, 1) once, in a
//! random order, so that even a small sample covers the whole range evenly.

use super::dispatch::widest;
use std::convert::Infallible;

/// One block of the Philox4x32-10 generator.
///
/// # Source
/// Salmon, Moraes, Dror & Shaw (2011), "Parallel random numbers: as easy as 1, 2, 3"; checked against the published
/// known-answer vectors.
#[inline(always)]
pub fn philox(mut counter: [u32; 4], mut key: [u32; 2]) -> [u32; 4] {
    for _ in 0..10 {
        let a = u64::from(counter[0]) * 0xD251_1F53;
        let b = u64::from(counter[2]) * 0xCD9E_8D57;
        counter = [
            (b >> 32) as u32 ^ counter[1] ^ key[0],
            b as u32,
            (a >> 32) as u32 ^ counter[3] ^ key[1],
            a as u32,
        ];
        key = [key[0].wrapping_add(0x9E37_79B9), key[1].wrapping_add(0xBB67_AE85)];
    }
    counter
}

/// A seed and a stream. Different streams of a seed are independent.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    /// The seed that the user gave.
    pub seed: u64,
    /// Which of the seed's streams.
    pub stream: u32,
}

impl Key {
    /// The stream that belongs to a name, such as a flower's id.
    pub fn named(seed: u64, name: &str) -> Key {
        // FNV-1a: short, stable, and good enough to tell 120 names apart.
        let stream = name.bytes().fold(0x811C_9DC5u32, |h, b| (h ^ u32::from(b)).wrapping_mul(0x0100_0193));
        Key { seed, stream }
    }

    #[inline(always)]
    fn block(self, a: u32, b: u32, c: u32) -> [u32; 4] {
        philox([self.stream, a, b, c], [self.seed as u32, (self.seed >> 32) as u32])
    }

    /// Uniform numbers in (0, 1), one in each of `n` equal slices, in random order.
    fn stratified(self, group: u32, column: u32, n: usize) -> Vec<f64> {
        let mut draws = vec![0.0; n];
        // Each number's place, behind the two random words that it is sorted by.
        let mut order = vec![0; n];
        widest(
            #[inline(always)]
            || {
                for (i, (draw, order)) in draws.iter_mut().zip(&mut order).enumerate() {
                    let [first, second, third, _] = self.block(group, column, i as u32);
                    *draw = (f64::from(third) + 0.5) / 4_294_967_296.0;
                    *order = u128::from(first) << 96 | u128::from(second) << 64 | i as u128;
                }
            },
        );
        order.sort_unstable();
        for (slice, place) in order.into_iter().enumerate() {
            let draw = &mut draws[place as u64 as usize];
            *draw = (slice as f64 + *draw) / n as f64;
        }
        draws
    }

    /// A table of stratified uniform numbers with `N` columns, by row.
    pub fn rows<const N: usize>(self, rows: usize) -> Vec<[f64; N]> {
        let columns: [Vec<f64>; N] = std::array::from_fn(|c| self.stratified(u32::MAX, c as u32, rows));
        (0..rows).map(|r| std::array::from_fn(|c| columns[c][r])).collect()
    }

    /// The table of one group, with `COLUMNS` columns of `ROWS` stratified uniform numbers, by column. Groups below
    /// `u32::MAX` do not share numbers with each other or with [`Key::rows`].
    pub fn columns<const ROWS: usize, const COLUMNS: usize>(self, group: usize) -> [[f64; ROWS]; COLUMNS] {
        std::array::from_fn(|c| {
            let column = self.stratified(group as u32, c as u32, ROWS);
            std::array::from_fn(|r| column[r])
        })
    }

    /// [`Key::rows`] with a number of columns that is known only at run time.
    pub fn table(self, columns: usize, rows: usize) -> Vec<Vec<f64>> {
        let drawn: Vec<Vec<f64>> = (0..columns).map(|c| self.stratified(u32::MAX, c as u32, rows)).collect();
        (0..rows).map(|r| drawn.iter().map(|column| column[r]).collect()).collect()
    }

    /// A sequential generator, for distributions of `rand_distr`.
    pub fn generator(self, group: u32) -> Generator {
        Generator { key: self, group, next: 0, block: [0; 4] }
    }
}

/// A sequential view of a [`Key`], for distributions of `rand_distr`.
#[derive(Debug, Clone)]
pub struct Generator {
    key: Key,
    group: u32,
    next: u32,
    block: [u32; 4],
}

impl rand::TryRng for Generator {
    type Error = Infallible;

    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        let i = self.next % 4;
        if i == 0 {
            self.block = self.key.block(self.group, u32::MAX, self.next / 4);
        }
        self.next += 1;
        Ok(self.block[i as usize])
    }

    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        let low = u64::from(self.try_next_u32()?);
        Ok(low | u64::from(self.try_next_u32()?) << 32)
    }

    fn try_fill_bytes(&mut self, bytes: &mut [u8]) -> Result<(), Infallible> {
        for chunk in bytes.chunks_mut(4) {
            let word = self.try_next_u32()?.to_le_bytes();
            chunk.copy_from_slice(&word[..chunk.len()]);
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn philox_gives_the_published_answers() {
        // Known-answer vectors published with the Random123 library (Salmon et al. 2011).
        assert_eq!(philox([0; 4], [0; 2]), [0x6627_e8d5, 0xe169_c58d, 0xbc57_ac4c, 0x9b00_dbd8]);
        assert_eq!(
            philox([0xffff_ffff; 4], [0xffff_ffff; 2]),
            [0x408f_276d, 0x41c8_3b0e, 0xa20b_c7c6, 0x6d54_51fd]
        );
        assert_eq!(
            philox([0x243f_6a88, 0x85a3_08d3, 0x1319_8a2e, 0x0370_7344], [0xa409_3822, 0x299f_31d0]),
            [0xd16c_fe09, 0x94fd_cceb, 0x5001_e420, 0x2412_6ea1]
        );
    }

    #[test]
    fn each_slice_is_taken_once() {
        let key = Key::named(7, "rose");
        let mut slices: Vec<usize> = key.stratified(3, 1, 32).iter().map(|u| (u * 32.0) as usize).collect();
        slices.sort_unstable();
        assert_eq!(slices, (0..32).collect::<Vec<_>>());
        assert_ne!(key.columns::<32, 6>(0), key.columns::<32, 6>(1));
    }
}
