//! Where along one line an answer is highest, from the points that are known of it.

/// Nearer to a known point than this, as a share of a half width, a new one is not worth its run.
const NEAR: f64 = 1e-5;

/// Where a parabola through three points is highest, each a place and a height; `None` where it has no top.
fn parabola([(x, at_x), (y, at_y), (z, at_z)]: [(f64, f64); 3]) -> Option<f64> {
    let (left, right) = ((at_y - at_x) / (y - x), (at_z - at_y) / (z - y));
    let bend = (right - left) / (z - x);
    (bend < 0.0).then(|| (x + y) / 2.0 - left / (2.0 * bend))
}

/// Where the straight lines through two points each cross.
fn crossing([(a, at_a), (b, at_b)]: [(f64, f64); 2], [(c, at_c), (d, at_d)]: [(f64, f64); 2]) -> Option<f64> {
    let (left, right) = ((at_b - at_a) / (b - a), (at_d - at_c) / (d - c));
    let across = (at_c - at_a + left * a - right * c) / (left - right);
    across.is_finite().then_some(across)
}

/// Where to look next on a line of which these points are known, in order; `None` where nothing higher must be expected.
/// A smooth answer is highest where a parabola is. One that is the smaller of two is highest where they cross: a parabola
/// misses that, so that both are tried in turn.
pub(super) fn next(points: &[(f64, f64)]) -> Option<f64> {
    let highest =
        (0..points.len()).reduce(|best, at| if points[at].1 > points[best].1 { at } else { best })?;
    let at = |place: usize| points.get(place).copied();
    let (low, high) = (at(highest.checked_sub(1)?)?, at(highest + 1)?);
    let top = points[highest];
    let is_new = |share: &f64| {
        low.0 < *share && *share < high.0 && points.iter().all(|(known, _)| (known - share).abs() > NEAR)
    };
    let smooth = || parabola([low, top, high]).filter(is_new);
    let sharp = || {
        let right = at(highest + 2).and_then(|beyond| crossing([low, top], [high, beyond]));
        let left = highest.checked_sub(2).and_then(at);
        let left = left.and_then(|beyond| crossing([beyond, low], [top, high]));
        let right = right.filter(|share| *share > top.0).filter(is_new);
        right.or(left.filter(|share| *share < top.0).filter(is_new))
    };
    if points.len().is_multiple_of(2) { sharp().or_else(smooth) } else { smooth().or_else(sharp) }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The highest point after so many looks.
    fn highest(height: impl Fn(f64) -> f64, looks: usize) -> f64 {
        let mut points: Vec<(f64, f64)> = [-1.0, 0.0, 1.0].map(|share| (share, height(share))).to_vec();
        for _ in 0..looks {
            let Some(share) = next(&points) else { break };
            points.push((share, height(share)));
            points.sort_by(|one, other| one.0.total_cmp(&other.0));
        }
        points.iter().map(|(_, height)| *height).fold(f64::NEG_INFINITY, f64::max)
    }

    #[test]
    fn tops_round_and_sharp_are_found() {
        assert!((highest(|x| 1.0 - (x - 0.3) * (x - 0.3), 1) - 1.0).abs() < 1e-12);
        assert!((highest(|x| 1.0 - (x - 0.3).abs(), 4) - 1.0).abs() < 1e-9);
        assert!((highest(|x| (2.0 * x).min(0.9 - x), 4) - 0.6).abs() < 1e-9);
        // Of sin x it is 1, at π/2.
        assert!((highest(|x| libm::sin(1.5 + x), 5) - 1.0).abs() < 1e-9);
    }

    #[test]
    fn where_it_only_rises_there_is_nothing_between() {
        assert_eq!(next(&[(-1.0, 0.0), (0.0, 1.0), (1.0, 2.0)]), None);
    }
}
