//! Currents between heater and cathode, from the file's metadata and its columns.

use crate::sweep::{HeaterCathode, Tube};

/// The largest reading of each polarity.
pub(super) fn readings(tube: &Tube) -> Vec<HeaterCathode> {
    let columns = tube.sections.iter().filter_map(|s| s.points.vhk.as_ref().zip(s.points.ihk.as_ref()));
    let rows = columns.flat_map(|(v, i)| v.iter().zip(i).map(|(v, i)| HeaterCathode { volts: *v, amperes: *i }));
    let all: Vec<HeaterCathode> = tube
        .bench
        .heater_cathode
        .iter()
        .copied()
        .chain(rows)
        .filter(|r| r.volts.is_finite() && r.amperes.is_finite() && r.volts != 0.0)
        .collect();
    let conductance = |r: &HeaterCathode| (r.amperes / r.volts).abs();
    let largest = |sign: f64| {
        all.iter().copied().filter(|r| r.volts * sign > 0.0).max_by(|a, b| conductance(a).total_cmp(&conductance(b)))
    };
    [largest(1.0), largest(-1.0)].into_iter().flatten().collect()
}
