//! The schematic of one side with its live values: a chain drawn downward, each part in series on the line, each part
//! across as a branch to the right.

use super::circuit::{Place, Topology};
use super::{Found, MasterVolume};
use crate::calculator::{Anchor, Drawing, Lies, Report, Shape, Symbol};
use crate::quantity::unit::{AMPERE, FARAD, OHM, ONE, PER_CENT, VOLT};
use crate::quantity::{Quantity, writing};

/// How far down a part reaches.
const STEP: f64 = 52.0;

/// Where a branch goes.
#[derive(Clone, Copy)]
enum Rail {
    Bias,
    Chassis,
    OtherGrid,
}

/// A pen that goes down the page.
struct Pen {
    drawing: Drawing,
    x: f64,
    y: f64,
}

impl Pen {
    fn series(&mut self, symbol: Symbol, text: String) {
        let (x, middle) = (self.x, self.y + STEP / 2.0);
        self.drawing.symbol(symbol, x, middle, Lies::Upright);
        self.drawing.label(x + 18.0, middle + 6.0, Anchor::Start, &text);
        self.down(STEP);
    }

    fn down(&mut self, by: f64) {
        // The symbols are a little shorter than a step: the line runs behind them and meets their leads.
        let half = (by - Symbol::LENGTH).max(0.0) / 2.0;
        if by < Symbol::LENGTH {
            self.drawing.line(&[(self.x, self.y), (self.x, self.y + by)]);
        } else {
            self.drawing.line(&[(self.x, self.y), (self.x, self.y + half)]);
            self.drawing.line(&[(self.x, self.y + by - half), (self.x, self.y + by)]);
        }
        self.y += by;
    }

    fn branch(&mut self, symbol: Symbol, text: String, rail: Rail) {
        self.down(34.0);
        let (x, y) = (self.x, self.y);
        self.drawing.shapes.push(Shape::Dot(x, y));
        self.drawing.line(&[(x, y), (x + 16.0, y)]);
        self.drawing.symbol(symbol, x + 40.0, y, Lies::Across);
        self.drawing.label(x + 14.0, y - 17.0, Anchor::Start, &text);
        self.rail(x + 64.0, y, rail);
        self.down(22.0);
    }

    fn rail(&mut self, x: f64, y: f64, rail: Rail) {
        match rail {
            Rail::Bias => self.drawing.label(x + 6.0, y + 6.0, Anchor::Start, "bias"),
            Rail::OtherGrid => self.drawing.label(x + 6.0, y + 6.0, Anchor::Start, "other grid"),
            Rail::Chassis => {
                self.drawing.line(&[(x, y), (x + 16.0, y)]);
                self.drawing.symbol(Symbol::Chassis, x + 16.0, y, Lies::Upright);
            }
        }
    }

    /// A track with its wiper: from there on the pen goes down from the wiper, to the right of it.
    fn track(&mut self, text: &[String], rail: Rail) {
        let (x, middle) = (self.x, self.y + STEP / 2.0);
        self.drawing.symbol(Symbol::Resistor, x, middle, Lies::Upright);
        self.drawing.symbol(Symbol::Wiper, x + 7.0, middle, Lies::Upright);
        self.down(STEP);
        let low = self.y + 20.0;
        self.drawing.line(&[(x, self.y), (x, low)]);
        match rail {
            Rail::Chassis => self.drawing.symbol(Symbol::Chassis, x, low, Lies::Upright),
            _ => self.drawing.label(x, low + 20.0, Anchor::Middle, "bias"),
        }
        let wiper = x + 80.0;
        self.drawing.line(&[(x + 18.0, middle), (wiper, middle)]);
        for (line, text) in (0u8..).zip(text) {
            self.drawing.label(x + 28.0, middle - 30.0 + 20.0 * f64::from(line), Anchor::Start, text);
        }
        (self.x, self.y) = (wiper, middle);
    }
}

impl MasterVolume {
    pub(super) fn schematic(&self, found: &Found, grid: Option<f64>, report: &mut Report) {
        let circuit = &found.circuit;
        let ohms = |value: f64| writing::repeated(value, &OHM);
        let farads = |value: f64| writing::repeated(value, &FARAD);
        let knob = writing::repeated(self.knob.si() * 10.0, &ONE);
        let share = writing::nearest(circuit.law.share(self.knob).si(), &PER_CENT);
        let drawing = Drawing {
            name: "schematic",
            title: "One side, with your values".to_owned(),
            description: self.schematic_words(),
            size: (310.0, 0.0),
            shapes: Vec::new(),
        };
        let mut pen = Pen { drawing, x: 26.0, y: 28.0 };
        pen.drawing.label(0.0, 18.0, Anchor::Start, &format!("inverter, {}", ohms(circuit.inverter)));
        pen.series(Symbol::Capacitor, farads(circuit.coupling));
        let track = [ohms(circuit.track), format!("at {knob}: {share}")];
        let safe = |pen: &mut Pen, at: Place| {
            if let Some((place, safe)) = circuit.safe
                && place == at
            {
                pen.branch(Symbol::Resistor, format!("{}, fail-safe", ohms(safe)), Rail::Bias);
            }
        };
        let lead = |pen: &mut Pen, rail| {
            if circuit.lead > 0.0 {
                pen.branch(Symbol::Capacitor, format!("{}, lead", farads(circuit.lead)), rail);
            }
        };
        let leak =
            |pen: &mut Pen| pen.branch(Symbol::Resistor, format!("{}, leak", ohms(circuit.leak)), Rail::Bias);
        let rheostat = || {
            format!(
                "{} of {}",
                writing::nearest(circuit.parts(circuit.law.share(self.knob)).1, &OHM),
                ohms(circuit.track)
            )
        };
        match self.topology {
            Topology::Divider => {
                pen.down(20.0);
                pen.track(&track, Rail::Bias);
                safe(&mut pen, Place::Pot);
                lead(&mut pen, Rail::Bias);
                safe(&mut pen, Place::Socket);
            }
            Topology::Chassis => {
                pen.down(20.0);
                pen.track(&track, Rail::Chassis);
                lead(&mut pen, Rail::Chassis);
                pen.series(Symbol::Capacitor, format!("{}, second", farads(circuit.second)));
                leak(&mut pen);
            }
            Topology::Across | Topology::Instead => {
                if self.topology == Topology::Across {
                    leak(&mut pen);
                }
                pen.branch(Symbol::Resistor, format!("{}, control", rheostat()), Rail::Bias);
                safe(&mut pen, Place::Pot);
                lead(&mut pen, Rail::Bias);
                safe(&mut pen, Place::Socket);
            }
            Topology::Bridge => {
                leak(&mut pen);
                pen.branch(Symbol::Resistor, format!("{}, control", rheostat()), Rail::OtherGrid);
                lead(&mut pen, Rail::Chassis);
            }
        }
        pen.series(Symbol::Resistor, format!("{}, stopper", ohms(circuit.stopper)));
        safe(&mut pen, Place::Tag);
        pen.down(16.0);
        let (x, y) = (pen.x, pen.y);
        pen.drawing.line(&[(x, y), (x + 10.0, y)]);
        pen.drawing.symbol(Symbol::Grid, x + 40.0, y, Lies::Upright);
        if let Some(volts) = grid {
            pen.drawing.label(x + 68.0, y - 4.0, Anchor::Start, &writing::nearest(volts, &VOLT));
            pen.drawing.label(x + 68.0, y + 18.0, Anchor::Start, &writing::repeated(self.idle.si(), &AMPERE));
        }
        pen.drawing.size.1 = y + 34.0;
        report.drawings.push(pen.drawing);
    }

    fn schematic_words(&self) -> String {
        let control = match self.topology {
            Topology::Divider => {
                "From the inverter through the coupling capacitor to the hot end of the track; its low end on the bias feed; from the wiper through the lead and the stopper to the grid"
            }
            Topology::Across => {
                "From the inverter through the coupling capacitor to the stopper and the grid; leak and control, as a \
                 rheostat, in parallel to the bias feed"
            }
            Topology::Instead => {
                "From the inverter through the coupling capacitor to the stopper and the grid; the control, as a rheostat, to the bias feed in place of the leak"
            }
            Topology::Bridge => {
                "From the inverter through the coupling capacitor to the stopper and the grid; the leak to the bias feed, the control to the other grid"
            }
            Topology::Chassis => {
                "From the inverter through the coupling capacitor to the hot end of the track; its low end on chassis; from the wiper through the lead and a second capacitor to the stopper and the grid, with the leak to the bias feed"
            }
        };
        format!(
            "{control}. The bias node has {} behind {}, and {} to chassis. The other side is the same.",
            writing::repeated(self.bias.si(), &VOLT),
            writing::repeated(self.bias_source.si(), &OHM),
            writing::repeated(self.bias_capacitor.si(), &FARAD)
        )
    }
}
