//! Four complex numbers side by side, so that four frequencies take little more time than one: the compiler finds
//! instructions for several numbers at once, and none waits for another's division.

use super::phasor::Phasor;

/// How many frequencies are worked out side by side.
pub(super) const LANES: usize = 4;

/// The same for each lane, written out four times: optimised for size, as the book's WebAssembly is, the compiler leaves
/// a loop a loop, and a sweep takes half as long again.
macro_rules! each {
    (|$lane:ident| $value:expr) => {
        [
            {
                const $lane: usize = 0;
                $value
            },
            {
                const $lane: usize = 1;
                $value
            },
            {
                const $lane: usize = 2;
                $value
            },
            {
                const $lane: usize = 3;
                $value
            },
        ]
    };
}

/// Four complex numbers, one for each of four frequencies that are solved side by side.
#[derive(Clone, Copy, Default)]
pub(super) struct Complex4 {
    pub(super) re: [f64; LANES],
    pub(super) im: [f64; LANES],
}

impl Complex4 {
    pub(super) fn lane(&self, at: usize) -> Phasor {
        Phasor { re: self.re[at], im: self.im[at] }
    }

    /// `steady + jω rising` at four angular frequencies.
    #[inline(always)]
    pub(super) fn affine(steady: Phasor, rising: Phasor, omega: &[f64; LANES]) -> Self {
        Self {
            re: each!(|I| steady.re - omega[I] * rising.im),
            im: each!(|I| steady.im + omega[I] * rising.re),
        }
    }

    /// `self − one · other`.
    #[inline(always)]
    pub(super) fn less(&self, one: &Self, other: &Self) -> Self {
        Self {
            re: each!(|I| self.re[I] - (one.re[I] * other.re[I] - one.im[I] * other.im[I])),
            im: each!(|I| self.im[I] - (one.re[I] * other.im[I] + one.im[I] * other.re[I])),
        }
    }

    #[inline(always)]
    pub(super) fn times(&self, other: &Self) -> Self {
        Self {
            re: each!(|I| self.re[I] * other.re[I] - self.im[I] * other.im[I]),
            im: each!(|I| self.re[I] * other.im[I] + self.im[I] * other.re[I]),
        }
    }

    /// One over it; no number where it is zero.
    #[inline(always)]
    pub(super) fn inverse(&self) -> Self {
        let squares = self.squares();
        Self { re: each!(|I| self.re[I] / squares[I]), im: each!(|I| -self.im[I] / squares[I]) }
    }

    /// The square of each one's amount.
    #[inline(always)]
    pub(super) fn squares(&self) -> [f64; LANES] {
        each!(|I| self.re[I] * self.re[I] + self.im[I] * self.im[I])
    }

    /// The sum of the amounts of its two shares: nearly its own, and soon worked out.
    #[inline(always)]
    pub(super) fn sizes(&self) -> [f64; LANES] {
        each!(|I| self.re[I].abs() + self.im[I].abs())
    }
}

/// The larger of each two; what is no number counts as larger, and stays.
#[inline(always)]
pub(super) fn larger(one: &[f64; LANES], other: &[f64; LANES]) -> [f64; LANES] {
    each!(|I| if other[I] <= one[I] { one[I] } else { other[I] })
}

/// The sum of each two.
#[inline(always)]
pub(super) fn sum(one: &[f64; LANES], other: &[f64; LANES]) -> [f64; LANES] {
    each!(|I| one[I] + other[I])
}
