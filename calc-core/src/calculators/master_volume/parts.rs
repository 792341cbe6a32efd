//! What the control has to bear (bench rule 26), and the list of parts for this job.

use super::circuit::{Circuit, Place, Topology};
use super::{Found, MasterVolume};
use crate::calculator::{Limit, Margins, Report, Standing, Table, Verdict};
use crate::quantity::unit::{AMPERE, CENTIMETRE, FARAD, OHM, VOLT, WATT};
use crate::quantity::{Quantity, writing};
use crate::source::TYPED;

/// Bodies of film resistors, in W and V (two makers' series; the page names them).
const BODIES: [(&str, f64); 2] = [("¼\u{a0}W", 250.0), ("½\u{a0}W", 350.0)];

impl MasterVolume {
    /// The most that stands along one section, in V.
    pub(super) fn along(&self) -> f64 {
        let sides = if self.topology == Topology::Bridge { 2.0 } else { 1.0 };
        sides * self.swing.si()
    }

    pub(super) fn judge_element(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let sheet = "by its sheet";
        let volts = Limit::new(self.element_voltage, sheet, &TYPED);
        let watts = Limit::new(self.element_power, sheet, &TYPED);
        let judged = [
            ("Voltage along the track", "track-voltage", volts),
            ("Heat in the track", "track-power", watts),
        ];
        for (about, id, limit) in judged {
            report.verdicts.push(Verdict::at_most(about, &margins.of(id), Some(limit), |standing| {
                match standing {
                    Standing::Within => "The section bears the inverter’s whole swing.",
                    _ => "Measure the swing on the oscilloscope; if it is that, take a larger control.",
                }
                .to_owned()
            }));
        }
        let circuit = &found.circuit;
        if !self.topology.is_divider() {
            let most = self.along() / (circuit.inverter + circuit.end);
            let bears = libm::sqrt(self.element_power.si() / circuit.track);
            report.notes.push(format!(
                "Turned far down, the inverter’s whole current runs through what little of the track is left: {} by its swing \
                 and output resistance. The watts of the whole track stand for {}.",
                writing::nearest(most, &AMPERE),
                writing::nearest(bears, &AMPERE)
            ));
        }
        report.notes.push(format!(
            "Lugs against the body, bush and shaft, which are earthed: bias and swing together are {}. With a shorted coupling \
             capacitor and cold valves it is the inverter’s unloaded supply, {}: look the insulation up on the control’s sheet.",
            writing::nearest(self.swing.si() - self.bias.si(), &VOLT),
            writing::nearest(self.unloaded.si(), &VOLT)
        ));
    }

    /// The list of parts, for a control that bears these volts and watts.
    pub(super) fn parts(&self, circuit: &Circuit, [along, heat]: [f64; 2]) -> Table {
        let topology = self.topology;
        let volts = |volts: f64| writing::nearest(volts, &VOLT);
        let shorted = self.unloaded.si() - self.bias.si();
        let control = format!(
            "{}, {}, a section of at least {} and {}; insulation from lugs to body for {}, by its sheet",
            if topology == Topology::Bridge { "single" } else { "dual" },
            writing::nearest(circuit.track, &OHM),
            volts(along),
            writing::nearest(heat, &WATT),
            volts(self.unloaded.si()),
        );
        let mut rows = vec![["Control".to_owned(), "1".to_owned(), control]];
        if let Some((place, safe)) = circuit.safe {
            let count = if place == Place::Tag { circuit.all_valves() } else { 2.0 };
            let body = BODIES.iter().find(|(_, bears)| *bears >= shorted);
            let body = body.map_or("two of half the value in series, ½\u{a0}W each", |(body, _)| body);
            rows.push([
                format!("Fail-safe resistor, {}", place.words()),
                count.to_string(),
                format!(
                    "{}, film, {body}: a shorted capacitor and cold valves put {} across it",
                    writing::nearest(safe, &OHM),
                    volts(shorted)
                ),
            ]);
        }
        if topology == Topology::Chassis {
            let rated = format!(
                "{}, film, rated for {}: the unloaded supply, should the first one short, and the bias",
                writing::nearest(circuit.second, &FARAD),
                volts(shorted)
            );
            rows.push(["Second coupling capacitor".to_owned(), "2".to_owned(), rated]);
        }
        let screen = if topology.screen_at_bias() {
            "screen on the bias, insulated at both ends; jacket for 300\u{a0}V and 80\u{a0}°C"
        } else {
            "screen on chassis at one end, insulated at the other; jacket for 300\u{a0}V and 80\u{a0}°C"
        };
        rows.push([
            "Screened lead to a grid".to_owned(),
            "2".to_owned(),
            format!(
                "{} and more until the first test; {screen}",
                writing::nearest(self.lead.length, &CENTIMETRE)
            ),
        ]);
        if topology.is_divider() {
            let hot = format!("insulated for {}", volts(shorted.max(600.0)));
            rows.push(["Lead to a hot lug".to_owned(), "2".to_owned(), hot]);
        }
        if topology != Topology::Bridge {
            let jumper = "tinned copper, through both low lugs’ holes";
            rows.push(["Jumper between the low lugs".to_owned(), "1".to_owned(), jumper.to_owned()]);
            let to = if topology == Topology::Chassis {
                "chassis, beside the inverter’s"
            } else {
                "the bias node"
            };
            rows.push(["Wire from the low lugs".to_owned(), "1".to_owned(), format!("to {to}")]);
        }
        if let Some((Place::Socket | Place::Tag, _)) = circuit.safe {
            let count = rows[1][1].clone();
            rows.push([
                "Wire from a fail-safe resistor".to_owned(),
                count,
                "its own, to the bias node".to_owned(),
            ]);
        }
        Table {
            title: "Parts for it".to_owned(),
            head: ["Part", "Count", "What it has to be"].map(str::to_owned).to_vec(),
            rows: rows.into_iter().map(Vec::from).collect(),
        }
    }
}
