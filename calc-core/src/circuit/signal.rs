//! What a source gives: a steady value, a course in time, and the amplitude that a sweep of frequencies uses.

use std::marker::PhantomData;

use crate::quantity::{Angle, Frequency, Quantity, Time};

/// What a source gives, in volts or amperes.
///
/// The operating point takes the steady value (what a step begins with, what a sine swings round), a sweep of
/// frequencies the amplitude given by [`Signal::ac`], in time the steps or the sine.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal<Q> {
    pub(super) form: Form,
    quantity: PhantomData<Q>,
}

/// A [`Signal`] without its unit, in SI.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Form {
    pub(super) steady: f64,
    /// Amplitude, and phase in degrees.
    pub(super) ac: (f64, f64),
    pub(super) shape: Shape,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Shape {
    Steady,
    /// Times in s, rising, and the value from each on.
    Steps(Vec<(f64, f64)>),
    /// Amplitude and frequency in Hz; begins at time 0 with the steady value.
    Sine(f64, f64),
}

impl<Q: Quantity> Signal<Q> {
    fn new(steady: Q, shape: Shape) -> Self {
        Self { form: Form { steady: steady.si(), ac: (0.0, 0.0), shape }, quantity: PhantomData }
    }

    /// A source that gives the same at every time, and nothing to a sweep.
    #[must_use]
    pub fn dc(value: Q) -> Self {
        Self::new(value, Shape::Steady)
    }

    /// Steps: `before` until the first time, then each value from its time on. A step at time 0 shows how a network
    /// comes up from `before`.
    #[must_use]
    pub fn steps(before: Q, steps: &[(Time, Q)]) -> Self {
        Self::new(before, Shape::Steps(steps.iter().map(|(time, value)| (time.si(), value.si())).collect()))
    }

    /// A sine from time 0 on: `offset + amplitude · sin(2π · frequency · t)`.
    #[must_use]
    pub fn sine(offset: Q, amplitude: Q, frequency: Frequency) -> Self {
        Self::new(offset, Shape::Sine(amplitude.si(), frequency.si()))
    }

    /// The same with an amplitude for sweeps of frequency, at phase 0.
    #[must_use]
    pub fn ac(self, amplitude: Q) -> Self {
        self.ac_at(amplitude, Angle::of(0.0))
    }

    /// The same with an amplitude and phase for sweeps of frequency.
    #[must_use]
    pub fn ac_at(mut self, amplitude: Q, phase: Angle) -> Self {
        self.form.ac = (amplitude.si(), phase.si());
        self
    }
}

impl<Q: Quantity> From<Q> for Signal<Q> {
    fn from(value: Q) -> Self {
        Self::dc(value)
    }
}

impl Form {
    /// The value at a time. At the very time of a step it is still the value before it.
    pub(super) fn at(&self, time: f64) -> f64 {
        match &self.shape {
            Shape::Steady => self.steady,
            Shape::Sine(amplitude, frequency) => {
                self.steady + amplitude * libm::sin(std::f64::consts::TAU * frequency * time)
            }
            Shape::Steps(steps) => {
                steps.iter().rfind(|step| step.0 < time).map_or(self.steady, |step| step.1)
            }
        }
    }

    /// The first of its numbers that is none, or that is out of order.
    pub(super) fn wrong(&self) -> Option<(&'static str, f64, &'static str)> {
        let finite = |what, value: f64| (!value.is_finite()).then_some((what, value, "a number"));
        let own = finite("steady value", self.steady)
            .or_else(|| finite("amplitude", self.ac.0))
            .or_else(|| finite("phase", self.ac.1));
        own.or_else(|| match &self.shape {
            Shape::Steady => None,
            Shape::Sine(amplitude, frequency) => finite("amplitude", *amplitude).or_else(|| {
                let ok = frequency.is_finite() && *frequency >= 0.0;
                (!ok).then_some(("frequency", *frequency, "a number, 0 or more"))
            }),
            Shape::Steps(steps) => {
                let value = steps.iter().find_map(|(_, value)| finite("value after a step", *value));
                let times = steps.iter().map(|(time, _)| *time);
                let mut last = f64::NEG_INFINITY;
                let disorder = |time: &f64| {
                    let ok = time.is_finite() && *time >= 0.0 && *time > last;
                    last = *time;
                    !ok
                };
                let time = { times }.find(disorder);
                value.or_else(|| {
                    time.map(|time| ("time of a step", time, "0 or more, and later than the step before"))
                })
            }
        })
    }
}
