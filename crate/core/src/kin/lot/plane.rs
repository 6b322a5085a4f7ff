//! The lot as points on a plane: two figures, or the first two principal components.

use nalgebra::{DMatrix, SymmetricEigen};
use serde::{Deserialize, Serialize};

use super::{PartOfLot, TRAITS};

/// One direction of the plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Axis {
    /// A figure, by its place in [`TRAITS`].
    Figure(usize),
    /// A principal component of the grouped figures, from 0.
    Principal(usize),
}

/// A tube on the plane.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Spot {
    /// Its place in the part's tubes.
    pub place: usize,
    /// Where it lies.
    pub x: f64,
    /// See `x`.
    pub y: f64,
}

/// The plane.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plane {
    /// What the axes mean, with their units, x first.
    pub titles: [String; 2],
    /// Units, x first.
    pub units: [String; 2],
    /// The tubes that have both.
    pub spots: Vec<Spot>,
}

/// Places the tubes of a part. An axis that does not exist has no spots.
pub fn plane(part: &PartOfLot, x: Axis, y: Axis) -> Plane {
    let components = principal(part);
    let (x, y) = (along(part, x, &components), along(part, y, &components));
    let spots = (0..part.tubes.len())
        .filter_map(|place| Some(Spot { place, x: x.values[place]?, y: y.values[place]? }))
        .collect();
    Plane { titles: [x.title, y.title], units: [x.unit, y.unit], spots }
}

struct Along {
    title: String,
    unit: String,
    values: Vec<Option<f64>>,
}

fn along(part: &PartOfLot, axis: Axis, components: &[Along]) -> Along {
    let nothing = || Along { title: String::new(), unit: String::new(), values: vec![None; part.tubes.len()] };
    match axis {
        Axis::Figure(t) => TRAITS.get(t).map_or_else(nothing, |one| Along {
            title: one.name.into(),
            unit: one.unit.into(),
            values: part.tubes.iter().map(|m| m.figures[t]).collect(),
        }),
        Axis::Principal(c) => components.get(c).map_or_else(nothing, |c| Along {
            title: c.title.clone(),
            unit: c.unit.clone(),
            values: c.values.clone(),
        }),
    }
}

/// The first two principal components of the grouped figures' logarithms, named by the
/// figures that they are made of. Tubes that lack a figure have no place.
fn principal(part: &PartOfLot) -> Vec<Along> {
    let used: Vec<usize> = (0..TRAITS.len()).filter(|&t| TRAITS[t].groups).collect();
    let rows: Vec<Option<Vec<f64>>> = part
        .tubes
        .iter()
        .map(|m| used.iter().map(|&t| m.figures[t].map(|v| 100.0 * TRAITS[t].compared(v))).collect())
        .collect();
    let whole: Vec<&Vec<f64>> = rows.iter().flatten().collect();
    let n = whole.len();
    if n < 2 {
        return Vec::new();
    }
    let width = used.len();
    let mean: Vec<f64> = (0..width).map(|j| whole.iter().map(|r| r[j]).sum::<f64>() / n as f64).collect();
    let covariance = DMatrix::from_fn(width, width, |i, j| {
        whole.iter().map(|r| (r[i] - mean[i]) * (r[j] - mean[j])).sum::<f64>() / (n - 1) as f64
    });
    let eigen = SymmetricEigen::new(covariance);
    let mut order: Vec<usize> = (0..width).collect();
    order.sort_by(|a, b| eigen.eigenvalues[*b].total_cmp(&eigen.eigenvalues[*a]));
    order
        .into_iter()
        .take(2)
        .map(|k| {
            let mut way: Vec<f64> = eigen.eigenvectors.column(k).iter().copied().collect();
            // One of the two signs: the largest part points up.
            let largest = way.iter().copied().fold(0.0, |m: f64, v| if v.abs() > m.abs() + 1e-9 { v } else { m });
            if largest < 0.0 {
                way.iter_mut().for_each(|v| *v = -*v);
            }
            let values = rows
                .iter()
                .map(|r| r.as_ref().map(|r| r.iter().zip(&mean).zip(&way).map(|((v, m), w)| (v - m) * w).sum()))
                .collect();
            Along { title: named(&way, &used), unit: "%".into(), values }
        })
        .collect()
}

/// What a component means: its figures with a say, and which way each goes.
fn named(way: &[f64], used: &[usize]) -> String {
    /// A part below this share of the largest has no say.
    const SAY: f64 = 0.4;
    let most = way.iter().copied().map(f64::abs).fold(0.0, f64::max);
    let mut parts: Vec<(f64, &str)> =
        way.iter().zip(used).map(|(w, &t)| (*w, TRAITS[t].name)).filter(|p| p.0.abs() >= SAY * most).collect();
    parts.sort_by(|a, b| b.0.abs().total_cmp(&a.0.abs()));
    let says: Vec<String> =
        parts.iter().map(|(w, name)| format!("{} {name}", if *w > 0.0 { "more" } else { "less" })).collect();
    says.join(", ")
}
