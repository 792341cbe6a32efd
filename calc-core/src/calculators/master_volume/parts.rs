//! What the control must withstand, and the list of parts for this job.

use super::circuit::{Circuit, Place, Topology};
use super::{Found, MasterVolume};
use crate::calculator::{Limit, Margins, Report, Standing, Table, Verdict};
use crate::quantity::unit::{CENTIMETRE, FARAD, OHM, VOLT, WATT};
use crate::quantity::{ElectricCurrent, Quantity, Ratio, writing};
use crate::source::TYPED;

/// Bodies of film resistors, in W and V (two makers' series; the page names them).
const BODIES: [(&str, f64); 2] = [("¼\u{a0}W", 250.0), ("½\u{a0}W", 350.0)];

/// What the used part of a rheostat has to bear at its worst knob.
#[derive(Clone, Copy)]
pub(super) struct Used {
    /// Heat at the setting where it is most, in W.
    pub(super) heat: f64,
    /// Current at the setting where it is most, in A.
    pub(super) current: f64,
}

impl MasterVolume {
    /// The most that stands along one section, in V.
    pub(super) fn along(&self) -> f64 {
        let sides = if self.topology == Topology::Bridge { 2.0 } else { 1.0 };
        sides * self.swing.si()
    }

    /// What the used part of a rheostat has to bear, at whatever knob is worst for each: heat in W and current in A. `None`
    /// for a divider, whose whole track lies across the swing.
    ///
    /// ```text
    /// R = R_i ∥ R_w    E = V_s R_w / (R_i + R_w)       the inverter with all that lies across the track; twice both, across two grids
    /// P = (E / (R + r))² r                             most where the used part r is R
    /// I = E / (R + r)                                  most where it is least
    /// ```
    pub(super) fn used(&self, circuit: &Circuit) -> Option<Used> {
        let beside = match self.topology {
            Topology::Divider | Topology::Chassis => return None,
            Topology::Across | Topology::Bridge => 1.0 / circuit.leak,
            Topology::Instead => circuit.safe_from_wiper().map_or(0.0, |safe| 1.0 / safe),
        };
        let sides = if self.topology == Topology::Bridge { 2.0 } else { 1.0 };
        let left = 1.0 / (1.0 + circuit.inverter * beside);
        let (volts, inside) = (self.along() * left, sides * circuit.inverter * left);
        let (_, least) = circuit.parts(circuit.law.share(Ratio::of(0.0)));
        let (_, most) = circuit.parts(circuit.law.full_up());
        let worst = inside.max(least).min(most);
        let current = |part: f64| volts / (inside + part);
        Some(Used { heat: current(worst) * current(worst) * worst, current: current(least) })
    }

    pub(super) fn judge_element(&self, found: &Found, margins: &Margins, report: &mut Report) {
        let kind = "rating of a section";
        let volts = Limit::new(self.element_voltage, kind, &TYPED);
        let watts = Limit::new(self.element_power, kind, &TYPED);
        let bears = |standing| {
            match standing {
                Standing::Within => "The section can take the inverter’s whole swing.",
                _ => "Measure the swing on the oscilloscope; if it is as high as that, use a larger control.",
            }
            .to_owned()
        };
        let (along, heat) = (margins.of("track-voltage"), margins.of("track-power"));
        report.verdicts.push(Verdict::at_most("Voltage along the track", &along, Some(volts), bears));
        if found.used.is_some() {
            self.judge_used(found, margins, watts, report);
        } else {
            report.verdicts.push(Verdict::at_most("Heat in the track", &heat, Some(watts), bears));
        }
        report.notes.push(format!(
            "Between the lugs and the earthed body, bush and shaft, bias and swing together are {}. With a shorted \
             coupling capacitor and cold valves it is the inverter’s unloaded supply, {}: look up the insulation in \
             the control’s own data sheet.",
            writing::nearest(self.swing.si() - self.bias.si(), &VOLT),
            writing::nearest(self.unloaded.si(), &VOLT)
        ));
    }

    /// A rheostat's track at its worst knob: its watts count for the whole of it, so a part can take the current that they are
    /// there, and no more.
    fn judge_used(&self, found: &Found, margins: &Margins, watts: Limit, report: &mut Report) {
        let amperes = libm::sqrt(self.element_power.si() / found.circuit.track);
        let amperes = Limit::new(
            ElectricCurrent::of(amperes),
            "the current that gives its rated watts in the whole track",
            &TYPED,
        );
        let bears = |standing| {
            match standing {
                Standing::Within => "The used part can take the inverter’s whole swing at every setting.",
                _ => {
                    "Turned down at full swing, the little of the track that is in use takes it all. Use the divider \
                     or a larger control, or measure the swing on the oscilloscope."
                }
            }
            .to_owned()
        };
        for (about, id, limit) in [
            ("Heat in the used part of the track", "used-power", watts),
            ("Current in the used part of the track", "used-current", amperes),
        ] {
            report.verdicts.push(Verdict::at_most(about, &margins.of(id), Some(limit), bears));
        }
    }

    /// The list of parts, for a control that can take these volts and watts.
    pub(super) fn parts(&self, circuit: &Circuit, [along, heat]: [f64; 2]) -> Table {
        let topology = self.topology;
        let volts = |volts: f64| writing::nearest(volts, &VOLT);
        let shorted = self.unloaded.si() - self.bias.si();
        let control = format!(
            "{}, {}, a section of at least {} and {}; insulation from lugs to body for {}, by its own data sheet",
            if topology == Topology::Bridge { "single" } else { "dual" },
            writing::nearest(circuit.track, &OHM),
            volts(along),
            writing::nearest(heat, &WATT),
            volts(self.unloaded.si()),
        );
        // For each grid, where it is at the grid.
        let holders = match circuit.safe {
            Some((Place::Tag, _)) => circuit.all_valves(),
            _ => 2.0,
        };
        let mut rows = Vec::new();
        let mut part =
            |name: &str, count: f64, what: String| rows.push(vec![name.to_owned(), count.to_string(), what]);
        part("Control", 1.0, control);
        if let Some((place, safe)) = circuit.safe {
            let body = BODIES.iter().find(|(_, bears)| *bears >= shorted);
            let body = body.map_or("two of half the value in series, ½\u{a0}W each", |(body, _)| body);
            let what = format!(
                "{}, film, {body}: a shorted capacitor and cold valves put {} across it",
                writing::nearest(safe, &OHM),
                volts(shorted)
            );
            part(&format!("Fail-safe resistor, {}", place.words()), holders, what);
        }
        if topology == Topology::Chassis {
            let rated = format!(
                "{}, film, rated for {}: the unloaded supply, if the first one shorts, and the bias",
                writing::nearest(circuit.second, &FARAD),
                volts(shorted)
            );
            part("Second coupling capacitor", 2.0, rated);
        }
        let screen = if topology.screen_at_bias() {
            "screen on the low lug, insulated at both ends"
        } else {
            "screen on chassis at one end, insulated at the other"
        };
        let length = writing::nearest(self.lead.length, &CENTIMETRE);
        let lead = format!(
            "{length}, longer until the first test; {screen}; jacket for 300\u{a0}V and 80\u{a0}°C, core to screen \
             for 600\u{a0}V"
        );
        part("Screened lead to a grid", 2.0, lead);
        if topology.is_divider() {
            part("Lead to a hot lug", 2.0, format!("insulated for {}", volts(shorted.max(600.0))));
        }
        if topology != Topology::Bridge {
            part(
                "Jumper between the low lugs",
                1.0,
                "tinned copper, through both low lugs’ holes".to_owned(),
            );
            let to = if topology == Topology::Chassis {
                "chassis, beside the inverter’s"
            } else {
                "the bias node"
            };
            part("Wire from the low lugs", 1.0, format!("to {to}"));
        }
        if let Some((Place::Socket | Place::Tag, _)) = circuit.safe {
            part("Wire from a fail-safe resistor", holders, "its own, to the bias node".to_owned());
        }
        Table {
            title: "Parts for it".to_owned(),
            head: ["Part", "Count", "What it must be"].map(str::to_owned).to_vec(),
            rows,
        }
    }
}
