//! Where points go: a column for each number of each section.

use std::collections::HashMap;

use sweepbook_rows::Run;

use super::error::{Mistake, Place};
use super::heading::Column;
use super::layout::Failure;
use super::limits::MOST_POINTS;
use super::plan::{Emitter, Plan, Source};
use super::scan::Scan;
use crate::sorting::sort_by;
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

/// Where points go.
pub(super) struct Sink<'a> {
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

    fn append(&mut self, other: &mut Self) {
        self.va.append(&mut other.va);
        self.vg.append(&mut other.vg);
        self.ia.append(&mut other.ia);
        for (column, more) in self.others.iter_mut().zip(&mut other.others) {
            column.append(more);
        }
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
    pub(super) fn new(plan: &'a Plan, start: usize) -> Self {
        let last = vec![None; plan.emitters.len()];
        Self { plan, known: HashMap::new(), sections: Vec::new(), last, points: 0, start, rows: 0 }
    }

    /// Takes in the points of one row, which `scan` has just passed.
    #[inline]
    pub(super) fn take(
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

    /// Takes in rows of plain numbers, which `scan` has just passed; `column` gives what
    /// they say in a cell, one value a row.
    pub(super) fn take_run<'c>(
        &mut self,
        run: Run,
        column: impl Fn(usize) -> &'c [f64],
        scan: &Scan,
    ) -> Result<(), Failure> {
        self.rows += run.rows;
        self.points += run.rows * self.plan.emitters.len();
        if self.points > MOST_POINTS {
            return Err((Place::File, Mistake::ManyPoints));
        }
        for (i, emitter) in self.plan.emitters.iter().enumerate() {
            let at = self.section(i, emitter, run.names.tube, run.names.section, scan);
            let gathered = &mut self.sections[at].1;
            let append = |values: &mut Vec<f64>, source: Source| match source {
                Source::Cell(at) => values.extend_from_slice(column(at)),
                Source::Fixed(value) => values.resize(values.len() + run.rows, value),
            };
            append(&mut gathered.va, emitter.va);
            append(&mut gathered.vg, emitter.vg);
            append(&mut gathered.ia, emitter.ia);
            for ((_, source), values) in emitter.others.iter().zip(&mut gathered.others) {
                append(values, *source);
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

    /// What several sinks of one table hold, in the order of the rows.
    ///
    /// # Errors
    /// The first error of `sinks`, or more points than are read.
    pub(super) fn joined(sinks: Vec<Result<Self, Failure>>) -> Result<Self, Failure> {
        let mut sinks = sinks.into_iter();
        let mut all = sinks.next().ok_or((Place::File, Mistake::NotATable))??;
        for sink in sinks {
            for (key, mut gathered) in sink?.sections {
                all.points += gathered.ia.len();
                let Some(at) = all.known.get(&key) else {
                    all.known.insert(key.clone(), all.sections.len());
                    all.sections.push((key, gathered));
                    continue;
                };
                all.sections[*at].1.append(&mut gathered);
            }
        }
        if all.points > MOST_POINTS {
            return Err((Place::File, Mistake::ManyPoints));
        }
        Ok(all)
    }

    /// The sections, curves that stood beside each other one after the other.
    pub(super) fn sections(self) -> Vec<Named> {
        let mut out: Vec<Named> = Vec::new();
        let mut known: HashMap<(Option<String>, Option<String>), usize> = HashMap::new();
        let mut all = self.sections;
        if all.len() > 1 && self.plan.wide {
            // In the order of the columns; tubes and sections keep their own.
            sort_by(&mut all, |(a, _), (b, _)| a.2.cmp(&b.2));
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
