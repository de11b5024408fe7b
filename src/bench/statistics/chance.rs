//! Random numbers of its own: the same on every machine and for any number of threads.

/// A 64-bit generator (splitmix64: Steele, Lea & Flood 2014, Proc. OOPSLA, 453).
#[derive(Debug, Clone)]
pub struct Chance {
    state: u64,
}

impl Chance {
    /// A sequence for each seed.
    pub fn new(seed: u64) -> Self {
        Chance { state: seed }
    }

    /// The next number.
    pub fn number(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below a count, which must not be zero.
    pub fn below(&mut self, count: usize) -> usize {
        ((u128::from(self.number()) * count as u128) >> 64) as usize
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The published sequence of seed 1234567, and counts within five standard deviations.
    #[test]
    fn numbers_are_those_of_the_generator() {
        let mut chance = Chance::new(1_234_567);
        assert_eq!([chance.number(), chance.number()], [6_457_827_717_110_365_317, 3_203_168_211_198_807_973]);
        let mut counts = [0; 7];
        (0..7000).for_each(|_| counts[chance.below(7)] += 1);
        assert!(counts.iter().all(|&count: &i32| (count - 1000).abs() < 150), "{counts:?}");
    }
}
