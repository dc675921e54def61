//! A case of `tests/golden/boxes` as the model it describes, with what numpy made of it.

use std::fs;

use serde::Deserialize;
use spokewire::circuit::tolerance::{BoxModel, BoxRung, BoxWire, Drifts};
use spokewire::circuit::{Circuit, Filter, Reference, Sense};
use spokewire::wheel::{Ladder, Topology};

/// A case.
#[derive(Debug)]
pub(crate) struct Case {
    /// The model.
    pub(crate) model: BoxModel,
    /// What numpy made of it, as it stands in the file.
    pub(crate) expected: serde_json::Value,
}

#[derive(Deserialize)]
struct File {
    sense: Sense,
    sense_ohm: f64,
    feed_v: f64,
    reference_v: Option<f64>,
    leak_ohm: Option<f64>,
    contact_ohm: f64,
    drifts: Numbers,
    wires: Vec<Wire>,
    expected: serde_json::Value,
}

#[derive(Deserialize)]
struct Numbers {
    ladder_tolerance: f64,
    ladder_per_k: f64,
    ladder_tracking_per_k: f64,
    sense_tolerance: f64,
    sense_per_k: f64,
    wear_ohm: f64,
    cold_c: f64,
    hot_c: f64,
    feed_tolerance: f64,
    reference_tolerance: f64,
    reference_per_k: f64,
}

#[derive(Deserialize)]
struct Wire {
    topology: Topology,
    ohm: Vec<f64>,
    end_ohm: Option<f64>,
    error_count: f64,
    bands: Vec<(u16, u16)>,
    rest_band: Option<(u16, u16)>,
}

/// Reads a case.
pub(crate) fn read(path: &str) -> Result<Case, Box<dyn std::error::Error>> {
    let file: File = serde_json::from_str(&fs::read_to_string(path)?)?;
    let circuit = Circuit {
        module: None,
        sense: file.sense,
        sense_ohm: file.sense_ohm,
        feed_v: file.feed_v,
        reference: file.reference_v.map_or(Reference::Supply, |volt| Reference::External {
            volt,
            series_ohm: 0.0,
            pin_v: None,
        }),
        contact_ohm: file.contact_ohm,
        leak_ohm: file.leak_ohm,
        feed_monitor: None,
        filter: Filter::default(),
    };
    let Numbers { ladder_tolerance, ladder_per_k, ladder_tracking_per_k, .. } = file.drifts;
    let Numbers { sense_tolerance, sense_per_k, wear_ohm, cold_c, hot_c, .. } = file.drifts;
    let Numbers { feed_tolerance, reference_tolerance, reference_per_k, .. } = file.drifts;
    let drifts = Drifts {
        ladder_tolerance,
        ladder_per_k,
        ladder_tracking_per_k,
        sense_tolerance,
        sense_per_k,
        wear_ohm,
        cold_c,
        hot_c,
        feed_tolerance,
        reference_tolerance,
        reference_per_k,
    };
    let mut first = 0;
    let wires = file.wires.into_iter().map(|wire| {
        let mut owner = Box::new([BoxWire::NOBODY; 1024]);
        let numbers = (first..).zip(&wire.bands);
        for (number, &(low, high)) in numbers.chain(wire.rest_band.iter().map(|band| (BoxWire::REST, band))) {
            owner[usize::from(low)..=usize::from(high)].fill(number);
        }
        let rung = |own, (low_count, high_count)| BoxRung {
            own: Some(own),
            error_count: wire.error_count,
            low_count,
            high_count,
        };
        let rungs: Vec<_> = (first..).zip(&wire.bands).map(|(own, &band)| rung(own, band)).collect();
        let rest = wire.rest_band.filter(|_| wire.end_ohm.is_some()).map(|band| rung(BoxWire::REST, band));
        first += (rungs.len() + usize::from(rest.is_some())) as u8;
        let ladder = Ladder { topology: wire.topology, ohm: wire.ohm, end_ohm: wire.end_ohm };
        BoxWire { ladder, rungs, rest, owner }
    });
    let model = BoxModel::new(circuit, drifts, wires.collect())?;
    Ok(Case { model, expected: file.expected })
}
