//! Sound amplifiers, each walked through every procedure that applies to it, from its first step to its last. No gate stays
//! shut and no reason is asked, and nothing on the way does harm. Their limits come from what the survey finds of each; their
//! readings from its circuit.

use std::fs;
use std::path::Path;

use tests::amplifier::circuit::{Adjust, Bias, Circuit, Standby, Way};
use tests::amplifier::family::family;
use tests::amplifier::harm::harm;
use tests::amplifier::meters::Meters;

use tests::amplifier::technician::Technician;
use tests::walk::Walk;
use tests::walk::procedures::{PROCEDURES, is_fixed};

/// Walks one amplifier through all of them with one job.
fn walk(circuit: &Circuit) -> Vec<String> {
    let meters = Meters::new(circuit.clone(), circuit.clone());
    let mut walk = Walk::with(Technician { meters });
    let mut wrong = Vec::new();
    for (page, applies) in PROCEDURES {
        if applies(circuit) && !walk.through(page) {
            wrong.push(format!("{}: {page} was not walked to its end", circuit.name));
        }
    }
    wrong.extend(walk.closed.iter().map(|closed| {
        format!("{}: {:?} {}: {:?} {}", circuit.name, closed.at, closed.id, closed.read, closed.why)
    }));
    let harms =
        walk.visits.iter().filter_map(|visit| Some((harm(&walk.technician.meters, visit.state)?, visit)));
    wrong.extend(walk.doubted.iter().map(|doubt| format!("{}: {doubt}", circuit.name)));
    wrong.extend(harms.map(|harm| format!("{}: harm: {harm:?}", circuit.name)));
    wrong
}

#[test]
fn every_sound_amplifier_goes_through_every_procedure() {
    let wrong: Vec<String> = family().iter().flat_map(walk).collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

// What the family has to have (issue 17): all of it, so that a kind that goes missing is missed.
#[test]
fn the_family_has_every_kind() {
    let family = family();
    let has = |fits: &dyn Fn(&Circuit) -> bool| family.iter().any(fits);
    let adjusts = |adjust| move |circuit: &Circuit| matches!(&circuit.bias, Bias::Fixed(fixed) if fixed.adjust == adjust);
    let way =
        |way| move |circuit: &Circuit| circuit.control.as_ref().is_some_and(|control| control.way == way);
    assert!(family.len() >= 10);
    for count in [1, 2, 4] {
        assert!(has(&|circuit| circuit.sockets.len() == count), "{count} output valves");
    }
    for standby in [Standby::Dc, Standby::Winding, Standby::None] {
        assert!(has(&|circuit| circuit.supply.standby == standby), "{standby:?}");
    }
    for adjust in [Adjust::Trimmer, Adjust::Each, Adjust::Balance, Adjust::Fixed] {
        assert!(has(&adjusts(adjust)), "{adjust:?}");
    }
    for topology in [Way::Divider, Way::Across, Way::Instead, Way::Between, Way::ToChassis] {
        assert!(has(&way(topology)), "{topology:?}");
    }
    for from_ht in [true, false] {
        assert!(has(&|circuit| matches!(&circuit.bias, Bias::Fixed(fixed) if fixed.from_ht == from_ht)));
        assert!(has(&|circuit| circuit.supply.valve_rectifier == from_ht));
        assert!(has(&|circuit| circuit.supply.balance.is_some() == from_ht));
        assert!(has(&|circuit| is_fixed(circuit) == from_ht));
        assert!(has(&|circuit| (circuit.mains.marked < 150.0) == from_ht));
        assert!(has(&|circuit| (circuit.sockets[0].cathode > 0.0) == from_ht));
    }
}

#[test]
fn no_procedure_is_forgotten() {
    let content = Path::new(env!("CARGO_MANIFEST_DIR")).join("../content");
    let folder = |path: &Path| fs::read_dir(path).into_iter().flatten().flatten().map(|entry| entry.path());
    let mut found: Vec<String> = folder(&content)
        .flat_map(|chapter| folder(&chapter))
        .filter(|page| fs::read_to_string(page).is_ok_and(|text| text.contains("\nkind = \"procedure\"\n")))
        .map(|page| {
            page.strip_prefix(&content).expect("a page of the content").to_string_lossy().into_owned()
        })
        .collect();
    found.sort();
    let mut walked: Vec<&str> = PROCEDURES.iter().map(|(page, _)| *page).collect();
    walked.sort_unstable();
    assert_eq!(found, walked);
}
