//! Faults: each a change of one amplifier's circuit.

use super::circuit::{Bias, Circuit, Control, FixedBias, Leg, OPEN};
use super::family::called;
use super::meters::Meters;

/// A fault in an amplifier of the family.
pub struct Fault {
    /// What is wrong, for the table.
    pub words: &'static str,
    /// In which amplifier.
    pub amplifier: &'static str,
    change: fn(&mut Circuit),
}

impl Fault {
    /// Meters at the faulty amplifier.
    #[must_use]
    pub fn meters(&self) -> Meters {
        let sound = called(self.amplifier);
        let mut circuit = sound.clone();
        (self.change)(&mut circuit);
        Meters::new(circuit, sound)
    }
}

const L6: &str = "two 6L6GC";
const EL34: &str = "two EL34, bias from the HT winding";
const EL84: &str = "two EL84, cathode bias, valve rectifier";
const V6: &str = "two 6V6GT, no trimmer, cathodes straight to chassis";
const KT88: &str = "two KT88, balance control, standby in the winding";
const WAY_A: &str = "two 6L6GC, valve rectifier, control (a)";
const WAY_B: &str = "two 6V6GT, control (b)";
const WAY_C: &str = "four EL84, a cathode resistor each, control (c)";
const WAY_E: &str = "two EL34, no standby, control (e)";
const WAY_D: &str = "two EL84, control (d)";
const HUNDRED: &str = "four 6550, a trimmer for each side";
const QUAD: &str = "four 6L6GC, bias and standby in the HT winding";
const SMALL: &str = "one 6V6GT, cathode bias, valve rectifier";
const SINGLE: &str = "one EL34, cathode bias";

fn fixed(circuit: &mut Circuit) -> &mut FixedBias {
    match &mut circuit.bias {
        Bias::Fixed(fixed) => fixed,
        Bias::Cathode => panic!("{} has cathode bias", circuit.name),
    }
}

fn control(circuit: &mut Circuit) -> &mut Control {
    circuit.control.as_mut().expect("it has a control")
}

macro_rules! faults {
    ($($amplifier:ident: $words:literal, $circuit:ident => $change:expr;)*) => {
        &[$(Fault { words: $words, amplifier: $amplifier, change: |$circuit| { $change; } }),*]
    };
}

/// Between the driver and the grids.
pub const GRIDS: &[Fault] = faults! {
    L6: "coupling capacitor A leaks, 1 MΩ", c => c.sides[0].coupling_leak = 1e6;
    L6: "coupling capacitor B shorted", c => c.sides[1].coupling_leak = 100.0;
    EL34: "coupling capacitor A leaks, 10 MΩ", c => c.sides[0].coupling_leak = 10e6;
    EL84: "coupling capacitor B leaks, 20 MΩ", c => c.sides[1].coupling_leak = 20e6;
    V6: "coupling capacitor A leaks, 47 MΩ", c => c.sides[0].coupling_leak = 47e6;
    HUNDRED: "coupling capacitor B leaks, 5 MΩ", c => c.sides[1].coupling_leak = 5e6;
    QUAD: "coupling capacitor A leaks, 2.2 MΩ", c => c.sides[0].coupling_leak = 2.2e6;
    SINGLE: "coupling capacitor leaks, 4.7 MΩ", c => c.sides[0].coupling_leak = 4.7e6;
    SMALL: "coupling capacitor shorted", c => c.sides[0].coupling_leak = 1e3;
    WAY_A: "coupling capacitor A leaks, 10 MΩ, before the control", c => c.sides[0].coupling_leak = 10e6;
    WAY_E: "second coupling capacitor A leaks, 1 MΩ", c => control(c).second_leak[0] = 1e6;
    WAY_D: "coupling capacitor A leaks, 10 MΩ, across to the other grid", c => c.sides[0].coupling_leak = 10e6;
    L6: "grid leak A open", c => c.sides[0].leak = OPEN;
    EL84: "grid leak B open", c => c.sides[1].leak = OPEN;
    QUAD: "grid leak B open, two valves on it", c => c.sides[1].leak = OPEN;
    SINGLE: "grid leak open", c => c.sides[0].leak = OPEN;
    EL34: "grid leak A 2.2 MΩ instead of 220 kΩ", c => c.sides[0].leak = 2.2e6;
    V6: "grid leak B 22 kΩ instead of 220 kΩ", c => c.sides[1].leak = 22e3;
    HUNDRED: "grid stopper B2 open", c => c.sockets[3].stopper = OPEN;
    KT88: "grid stopper A open", c => c.sockets[0].stopper = OPEN;
    L6: "grid stopper A 150 kΩ instead of 1.5 kΩ", c => c.sockets[0].stopper = 150e3;
    V6: "solder from the grid's tag to the screen's at A", c => c.sockets[0].bridge = 0.5;
};

/// The bias supply.
pub const BIAS: &[Fault] = faults! {
    L6: "first bias capacitor dried out, 1 µF left", c => fixed(c).first = 1e-6;
    HUNDRED: "both bias capacitors dried out, 2 µF left", c => { fixed(c).first = 2e-6; fixed(c).last = 2e-6 };
    KT88: "both bias capacitors dried out, a tenth left", c => { fixed(c).first = 4.7e-6; fixed(c).last = 4.7e-6 };
    QUAD: "both bias capacitors dried out, 0.5 µF left", c => { fixed(c).first = 0.5e-6; fixed(c).last = 0.5e-6 };
    L6: "bias rectifier open", c => fixed(c).leg = Leg::Open;
    QUAD: "bias rectifier open", c => fixed(c).leg = Leg::Open;
    WAY_E: "bias rectifier shorted", c => fixed(c).leg = Leg::Shorted;
    KT88: "first bias capacitor reversed: it conducts, 4 kΩ", c => fixed(c).first_leak = 4e3;
    L6: "second bias capacitor reversed: it conducts, 10 kΩ", c => fixed(c).last_leak = 10e3;
    WAY_B: "range resistor of the bias open", c => fixed(c).legs[0].range = OPEN;
    V6: "range resistor of the bias drifted to double", c => fixed(c).legs[0].range *= 2.0;
    EL34: "resistor from the HT winding to the bias drifted to three times", c => fixed(c).source *= 3.0;
    HUNDRED: "trimmer of side A at the wrong end", c => fixed(c).legs[0].turned = 0.0;
    KT88: "range resistor of side B open", c => fixed(c).legs[1].range = OPEN;
    L6: "solder from the bias node to chassis", c => { fixed(c).legs[0].foot = 0.1; fixed(c).legs[0].trimmer = 0.0 };
    EL34: "trimmer's wiper open", c => fixed(c).legs[0].turned = 1.0;
    WAY_A: "foot of the bias divider open", c => fixed(c).legs[0].foot = OPEN;
};

/// Valves and what is at their sockets.
pub const VALVES: &[Fault] = faults! {
    L6: "valve A gassy, 20 µA out of its grid", c => c.sockets[0].gas = 20e-6;
    EL34: "valve B gassy, 30 µA", c => c.sockets[1].gas = 30e-6;
    HUNDRED: "valve A2 gassy, 60 µA", c => c.sockets[1].gas = 60e-6;
    EL84: "valve A gassy, 10 µA", c => c.sockets[0].gas = 10e-6;
    WAY_D: "valve A gassy, 30 µA, and no meter on the grids", c => c.sockets[0].gas = 30e-6;
    HUNDRED: "valve B1 without emission", c => c.sockets[2].emission = 0.03;
    QUAD: "valve A2 worn, a third of its emission", c => c.sockets[1].emission = 0.33;
    WAY_C: "valve A1 without emission", c => c.sockets[0].emission = 0.03;
    L6: "valve B from another batch, half as much current again", c => c.sockets[1].emission = 1.6;
    QUAD: "valve A2: grid and screen touch, 100 kΩ", c => c.sockets[1].grid_screen = 100e3;
    KT88: "valve B: grid and cathode touch", c => c.sockets[1].grid_cathode = 10.0;
    EL34: "valve A: screen and cathode touch", c => c.sockets[0].screen_cathode = 10.0;
    L6: "screen stopper A open", c => c.sockets[0].screen_stopper = OPEN;
    HUNDRED: "screen stopper B1 drifted to 8 kΩ", c => c.sockets[2].screen_stopper = 8e3;
    SMALL: "screen's dropper open", c => c.supply.to_screens = OPEN;
    L6: "cathode resistor A open", c => c.sockets[0].cathode = OPEN;
    KT88: "cathode resistor B drifted to double", c => c.sockets[1].cathode = 20.0;
    EL84: "shared cathode resistor drifted down, 47 Ω", c => c.shared_cathode = Some(47.0);
    EL84: "bypass capacitor of the shared cathode resistor shorted", c => c.shared_cathode = Some(0.5);
    SMALL: "bypass capacitor shorted", c => c.sockets[0].cathode = 0.5;
    SINGLE: "bypass capacitor leaks, 120 Ω", c => c.sockets[0].cathode = 83.0;
    WAY_C: "cathode resistor B1 open", c => c.sockets[2].cathode = OPEN;
    SINGLE: "cathode resistor open", c => c.sockets[0].cathode = OPEN;
};

/// HT, mains, earth.
pub const SUPPLY: &[Fault] = faults! {
    L6: "one leg of the rectifier open", c => c.supply.legs[1] = Leg::Open;
    EL84: "one anode of the rectifier valve without emission", c => c.supply.legs[0] = Leg::Open;
    HUNDRED: "one leg of the rectifier shorted", c => c.supply.legs[0] = Leg::Shorted;
    KT88: "lower half of the series pair leaks, 30 kΩ", c => c.supply.leak[1] = 30e3;
    L6: "upper balance resistor open", c => c.supply.balance = Some([OPEN, 220e3]);
    HUNDRED: "lower balance resistor drifted to 470 kΩ", c => c.supply.balance = Some([100e3, 470e3]);
    EL84: "reservoir leaks, 6 kΩ", c => c.supply.leak[0] = 6e3;
    SINGLE: "reservoir shorted", c => c.supply.leak[0] = 5.0;
    EL34: "standby switch bridged", c => c.supply.standby_leak = 0.0;
    L6: "standby switch burnt, 100 kΩ across it", c => c.supply.standby_leak = 100e3;
    L6: "half primary A open, 2 MΩ of damp across the break", c => c.sides[0].half = 2e6;
    WAY_C: "half primary B open, 1 MΩ of damp across the break", c => c.sides[1].half = 1e6;
    EL84: "output transformer's primary leaks to chassis, 20 kΩ", c => c.output.insulation = 20e3;
    EL34: "mains selector on the tap below", c => c.mains.tap = 0.87;
    WAY_C: "mains selector on the tap below", c => c.mains.tap = 0.87;
    KT88: "shorted turns in the mains transformer, 150 W", c => c.mains.core = 160.0;
    SMALL: "shorted turns in the mains transformer, 40 W", c => c.mains.core = 44.0;
    EL84: "capacitor from mains to chassis leaks, 30 kΩ; earth whole", c => c.mains.insulation = 30e3;
    EL84: "capacitor from mains to chassis leaks, 30 kΩ, and the earth is open", c => { c.mains.insulation = 30e3; c.mains.earth = OPEN };
    WAY_C: "earth open in the lead", c => c.mains.earth = OPEN;
    HUNDRED: "earth joint loose, 2 Ω", c => c.mains.earth = 2.0;
    SMALL: "transformer does not isolate", c => c.mains.isolation = 50.0;
    HUNDRED: "resistors from the heater line to chassis burnt open", c => c.mains.heater_tie = OPEN;
    V6: "mains switch burnt, 20 Ω", c => c.mains.live = 20.0;
};

/// Load, feedback, control, and what the technician brings.
pub const REST: &[Fault] = faults! {
    L6: "load open", c => c.output.load_ohms = OPEN;
    HUNDRED: "load shorted in its plug", c => c.output.load_ohms = 0.2;
    EL34: "load of 8 Ω for 16 Ω", c => c.output.load_ohms = 8.0;
    V6: "jack's contact open", c => c.output.legs[0] = OPEN;
    SINGLE: "jack's contact dirty, 3 Ω", c => c.output.legs[1] = 3.0;
    QUAD: "load of half the watts", c => c.bench.load_watts = 60.0;
    EL34: "feedback on the wrong end, strong", c => c.output.loop_gain = Some(-1.4);
    V6: "feedback on the wrong end, weak", c => c.output.loop_gain = Some(-0.8);
    HUNDRED: "feedback lead open", c => c.output.loop_gain = Some(0.0);
    WAY_A: "outer lugs of gang B swapped", c => control(c).swapped[1] = true;
    WAY_A: "wiper A lifted; the fail-safe resistor holds", c => control(c).lifted[0] = true;
    WAY_A: "wiper A lifted, no fail-safe resistor", c => { let k = control(c); k.lifted[0] = true; k.safe = None };
    WAY_A: "low lugs not on the bias feed", c => control(c).low_open = [true; 2];
    WAY_A: "wiper on an earthed screen", c => control(c).to_chassis = 1.0;
    WAY_B: "wiper B lifted", c => control(c).lifted[1] = true;
    WAY_C: "low end of gang A open", c => control(c).low_open[0] = true;
    WAY_C: "wiper A lifted, tied to its end lug", c => control(c).lifted[0] = true;
    L6: "discharge resistor open", c => c.bench.discharge = OPEN;
    QUAD: "discharge resistor forgotten on the reservoir", c => c.bench.forgotten = true;
    L6: "meter dead", c => c.bench.battery = 0.0;
    EL34: "lamp bridged", c => c.bench.lamp_bridged = true;
    V6: "lamp in the neutral", c => c.bench.lamp_in_neutral = true;
    HUNDRED: "earth of the lamp box open", c => c.bench.box_earth = OPEN;
};

/// All of them.
pub fn all() -> impl Iterator<Item = &'static Fault> {
    [GRIDS, BIAS, VALVES, SUPPLY, REST].into_iter().flatten()
}
