//! Pointing at tubes in the picture of a lot.

use serde::Serialize;

use super::{LotFigure, Spot, said};
use crate::figure::reading::Step;
use crate::figure::strokes::Place;
use crate::figure::words::capital;
use crate::sorting::sort_by;

/// A pointer farther than this from every tube points at none, CSS pixels
/// (by construction: a fingertip).
const REACH: f64 = 44.0;
/// Tubes of a long step (by construction).
const STRIDE: usize = 10;

/// The tube that is pointed at.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Pointed {
    /// Its place in what was compared.
    pub index: usize,
    /// The parts as shown: a name and its value each.
    pub parts: Vec<(String, String)>,
}

impl LotFigure {
    /// The tube nearest to a place; `None` where none is near.
    pub fn nearest(&self, (x, y): Place) -> Option<Pointed> {
        let distance = |s: &Spot| libm::hypot(s.at.0 - x, s.at.1 - y);
        let nearest = self.spots.iter().min_by(|a, b| distance(a).total_cmp(&distance(b)))?;
        (distance(nearest) <= REACH).then(|| self.pointed(nearest))
    }

    /// The tube to which a step leads: left and right by the figure across, up and down by
    /// the one that runs up. From nowhere it leads to the first from the left.
    pub fn step(&self, from: Option<usize>, step: Step) -> Option<Pointed> {
        let mut order: Vec<&Spot> = self.spots.iter().collect();
        if matches!(step, Step::Up | Step::Down) {
            sort_by(&mut order, |a, b| b.at.1.total_cmp(&a.at.1).then(a.index.cmp(&b.index)));
        }
        let last = order.len().checked_sub(1)?;
        let at = from.and_then(|index| order.iter().position(|s| s.index == index));
        let to = match (at, step) {
            (_, Step::First) => 0,
            (_, Step::Last) => last,
            (None, _) => 0,
            (Some(at), Step::Back | Step::Down) => at.saturating_sub(1),
            (Some(at), Step::Forward | Step::Up) => (at + 1).min(last),
            (Some(at), Step::StrideBack) => at.saturating_sub(STRIDE),
            (Some(at), Step::StrideForward) => (at + STRIDE).min(last),
        };
        Some(self.pointed(order[to]))
    }

    fn pointed(&self, spot: &Spot) -> Pointed {
        let [x, y] = &self.dimensions;
        let mut parts =
            vec![("Tube".to_owned(), if spot.tube.is_empty() { "unnamed".into() } else { spot.tube.clone() })];
        parts.extend(spot.group_name.iter().map(|name| ("Group".to_owned(), name.clone())));
        parts.push((capital(&x.title), said(spot.value.0, x)));
        parts.push((capital(&y.title), said(spot.value.1, y)));
        if !spot.odd.is_empty() {
            parts.push(("Odd".to_owned(), spot.odd.clone()));
        }
        Pointed { index: spot.index, parts }
    }
}
