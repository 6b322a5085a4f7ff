//! Flat tops: a run of equal readings at the end of a curve that was still rising.
//! A tube bends over gradually; only an instrument stops at a value.

use super::noise::Noise;
use crate::sweep::{Curve, Points};

/// A level at which curves stop.
#[derive(Debug, Clone, PartialEq)]
pub struct Plateau {
    /// The level, A.
    pub level: f64,
    /// Points on it.
    pub points: Vec<usize>,
    /// How many curves stop there.
    pub curves: usize,
}

/// Fewest equal readings that make a flat top: three can be chance on a coarse
/// meter where a curve is nearly horizontal; with the growth asked for below
/// they cannot.
const FEWEST: usize = 3;
/// Growth the curve would have shown over the flat run, in widths of the band.
const MISSED_GROWTH: f64 = 10.0;
/// Half width of the band in standard deviations of the noise.
const BAND: f64 = 4.0;
/// Two levels closer than this share are one.
const SAME_LEVEL: f64 = 0.005;
/// Slope just before the flat part, as a share of the steepest on the curve, for
/// it to be a corner and not a bend (a curve of the 3/2 power is steepest at its
/// top; a smooth ceiling takes nine tenths of the slope before it looks flat).
const FULL_RISE: f64 = 0.4;
/// A limit acts after the amplifier's noise and shows none of it; readings this
/// much quieter than the noise elsewhere are clipped even on a short run.
const QUIET: f64 = 0.25;

/// Looks for a flat top; `None` where every curve rises to its end.
pub fn plateau(points: &Points, curves: &[Curve], noise: &Noise) -> Option<Plateau> {
    let mut found: Vec<Plateau> = Vec::new();
    for curve in curves {
        let Some((level, index)) = flat_end(points, curve, noise) else { continue };
        match found.iter_mut().find(|p| (p.level - level).abs() < SAME_LEVEL * level) {
            Some(p) => {
                p.points.extend(index);
                p.curves += 1;
            }
            None => found.push(Plateau { level, points: index, curves: 1 }),
        }
    }
    let mut plateau = found.into_iter().max_by_key(|p| p.points.len())?;
    // With the level known, a curve that only just reaches it is clipped too.
    let band = (SAME_LEVEL * plateau.level).min((BAND * noise.sd(plateau.level)).max(noise.step));
    let reaches = |i: &usize| points.ia[*i] >= plateau.level - band && !plateau.points.contains(i);
    let more: Vec<usize> = (0..points.len()).filter(reaches).collect();
    plateau.points.extend(more);
    Some(plateau)
}

fn flat_end(points: &Points, curve: &Curve, noise: &Noise) -> Option<(f64, Vec<usize>)> {
    let run = points.running(curve.running);
    let y: Vec<f64> = curve.index.iter().map(|&i| points.ia[i]).collect();
    let last = *y.last()?;
    let band = (BAND * noise.sd(last)).max(1.5 * noise.step);
    let start = y.iter().rposition(|v| (v - last).abs() > band).map_or(0, |at| at + 1);
    let flat = y.len() - start;
    if flat < FEWEST || last <= 20.0 * noise.floor {
        return None;
    }
    // Growth missed: the slope of the part before, carried on. A curve that is
    // flat from its first point is judged by how quiet it is.
    let spread = y[start..].iter().fold(0.0f64, |m, v| m.max((v - last).abs()));
    let quiet = spread <= QUIET * noise.sd(last).max(noise.step) || spread <= noise.step;
    if start >= 2 {
        let (a, b) = (curve.index[start - 2], curve.index[start - 1]);
        let slope = (points.ia[b] - points.ia[a]) / (run[b] - run[a]);
        let reach = run[*curve.index.last()?] - run[b];
        // The last point before the flat part may itself be cut: its step is too small, never too large.
        // A limit cuts a curve in full rise; a cathode that is worn has slowed down long before.
        let rises = curve.index[..start].windows(2).map(|w| {
            let step = run[w[1]] - run[w[0]];
            if step > 0.0 { (points.ia[w[1]] - points.ia[w[0]]) / step } else { 0.0 }
        });
        let steepest = rises.fold(0.0, f64::max);
        let before = curve.index[..start]
            .iter()
            .rev()
            .nth(2)
            .map_or(slope, |&i| (points.ia[b] - points.ia[i]) / (run[b] - run[i]).max(1e-9));
        if slope.max(before) < FULL_RISE * steepest {
            return None;
        }
        let missed = slope * reach;
        if !(missed > MISSED_GROWTH * spread.max(noise.step) && missed > 2.0 * band) {
            return None;
        }
    } else if !quiet {
        return None;
    }
    Some((last, curve.index[start..].to_vec()))
}
