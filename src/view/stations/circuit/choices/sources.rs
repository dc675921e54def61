//! What the converter measures against, and the feed monitor that another reference than the supply
//! wants.

use egui::Ui;

use super::super::typed::{Typed, number_ui};
use super::{ANY_OHM, SENSE_OHM, VOLT, item};
use crate::app::circuit::sense::SenseDerived;
use crate::circuit::{Circuit, FeedMonitor, Reference};
use crate::view::theme::control;
use crate::view::widgets::drop::Drop;

pub(super) fn reference_ui(
    ui: &mut Ui,
    circuit: &Circuit,
    derived: &SenseDerived,
    typed: &mut Typed,
    set: &mut dyn FnMut(Circuit),
) {
    let with = |reference| Circuit { reference, ..circuit.clone() };
    let selected = match circuit.reference {
        Reference::Supply => 0,
        Reference::Internal { .. } => 1,
        Reference::External { .. } => 2,
    };
    let supply = if circuit.module.is_some() { "The box's supply" } else { "Supply, ratiometric" };
    let items = [supply, "The chip's own", "From outside"];
    item(ui, "Reference", &derived.lines.reference, |ui, width| {
        let drop = Drop::new("Reference", &items, Some(selected)).width(width).height(control::DROP);
        match drop.show(ui).chosen.filter(|chosen| *chosen != selected) {
            Some(0) => set(with(Reference::Supply)),
            Some(1) => set(with(Reference::Internal { volt: 1.1 })),
            Some(_) => set(with(Reference::External { volt: circuit.feed_v, series_ohm: 0.0, pin_v: None })),
            None => {}
        }
    });
    match circuit.reference {
        Reference::Supply => {}
        Reference::Internal { volt } => item(ui, "Reference volts", "", |ui, width| {
            if let Some(Some(volt)) = number_ui(ui, typed, "Reference volts", Some(volt), width, VOLT) {
                set(with(Reference::Internal { volt }));
            }
        }),
        Reference::External { volt, series_ohm, pin_v } => {
            item(ui, "Reference volts, before its resistor", "", |ui, width| {
                if let Some(Some(volt)) = number_ui(ui, typed, "Reference volts", Some(volt), width, VOLT) {
                    set(with(Reference::External { volt, series_ohm, pin_v }));
                }
            });
            item(ui, "Through", "", |ui, width| {
                let now = Some(series_ohm);
                if let Some(Some(series_ohm)) =
                    number_ui(ui, typed, "Resistor into the reference", now, width, ANY_OHM)
                {
                    set(with(Reference::External { volt, series_ohm, pin_v }));
                }
            });
            let cost = if pin_v.is_some() {
                "Measured: wins over what is computed."
            } else {
                "Not measured: computed."
            };
            item(ui, "At the pin, by the meter", cost, |ui, width| {
                if let Some(pin_v) = number_ui(ui, typed, "Volts at the reference pin", pin_v, width, VOLT) {
                    set(with(Reference::External { volt, series_ohm, pin_v }));
                }
            });
        }
    }
}

pub(super) fn monitor_ui(
    ui: &mut Ui,
    circuit: &Circuit,
    derived: &SenseDerived,
    typed: &mut Typed,
    set: &mut dyn FnMut(Circuit),
) {
    if circuit.is_ratiometric() && circuit.feed_monitor.is_none() {
        return;
    }
    item(ui, "Feed monitor", &derived.lines.monitor, |ui, width| {
        let fitted = usize::from(circuit.feed_monitor.is_some());
        // Beside a factory module there is none to fit, only one to take out.
        let offered = if circuit.module.is_some() { fitted + 1 } else { 2 };
        let items = &["None fitted", "Two resistors"][..offered];
        let drop = Drop::new("Feed monitor", items, Some(fitted)).width(width).height(control::DROP);
        if let Some(chosen) = drop.show(ui).chosen.filter(|chosen| *chosen != fitted) {
            let feed_monitor =
                (chosen == 1).then_some(FeedMonitor { upper_ohm: 10_000.0, lower_ohm: 10_000.0 });
            set(Circuit { feed_monitor, ..circuit.clone() });
        }
    });
    let Some(monitor) = circuit.feed_monitor else { return };
    item(ui, "Feed to pin", "", |ui, width| {
        let now = Some(monitor.upper_ohm);
        if let Some(Some(upper_ohm)) = number_ui(ui, typed, "Upper resistor", now, width, SENSE_OHM) {
            set(Circuit { feed_monitor: Some(FeedMonitor { upper_ohm, ..monitor }), ..circuit.clone() });
        }
    });
    item(ui, "Pin to ground", "", |ui, width| {
        let now = Some(monitor.lower_ohm);
        if let Some(Some(lower_ohm)) = number_ui(ui, typed, "Lower resistor", now, width, SENSE_OHM) {
            set(Circuit { feed_monitor: Some(FeedMonitor { lower_ohm, ..monitor }), ..circuit.clone() });
        }
    });
}
