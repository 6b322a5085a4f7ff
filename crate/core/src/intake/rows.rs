//! The rows of a long table: each cell a number in SI, or a refusal with its place.

use std::borrow::Cow;
use std::collections::HashMap;

use super::error::{Mistake, Place};
use super::headings::{Column, Heading};
use super::repeats;
use super::shown::excerpt;
use super::table::{Failure, Layout, reader};
use super::units::{self, Dimension};
use crate::sweep::Points;

/// Largest plate or screen voltage read, V: above any receiving tube's (the
/// 845 runs at 1250 V, reference 2.1), with room.
const MOST_VOLTS: f64 = 20_000.0;
/// Largest current read, A: above any receiving tube's, with room. A table in
/// mA whose heading says A lands beyond it.
const MOST_AMPERES: f64 = 5.0;

/// The rows of one section, and what their cells call it.
pub(super) struct Named {
    /// The cell in the tube's column.
    pub(super) tube: Option<String>,
    /// The cell in the section's column.
    pub(super) section: Option<String>,
    /// The points.
    pub(super) points: Points,
    /// How many rows were left out because they repeat another.
    pub(super) repeated: usize,
}

/// The sections of the table, in the order of their first rows.
pub(super) fn read(text: &str, layout: &Layout) -> Result<Vec<Named>, Failure> {
    let (tube_at, section_at) = (layout.find(Column::Tube), layout.find(Column::Section));
    let columns: Vec<(usize, &Heading)> = layout
        .headings
        .iter()
        .enumerate()
        .filter(|(_, h)| !matches!(h.column, Column::Other | Column::Tube | Column::Section))
        .collect();

    let table = &text[layout.start..];
    let mut counter = Counter { table, byte: 0, line: layout.line };
    let mut sections: Vec<Named> = Vec::new();
    let mut known: HashMap<(Option<String>, Option<String>), usize> = HashMap::new();
    let mut current = None;
    let mut reader = reader(table, layout.separator);
    let mut record = csv::StringRecord::new();
    loop {
        let more = reader.read_record(&mut record).map_err(|e| (Place::File, Mistake::Csv(e.to_string())))?;
        if !more {
            break;
        }
        let line = counter.line_of(record.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(0)));
        if skipped(&record, layout) {
            continue;
        }
        ragged(&record, layout, line)?;
        let name = |at: Option<usize>| at.map(|i| record.get(i).unwrap_or_default()).filter(|s| !s.is_empty());
        let (tube, section) = (name(tube_at), name(section_at));
        let same = |s: &Named| s.tube.as_deref() == tube && s.section.as_deref() == section;
        let at = match current.filter(|&at: &usize| sections.get(at).is_some_and(same)) {
            Some(at) => at,
            None => *known.entry((tube.map(str::to_owned), section.map(str::to_owned))).or_insert_with_key(|key| {
                let (tube, section) = key.clone();
                sections.push(Named { tube, section, points: Points::default(), repeated: 0 });
                sections.len() - 1
            }),
        };
        current = Some(at);
        let points = &mut sections[at].points;
        for (i, heading) in &columns {
            let cell = record.get(*i).unwrap_or_default();
            let value = number(cell, heading, layout.separator).map_err(|m| (Place::Cell(line, i + 1), m))?;
            push(points, heading.column, value);
        }
        // A diode's table has no grid column.
        if layout.find(Column::Vg).is_none() {
            points.vg.push(0.0);
        }
    }
    if sections.is_empty() {
        return Err((Place::Line(layout.line), Mistake::HeaderOnly));
    }
    for section in &mut sections {
        section.repeated = repeats::drop_repeats(&mut section.points);
    }
    Ok(sections)
}

/// Counts lines for records that come in order. The csv reader's own count
/// names the blank and comment lines that it skipped before a record instead
/// of the record (BurntSushi/rust-csv issue 208).
struct Counter<'a> {
    table: &'a str,
    byte: usize,
    line: usize,
}

impl Counter<'_> {
    /// The line of the record that the reader found at or after `byte`.
    fn line_of(&mut self, byte: usize) -> usize {
        if let Some(passed) = self.table.get(self.byte..byte) {
            self.line += passed.matches('\n').count();
            self.byte = byte;
        }
        while let Some(rest) = self.table.get(self.byte..).filter(|rest| rest.starts_with(['#', '\n'])) {
            self.byte += rest.find('\n').map_or(rest.len(), |end| end + 1);
            self.line += 1;
        }
        self.line
    }
}

/// Whether a record is no row of points: blank, a comment behind blanks, or the
/// heading itself, which also heads each copy in a file pasted together.
fn skipped(record: &csv::StringRecord, layout: &Layout) -> bool {
    record.iter().all(str::is_empty)
        || record.get(0).is_some_and(|cell| cell.starts_with('#'))
        || record.iter().eq(layout.headings.iter().map(|h| h.text.as_str()))
}

fn ragged(record: &csv::StringRecord, layout: &Layout, line: usize) -> Result<(), Failure> {
    let expected = layout.headings.len();
    let extra_is_blank = record.iter().skip(expected).all(str::is_empty);
    if record.len() < expected || !extra_is_blank {
        return Err((Place::Line(line), Mistake::Ragged { found: record.len(), expected }));
    }
    Ok(())
}

fn number(cell: &str, heading: &Heading, separator: u8) -> Result<f64, Mistake> {
    let what = heading.column.name();
    let required = matches!(heading.column, Column::Va | Column::Vg | Column::Ia);
    if cell.is_empty() {
        return if required { Err(Mistake::EmptyCell { what }) } else { Ok(f64::NAN) };
    }
    // A true minus sign instead of a hyphen comes out of word processors.
    let mut plain = Cow::Borrowed(cell);
    if cell.contains('\u{2212}') {
        plain = cell.replace('\u{2212}', "-").into();
    }
    if separator != b',' && cell.contains(',') && !cell.contains('.') {
        plain = plain.replacen(',', ".", 1).into();
    }
    let value = plain
        .parse::<f64>()
        .map_err(|_| Mistake::NotANumber { text: excerpt(cell), heading: excerpt(&heading.text) })
        .map(|v| units::to_si(v, heading.factor))?;
    if !value.is_finite() {
        return Err(Mistake::NotFinite { text: excerpt(cell), heading: excerpt(&heading.text) });
    }
    let (most, unit) = match heading.column.dimension() {
        Dimension::Voltage => (MOST_VOLTS, "V"),
        Dimension::Current => (MOST_AMPERES, "A"),
        _ => return Ok(value),
    };
    if value.abs() > most && heading.column != Column::Ih {
        return Err(Mistake::OutOfRange { what, value, unit });
    }
    Ok(value)
}

fn push(points: &mut Points, column: Column, value: f64) {
    let optional = |c: &mut Option<Vec<f64>>| c.get_or_insert_default().push(value);
    match column {
        Column::Va => points.va.push(value),
        Column::Vg => points.vg.push(value),
        Column::Ia => points.ia.push(value),
        Column::Ig => optional(&mut points.ig),
        Column::Vg2 => optional(&mut points.vg2),
        Column::Ig2 => optional(&mut points.ig2),
        Column::Ik => optional(&mut points.ik),
        Column::Vh => optional(&mut points.vh),
        Column::Ih => optional(&mut points.ih),
        Column::Vhk => optional(&mut points.vhk),
        Column::Ihk => optional(&mut points.ihk),
        Column::Time => optional(&mut points.time),
        Column::Repeat => optional(&mut points.repeat),
        Column::Tube | Column::Section | Column::Other => {}
    }
}

#[cfg(test)]
mod tests {
    use super::super::table;
    use super::*;

    fn refused(text: &str) -> Failure {
        table::read("x", text).unwrap_err()
    }

    #[test]
    fn places_are_counted_from_one_and_include_the_lines_above() {
        let (place, mistake) = refused("# tube: 1\n\nVa,Vg,Ia [mA]\n100,-1,0.5\n100,abc,0.5\n");
        assert_eq!(place, Place::Cell(5, 2));
        assert!(matches!(mistake, Mistake::NotANumber { .. }));
        let (place, mistake) = refused("Va,Vg,Ia [mA]\n100,-1\n");
        assert_eq!(place, Place::Line(2));
        assert!(matches!(mistake, Mistake::Ragged { found: 2, expected: 3 }));
    }

    #[test]
    fn a_row_keeps_its_line_after_blank_lines_comments_and_any_line_end() {
        for end in ["\n", "\r\n", "\r"] {
            let text = ["Va,Vg,Ia [mA]", "100,-1,0.5", "", "# a remark", "", "100,-2,oops", ""].join(end);
            assert_eq!(refused(&text).0, Place::Cell(6, 3), "{end:?}");
            let text = ["", "Va,Vg,Ia [mA]", "100,-1,0.5", "  # a remark, with a comma", "100,-2,oops"].join(end);
            assert_eq!(refused(&text).0, Place::Cell(5, 3), "{end:?}");
        }
    }

    #[test]
    fn a_comment_may_end_the_file() {
        let tubes = table::read("x", "Va,Vg,Ia [mA]\n100,-1,0.5\n# the end").unwrap();
        assert_eq!(tubes[0].sections[0].points.len(), 1);
    }

    #[test]
    fn a_quotation_mark_that_is_never_closed_is_refused_at_its_row() {
        let (place, mistake) = refused("Va,Vg,Ia [mA]\n100,-1,0.5\n100,\"-1,0.5\n100,-2,0.4\n");
        assert_eq!(place, Place::Line(3));
        assert!(matches!(mistake, Mistake::Ragged { .. }));
    }

    #[test]
    fn a_value_that_no_measurement_gives_is_refused_in_its_cell() {
        for cell in ["NaN", "nan", "inf", "-Infinity", "1e999"] {
            let (place, mistake) = refused(&format!("Va,Vg,Ia [mA]\n100,-1,{cell}\n"));
            assert_eq!(place, Place::Cell(2, 3));
            assert!(matches!(mistake, Mistake::NotFinite { .. }), "{cell}: {mistake}");
        }
    }

    #[test]
    fn a_minus_sign_and_a_decimal_comma_go_together() {
        let tubes = table::read("x", "Va;Vg;Ia [mA]\n100;\u{2212}1,25;0,5\n").unwrap();
        assert_eq!(tubes[0].sections[0].points.vg, [-1.25]);
    }

    #[test]
    fn milliamperes_under_a_heading_in_amperes_are_refused() {
        let (place, mistake) = refused("Va,Vg,Ia [A]\n100,-1,0.5\n100,0,12\n");
        assert_eq!(place, Place::Cell(3, 3));
        assert_eq!(mistake.to_string(), "a plate current of 12.0 A is outside what a receiving tube can see");
    }
}
