//! A table: finds its heading, and puts what its rows hold together to tubes.

use std::collections::HashMap;

use super::Reading;
use super::error::{Mistake, Place};
use super::heading::Column;
use super::layout::{self, Layout};
use super::limits::LONGEST_HEADING;
use super::magnitude;
use super::metadata::Metadata;
use super::number::Mark;
use super::plan::{self, Plan};
use super::rows;
use super::scan;
use super::sense;
use super::shown::clean;
use super::sink::Named;
use super::survey::Surveyed;
use super::way::{Stop, Way};
use crate::handbook;
use crate::sweep::{Section, Tube};

/// Fewest points from which a section can show anything: two draw a line that
/// nothing can contradict (by construction, no source).
const FEWEST_POINTS: usize = 3;

/// Fewest separators in a row that are those of empty cells, and no end of a remark: a
/// table has at least three columns.
const FEWEST_EMPTY: usize = 2;

/// A table that was read, and how.
pub(super) struct Table {
    pub(super) tubes: Vec<Tube>,
    pub(super) layout: Layout,
    pub(super) plan: Plan,
    pub(super) mark: Mark,
    pub(super) assumed: Vec<String>,
    /// Whether the currents are what the type can give.
    pub(super) possible: bool,
}

/// Reads a table the way that `reading` says; open points are settled by their
/// first option if `bold`, else asked about.
pub(super) fn read(file: &str, surveyed: &Surveyed, reading: &Reading, bold: bool) -> Result<Table, Stop> {
    let text = surveyed.text;
    let mut metadata = metadata(surveyed)?;
    let mut way = Way { reading, kind: metadata.kind.as_deref().and_then(handbook::find), bold, assumed: Vec::new() };
    let mut layout = layout::find(text, &way)?;
    metadata.free_lines(text, layout.line);
    if way.kind.is_none() {
        way.kind = metadata.kind.as_deref().and_then(handbook::find);
    }
    metadata.apply(reading);
    let plan = plan::plan(&mut layout, &metadata, &mut way)?;
    let mark = sense::mark(surveyed, &layout, &plan, &mut way)?;
    let mut sections = rows::read(surveyed, &layout, &plan, mark)?;
    sense::signs(&mut sections, &mut way)?;
    let stated = layout.headings.iter().any(|h| h.unit.is_some() && (h.column == Column::Ia || h.held.is_some()));
    magnitude::ask(&sections, &plan, stated, &mut way)?;
    let possible = way.reading.get(magnitude::OPTION).is_some() || sense::possible(&sections, &way);
    let tubes = assemble(file, metadata, sections);
    Ok(Table { tubes, layout, plan, mark, assumed: way.assumed, possible })
}

/// A comment without the marks of the empty cells that a spreadsheet put behind it.
fn comment(line: &str, quoted: bool) -> &str {
    let bare = line.trim_end().trim_end_matches([',', ';', '\t']);
    let bare = if line.trim_end().len() >= bare.len() + FEWEST_EMPTY { bare } else { line };
    if quoted { bare.trim_end().trim_end_matches('"') } else { bare }
}

/// A line of comment.
pub(super) struct Comment<'a> {
    /// Byte at which its line starts, and the one after its last.
    pub(super) start: usize,
    pub(super) end: usize,
    /// What it says, without its mark.
    pub(super) text: &'a str,
}

/// The lines of comment.
pub(super) fn comments<'a>(surveyed: &Surveyed<'a>) -> impl Iterator<Item = Comment<'a>> {
    let (text, commented) = (surveyed.text, surveyed.commented());
    // Where the line starts that was not looked at yet.
    let mut from = 0;
    std::iter::from_fn(move || {
        loop {
            let at = from + memchr::memchr(b'#', commented.as_bytes().get(from..)?)?;
            let start = memchr::memrchr2(b'\n', b'\r', &text.as_bytes()[from..at]).map_or(from, |i| from + i + 1);
            let end = memchr::memchr2(b'\n', b'\r', &text.as_bytes()[at..]).map_or(text.len(), |i| at + i);
            from = end;
            // A spreadsheet may have put quotation marks around it.
            let before = text[start..at].trim();
            if before.is_empty() || before == "\"" {
                // What is longer than any heading says nothing more.
                let most = end.min(at + 1 + LONGEST_HEADING);
                let read = (at + 1..=most).rev().find(|&i| text.is_char_boundary(i)).unwrap_or(end);
                return Some(Comment { start, end, text: comment(&text[at + 1..read], !before.is_empty()) });
            }
        }
    })
}

/// What the comment lines say.
fn metadata(surveyed: &Surveyed) -> Result<Metadata, (Place, Mistake)> {
    let mut metadata = Metadata::default();
    for comment in comments(surveyed) {
        metadata.take(comment.text).map_err(|m| (Place::Line(scan::line_of(surveyed.text, comment.start)), m))?;
    }
    Ok(metadata)
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
        for remark in remarks(&section, points.len(), repeated) {
            // A file that was written from a sweep holds it already.
            if !tube.notes.contains(&remark) {
                tube.notes.push(remark);
            }
        }
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
        let mut tubes = read("dir/b-4.csv", &Surveyed::of(text), &Reading::default(), false).ok().unwrap().tubes;
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
        let text = format!("tube,Va,Vg,Ia [mA]\n{rows}");
        let tubes = read("x", &Surveyed::of(&text), &Reading::default(), false).ok().unwrap().tubes;
        assert_eq!(tubes.len(), 50_000);
        assert_eq!(tubes[49_999].name, "t49999");
    }

    #[test]
    fn a_line_too_long_for_a_heading_is_not_taken_apart() {
        let text = format!("Va,Vg,Ia [mA],{}\n1,2,3\n", ",".repeat(LONGEST_HEADING));
        assert_eq!(
            read("x", &Surveyed::of(&text), &Reading::default(), false).err().unwrap(),
            Stop::Refused(Place::File, Mistake::NotATable)
        );
    }
}
