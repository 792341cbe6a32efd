//! How far an answer may be off when its inputs may be off.
//!
//! Each uncertain input is moved down and up by its whole tolerance while all others stay, and the answer is worked out
//! anew. Worst case: the one-sided deviations of all inputs are added, so the interval may be lopsided. Root sum
//! square: the root of the sum of the squares of each input's larger deviation, as JCGM 100:2008 (GUM), 5.1.2, combines
//! independent inputs; correlated ones it would misjudge. No derivative is formed, so a bend within the interval is
//! seen; two inputs moved together are not, which leaves out their product (second order).

/// Which end of its tolerance an input is moved to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// The value less its tolerance.
    Low,
    /// The value plus its tolerance.
    High,
}

/// An answer and how far it may be off, all in one unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Margin {
    /// The answer for the values as typed.
    pub value: f64,
    /// The lowest that the tolerances allow, worst case.
    pub low: f64,
    /// The highest that the tolerances allow, worst case.
    pub high: f64,
    /// Half width by root sum square.
    pub rss: f64,
    /// The uncertain input that moves this answer most, by its place in the order given; `None` when none does.
    pub most: Option<usize>,
    /// The uncertain inputs that move this answer at all, a bit for each place in the order given; all of them where it
    /// could not be told.
    pub movers: u64,
    /// False when the answer could not be worked out at some end of a tolerance: then the ends above are not the ends.
    pub known: bool,
}

/// The margins of all answers. `work` gives the answers with nothing moved (`None`) or with one of `inputs` uncertain
/// inputs moved; it returns `None` where they cannot be worked out.
pub fn propagate(
    centre: &[f64],
    inputs: usize,
    mut work: impl FnMut(usize, End) -> Option<Vec<f64>>,
) -> Vec<Margin> {
    let mut sums = vec![Sum::default(); centre.len()];
    let mut known = true;
    for input in 0..inputs {
        let (low, high) = (work(input, End::Low), work(input, End::High));
        let (Some(low), Some(high)) = (low, high) else {
            known = false;
            continue;
        };
        for (at, sum) in sums.iter_mut().enumerate() {
            match (centre.get(at), low.get(at), high.get(at)) {
                (Some(centre), Some(low), Some(high)) => sum.add(input, low - centre, high - centre),
                _ => known = false,
            }
        }
    }
    let margin = |(value, sum): (&f64, &Sum)| Margin {
        value: *value,
        low: value + sum.below,
        high: value + sum.above,
        rss: libm::sqrt(sum.squares),
        most: sum.most.map(|(input, _)| input),
        movers: if known && inputs <= 64 { sum.movers } else { u64::MAX },
        known: known && (value + sum.below).is_finite() && (value + sum.above).is_finite(),
    };
    centre.iter().zip(&sums).map(margin).collect()
}

impl Margin {
    /// The same margin without what lies beyond the least and the most that the answer can be. One-sided deviations are
    /// added up, and a sum knows no end of a scale.
    #[must_use]
    pub fn between(self, least: f64, most: f64) -> Self {
        Self { low: self.low.max(least).min(self.value), high: self.high.min(most).max(self.value), ..self }
    }
}

#[derive(Clone, Default)]
struct Sum {
    below: f64,
    above: f64,
    squares: f64,
    most: Option<(usize, f64)>,
    movers: u64,
}

impl Sum {
    fn add(&mut self, input: usize, low: f64, high: f64) {
        self.below += low.min(high).min(0.0);
        self.above += low.max(high).max(0.0);
        let larger = low.abs().max(high.abs());
        self.squares += larger * larger;
        // What is no number has moved too.
        if larger != 0.0 || low.is_nan() || high.is_nan() {
            self.movers |= 1_u64.checked_shl(u32::try_from(input).unwrap_or(64)).unwrap_or(u64::MAX);
        }
        if larger > self.most.map_or(0.0, |(_, most)| most) {
            self.most = Some((input, larger));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moved(inputs: &[(f64, f64)], at: usize, end: End) -> Vec<f64> {
        let sign = if end == End::Low { -1.0 } else { 1.0 };
        inputs
            .iter()
            .enumerate()
            .map(|(i, (value, half))| value + if i == at { sign * half } else { 0.0 })
            .collect()
    }

    #[test]
    fn a_failed_end_makes_the_margin_unknown() {
        let margins = propagate(&[1.0], 1, |_, end| (end == End::Low).then(|| vec![0.5]));
        assert!(!margins[0].known);
    }

    #[test]
    fn a_lopsided_answer_keeps_a_lopsided_margin() {
        // 1/x at 1 ± 0.5: 0.667 and 2.
        let inputs = [(1.0, 0.5)];
        let margin = propagate(&[1.0], 1, |at, end| Some(vec![1.0 / moved(&inputs, at, end)[0]]))[0];
        assert!((margin.low - 2.0 / 3.0).abs() < 1e-12 && (margin.high - 2.0).abs() < 1e-12);
        assert_eq!(margin.most, Some(0));
    }

    #[test]
    fn a_margin_ends_where_the_answer_cannot_go() {
        let wide = Margin { value: 9.0, low: -1.0, high: 14.0, rss: 3.0, most: None, movers: 0, known: true };
        let cut = wide.between(0.0, 10.0);
        assert_eq!((cut.low, cut.value, cut.high), (0.0, 9.0, 10.0));
        let narrow = Margin { low: 8.5, high: 9.5, ..wide };
        assert_eq!(narrow.between(0.0, 10.0), narrow);
    }

    proptest::proptest! {
        #[test]
        fn the_value_lies_within_its_margin(values in proptest::collection::vec((-1e3..1e3f64, 0.0..10f64), 1..6)) {
            let sum = |list: &[f64]| list.iter().sum::<f64>();
            let centre = sum(&values.iter().map(|(value, _)| *value).collect::<Vec<_>>());
            let margin = propagate(&[centre], values.len(), |at, end| Some(vec![sum(&moved(&values, at, end))]))[0];
            proptest::prop_assert!(margin.low <= margin.value && margin.value <= margin.high);
            proptest::prop_assert!(margin.rss <= margin.high - margin.value + 1e-9);
        }
    }
}
