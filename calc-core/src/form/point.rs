//! A point of a list, as it was read.

/// A point, in SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Where it was read, a number for each place.
    pub at: Vec<f64>,
    /// What was read there; shorter where something optional was not.
    pub read: Vec<f64>,
}

impl Point {
    /// The first place and the first reading, of a list that has one of each.
    #[must_use]
    pub fn pair(&self) -> (f64, f64) {
        let first = |numbers: &[f64]| numbers.first().copied().unwrap_or_default();
        (first(&self.at), first(&self.read))
    }
}
