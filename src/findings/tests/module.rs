//! What is found of a wheel that a factory module feeds.

use super::*;

#[test]
fn a_factory_module_is_cautioned_about_and_refused_above_five_volts() {
    let with = |feed_v| {
        after(|project| {
            let circuit = project.circuit.as_mut().unwrap();
            circuit.feed_v = feed_v;
            circuit.module = Some(crate::circuit::Module { supply_v: 5.0 });
        })
    };
    let found = with(4.0);
    let cautioned = "caution Circuit circuit.module: A factory module feeds the ladder";
    assert!(found.iter().any(|f| f.starts_with(cautioned)), "{found:?}");
    let found = with(8.5);
    assert!(
        found[0].starts_with("error Circuit circuit: The factory module holds the wire at 8.50 V at rest, and the box's pins take 5.00 V at most. Disconnect"),
        "{found:?}"
    );
}

#[test]
fn beside_a_factory_module_the_boxs_supply_is_what_moves_the_readings() {
    // 93.5 and 287 times 4.70 / 5.05 are 87.0 and 267.1; 1000 would be 930.7.
    let found = after(|project| {
        let circuit = project.circuit.as_mut().unwrap();
        circuit.feed_v = 4.0;
        circuit.module = Some(crate::circuit::Module { supply_v: 5.0 });
    });
    let told: Vec<_> = found.iter().filter(|line| line.contains("circuit.reference")).collect();
    let [told] = told.as_slice() else { panic!("{found:?}") };
    assert!(
        told.contains(
            "against the box's supply and a factory module feeds the ladder: what was learned at \
            4.70 V on laptop power reads 6.9 % lower at 5.05 V on vehicle power"
        ),
        "{told}"
    );
    assert!(told.contains("Mute from 94 to 87") && told.contains("Source from 287 to 267"), "{told}");
    // With a reference of its own the box's supply is in no reading.
    let found = after(|project| {
        let circuit = project.circuit.as_mut().unwrap();
        circuit.feed_v = 4.0;
        circuit.module = Some(crate::circuit::Module { supply_v: 5.0 });
        circuit.reference = Reference::External { volt: 4.096, series_ohm: 0.0, pin_v: None };
    });
    assert!(!found.iter().any(|line| line.contains("circuit.reference")), "{found:?}");
}
