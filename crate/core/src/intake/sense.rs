//! Whether numbers that could be read make sense: the decimal mark, and signs
//! that were left out or are the other way round.

use std::borrow::Cow;

use super::error::{Mistake, Place};
use super::layout::{Failure, Layout};
use super::number::{Evidence, Mark};
use super::plan::{Plan, Role};
use super::question::Ask;
use super::scan::Scan;
use super::sink::Named;
use super::survey::Surveyed;
use super::way::{Stop, Way};
use crate::sorting::places_by;
use crate::sweep::Points;

/// The decimal mark of the table.
///
/// # Errors
/// Cells contradict each other, or fit both.
pub(super) fn mark(text: &Surveyed, layout: &Layout, plan: &Plan, way: &mut Way) -> Result<Mark, Stop> {
    if let Some(mark) = way.reading.decimal() {
        return Ok(mark);
    }
    // Between commas a comma can only be part of a number within quotation marks.
    let parted = layout.separator == super::scan::Separator::Comma;
    if (parted && !text.has_quote(layout.start)) || !text.has_comma(layout.start) {
        return Ok(Mark::Point);
    }
    let evidence = evidence(text.text, layout, plan)?;
    match evidence {
        Evidence { comma: Some(comma), point: Some(point), .. } => {
            Err((Place::File, Mistake::TwoMarks { comma, point }).into())
        }
        Evidence { comma: Some(_), .. } => Ok(Mark::Comma),
        Evidence { point: Some(_), .. } | Evidence { either: None, .. } => Ok(Mark::Point),
        Evidence { either: Some(cell), .. } => {
            let (whole, rest) = cell.split_once(',').unwrap_or((&cell, ""));
            let option = way.settle(Ask {
                place: Place::File,
                what: format!("the comma in \"{cell}\" may be a decimal comma or set thousands apart"),
                options: vec![
                    ("decimal=comma".into(), format!("it is {whole}.{rest}, a little over {whole}")),
                    ("decimal=point".into(), format!("it is {whole}{rest}")),
                ],
            })?;
            Ok(if option == "decimal=comma" { Mark::Comma } else { Mark::Point })
        }
    }
}

fn evidence(text: &str, layout: &Layout, plan: &Plan) -> Result<Evidence, Failure> {
    let mut scan = Scan::new(text, layout.start, layout.first_line);
    let mut cells: Vec<Cow<str>> = Vec::new();
    let mut evidence = Evidence::default();
    while scan.row(layout.separator, &mut cells)?.is_some() {
        for (cell, role) in cells.iter().zip(&plan.roles) {
            if matches!(role, Role::Number { .. }) {
                evidence.take(cell);
            }
        }
        if evidence.comma.is_some() && evidence.point.is_some() {
            break;
        }
    }
    Ok(evidence)
}

/// Share of the readings that has to be of one sign to count as all, so that
/// noise about zero past cutoff does not hide the sign (judgement, no source).
const MOSTLY: f64 = 0.9;
/// Smallest plate current that has a sign worth asking about, A: below it lies
/// the offset of a cheap meter (judgement, no source).
const SIGN_FROM: f64 = 10e-6;
/// Largest grid bias that is taken for one, V: above it a column of grid volts
/// holds plate volts (judgement, no source).
const MOST_BIAS: f64 = 150.0;
/// Fewest readings that show which way the current goes with the grid.
const FEWEST_TO_TELL: usize = 3;

/// Asks about signs, and turns them where that is the answer.
pub(super) fn signs(sections: &mut [Named], way: &mut Way) -> Result<(), Stop> {
    if let Some(what) = sections.iter().find_map(|s| negative_current(&s.points)) {
        let option = way.settle(Ask {
            place: Place::File,
            what,
            options: vec![
                ("ia=negative".into(), "the meter counts the other way, and the current flows into the plate".into()),
                ("ia=as-written".into(), "the current does flow out of the plate".into()),
            ],
        })?;
        if option == "ia=negative" {
            for points in sections.iter_mut().map(|s| &mut s.points) {
                turn(&mut points.ia);
            }
            way.assume("plate current was turned round".into());
        }
    }
    if let Some(what) = sections.iter().find_map(|s| positive_grid(&s.points)) {
        let option = way.settle(Ask {
            place: Place::File,
            what,
            options: vec![
                ("vg=negative".into(), "the minus sign was left out, and the grid is negative".into()),
                ("vg=as-written".into(), "the grid is positive".into()),
            ],
        })?;
        if option == "vg=negative" {
            for points in sections.iter_mut().map(|s| &mut s.points) {
                turn(&mut points.vg);
            }
            way.assume("grid voltage was taken as negative".into());
        }
    }
    Ok(())
}

fn turn(column: &mut [f64]) {
    for value in column {
        // Zero keeps no sign.
        *value = 0.0 - *value;
    }
}

fn negative_current(points: &Points) -> Option<String> {
    let (low, high) = range(&points.ia);
    if -low < SIGN_FROM || high >= 0.1 * -low {
        return None;
    }
    let below = points.ia.iter().filter(|i| **i < 0.0).count() as f64;
    let nonzero = points.ia.iter().filter(|i| **i != 0.0).count() as f64;
    // All alike is an offset, and not a current.
    let runs = high - low > 0.5 * low.abs();
    (nonzero > 0.0 && below >= MOSTLY * nonzero && runs).then(|| "the plate current is negative throughout".to_owned())
}

/// Grid volts that are all positive while more of them gives less current.
fn positive_grid(points: &Points) -> Option<String> {
    let (low, high) = range(&points.vg);
    let bias = low >= 0.0 && high > 0.0 && high <= MOST_BIAS;
    if !bias || points.len() < FEWEST_TO_TELL || range(&points.va).0 < 0.0 {
        return None;
    }
    // Within one plate voltage, or nearly: does the current fall as the grid rises?
    let mut order: Vec<usize> = (0..points.len()).collect();
    places_by(&mut order, &|a, b| points.va[a].total_cmp(&points.va[b]).then(points.vg[a].total_cmp(&points.vg[b])));
    let (mut falls, mut rises) = (0.0, 0.0);
    for pair in order.windows(2) {
        let [a, b] = [pair[0], pair[1]];
        let held = (points.va[a] - points.va[b]).abs() <= 0.02 * points.va[a].abs();
        if held && points.vg[b] > points.vg[a] {
            let change = points.ia[b] - points.ia[a];
            if change < 0.0 { falls -= change } else { rises += change }
        }
    }
    (falls > 4.0 * rises && falls > SIGN_FROM)
        .then(|| "the grid voltage is positive throughout, and the current falls as it rises".to_owned())
}

/// Lowest and highest value; several at a time, since a long table has a million.
fn range(values: &[f64]) -> (f64, f64) {
    let (blocks, rest) = values.as_chunks::<8>();
    let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
    for block in blocks {
        for (i, v) in block.iter().enumerate() {
            // Spelt out, so that processors have an instruction for it.
            low[i] = if *v < low[i] { *v } else { low[i] };
            high[i] = if *v > high[i] { *v } else { high[i] };
        }
    }
    let all = |values: &[f64], from, pick: fn(f64, f64) -> f64| values.iter().copied().fold(from, pick);
    let low = all(rest, all(&low, f64::INFINITY, f64::min), f64::min);
    (low, all(rest, all(&high, f64::NEG_INFINITY, f64::max), f64::max))
}

/// Whether the plate currents are what the type can give: decides between units.
pub(super) fn possible(sections: &[Named], way: &Way) -> bool {
    let Some(most) = way.most_current() else { return true };
    sections.iter().all(|s| s.points.top() <= most)
}
