//! Heater–cathode leakage.

use super::shared::{alternatives, bound, marks, say, value};
use super::{Described, Fault, fault};
use crate::evidence::{Evidence, Path};
use crate::lesson::{Scene, Sizes};
use crate::numerics::{Estimate, normal_below};
use crate::report::{Blind, Finding, Value};
use crate::sweep::{HeaterCathode, MeterPlace};

fault! {
    /// # What it is
    /// A path from the heater through its insulation to the cathode.
    ///
    /// # On the curves
    /// Not in the plate current. It shows only when the current between heater and cathode is
    /// measured with a voltage between them, in both polarities: an ohmic path gives the same
    /// current either way, electrons emitted by the heater only one.
    ///
    /// # What looks like it
    /// The capacitance between heater and cathode passes some alternating current; the
    /// insulation of the socket and of the heater supply is in parallel.
    ///
    /// # How to settle it
    /// Heater at its rated voltage, cathode 100 V positive against the heater, then 100 V
    /// negative, within the type's heater–cathode rating; wait a minute each; repeat with the
    /// socket empty.
    ///
    /// # In a stage
    /// Hum wherever the cathode is not at ground for signal: cathode followers, the upper tube
    /// of a stack, unbypassed cathode resistors. Elevating the heater helps against emission
    /// from the heater, not against an ohmic path.
    ///
    /// # Sources
    /// As a test: MIL-STD-1311D. The limit of 10 µA at 100 V is from memory of military sheets
    /// and unverified; the handbook may have another for the type.
    tube HeaterCathodeLeakage = "heater-cathode-leakage", "Heater–cathode leakage";
}

/// Largest leakage current at 100 V of a small tube, A, where the handbook has no
/// limit for the type (from memory of military sheets, reference 3.2: unverified).
const LIMIT: f64 = 10e-6;
/// Voltage that limits are stated at, V.
const AT: f64 = 100.0;
/// A reading of the current is known to this share where nothing is said of the
/// meter (common practice, no source).
const METER: f64 = 0.05;

impl Fault for HeaterCathodeLeakage {
    fn look(&self, evidence: &Evidence<'_>, _found: &[Finding]) -> Vec<Finding> {
        let readings = &evidence.heater_cathode;
        let stated = evidence.heater_cathode_limit;
        let limit = stated.unwrap_or(LIMIT);
        let Some(worst) = readings.iter().max_by(|a, b| at_100(a).total_cmp(&at_100(b))) else {
            return by_cathode_meter(self, evidence);
        };
        let current = at_100(worst);
        let confidence = normal_below((current - limit) / (METER * current).max(1e-12));
        let opposite = readings.iter().find(|r| r.volts.signum() != worst.volts.signum());
        let nature = match opposite.map(at_100) {
            Some(other) if other < 0.3 * current => "mostly one way, as electrons from the heater flow",
            Some(_) => "both ways alike, as through a resistor",
            None => "measured with one polarity only",
        };
        let ohm =
            Estimate::new(worst.volts.abs() / worst.amperes.abs(), METER * worst.volts.abs() / worst.amperes.abs());
        vec![Finding {
            fault: self.name().into(),
            section: None,
            confidence,
            value: Some(value("leakage resistance", "ohm", ohm)),
            evidence: format!(
                "{} flow at {} V between heater and cathode, {nature}; the limit is {} at {AT} V{}.",
                say(worst.amperes.abs(), "A"),
                worst.volts,
                say(limit, "A"),
                if stated.is_some() {
                    " (handbook, unverified unless a sheet is named)"
                } else {
                    " (from memory, unverified)"
                }
            ),
            confirm: "Repeat with the other polarity and with the socket empty.".into(),
            alternatives: alternatives([]),
            marks: Vec::new(),
        }]
    }

    fn smallest(&self, evidence: &Evidence<'_>) -> Option<Value> {
        (!evidence.heater_cathode.is_empty())
            .then(|| bound("leakage resistance", "ohm", AT / evidence.heater_cathode_limit.unwrap_or(LIMIT)))
    }

    fn blind(&self, evidence: &Evidence<'_>) -> Option<Blind> {
        let readings = &evidence.heater_cathode;
        let both = readings.iter().any(|r| r.volts > 0.0) && readings.iter().any(|r| r.volts < 0.0);
        (!both).then(|| Blind {
            fault: self.name().into(),
            why: if readings.is_empty() {
                "the current between heater and cathode was not measured; the plate current does not show it".into()
            } else {
                "it was measured with one polarity only".into()
            },
            smallest: None,
            measure:
                "Measure the current between heater and cathode at 100 V of both polarities, within the type's rating."
                    .into(),
        })
    }

    fn inject(&self, scene: &mut Scene, section: usize, size: f64) {
        scene.spoil(section, |d| d.heater_cathode = Some(size));
    }

    fn times(&self, smallest: f64, times: f64) -> f64 {
        // Twice the leak is half the resistance.
        smallest / times
    }

    fn sizes(&self, _scene: &Scene) -> Option<Sizes> {
        Some(Sizes { quantity: "leakage resistance", unit: "ohm", mild: 5e6, severe: 200e3 })
    }
}

/// A reading as it would be at the voltage of the limit, taken as ohmic.
fn at_100(r: &HeaterCathode) -> f64 {
    if r.volts == 0.0 { 0.0 } else { r.amperes.abs() * AT / r.volts.abs() }
}

/// A meter in the cathode lead reads heater–cathode leakage too: a constant that
/// depends on neither plate nor grid voltage, in one section and not the other.
fn by_cathode_meter(fault: &HeaterCathodeLeakage, evidence: &Evidence<'_>) -> Vec<Finding> {
    if evidence.meter != MeterPlace::CathodeLead || evidence.sections.len() < 2 {
        return Vec::new();
    }
    let constant = |s: usize| {
        let section = &evidence.sections[s];
        let offset = section.leaks.estimate(Path::PlateOffset)?;
        let least = 2.0 * section.noise.step.max(section.noise.floor);
        let large = normal_below((offset.value.abs() - least) / offset.sd.max(1e-30));
        Some((section.leaks.probability(Path::PlateOffset) * large, offset))
    };
    (0..evidence.sections.len())
        .filter_map(|s| {
            let (here, offset) = constant(s)?;
            let elsewhere = (0..evidence.sections.len()).filter(|t| *t != s).filter_map(constant);
            let shared = elsewhere.map(|(p, other)| if (other.value - offset.value).abs() < 0.2 * offset.value.abs() { p } else { 0.0 });
            let confidence = FROM_HEATER * here * (1.0 - shared.fold(0.0, f64::max));
            (confidence > 0.05).then(|| Finding {
                fault: fault.name().into(),
                section: Some(evidence.sections[s].name.into()),
                confidence,
                value: Some(value("current between heater and cathode", "A", offset)),
                evidence: format!(
                    "Section {}: the meter in the cathode lead reads {} more at every plate and grid voltage, and not in the other section.",
                    evidence.sections[s].name,
                    say(offset.value, "A")
                ),
                confirm: "Change the voltage between heater and cathode: the constant follows it; then measure it in both polarities.".into(),
                alternatives: alternatives([("zero-offset", here - confidence)]),
                marks: marks(s, &evidence.sections[s].leaks.plate_rows),
            })
        })
        .collect()
}

/// Share of such constants that are heater–cathode leakage (common practice, no source).
const FROM_HEATER: f64 = 0.75;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::faults::bench::ZeroOffset;
    use crate::faults::proof::*;
    use crate::faults::{LowEmission, PlateCathodeLeakage};

    proved!(
        HeaterCathodeLeakage,
        Proof {
            named: vec![
                on(Strips, "12AU7", 11).set(heater_test).with(&HeaterCathodeLeakage, 1, 2e6).within(0.01),
                // By the meter in the cathode lead alone: a constant in one section.
                on(Dempwolf, "12AX7", 12).set(cathode_meter_and_bias).with(&HeaterCathodeLeakage, 0, 1e6),
            ],
            silent: sound(&HeaterCathodeLeakage)
                .into_iter()
                .map(|c| c.set(cathode_meter_and_bias))
                .chain([on(Strips, "12AU7", 20).set(heater_test)])
                .collect(),
            look_alikes: vec![
                // The meter's zero is the same in both sections.
                on(Dempwolf, "12AX7", 13).set(cathode_meter_and_bias).with(&ZeroOffset, 0, 50e-6),
                // Follows the plate voltage.
                on(Strips, "12AU7", 14).set(cathode_meter_and_bias).with(&PlateCathodeLeakage, 1, 3e6),
                // A sound insulation within the limit.
                on(Strips, "12AU7", 15).set(heater_test).set(|s| s.spoil(0, |d| d.heater_cathode = Some(30e6))),
            ],
            together: vec![
                on(Strips, "12AU7", 16).set(heater_test).with(&HeaterCathodeLeakage, 0, 2e6).with(
                    &PlateCathodeLeakage,
                    1,
                    3e6
                ),
                on(Koren, "12AX7", 17).set(heater_test).with(&HeaterCathodeLeakage, 0, 1e6).severe(
                    &LowEmission,
                    0,
                    0.5
                ),
            ],
            larger: vec![
                on(Strips, "12AU7", 18).set(heater_test).growing(&HeaterCathodeLeakage, 1),
                on(Dempwolf, "12AX7", 19).set(cathode_meter_and_bias).growing(&HeaterCathodeLeakage, 0),
            ],
        }
    );

    fn heater_test(scene: &mut Scene) {
        scene.bench.heater_test = Some(100.0);
    }

    fn cathode_meter_and_bias(scene: &mut Scene) {
        scene.bench.meter = MeterPlace::CathodeLead;
        scene.bench.heater_bias = 50.0;
    }
}
