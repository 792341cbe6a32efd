//! x
use tests::amplifier::{family::family, faults::all, harm::harm, meters::Meters, state::State};

#[test]
fn sketch() {
    let start = std::time::Instant::now();
    let states = [
        ("lamp out held", State::LAMP.out().held()),
        ("lamp out play", State::LAMP.out()),
        ("lamp in held", State::LAMP.held()),
        ("lamp first", State::LAMP.first_seconds()),
        ("lamp play", State::LAMP),
        ("full out held", State::FULL.out().held()),
        ("full out", State::FULL.out()),
        ("full in held", State::FULL.held()),
        ("full", State::FULL),
        ("full 10", State::FULL.after(10)),
        ("full 30", State::FULL.after(30)),
        ("driven", State::FULL.driven()),
    ];
    for circuit in family() {
        let meters = Meters::new(circuit.clone(), circuit.clone());
        for (what, state) in states {
            if let Some(harm) = harm(&meters, state) {
                println!("HEALTHY {} {what}: {harm}", circuit.name);
            }
        }
    }
    let mut count = 0;
    for fault in all() {
        count += 1;
        let meters = fault.meters();
        let first = states.iter().find_map(|(what, state)| harm(&meters, *state).map(|harm| format!("{what}: {harm}")));
        println!("{} | {} | {}", fault.amplifier, fault.words, first.unwrap_or("-".into()));
    }
    println!("{count} {:?}", start.elapsed());
}
