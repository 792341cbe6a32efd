//! The wiring as one sees it: the gangs with their lugs, the socket of the valve with its grid's pin, and between them every
//! wire with both its ends, numbered as in the list of [`wires`](super::wires).
//!
//! Everything is laid out as seen from the lug side, lugs down, the low lug on the right; from the shaft side it is the mirror
//! image. The socket is seen from below either way.

use super::circuit::{Place, Topology};
use super::wires::{Kind, SIDES, Wire};
use super::{MasterVolume, Seen};
use crate::calculator::{Anchor, Drawing, Lies, Report, Shape, Symbol};
use crate::quantity::unit::{OHM, VOLT};
use crate::quantity::{Quantity, writing};
use crate::valve::{Base, Electrode, pins};

const WIDTH: f64 = 310.0;

/// Where the lugs stand: hot, wiper, low.
const LUGS: [f64; 3] = [36.0, 85.0, 134.0];
/// The wire that joins the low lugs.
const JOINT: f64 = 168.0;
/// On either side of the socket, the way from the lead to the grid's pin.
const WAYS: [f64; 2] = [184.0, 298.0];
/// The middle of the socket, its edge, where its pins stand, and a pin.
const SOCKET: (f64, f64) = (241.0, 92.0);
const RIM: f64 = 42.0;
const CIRCLE: f64 = 30.0;
const PIN: f64 = 6.0;
/// Round a wire's number.
const NUMBER: f64 = 11.0;
/// How high a gang is with what goes with it.
const GANG: f64 = 284.0;
/// The same with a fail-safe resistor at the socket's side.
const GANG_WITH_SAFE: f64 = 334.0;
/// By how much the lead lies lower where a second coupling capacitor stands before the stopper.
const SECOND: f64 = 48.0;
/// The bias node with what feeds it.
const NODE: f64 = 124.0;

/// Draws at the same places from either side.
struct Pen {
    drawing: Drawing,
    mirrored: bool,
    /// Where the gang begins that is being drawn.
    top: f64,
}

impl Pen {
    fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        (if self.mirrored { WIDTH - x } else { x }, self.top + y)
    }

    fn through(&self, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
        points.iter().map(|point| self.at(*point)).collect()
    }

    fn line(&mut self, points: &[(f64, f64)]) {
        let points = self.through(points);
        self.drawing.shapes.push(Shape::Line(points));
    }

    fn dashed(&mut self, points: &[(f64, f64)]) {
        let points = self.through(points);
        self.drawing.shapes.push(Shape::Dashed(points));
    }

    fn dot(&mut self, x: f64, y: f64) {
        let (x, y) = self.at((x, y));
        self.drawing.shapes.push(Shape::Dot(x, y));
    }

    fn ring(&mut self, x: f64, y: f64, radius: f64) {
        let (x, y) = self.at((x, y));
        self.drawing.shapes.push(Shape::Ring(x, y, radius));
    }

    fn symbol(&mut self, symbol: Symbol, x: f64, y: f64, lies: Lies) {
        let (x, y) = self.at((x, y));
        self.drawing.symbol(symbol, x, y, lies);
    }

    fn label(&mut self, x: f64, y: f64, anchor: Anchor, text: &str) {
        let anchor = match anchor {
            Anchor::Start if self.mirrored => Anchor::End,
            Anchor::End if self.mirrored => Anchor::Start,
            anchor => anchor,
        };
        let (x, y) = self.at((x, y));
        self.drawing.label(x, y, anchor, text);
    }

    /// A wire's number, on a gap that the wire leaves for it.
    fn number(&mut self, x: f64, y: f64, number: Option<usize>) {
        let Some(number) = number else { return };
        self.ring(x, y, NUMBER);
        self.label(x, y + 6.0, Anchor::Middle, &number.to_string());
    }

    /// A wire straight down, with its number on it.
    fn down(&mut self, x: f64, from: f64, to: f64, at: f64, number: Option<usize>) {
        if number.is_none() {
            return self.line(&[(x, from), (x, to)]);
        }
        self.line(&[(x, from), (x, at - NUMBER)]);
        self.line(&[(x, at + NUMBER), (x, to)]);
        self.number(x, at, number);
    }
}

/// On which side of a way the socket lies, as a sign, and how letters there are set.
fn beside(way: f64) -> (f64, Anchor) {
    if way < SOCKET.0 { (1.0, Anchor::Start) } else { (-1.0, Anchor::End) }
}

impl MasterVolume {
    pub(super) fn wiring(&self, report: &mut Report) {
        let mirrored = self.seen == Seen::Shaft;
        let gang = self.height();
        let at_bias = self.topology != Topology::Bridge;
        let height = gang * 2.0 + if at_bias { NODE } else { 0.0 };
        let drawing = Drawing {
            name: "wiring",
            title: format!("The wiring, seen from the {} side", if mirrored { "shaft" } else { "lug" }),
            description: self.wiring_words(),
            size: (WIDTH, height),
            shapes: Vec::new(),
        };
        let mut pen = Pen { drawing, mirrored, top: 0.0 };
        for side in 0..SIDES.len() {
            #[expect(clippy::cast_precision_loss)]
            let top = gang * side as f64;
            pen.top = top;
            let way = self.socket(side, &mut pen);
            self.lead(side, way, &mut pen);
            if side == 0 || at_bias {
                self.gang(side, &mut pen);
            }
        }
        if at_bias {
            pen.top = gang * 2.0;
            self.node(&mut pen);
        }
        report.drawings.push(pen.drawing);
    }

    /// How high a gang is with its wires.
    fn height(&self) -> f64 {
        let second = if self.topology == Topology::Chassis { SECOND } else { 0.0 };
        match self.safe {
            Some((Place::Socket | Place::Tag, _)) => GANG_WITH_SAFE,
            _ => GANG + second,
        }
    }

    /// How far down the lead lies.
    fn row(&self) -> f64 {
        236.0 + if self.topology == Topology::Chassis { SECOND } else { 0.0 }
    }

    fn number(&self, kind: Kind, side: usize) -> Option<usize> {
        self.number_of(Wire { kind, side })
    }

    /// The gang as one sees it, and what is soldered to its lugs.
    fn gang(&self, side: usize, pen: &mut Pen) {
        let [hot, wiper, low] = LUGS;
        let bridge = self.topology == Topology::Bridge;
        let name = if bridge { "control".to_owned() } else { format!("gang {}", SIDES[side]) };
        pen.label(wiper, 20.0, Anchor::Middle, &name);
        // The body, the track in it, and the wiper somewhere on it.
        let arc = |radius: f64, from: i32, to: i32| {
            (from..=to).map(move |step| {
                let angle = f64::from(step) * 15.0_f64.to_radians();
                (wiper + radius * libm::sin(angle), 78.0 - radius * libm::cos(angle))
            })
        };
        let body: Vec<(f64, f64)> = [(12.0, 136.0)]
            .into_iter()
            .chain([(12.0, 78.0)])
            .chain(arc(48.0, -6, 6))
            .chain([(158.0, 78.0), (158.0, 136.0), (12.0, 136.0)])
            .collect();
        pen.line(&body);
        let track: Vec<(f64, f64)> = arc(34.0, -9, 9).collect();
        pen.line(&track);
        pen.line(&[(wiper, 78.0), (wiper - 17.0, 54.0)]);
        pen.ring(wiper, 78.0, 5.0);
        for (x, lug) in LUGS.into_iter().zip(["hot", "wiper", "low"]) {
            pen.label(x, 130.0, Anchor::Middle, lug);
            pen.line(&[(x - 4.0, 136.0), (x - 4.0, 150.0), (x + 4.0, 150.0), (x + 4.0, 136.0)]);
        }
        if self.topology.is_divider() {
            pen.down(hot, 150.0, 198.0, 172.0, self.number(Kind::Hot, side));
            pen.dot(hot, 198.0);
            pen.label(hot, 218.0, Anchor::Middle, &format!("C\u{a0}{}", SIDES[side]));
        } else {
            // The tie of hot lug and wiper.
            pen.line(&[(hot, 150.0), (hot, 164.0), (60.5 - NUMBER, 164.0)]);
            pen.line(&[(60.5 + NUMBER, 164.0), (wiper, 164.0)]);
            pen.number(60.5, 164.0, self.number(Kind::Tie, side));
            pen.dot(wiper, 164.0);
        }
        if matches!(self.safe, Some((Place::Pot, _))) {
            pen.symbol(Symbol::Resistor, f64::midpoint(wiper, low), 182.0, Lies::Across);
            pen.dot(wiper, 182.0);
            pen.dot(low, 182.0);
            pen.label(f64::midpoint(wiper, low), 174.0, Anchor::Middle, "Rf");
        }
        // The low lug, and what joins it to the other or to side B.
        let joint = 206.0;
        pen.line(&[(low, 150.0), (low, joint), (JOINT, joint)]);
        let kind = match (bridge, side) {
            (true, _) => (Kind::Lead, 1),
            (false, 0) => (Kind::Jumper, 0),
            (false, _) => (Kind::Feed, 0),
        };
        let end = match (bridge, side) {
            (true, _) => self.height() + self.row(),
            (false, 0) => self.height() + joint,
            (false, _) => self.height() + 28.0,
        };
        if side == 1 {
            pen.dot(JOINT, joint);
        }
        pen.down(JOINT, joint, end, self.row() + 26.0, self.number(kind.0, kind.1));
    }

    /// The socket with the grid's pin, and the way from there to where the lead ends; gives that way.
    fn socket(&self, side: usize, pen: &mut Pen) -> f64 {
        let (x, y) = SOCKET;
        let found = pins(&self.valve.name).unwrap_or_default();
        let grid =
            (1u8..).zip(found).find(|(_, pin)| pin.has(Electrode::ControlGrid)).map(|(number, _)| number);
        let [near, far] = WAYS;
        let named = grid.map_or_else(|| "grid".to_owned(), |grid| format!("pin\u{a0}{grid}"));
        pen.label(x, 20.0, Anchor::Middle, &format!("{}: {named}", SIDES[side]));
        pen.label(x, 42.0, Anchor::Middle, &writing::nearest(self.bias.si(), &VOLT));
        let base = if found.len() == 9 { Base::Noval } else { Base::Octal };
        let place = |pin: u8| {
            let (right, down) = base.place(pin);
            (x + CIRCLE * if pen.mirrored { -right } else { right }, y + CIRCLE * down)
        };
        let (pin_x, pin_y) = grid.map_or((x, y), place);
        let way = if pin_x < x { near } else { far };
        let all: Vec<(f64, f64)> = (1u8..).zip(found).map(|(pin, _)| place(pin)).collect();
        // Of a valve whose pins are not known there is the grid's tag, and no socket.
        if grid.is_some() {
            let mark = y + RIM;
            pen.ring(x, y, RIM);
            pen.line(&[(x - 5.0, mark), (x, mark - 8.0), (x + 5.0, mark)]);
            for (at, down) in all {
                pen.ring(at, down, PIN);
            }
            for radius in [1.0, 3.0] {
                pen.ring(pin_x, pin_y, radius);
            }
        }
        pen.ring(pin_x, pin_y, PIN - 1.0);
        pen.dot(pin_x, pin_y);
        // From the pin outwards, and down to the stopper.
        let edge = if way < x { pin_x - PIN } else { pin_x + PIN };
        pen.line(&[(edge, pin_y), (way, pin_y), (way, 162.0)]);
        pen.symbol(Symbol::Resistor, way, 186.0, Lies::Upright);
        let (inward, outward) = beside(way);
        pen.label(way + inward * 18.0, 192.0, outward, "Rs");
        way
    }

    /// The screened lead, from the control to the stopper, with what else meets there.
    fn lead(&self, side: usize, way: f64, pen: &mut Pen) {
        let row = self.row();
        let [_, wiper, _] = LUGS;
        let bridge = self.topology == Topology::Bridge;
        let from_low = bridge && side == 1;
        let number = self.number(Kind::Lead, side);
        let (inward, outward) = beside(way);
        let sleeve = |pen: &mut Pen, (left, top): (f64, f64), (right, end): (f64, f64)| {
            pen.dashed(&[(left, top), (right, top), (right, end), (left, end), (left, top)]);
        };
        let mid = 110.0;
        if from_low {
            // The wire has its number where it leaves the low lug.
            pen.line(&[(JOINT, row), (way, row)]);
        } else {
            pen.line(&[(wiper, 150.0), (wiper, row), (mid - NUMBER, row)]);
            pen.line(&[(mid + NUMBER, row), (way, row)]);
            pen.number(mid, row, number);
        }
        if from_low {
            // The screen stands round the wire on its way down.
            sleeve(pen, (JOINT - 8.0, 30.0), (JOINT + 8.0, 200.0));
            pen.dashed(&[(JOINT - 8.0, 180.0), (132.0, 180.0), (132.0, 196.0)]);
            pen.symbol(Symbol::Chassis, 132.0, 196.0, Lies::Upright);
        } else {
            let (left, right) = match (way < SOCKET.0, self.safe) {
                (true, _) => (126.0, 160.0),
                // The resistor at the tag has its own wire beside it.
                (false, Some((Place::Tag, _))) => (194.0, 236.0),
                (false, _) => (194.0, way - 16.0),
            };
            sleeve(pen, (left, row - 8.0), (right, row + 8.0));
            if bridge {
                let middle = f64::midpoint(left, right);
                pen.dashed(&[(middle, row + 8.0), (middle, row + 16.0)]);
                pen.symbol(Symbol::Chassis, middle, row + 16.0, Lies::Upright);
            } else {
                // It is soldered to the low lug.
                let [_, _, low] = LUGS;
                pen.dashed(&[(left + 4.0, row - 8.0), (left + 4.0, 196.0), (low, 196.0)]);
                pen.dot(low, 196.0);
            }
        }
        // Up to the stopper.
        let junction = 220.0;
        if self.topology == Topology::Chassis {
            pen.line(&[(way, 210.0), (way, 226.0)]);
            pen.symbol(Symbol::Capacitor, way, 250.0, Lies::Upright);
            pen.line(&[(way, 274.0), (way, row)]);
            pen.label(way + inward * 18.0, 262.0, outward, "C₂");
        } else {
            pen.line(&[(way, 210.0), (way, row)]);
        }
        let meets = match self.topology {
            Topology::Divider => None,
            Topology::Chassis => Some("leak".to_owned()),
            Topology::Instead => Some(format!("C\u{a0}{}", SIDES[side])),
            Topology::Across | Topology::Bridge => Some(format!("C\u{a0}{}, leak", SIDES[side])),
        };
        if let Some(meets) = meets {
            let end = way + inward * 14.0;
            pen.line(&[(way, junction - 4.0), (end, junction - 4.0)]);
            pen.dot(way, junction - 4.0);
            pen.label(end + inward * 5.0, junction + 2.0, outward, &meets);
        }
        self.fail_safe(side, way, pen);
    }

    /// The fail-safe resistor at the socket's side, and its own wire towards the bias node.
    fn fail_safe(&self, side: usize, way: f64, pen: &mut Pen) {
        let (inward, outward) = beside(way);
        let number = self.number(Kind::Safe, side);
        let at = match self.safe {
            Some((Place::Socket, _)) => {
                pen.dot(way, 236.0);
                pen.line(&[(way, 236.0), (way, 242.0)]);
                pen.symbol(Symbol::Resistor, way, 266.0, Lies::Upright);
                pen.label(way + inward * 14.0, 272.0, outward, "Rf");
                way
            }
            Some((Place::Tag, _)) => {
                let beside = way + inward * 52.0;
                pen.dot(way, 152.0);
                pen.line(&[(way, 152.0), (beside, 152.0), (beside, 162.0)]);
                pen.symbol(Symbol::Resistor, beside, 186.0, Lies::Upright);
                pen.line(&[(beside, 210.0), (beside, 290.0)]);
                pen.label(beside + inward * 12.0, 192.0, outward, "Rf");
                beside
            }
            _ => return,
        };
        if side + 1 == SIDES.len() {
            return pen.down(at, 290.0, self.height() + 28.0, 304.0, number);
        }
        // Past the other side, where its own way is not.
        let [near, far] = WAYS;
        let past = if way == near { far } else { near };
        pen.down(at, 290.0, 324.0, 304.0, number);
        pen.line(&[(at, 324.0), (past, 324.0), (past, self.height() * 2.0 + 28.0)]);
    }

    /// The bias node with what feeds it, or the chassis.
    fn node(&self, pen: &mut Pen) {
        if self.topology == Topology::Chassis {
            pen.symbol(Symbol::Chassis, JOINT, 28.0, Lies::Upright);
            return pen.label(JOINT + 24.0, 46.0, Anchor::Start, "chassis");
        }
        pen.line(&[(24.0, 28.0), (WAYS[1], 28.0)]);
        pen.dot(JOINT, 28.0);
        pen.label(12.0, 18.0, Anchor::Start, &format!("bias {}", writing::nearest(self.bias.si(), &VOLT)));
        pen.symbol(Symbol::Capacitor, 40.0, 52.0, Lies::Upright);
        pen.symbol(Symbol::Chassis, 40.0, 76.0, Lies::Upright);
        pen.label(66.0, 82.0, Anchor::Start, "+ at chassis");
        pen.symbol(Symbol::Resistor, 240.0, 52.0, Lies::Upright);
        pen.label(240.0, 96.0, Anchor::Middle, "bias supply");
    }

    fn wiring_words(&self) -> String {
        let order = if self.seen == Seen::Shaft {
            "Lugs down, the low lug is on the left."
        } else {
            "Lugs down, the low lug is on the right."
        };
        let parts = "The socket is seen from below, the mark at the bottom, the grid’s pin filled. C is the inverter’s coupling \
                     capacitor, Rs the stopper; a dashed outline is the screen of a lead. Wires are numbered as in the list.";
        let more = match self.valves {
            ..=1 => "",
            _ => " Each further valve of a side has a stopper of its own, from the same lead.",
        };
        let wiring = match self.topology {
            Topology::Divider => {
                "Low lugs are joined by a jumper. The screen of each wiper lead is soldered to the low lug, and cut \
                 back at the socket: it carries the bias. Sleeve it at both ends and over every bare tag: it must \
                 never touch the pot’s body, the panel or an earthed screen, or every output valve loses its bias. \
                 The bush and shaft are earthed metal."
            }
            Topology::Across | Topology::Instead => {
                "Low lugs are joined by a jumper. The screen of each lead is soldered to the low lug, and cut back at \
                 the socket: it carries the bias. Sleeve it at both ends; it must never touch the pot’s body, the \
                 panel or an earthed screen."
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
                " The fail-safe resistor Rf, {} for each side, sits {}.",
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
        format!("{order} {parts}{more} {wiring}{safe}")
    }
}
