//! The long table: finds its heading, and puts what its rows hold together to tubes.

use std::borrow::Cow;
use std::collections::{BTreeMap, HashMap};

use super::error::{Mistake, Place};
use super::headings::{self, Column, Heading};
use super::metadata::Metadata;
use super::rows::{self, Named};
use super::shown::clean;
use crate::handbook::{self, SectionKind};
use crate::sweep::{Section, Tube};

/// A place and what is wrong there.
pub(super) type Failure = (Place, Mistake);

/// Separators between cells that are looked for.
const SEPARATORS: [u8; 3] = [b',', b';', b'\t'];
/// How many lines may stand before the heading (free text of bench programs;
/// by construction, no source).
const LINES_BEFORE_HEADING: usize = 200;
/// Longest line that can be a heading, bytes: a hundred times the longest
/// sensible one (by construction, no source). Spares taking a file without
/// line ends apart cell by cell.
const LONGEST_HEADING: usize = 16 * 1024;
/// Fewest points from which a section can show anything: two draw a line that
/// nothing can contradict (by construction, no source).
const FEWEST_POINTS: usize = 3;

/// Where the heading is and how its line is taken apart.
pub(super) struct Layout {
    /// The heading's line, counted from 1.
    pub(super) line: usize,
    /// Byte at which the heading starts.
    pub(super) start: usize,
    pub(super) separator: u8,
    pub(super) headings: Vec<Heading>,
}

impl Layout {
    pub(super) fn find(&self, column: Column) -> Option<usize> {
        self.headings.iter().position(|h| h.column == column)
    }
}

pub(super) fn read(file: &str, text: &str) -> Result<Vec<Tube>, Failure> {
    let text = &line_feeds(text);
    let mut metadata = Metadata::default();
    for (line, _, content) in lines(text) {
        if let Some(comment) = content.trim_start().strip_prefix('#') {
            metadata.take(comment).map_err(|m| (Place::Line(line), m))?;
        }
    }
    let layout = find_heading(text, is_diode(&metadata))?;
    let sections = rows::read(text, &layout)?;
    Ok(assemble(file, metadata, sections))
}

/// The text with each line ended by one LF, the last one too: the csv reader
/// miscounts lines that end in CR LF and stumbles over a comment that ends
/// without any (BurntSushi/rust-csv issues 395 and 363).
fn line_feeds(text: &str) -> Cow<'_, str> {
    let mut text = Cow::Borrowed(text);
    if text.contains('\r') {
        text = text.replace("\r\n", "\n").replace('\r', "\n").into();
    }
    if !text.ends_with('\n') {
        text.to_mut().push('\n');
    }
    text
}

/// The lines of a text with their numbers and first bytes.
fn lines(text: &str) -> impl Iterator<Item = (usize, usize, &str)> {
    let mut start = 0;
    text.split_inclusive('\n').enumerate().map(move |(i, line)| {
        let at = start;
        start += line.len();
        (i + 1, at, line.trim_end_matches('\n'))
    })
}

/// Whether the type in the metadata is a diode or rectifier: it has no grid.
fn is_diode(metadata: &Metadata) -> bool {
    let entry = metadata.kind.as_deref().and_then(handbook::find).and_then(|k| k.section(0));
    entry.is_some_and(|e| matches!(e.kind, SectionKind::Diode | SectionKind::Rectifier))
}

fn find_heading(text: &str, diode: bool) -> Result<Layout, Failure> {
    let candidates = lines(text)
        .filter(|(_, _, content)| content.len() <= LONGEST_HEADING)
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
        check(&layout, diode)?;
        return Ok(layout);
    }
    Err((Place::File, Mistake::NotATable))
}

fn check(layout: &Layout, diode: bool) -> Result<(), Failure> {
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
        let needless = diode && column == Column::Vg;
        if !needless && !seen.contains_key(&column) {
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

pub(super) fn reader(text: &str, separator: u8) -> csv::Reader<&[u8]> {
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

fn assemble(file: &str, metadata: Metadata, sections: Vec<Named>) -> Vec<Tube> {
    let stem = file.rsplit(['/', '\\']).next().unwrap_or(file);
    let stem = stem.rsplit_once('.').map_or(stem, |(stem, _)| stem);
    let mut tubes: Vec<Tube> = Vec::new();
    let mut known: HashMap<String, usize> = HashMap::new();
    for Named { tube, section, points, repeated } in sections {
        let name = tube.map(|t| clean(&t)).or_else(|| metadata.tube.clone()).unwrap_or_else(|| clean(stem));
        let section = section.map(|s| clean(&s)).or_else(|| metadata.section.clone()).unwrap_or_else(|| "1".into());
        let at = *known.entry(name).or_insert_with_key(|name| {
            tubes.push(Tube {
                name: name.clone(),
                source: vec![file.to_owned()],
                kind: metadata.kind.clone(),
                notes: metadata.notes.clone(),
                bench: metadata.bench.clone(),
                sections: Vec::new(),
            });
            tubes.len() - 1
        });
        let tube = &mut tubes[at];
        tube.notes.extend(remarks(&section, points.len(), repeated));
        tube.sections.push(Section { name: section, points });
    }
    tubes
}

/// What intake has to say about a section that it could read.
fn remarks(section: &str, points: usize, repeated: usize) -> Vec<String> {
    let count = |n: usize, one: &str, many: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {many}") };
    let mut remarks = Vec::new();
    if repeated > 0 {
        let rows = count(repeated, "row that repeats", "rows that repeat");
        remarks.push(format!("section {section}: left out {rows} an earlier row to the last digit"));
    }
    if points < FEWEST_POINTS {
        let points = count(points, "point", "points");
        remarks.push(format!("section {section} has only {points}; a sweep needs whole curves"));
    }
    remarks
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
    fn a_table_pasted_twice_counts_once() {
        let body = "100,-3,0.1\n100,-2,0.2\n100,-1,0.4\n";
        let tube = one(&format!("Va,Vg,Ia [mA]\n{body}{body}"));
        assert_eq!(tube.sections[0].points.len(), 3);
        assert_eq!(tube.notes, ["section 1: left out 3 rows that repeat an earlier row to the last digit"]);
    }

    #[test]
    fn a_repeated_heading_belongs_to_the_pasted_copy() {
        let copy = "Va,Vg,Ia [mA]\n100,-3,0.1\n100,-2,0.2\n100,-1,0.4\n";
        assert_eq!(one(&format!("{copy}{copy}")).sections[0].points.len(), 3);
    }

    #[test]
    fn a_single_point_is_read_and_remarked_on() {
        let tube = one("Va,Vg,Ia [mA]\n100,-1,0.5\n");
        assert_eq!(tube.sections[0].points.len(), 1);
        assert_eq!(tube.notes, ["section 1 has only 1 point; a sweep needs whole curves"]);
    }

    #[test]
    fn many_tubes_in_one_file_are_told_apart_in_one_pass() {
        let rows: String = (0..50_000).map(|i| format!("t{i},100,-1,0.5\n")).collect();
        let tubes = read("x", &format!("tube,Va,Vg,Ia [mA]\n{rows}")).unwrap();
        assert_eq!(tubes.len(), 50_000);
        assert_eq!(tubes[49_999].name, "t49999");
    }

    #[test]
    fn a_line_too_long_for_a_heading_is_not_taken_apart() {
        let text = format!("Va,Vg,Ia [mA],{}\n1,2,3\n", ",".repeat(LONGEST_HEADING));
        assert_eq!(read("x", &text).unwrap_err(), (Place::File, Mistake::NotATable));
    }
}
