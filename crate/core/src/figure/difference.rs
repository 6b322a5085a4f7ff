//! What one sweep has more of plate current than another: drawn, and in numbers.

use serde::Serialize;

use super::plan::{CurrentAxis, Figure, Options};
use super::svg::svg;
use super::trace::{Trace, traces};
use crate::numerics::median;
use crate::sweep::{Bench, Points, Running, Section, Tube};

/// Two held voltages count as one if they are no further apart than this share of them
/// (supplies of one bench repeat within a per cent; common practice, no source), ...
const SAME_SHARE: f64 = 0.02;
/// ... or than this, V: for curves held near zero grid volts.
const SAME_VOLTS: f64 = 0.05;
/// Share of the yardstick's top from which currents are compared as a ratio: below it lies
/// what leaks and noise decide (judgement, no source).
const RATIO_FROM: f64 = 0.1;

/// The difference of several sweeps from one of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Differences {
    /// The picture, an SVG document; `None` where there is nothing to draw.
    pub svg: Option<String>,
    /// Each section of each sweep against the yardstick's.
    pub rows: Vec<Differs>,
}

/// How one section differs from the yardstick's.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Differs {
    /// What is compared: place in the list that was asked about, and section.
    pub of: usize,
    /// The name of tube and section.
    pub name: String,
    /// The name of the yardstick's section.
    pub from: String,
    /// Points at which both were measured, or could be read between two points.
    pub points: usize,
    /// The median ratio of the currents where the yardstick has more than a tenth of its top,
    /// less one; `None` where it nowhere has.
    pub ratio: Option<f64>,
    /// The largest difference, A, and where, V; `None` without common points.
    pub largest: Option<Largest>,
}

/// The largest difference.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Largest {
    /// How much more than the yardstick, A.
    pub ia: f64,
    /// Plate voltage there, V.
    pub va: f64,
    /// Grid voltage there, V.
    pub vg: f64,
}

/// A tube, or one of its sections.
pub type Chosen<'a> = (&'a Tube, Option<&'a str>);

/// How sweeps differ from the first of them, section by section: those of one name, else
/// those in the same place. Between two points of the yardstick's curve it is read off a
/// straight line.
pub fn differences(chosen: &[Chosen], width: f64, height: f64) -> Differences {
    let Some((first, others)) = chosen.split_first() else { return Differences { svg: None, rows: Vec::new() } };
    let yardsticks = sections(first);
    let (mut rows, mut drawn) = (Vec::new(), Vec::new());
    for (at, other) in others.iter().enumerate() {
        let theirs = sections(other);
        for (place, section) in theirs.iter().enumerate() {
            // A single section is compared with a single one, whatever they are called.
            let alone = theirs.len() == 1 && yardsticks.len() == 1;
            let named = yardsticks.iter().find(|s| s.name == section.name || alone);
            let Some(from) = named.or(yardsticks.get(place)) else { continue };
            let (points, on) = difference(&from.points, &section.points);
            rows.push(Differs {
                of: at + 1,
                name: named_of(other, section),
                from: named_of(first, from),
                points: points.len(),
                ratio: ratio(&points.ia, &on, from.points.top()),
                largest: largest(&points),
            });
            if !points.is_empty() {
                drawn.push(Section { name: named_of(other, section), points });
            }
        }
    }
    Differences { svg: picture(first, drawn, width, height), rows }
}

/// The sections that are chosen.
pub(crate) fn sections<'a>((tube, section): &Chosen<'a>) -> Vec<&'a Section> {
    tube.sections.iter().filter(|s| section.is_none_or(|name| name == s.name)).collect()
}

/// What a section is called among those of other tubes: as its tube, where it is the only one.
pub(crate) fn named_of((tube, _): &Chosen, section: &Section) -> String {
    if tube.sections.len() == 1 { tube.name.clone() } else { format!("{} \u{b7} {}", tube.name, section.name) }
}

/// The points of `other` with what it has more than `base` as their plate current; and what
/// `base` has there.
fn difference(base: &Points, other: &Points) -> (Points, Vec<f64>) {
    let one = |points: &Points| traces(&made_of(vec![Section { name: String::new(), points: points.clone() }]));
    let ((run, base), (also, other)) = (one(base), one(other));
    let (mut out, mut on) = (Points::default(), Vec::new());
    if run != also {
        return (out, on);
    }
    for trace in &other {
        let near = |b: &&Trace| (b.held - trace.held).abs() <= SAME_VOLTS.max(SAME_SHARE * b.held.abs());
        let distance = |b: &&Trace| (b.held - trace.held).abs();
        let closest = base.iter().filter(near).min_by(|a, b| distance(a).total_cmp(&distance(b)));
        let Some(curve) = closest else { continue };
        for (i, &x) in trace.x.iter().enumerate() {
            let Some(there) = read_off(curve, x) else { continue };
            let (along, across) = (x, trace.held);
            let (va, vg) = if run == Running::Grid { (across, along) } else { (along, across) };
            out.va.push(va);
            out.vg.push(vg);
            out.ia.push(trace.ia[i] - there);
            on.push(there);
        }
    }
    (out, on)
}

/// The current of a curve at a running voltage inside it.
fn read_off(curve: &Trace, x: f64) -> Option<f64> {
    let after = curve.x.partition_point(|v| *v < x);
    match (after.checked_sub(1), curve.x.get(after)) {
        (_, Some(&at)) if at == x => Some(curve.ia[after]),
        (Some(before), Some(&at)) => {
            let share = (x - curve.x[before]) / (at - curve.x[before]);
            Some(curve.ia[before] + share * (curve.ia[after] - curve.ia[before]))
        }
        _ => None,
    }
}

fn ratio(more: &[f64], on: &[f64], top: f64) -> Option<f64> {
    let mut of: Vec<f64> =
        more.iter().zip(on).filter(|(_, on)| **on > RATIO_FROM * top).map(|(more, on)| more / on).collect();
    (!of.is_empty()).then(|| median(&mut of))
}

fn largest(points: &Points) -> Option<Largest> {
    let at = (0..points.len()).max_by(|&a, &b| points.ia[a].abs().total_cmp(&points.ia[b].abs()))?;
    Some(Largest { ia: points.ia[at], va: points.va[at], vg: points.vg[at] })
}

/// A tube for drawing only.
fn made_of(sections: Vec<Section>) -> Tube {
    let (name, bench) = (String::new(), Bench::default());
    Tube { name, source: Vec::new(), kind: None, notes: Vec::new(), bench, sections }
}

fn picture((first, _): &Chosen, sections: Vec<Section>, width: f64, height: f64) -> Option<String> {
    if sections.is_empty() {
        return None;
    }
    let names: Vec<&str> = sections.iter().map(|s| s.name.as_str()).collect();
    let title = format!("Plate current that {} have more than {}", names.join(", "), first.name);
    let tube = Tube { bench: first.bench.clone(), ..made_of(sections) };
    let options = Options { width, height, current: CurrentAxis::Full, grid_current: false };
    let mut figure = Figure::new(&tube, &options);
    for panel in &mut figure.panels {
        panel.title = panel.title.replace("Plate current Ia", "More plate current");
    }
    svg(&figure, &title, &[], None).ok()
}

#[cfg(test)]
mod tests {
    use approx::assert_relative_eq;

    use super::super::trace::tests::twin;
    use super::*;

    const VG: [f64; 9] = [-20.0, -17.5, -15.0, -12.5, -10.0, -7.5, -5.0, -2.5, 0.0];

    #[test]
    fn a_tube_differs_from_itself_by_nothing_and_from_a_leaky_twin_by_its_leak() {
        let sound = twin([100.0, 200.0, 300.0], &VG, 0.0);
        let leaky = twin([100.0, 200.0, 300.0], &VG, 1e-6);
        let found = differences(&[(&sound, None), (&sound, None), (&leaky, None)], 700.0, 400.0);
        assert_eq!(found.rows.len(), 4);
        assert!(found.rows[..2].iter().all(|r| r.points == 27 && r.largest.unwrap().ia == 0.0));
        let leak = found.rows[2].largest.unwrap();
        assert_relative_eq!(leak.ia, 300e-6, max_relative = 1e-9);
        assert_eq!((leak.va, found.rows[2].of, found.rows[2].from.as_str()), (300.0, 2, "T \u{b7} 1"));
        assert_eq!(found.rows[3].largest.unwrap().ia, 0.0);
        assert!(found.svg.unwrap().contains("More plate current"));
    }

    #[test]
    fn a_weaker_section_is_so_much_weaker_wherever_it_conducts() {
        let tube = twin([100.0, 200.0, 300.0], &VG, 0.0);
        // Section 2 has 0.9 times the current of section 1.
        let found = differences(&[(&tube, Some("1")), (&tube, Some("2"))], 700.0, 400.0);
        assert_eq!(found.rows.len(), 1);
        assert_relative_eq!(found.rows[0].ratio.unwrap(), -0.1, epsilon = 1e-12);
    }

    #[test]
    fn steps_and_ranges_of_their_own_are_read_between_points_and_never_beyond_them() {
        let coarse = twin([100.0, 200.0, 300.0], &[-10.0, -5.0, 0.0], 0.0);
        let fine = twin([100.5, 201.0, 400.0], &[-12.0, -7.5, -1.0, 1.0], 0.0);
        let found = differences(&[(&coarse, Some("1")), (&fine, Some("1"))], 700.0, 400.0);
        // Two of four steps, two of three curves.
        assert_eq!(found.rows[0].points, 4);
        assert!(differences(&[(&coarse, None)], 700.0, 400.0).svg.is_none());
        assert!(differences(&[], 700.0, 400.0).rows.is_empty());
    }
}
