//! The picture: how far each side moves for a drive, and how far the output valves need it.

use super::PhaseInverter;
use super::found::Found;
use crate::calculator::{Axis, Mark, Picture, Series};
use crate::quantity::unit::VOLT;
use crate::quantity::{Quantity, writing};

impl PhaseInverter {
    pub(super) fn picture(&self, found: &Found) -> Picture {
        let need = -self.bias.si();
        let course = (found.course)();
        let drives = || course.iter().map(|[drive, ..]| *drive);
        let x = Axis::even(
            "Drive at its grid",
            &VOLT,
            drives().fold(-f64::MIN_POSITIVE, f64::min),
            drives().fold(f64::MIN_POSITIVE, f64::max),
        );
        let far = course.iter().flat_map(|[_, one, other]| [*one, *other]);
        let far = far.fold(need, |far, moved| far.max(moved.abs()));
        let y = Axis::even("Change from rest", &VOLT, -1.1 * far, 1.1 * far);
        let names = if found.pair { ["driven", "other"] } else { ["anode", "cathode"] };
        let side = |at: usize| Series {
            name: names[at].to_owned(),
            mark: Mark::Curve,
            points: course.iter().map(|point| (point[0], point[1 + at])).collect(),
        };
        let level = |volts: f64| vec![(x.from, volts), (x.to, volts)];
        let needed = format!("what the output valves need, {}", writing::repeated(need, &VOLT));
        let [up, down] = found.ends.first.moved;
        let drive = found.ends.drive.si();
        let ends = [(drive, up[0]), (drive, up[1]), (-drive, down[0]), (-drive, down[1])];
        let series = vec![
            side(0),
            side(1),
            Series { name: needed, mark: Mark::Limit, points: level(need) },
            Series { name: "the same downwards".to_owned(), mark: Mark::Limit, points: level(-need) },
            Series { name: "limits of the swing".to_owned(), mark: Mark::Point, points: ends.to_vec() },
        ];
        Picture {
            title: "How far each side moves".to_owned(),
            description: format!(
                "One side falls while the other rises. At {} of peak drive the nearer limit is reached; the smallest \
                 of the four swings is {}, and the output valves need {}.",
                writing::nearest(drive, &VOLT),
                writing::nearest(found.ends.swing.si(), &VOLT),
                writing::repeated(need, &VOLT)
            ),
            x,
            y,
            series,
        }
    }
}
