//! The lot as points on a plane: two figures, or the first two principal components.

use nalgebra::{DMatrix, SymmetricEigen};
use serde::{Deserialize, Serialize};

use super::{PartOfLot, TRAITS};
use crate::sorting::{places_by, sort_by};

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

/// What one direction of the plane means.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dimension {
    /// What it is.
    pub title: String,
    /// Its unit; `1` for a ratio.
    pub unit: String,
    /// Least range worth showing: differences below it are the bench's and not the tubes'.
    pub least: f64,
}

/// The plane.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plane {
    /// What its directions mean, x first.
    pub dimensions: [Dimension; 2],
    /// The tubes that have both.
    pub spots: Vec<Spot>,
}

/// Least range worth showing, over the least scale on which tubes are told apart (by
/// construction: twice to both sides).
const LEAST_RANGE: f64 = 4.0;

/// Places the tubes of a part. An axis that does not exist has no spots.
pub fn plane(part: &PartOfLot, x: Axis, y: Axis) -> Plane {
    let components = principal(part);
    let (x, y) = (along(part, x, &components), along(part, y, &components));
    let spots = (0..part.tubes.len())
        .filter_map(|place| Some(Spot { place, x: x.values[place]?, y: y.values[place]? }))
        .collect();
    Plane { dimensions: [x.dimension, y.dimension], spots }
}

/// The directions in which the tubes of a part can be shown: figures that some of them have, and the
/// principal components.
pub fn axes(part: &PartOfLot) -> Vec<(Axis, String)> {
    let had = |t: &usize| part.tubes.iter().any(|m| m.figures.get(*t).is_some_and(Option::is_some));
    let figures = (0..TRAITS.len()).filter(had).map(|t| (Axis::Figure(t), TRAITS[t].name.to_owned()));
    let components = principal(part).into_iter().enumerate();
    let named = components.map(|(c, one)| (Axis::Principal(c), one.dimension.title));
    figures.chain(named).collect()
}

#[derive(Clone)]
struct Along {
    dimension: Dimension,
    values: Vec<Option<f64>>,
}

fn along(part: &PartOfLot, axis: Axis, components: &[Along]) -> Along {
    let found = match axis {
        Axis::Figure(t) => TRAITS.get(t).map(|one| {
            let values: Vec<Option<f64>> = part.tubes.iter().map(|m| m.figures.get(t).copied().flatten()).collect();
            let largest = values.iter().flatten().fold(0.0, |m: f64, v| m.max(v.abs()));
            let least = LEAST_RANGE * one.least * if one.by_ratio { largest } else { 1.0 };
            Along { dimension: Dimension { title: one.name.into(), unit: one.unit.into(), least }, values }
        }),
        Axis::Principal(c) => components.get(c).cloned(),
    };
    found.unwrap_or_else(|| Along {
        dimension: Dimension { title: String::new(), unit: "1".into(), least: 1.0 },
        values: vec![None; part.tubes.len()],
    })
}

/// The first two principal components of the grouped figures' logarithms, named by the
/// figures that they are made of. Tubes that lack a figure have no place.
fn principal(part: &PartOfLot) -> Vec<Along> {
    let used: Vec<usize> = (0..TRAITS.len()).filter(|&t| TRAITS[t].groups).collect();
    let rows: Vec<Option<Vec<f64>>> = part
        .tubes
        .iter()
        .map(|m| {
            used.iter().map(|&t| m.figures.get(t).copied().flatten().map(|v| 100.0 * TRAITS[t].compared(v))).collect()
        })
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
    places_by(&mut order, &|a, b| eigen.eigenvalues[b].total_cmp(&eigen.eigenvalues[a]));
    order
        .into_iter()
        .take(2)
        .enumerate()
        .map(|(place, k)| {
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
            let title = format!("{} component: {}", ["first", "second"][place], named(&way, &used));
            let least = LEAST_RANGE * 100.0 * super::LEAST;
            Along { dimension: Dimension { title, unit: "%".into(), least }, values }
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
    sort_by(&mut parts, |a, b| b.0.abs().total_cmp(&a.0.abs()));
    let says: Vec<String> =
        parts.iter().map(|(w, name)| format!("{} {name}", if *w > 0.0 { "more" } else { "less" })).collect();
    says.join(", ")
}
