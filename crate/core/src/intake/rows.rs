//! The rows of a table: each cell a number in SI, or a refusal with its place.
//!
//! Rows of plain numbers go the quick way ([`Quick`]), straight from bytes to
//! columns; a row with anything else in it is taken apart cell by cell, which
//! also says what is wrong and where.

use std::borrow::Cow;
use std::collections::HashMap;

use super::error::{Mistake, Place};
use super::heading::{Column, Heading};
use super::layout::{Failure, Layout};
use super::limits::MOST_POINTS;
use super::number::{self, Mark};
use super::plan::{Emitter, Plan, Role, Source};
use super::quick::Quick;
use super::repeats;
use super::scan::Scan;
use super::shown::excerpt;
use super::units;
use crate::sweep::Points;

/// The rows of one section, and what their cells call it.
pub(super) struct Named {
    /// The cell in the tube's column.
    pub(super) tube: Option<String>,
    /// The cell in the section's column, or the section that the heading names.
    pub(super) section: Option<String>,
    /// The points.
    pub(super) points: Points,
    /// How many rows were left out because they repeat another.
    pub(super) repeated: usize,
}

/// What tells one section of the rows from another: cells for tube and section,
/// and which of the points of a row.
type Key = (Option<String>, Option<String>, usize);

/// The sections of the table, in the order of their first rows.
pub(super) fn read(text: &str, layout: &Layout, plan: &Plan, mark: Mark) -> Result<Vec<Named>, Failure> {
    let mut sink = Sink::new(plan, layout.start);
    let mut scan = Scan::new(text, layout.start, layout.first_line);
    let mut quick = Quick::new(text, &plan.roles, layout.separator, mark);
    let mut values = vec![f64::NAN; plan.roles.len()];
    let mut cells: Vec<Cow<str>> = Vec::with_capacity(plan.roles.len());
    loop {
        // The quick way for as long as it goes.
        while let Some(names) = quick.row(&mut scan, &mut values) {
            sink.take(names.tube, names.section, &values, &scan, scan.line)?;
        }
        let Some(line) = scan.row(layout.separator, &mut cells)? else { break };
        // The heading itself also heads each copy in a file pasted together.
        if cells.iter().eq(layout.headings.iter().map(|h| h.text.as_str())) {
            continue;
        }
        // A comment that a spreadsheet put into a cell.
        if cells[0].starts_with('#') && cells[1..].iter().all(|c| c.is_empty()) {
            continue;
        }
        ragged(&cells, layout, line)?;
        let mut names = [None, None];
        for (i, ((role, heading), value)) in plan.roles.iter().zip(&layout.headings).zip(&mut values).enumerate() {
            let cell: &str = cells.get(i).map_or("", |c| c.as_ref());
            match role {
                Role::Number { .. } => {
                    let required = !plan.gaps || matches!(heading.column, Column::Va | Column::Vg);
                    *value = number(cell, role, heading, required, mark).map_err(|m| (Place::Cell(line, i + 1), m))?;
                }
                Role::Tube => names[0] = Some(cell),
                Role::Section => names[1] = Some(cell),
                Role::Skip => {}
            }
        }
        let [tube, section] = names.map(|n| n.filter(|n| !n.is_empty()));
        sink.take(tube, section, &values, &scan, line)?;
    }
    let mut sections = sink.sections();
    if sections.is_empty() {
        return Err((Place::Line(layout.line), Mistake::HeaderOnly));
    }
    for section in &mut sections {
        section.repeated = repeats::drop_repeats(&mut section.points);
        // A column of another section only.
        for column in section.points.optional_columns() {
            column.take_if(|c| c.iter().all(|v| v.is_nan()));
        }
    }
    Ok(sections)
}

fn ragged(cells: &[Cow<str>], layout: &Layout, line: usize) -> Result<(), Failure> {
    let expected = layout.headings.len();
    let extra_is_blank = cells.iter().skip(expected).all(|c| c.is_empty());
    if cells.len() < expected || !extra_is_blank {
        return Err((Place::Line(line), Mistake::Ragged { found: cells.len(), expected }));
    }
    Ok(())
}

/// A cell in SI; NaN for an empty one that may be.
fn number(cell: &str, role: &Role, heading: &Heading, required: bool, mark: Mark) -> Result<f64, Mistake> {
    let Role::Number { column, factor, most } = *role else { return Ok(f64::NAN) };
    let what = column.name();
    if cell.is_empty() {
        return if required && column.makes_a_sweep() { Err(Mistake::EmptyCell { what }) } else { Ok(f64::NAN) };
    }
    let value = number::parse(cell, mark)
        .map(|v| units::to_si(v, factor))
        .or_else(|| with_unit(cell, column, mark))
        .ok_or_else(|| Mistake::NotANumber { text: excerpt(cell), heading: excerpt(&heading.text) })?;
    if !value.is_finite() {
        return Err(Mistake::NotFinite { text: excerpt(cell), heading: excerpt(&heading.text) });
    }
    if value.abs() > most {
        let unit = if column.dimension() == units::Dimension::Voltage { "V" } else { "A" };
        return Err(Mistake::OutOfRange { what, value, unit });
    }
    Ok(value)
}

/// A cell with a unit of its own, as in `0.5 mA`; SI.
fn with_unit(cell: &str, column: Column, mark: Mark) -> Option<f64> {
    let end = cell.rfind(|c: char| c.is_ascii_digit())? + 1;
    let factor = units::factor(cell[end..].trim(), column.dimension()).filter(|_| !cell[end..].trim().is_empty())?;
    number::parse(cell[..end].trim(), mark).map(|v| units::to_si(v, factor))
}

/// Where points go.
struct Sink<'a> {
    plan: &'a Plan,
    known: HashMap<Key, usize>,
    sections: Vec<(Key, Gathered)>,
    /// The sections of the last row, by the points of a row.
    last: Vec<Option<usize>>,
    points: usize,
    /// Where the rows start, byte, and how many there were.
    start: usize,
    rows: usize,
}

/// The points of one section as they come.
struct Gathered {
    va: Vec<f64>,
    vg: Vec<f64>,
    ia: Vec<f64>,
    /// In the order of the emitter's.
    others: Vec<Vec<f64>>,
}

impl Gathered {
    fn new(others: usize, room: usize) -> Self {
        let column = || Vec::with_capacity(room);
        Self { va: column(), vg: column(), ia: column(), others: (0..others).map(|_| column()).collect() }
    }

    fn points(self, emitter: &Emitter) -> Points {
        let mut points = Points { va: self.va, vg: self.vg, ia: self.ia, ..Points::default() };
        for ((column, _), values) in emitter.others.iter().zip(self.others) {
            put(&mut points, *column, values);
        }
        points
    }
}

impl<'a> Sink<'a> {
    fn new(plan: &'a Plan, start: usize) -> Self {
        let last = vec![None; plan.emitters.len()];
        Self { plan, known: HashMap::new(), sections: Vec::new(), last, points: 0, start, rows: 0 }
    }

    /// Takes in the points of one row, which `scan` has just passed.
    #[inline]
    fn take(
        &mut self,
        tube: Option<&str>,
        section: Option<&str>,
        values: &[f64],
        scan: &Scan,
        line: usize,
    ) -> Result<(), Failure> {
        self.rows += 1;
        for (i, emitter) in self.plan.emitters.iter().enumerate() {
            let value = |source: Source| match source {
                Source::Cell(at) => values.get(at).copied().unwrap_or(f64::NAN),
                Source::Fixed(value) => value,
            };
            let (va, vg, ia) = (value(emitter.va), value(emitter.vg), value(emitter.ia));
            // A missing corner of a wide table, or the shorter of two sections.
            if ia.is_nan() {
                continue;
            }
            if va.is_nan() || vg.is_nan() {
                let column = if va.is_nan() { Column::Va } else { Column::Vg };
                return Err((Place::Line(line), Mistake::EmptyCell { what: column.name() }));
            }
            self.points += 1;
            if self.points > MOST_POINTS {
                return Err((Place::File, Mistake::ManyPoints));
            }
            let at = self.section(i, emitter, tube, section, scan);
            let gathered = &mut self.sections[at].1;
            gathered.va.push(va);
            gathered.vg.push(vg);
            gathered.ia.push(ia);
            for ((_, source), column) in emitter.others.iter().zip(&mut gathered.others) {
                column.push(value(*source));
            }
        }
        Ok(())
    }

    #[inline]
    fn section(
        &mut self,
        i: usize,
        emitter: &Emitter,
        tube: Option<&str>,
        section: Option<&str>,
        scan: &Scan,
    ) -> usize {
        let section = emitter.section.as_deref().or(section);
        if let Some(at) = self.last[i] {
            let key = &self.sections[at].0;
            if key.0.as_deref() == tube && key.1.as_deref() == section {
                return at;
            }
        }
        let key: Key = (tube.map(str::to_owned), section.map(str::to_owned), i);
        let room = self.room(scan);
        let at = *self.known.entry(key).or_insert_with_key(|key| {
            self.sections.push((key.clone(), Gathered::new(emitter.others.len(), room)));
            self.sections.len() - 1
        });
        self.last[i] = Some(at);
        at
    }

    /// Points to make room for in a new section: what is left of the text, in rows as
    /// long as those so far, shared with as many sections as there are by now.
    fn room(&self, scan: &Scan) -> usize {
        let row = scan.at.saturating_sub(self.start).max(1) as f64 / self.rows.max(1) as f64;
        let sections = self.sections.len() / self.last.len().max(1) + 1;
        ((scan.left() as f64 / row) as usize / sections + 1).min(MOST_POINTS)
    }

    /// The sections, curves that stood beside each other one after the other.
    fn sections(self) -> Vec<Named> {
        let mut out: Vec<Named> = Vec::new();
        let mut known: HashMap<(Option<String>, Option<String>), usize> = HashMap::new();
        let mut all = self.sections;
        if all.len() > 1 && self.plan.wide {
            // In the order of the columns; tubes and sections keep their own.
            all.sort_by_key(|(key, _)| key.2);
        }
        for ((tube, section, i), gathered) in all {
            let points = gathered.points(&self.plan.emitters[i]);
            match known.entry((tube.clone(), section.clone())) {
                std::collections::hash_map::Entry::Occupied(at) => {
                    if let Some(named) = out.get_mut(*at.get()) {
                        named.points.append(points);
                    }
                }
                std::collections::hash_map::Entry::Vacant(at) => {
                    at.insert(out.len());
                    out.push(Named { tube, section, points, repeated: 0 });
                }
            }
        }
        out
    }
}

fn put(points: &mut Points, column: Column, values: Vec<f64>) {
    let slot = match column {
        Column::Ig => &mut points.ig,
        Column::Vg2 => &mut points.vg2,
        Column::Ig2 => &mut points.ig2,
        Column::Ik => &mut points.ik,
        Column::Vh => &mut points.vh,
        Column::Ih => &mut points.ih,
        Column::Vhk => &mut points.vhk,
        Column::Ihk => &mut points.ihk,
        Column::Time => &mut points.time,
        Column::Repeat => &mut points.repeat,
        Column::Va | Column::Vg | Column::Ia | Column::Tube | Column::Section | Column::Other => return,
    };
    *slot = Some(values);
}

#[cfg(test)]
mod tests {
    use super::super::table;
    use super::super::{Reading, Stop};
    use super::*;

    fn refused(text: &str) -> Failure {
        match table::read("x", text, &Reading::default(), false).err() {
            Some(Stop::Refused(place, mistake)) => (place, mistake),
            other => panic!("{other:?}"),
        }
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
        let tubes =
            table::read("x", "Va,Vg,Ia [mA]\n100,-1,0.5\n# the end", &Reading::default(), false).ok().unwrap().tubes;
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
        let tubes =
            table::read("x", "Va;Vg;Ia [mA]\n100;\u{2212}1,25;0,5\n", &Reading::default(), false).ok().unwrap().tubes;
        assert_eq!(tubes[0].sections[0].points.vg, [-1.25]);
    }

    #[test]
    fn milliamperes_under_a_heading_in_amperes_are_refused() {
        let (place, mistake) = refused("Va,Vg,Ia [A]\n100,-1,0.5\n100,0,12\n");
        assert_eq!(place, Place::Cell(3, 3));
        assert_eq!(mistake.to_string(), "a plate current of 12.0 A is outside what a receiving tube can see");
    }
}
