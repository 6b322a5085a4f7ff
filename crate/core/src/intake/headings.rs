//! Column headings: which quantity, in which unit.

use super::error::Mistake;
use super::shown::excerpt;
use super::units::{self, Dimension};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Column {
    Tube,
    Section,
    Va,
    Vg,
    Ia,
    Ig,
    Vg2,
    Ig2,
    Ik,
    Vh,
    Ih,
    Vhk,
    Ihk,
    Time,
    Repeat,
    /// Something else, kept out.
    Other,
}

impl Column {
    pub(super) fn name(self) -> &'static str {
        match self {
            Self::Tube => "tube",
            Self::Section => "section",
            Self::Va => "plate voltage",
            Self::Vg => "grid voltage",
            Self::Ia => "plate current",
            Self::Ig => "grid current",
            Self::Vg2 => "screen voltage",
            Self::Ig2 => "screen current",
            Self::Ik => "cathode current",
            Self::Vh => "heater voltage",
            Self::Ih => "heater current",
            Self::Vhk => "heater–cathode voltage",
            Self::Ihk => "heater–cathode current",
            Self::Time => "time",
            Self::Repeat => "repeat",
            Self::Other => "other",
        }
    }

    pub(super) fn dimension(self) -> Dimension {
        match self {
            Self::Va | Self::Vg | Self::Vg2 | Self::Vh | Self::Vhk => Dimension::Voltage,
            Self::Ia | Self::Ig | Self::Ig2 | Self::Ik | Self::Ih | Self::Ihk => Dimension::Current,
            Self::Time => Dimension::Time,
            Self::Tube | Self::Section | Self::Repeat | Self::Other => Dimension::Number,
        }
    }

    /// The unit a heading may leave out: volts for voltages (nobody sweeps in
    /// anything else), never for currents.
    fn silent_unit(self) -> Option<f64> {
        match self.dimension() {
            Dimension::Voltage | Dimension::Time | Dimension::Number => Some(1.0),
            Dimension::Current | Dimension::Resistance => None,
        }
    }
}

/// A heading understood: its quantity and the factor to SI.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Heading {
    pub(super) column: Column,
    pub(super) factor: f64,
    pub(super) text: String,
}

/// Letter symbols of IEC and of the older American manner, and plain words.
/// Compared in lower case without blanks, dots and dashes.
const NAMES: [(Column, &[&str]); 15] = [
    (Column::Tube, &["tube", "valve", "tubeid", "tubeno"]),
    (Column::Section, &["section", "unit", "system", "half", "sect"]),
    (Column::Va, &["va", "ua", "eb", "ep", "vp", "platevoltage", "anodevoltage", "platevolts", "anodevolts"]),
    (
        Column::Vg,
        &["vg", "ug", "ec", "eg", "vg1", "ug1", "ec1", "vs", "gridvoltage", "gridvolts", "controlgridvoltage", "bias"],
    ),
    (Column::Ia, &["ia", "ib", "ip", "platecurrent", "anodecurrent"]),
    (Column::Ig, &["ig", "ic", "ig1", "ic1", "gridcurrent", "controlgridcurrent"]),
    (Column::Vg2, &["vg2", "ug2", "ec2", "es", "screenvoltage", "screenvolts"]),
    (Column::Ig2, &["ig2", "ic2", "is", "screencurrent"]),
    (Column::Ik, &["ik", "cathodecurrent"]),
    (Column::Vh, &["vh", "vf", "uf", "uh", "ef", "eh", "heatervoltage", "filamentvoltage"]),
    (Column::Ih, &["ih", "if", "heatercurrent", "filamentcurrent"]),
    (Column::Vhk, &["vhk", "vkh", "heatercathodevoltage"]),
    (Column::Ihk, &["ihk", "ikh", "heatercathodecurrent"]),
    (Column::Time, &["time", "t", "elapsed"]),
    (Column::Repeat, &["repeat", "run", "pass"]),
];

/// Reads one heading; [`Column::Other`] for one that names nothing we know.
///
/// # Errors
/// A known quantity in a unit of another dimension, or a current without one.
pub(super) fn read(text: &str) -> Result<Heading, Mistake> {
    let (name, unit) = split(text);
    let key: String = name
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-' | '_'))
        .flat_map(char::to_lowercase)
        .collect();
    let column = NAMES.iter().find(|(_, names)| names.contains(&key.as_str())).map_or(Column::Other, |(c, _)| *c);
    let heading = |factor| Heading { column, factor, text: text.trim().to_owned() };
    if column == Column::Other || column.dimension() == Dimension::Number {
        return Ok(heading(1.0));
    }
    match unit {
        Some(unit) => units::factor(unit, column.dimension()).map(heading).ok_or_else(|| Mistake::WrongUnit {
            heading: excerpt(text),
            what: column.name(),
            unit: excerpt(unit),
            dimension: column.dimension().name(),
        }),
        None => column
            .silent_unit()
            .map(heading)
            .ok_or_else(|| Mistake::NoUnit { heading: excerpt(text), what: column.name() }),
    }
}

/// Splits a heading into name and unit: `Ia [mA]`, `Ia (mA)`, `Ia_mA`, `Ia/mA`,
/// `Ia, mA`, `Ia in mA`.
fn split(text: &str) -> (&str, Option<&str>) {
    let text = text.trim();
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some((name, rest)) = text.split_once(open) {
            return (name.trim(), Some(rest.trim_end().trim_end_matches(close).trim()));
        }
    }
    for mark in ["/", ", ", " in ", "_"] {
        if let Some((name, unit)) = text.rsplit_once(mark) {
            // `plate_voltage` is a name, `plate_voltage_V` a name and a unit.
            let is_unit = [Dimension::Voltage, Dimension::Current, Dimension::Time]
                .iter()
                .any(|d| units::factor(unit, *d).is_some());
            if is_unit || mark == "/" {
                return (name.trim(), Some(unit.trim()));
            }
        }
    }
    (text, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_as_people_write_them() {
        for (text, column, factor) in [
            ("Va [V]", Column::Va, 1.0),
            ("Ia [mA]", Column::Ia, 1e-3),
            ("Ig (µA)", Column::Ig, 1e-6),
            ("Ib_mA", Column::Ia, 1e-3),
            ("Eb", Column::Va, 1.0),
            ("Ec1/V", Column::Vg, 1.0),
            ("Plate Current in mA", Column::Ia, 1e-3),
            ("plate_voltage", Column::Va, 1.0),
            ("grid_voltage_mV", Column::Vg, 1e-3),
            ("section", Column::Section, 1.0),
            ("operator", Column::Other, 1.0),
        ] {
            let heading = read(text).unwrap();
            assert_eq!((heading.column, heading.factor), (column, factor), "{text}");
        }
    }

    #[test]
    fn a_current_needs_its_unit_and_the_right_one() {
        assert!(matches!(read("Ia"), Err(Mistake::NoUnit { .. })));
        assert!(matches!(read("Ia [V]"), Err(Mistake::WrongUnit { .. })));
        assert!(matches!(read("Va [furlong]"), Err(Mistake::WrongUnit { .. })));
    }
}
