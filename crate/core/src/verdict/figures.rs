//! gm, mu, rp and plate current of a section at an operating point, with intervals.

use crate::evidence::{Evidence, State};
use crate::handbook::Type;
use crate::law::{Applied, PARS, Params};
use crate::numerics::Z95;
use crate::report::{At, Figure, Figures};

/// The fit's own error of a slope on top of the parameters' errors: laws that
/// fit the same points equally well differ by this in gm and rp (measured here
/// on the laws of reference section 1, see DEVELOPERS.md).
const LAW_ERROR: f64 = 0.02;
/// Where no typical point of the handbook lies inside the sweep, the point at
/// the middle plate voltage with this share of its zero-bias current.
const DEFAULT_SHARE: f64 = 0.25;

/// Figures at the handbook's first typical point inside the sweep, or at a point
/// in its middle. Empty for a section that has no law.
pub fn figures(evidence: &Evidence<'_>, section: usize, kind: Option<&Type>) -> Figures {
    let Some(params) = evidence.params(section) else { return Figures::default() };
    let Some((va, vg)) = operating_point(evidence, section, kind) else { return Figures::default() };
    let Some(here) = slopes(params, va, vg) else { return Figures::default() };
    let Some(index) = evidence.sections[section].law_index else { return Figures::default() };
    let Some(laws) = &evidence.laws else { return Figures::default() };
    let at = At { va, vg };
    let figure = |pick: fn(&Working) -> f64, unit: &str| {
        let estimate = pick(&here);
        let gradient = gradient(params, va, vg, pick);
        let sd = laws.fit.variance(index, &gradient).sqrt().hypot(LAW_ERROR * estimate);
        let usable = estimate.is_finite() && estimate > 0.0 && sd.is_finite();
        usable.then(|| Figure { estimate, low: estimate - Z95 * sd, high: estimate + Z95 * sd, unit: unit.into(), at })
    };
    Figures {
        gm: figure(|w| w.gm, "S"),
        mu: figure(|w| w.gm / w.gp, "1"),
        rp: figure(|w| 1.0 / w.gp, "ohm"),
        ia: figure(|w| w.ia, "A"),
    }
}

/// Plate voltage, grid voltage, current and gm at the point where a stage would
/// work, from the fitted law.
pub(crate) fn working_point(evidence: &Evidence<'_>, section: usize) -> Option<(f64, f64, f64, f64)> {
    let params = evidence.params(section)?;
    let (va, vg) = operating_point(evidence, section, None)?;
    let w = slopes(params, va, vg)?;
    (w.gm > 0.0).then_some((va, vg, w.ia, w.gm))
}

fn operating_point(evidence: &Evidence<'_>, section: usize, kind: Option<&Type>) -> Option<(f64, f64)> {
    let s = &evidence.sections[section];
    if s.state != State::Controlled {
        return None;
    }
    let range =
        |values: &[f64]| values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(*v), r.1.max(*v)));
    let (va_range, vg_range) = (range(&s.points.va), range(&s.points.vg));
    let inside = |va: f64, vg: f64| (va_range.0..=va_range.1).contains(&va) && (vg_range.0..=vg_range.1).contains(&vg);
    let typical = kind.and_then(|k| k.section(section)).and_then(|k| k.points.iter().find(|p| inside(p.va, p.vg)));
    if let Some(point) = typical {
        return Some((point.va, point.vg));
    }
    let params = evidence.params(section)?;
    let va = 0.5 * (va_range.0 + va_range.1);
    let law = params.law();
    let vg = law.grid_for(va, DEFAULT_SHARE * law.current(va, 0.0), va)?;
    // Grid voltages are set in tenths; a rounder point reads better.
    Some((va, (vg.clamp(vg_range.0, vg_range.1) * 10.0).round() / 10.0))
}

/// Current and slopes of the whole model, feedback terms solved.
struct Working {
    ia: f64,
    gm: f64,
    gp: f64,
}

/// Solves the model at a point: `predict` takes the reading for its feedback.
fn current(params: &Params, va: f64, vg: f64) -> f64 {
    let mut unused = [0.0; PARS];
    let mut low = 0.0;
    let settled = Applied { va, vg, reading: 0.0, time: f64::INFINITY, before: 0.0 };
    let mut high = params.predict(&settled, &mut unused).max(0.0);
    for _ in 0..50 {
        let middle = 0.5 * (low + high);
        if params.predict(&Applied { reading: middle, ..settled }, &mut unused) > middle {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

fn slopes(params: &Params, va: f64, vg: f64) -> Option<Working> {
    // Steps of a thousandth of the voltage that one mu-th of the plate is worth.
    let hg = 1e-3 * va / params.law().mu;
    let ha = 1e-3 * va;
    let ia = current(params, va, vg);
    let gm = (current(params, va, vg + hg) - current(params, va, vg - hg)) / (2.0 * hg);
    let gp = (current(params, va + ha, vg) - current(params, va - ha, vg)) / (2.0 * ha);
    (ia.is_finite() && gm.is_finite() && gp > 0.0).then_some(Working { ia, gm, gp })
}

fn gradient(params: &Params, va: f64, vg: f64, pick: fn(&Working) -> f64) -> [f64; PARS] {
    let mut out = [0.0; PARS];
    for (j, g) in out.iter_mut().enumerate() {
        let h = 1e-4 * params.0[j].abs().max(1e-2);
        let (mut up, mut down) = (*params, *params);
        up.0[j] += h;
        down.0[j] -= h;
        if let (Some(up), Some(down)) = (slopes(&up, va, vg), slopes(&down, va, vg)) {
            *g = (pick(&up) - pick(&down)) / (2.0 * h);
        }
    }
    out
}
