//! The box of tolerances: where in it each answer is least and most.
//!
//! A place in the box is, for each uncertain input, by which share of its half width it is moved, from −1 to 1. What has
//! been tried is kept, so that no place is worked out twice.

use std::ops::Range;

use super::{End, line};
use crate::numeric::order::by_number;

/// A share of an answer's whole spread that is no more than the noise of its arithmetic.
const NOISE: f64 = 1e-11;
/// An input may turn round at the corner that alone does no more than this many times its part of what the inputs do to
/// each other.
const DOUBT: f64 = 4.0;
/// A corner that is nearer than this share of what the inputs do alone, together, may lie behind a bend.
const SHORT: f64 = 0.3;
/// What the inputs do to each other is let be where it is less than this share of what they do alone, together: looking at
/// those costs more runs than all else, and what is missed there is as little.
const LITTLE: f64 = 0.02;
/// An end of a case is let be that cannot reach the end of another, were it to go so many times as far as all inputs alone,
/// together.
const FAR: f64 = 1.5;
/// At how many points of a line an answer is looked at, the ends among them.
const LOOKS: usize = 6;

/// What has been tried of the box.
pub(super) struct Search<'c, W> {
    centre: &'c [f64],
    inputs: usize,
    work: W,
    tried: Vec<Tried>,
    /// Each input alone, at its low and its high end: what was tried.
    alone: Vec<[usize; 2]>,
    own: Vec<Own>,
}

/// A corner of the box: where each input is to stand; nothing for one that does not move the answer.
type Corner = Vec<Option<f64>>;

/// The answers at a place. Those that were not looked at there may be no number.
struct Tried {
    key: u64,
    place: Vec<f64>,
    answers: Vec<f64>,
}

/// What was tried for an answer. What another one led to does not count for it: then it would depend on whatever that one
/// depends on.
#[derive(Clone, Copy)]
struct Own {
    /// Where it is least, and most, of what was tried.
    ends: [usize; 2],
    /// Whether the answer was anywhere another than at the centre.
    moved: bool,
    /// Whether it was a number wherever it was looked for.
    known: bool,
}

/// Which end of an answer is looked for.
#[derive(Clone, Copy)]
pub(super) struct Goal {
    answer: usize,
    /// 1 for the most, −1 for the least.
    sign: f64,
}

impl Goal {
    /// Both ends of an answer.
    pub(super) fn both(answer: usize) -> [Self; 2] {
        [-1.0, 1.0].map(|sign| Self { answer, sign })
    }
}

/// What tells most places apart at a glance.
fn key(place: &[f64]) -> u64 {
    // An odd number without a pattern, as the golden ratio gives.
    place
        .iter()
        .fold(0, |key: u64, share| (key.rotate_left(5) ^ share.to_bits()).wrapping_mul(0x9e37_79b9_7f4a_7c15))
}

impl<'c, W: FnMut(&[f64], Option<&[usize]>) -> Option<Vec<f64>>> Search<'c, W> {
    /// Moves each input alone, down and up.
    pub(super) fn begun(centre: &'c [f64], inputs: usize, work: W) -> Self {
        let place = vec![0.0; inputs];
        let at_rest = Tried { key: key(&place), place, answers: centre.to_vec() };
        let known = |value: &f64| Own { ends: [0; 2], moved: false, known: value.is_finite() };
        let own = centre.iter().map(known).collect();
        let mut search = Self { centre, inputs, work, tried: vec![at_rest], alone: Vec::new(), own };
        for input in 0..inputs {
            let mut end = |share| {
                let mut place = vec![0.0; inputs];
                place[input] = share;
                let end = search.at(&place, None);
                (0..centre.len()).for_each(|answer| search.count(answer, end));
                end.unwrap_or(0)
            };
            let ends = [end(-1.0), end(1.0)];
            search.alone.push(ends);
        }
        search
    }

    /// Counts what was tried for an answer; where nothing was found, the answer is lost.
    fn count(&mut self, answer: usize, tried: Option<usize>) {
        let Some(at) = tried else {
            self.own[answer].known = false;
            return;
        };
        let value = |at: usize| self.tried[at].answers[answer];
        let (value, [least, most]) = (value(at), self.own[answer].ends.map(value));
        let own = &mut self.own[answer];
        if value < least {
            own.ends[0] = at;
        }
        if value > most {
            own.ends[1] = at;
        }
        own.moved |= value != self.centre[answer];
        own.known &= value.is_finite();
    }

    /// Works out these answers at a place, or all, and gives where they stand among what was tried.
    fn at(&mut self, place: &[f64], wanted: Option<&[usize]>) -> Option<usize> {
        let key = key(place);
        let known = self.tried.iter().position(|tried| tried.key == key && tried.place == place);
        if let (Some(known), Some(wanted)) = (known, wanted)
            && wanted.iter().all(|answer| !self.tried[known].answers[*answer].is_nan())
        {
            return Some(known);
        }
        let answers = (self.work)(place, wanted).filter(|answers| answers.len() == self.centre.len())?;
        let Some(known) = known else {
            self.tried.push(Tried { key, place: place.to_vec(), answers });
            return Some(self.tried.len() - 1);
        };
        let before = &mut self.tried[known].answers;
        before.iter_mut().zip(answers).filter(|(is, _)| is.is_nan()).for_each(|(is, found)| *is = found);
        Some(known)
    }

    /// How far an answer moves when an input alone is moved to its low and its high end.
    pub(super) fn effect(&self, answer: usize, input: usize) -> [f64; 2] {
        self.alone[input].map(|at| self.tried[at].answers[answer] - self.centre[answer])
    }

    /// Where an answer is least and most of all that was tried for it.
    pub(super) fn ends(&self, answer: usize) -> (f64, f64) {
        let [least, most] = self.own[answer].ends.map(|at| self.tried[at].answers[answer]);
        (least, most)
    }

    /// Whether an answer was a number wherever it was looked for.
    pub(super) fn is_known(&self, answer: usize) -> bool {
        self.own[answer].known
    }

    /// Those ends of the cases of one answer that may be the ends of the answer, which is their least or their most.
    pub(super) fn of_cases(&self, of: End, cases: Range<usize>) -> Vec<Goal> {
        let mut goals = Vec::new();
        for sign in [-1.0, 1.0] {
            // From here each case comes this far at least, and hardly further than that.
            let reach = |answer: usize| {
                let effects = (0..self.inputs).map(|input| self.effect(answer, input));
                let along = effects.map(|[low, high]| (sign * low).max(sign * high).max(0.0));
                let (one, all) =
                    along.fold((0.0_f64, 0.0), |(one, all), alone| (one.max(alone), all + alone));
                (sign * self.centre[answer] + one, sign * self.centre[answer] + FAR * all)
            };
            let reaches: Vec<(f64, f64)> = cases.clone().map(reach).collect();
            // The least of all goes down with the case that goes furthest, and up no further than the one that goes least.
            let furthest = (sign < 0.0) == (of == End::Low);
            let least = reaches.iter().map(|reach| reach.0).fold(f64::NEG_INFINITY, f64::max);
            let most = reaches.iter().map(|reach| reach.1).fold(f64::INFINITY, f64::min);
            let counts = |(at_least, at_most): (f64, f64)| {
                if furthest { at_most >= least } else { at_least <= most }
            };
            let counted = cases.clone().zip(&reaches).filter(|(_, reach)| counts(**reach));
            goals.extend(counted.map(|(answer, _)| Goal { answer, sign }));
        }
        goals
    }

    /// Looks for these ends, at the corners and from there on.
    pub(super) fn look(&mut self, mut goals: Vec<Goal>) {
        goals.retain(|goal| self.is_known(goal.answer));
        let corners: Vec<Corner> = goals.iter().map(|goal| self.corner(*goal)).collect();
        let (places, of) = merged(&corners);
        let mut wanted: Vec<Vec<usize>> = vec![Vec::new(); places.len()];
        goals.iter().zip(&of).for_each(|(goal, place)| wanted[*place].push(goal.answer));
        for ((goal, corner), place) in goals.iter().zip(&corners).zip(of) {
            let only = [goal.answer];
            // What another answer asks of the inputs that do nothing to this one may leave no answer at all.
            let at = self.at(&places[place], Some(&wanted[place]));
            let at = at.or_else(|| self.at(&filled(corner), Some(&only)));
            self.count(goal.answer, at);
            if self.is_known(goal.answer) {
                self.climb(*goal, corner);
            }
        }
        // What no input moves alone, such as a knob that is at its end, several may move together.
        let still = |(_, corner): &(&Goal, &Corner)| corner.iter().all(Option::is_none);
        for (goal, _) in goals.iter().zip(&corners).filter(still) {
            for place in &places {
                let at = self.at(place, Some(&[goal.answer]));
                self.count(goal.answer, at.or(Some(0)));
            }
        }
    }

    /// Whether an answer moved though no input moves it alone.
    pub(super) fn moves_together(&self, answer: usize) -> bool {
        let alone = (0..self.inputs).flat_map(|input| self.effect(answer, input));
        self.own[answer].moved && alone.into_iter().all(|effect| effect == 0.0)
    }

    /// The corner that the effects of the inputs, each alone, point to; nothing for an input that moves nothing.
    fn corner(&self, goal: Goal) -> Corner {
        let effects = |input| self.effect(goal.answer, input).map(|effect| goal.sign * effect);
        let whole: f64 = (0..self.inputs).flat_map(effects).map(f64::abs).sum();
        let towards = |input| {
            let [low, high] = effects(input);
            if low.abs().max(high.abs()) <= NOISE * whole {
                return None;
            }
            Some(top(low, high).unwrap_or(if high >= low { 1.0 } else { -1.0 }))
        };
        (0..self.inputs).map(towards).collect()
    }

    /// How far towards the goal the answer is at something tried.
    fn height(&self, goal: Goal, at: usize) -> f64 {
        goal.sign * (self.tried[at].answers[goal.answer] - self.centre[goal.answer])
    }

    fn highest(&self, goal: Goal) -> usize {
        let [least, most] = self.own[goal.answer].ends;
        if goal.sign < 0.0 { least } else { most }
    }

    /// What the inputs do to each other at something tried, where each alone goes so far towards the goal: what the answer is
    /// there, more or less than it would be were they to do nothing. Then the answer is a sum of what each does; or its
    /// logarithm is, of a product, or its reciprocal, of resistances side by side. In none of these does one input turn
    /// another round. What lies nearest counts.
    fn each_other(&self, goal: Goal, at: usize, alone: &[f64]) -> f64 {
        let centre = self.centre[goal.answer];
        let [height, sum] = [self.height(goal, at), alone.iter().sum()];
        let ends = || alone.iter().map(|alone| centre + goal.sign * alone);
        let mut nearest = height - sum;
        let same_sign = ends().all(|end| end * centre > 0.0);
        if same_sign {
            let product: f64 = ends().map(|end| end / centre).product();
            let reciprocal: f64 = 1.0 + ends().map(|end| centre / end - 1.0).sum::<f64>();
            for times in [product, 1.0 / reciprocal] {
                let left = height - goal.sign * centre * (times - 1.0);
                if left.abs() < nearest.abs() && times > 0.0 {
                    nearest = left;
                }
            }
        }
        nearest
    }

    /// What may turn round on the way to the corner, or bend: each input, and whether to look between its ends as well.
    ///
    /// Were nothing to turn or to bend, the corner would be as far as all inputs go alone, together; what it is more or less
    /// than that, they do to each other. An input that alone does more keeps its direction.
    fn doubtful(&self, goal: Goal, corner: &Corner) -> Vec<(usize, bool)> {
        let alone = |input: usize| {
            let [low, high] = self.effect(goal.answer, input);
            (goal.sign * low).max(goal.sign * high).max(0.0)
        };
        let alone: Vec<f64> = (0..self.inputs).map(alone).collect();
        let best = self.highest(goal);
        let together: f64 = alone.iter().sum();
        let each_other = self.each_other(goal, best, &alone);
        if each_other.abs() < LITTLE * together {
            return vec![];
        }
        let is_corner =
            self.tried[best].place.iter().zip(corner).all(|(is, to)| to.is_none_or(|to| to == *is));
        let falls_short = each_other < -SHORT * together;
        let moving = corner.iter().enumerate().filter_map(|(input, to)| Some((input, (*to)?)));
        let least = DOUBT * each_other.abs() / moving.clone().count() as f64;
        let mut doubtful: Vec<(usize, f64)> =
            moving.filter(|(input, to)| !is_corner || to.abs() < 1.0 || alone[*input] <= least).collect();
        // What does least turns round first.
        by_number(&mut doubtful, |(input, _)| alone[*input]);
        doubtful.into_iter().map(|(input, to)| (input, falls_short || to.abs() < 1.0)).collect()
    }

    /// From the best that was tried moves one doubtful input after the other to where the answer goes further.
    fn climb(&mut self, goal: Goal, corner: &Corner) {
        let mut best = self.highest(goal);
        for (input, bends) in self.doubtful(goal, corner) {
            best = self.climb_along(goal, best, input, bends);
        }
    }

    /// Moves one input from there to both of its ends, and between them where the answer bends on the way.
    fn climb_along(&mut self, goal: Goal, from: usize, input: usize, bends: bool) -> usize {
        let mut place = self.tried[from].place.clone();
        let mut line = Vec::with_capacity(LOOKS);
        line.push((place[input], self.height(goal, from)));
        let mut best = from;
        let ends = if bends { &[0.0, 1.0, -1.0] as &[f64] } else { &[1.0, -1.0] };
        let mut ends = ends.iter().copied();
        while let Some(share) = ends.next().or_else(|| self.between(&mut line)) {
            if line.iter().any(|(known, _)| *known == share) {
                continue;
            }
            place[input] = share;
            let found = self.at(&place, Some(&[goal.answer]));
            self.count(goal.answer, found);
            let Some(at) = found else { return best };
            line.push((share, self.height(goal, at)));
            if self.height(goal, at) > self.height(goal, best) {
                best = at;
            }
        }
        best
    }

    /// Where between the points of a line that are known to look next.
    fn between(&self, line: &mut [(f64, f64)]) -> Option<f64> {
        if line.len() >= LOOKS {
            return None;
        }
        by_number(line, |(share, _)| *share);
        line::next(line)
    }
}

/// Where between the ends a parabola through nothing in the middle and these two effects is highest, if that is not at an
/// end.
fn top(low: f64, high: f64) -> Option<f64> {
    let (slope, bend) = ((high - low) / 2.0, (high + low) / 2.0);
    (bend < 0.0 && slope.abs() < -2.0 * bend).then(|| -slope / (2.0 * bend))
}

/// The place of a corner; what moves nothing stays.
fn filled(corner: &Corner) -> Vec<f64> {
    corner.iter().map(|share| share.unwrap_or(0.0)).collect()
}

/// As few places as hold all corners, and which of them holds each: two that ask nothing different of any input are one.
fn merged(corners: &[Corner]) -> (Vec<Vec<f64>>, Vec<usize>) {
    let mut places: Vec<Corner> = Vec::new();
    let mut place = |corner: &Corner| {
        let agrees = |place: &Corner| {
            place.iter().zip(corner).all(|(is, to)| is.is_none() || to.is_none() || is == to)
        };
        let at = places.iter().position(agrees).unwrap_or_else(|| {
            places.push(vec![None; corner.len()]);
            places.len() - 1
        });
        places[at].iter_mut().zip(corner).for_each(|(is, to)| *is = is.or(*to));
        at
    };
    let of = corners.iter().map(&mut place).collect();
    (places.iter().map(filled).collect(), of)
}
