//! A voltage that swings: amplitude and phase in one.

use std::ops::{Add, Mul, Sub};

/// A complex amplitude, in V.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Phasor {
    /// The share in phase.
    pub re: f64,
    /// The share a quarter period ahead.
    pub im: f64,
}

impl Phasor {
    /// The square of the amplitude.
    #[must_use]
    pub fn square(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    /// Its amount: the amplitude of the signal that it represents.
    #[must_use]
    pub fn amplitude(self) -> f64 {
        libm::hypot(self.re, self.im)
    }

    /// The level against 1 V, `20 lg |v|`; none where there is no voltage at all.
    #[must_use]
    pub fn decibels(self) -> Option<f64> {
        let level = 20.0 * libm::log10(self.amplitude());
        level.is_finite().then_some(level)
    }

    /// The phase, from −180° to 180°; none where there is no voltage at all.
    #[must_use]
    pub fn degrees(self) -> Option<f64> {
        (self.square() > 0.0).then(|| libm::atan2(self.im, self.re).to_degrees())
    }

    /// The ratio to another voltage; none if that is none.
    #[must_use]
    pub fn over(self, other: Self) -> Option<Self> {
        let ratio = self * other.inverse();
        (ratio.re.is_finite() && ratio.im.is_finite()).then_some(ratio)
    }

    /// Times a plain number.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self { re: self.re * factor, im: self.im * factor }
    }

    /// One over it; no number if it is zero.
    #[must_use]
    pub fn inverse(self) -> Self {
        let inverse = 1.0 / self.square();
        Self { re: self.re * inverse, im: -self.im * inverse }
    }
}

impl Add for Phasor {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { re: self.re + other.re, im: self.im + other.im }
    }
}

impl Sub for Phasor {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { re: self.re - other.re, im: self.im - other.im }
    }
}

impl Mul for Phasor {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        Self { re: self.re * other.re - self.im * other.im, im: self.re * other.im + self.im * other.re }
    }
}
