//! How far an answer may be off when its inputs may be off.
//!
//! Every uncertain input may be anywhere within its tolerance, so all of them together lie in a box. The worst case is
//! the least and the most that the answer is anywhere in that box; root sum square is how far it is likely to be off.
//!
//! Each input is moved alone, to its low and its high end. Which way it moves an answer says to which end it belongs when
//! that answer is to be least, or most: at these two corners the answer is worked out again, with all inputs moved at
//! once. An answer that is the least or the most of several has a kink where they meet, which this would not see: each of
//! its cases gets corners of its own (see [`Cases`]).
//!
//! An input that does little alone may turn round at the corner, and an answer may bend on the way: `search.rs` looks at
//! those again, where the inputs do more to each other than a fiftieth of what they do alone: more, that is, than in a sum,
//! a product or resistances side by side. It does not look everywhere: of some calculators a few ends in a hundred lie
//! further out. Which, and how far, is held by `calculator/tests/margins.rs`.
//!
//! Root sum square: the root of the sum of the squares of each input's larger deviation, alone, as JCGM 100:2008 (GUM),
//! 5.1.2, combines independent inputs; correlated ones it would misjudge.

mod line;
mod search;

use search::{Goal, Search};

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
    /// False when the answer could not be worked out at some place within the tolerances that was looked at: then the ends
    /// above are not the ends.
    pub known: bool,
}

/// That an answer is the least of some cases, or the most of them, as a swing is the smallest of four ways. Each case is
/// smooth where the answer has a kink, so that its corners are found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Cases {
    /// [`End::Low`] for the least, [`End::High`] for the most.
    pub of: End,
    /// How many cases there are.
    pub many: usize,
}

/// The margins of the first answers, one for each of `cases`. `centre` holds the answers, and behind them the cases of each
/// that has some. `work` gives the same with each of `inputs` uncertain inputs moved by a share of its half width, from
/// −1 to 1; it returns `None` where they cannot be worked out.
pub fn propagate(
    centre: &[f64],
    cases: &[Option<Cases>],
    inputs: usize,
    mut work: impl FnMut(&[f64]) -> Option<Vec<f64>>,
) -> Vec<Margin> {
    propagate_wanted(centre, cases, inputs, |moves, _| work(moves))
}

/// The same, where `work` is told which answers are looked at, by their places; `None` are all. Of the others it may give what
/// is no number.
pub fn propagate_wanted(
    centre: &[f64],
    cases: &[Option<Cases>],
    inputs: usize,
    mut work: impl FnMut(&[f64], Option<&[usize]>) -> Option<Vec<f64>>,
) -> Vec<Margin> {
    propagated(centre, cases, inputs, &mut work)
}

/// Works out the answers with the inputs moved; the places are those of the answers that are looked at.
type Work<'w> = dyn FnMut(&[f64], Option<&[usize]>) -> Option<Vec<f64>> + 'w;

/// Compiled once, not again for each `work`: the browser pays for each.
fn propagated(centre: &[f64], cases: &[Option<Cases>], inputs: usize, work: &mut Work<'_>) -> Vec<Margin> {
    let mut search = Search::begun(centre, inputs, work);
    let mut behind = cases.len();
    let mut goals = Vec::new();
    for (answer, of) in cases.iter().enumerate() {
        let its = behind..behind + of.map_or(0, |of| of.many);
        behind = its.end;
        match of {
            Some(Cases { of, .. }) => goals.extend(search.of_cases(*of, its)),
            None => goals.extend(Goal::both(answer)),
        }
    }
    search.look(goals);
    let alone = |answer: usize| {
        let mut alone = Alone::default();
        let effects = (0..inputs).map(|input| search.effect(answer, input));
        effects.enumerate().for_each(|(input, [low, high])| alone.add(input, low, high));
        alone
    };
    let mut behind = cases.len();
    let margin = |(answer, of): (usize, &Option<Cases>)| {
        let its = behind..behind + of.map_or(0, |of| of.many);
        behind = its.end;
        let all = || its.clone().chain([answer]);
        let own = alone(answer);
        let known = all().all(|case| search.is_known(case));
        let told = known && inputs <= 64 && !all().any(|case| search.moves_together(case));
        let (low, high) = match of {
            Some(of) => of.ends(its.clone().map(|case| search.ends(case)), search.ends(answer)),
            None => search.ends(answer),
        };
        Margin {
            value: centre[answer],
            low,
            high,
            rss: libm::sqrt(own.squares),
            most: own.most.map(|(input, _)| input),
            movers: if told { all().fold(0, |movers, case| movers | alone(case).movers) } else { u64::MAX },
            known,
        }
    };
    cases.iter().enumerate().map(margin).collect()
}

impl Cases {
    /// The ends of the answer from those of its cases: the least of several cannot be more than the most of any, nor less
    /// than the least of all. Not nearer than what was found of the answer itself.
    fn ends(self, cases: impl Iterator<Item = (f64, f64)>, own: (f64, f64)) -> (f64, f64) {
        let further = match self.of {
            End::Low => |one: f64, other: f64| one.min(other),
            End::High => |one: f64, other: f64| one.max(other),
        };
        let ends = cases.reduce(|one, other| (further(one.0, other.0), further(one.1, other.1)));
        let (low, high) = ends.unwrap_or(own);
        (low.min(own.0), high.max(own.1))
    }
}

impl Margin {
    /// The same margin without what lies beyond the least and the most that the answer can be.
    #[must_use]
    pub fn between(self, least: f64, most: f64) -> Self {
        Self { low: self.low.max(least).min(self.value), high: self.high.min(most).max(self.value), ..self }
    }
}

/// What each input does to an answer alone.
#[derive(Default)]
struct Alone {
    squares: f64,
    most: Option<(usize, f64)>,
    movers: u64,
}

impl Alone {
    fn add(&mut self, input: usize, low: f64, high: f64) {
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

    fn moved(inputs: &[(f64, f64)], moves: &[f64]) -> Vec<f64> {
        inputs.iter().zip(moves).map(|((value, half), share)| value + share * half).collect()
    }

    /// The margin of one answer.
    fn margin(inputs: &[(f64, f64)], model: impl Fn(&[f64]) -> f64) -> Margin {
        let centre = model(&moved(inputs, &vec![0.0; inputs.len()]));
        propagate(&[centre], &[None], inputs.len(), |moves| Some(vec![model(&moved(inputs, moves))]))[0]
    }

    #[test]
    fn a_failed_end_makes_the_margin_unknown() {
        let margins = propagate(&[1.0], &[None], 1, |moves| (moves[0] < 0.0).then(|| vec![0.5]));
        assert!(!margins[0].known);
    }

    #[test]
    fn a_failed_corner_makes_the_margin_unknown() {
        let margins = propagate(&[1.0], &[None], 2, |moves| {
            let sum = moves[0] + moves[1];
            (sum < 1.5).then(|| vec![1.0 + sum])
        });
        assert!(!margins[0].known);
    }

    #[test]
    fn an_end_that_is_no_number_makes_the_margin_unknown() {
        let margins = propagate(&[1.0, 1.0], &[None; 2], 1, |moves| {
            Some(vec![if moves[0] < 0.0 { f64::NAN } else { 1.5 }, 1.2])
        });
        assert!(!margins[0].known && margins[1].known);
    }

    #[test]
    fn a_lopsided_answer_keeps_a_lopsided_margin() {
        // 1/x at 1 ± 0.5: 0.667 and 2.
        let margin = margin(&[(1.0, 0.5)], |x| 1.0 / x[0]);
        assert!((margin.low - 2.0 / 3.0).abs() < 1e-12 && (margin.high - 2.0).abs() < 1e-12);
        assert_eq!(margin.most, Some(0));
    }

    #[test]
    fn two_inputs_that_are_off_together_are_counted_together() {
        // 2 × 3, each up to a half off: from 1.5 × 2.5 to 2.5 × 3.5.
        let margin = margin(&[(2.0, 0.5), (3.0, 0.5)], |x| x[0] * x[1]);
        assert_eq!((margin.low, margin.value, margin.high), (3.75, 6.0, 8.75));
    }

    #[test]
    fn the_least_of_cases_is_found_where_none_of_its_inputs_moves_it() {
        // The smaller of 1 + x and 1 + y − x/4, x and y up to 1 off: 0 at x = −1; 0 − 1/4 at x = 1, y = −1. Alone x = 1 seems
        // to lower it to 0.75, and so does not tell of the first. The most is 1 + 3/5, below the 2 of x = 1 alone.
        let model = |x: f64, y: f64| [1.0 + x, 1.0 + y - x / 4.0];
        let all = |x: f64, y: f64| {
            let [one, other] = model(x, y);
            vec![one.min(other), one, other]
        };
        let cases = [Some(Cases { of: End::Low, many: 2 })];
        let margin = propagate(&all(0.0, 0.0), &cases, 2, |moves| Some(all(moves[0], moves[1])))[0];
        assert_eq!((margin.low, margin.high, margin.movers), (-0.25, 2.0, 3));
        let turned = |x: f64, y: f64| all(x, y).into_iter().map(|value| -value).collect::<Vec<f64>>();
        let cases = [Some(Cases { of: End::High, many: 2 })];
        let margin = propagate(&turned(0.0, 0.0), &cases, 2, |moves| Some(turned(moves[0], moves[1])))[0];
        assert_eq!((margin.low, margin.high), (-2.0, 0.25));
    }

    #[test]
    fn a_bend_between_the_ends_is_seen() {
        // A parabola with its top between middle and end: 1 at 0.5, from 1 ∓ 1: −3 and 0.5 at the ends 0 and 2.
        let one = margin(&[(1.0, 1.0)], |x| 1.0 - (x[0] - 0.5) * (x[0] - 0.5));
        assert!((one.high - 1.0).abs() < 1e-12 && one.low == -1.25, "{one:?}");
    }

    #[test]
    fn an_input_that_turns_round_at_the_corner_is_followed() {
        // y moves the answer up while x is small and down once x is large: at x = 3 the most is at the low end of y.
        let both = margin(&[(0.0, 3.0), (0.0, 1.0)], |x| x[0] + (1.0 - x[0]) * x[1]);
        assert_eq!((both.low, both.high), (-7.0, 5.0));
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
            let margin = margin(&values, |x| x.iter().sum());
            proptest::prop_assert!(margin.low <= margin.value && margin.value <= margin.high);
            proptest::prop_assert!(margin.rss <= margin.high - margin.value + 1e-9);
        }
    }
}
