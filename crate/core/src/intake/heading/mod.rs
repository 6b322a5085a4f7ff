//! Column headings: which quantity, in which unit, of which section, at which
//! held voltage.

mod names;
mod parts;

pub(super) use names::Column;
pub(super) use parts::{level, section_label};

use super::error::Mistake;
use super::limits::LONGEST_NAME;
use super::shown::excerpt;
use super::units;
use parts::Parts;

/// A heading understood.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Heading {
    pub(super) column: Column,
    /// The factor to SI, where the heading gives a unit.
    pub(super) unit: Option<f64>,
    /// The section that it names, as in `Ia2`.
    pub(super) section: Option<String>,
    /// The voltage that is held along the column, as in `Ia [mA] at Va = 100 V`.
    pub(super) held: Option<Held>,
    /// As written.
    pub(super) text: String,
}

/// A held voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Held {
    /// Which; `None` where only the number is given.
    pub(super) column: Option<Column>,
    pub(super) volts: f64,
}

impl Heading {
    /// A column that is left out.
    pub(super) fn other(text: &str) -> Self {
        Self { column: Column::Other, unit: None, section: None, held: None, text: text.trim().to_owned() }
    }
}

/// Reads one heading; [`Column::Other`] for one that names nothing we know.
///
/// # Errors
/// A known quantity in a unit of another dimension.
pub(super) fn read(text: &str) -> Result<Heading, Mistake> {
    if text.len() > LONGEST_NAME {
        return Ok(Heading::other(text));
    }
    let parts = Parts::of(text);
    let mut heading = Heading::other(text);
    heading.held = parts.held;
    let Some(column) = parts.column else {
        // `100 V` or `Va = 100 V`: a curve, whose current goes without saying.
        heading.section = parts.section.filter(|_| parts.held.is_some());
        heading.unit =
            parts.unit.and_then(|u| units::factor(u, units::Dimension::Current)).filter(|_| parts.held.is_some());
        return Ok(heading);
    };
    heading.column = column;
    heading.section = parts.section;
    if column.dimension() == units::Dimension::Number {
        return Ok(heading);
    }
    if let Some(unit) = parts.unit.or(parts.unknown) {
        let factor = units::factor(unit, column.dimension()).ok_or_else(|| Mistake::WrongUnit {
            heading: excerpt(text),
            what: column.name(),
            unit: excerpt(unit),
            dimension: column.dimension().name(),
        })?;
        heading.unit = Some(factor);
    }
    Ok(heading)
}

/// Whether a text is a unit of voltage or current, as a row of units under the
/// heading has it, or one in brackets.
pub(super) fn unit(text: &str) -> Option<&str> {
    let inside = text.trim().trim_start_matches(['[', '(']).trim_end_matches([']', ')']).trim();
    parts::is_unit(inside).then_some(inside)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn headings_as_people_write_them() {
        for (text, column, factor) in [
            ("Va [V]", Column::Va, Some(1.0)),
            ("Ia [mA]", Column::Ia, Some(1e-3)),
            ("Ig (µA)", Column::Ig, Some(1e-6)),
            ("Ib_mA", Column::Ia, Some(1e-3)),
            ("Eb", Column::Va, None),
            ("Ec1/V", Column::Vg, Some(1.0)),
            ("Plate Current in mA", Column::Ia, Some(1e-3)),
            ("plate_voltage", Column::Va, None),
            ("grid_voltage_mV", Column::Vg, Some(1e-3)),
            ("Plate mA", Column::Ia, Some(1e-3)),
            ("Grid [V]", Column::Vg, Some(1.0)),
            ("grid (uA)", Column::Ig, Some(1e-6)),
            ("anode current, mA", Column::Ia, Some(1e-3)),
            ("Ia mA", Column::Ia, Some(1e-3)),
            ("Plate volts", Column::Va, None),
            ("Vg2 [V]", Column::Vg2, Some(1.0)),
            ("Ef", Column::Vh, None),
            ("section", Column::Section, None),
            ("operator", Column::Other, None),
        ] {
            let heading = read(text).unwrap();
            assert_eq!((heading.column, heading.unit), (column, factor), "{text}");
            assert_eq!((heading.section, heading.held), (None, None), "{text}");
        }
    }

    #[test]
    fn a_unit_has_to_be_of_its_quantity() {
        assert!(matches!(read("Ia [V]"), Err(Mistake::WrongUnit { .. })));
        assert!(matches!(read("Va [furlong]"), Err(Mistake::WrongUnit { .. })));
        assert!(matches!(read("Va/furlong"), Err(Mistake::WrongUnit { .. })));
    }

    #[test]
    fn sections_beside_each_other() {
        for (text, column, section) in [
            ("Ia1 [mA]", Column::Ia, "1"),
            ("Va2", Column::Va, "2"),
            ("Ib (2) [mA]", Column::Ia, "2"),
            ("section 2 Ia [mA]", Column::Ia, "2"),
            ("Ia section B [mA]", Column::Ia, "B"),
            ("Ia left [mA]", Column::Ia, "left"),
            ("Ia_a [mA]", Column::Ia, "A"),
            ("Ia'' [mA]", Column::Ia, "2"),
            ("Ia_2_mA", Column::Ia, "2"),
            ("plate current 1 (mA)", Column::Ia, "1"),
        ] {
            let heading = read(text).unwrap();
            assert_eq!((heading.column, heading.section.as_deref()), (column, Some(section)), "{text}");
        }
    }

    #[test]
    fn curves_beside_each_other() {
        let va = |volts| Some(Held { column: Some(Column::Va), volts });
        let bare = |volts| Some(Held { column: None, volts });
        for (text, column, held, unit) in [
            ("Va=100", Column::Other, va(100.0), None),
            ("Va = 100 V", Column::Other, va(100.0), None),
            ("Va 100 V", Column::Other, va(100.0), None),
            ("Eb=0.25 kV", Column::Other, va(250.0), None),
            ("100", Column::Other, bare(100.0), None),
            ("-2,5 V", Column::Other, bare(-2.5), None),
            ("Ia [mA] @ 100 V", Column::Ia, bare(100.0), Some(1e-3)),
            ("Ia(100V) [mA]", Column::Ia, bare(100.0), Some(1e-3)),
            ("Ia (Va=100V) (mA)", Column::Ia, va(100.0), Some(1e-3)),
            ("Ia at Va = 100 V [mA]", Column::Ia, va(100.0), Some(1e-3)),
            ("Ia_mA_100V", Column::Ia, bare(100.0), Some(1e-3)),
            ("Ia Va=100", Column::Ia, va(100.0), None),
            ("plate voltage = 100 V [mA]", Column::Other, va(100.0), Some(1e-3)),
        ] {
            let heading = read(text).unwrap();
            assert_eq!((heading.column, heading.held, heading.unit), (column, held, unit), "{text}");
        }
    }
}
