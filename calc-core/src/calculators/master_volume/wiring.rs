//! The wiring: each gang with its lugs, which lead goes on which, the screen's tag and its sleeves, the fail-safe resistor at
//! the pot, at the socket or on the grid tag.
//!
//! Seen from the shaft with the lugs down, the low lug is on the left; from the lug side it is on the right.

use super::circuit::{Place, Topology};
use super::{MasterVolume, Seen};
use crate::calculator::{Anchor, Drawing, Lies, Report, Shape, Symbol};
use crate::quantity::unit::OHM;
use crate::quantity::{Quantity, writing};

const WIDTH: f64 = 310.0;
/// How high a gang is with its lead.
const GANG: f64 = 214.0;
/// How much higher with the socket's side of it.
const SOCKET: f64 = 82.0;

/// Where the lugs stand, seen from their side: hot, wiper, low.
const LUGS: [f64; 3] = [58.0, 155.0, 252.0];

impl MasterVolume {
    pub(super) fn wiring(&self, report: &mut Report) {
        let mirrored = self.seen == Seen::Shaft;
        // Where the resistor hangs at the socket's side: before or behind the stopper.
        let at_socket = match self.safe {
            Some((Place::Socket, _)) => Some(206.0),
            Some((Place::Tag, _)) => Some(268.0),
            _ => None,
        };
        let gang = GANG + at_socket.map_or(0.0, |_| SOCKET);
        let gangs: &[&str] = if self.topology == Topology::Bridge { &["A"] } else { &["A", "B"] };
        let mut drawing = Drawing {
            name: "wiring",
            title: format!("The lugs, seen from the {} side", if mirrored { "shaft" } else { "lug" }),
            description: self.wiring_words(),
            size: (WIDTH, gang * gangs.len() as f64),
            shapes: Vec::new(),
        };
        let place = |x: f64| if mirrored { WIDTH - x } else { x };
        let [hot, wiper, low] = LUGS.map(place);
        for (count, side) in (0u8..).zip(gangs) {
            let y = gang * f64::from(count);
            drawing.line(&[
                (12.0, y + 4.0),
                (298.0, y + 4.0),
                (298.0, y + 38.0),
                (12.0, y + 38.0),
                (12.0, y + 4.0),
            ]);
            let whose =
                if self.topology == Topology::Bridge { "control".to_owned() } else { format!("gang {side}") };
            drawing.label(155.0, y + 27.0, Anchor::Middle, &whose);
            let name = |x: f64, line: f64, text: &str, drawing: &mut Drawing| {
                drawing.label(x, y + 108.0 + 22.0 * line, Anchor::Middle, text);
            };
            for (x, lug) in [(hot, "hot"), (wiper, "wiper"), (low, "low")] {
                drawing.line(&[(x, y + 38.0), (x, y + 78.0)]);
                drawing.shapes.push(Shape::Dot(x, y + 60.0));
                name(x, 0.0, lug, &mut drawing);
            }
            let [to_hot, to_wiper, to_low] = self.leads(side);
            name(hot, 1.0, &to_hot, &mut drawing);
            name(wiper, 1.0, &to_wiper, &mut drawing);
            name(low, 1.0, &to_low, &mut drawing);
            if !self.topology.is_divider() {
                // The tie between hot lug and wiper.
                drawing.line(&[(hot, y + 60.0), (wiper, y + 60.0)]);
            }
            let middle = f64::midpoint(wiper, low);
            // The fail-safe resistor, from the wiper's side to the low one.
            let safe = |y: f64, drawing: &mut Drawing| {
                drawing.symbol(Symbol::Resistor, middle, y, Lies::Across);
                drawing.line(&[(middle - 24.0, y), (wiper.min(low), y)]);
                drawing.line(&[(middle + 24.0, y), (wiper.max(low), y)]);
            };
            let outside = f64::midpoint(hot, wiper);
            if matches!(self.safe, Some((Place::Pot, _))) {
                safe(y + 78.0, &mut drawing);
            }
            if let Some(at) = at_socket {
                drawing.line(&[(wiper, y + 196.0), (wiper, y + 214.0)]);
                drawing.symbol(Symbol::Resistor, wiper, y + 238.0, Lies::Upright);
                drawing.line(&[(wiper, y + 262.0), (wiper, y + 274.0)]);
                drawing.shapes.push(Shape::Dot(wiper, y + 268.0));
                safe(y + at, &mut drawing);
                drawing.label(outside, y + 244.0, Anchor::Middle, "stopper");
                drawing.label(outside, y + 274.0, Anchor::Middle, "grid tag");
                drawing.label(middle, y + at + 22.0, Anchor::Middle, "wire to bias");
            }
            // The core that swings, in its screen.
            drawing.line(&[(wiper, y + 140.0), (wiper, y + 196.0)]);
            let (left, right) = (wiper - 9.0, wiper + 9.0);
            let (top, end) = (y + 146.0, y + 186.0);
            drawing.shapes.push(Shape::Dashed(vec![
                (left, top),
                (right, top),
                (right, end),
                (left, end),
                (left, top),
            ]));
            drawing.label(outside, y + 172.0, Anchor::Middle, "sleeved");
            if self.topology == Topology::Bridge {
                drawing.label(f64::midpoint(wiper, low), y + 172.0, Anchor::Middle, "to chassis");
                continue;
            }
            let edge = if low > wiper { right } else { left };
            drawing.shapes.push(Shape::Dashed(vec![(edge, y + 166.0), (low, y + 166.0), (low, y + 140.0)]));
            drawing.label(low, y + 186.0, Anchor::Middle, "screen");
        }
        if gangs.len() > 1 {
            // The jumper between the low lugs goes round the outside.
            let edge = place(306.0);
            drawing.line(&[(low, 70.0), (edge, 70.0), (edge, gang + 70.0), (low, gang + 70.0)]);
        }
        report.drawings.push(drawing);
    }

    /// What goes on the hot lug, the wiper and the low lug of a gang.
    fn leads(&self, side: &str) -> [String; 3] {
        let of = |what: &str| format!("{what} {side}");
        match self.topology {
            Topology::Divider => [of("from C"), of("grid"), "bias".to_owned()],
            Topology::Chassis => [of("from C"), of("to C₂"), "chassis".to_owned()],
            Topology::Across | Topology::Instead => ["tied".to_owned(), of("grid"), "bias".to_owned()],
            Topology::Bridge => ["tied".to_owned(), "grid A".to_owned(), "grid B".to_owned()],
        }
    }

    fn wiring_words(&self) -> String {
        let order = if self.seen == Seen::Shaft {
            "Lugs down, the low lug is on the left."
        } else {
            "Lugs down, the low lug is on the right."
        };
        let wiring = match self.topology {
            Topology::Divider => {
                "Low lugs are joined by a jumper. The screen of each wiper lead is soldered to the low lug, and cut back at \
                 the socket: it carries the bias. Sleeve it at both ends and over every bare tag: it must never touch the pot’s body, the panel or a grounded screen, or every output valve loses its bias. The bush and shaft are earthed metal."
            }
            Topology::Across | Topology::Instead => {
                "Low lugs are joined by a jumper. The screen of each lead is soldered to the low lug, and cut back at the \
                 socket: it carries the bias. Sleeve it at both ends; it must never touch the pot’s body, the panel or a \
                 grounded screen."
            }
            Topology::Bridge => {
                "Screens go to chassis at one end only and are sleeved at the pot. Both lugs carry the bias: sleeve every bare tag."
            }
            Topology::Chassis => {
                "Low lugs and screens go to chassis at one point. Nothing here carries the bias; the hot lug carries the inverter’s \
                 voltage if the first capacitor shorts: sleeve it."
            }
        };
        let safe = match self.safe {
            None => String::new(),
            Some((place, safe)) => format!(
                " The fail-safe resistor, {} for each side, sits {}.",
                writing::repeated(safe.si(), &OHM),
                match place {
                    Place::Pot =>
                        "here, from wiper lug to low lug; it covers neither the lead nor the joint of the low lugs",
                    Place::Socket =>
                        "at the socket’s side of the wiper lead, on a wire of its own to the bias node",
                    Place::Tag => "on the socket’s grid tag, on a wire of its own to the bias node",
                }
            ),
        };
        format!("{order} {wiring}{safe}")
    }
}
