//! How far a reading may be off, where the reader says nothing about the meter. Common practice, no source.

/// Volts, on a meter or by what is written in the job.
pub const VOLTMETER: &str = "1 %";

/// A small drop, of which every digit is typed.
pub const DIGITS: &str = "0.5 % + 2 digits";
