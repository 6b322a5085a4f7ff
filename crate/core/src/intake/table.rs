//! The long table: a row a point.

use std::collections::BTreeMap;

use super::error::{Mistake, Place, clean, excerpt};
use super::headings::{self, Column, Heading};
use super::metadata::Metadata;
use super::units::{self, Dimension};
use crate::sweep::{Points, Section, Tube};

type Failure = (Place, Mistake);

/// Separators between cells that are looked for.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];
/// How many lines may stand before the heading (free text of bench programs;
/// by construction, no source).
const LINES_BEFORE_HEADING: usize = 200;
/// Largest plate or screen voltage read, V: above any receiving tube's (the
/// 845 runs at 1250 V, reference 2.1), with room.
const MOST_VOLTS: f64 = 20_000.0;
/// Largest current read, A: above any receiving tube's, with room. A table in
/// mA whose heading says A lands beyond it.
const MOST_AMPERES: f64 = 5.0;

/// Where the heading is and how its line is taken apart.
struct Layout {
    /// The heading's line, counted from 1.
    line: usize,
    /// Byte at which the heading starts.
    start: usize,
    separator: u8,
    headings: Vec<Heading>,
}

impl Layout {
    fn find(&self, column: Column) -> Option<usize> {
        self.headings.iter().position(|h| h.column == column)
    }
}

pub(super) fn read(file: &str, text: &str) -> Result<Vec<Tube>, Failure> {
    // Line ends of one bare CR are turned into LF, so that places can be counted.
    let unified;
    let text = if text.contains('\r') && !text.contains('\n') {
        unified = text.replace('\r', "\n");
        unified.as_str()
    } else {
        text
    };
    let mut metadata = Metadata::default();
    for (line, _, content) in lines(text) {
        if let Some(comment) = content.trim_start().strip_prefix('#') {
            metadata.take(comment).map_err(|m| (Place::Line(line), m))?;
        }
    }
    let layout = find_heading(text)?;
    let (sections, repeated) = rows(text, &layout)?;
    Ok(assemble(file, metadata, sections, repeated))
}

/// The lines of a text with their numbers and first bytes.
fn lines(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    let mut start = 0;
    text.split_inclusive('\n').enumerate().map(move |(i, line)| {
        let at = start;
        start += line.len();
        (i + 1, at, line.trim_end_matches(['\n', '\r']))
    })
}

fn find_heading(text: &str) -> Result<Layout, Failure> {
    let candidates = lines(text)
        .filter(|(_, _, content)| !content.trim().is_empty() && !content.trim_start().starts_with('#'))
        .take(LINES_BEFORE_HEADING);
    for (line, start, content) in candidates {
        let best = SEPARATORS
            .into_iter()
            .map(|separator| (separator, cells(content, separator)))
            .max_by_key(|(separator, cells)| (known(cells), std::cmp::Reverse(*separator)));
        let Some((separator, cells)) = best else { continue };
        if known(&cells) < 2 {
            continue;
        }
        let mut headings = Vec::with_capacity(cells.len());
        for (i, cell) in cells.iter().enumerate() {
            headings.push(headings::read(cell).map_err(|m| (Place::Cell(line, i + 1), m))?);
        }
        let layout = Layout { line, start, separator, headings };
        check(&layout)?;
        return Ok(layout);
    }
    Err((Place::File, Mistake::NotATable))
}

fn check(layout: &Layout) -> Result<(), Failure> {
    let mut seen: BTreeMap<Column, usize> = BTreeMap::new();
    for (i, heading) in layout.headings.iter().enumerate() {
        if heading.column == Column::Other {
            continue;
        }
        if let Some(first) = seen.insert(heading.column, i + 1) {
            let twice = Mistake::TwiceTheSame { what: heading.column.name(), first, second: i + 1 };
            return Err((Place::Cell(layout.line, i + 1), twice));
        }
    }
    for column in [Column::Va, Column::Vg, Column::Ia] {
        if !seen.contains_key(&column) {
            return Err((Place::Line(layout.line), Mistake::MissingColumn(column.name())));
        }
    }
    Ok(())
}

/// How many of the three columns that make a sweep a line names, in whatever unit.
fn known(cells: &[String]) -> usize {
    let names = |cell: &String| match headings::read(cell) {
        Ok(h) => matches!(h.column, Column::Va | Column::Vg | Column::Ia),
        Err(_) => true,
    };
    cells.iter().filter(|c| names(c)).count()
}

fn reader(text: &str, separator: u8) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .has_headers(false)
        .flexible(true)
        .comment(Some(b'#'))
        .delimiter(separator)
        .trim(csv::Trim::All)
        .from_reader(text.as_bytes())
}

fn cells(line: &str, separator: u8) -> Vec<String> {
    match reader(line, separator).records().next() {
        Some(Ok(record)) => record.iter().map(str::to_owned).collect(),
        _ => Vec::new(),
    }
}

/// Name of the tube's column, of the section's, and the section itself.
type Named = (Option<String>, Option<String>, Points);

fn rows(text: &str, layout: &Layout) -> Result<(Vec<Named>, usize), Failure> {
    let place = |column| layout.find(column);
    let (tube_at, section_at) = (place(Column::Tube), place(Column::Section));
    let columns: Vec<(usize, &Heading)> = layout
        .headings
        .iter()
        .enumerate()
        .filter(|(_, h)| !matches!(h.column, Column::Other | Column::Tube | Column::Section))
        .collect();

    let mut sections: Vec<Named> = Vec::new();
    let mut current = 0;
    let mut reader = reader(&text[layout.start..], layout.separator);
    let mut record = csv::StringRecord::new();
    let mut count = 0;
    loop {
        let more = reader.read_record(&mut record).map_err(|e| (Place::File, Mistake::Csv(e.to_string())))?;
        if !more {
            break;
        }
        let line = layout.line - 1 + record.position().map_or(1, |p| usize::try_from(p.line()).unwrap_or(1));
        if line == layout.line || record.iter().all(str::is_empty) {
            continue;
        }
        ragged(&record, layout, line)?;
        let name = |at: Option<usize>| at.map(|i| record.get(i).unwrap_or_default()).filter(|s| !s.is_empty());
        let (tube, section) = (name(tube_at), name(section_at));
        let same = |s: &Named| s.0.as_deref() == tube && s.1.as_deref() == section;
        if !sections.get(current).is_some_and(same) {
            current = sections.iter().position(same).unwrap_or_else(|| {
                sections.push((tube.map(str::to_owned), section.map(str::to_owned), Points::default()));
                sections.len() - 1
            });
        }
        let points = &mut sections[current].2;
        for (i, heading) in &columns {
            let cell = record.get(*i).unwrap_or_default();
            let value = number(cell, heading, layout.separator).map_err(|m| (Place::Cell(line, i + 1), m))?;
            push(points, heading.column, value);
        }
        count += 1;
    }
    if count == 0 {
        return Err((Place::Line(layout.line), Mistake::HeaderOnly));
    }
    let repeated = sections.iter_mut().map(|(_, _, points)| drop_repeats(points)).sum();
    Ok((sections, repeated))
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
    let parsed = if separator != b',' && cell.contains(',') && !cell.contains('.') {
        cell.replacen(',', ".", 1).parse::<f64>()
    } else {
        // A true minus sign instead of a hyphen comes out of word processors.
        cell.parse::<f64>().or_else(|_| cell.replace('\u{2212}', "-").parse())
    };
    let value = parsed
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
        Column::Time => optional(&mut points.time),
        Column::Repeat => optional(&mut points.repeat),
        Column::Tube | Column::Section | Column::Other => {}
    }
}

/// Drops rows that repeat an earlier row to the last digit in every column: a
/// file pasted twice, not a measurement repeated (that one has noise).
fn drop_repeats(points: &mut Points) -> usize {
    let columns: Vec<&Vec<f64>> = [Some(&points.va), Some(&points.vg), Some(&points.ia)]
        .into_iter()
        .chain([&points.ig, &points.vg2, &points.ig2, &points.ik, &points.time, &points.repeat].map(Option::as_ref))
        .flatten()
        .collect();
    // Zero is one value, whatever its sign.
    let key = |i: usize| -> Vec<u64> { columns.iter().map(|c| (c[i] + 0.0).to_bits()).collect() };
    let mut seen = std::collections::HashSet::new();
    let keep: Vec<bool> = (0..points.len()).map(|i| seen.insert(key(i))).collect();
    let dropped = keep.iter().filter(|k| !**k).count();
    // Two or three equal rows happen on a coarse meter that visits a point
    // twice; a pasted copy repeats a good part of the table.
    if dropped * 10 < points.len().max(10) {
        return 0;
    }
    let filter = |column: &mut Vec<f64>| {
        let mut it = keep.iter();
        column.retain(|_| it.next().copied().unwrap_or(true));
    };
    filter(&mut points.va);
    filter(&mut points.vg);
    filter(&mut points.ia);
    for column in [
        &mut points.ig,
        &mut points.vg2,
        &mut points.ig2,
        &mut points.ik,
        &mut points.vh,
        &mut points.ih,
        &mut points.time,
        &mut points.repeat,
    ] {
        column.as_mut().map(filter);
    }
    dropped
}

fn assemble(file: &str, metadata: Metadata, sections: Vec<Named>, repeated: usize) -> Vec<Tube> {
    let stem = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = stem.rsplit_once('.').map_or(stem, |(stem, _)| stem);
    let mut tubes: Vec<Tube> = Vec::new();
    for (tube, section, points) in sections {
        let name = tube.map(|t| clean(&t)).or_else(|| metadata.tube.clone()).unwrap_or_else(|| clean(stem));
        let section = section.map(|s| clean(&s)).or_else(|| metadata.section.clone()).unwrap_or_else(|| "1".into());
        let section = Section { name: section, points };
        match tubes.iter_mut().find(|t| t.name == name) {
            Some(tube) => tube.sections.push(section),
            None => {
                let mut notes = metadata.notes.clone();
                if repeated > 0 {
                    notes.push(format!("{repeated} rows repeat an earlier row to the last digit and were left out"));
                }
                tubes.push(Tube {
                    name,
                    source: vec![file.to_owned()],
                    kind: metadata.kind.clone(),
                    notes,
                    bench: metadata.bench.clone(),
                    sections: vec![section],
                });
            }
        }
    }
    tubes
}

#[cfg(test)]
mod tests {
    use super::*;

    fn one(text: &str) -> Tube {
        let mut tubes = read("dir/b-4.csv", text).unwrap();
        assert_eq!(tubes.len(), 1);
        tubes.remove(0)
    }

    #[test]
    fn a_long_table_with_metadata_becomes_a_tube() {
        let tube =
            one("# tube: 17\n# type: 12AX7\n# grid_source_resistance: 1 kohm\nsection,Va [V],Vg [V],Ia [mA],Ig [uA]\n\
             1,100,-1,0.5,-0.01\n1,100,-0.5,0.9,\n2,100,-1,0.4,0\n");
        assert_eq!((tube.name.as_str(), tube.kind.as_deref()), ("17", Some("12AX7")));
        assert_eq!(tube.bench.rs(), 1000.0);
        assert_eq!(tube.sections.len(), 2);
        let points = &tube.sections[0].points;
        assert_eq!(points.ia, [0.5e-3, 0.9e-3]);
        assert_eq!(points.ig_at(0), Some(-0.01e-6));
        assert_eq!(points.ig_at(1), None);
    }

    #[test]
    fn the_file_names_the_tube_where_nothing_else_does() {
        assert_eq!(one("Va,Vg,Ia [mA]\n100,-1,0.5\n").name, "b-4");
    }

    #[test]
    fn semicolons_decimal_commas_cr_line_ends_and_free_lines_before_the_heading() {
        let tube = one("measured by the window\rEb [V];Ec [V];Ib [mA]\r100,5;-1,25;0,5\r200;-1,25;1,5\r");
        assert_eq!(tube.sections[0].points.va, [100.5, 200.0]);
        assert_eq!(tube.sections[0].points.vg, [-1.25, -1.25]);
        assert_eq!(tube.sections[0].points.ia, [0.5e-3, 1.5e-3]);
    }

    #[test]
    fn places_are_counted_from_one_and_include_the_lines_above() {
        let (place, mistake) = read("x", "# tube: 1\n\nVa,Vg,Ia [mA]\n100,-1,0.5\n100,abc,0.5\n").unwrap_err();
        assert_eq!(place, Place::Cell(5, 2));
        assert!(matches!(mistake, Mistake::NotANumber { .. }));
        let (place, mistake) = read("x", "Va,Vg,Ia [mA]\n100,-1\n").unwrap_err();
        assert_eq!(place, Place::Line(2));
        assert!(matches!(mistake, Mistake::Ragged { found: 2, expected: 3 }));
    }

    #[test]
    fn a_table_pasted_twice_counts_once() {
        let body = "100,-3,0.1\n100,-2,0.2\n100,-1,0.4\n";
        let tube = one(&format!("Va,Vg,Ia [mA]\n{body}{body}"));
        assert_eq!(tube.sections[0].points.len(), 3);
        assert!(tube.notes[0].starts_with("3 rows"));
    }
}
