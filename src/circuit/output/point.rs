//! The output stage at rest: what its transistor and the line stand at while the pin drives it. Knows no
//! time.
//!
//! Two unknown voltages, both inside the transistor, by two nested searches: for each collector voltage
//! the control electrode settles where what the pin gives is what flows in, and the collector settles where
//! what the line gives is what flows in. Both differences only ever fall as their voltage rises, so that
//! each has one root, and a Newton step that leaves the bracket is replaced by a halving.

use super::device::{Device, DeviceModel};
use super::{OutputStage, Promise};
use crate::circuit::Source;

/// The stage pulling a line, settled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StagePoint {
    /// What the line stands at, in volts.
    pub low_v: f64,
    /// Collector to emitter, or drain to source, in volts.
    pub collector_v: f64,
    /// Base to emitter, or gate to source, in volts.
    pub control_v: f64,
    /// Into the base, in amperes; 0 for a gate.
    pub base_a: f64,
    /// Into the collector, in amperes.
    pub collector_a: f64,
    /// What the pin gives, in amperes: the base and what its pull-down takes.
    pub pin_a: f64,
    /// Whether it is switched on as far as its datasheet promises: no more volts across it than `VCE(sat)`
    /// at that current, or than `RDS(on)` makes of it.
    pub saturated: bool,
}

impl StagePoint {
    /// Collector current to base current; `None` for a gate, which takes none.
    #[must_use]
    pub fn forced_beta(&self) -> Option<f64> {
        (self.base_a > 0.0).then(|| self.collector_a / self.base_a)
    }

    /// What becomes heat in the transistor, in watts.
    #[must_use]
    pub fn heat_w(&self) -> f64 {
        self.collector_v * self.collector_a + self.control_v * self.base_a
    }
}

/// What stands around a transistor, as conductances: what a Newton step divides by is never 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around {
    pub(super) model: DeviceModel,
    /// What drives the control electrode with nothing flowing in, in volts.
    pub(super) drive_v: f64,
    /// Behind this, in siemens; the transistor's own resistance is in it.
    pub(super) drive_siemens: f64,
    /// From collector to line, in siemens; the transistor's own resistance is in it.
    pub(super) collector_siemens: f64,
    /// What the line stands at by itself, in volts.
    pub(super) pull_up_v: f64,
    /// Behind this, in siemens; 0 where nothing pulls the line up.
    pub(super) pull_up_siemens: f64,
}

/// The least resistance between two nodes, in ohms: less than any wire.
const LEAST_OHM: f64 = 1e-3;
/// How close a root is searched, in volts.
const CLOSE_V: f64 = 1e-12;
/// More halvings than a bracket of a few hundred volts has digits.
const MOST_STEPS: usize = 120;
/// Beyond the line's own volts and 0 the collector can stand by so much, in volts: a base that is driven
/// pushes a collector that nothing holds.
const BEYOND_V: f64 = 1.0;

impl Around {
    /// What stands around a stage's transistor while the pin gives `drive_v`.
    pub(super) fn new(stage: &OutputStage, line: Source, drive_v: f64) -> Self {
        let model = stage.device.row().model;
        let [base_ohm, collector_ohm] = model.inner_ohm();
        let pin = Source { volt: drive_v, ohm: stage.base_ohm };
        let drive = pin.beside(Source { volt: 0.0, ohm: stage.base_pulldown_ohm });
        let siemens = |ohm: f64| 1.0 / ohm.max(LEAST_OHM);
        Self {
            model,
            drive_v: drive.volt,
            drive_siemens: siemens(drive.ohm + base_ohm),
            collector_siemens: siemens(stage.series_ohm + collector_ohm),
            pull_up_v: line.volt,
            pull_up_siemens: siemens(line.ohm),
        }
    }

    /// Control and collector voltages inside the transistor, settled.
    pub(super) fn settled(&self) -> [f64; 2] {
        let through = 1.0 / (1.0 / self.collector_siemens + 1.0 / self.pull_up_siemens);
        let low = -BEYOND_V;
        let high = self.pull_up_v.max(0.0) + BEYOND_V;
        let collector_v = root(low, high, 0.1, |collector_v| {
            let control_v = self.control_v(collector_v);
            let flow = self.model.flow(control_v, collector_v);
            // The control electrode follows the collector: implicit differentiation of its own equation.
            let [by_control, by_collector] = flow.control_a.by;
            let follows = -by_collector / (by_control + self.drive_siemens);
            let slope = flow.collector_a.by[1] + flow.collector_a.by[0] * follows;
            ((self.pull_up_v - collector_v) * through - flow.collector_a.value, -through - slope)
        });
        [self.control_v(collector_v), collector_v]
    }

    /// What the control electrode settles at for a collector voltage.
    fn control_v(&self, collector_v: f64) -> f64 {
        let high = self.drive_v.max(0.0).min(self.model.control_ceiling_v());
        root(-BEYOND_V, high, 0.7, |control_v| {
            let control_a = self.model.flow(control_v, collector_v).control_a;
            (
                (self.drive_v - control_v) * self.drive_siemens - control_a.value,
                -self.drive_siemens - control_a.by[0],
            )
        })
    }

    /// What the line stands at for a collector voltage inside, at rest.
    pub(super) fn line_v(&self, collector_v: f64) -> f64 {
        let whole = self.pull_up_siemens + self.collector_siemens;
        (self.pull_up_v * self.pull_up_siemens + collector_v * self.collector_siemens) / whole
    }
}

/// Where a falling function is 0, between two bounds; the function gives its value and its slope. Where it
/// isn't 0 between them, the bound it is nearest to.
fn root(mut low: f64, mut high: f64, guess: f64, of: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut at = guess.clamp(low, high.max(low));
    for _ in 0..MOST_STEPS {
        let (value, slope) = of(at);
        if value == 0.0 {
            return at;
        }
        if value > 0.0 {
            low = at;
        } else {
            high = at;
        }
        let newton = at - value / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - at).abs() < CLOSE_V || high - low < CLOSE_V {
            return next;
        }
        at = next;
    }
    at
}

/// The stage settled on a line.
pub(super) fn of(stage: &OutputStage, line: Source) -> StagePoint {
    let around = Around::new(stage, line, stage.drive_v);
    let [inner_control_v, inner_collector_v] = around.settled();
    let flow = around.model.flow(inner_control_v, inner_collector_v);
    let [base_ohm, collector_ohm] = around.model.inner_ohm();
    let (base_a, collector_a) = (flow.control_a.value, flow.collector_a.value);
    let control_v = inner_control_v + base_a * base_ohm;
    let collector_v = inner_collector_v + collector_a * collector_ohm;
    StagePoint {
        low_v: around.line_v(inner_collector_v),
        collector_v,
        control_v,
        base_a,
        collector_a,
        pin_a: (stage.drive_v - control_v) / stage.base_ohm,
        saturated: is_saturated(stage.device, control_v, collector_v, collector_a),
    }
}

/// Whether no more stands across it than its datasheet promises, at a current that promise reaches to.
fn is_saturated(device: Device, control_v: f64, collector_v: f64, collector_a: f64) -> bool {
    let row = device.row();
    let most_a = match row.promise {
        Promise::Saturation([_, (last_a, _)]) => last_a,
        Promise::Resistance { .. } => row.rated_a,
    };
    control_v > 0.0 && collector_a <= most_a && collector_v <= row.promise.most_v(collector_a)
}
