//! A tube on its way from the worker to the document: only what a figure needs,
//! with `null` where a cell was empty (JSON has no NaN).

use serde::{Deserialize, Serialize};
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

impl From<&Tube> for Wire {
    fn from(tube: &Tube) -> Self {
        let section = |s: &Section| WireSection {
            name: s.name.clone(),
            va: s.points.va.clone(),
            vg: s.points.vg.clone(),
            ia: s.points.ia.clone(),
            ig: s.points.ig.as_ref().map(|c| c.iter().map(|v| v.is_finite().then_some(*v)).collect()),
        };
        Self {
            name: tube.name.clone(),
            rs: tube.bench.grid_source_resistance,
            sections: tube.sections.iter().map(section).collect(),
        }
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
        let json = serde_json::to_string(&Wire::from(&tube)).unwrap();
        let back: Tube = serde_json::from_str::<Wire>(&json).unwrap().into();
        assert_eq!(back.sections[0].points.ia, tube.sections[0].points.ia);
        assert_eq!(back.sections[0].points.ig_at(0), Some(-1e-8));
        assert_eq!(back.sections[0].points.ig_at(1), None);
    }

    #[test]
    fn columns_of_unequal_length_are_cut_to_the_shortest() {
        let json = r#"{"name":"x","rs":null,"sections":[{"name":"1","va":[1,2],"vg":[0],"ia":[1,2,3],"ig":[]}]}"#;
        let tube: Tube = serde_json::from_str::<Wire>(json).unwrap().into();
        assert_eq!(tube.sections[0].points.len(), 1);
        assert_eq!(tube.sections[0].points.ig, None);
    }
}
