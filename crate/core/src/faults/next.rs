//! The next best measurement, computed for the tube and the bench at hand.

use super::shared::{controlled, say};
use crate::evidence::Evidence;
use crate::verdict::working_point;

/// Resistance in the grid lead that is proposed, ohm: within the sheet maxima of
/// most small types (reference 3.7, from memory there).
pub(super) const GRID_LEAD: f64 = 100e3;
/// A grid-current meter that is easily had, its smallest sure reading, A: three
/// steps of 10 nA (common practice, no source).
pub(super) const GRID_METER: f64 = 30e-9;
/// Two sweeps of one section agree to this share at best, whatever the meter's
/// noise: heater and supplies wander (common practice, no source).
const REPEATS: f64 = 2e-3;
/// Standard deviations that a difference must reach.
const SIGMAS: f64 = 3.0;

/// What either measurement of the grid would show.
pub(super) struct Reach {
    /// Smallest change of the grid voltage at the pin that two sweeps with
    /// different resistors in the grid lead would show, V.
    grid_volts: f64,
    /// Working point: plate voltage, grid voltage, plate current.
    point: (f64, f64, f64),
}

/// For the section in which least would be seen; `None` without a law.
pub(super) fn reach(evidence: &Evidence<'_>) -> Option<Reach> {
    controlled(evidence)
        .filter_map(|s| {
            let (va, vg, ia, gm) = working_point(evidence, s)?;
            let relative = libm::hypot(evidence.sections[s].noise.relative, REPEATS);
            Some(Reach { grid_volts: SIGMAS * std::f64::consts::SQRT_2 * relative * ia / gm, point: (va, vg, ia) })
        })
        .max_by(|a, b| a.grid_volts.total_cmp(&b.grid_volts))
}

impl Reach {
    /// Smallest grid current that the resistor in the grid lead would show, A.
    fn by_resistor(&self) -> f64 {
        self.grid_volts / GRID_LEAD
    }

    /// Ion ratios.
    pub(super) fn gas(&self) -> String {
        let ia = self.point.2;
        format!(
            "Measure the grid current at the working point and at cutoff: a meter that is sure of {} would show ion ratios down to {}. Or sweep again with {} in the grid lead: down to {}.",
            say(GRID_METER, "A"),
            say(GRID_METER / ia, "1"),
            say(GRID_LEAD, "ohm"),
            say(self.by_resistor() / ia, "1")
        )
    }

    /// Grid–cathode paths.
    pub(super) fn grid_cathode(&self) -> String {
        let vg = self.point.1.abs();
        format!(
            "Measure the grid current at two negative grid voltages: a meter that is sure of {} would show paths up to {}. Or sweep again with {} in the grid lead: up to {}.",
            say(GRID_METER, "A"),
            say(vg / GRID_METER, "ohm"),
            say(GRID_LEAD, "ohm"),
            say(vg / self.by_resistor(), "ohm")
        )
    }

    /// Plate–grid paths.
    pub(super) fn plate_grid(&self) -> String {
        let volts = self.point.0 - self.point.1;
        format!(
            "Measure the grid current at cutoff: a meter that is sure of {} would show paths up to {}.",
            say(GRID_METER, "A"),
            say(volts / GRID_METER, "ohm")
        )
    }

    /// Grid emission.
    pub(super) fn emission(&self) -> String {
        format!(
            "Measure the grid current at cutoff, cold-started and again after five minutes: a meter that is sure of {} shows as little. Or sweep again with {} in the grid lead: down to {}.",
            say(GRID_METER, "A"),
            say(GRID_LEAD, "ohm"),
            say(self.by_resistor(), "A")
        )
    }
}
