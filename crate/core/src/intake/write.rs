//! From a tube back to the long table that [`super::read`] reads.

use std::fmt::Write as _;

use super::shown::clean;
use super::units;
use crate::sweep::{Points, Running, Tube};

/// Most decimals a cell is given. Doubles hold 15 to 17 digits; with table units of mA,
/// µA and V no reading of a bench comes near.
const MOST_DECIMALS: usize = 17;

/// Readings closer than this are one: the last bit or two of a double, which dividing by
/// a unit's factor moves. The share is of the reading.
const CLOSE: f64 = 2.0 * f64::EPSILON;

/// A column: the factor of its unit to SI, and its values.
type Column<'a> = (f64, &'a [f64]);

/// Writes a tube as a long table: lines `# key: value`, a heading with units, a row a
/// point, in measuring order.
///
/// Each number has the fewest decimals that read back to the same value: to the same
/// bits if it was read from such a table, else to the last bit or two. A column that only some sections have is left empty in the others.
pub fn write(tube: &Tube) -> String {
    let mut text = metadata(tube);
    text.push_str(&table(tube, &HANDY));
    text
}

/// Writes a tube as a tidy long table in SI units, each number in the fewest digits
/// that read back to the same bits: what [`super::read`] reads from it is the same
/// sweep exactly.
pub fn write_exact(tube: &Tube) -> String {
    let mut text = metadata(tube);
    text.push_str(&table(tube, &EXACT));
    text
}

fn metadata(tube: &Tube) -> String {
    let mut text = String::new();
    // Writing to a string cannot fail.
    let mut line = |key: &str, value: String| {
        let value = clean(&value);
        if !value.is_empty() {
            let _ = writeln!(text, "# {key}: {value}");
        }
    };
    line("tube", tube.name.clone());
    line("type", tube.kind.clone().unwrap_or_default());
    let running = tube.sections.first().and_then(|s| s.points.curves().first().map(|c| c.running));
    if let Some(running) = running {
        line("sweep", if running == Running::Grid { "transfer".into() } else { "plate".into() });
    }
    let bench = &tube.bench;
    let mut quantity = |key: &str, value: Option<f64>, unit: &str| {
        if let Some(value) = value {
            line(key, format!("{value} {unit}"));
        }
    };
    quantity("heater_voltage", bench.heater_voltage, "V");
    quantity("grid_source_resistance", bench.grid_source_resistance, "ohm");
    quantity("screen_voltage", bench.screen_voltage, "V");
    quantity("current_limit", bench.current_limit, "A");
    quantity("current_resolution", bench.current_resolution, "A");
    for r in &bench.heater_cathode {
        line("heater_cathode_current", format!("{} A at {} V", r.amperes, r.volts));
    }
    if let Some(place) = bench.current_meter {
        line("current_meter", place.words().into());
    }
    for note in &tube.notes {
        line("note", note.clone());
    }
    text
}

/// Number of optional columns.
const COLUMNS: usize = 10;

/// Headings with the factors of their units, and how numbers are written.
struct Manner {
    needed: [(&'static str, f64); 3],
    optional: [(&'static str, f64); COLUMNS],
    cell: fn(f64, f64) -> String,
}

/// In the units people use.
const HANDY: Manner = Manner {
    needed: [("Va [V]", 1.0), ("Vg [V]", 1.0), ("Ia [mA]", 1e-3)],
    optional: [
        ("Ig [uA]", 1e-6),
        ("Vg2 [V]", 1.0),
        ("Ig2 [mA]", 1e-3),
        ("Ik [mA]", 1e-3),
        ("Vh [V]", 1.0),
        ("Ih [A]", 1.0),
        ("Vhk [V]", 1.0),
        ("Ihk [uA]", 1e-6),
        ("time [s]", 1.0),
        ("repeat", 1.0),
    ],
    cell,
};

/// In SI units to the last bit.
const EXACT: Manner = Manner {
    needed: [("Va [V]", 1.0), ("Vg [V]", 1.0), ("Ia [A]", 1.0)],
    optional: [
        ("Ig [A]", 1.0),
        ("Vg2 [V]", 1.0),
        ("Ig2 [A]", 1.0),
        ("Ik [A]", 1.0),
        ("Vh [V]", 1.0),
        ("Ih [A]", 1.0),
        ("Vhk [V]", 1.0),
        ("Ihk [A]", 1.0),
        ("time [s]", 1.0),
        ("repeat", 1.0),
    ],
    cell: |value, _| if value.is_finite() { format!("{value}") } else { String::new() },
};

/// The optional columns, in the order they are written.
fn optional(points: &Points) -> [&Option<Vec<f64>>; COLUMNS] {
    [
        &points.ig,
        &points.vg2,
        &points.ig2,
        &points.ik,
        &points.vh,
        &points.ih,
        &points.vhk,
        &points.ihk,
        &points.time,
        &points.repeat,
    ]
}

fn table(tube: &Tube, manner: &Manner) -> String {
    let present: Vec<usize> =
        (0..COLUMNS).filter(|&c| tube.sections.iter().any(|s| optional(&s.points)[c].is_some())).collect();
    let mut writer = csv::WriterBuilder::new().comment(Some(b'#')).from_writer(Vec::new());
    // A row that begins with # would be taken for a comment; such names go behind.
    let behind = usize::from(tube.sections.iter().any(|s| clean(&s.name).starts_with('#')));
    let mut heading: Vec<&str> = manner.needed.iter().map(|n| n.0).collect();
    heading.insert(behind, "section");
    heading.extend(present.iter().map(|&c| manner.optional[c].0));
    // Writing to memory cannot fail.
    let _ = writer.write_record(&heading);
    for section in &tube.sections {
        let p = &section.points;
        let all = optional(p);
        let needed = manner.needed.iter().zip([&p.va, &p.vg, &p.ia]);
        let mut columns: Vec<Column> = needed.map(|(n, values)| (n.1, values.as_slice())).collect();
        columns.extend(present.iter().map(|&c| (manner.optional[c].1, all[c].as_deref().unwrap_or_default())));
        for i in 0..p.len() {
            let number =
                |(factor, values): &Column| values.get(i).map_or(String::new(), |v| (manner.cell)(*v, *factor));
            let mut cells: Vec<String> = columns.iter().map(number).collect();
            cells.insert(behind, clean(&section.name));
            let _ = writer.write_record(&cells);
        }
    }
    let bytes = writer.into_inner().unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

/// A number in a unit of `factor` SI, in the fewest decimals that read back the same;
/// nothing for one that is not finite.
fn cell(value: f64, factor: f64) -> String {
    if !value.is_finite() {
        return String::new();
    }
    // Zero is written without a sign.
    let shown = value / factor + 0.0;
    let reads_back =
        |text: &str| text.parse::<f64>().is_ok_and(|v| (units::to_si(v, factor) - value).abs() <= CLOSE * value.abs());
    let tidy = |text: String| {
        if text.trim_start_matches('-').bytes().all(|b| matches!(b, b'0' | b'.')) { "0".into() } else { text }
    };
    for decimals in 0..=MOST_DECIMALS {
        let text = format!("{shown:.decimals$}");
        if reads_back(&text) {
            return tidy(text);
        }
    }
    format!("{shown}")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake::read;
    use crate::sweep::{Bench, MeterPlace, Section};
    use proptest::prelude::*;

    fn tube() -> Tube {
        let points = Points {
            va: vec![100.0, 100.0, 250.5],
            vg: vec![-2.0, -1.25, 0.0],
            ia: vec![0.305e-3, 0.0000005, 0.0],
            ig: Some(vec![-12.5e-9, f64::NAN, 3e-6]),
            ..Points::default()
        };
        Tube {
            name: "B-17".into(),
            source: vec!["b.csv".into()],
            kind: Some("12AX7, or so".into()),
            notes: vec!["first note".into(), "weather: rain".into()],
            bench: Bench {
                grid_source_resistance: Some(1e4),
                current_meter: Some(MeterPlace::CathodeLead),
                heater_voltage: Some(6.3),
                screen_voltage: Some(250.0),
                current_limit: Some(0.02),
                heater_cathode: vec![crate::sweep::HeaterCathode { volts: 100.0, amperes: 3e-6 }],
                current_resolution: Some(5e-7),
            },
            sections: vec![
                Section { name: "1".into(), points: points.clone() },
                Section { name: "#2, \"left\"".into(), points: Points { ig: None, ..points } },
            ],
        }
    }

    #[test]
    fn a_tube_is_written_as_people_would_write_it() {
        let mut tube = tube();
        tube.sections[1].name = "2".into();
        let text = write(&tube);
        assert!(text.starts_with("# tube: B-17\n# type: 12AX7, or so\n# sweep: transfer\n# heater_voltage: 6.3 V\n"));
        assert!(
            text.contains("\nsection,Va [V],Vg [V],Ia [mA],Ig [uA]\n1,100,-2,0.305,-0.0125\n1,100,-1.25,0.0005,\n")
        );
    }

    #[test]
    fn what_was_written_reads_back_the_same() {
        let tube = tube();
        let back = read("b.csv", write(&tube).as_bytes()).unwrap().remove(0);
        assert_eq!((&back.name, &back.kind, &back.notes), (&tube.name, &tube.kind, &tube.notes));
        assert_eq!(back.bench, tube.bench);
        assert_eq!(back.sections[1].name, tube.sections[1].name);
        for (a, b) in back.sections.iter().zip(&tube.sections) {
            assert_eq!((&a.points.va, &a.points.vg, &a.points.ia), (&b.points.va, &b.points.vg, &b.points.ia));
        }
        let ig = back.sections[0].points.ig.as_ref().unwrap();
        assert!((ig[0] + 12.5e-9).abs() < 1e-23);
        assert!(ig[1].is_nan());
    }

    #[test]
    fn zero_has_no_sign_and_numbers_no_needless_digits() {
        assert_eq!(cell(-0.0, 1e-3), "0");
        assert_eq!(cell(0.0015, 1e-3), "1.5");
        assert_eq!(cell(-28.0, 1.0), "-28");
        assert_eq!(cell(f64::NAN, 1.0), "");
    }

    proptest! {
        #[test]
        fn any_reading_in_whole_steps_is_exact(n in -200_000_i32..200_000, places in 0_usize..6) {
            let milliamps = f64::from(n) / 10_f64.powi(places as i32);
            let value = units::to_si(milliamps, 1e-3);
            let text = cell(value, 1e-3);
            prop_assert_eq!(units::to_si(text.parse().unwrap(), 1e-3), value);
            prop_assert!(text.len() <= 8 + places);
        }

        #[test]
        fn any_double_comes_back_to_its_last_bits(value in -5.0_f64..5.0) {
            let back = units::to_si(cell(value, 1e-6).parse().unwrap(), 1e-6);
            prop_assert!((back - value).abs() <= CLOSE * value.abs());
        }
    }
}
