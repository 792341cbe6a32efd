//! x
use tests::amplifier::{family::family, solve::solve, state::State, harm::harm, meters::Meters};

#[test]
fn sketch() {
    for circuit in family() {
        println!("== {}", circuit.name);
        for (what, state) in [("full", State::FULL.after(10)), ("full out", State::FULL.out()), ("lamp", State::LAMP)] {
            let found = solve(&circuit, state);
            println!("{what:10} mains {:5.1} W {:5.1} ht {:5.1} scr {:5.1} b0 {:6.2} gA {:6.2} gB {:6.2} harm {:?}",
                found.mains, found.watts, found.volts("ht"), found.volts("screens"), found.volts("bias 0"),
                found.volts("grid A1"), found.volts("grid B1"), harm(&Meters::new(circuit.clone(), circuit.clone()), state));
            for (name, valve) in &found.valves {
                println!("      {name} {:5.1} V {:5.1} mA {:5.2} W screen {:4.2} mA {:4.2} W k {:5.1}", valve.anode_volts, valve.anode*1e3, valve.anode_watts(), valve.screen*1e3, valve.screen_watts(), valve.cathode*1e3);
            }
        }
    }
}
