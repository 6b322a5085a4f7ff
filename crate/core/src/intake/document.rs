//! Sweeps as a tidy long table in JSON: one document, a row a point, SI units.

use serde::{Deserialize, Serialize};

use super::error::{Mistake, Place};
use super::limits::MOST_POINTS;
use super::reading::Reading;
use super::shown::clean;
use super::{Found, Understood};
use crate::sweep::{Bench, Points, Section, Tube};

/// Name and version of the document's shape.
const SCHEMA: &str = "sweepbook/sweep/1";
/// Bytes from the start within which a document names its schema.
const NAMED_WITHIN: usize = 200;

/// The JSON Schema of the documents that [`write_json`] writes.
pub const SWEEP_SCHEMA: &str = include_str!("sweep.schema.json");

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Document {
    schema: String,
    tubes: Vec<Written>,
}

#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    tube: String,
    #[serde(rename = "type")]
    kind: Option<String>,
    #[serde(default)]
    notes: Vec<String>,
    #[serde(default)]
    bench: Bench,
    points: Vec<Row>,
}

/// One point; a quantity that was not measured there is left out.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Row {
    section: String,
    va: f64,
    vg: f64,
    ia: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ig: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    vg2: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ig2: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ik: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    vh: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ih: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    vhk: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    ihk: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    time: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    repeat: Option<f64>,
}

impl Row {
    fn optional(&self) -> [Option<f64>; 10] {
        [self.ig, self.vg2, self.ig2, self.ik, self.vh, self.ih, self.vhk, self.ihk, self.time, self.repeat]
    }
}

/// Writes tubes as one document; what [`super::read`] reads from it is the same
/// sweep exactly.
///
/// # Errors
/// A number that JSON does not have; intake gives none.
pub fn write_json(tubes: &[Tube]) -> Result<String, serde_json::Error> {
    let tubes = tubes.iter().map(written).collect();
    serde_json::to_string(&Document { schema: SCHEMA.into(), tubes }).map(|text| text + "\n")
}

fn written(tube: &Tube) -> Written {
    let rows = tube.sections.iter().flat_map(|section| {
        let p = &section.points;
        (0..p.len()).map(move |i| {
            let at = |c: &Option<Vec<f64>>| c.as_ref().and_then(|c| c.get(i)).copied().filter(|v| v.is_finite());
            Row {
                section: section.name.clone(),
                va: p.va[i],
                vg: p.vg[i],
                ia: p.ia[i],
                ig: at(&p.ig),
                vg2: at(&p.vg2),
                ig2: at(&p.ig2),
                ik: at(&p.ik),
                vh: at(&p.vh),
                ih: at(&p.ih),
                vhk: at(&p.vhk),
                ihk: at(&p.ihk),
                time: at(&p.time),
                repeat: at(&p.repeat),
            }
        })
    });
    Written {
        tube: tube.name.clone(),
        kind: tube.kind.clone(),
        notes: tube.notes.clone(),
        bench: tube.bench.clone(),
        points: rows.collect(),
    }
}

/// Whether a text is such a document, of whatever version.
pub(super) fn is_one(text: &str) -> bool {
    let start: String = text.chars().take(NAMED_WITHIN).collect();
    start.trim_start().starts_with('{') && start.contains("\"sweepbook/sweep/")
}

/// Reads a document.
pub(super) fn read(file: &str, text: &str) -> Result<Found, (Place, Mistake)> {
    let document: Document = crate::read_json(text)
        .map_err(|e| (Place::Cell(e.line().max(1), e.column().max(1)), Mistake::Json(clean(&e.to_string()))))?;
    let whole = |what: &str| (Place::File, Mistake::Json(what.to_owned()));
    if document.schema != SCHEMA {
        return Err(whole("its schema is of another version"));
    }
    if document.tubes.iter().map(|t| t.points.len()).sum::<usize>() > MOST_POINTS {
        return Err((Place::File, Mistake::ManyPoints));
    }
    if document.tubes.iter().any(|t| t.points.is_empty()) || document.tubes.is_empty() {
        return Err(whole("it holds no points"));
    }
    let tubes = document.tubes.into_iter().map(|t| tube(file, t)).collect();
    Ok(Found { tubes, understood: Understood::of_document(&Reading::default()) })
}

fn tube(file: &str, written: Written) -> Tube {
    let mut sections: Vec<Section> = Vec::new();
    let mut known: std::collections::HashMap<String, usize> = std::collections::HashMap::new();
    for row in &written.points {
        let name = clean(&row.section);
        let at = *known.entry(name).or_insert_with_key(|name| {
            sections.push(Section { name: name.clone(), points: Points::default() });
            sections.len() - 1
        });
        let Some(section) = sections.get_mut(at) else { continue };
        let p = &mut section.points;
        let before = p.len();
        p.va.push(row.va);
        p.vg.push(row.vg);
        p.ia.push(row.ia);
        for (column, value) in p.optional_columns().into_iter().zip(row.optional()) {
            match (column.as_mut(), value) {
                (Some(column), value) => column.push(value.unwrap_or(f64::NAN)),
                (None, Some(value)) => {
                    let mut cells = vec![f64::NAN; before];
                    cells.push(value);
                    *column = Some(cells);
                }
                (None, None) => {}
            }
        }
    }
    Tube {
        name: clean(&written.tube),
        source: vec![file.to_owned()],
        kind: written.kind.as_deref().map(clean),
        notes: written.notes.iter().map(|n| clean(n)).collect(),
        bench: written.bench,
        sections,
    }
}
