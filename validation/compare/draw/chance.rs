//! Numbers that are the same in every run: splitmix64 (Steele, Lea & Flood 2014, OOPSLA), normal ones by Box & Muller's
//! transform.

/// A sequence that its seed fixes.
pub struct Random(pub u64);

impl Random {
    /// The sequence of one of many, such as a row of a picture, independent of the order in which they are drawn.
    pub fn of(seed: u64, item: usize) -> Random {
        let mut first = Random(seed);
        let stir = first.next();
        let mut own = Random(stir ^ (item as u64).wrapping_mul(0xd6e8_feb8_6659_fd93));
        own.next();
        own
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Uniform on [0, 1).
    pub fn uniform(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Uniform between two limits.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// Two independent normal numbers of mean 0 and variance 1.
    pub fn normals(&mut self) -> [f64; 2] {
        let size = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        let (sin, cos) = (std::f64::consts::TAU * self.uniform()).sin_cos();
        [size * cos, size * sin]
    }

    /// A normal number of mean 0 and variance 1.
    pub fn normal(&mut self) -> f64 {
        self.normals()[0]
    }
}
