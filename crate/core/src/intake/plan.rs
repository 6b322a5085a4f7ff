//! From headings to what each cell of a row is for.

use std::collections::BTreeMap;

use super::error::{Mistake, Place};
use super::heading::{Column, Heading};
use super::layout::{Failure, Layout};
use super::limits::{MOST_AMPERES, MOST_VOLTS};
use super::magnitude;
use super::metadata::Metadata;
use super::question::Ask;
use super::shown::excerpt;
use super::units::Dimension;
use super::way::{Stop, Way};

/// Where a value of a point comes from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Source {
    /// The cell of this number in the row, from 0.
    Cell(usize),
    /// The same for all points, SI.
    Fixed(f64),
}

/// One point that each row gives.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Emitter {
    pub(super) section: Option<String>,
    pub(super) va: Source,
    pub(super) vg: Source,
    pub(super) ia: Source,
    pub(super) others: Vec<(Column, Source)>,
}

/// What a cell is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Role {
    Number {
        column: Column,
        /// Factor to SI.
        factor: f64,
        /// Largest magnitude, SI.
        most: f64,
    },
    Tube,
    Section,
    Skip,
}

/// How rows become points.
#[derive(Debug, Clone)]
pub(super) struct Plan {
    pub(super) roles: Vec<Role>,
    pub(super) emitters: Vec<Emitter>,
    /// Whether a row may lack a current, as wide tables and sections beside each other do.
    pub(super) gaps: bool,
    /// Whether curves stand beside each other.
    pub(super) wide: bool,
}

/// Plans how to read the rows.
///
/// # Errors
/// Something is missing, there twice, or to be asked for.
pub(super) fn plan(layout: &mut Layout, metadata: &Metadata, way: &mut Way) -> Result<Plan, Stop> {
    second_grid(layout, way)?;
    let repeats = blocks(layout, way)?;
    let curves = layout.headings.iter().any(|h| h.held.is_some()) && !has_all(&layout.headings);
    if curves {
        name_curves(layout, way)?;
    }
    twice(layout)?;
    let mut emitters = Vec::new();
    for (i, heading) in layout.headings.iter().enumerate() {
        if heading.column == Column::Ia && (heading.held.is_some() || !curves) {
            emitters.push(emitter(layout, i, metadata, way)?);
        }
    }
    if emitters.is_empty() {
        return Err(missing(layout, Column::Ia).into());
    }
    if repeats {
        for (i, emitter) in emitters.iter_mut().enumerate() {
            emitter.section = None;
            emitter.others.push((Column::Repeat, Source::Fixed(i as f64 + 1.0)));
        }
    }
    let roles = roles(layout, &emitters, way)?;
    Ok(Plan { roles, gaps: emitters.len() > 1, wide: curves, emitters })
}

fn has_all(headings: &[Heading]) -> bool {
    let has = |c| headings.iter().any(|h| h.column == c && h.held.is_none());
    has(Column::Va) && has(Column::Vg) && has(Column::Ia)
}

fn missing(layout: &Layout, column: Column) -> Failure {
    (Place::Line(layout.line), Mistake::MissingColumn(column.name()))
}

/// `Vg1` and `Vg2` beside `Ia1` and `Ia2`: grids of two sections, or grid and screen?
fn second_grid(layout: &mut Layout, way: &mut Way) -> Result<(), Stop> {
    let plate =
        |label: &str| layout.headings.iter().any(|h| h.column == Column::Ia && h.section.as_deref() == Some(label));
    let at = layout.headings.iter().position(|h| h.column == Column::Vg2 && h.section.is_none() && h.held.is_none());
    let grids: Vec<_> = layout.headings.iter().filter(|h| h.column == Column::Vg).collect();
    let Some(at) = at.filter(|_| plate("1") && plate("2") && grids.len() == 1 && grids[0].section.is_none()) else {
        return Ok(());
    };
    let symbol = layout.headings[at].text.to_lowercase();
    if !symbol.contains('2') {
        return Ok(());
    }
    let section = ("vg2=section".to_owned(), "it is the grid voltage of section 2".to_owned());
    let screen = ("vg2=screen".to_owned(), "it is the screen voltage of both sections".to_owned());
    let option = match way.has_screen().filter(|_| way.reading.get("vg2").is_none()) {
        Some(true) => screen.0,
        Some(false) => section.0,
        None => way.settle(Ask {
            place: Place::Cell(layout.line, at + 1),
            what: format!(
                "the heading \"{}\" beside two plate currents may be the grid of section 2 or a screen",
                excerpt(&layout.headings[at].text)
            ),
            options: vec![section, screen],
        })?,
    };
    if option == "vg2=section" {
        for heading in &mut layout.headings {
            let (column, label) = match heading.column {
                Column::Vg => (Column::Vg, "1"),
                Column::Vg2 => (Column::Vg, "2"),
                Column::Ig => (Column::Ig, "1"),
                Column::Ig2 => (Column::Ig, "2"),
                _ => continue,
            };
            heading.column = column;
            heading.section = Some(label.to_owned());
        }
        way.assume("Vg1 and Vg2 are the grids of sections 1 and 2".into());
    }
    Ok(())
}

/// Whole tables beside each other under the same headings; true where they are
/// repeats of one section.
fn blocks(layout: &mut Layout, way: &mut Way) -> Result<bool, Stop> {
    let plain = |h: &&Heading| h.held.is_none() && h.section.is_none() && h.column != Column::Other;
    let mut counts = Counts::default();
    for heading in layout.headings.iter().filter(plain) {
        counts.add(heading.column);
    }
    let beside = counts.of(Column::Ia);
    let voltages = [Column::Va, Column::Vg].into_iter().filter(|c| counts.of(*c) == beside).count();
    if beside < 2 || voltages == 0 || counts.0.iter().any(|(_, n)| *n != 1 && *n != beside) {
        return Ok(false);
    }
    let second = layout.headings.iter().enumerate().filter(|(_, h)| h.column == Column::Ia).nth(1).map_or(0, |h| h.0);
    let of_type = way.sections() == Some(beside) && way.reading.get("blocks").is_none();
    let option = if of_type {
        way.assume(format!("the {beside} tables beside each other are the {beside} sections of the type"));
        "blocks=sections".to_owned()
    } else {
        way.settle(Ask {
            place: Place::Cell(layout.line, second + 1),
            what: format!("{beside} tables stand beside each other under the same headings"),
            options: vec![
                ("blocks=sections".into(), "they are the sections of a tube".into()),
                ("blocks=repeats".into(), "they are one section, measured again".into()),
            ],
        })?
    };
    let mut seen = Counts::default();
    for heading in &mut layout.headings {
        if counts.of(heading.column) == beside && heading.section.is_none() {
            heading.section = Some(seen.add(heading.column).to_string());
        }
    }
    Ok(option == "blocks=repeats")
}

/// How often there is a column of each kind.
#[derive(Default)]
struct Counts(Vec<(Column, usize)>);

impl Counts {
    /// One more; how many that are.
    fn add(&mut self, column: Column) -> usize {
        match self.0.iter_mut().find(|(known, _)| *known == column) {
            Some((_, count)) => {
                *count += 1;
                *count
            }
            None => {
                self.0.push((column, 1));
                1
            }
        }
    }

    fn of(&self, column: Column) -> usize {
        self.0.iter().find(|(known, _)| *known == column).map_or(0, |(_, count)| *count)
    }
}

/// Settles what the first column of a wide table is and what is held along the others.
fn name_curves(layout: &mut Layout, way: &mut Way) -> Result<(), Stop> {
    let headings = &layout.headings;
    let first = headings
        .iter()
        .position(|h| h.held.is_none() && matches!(h.column, Column::Va | Column::Vg))
        .or_else(|| headings.iter().position(|h| h.held.is_none() && h.column == Column::Other))
        .ok_or_else(|| missing(layout, Column::Vg))?;
    let held = headings.iter().find_map(|h| h.held.and_then(|h| h.column));
    let negative = headings.iter().any(|h| h.held.is_some_and(|h| h.volts < 0.0));
    let running = match (headings[first].column, held) {
        (column @ (Column::Va | Column::Vg), _) => column,
        (_, Some(held)) => held.partner().unwrap_or(Column::Vg),
        // No plate voltage of a sweep is negative.
        (_, None) if negative => Column::Va,
        _ => {
            let option = way.settle(Ask {
                place: Place::Cell(layout.line, first + 1),
                what: "the first column may be the grid or the plate voltage".into(),
                options: vec![
                    ("first=vg".into(), "the grid runs down the first column, each curve at a plate voltage".into()),
                    ("first=va".into(), "the plate runs down the first column, each curve at a grid voltage".into()),
                ],
            })?;
            if option == "first=va" { Column::Va } else { Column::Vg }
        }
    };
    let held = running.partner().unwrap_or(Column::Va);
    layout.headings[first].column = running;
    for (i, heading) in layout.headings.iter_mut().enumerate() {
        let Some(level) = &mut heading.held else { continue };
        if level.column.is_some_and(|c| c != held) {
            return Err(missing(layout, held).into());
        }
        level.column = Some(held);
        if i != first && heading.column == Column::Other {
            heading.column = Column::Ia;
        }
    }
    Ok(())
}

fn twice(layout: &Layout) -> Result<(), Failure> {
    let mut seen: BTreeMap<(Column, Option<&str>, Option<u64>), usize> = BTreeMap::new();
    for (i, heading) in layout.headings.iter().enumerate() {
        if heading.column == Column::Other {
            continue;
        }
        let key = (heading.column, heading.section.as_deref(), heading.held.map(|h| h.volts.to_bits()));
        // A curve may be measured twice at one level.
        if let Some(first) = seen.insert(key, i + 1).filter(|_| heading.held.is_none()) {
            let twice = Mistake::TwiceTheSame { what: heading.column.name(), first, second: i + 1 };
            return Err((Place::Cell(layout.line, i + 1), twice));
        }
    }
    Ok(())
}

/// The point that plate current `at` belongs to.
fn emitter(layout: &Layout, at: usize, metadata: &Metadata, way: &Way) -> Result<Emitter, Failure> {
    let ia = &layout.headings[at];
    let find = |column: Column| {
        let of = |section: Option<&str>| {
            layout.headings.iter().position(|h| {
                h.column == column && h.section.as_deref() == section && (h.held.is_none() || h.held == ia.held)
            })
        };
        of(ia.section.as_deref()).or_else(|| of(None)).map(Source::Cell)
    };
    let held = |column| ia.held.filter(|h| h.column == Some(column)).map(|h| Source::Fixed(h.volts));
    let fixed = |column| way.reading.fixed(column).or_else(|| metadata.fixed(column)).map(Source::Fixed);
    let voltage = |column| held(column).or_else(|| find(column)).or_else(|| fixed(column));
    // A diode's table has no grid column.
    let none = Source::Fixed(0.0);
    let va = voltage(Column::Va).ok_or_else(|| missing(layout, Column::Va))?;
    let vg = voltage(Column::Vg).or(way.is_diode().then_some(none)).ok_or_else(|| missing(layout, Column::Vg))?;
    let others = Column::NUMBERS.into_iter().filter(|c| !c.makes_a_sweep());
    let given = |c| find(c).or_else(|| way.reading.fixed(c).map(Source::Fixed));
    let others = others.filter_map(|c| given(c).map(|source| (c, source))).collect();
    Ok(Emitter { section: ia.section.clone(), va, vg, ia: Source::Cell(at), others })
}

/// What each cell of a row is, with the factor of its unit.
fn roles(layout: &Layout, emitters: &[Emitter], way: &Way) -> Result<Vec<Role>, Stop> {
    let used = |i: usize| {
        let of = |e: &Emitter| {
            [e.va, e.vg, e.ia].into_iter().chain(e.others.iter().map(|o| o.1)).any(|s| s == Source::Cell(i))
        };
        emitters.iter().any(of)
    };
    let mut roles = Vec::with_capacity(layout.headings.len());
    for (i, heading) in layout.headings.iter().enumerate() {
        roles.push(match heading.column {
            Column::Tube => Role::Tube,
            Column::Section => Role::Section,
            column if used(i) => {
                let most = match column.dimension() {
                    Dimension::Voltage => MOST_VOLTS,
                    // A heater may draw more than a plate.
                    Dimension::Current if column != Column::Ih => MOST_AMPERES,
                    _ => f64::INFINITY,
                };
                Role::Number { column, factor: factor(layout, i, way)?, most }
            }
            _ => Role::Skip,
        });
    }
    Ok(roles)
}

/// The factor of a column's unit. Volts go without saying (nobody sweeps in
/// anything else), a current's unit never does.
fn factor(layout: &Layout, at: usize, way: &Way) -> Result<f64, Stop> {
    let heading = &layout.headings[at];
    let column = heading.column;
    let stated = magnitude::instead(way, column).or(heading.unit);
    if let Some(factor) = stated.or_else(|| way.reading.unit(column)) {
        return Ok(factor);
    }
    if column.dimension() != Dimension::Current {
        return Ok(1.0);
    }
    // Curves beside each other have one unit, wherever it stands.
    let same = layout.headings.iter().filter(|h| h.column == column).find_map(|h| h.unit);
    if let Some(factor) = same.filter(|_| heading.held.is_some() || heading.section.is_some()) {
        return Ok(factor);
    }
    let units: &[&str] = match column {
        Column::Ig | Column::Ihk => &["uA", "mA"],
        Column::Ih => &["A", "mA"],
        _ => &["mA", "A"],
    };
    let symbol = column.symbol();
    let option = |unit: &&str| (format!("unit.{symbol}={unit}"), format!("the {} is in {unit}", column.name()));
    let option = way.settle(Ask {
        place: Place::Cell(layout.line, at + 1),
        what: format!("the heading \"{}\" gives the {} no unit", excerpt(&heading.text), column.name()),
        options: units.iter().map(option).collect(),
    })?;
    let unit = option.split_once('=').map_or("", |o| o.1);
    Ok(super::units::factor(unit, Dimension::Current).unwrap_or(1.0))
}
