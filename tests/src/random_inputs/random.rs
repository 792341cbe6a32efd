//! Random numbers that come again with their seed.

/// The generator xorshift64* (Vigna 2016): small, and good enough to choose inputs by.
#[derive(Debug, Clone)]
pub struct Random(u64);

impl Random {
    /// The numbers that belong to a seed.
    #[must_use]
    pub fn seeded(seed: u64) -> Self {
        // Seeds that differ by one begin far apart, and none at zero, where it would stay.
        let mixed = (seed ^ 0x9E37_79B9_7F4A_7C15).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        Self((mixed ^ (mixed >> 31)) | 1)
    }

    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    /// From 0 up to 1.
    pub fn share(&mut self) -> f64 {
        // The upper 53 bits, which an `f64` holds exactly.
        #[expect(clippy::cast_precision_loss)]
        let bits = (self.next() >> 11) as f64;
        bits / (1_u64 << 53) as f64
    }

    /// Evenly between two numbers.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.share()
    }

    /// Between two positive numbers, each decade as often as any other.
    pub fn over_decades(&mut self, low: f64, high: f64) -> f64 {
        low * libm::pow(high / low, self.share())
    }

    /// Whether something that happens so often happens now.
    pub fn happens(&mut self, how_often: f64) -> bool {
        self.share() < how_often
    }

    /// One of several.
    ///
    /// # Panics
    /// When there is none.
    pub fn one_of<'s, T>(&mut self, several: &'s [T]) -> &'s T {
        &several[self.place(several.len())]
    }

    /// A place from 0 to below `places`.
    pub fn place(&mut self, places: usize) -> usize {
        usize::try_from(self.next() % places.max(1) as u64).unwrap_or(0)
    }
}
