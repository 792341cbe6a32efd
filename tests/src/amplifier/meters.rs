//! What a meter shows: a measure, in a state of the bench, at a place.

use std::cell::{OnceCell, RefCell};
use std::collections::HashMap;
use std::rc::Rc;

use calc_core::circuit::CHASSIS;

use super::circuit::{Bias, Circuit, OPEN, Side, Way};
use super::formulas::beside;
use super::parts::{bias_node, of_side};
use super::solve::{Solution, ohms_between, solve};
use super::state::{Power, State};

/// What can be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// DC volts from a grid tag to chassis.
    Grid,
    /// DC volts from a grid tag to the node that its leak ends on.
    Lift,
    /// Cathode current, by the volts across its resistor.
    Cathode,
    /// Anode current of one valve of a side, by the volts across the half primary.
    Half,
    /// DC volts from anode to cathode; from the anode's tag to chassis with the valve out.
    Anode,
    /// DC volts over a screen stopper.
    ScreenDrop,
    /// DC volts of the reservoir.
    Ht,
    /// DC volts of one half of a series pair, the upper at side A.
    SeriesHalf,
    /// Mains at the amplifier.
    Mains,
    /// Mains at the outlet.
    Outlet,
    /// Heaters.
    Heaters,
    /// Watts at the plug.
    Watts,
    /// AC volts, RMS, across the bias capacitor.
    Ripple,
    /// DC volts of the bias node.
    BiasNode,
    /// Volts left after the discharge.
    Left,
    /// The battery that proves the meter.
    Battery,
    /// The discharge resistor.
    Discharge,
    /// Reservoir to chassis.
    HtOhms,
    /// Grid tag to chassis.
    GridOhms,
    /// Grid tag to the screen's tag of its socket.
    GridToScreen,
    /// Cathode resistor.
    CathodeOhms,
    /// Screen stopper.
    ScreenOhms,
    /// Grid stopper.
    StopperOhms,
    /// Half primary.
    HalfOhms,
    /// Grid tag to chassis, before a control was fitted or after it was taken out.
    GridOhmsBefore,
    /// The bias node to chassis.
    BiasOhms,
    /// A balance resistor of the series pair, the upper at side A.
    Balance,
    /// Each half of the HT winding.
    HtWinding,
    /// Each side of the heater line to chassis.
    HeaterTie,
    /// A closed contact, a joined tag.
    Contact,
    /// HT fuse, the fuse in the plug.
    OtherFuses,
    /// The whole track of a control.
    Track,
    /// Each lug of a control to its body.
    LugsToBody,
    /// What the load hears with the control at 0, V.
    Residual,
    /// Leakage of the reservoir while it is formed, at so many quarters of its rating.
    Leakage(u8),
    /// A half of the series pair then, the upper at side A.
    FormedHalf(u8),
    /// Leakage of the bias capacitor at its working voltage.
    BiasLeakage,
    /// Low lug of a control to chassis.
    LowLug,
    /// Hot lug of a control to chassis.
    HotLug,
    /// A coupling capacitor on the insulation tester.
    CouplingOhms,
    /// The output transformer's primary to chassis on the insulation tester.
    PrimaryInsulation,
    /// Live pin to the fuse holder.
    LiveOhms,
    /// The fuse.
    FuseOhms,
    /// Live pin to neutral pin.
    MainsPrimary,
    /// Mains to chassis at 500 V.
    Insulation,
    /// Mains pin to chassis, on the ohmmeter, everything connected.
    Isolation,
    /// Earth pin to chassis.
    Earth,
    /// Earth of the lamp box.
    BoxEarth,
    /// Lamp box, live to live.
    LampLive,
    /// Lamp box, neutral to neutral.
    LampNeutral,
    /// The load at its plug.
    LoadOhms,
    /// Jack lug to load, tip as side A, sleeve as B.
    LoadLeg,
    /// The load's rating.
    LoadWatts,
    /// The lowest rating on the HT, of two in series the sum.
    CapacitorRating,
    /// Small signal at the load.
    SmallSignal,
    /// Just below clipping, at the load.
    Drive,
}

/// Where it is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Place {
    /// The place of a socket in the circuit.
    pub socket: usize,
    /// 0 is A.
    pub side: usize,
}

/// A circuit with meters at it.
pub struct Meters {
    /// As it is.
    pub circuit: Circuit,
    /// As it is marked, before the fault.
    pub sound: Circuit,
    solved: RefCell<HashMap<State, Rc<Solution>>>,
    idle_watts: OnceCell<f64>,
}

impl Meters {
    /// Meters at a circuit; `sound` is what its marks and its papers say.
    #[must_use]
    pub fn new(circuit: Circuit, sound: Circuit) -> Self {
        Self { circuit, sound, solved: RefCell::default(), idle_watts: OnceCell::new() }
    }

    /// The circuit in a state.
    #[must_use]
    pub fn at(&self, state: State) -> Rc<Solution> {
        let state = self.plain(state);
        let known = self.solved.borrow().get(&state).cloned();
        known.unwrap_or_else(|| {
            let solved = Rc::new(solve(&self.circuit, state));
            self.solved.borrow_mut().insert(state, Rc::clone(&solved));
            solved
        })
    }

    /// The same state without what makes no difference to this circuit at rest, so that it is solved once.
    fn plain(&self, state: State) -> State {
        let state = match state {
            State { safe: true, .. } if self.is_held_back() => State { safe: false, ..state }.held(),
            State { safe: true, .. } => State { safe: false, ..state }.out(),
            _ => state,
        };
        let state = State { open_loop: false, probe: state.probe && state.grid_meter > 0, ..state };
        match &self.circuit.control {
            None => State { knob: 10, lead_off: false, ..state },
            Some(_) => state,
        }
    }

    /// What the sound amplifier takes at idle.
    #[must_use]
    pub fn idle_watts(&self) -> f64 {
        *self.idle_watts.get_or_init(|| solve(&self.sound, State::FULL.after(10)).watts)
    }

    /// What the meter shows, in SI units; an infinite one is beyond its range.
    #[must_use]
    pub fn shows(&self, measure: Measure, state: State, place: Place) -> f64 {
        let circuit = &self.circuit;
        let socket = &circuit.sockets[place.socket.min(circuit.sockets.len() - 1)];
        let side = place.side.min(circuit.sides.len() - 1);
        let ohms = |a: &str, b: &str| past_range(ohms_between(circuit, state, a, b));
        let at = |what: &str| format!("{what} {}", socket.name);
        match measure {
            Measure::Grid => {
                let number = socket.name[1..].parse().unwrap_or(1);
                let shown = self.at(state.on_grids(number)).volts(&at("grid"));
                if state.probe { shown * circuit.bench.meter / (circuit.bench.meter + 1e6) } else { shown }
            }
            Measure::Lift => {
                let found = self.at(state);
                found.volts(&at("grid")) - found.volts(&bias_node(circuit, socket.side))
            }
            Measure::Cathode => self.cathode(state, place.socket),
            Measure::Half => {
                let found = self.at(state);
                let drop = found.volts("line") - found.volts(&of_side("anode", side));
                drop / self.sound.sides[side].half / valves_of(circuit, side)
            }
            Measure::Anode => {
                let found = self.at(state);
                let anode = found.volts(&of_side("anode", socket.side));
                if state.valves { anode - found.volts(&at("cathode")) } else { anode }
            }
            Measure::ScreenDrop => {
                let found = self.at(state);
                found.volts("screens") - found.volts(&at("screen"))
            }
            Measure::Ht => self.at(state).volts("ht"),
            Measure::SeriesHalf => {
                let found = self.at(state);
                let joint = found.volts("joint");
                if side == 0 { found.volts("ht") - joint } else { joint }
            }
            Measure::Mains => self.at(state).mains,
            Measure::Outlet => circuit.mains.outlet,
            Measure::Heaters => self.heaters(state),
            Measure::Watts => self.at(state).watts,
            Measure::Ripple => self.ripple(state),
            Measure::BiasNode => self.at(state).volts(&bias_node(circuit, side)),
            Measure::Left => self.left(),
            Measure::Battery => circuit.bench.battery,
            Measure::Discharge => past_range(circuit.bench.discharge),
            Measure::HtOhms => {
                let bare = ohms("ht", CHASSIS);
                if circuit.bench.forgotten { beside(bare, circuit.bench.discharge) } else { bare }
            }
            Measure::GridOhms => ohms(&at("grid"), CHASSIS),
            Measure::GridToScreen => ohms(&at("grid"), &at("screen")),
            Measure::CathodeOhms => ohms(&at("cathode"), CHASSIS),
            Measure::ScreenOhms => ohms("screens", &at("screen")),
            Measure::StopperOhms => ohms(&of_side("grid line", socket.side), &at("grid")),
            Measure::HalfOhms => ohms("line", &of_side("anode", side)),
            Measure::GridOhmsBefore => {
                let leak = |side: &Side| Side { leak: side.leak.min(470e3), ..*side };
                let sides = circuit.sides.iter().map(leak).collect();
                let before = Circuit { control: None, sides, ..circuit.clone() };
                past_range(ohms_between(&before, state, &at("grid"), CHASSIS))
            }
            Measure::BiasOhms => ohms(&bias_node(circuit, side), CHASSIS),
            Measure::Balance if side == 0 => ohms("ht", "joint"),
            Measure::Balance => ohms("joint", CHASSIS),
            // Of what lies behind each leg the winding's own copper is about a third.
            Measure::HtWinding => circuit.supply.source / 3.0,
            Measure::HeaterTie => past_range(circuit.mains.heater_tie),
            Measure::Contact => 0.1,
            Measure::OtherFuses => 0.4,
            Measure::Track => circuit.control.as_ref().map_or(0.0, |control| control.track),
            Measure::LugsToBody => {
                circuit.control.as_ref().map_or(OPEN, |control| control.to_chassis.min(500e6))
            }
            Measure::Residual => 2e-3,
            Measure::Leakage(quarters) => self.formed(quarters).1,
            Measure::FormedHalf(quarters) => {
                let (upper, _) = self.formed(quarters);
                if side == 0 { upper } else { self.forming(quarters) - upper }
            }
            Measure::BiasLeakage => match &circuit.bias {
                Bias::Fixed(fixed) => 50.0 / fixed.first_leak,
                Bias::Cathode => 0.0,
            },
            Measure::LowLug => match &circuit.control {
                Some(control) if control.way == Way::Divider => ohms(&of_side("low lug", side), CHASSIS),
                Some(control) if control.low_open[side] => OPEN,
                _ => ohms(&bias_node(circuit, side), CHASSIS),
            },
            Measure::HotLug => ohms(&of_side("hot", side), CHASSIS),
            // The capacitor next to the grid.
            Measure::CouplingOhms => match &circuit.control {
                Some(control) if control.way == Way::ToChassis => control.second_leak[side],
                _ => circuit.sides[side].coupling_leak,
            },
            Measure::PrimaryInsulation => circuit.output.insulation,
            Measure::LiveOhms => past_range(circuit.mains.live),
            Measure::FuseOhms => past_range(circuit.mains.fuse),
            Measure::MainsPrimary => {
                past_range(circuit.mains.live + circuit.mains.fuse + circuit.mains.primary)
            }
            Measure::Insulation => beside(circuit.mains.insulation, circuit.mains.isolation),
            Measure::Isolation => past_range(beside(circuit.mains.insulation, circuit.mains.isolation)),
            Measure::Earth => past_range(circuit.mains.earth),
            Measure::BoxEarth => circuit.bench.box_earth,
            Measure::LampLive | Measure::LampNeutral => self.lamp_box(measure == Measure::LampLive),
            Measure::LoadOhms => past_range(circuit.output.load_ohms),
            Measure::LoadLeg => past_range(circuit.output.legs[place.side.min(1)]),
            Measure::LoadWatts => circuit.bench.load_watts,
            Measure::CapacitorRating => {
                let halves = if circuit.supply.balance.is_some() { 2.0 } else { 1.0 };
                (circuit.supply.rating * halves).min(circuit.supply.later_rating)
            }
            Measure::SmallSignal => self.small_signal(state),
            Measure::Drive => self.drive(state),
        }
    }

    /// The volts across the resistor by the ohms that are marked on it; of a shared one, each valve's share. Where cathodes go
    /// straight to chassis, by the half primary.
    fn cathode(&self, state: State, socket: usize) -> f64 {
        let found = self.at(state);
        if let Some(shared) = self.sound.shared_cathode {
            return found.volts("shared cathode") / shared / self.circuit.sockets.len() as f64;
        }
        let name = self.circuit.sockets[socket].name;
        match self.sound.sockets[socket].cathode {
            0.0 => {
                let side = self.sound.sockets[socket].side;
                self.shows(Measure::Half, state, Place { socket, side })
            }
            marked => found.volts(&format!("cathode {name}")) / marked,
        }
    }

    /// As the book asks it of the meters: behind the lamp, valves out, standby open, the anode under 30 V and the bias there. One
    /// grid that has it is enough to say so; the gate then asks for it at each.
    #[must_use]
    pub fn is_held_back(&self) -> bool {
        let held = State::LAMP.out().held().open();
        let at = |what, socket| self.shows(what, held, Place { socket, side: 0 });
        let mut sockets = 0..self.circuit.sockets.len();
        at(Measure::Anode, 0).abs() < 30.0 && sockets.any(|socket| at(Measure::Grid, socket) < -2.0)
    }

    /// Whether the lamp stays bright: it has more than half of the mains.
    #[must_use]
    pub fn is_bright(&self, state: State) -> bool {
        state.power == Power::Lamp && self.at(state).mains < self.circuit.mains.outlet / 2.0
    }
}

/// How many valves a side has.
fn valves_of(circuit: &Circuit, side: usize) -> f64 {
    circuit.sockets.iter().filter(|socket| socket.side == side).count() as f64
}

/// An ohmmeter that reads to 50 MΩ.
fn past_range(ohms: f64) -> f64 {
    if ohms > 50e6 { OPEN } else { ohms }
}
