//! What an amplifier is made of: values of parts, windings, resistances. In V, A, Ω, F, W; an infinite resistance is an
//! open path. Nothing here is a reading.

/// No path.
pub const OPEN: f64 = f64::INFINITY;

/// An amplifier, and what is on the bench with it.
#[derive(Debug, Clone)]
pub struct Circuit {
    /// What the tables call it.
    pub name: &'static str,
    /// Its mains side.
    pub mains: Mains,
    /// Its HT.
    pub supply: Supply,
    /// Where its grids' bias comes from.
    pub bias: Bias,
    /// What drives its output valves.
    pub inverter: Inverter,
    /// The type of its output valves.
    pub valve: &'static str,
    /// Its output valves, side A first, in each side from the inside out.
    pub sockets: Vec<Socket>,
    /// What the valves of a side share: of a single-ended amplifier there is one, of others A and B.
    pub sides: Vec<Side>,
    /// A resistor that all cathodes share.
    pub shared_cathode: Option<f64>,
    /// Output transformer, feedback, load.
    pub output: Output,
    /// A control after the inverter.
    pub control: Option<Control>,
    /// What the technician brings.
    pub bench: Bench,
}

/// From the plug to the transformer.
#[derive(Debug, Clone)]
pub struct Mains {
    /// Volts of its rating plate.
    pub marked: f64,
    /// Volts at the outlet.
    pub outlet: f64,
    /// Its selector's tap over that of the rating plate: below 1, every secondary gives more.
    pub tap: f64,
    /// Hz.
    pub hertz: f64,
    /// Live pin to the fuse holder: lead and switch.
    pub live: f64,
    /// The fuse.
    pub fuse: f64,
    /// The transformer's primary.
    pub primary: f64,
    /// From the mains to the chassis: insulation, suppressors.
    pub insulation: f64,
    /// From a mains pin to the chassis where the transformer does not isolate.
    pub isolation: f64,
    /// Earth pin to chassis, the lead included.
    pub earth: f64,
    /// Each side of the heater line to chassis.
    pub heater_tie: f64,
    /// Small valves' heaters and the dial lamp, at 6.3 V.
    pub small_heaters: f64,
    /// Watts lost in the transformer's core; shorted turns add to them.
    pub core: f64,
}

/// One leg of a rectifier.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leg {
    /// As it should be.
    Whole,
    /// Conducts neither way.
    Open,
    /// Conducts both ways.
    Shorted,
}

/// Where the standby switch is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standby {
    /// In the DC line behind the reservoir.
    Dc,
    /// In the HT winding, or its centre tap.
    Winding,
    /// There is none.
    None,
}

/// The HT, from its winding to the inverter's node.
#[derive(Debug, Clone)]
pub struct Supply {
    /// RMS volts that one leg of the rectifier sees, at the marked mains, without load.
    pub winding: f64,
    /// Winding and reflected primary behind each leg; a valve rectifier's own resistance as well.
    pub source: f64,
    /// Whether a valve rectifies; its cathode is warm after some ten seconds.
    pub valve_rectifier: bool,
    /// Its two legs.
    pub legs: [Leg; 2],
    /// How it is let in.
    pub standby: Standby,
    /// Across the open standby switch.
    pub standby_leak: f64,
    /// Reservoir, what the pair makes where there are two in series.
    pub reservoir: f64,
    /// Its rating, of two in series that of each.
    pub rating: f64,
    /// The resistors across two in series.
    pub balance: Option<[f64; 2]>,
    /// What each leaks; the second counts with two in series.
    pub leak: [f64; 2],
    /// The lowest rating behind the droppers.
    pub later_rating: f64,
    /// A bleeder.
    pub bleeder: f64,
    /// From the standby switch to the screens: dropper or choke.
    pub to_screens: f64,
    /// From the screens to the inverter's node.
    pub to_inverter: f64,
    /// What the preamplifier draws, as a resistance at the inverter's node.
    pub preamplifier: f64,
}

/// How the bias is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Adjust {
    /// One trimmer for all.
    Trimmer,
    /// A trimmer for each side.
    Each,
    /// A trimmer, and a control that parts it between the sides.
    Balance,
    /// Nothing.
    Fixed,
}

/// Where the bias comes from.
#[derive(Debug, Clone)]
pub enum Bias {
    /// A rectified supply of its own.
    Fixed(FixedBias),
    /// The cathode resistors.
    Cathode,
}

/// A negative supply: winding, resistor, half-wave rectifier, capacitor; then a range resistor to each node, which a foot
/// and a trimmer load to chassis, and a capacitor at the node.
#[derive(Debug, Clone)]
pub struct FixedBias {
    /// Whether it is fed from the HT winding.
    pub from_ht: bool,
    /// RMS volts at the marked mains.
    pub winding: f64,
    /// In series with the rectifier.
    pub source: f64,
    /// The rectifier.
    pub leg: Leg,
    /// First capacitor, F.
    pub first: f64,
    /// What it leaks.
    pub first_leak: f64,
    /// Capacitor at each node, F.
    pub last: f64,
    /// What that leaks.
    pub last_leak: f64,
    /// How it is set.
    pub adjust: Adjust,
    /// The nodes: one for all, or one for each side.
    pub legs: Vec<BiasLeg>,
}

/// From the bias supply to a node.
#[derive(Debug, Clone)]
pub struct BiasLeg {
    /// From the first capacitor to the node.
    pub range: f64,
    /// From the node towards chassis.
    pub foot: f64,
    /// The trimmer between foot and chassis, used as a rheostat.
    pub trimmer: f64,
    /// How much of it is in circuit, 0 to 1.
    pub turned: f64,
}

/// What drives the output valves.
#[derive(Debug, Clone, Copy)]
pub struct Inverter {
    /// Its shape.
    pub shape: Shape,
    /// The type of its valve.
    pub valve: &'static str,
    /// Anode loads, of A and of B.
    pub loads: [f64; 2],
    /// Cathode resistor.
    pub cathode: f64,
    /// Tail of a long-tailed pair, cathode load of a cathodyne.
    pub tail: f64,
}

/// A driver's shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// Two triodes on one tail.
    LongTailed,
    /// One triode with equal loads at anode and cathode.
    Cathodyne,
    /// One triode that drives a single side.
    Triode,
}

/// A side of the output stage.
#[derive(Debug, Clone, Copy)]
pub struct Side {
    /// Coupling capacitor, F.
    pub coupling: f64,
    /// Its insulation.
    pub coupling_leak: f64,
    /// Grid leak.
    pub leak: f64,
    /// Half primary.
    pub half: f64,
}

/// An output valve in its socket.
#[derive(Debug, Clone, Copy)]
pub struct Socket {
    /// A1, A2, B1, …
    pub name: &'static str,
    /// 0 is A.
    pub side: usize,
    /// Grid stopper.
    pub stopper: f64,
    /// Screen stopper.
    pub screen_stopper: f64,
    /// Cathode resistor; 0 is a wire.
    pub cathode: f64,
    /// The valve's currents over those of a new average one.
    pub emission: f64,
    /// Current out of the grid when it is hot, A.
    pub gas: f64,
    /// Grid to cathode inside the valve.
    pub grid_cathode: f64,
    /// Grid to screen inside the valve.
    pub grid_screen: f64,
    /// Screen to cathode inside the valve.
    pub screen_cathode: f64,
    /// The grid's tag to the screen's, at the socket.
    pub bridge: f64,
}

/// Output transformer, feedback and jack.
#[derive(Debug, Clone)]
pub struct Output {
    /// Anode to anode, or anode to HT in a single-ended stage.
    pub primary: f64,
    /// Insulation of the primary to chassis.
    pub insulation: f64,
    /// Nominal load.
    pub load: f64,
    /// What the load really has.
    pub load_ohms: f64,
    /// Jack lug to load, tip and sleeve.
    pub legs: [f64; 2],
    /// Rated watts.
    pub rated: f64,
    /// Loop gain at 1 kHz, negative when the lead is on the wrong end; none without feedback.
    pub loop_gain: Option<f64>,
    /// Output volts with the loop open, of the small signal that is used for its proof.
    pub small_signal: f64,
}

/// A control after the inverter, by the letters of the book's topologies.
#[derive(Debug, Clone)]
pub struct Control {
    /// Which way it is wired.
    pub way: Way,
    /// Its tracks.
    pub track: f64,
    /// From each wiper's line to the bias node.
    pub safe: Option<f64>,
    /// Whether a wiper is off its track.
    pub lifted: [bool; 2],
    /// Whether the outer lugs are swapped.
    pub swapped: [bool; 2],
    /// Whether the low end is open.
    pub low_open: [bool; 2],
    /// From the wiper to chassis.
    pub to_chassis: f64,
    /// Insulation of the second pair of coupling capacitors, of A and of B, where there is one.
    pub second_leak: [f64; 2],
}

/// How a control after the inverter is wired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// (a): divider with its low end on the bias feed, leaks removed.
    Divider,
    /// (b): rheostats across the leaks.
    Across,
    /// (c): rheostats instead of the leaks.
    Instead,
    /// (d): one control across the two grids.
    Between,
    /// (e): divider to chassis before a second pair of coupling capacitors.
    ToChassis,
}

/// What the technician brings.
#[derive(Debug, Clone, Copy)]
pub struct Bench {
    /// The lamp's rated watts, at the outlet's volts.
    pub lamp: f64,
    /// The lamp box bridged, so that the lamp limits nothing.
    pub lamp_bridged: bool,
    /// The lamp in the neutral.
    pub lamp_in_neutral: bool,
    /// Ohms of the box's earth.
    pub box_earth: f64,
    /// The discharge resistor.
    pub discharge: f64,
    /// Whether it is forgotten on the reservoir when power goes on.
    pub forgotten: bool,
    /// The battery that proves the meter, as the meter shows it.
    pub battery: f64,
    /// The meter's input.
    pub meter: f64,
    /// Watts of the dummy load.
    pub load_watts: f64,
    /// Whether the amplifier is read by a break-out harness.
    pub harness: bool,
}
