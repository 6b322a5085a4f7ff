//! A tube on its way from the worker to the document: only what a figure needs,
//! with `null` where a cell was empty (JSON has no NaN).

use serde::{Deserialize, Serialize};
use sweepbook_core::figure::outline;
use sweepbook_core::report::Mark;
use sweepbook_core::sweep::{Bench, Points, Section, Tube};

/// A tube as JSON.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wire {
    name: String,
    rs: Option<f64>,
    sections: Vec<WireSection>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct WireSection {
    name: String,
    va: Vec<f64>,
    vg: Vec<f64>,
    ia: Vec<f64>,
    ig: Option<Vec<Option<f64>>>,
}

/// Points of a section that go over the wire; more only slow the figure down,
/// and a drawing has no room for them (by construction).
const MOST_POINTS: usize = 20_000;

impl Wire {
    /// A tube, and the marks of its findings with the points numbered as they go
    /// over the wire: of a very long section only the outline does.
    pub fn new(tube: &Tube, marks: &mut [&mut Vec<Mark>]) -> Self {
        let kept: Vec<Vec<usize>> = tube.sections.iter().map(|s| outline(&s.points, MOST_POINTS)).collect();
        for mark in marks.iter_mut().flat_map(|m| m.iter_mut()) {
            let Some(kept) = kept.get(mark.section) else { continue };
            mark.points = mark.points.iter().filter_map(|p| kept.binary_search(p).ok()).collect();
        }
        let section = |(s, kept): (&Section, &Vec<usize>)| {
            let p = &s.points;
            let pick = |column: &Vec<f64>| kept.iter().map(|&i| column[i]).collect::<Vec<f64>>();
            let cell = |v: f64| v.is_finite().then_some(v);
            WireSection {
                name: s.name.clone(),
                va: pick(&p.va),
                vg: pick(&p.vg),
                ia: pick(&p.ia),
                ig: p.ig.as_ref().map(|c| pick(c).into_iter().map(cell).collect()),
            }
        };
        Self {
            name: tube.name.clone(),
            rs: tube.bench.grid_source_resistance,
            sections: tube.sections.iter().zip(&kept).map(section).collect(),
        }
    }

    /// Number of points that go over the wire.
    pub fn point_count(&self) -> usize {
        self.sections.iter().map(|s| s.ia.len()).sum()
    }
}

impl From<Wire> for Tube {
    fn from(wire: Wire) -> Self {
        let section = |s: WireSection| {
            // Columns of one length, whatever came over the wire.
            let length = s.va.len().min(s.vg.len()).min(s.ia.len());
            let cut = |mut column: Vec<f64>| {
                column.truncate(length);
                column
            };
            let ig = s.ig.filter(|c| c.len() >= length);
            let points = Points {
                va: cut(s.va),
                vg: cut(s.vg),
                ia: cut(s.ia),
                ig: ig.map(|c| cut(c.into_iter().map(|v| v.unwrap_or(f64::NAN)).collect())),
                ..Points::default()
            };
            Section { name: s.name, points }
        };
        Self {
            name: wire.name,
            source: Vec::new(),
            kind: None,
            notes: Vec::new(),
            bench: Bench { grid_source_resistance: wire.rs, ..Bench::default() },
            sections: wire.sections.into_iter().map(section).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tube_survives_the_way_with_its_empty_cells() {
        let text = "section,Va [V],Vg [V],Ia [mA],Ig [uA]\n1,100,-1,0.5,-0.01\n1,100,-0.5,0.9,\n";
        let tube = sweepbook_core::intake::read("x.csv", text.as_bytes()).unwrap().remove(0);
        let json = serde_json::to_string(&Wire::new(&tube, &mut [])).unwrap();
        let back: Tube = serde_json::from_str::<Wire>(&json).unwrap().into();
        assert_eq!(back.sections[0].points.ia, tube.sections[0].points.ia);
        assert_eq!(back.sections[0].points.ig_at(0), Some(-1e-8));
        assert_eq!(back.sections[0].points.ig_at(1), None);
    }

    #[test]
    fn marks_of_a_long_section_still_point_at_the_same_points() {
        let vgs = (0..60_000).map(|i| -20.0 + f64::from(i) / 3000.0);
        let points = Points {
            va: vec![100.0; 60_000],
            ia: vgs.clone().map(|v| 1e-3 * (v + 20.0)).collect(),
            vg: vgs.collect(),
            ..Points::default()
        };
        let tube = sweepbook_core::intake::read("x.csv", b"Va [V],Vg [V],Ia [mA]\n100,-1,1\n").unwrap().remove(0);
        let tube = Tube { sections: vec![Section { name: "1".into(), points: points.clone() }], ..tube };
        let mut marks = vec![Mark { section: 0, points: (0..60_000).collect() }, Mark { section: 9, points: vec![1] }];
        let wire = Wire::new(&tube, &mut [&mut marks]);
        assert!(wire.point_count() < 60_000);
        assert_eq!(marks[0].points.len(), wire.point_count());
        let (first, last) = (0, wire.point_count() - 1);
        assert_eq!((wire.sections[0].vg[first], wire.sections[0].vg[last]), (points.vg[0], points.vg[59_999]));
    }

    #[test]
    fn columns_of_unequal_length_are_cut_to_the_shortest() {
        let json = r#"{"name":"x","rs":null,"sections":[{"name":"1","va":[1,2],"vg":[0],"ia":[1,2,3],"ig":[]}]}"#;
        let tube: Tube = serde_json::from_str::<Wire>(json).unwrap().into();
        assert_eq!(tube.sections[0].points.len(), 1);
        assert_eq!(tube.sections[0].points.ig, None);
    }
}
