//! The bias splitter's tables and picture: two designs side by side, the leaks one can buy, what grid current does.

use super::circuit::Worked;
use super::words::{nearly, ohms};
use super::{BiasSplitter, Design, Found};
use crate::calculator::{Axis, Margins, Mark, Picture, Report, Series, Standing, Table};
use crate::preferred;
use crate::quantity::unit::{AMPERE, DECIBEL, HERTZ, SECOND, VOLT};
use crate::quantity::{ElectricalResistance, Quantity, writing};
use crate::valve::Figure;

/// What the table of leaks says of one that satisfies all at once.
const YES: &str = "yes";

/// A limit with its origin.
fn limited(figure: Option<Figure<ElectricalResistance>>) -> String {
    figure.map_or_else(
        || Standing::NoPublishedLimit.word().to_owned(),
        |figure| format!("{} ({})", ohms(figure.value()), figure.source.origin()),
    )
}

impl BiasSplitter {
    /// The two designs side by side.
    pub(super) fn compare(&self, found: &Found, report: &mut Report) {
        let both = [(&self.design, &found.design), (&self.other, &found.other)];
        let mut rows = Vec::new();
        let mut row = |name: &str, cell: &dyn Fn(&Design, &Worked) -> String| {
            let cells = both.iter().map(|(design, worked)| cell(design, worked));
            rows.push(std::iter::once(name.to_owned()).chain(cells).collect());
        };
        row("Valve", &|design, _| design.valve.name.clone());
        row("Leak", &|_, worked| ohms(worked.leak));
        row("Grid circuit, each valve", &|_, worked| nearly(worked.grid_circuit));
        row("Limit, fixed bias", &|design, _| limited(design.valve.fixed));
        row("Limit, cathode bias", &|design, _| limited(design.valve.cathode));
        row("Largest leak within it here", &|design, _| match self.largest_leak(design) {
            Some(largest) if largest.si() > 0.0 => nearly(largest),
            Some(_) => "none".to_owned(),
            None => Standing::NoPublishedLimit.word().to_owned(),
        });
        row("Usual leak, common practice", &|design, _| {
            self.habit(design).map_or_else(|| "none known".to_owned(), ohms)
        });
        row("Bias lost", &|_, worked| writing::nearest(worked.bias_lost.si(), &VOLT));
        row("Rise in idle current", &|_, worked| writing::nearest(worked.current_rise.si(), &AMPERE));
        row("Bass corner", &|_, worked| writing::nearest(worked.corner.si(), &HERTZ));
        row("Loss of drive", &|_, worked| writing::nearest(worked.loss, &DECIBEL));
        row("Time constant of recovery", &|_, worked| writing::nearest(worked.recovery.si(), &SECOND));
        let head = ["", "This design", "Other design"].map(str::to_owned).to_vec();
        report.tables.push(Table { title: "Two designs side by side".to_owned(), head, rows }.into());
    }

    /// What one can buy around the leak in hand and the largest that the limit allows; E24 where no E12 value will do.
    pub(super) fn preferred(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let leak = self.design.leak.si();
        let largest =
            found.largest_leak.map_or(leak, ElectricalResistance::si).clamp(leak / 10.0, leak * 10.0);
        let (low, high) = (leak.min(largest) / 1.6, leak.max(largest) * 1.6);
        let rows_of = |series: preferred::Series| -> Vec<Vec<String>> {
            let leaks = series.between(low, high).map(ElectricalResistance::of);
            leaks.filter_map(|leak| self.candidate(leak, margins)).collect()
        };
        let suits =
            |rows: &[Vec<String>]| rows.iter().any(|row| row.last().is_some_and(|all| all.starts_with(YES)));
        let coarse = rows_of(preferred::Series::E12);
        let rows = if suits(&coarse) { coarse } else { rows_of(preferred::Series::E24) };
        if !suits(&rows) {
            report.notes.push(
                "No preferred value nearby is sure to meet the limit, the corner and the loss together. A larger \
                 coupling capacitor lowers the corner without affecting the grid circuit; a bias source of lower \
                 resistance allows a larger leak."
                    .to_owned(),
            );
        }
        report.tables.push(
            Table {
                title: format!("Preferred leaks for the {}, {}", self.design.valve.name, self.bias_words()),
                head: ["Leak", "Grid circuit, against the limit", "Bass corner", "Loss", "All three"]
                    .map(str::to_owned)
                    .to_vec(),
                rows,
            }
            .into(),
        );
    }

    /// A row of the table of leaks.
    fn candidate(&self, leak: ElectricalResistance, margins: &Margins) -> Option<Vec<String>> {
        let worked = self.circuit.with(leak, self.design.gm).ok()?;
        let circuit = self.by_the_limit(leak, margins);
        let suits = |fits: bool| if fits { Standing::Within } else { Standing::Beyond };
        let bass = suits(worked.corner <= self.highest_corner);
        let drive = suits(worked.loss <= self.most_loss);
        let all = match [circuit, bass, drive] {
            [Standing::Within, Standing::Within, Standing::Within] => {
                self.in_words(circuit).replace(Standing::Within.word(), YES)
            }
            any if any.contains(&Standing::Beyond) => "no".to_owned(),
            _ => circuit.word().to_owned(),
        };
        Some(vec![
            ohms(leak),
            format!("{}, {}", nearly(worked.grid_circuit), self.in_words(circuit)),
            format!("{}, {}", writing::nearest(worked.corner.si(), &HERTZ), bass.word()),
            format!("{}, {}", writing::nearest(worked.loss, &DECIBEL), drive.word()),
            all,
        ])
    }

    /// How a grid circuit stands to the limit, with the doubt that the limit brings.
    fn in_words(&self, standing: Standing) -> String {
        standing.doubted(self.limit(&self.design).map(|figure| figure.source))
    }

    /// How another leak, as far off as the one in hand, stands to the largest that the limit allows. The grid circuit is
    /// a sum, so this comes to the same as holding the whole of it, with its margin, against the limit.
    fn by_the_limit(&self, leak: ElectricalResistance, margins: &Margins) -> Standing {
        let (own, largest) = (margins.of("inverter-load"), margins.of("largest-leak"));
        let at = |end: f64| leak.si() * end / own.value;
        match self.limit(&self.design) {
            None => Standing::NoPublishedLimit,
            Some(_) if !(own.known && largest.known) => Standing::CannotTell,
            Some(_) if at(own.high) <= largest.low => Standing::Within,
            Some(_) if at(own.low) > largest.high => Standing::Beyond,
            Some(_) => Standing::Borderline,
        }
    }

    /// What grid current does to the idle current in both designs, and what the limit would let it do in the first.
    pub(super) fn picture(&self, found: &Found) -> Picture {
        let considered = self.circuit.grid_current.si();
        let most = if considered > 0.0 { 4.0 * considered } else { 4e-6 };
        let rise_per_ampere = |design: &Design, circuit: ElectricalResistance| design.gm.si() * circuit.si();
        let line = |name: String, mark, slope: f64| Series {
            name,
            mark,
            points: vec![(0.0, 0.0), (most, slope * most)],
        };
        let mut series = Vec::new();
        let mut steepest: f64 = 0.0;
        if let Some(limit) = self.limit(&self.design) {
            let slope = rise_per_ampere(&self.design, limit.value());
            steepest = steepest.max(slope);
            let name = format!("{} at its limit of {}", self.design.valve.name, ohms(limit.value()));
            series.push(line(name, Mark::Limit, slope));
        }
        for (design, worked) in [(&self.design, &found.design), (&self.other, &found.other)] {
            let slope = rise_per_ampere(design, worked.grid_circuit);
            steepest = steepest.max(slope);
            let name = format!("{}, {}", design.valve.name, ohms(worked.leak));
            series.push(line(name, Mark::Curve, slope));
        }
        let points =
            [&found.design, &found.other].map(|worked| (considered, worked.current_rise.si())).to_vec();
        series.push(Series { name: "at the grid current assumed".to_owned(), mark: Mark::Point, points });
        Picture {
            title: "What grid current adds to the idle current".to_owned(),
            description:
                "The steeper the line, the more each microampere of grid current raises the idle current; \
                          the hotter valve then draws still more grid current."
                    .to_owned(),
            x: Axis::even("grid current", &AMPERE, 0.0, most),
            y: Axis::even("rise in idle current", &AMPERE, 0.0, steepest * most * 1.1),
            series,
        }
    }
}
