//! The curves of a tube as they will be drawn: numbers only, no pixels yet.

use crate::sweep::{Points, Running, Tube};

/// One curve of one section.
#[derive(Debug, Clone, PartialEq)]
pub struct Trace {
    /// Index of the section in its tube.
    pub section: usize,
    /// The held voltage, V.
    pub held: f64,
    /// Indices of its points in the section, by running voltage.
    pub index: Vec<usize>,
    /// Running voltage of those points, V.
    pub x: Vec<f64>,
    /// Held voltage of those points as it was read, V.
    pub across: Vec<f64>,
    /// Plate current of those points, A.
    pub ia: Vec<f64>,
    /// Grid current of those points, A; NaN where a cell was empty; empty where
    /// it was not measured.
    pub ig: Vec<f64>,
}

/// Two held voltages of different sections closer than this share of their
/// spread are the same curve taken twice (common practice, no source).
const SAME_SHARE: f64 = 0.01;

/// All curves, by held voltage and then by section, and what runs along them.
pub fn traces(tube: &Tube) -> (Running, Vec<Trace>) {
    let mut running = None;
    let mut traces: Vec<Trace> = Vec::new();
    for (section, s) in tube.sections.iter().enumerate() {
        let p = &s.points;
        for curve in p.curves() {
            let running = *running.get_or_insert(curve.running);
            let (along, across) = match running {
                Running::Grid => (&p.vg, &p.va),
                Running::Plate => (&p.va, &p.vg),
            };
            let index: Vec<usize> =
                curve.index.iter().copied().filter(|&i| along[i].is_finite() && p.ia[i].is_finite()).collect();
            traces.push(Trace {
                section,
                held: curve.held,
                x: index.iter().map(|&i| along[i]).collect(),
                across: index.iter().map(|&i| across[i]).collect(),
                ia: index.iter().map(|&i| p.ia[i]).collect(),
                ig: p.ig.as_ref().map_or_else(Vec::new, |ig| index.iter().map(|&i| ig[i]).collect()),
                index,
            });
        }
    }
    sort(&mut traces);
    (running.unwrap_or(Running::Grid), traces)
}

fn sort(traces: &mut [Trace]) {
    traces.sort_unstable_by(|a, b| a.held.total_cmp(&b.held));
    let spread = match (traces.first(), traces.last()) {
        (Some(first), Some(last)) => last.held - first.held,
        _ => return,
    };
    // Curves of one held voltage form a run; inside it the sections are in order.
    let mut start = 0;
    while start < traces.len() {
        let first = traces[start].held;
        let run = traces[start..].partition_point(|t| t.held - first <= SAME_SHARE * spread);
        let end = start + run.max(1);
        traces[start..end].sort_unstable_by(|a, b| a.section.cmp(&b.section).then(a.held.total_cmp(&b.held)));
        start = end;
    }
}

/// Indices of at most about `most` points that draw the same figure as all of
/// them: of every curve, first, lowest, highest and last of many narrow columns.
/// All of them where there are no more than that.
pub fn outline(points: &Points, most: usize) -> Vec<usize> {
    if points.len() <= most {
        return (0..points.len()).collect();
    }
    let curves = points.curves();
    // Four points a column; but never fewer columns than a small drawing has pixels.
    let columns = (most / 4 / curves.len().max(1)).max(LEAST_COLUMNS);
    let mut keep: Vec<usize> = Vec::new();
    for curve in &curves {
        let along = match curve.running {
            Running::Grid => &points.vg,
            Running::Plate => &points.va,
        };
        let (first, last) = match (curve.index.first(), curve.index.last()) {
            (Some(&first), Some(&last)) => (along[first], along[last]),
            _ => continue,
        };
        let width = (last - first).max(f64::MIN_POSITIVE);
        let column = |&i: &usize| ((along[i] - first) / width * columns as f64) as i64;
        let places: Vec<i64> = curve.index.iter().map(column).collect();
        for quantity in [Some(&points.ia), points.ig.as_ref()].into_iter().flatten() {
            let y: Vec<f64> = curve.index.iter().map(|&i| quantity[i]).collect();
            keep.extend(thin(&places, &y).into_iter().map(|k| curve.index[k]));
        }
    }
    keep.sort_unstable();
    keep.dedup();
    keep
}

/// Columns a curve is thinned to at least.
const LEAST_COLUMNS: usize = 200;

/// Indices to draw when a curve has far more points than the drawing has
/// pixels: of every pixel column the first, lowest, highest and last point, so
/// that no spike is lost. `columns` gives each point's column.
pub fn thin(columns: &[i64], y: &[f64]) -> Vec<usize> {
    let mut keep = Vec::new();
    let mut start = 0;
    while start < columns.len() {
        let end = start + columns[start..].iter().take_while(|c| **c == columns[start]).count();
        let span = start..end;
        let lowest = span.clone().min_by(|&a, &b| y[a].total_cmp(&y[b])).unwrap_or(start);
        let highest = span.max_by(|&a, &b| y[a].total_cmp(&y[b])).unwrap_or(start);
        let mut four = [start, lowest, highest, end - 1];
        four.sort_unstable();
        for i in four {
            if keep.last() != Some(&i) {
                keep.push(i);
            }
        }
        start = end;
    }
    keep
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::sweep::{Points, Section};

    /// A made-up twin triode: 3/2 law, `floor` siemens of leak in section 1.
    pub fn twin(vas: [f64; 3], vgs: &[f64], floor: f64) -> Tube {
        let section = |name: &str, scale: f64, leak: f64| {
            let mut points = Points::default();
            let mut ig = Vec::new();
            for va in vas {
                for &vg in vgs {
                    points.va.push(va);
                    points.vg.push(vg);
                    points.ia.push(scale * 1e-5 * libm::pow((va + 20.0 * vg).max(0.0), 1.5) + leak * va);
                    ig.push(if vg > -1.0 { 1e-6 * (vg + 1.0) } else { -1e-9 });
                }
            }
            points.ig = Some(ig);
            Section { name: name.into(), points }
        };
        Tube {
            name: "T".into(),
            source: Vec::new(),
            kind: None,
            notes: Vec::new(),
            bench: Default::default(),
            sections: vec![section("1", 1.0, floor), section("2", 0.9, 0.0)],
        }
    }

    #[test]
    fn curves_are_ordered_by_held_voltage_then_section() {
        let mut tube = twin([100.0, 200.0, 300.0], &[-20.0, -15.0, -10.0, -5.0, 0.0], 0.0);
        // The second section's supply reads a little lower.
        tube.sections[1].points.va.iter_mut().for_each(|v| *v -= 0.3);
        let (running, traces) = traces(&tube);
        assert_eq!(running, Running::Grid);
        let order: Vec<(usize, i64)> = traces.iter().map(|t| (t.section, t.held.round() as i64)).collect();
        assert_eq!(order, [(0, 100), (1, 100), (0, 200), (1, 200), (0, 300), (1, 300)]);
    }

    #[test]
    fn thinning_keeps_ends_and_spikes() {
        let columns: Vec<i64> = (0..1000).map(|i| i / 100).collect();
        let mut y: Vec<f64> = (0..1000).map(f64::from).collect();
        y[555] = -1.0;
        let kept = thin(&columns, &y);
        assert!(kept.contains(&0) && kept.contains(&555) && kept.contains(&999));
        assert!(kept.len() <= 40);
    }

    #[test]
    fn an_outline_keeps_ends_and_spikes_of_every_curve() {
        let vgs: Vec<f64> = (0..20_000).map(|i| -20.0 + 0.001 * f64::from(i)).collect();
        let mut tube = twin([100.0, 200.0, 300.0], &vgs, 0.0);
        let points = &mut tube.sections[0].points;
        points.ia[31_234] = 0.5;
        if let Some(ig) = &mut points.ig {
            ig[41_234] = -1e-3;
        }
        let kept = outline(points, 20_000);
        assert!(kept.len() < 45_000, "{}", kept.len());
        for i in [0, 19_999, 20_000, 31_234, 41_234, 59_999] {
            assert!(kept.binary_search(&i).is_ok(), "{i}");
        }
        assert_eq!(outline(points, 60_000).len(), 60_000);
    }

    #[test]
    fn no_section_has_no_trace() {
        let mut tube = twin([1.0, 2.0, 3.0], &[0.0], 0.0);
        tube.sections.clear();
        assert!(traces(&tube).1.is_empty());
    }
}
