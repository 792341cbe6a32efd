//! What is found of an inverter, of either kind.

use crate::calculator::{Answer, Ask};
use crate::quantity::unit::ONE;
use crate::quantity::{ElectricCurrent, ElectricPotential, ElectricalResistance, Power, Quantity, Ratio};
use crate::valve::Slopes;

/// An inverter at rest, to signals, and at its ends.
pub struct Found {
    /// Whether it is a long-tailed pair.
    pub(super) pair: bool,
    /// The driven side and the other; of a split load the anode and the cathode.
    pub(super) sides: [Side; 2],
    /// From the chassis.
    pub(super) cathode: ElectricPotential,
    /// From the chassis.
    pub(super) grid: ElectricPotential,
    /// The larger of both.
    pub(super) across: ElectricPotential,
    /// The larger of both.
    pub(super) power: Power,
    pub(super) cold: ElectricPotential,
    pub(super) ends: Ends,
    /// What the output valves need, peak.
    pub(super) need: ElectricPotential,
    /// The same of the swing.
    pub(super) share: Ratio,
    /// How far the second gain is from the first, as a share of it.
    pub(super) imbalance: Ratio,
    /// From the heaters, at rest.
    pub(super) heater: ElectricPotential,
    /// The same at the worse end of the swing.
    pub(super) heater_peak: ElectricPotential,
    /// Drive, and how far each side has moved from rest. Found when it is drawn: no margin needs it.
    pub(super) course: Box<dyn Fn() -> Vec<[f64; 3]>>,
}

/// One side of the inverter, at rest and for small signals.
#[derive(Clone, Copy)]
pub(super) struct Side {
    pub(super) current: ElectricCurrent,
    /// From the chassis, at rest.
    pub(super) voltage: ElectricPotential,
    pub(super) slopes: Slopes,
    /// With its load beside it.
    pub(super) load: ElectricalResistance,
    pub(super) gain: f64,
    /// For the load on both.
    pub(super) output: ElectricalResistance,
    /// For a load on this side alone, none on the other.
    pub(super) alone: ElectricalResistance,
}

/// One end of the drive alone, in V.
#[derive(Clone, Copy)]
pub(super) struct End {
    /// At the grid, peak.
    pub(super) drive: f64,
    /// How each side has moved at that drive upwards, and downwards.
    pub(super) moved: [[f64; 2]; 2],
    /// The same of the cathodes.
    pub(super) cathodes: [f64; 2],
}

/// Which of the ends a run is looked at for.
pub(super) type Wanted = [bool; 4];

/// How far it goes.
#[derive(Clone)]
pub(super) struct Ends {
    /// At its grid, peak.
    pub(super) drive: ElectricPotential,
    /// At the weaker side, peak.
    pub(super) swing: ElectricPotential,
    /// The end that comes first.
    pub(super) first: End,
    /// Every end: drive and swing are the smallest of theirs.
    all: Vec<End>,
}

impl End {
    /// One that nobody looks at.
    pub(super) const UNKNOWN: Self =
        Self { drive: f64::NAN, moved: [[f64::NAN; 2]; 2], cathodes: [f64::NAN; 2] };

    /// The four ways at its drive.
    fn ways(self) -> [f64; 4] {
        let [[one, two], [three, four]] = self.moved;
        [one, two, three, four].map(f64::abs)
    }
}

/// Which ends are wanted of a run.
pub(super) fn wanted(a: &Ask) -> Wanted {
    // Of each end the drive, and its ways.
    [0, 1, 2, 3].map(|end| {
        a.is_wanted(|answer, case| match answer {
            "drive" => case.is_none_or(|case| case == end),
            "swing" | "share" => case.is_none_or(|case| case / 4 == end),
            "heater-peak" => true,
            _ => false,
        })
    })
}

impl Ends {
    pub(super) fn of<const N: usize>(all: [End; N]) -> Self {
        let known = all.iter().all(|end| !end.drive.is_nan());
        let first = all.into_iter().reduce(|one, other| if other.drive < one.drive { other } else { one });
        let first = first.filter(|_| known).unwrap_or(End::UNKNOWN);
        let swing = first.ways().into_iter().reduce(f64::min).unwrap_or(f64::NAN);
        Self {
            drive: ElectricPotential::of(first.drive),
            swing: ElectricPotential::of(swing),
            first,
            all: all.to_vec(),
        }
    }

    /// The most between heaters and cathodes, at rest and at both ends of the swing, where it is `at_rest` in V at rest.
    pub(super) fn heater_peak(&self, at_rest: f64) -> ElectricPotential {
        let [up, down] = self.first.cathodes.map(|moved| (at_rest + moved).abs());
        let most = if self.first.drive.is_nan() { f64::NAN } else { at_rest.abs().max(up).max(down) };
        ElectricPotential::of(most)
    }
}

impl Found {
    pub(super) fn answers(&self) -> Vec<Answer> {
        let Self { sides: [one, other], ends, .. } = self;
        let names = if self.pair { PAIR } else { SPLIT };
        let gain = |id, symbol, name, value| Answer::in_unit(id, symbol, name, &ONE, value);
        let [gain_1, gain_2, output_1, output_2, alone_1, alone_2, voltage_1, voltage_2] = names;
        let swings = || ends.all.iter().flat_map(|end| end.ways());
        let need = self.need.si();
        let swing = Answer::new("swing", "V_s", "Largest swing of each side, peak", ends.swing);
        let share = Answer::new("share", "", "Of that, the output valves need", self.share);
        let drive = Answer::new("drive", "V_d", "Drive at its grid for the swing, peak", ends.drive);
        let mut answers = vec![
            swing.least_of(swings()).not_below_zero(),
            share.most_of(swings().map(|swing| need / swing)).not_below_zero(),
            gain("gain-1", "A_1", gain_1, one.gain).not_below_zero(),
            gain("gain-2", "A_2", gain_2, other.gain).not_below_zero(),
            Answer::new("imbalance", "", "Second gain relative to the first", self.imbalance)
                .depending_on_all(),
            drive.least_of(ends.all.iter().map(|end| end.drive)).not_below_zero(),
            Answer::new("output-resistance-1", "R_o1", output_1, one.output).signed(),
            Answer::new("output-resistance-2", "R_o2", output_2, other.output).signed(),
            Answer::new("alone-1", "R_s1", alone_1, one.alone),
            Answer::new("alone-2", "R_s2", alone_2, other.alone),
            Answer::new("voltage-1", "V_1", voltage_1, one.voltage).not_below_zero(),
            Answer::new("voltage-2", "V_2", voltage_2, other.voltage).not_below_zero(),
            Answer::new("cathode-voltage", "V_k", "Cathode, from chassis", self.cathode).not_below_zero(),
            Answer::new("grid-voltage", "V_g", "Grid, from chassis", self.grid).not_below_zero(),
        ];
        if self.pair {
            answers.push(Answer::new("current-1", "I_1", "Anode current, driven side", one.current));
            answers.push(Answer::new("current-2", "I_2", "Anode current, other side", other.current));
        } else {
            answers.push(Answer::new("current-1", "I_a", "Anode current", one.current));
        }
        answers.extend([
            Answer::new("across", "V_ak", "Highest voltage across a valve", self.across).not_below_zero(),
            Answer::new("anode-power", "P_a", "Highest anode dissipation", self.power),
            Answer::new("heater-cathode", "V_hk", "Heater to cathode", self.heater).not_below_zero(),
            Answer::new("heater-peak", "V_hk,p", "The same at the peak of the swing", self.heater_peak)
                .not_below_zero(),
            Answer::new("cold", "V_b", "At the anodes while the valve is cold", self.cold),
        ]);
        answers
    }
}

type Names = [&'static str; 8];

const PAIR: Names = [
    "Gain to the driven side",
    "Gain to the other side",
    "Output resistance, driven side, both loaded equally",
    "Output resistance, other side, both loaded equally",
    "The same, driven side loaded alone",
    "The same, other side loaded alone",
    "Anode, driven side, from chassis",
    "Anode, other side, from chassis",
];

const SPLIT: Names = [
    "Gain to the anode",
    "Gain to the cathode",
    "Output resistance, anode, both loaded equally",
    "Output resistance, cathode, both loaded equally",
    "The same, anode loaded alone",
    "The same, cathode loaded alone",
    "Anode, from chassis",
    "Cathode’s load, from chassis",
];
