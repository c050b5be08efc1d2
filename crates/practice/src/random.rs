//! The generator that every draw comes from: small, seeded, the same numbers on every machine.

/// `SplitMix64` (Steele, Lea, Flood: Fast splittable pseudorandom number generators, OOPSLA 2014).
///
/// It is no secret generator: who knows the seed knows the questions, which is what a shared set needs.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SplitMix64 {
    state: u64,
}

impl SplitMix64 {
    /// A generator that starts from `seed`; equal seeds give equal numbers.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// A generator for the thing numbered `stream` that the seed is also used for: streams of one seed have nothing in
    /// common.
    #[must_use]
    pub fn stream(seed: u64, stream: u64) -> Self {
        let mut start = Self::new(stream);
        Self::new(seed ^ start.bits())
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number from 0 (included) to 1 (not included), in steps of 2⁻³².
    pub fn unit(&mut self) -> f64 {
        f64::from(self.high()) / 4_294_967_296.0
    }

    /// A number from `low` to `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// A whole number below `count`; 0 for a count of 0.
    pub fn below(&mut self, count: usize) -> usize {
        let count = u64::try_from(count).unwrap_or(u64::MAX);
        // Multiply and shift: the bias is below 2⁻³² for the short lists chosen from here.
        let drawn = (u64::from(self.high()) * (count & u64::from(u32::MAX))) >> 32;
        usize::try_from(drawn).unwrap_or(0)
    }

    /// True in `share` (0 to 1) of all draws.
    pub fn chance(&mut self, share: f64) -> bool {
        self.unit() < share
    }

    /// −1 or 1.
    pub fn sign(&mut self) -> f64 {
        if self.chance(0.5) { 1.0 } else { -1.0 }
    }

    /// One of the items; `None` of none.
    pub fn pick<'a, T>(&mut self, items: &'a [T]) -> Option<&'a T> {
        items.get(self.below(items.len()))
    }

    /// Puts the items into a random order (Fisher and Yates).
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }

    fn high(&mut self) -> u32 {
        u32::try_from(self.bits() >> 32).unwrap_or(u32::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of seed 1234567, from memory of the author's reference program.
    #[test]
    fn the_numbers_are_those_of_the_reference_program() {
        let mut random = SplitMix64::new(1_234_567);
        for wanted in [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ] {
            assert_eq!(random.bits(), wanted);
        }
    }

    #[test]
    fn draws_stay_in_range_and_reach_all_of_it() {
        let mut random = SplitMix64::new(7);
        let mut hits = [0_u32; 5];
        for _ in 0..5000 {
            hits[random.below(5)] += 1;
            let number = random.between(-2.0, 3.0);
            assert!((-2.0..3.0).contains(&number), "{number}");
        }
        // A fair draw gives 1000 ± 28; five such widths either way.
        assert!(hits.iter().all(|hit| (860..1140).contains(hit)), "{hits:?}");
        assert_eq!(random.below(0), 0, "nothing to choose from");
    }
}
