//! The rows of a table: each cell a number in SI, or a refusal with its place.
//!
//! Rows of plain numbers go the quick way (`sweepbook-rows`), straight from bytes to
//! columns; a row with anything else in it is taken apart cell by cell, which
//! also says what is wrong and where.

use std::borrow::Cow;

use sweepbook_rows::{Cell, Rows, Scale};

use super::error::{Mistake, Place};
use super::heading::{Column, Heading};
use super::layout::{Failure, Layout};
use super::number::{self, Mark};
use super::plan::{Plan, Role};
use super::repeats;
use super::scan::Scan;
use super::shares;
use super::shown::excerpt;
use super::sink::{Named, Sink};
use super::survey::Surveyed;
use super::units;

/// The sections of the table, in the order of their first rows.
///
/// The rows are shared out among the processor's cores. What is wrong in one is found
/// again from the start, where its line is known.
pub(super) fn read(surveyed: &Surveyed, layout: &Layout, plan: &Plan, mark: Mark) -> Result<Vec<Named>, Failure> {
    let text = surveyed.text;
    let shares = shares::cut(surveyed, layout.start);
    let apart = shares::each(&shares, |share| points(&text[..share.end], share.start, layout, plan, mark));
    let sink = match Sink::joined(apart) {
        Err(_) if shares.len() > 1 => points(text, layout.start, layout, plan, mark)?,
        joined => joined?,
    };
    let mut sections = sink.sections();
    if sections.is_empty() {
        return Err((Place::Line(layout.line), Mistake::HeaderOnly));
    }
    shares::each_mut(&mut sections, |section| {
        section.repeated = repeats::drop_repeats(&mut section.points);
        // A column of another section only.
        for column in section.points.optional_columns() {
            column.take_if(|c| c.iter().all(|v| v.is_nan()));
        }
    });
    Ok(sections)
}

/// The points of the rows from byte `start` to the end; lines are counted as if they
/// were the table's first.
fn points<'a>(text: &str, start: usize, layout: &Layout, plan: &'a Plan, mark: Mark) -> Result<Sink<'a>, Failure> {
    let mut sink = Sink::new(plan, start);
    let mut scan = Scan::new(text, start, layout.first_line);
    let cell = |role: &Role| match *role {
        // As `units::to_si` scales it.
        Role::Number { factor, most, .. } if factor < 1.0 => Cell::Number(Scale::Divide((1.0 / factor).round()), most),
        Role::Number { factor: 1.0, most, .. } => Cell::Number(Scale::Same, most),
        Role::Number { factor, most, .. } => Cell::Number(Scale::Multiply(factor), most),
        Role::Tube => Cell::Tube,
        Role::Section => Cell::Section,
        Role::Skip => Cell::Skip,
    };
    let mut plain = Rows::new(text, plan.roles.iter().map(cell).collect(), layout.separator.byte(), mark.byte());
    let mut values = vec![f64::NAN; plan.roles.len()];
    let mut cells: Vec<Cow<str>> = Vec::with_capacity(plan.roles.len());
    loop {
        // The quick way for as long as it goes.
        loop {
            let run = plain.run(scan.at);
            if run.rows == 0 {
                break;
            }
            scan.step(run.end, run.rows);
            sink.take_run(run, |cell| plain.column(cell, run.rows), &scan)?;
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
    Ok(sink)
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

#[cfg(test)]
mod tests {
    use super::super::table;
    use super::super::{Reading, Stop};
    use super::*;

    fn refused(text: &str) -> Failure {
        match table::read("x", &Surveyed::of(text), &Reading::default(), false).err() {
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
        let tubes = table::read("x", &Surveyed::of("Va,Vg,Ia [mA]\n100,-1,0.5\n# the end"), &Reading::default(), false)
            .ok()
            .unwrap()
            .tubes;
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
            table::read("x", &Surveyed::of("Va;Vg;Ia [mA]\n100;\u{2212}1,25;0,5\n"), &Reading::default(), false)
                .ok()
                .unwrap()
                .tubes;
        assert_eq!(tubes[0].sections[0].points.vg, [-1.25]);
    }

    #[test]
    fn milliamperes_under_a_heading_in_amperes_are_refused() {
        let (place, mistake) = refused("Va,Vg,Ia [A]\n100,-1,0.5\n100,0,12\n");
        assert_eq!(place, Place::Cell(3, 3));
        assert_eq!(mistake.to_string(), "a plate current of 12.0 A is outside what a receiving tube can see");
    }
}
