//! Four complex numbers side by side, so that four frequencies take little more time than one: the compiler finds
//! instructions for several numbers at once, and none waits for another's division.

use super::phasor::Phasor;

/// How many.
pub(super) const LANES: usize = 4;

/// Four complex numbers.
#[derive(Clone, Copy, Default)]
pub(super) struct Lanes {
    pub(super) re: [f64; LANES],
    pub(super) im: [f64; LANES],
}

impl Lanes {
    pub(super) fn lane(&self, at: usize) -> Phasor {
        Phasor { re: self.re[at], im: self.im[at] }
    }

    /// `steady + jω rising` at four angular frequencies.
    pub(super) fn affine(steady: Phasor, rising: Phasor, omega: &[f64; LANES]) -> Self {
        Self {
            re: omega.map(|omega| steady.re - omega * rising.im),
            im: omega.map(|omega| steady.im + omega * rising.re),
        }
    }

    /// `self − one · other`.
    #[inline(always)]
    pub(super) fn less(&mut self, one: &Self, other: &Self) {
        for at in 0..LANES {
            self.re[at] -= one.re[at] * other.re[at] - one.im[at] * other.im[at];
            self.im[at] -= one.re[at] * other.im[at] + one.im[at] * other.re[at];
        }
    }

    #[inline(always)]
    pub(super) fn times(&self, other: &Self) -> Self {
        let mut product = Self::default();
        for at in 0..LANES {
            product.re[at] = self.re[at] * other.re[at] - self.im[at] * other.im[at];
            product.im[at] = self.re[at] * other.im[at] + self.im[at] * other.re[at];
        }
        product
    }

    /// One over it; no number where it is zero.
    #[inline(always)]
    pub(super) fn inverse(&self) -> Self {
        let mut inverse = Self::default();
        for at in 0..LANES {
            let square = self.re[at] * self.re[at] + self.im[at] * self.im[at];
            inverse.re[at] = self.re[at] / square;
            inverse.im[at] = -self.im[at] / square;
        }
        inverse
    }

    /// The square of each one's amount.
    #[inline(always)]
    pub(super) fn squares(&self) -> [f64; LANES] {
        std::array::from_fn(|at| self.re[at] * self.re[at] + self.im[at] * self.im[at])
    }
}
