//! gm, mu, rp and plate current of a section at an operating point, with intervals.

use crate::evidence::{Connection, Evidence, State};
use crate::handbook::Type;
use crate::law::{Applied, PARS, Par, Params};
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
    figures_of(evidence, section, kind).unwrap_or_default()
}

fn figures_of(evidence: &Evidence<'_>, section: usize, kind: Option<&Type>) -> Option<Figures> {
    let params = evidence.params(section)?;
    let s = &evidence.sections[section];
    let point = operating_point(evidence, section, kind)?;
    let here = slopes(params, point.volts, point.vg)?;
    let index = s.law_index?;
    let laws = evidence.laws.as_ref()?;
    let at = At { va: point.va, vg: point.vg };
    // In a pentode the law gives the cathode's current; the plate has its share.
    let share = 1.0 - s.drive.screen_share.unwrap_or(0.0);
    let free = |j: usize| laws.fit.is_free(index, j);
    let around = neighbours(params, free, point.volts, point.vg);
    let figure = |pick: fn(&Working) -> f64, factor: f64, unit: &str| {
        let estimate = factor * pick(&here);
        let mut gradient = [0.0; PARS];
        for n in &around {
            gradient[n.par] = (pick(&n.up) - pick(&n.down)) / n.apart;
        }
        let sd = libm::hypot(factor * laws.fit.variance(index, &gradient).sqrt(), LAW_ERROR * estimate);
        let usable = estimate.is_finite() && estimate > 0.0 && sd.is_finite();
        usable.then(|| Figure { estimate, low: estimate - Z95 * sd, high: estimate + Z95 * sd, unit: unit.into(), at })
    };
    let connection = s.drive.connection;
    let triode = connection == Connection::Triode;
    let grid = connection != Connection::Diode;
    Some(Figures {
        gm: grid.then(|| figure(|w| w.gm, share, "S")).flatten(),
        // The plate's own influence in a pentode is not in the law.
        mu: triode.then(|| figure(|w| w.gm / w.gp, 1.0, "1")).flatten(),
        rp: (triode || !grid).then(|| figure(|w| 1.0 / w.gp, 1.0, "ohm")).flatten(),
        ia: figure(|w| w.ia, share, "A"),
    })
}

/// Plate voltage, grid voltage, current and gm at the point where a stage would
/// work, from the fitted law.
pub(crate) fn working_point(evidence: &Evidence<'_>, section: usize) -> Option<(f64, f64, f64, f64)> {
    let params = evidence.params(section)?;
    let point = operating_point(evidence, section, None)?;
    let w = slopes(params, point.volts, point.vg)?;
    (w.gm > 0.0).then_some((point.va, point.vg, w.ia, w.gm))
}

/// A point at which figures are given.
struct Operating {
    va: f64,
    vg: f64,
    /// The voltage that drives the law: the plate's, or a pentode's screen's.
    volts: f64,
}

fn operating_point(evidence: &Evidence<'_>, section: usize, kind: Option<&Type>) -> Option<Operating> {
    let s = &evidence.sections[section];
    if !matches!(s.state, State::Controlled | State::Diode) {
        return None;
    }
    let range =
        |values: &[f64]| values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |r, v| (r.0.min(*v), r.1.max(*v)));
    let (va_range, vg_range, drive) = (range(&s.points.va), range(&s.points.vg), range(&s.drive.volts));
    let within = |r: (f64, f64), v: f64| (r.0..=r.1).contains(&v);
    let pentode = s.drive.connection == Connection::Pentode;
    // A screen is set to its voltage within a few per cent.
    let screen = |vg2: Option<f64>| vg2.is_none_or(|v| within((0.9 * drive.0, 1.1 * drive.1), v));
    let typical = kind.and_then(|k| k.section(section)).and_then(|k| {
        k.points
            .iter()
            .find(|p| p.vg2.is_some() == pentode && within(va_range, p.va) && within(vg_range, p.vg) && screen(p.vg2))
    });
    if let Some(point) = typical {
        return Some(Operating { va: point.va, vg: point.vg, volts: point.vg2.unwrap_or(point.va) });
    }
    let params = evidence.params(section)?;
    let law = params.law();
    let va = 0.5 * (va_range.0 + va_range.1);
    if s.state == State::Diode {
        return Some(Operating { va, vg: 0.0, volts: va });
    }
    let volts = if pentode { 0.5 * (drive.0 + drive.1) } else { va };
    let vg = law.grid_for(volts, DEFAULT_SHARE * law.current(volts, 0.0), volts)?;
    // Grid voltages are set in tenths; a rounder point reads better.
    let vg = (vg.clamp(vg_range.0, vg_range.1) * 10.0).round() / 10.0;
    Some(Operating { va, vg, volts })
}

/// Current and slopes of the whole model, feedback terms solved.
struct Working {
    ia: f64,
    gm: f64,
    gp: f64,
}

/// Solves the model at a point: `predict` takes the reading for its feedback.
///
/// What the feedback leaves falls as the reading rises, so that there is one root
/// and Newton's denominator is never below 1.
fn current(params: &Params, va: f64, vg: f64) -> f64 {
    /// Steps are done when they move the current by less than this share.
    const SETTLED: f64 = 1e-13;
    let mut gradient = [0.0; PARS];
    let settled = Applied { va, anode: va, vg, reading: 0.0, time: f64::INFINITY, ..Applied::default() };
    let mut ia = params.predict(&settled, &mut gradient).max(0.0);
    let resistance = params.get(Par::Ri);
    if resistance == 0.0 || ia == 0.0 {
        return ia;
    }
    for _ in 0..50 {
        let left = params.predict(&Applied { reading: ia, ..settled }, &mut gradient);
        // The gradient by the resistance is the feedback's slope times the reading.
        let slope = gradient[Par::Ri as usize] * resistance / ia;
        let step = (left - ia) / (1.0 - slope);
        ia = (ia + step).max(0.5 * ia);
        if step.abs() <= SETTLED * ia {
            break;
        }
    }
    ia
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

/// The working point with one parameter a little more and a little less.
struct Neighbours {
    par: usize,
    up: Working,
    down: Working,
    /// Difference of the parameter between them.
    apart: f64,
}

fn neighbours(params: &Params, free: impl Fn(usize) -> bool, va: f64, vg: f64) -> Vec<Neighbours> {
    (0..PARS)
        .filter(|&par| free(par))
        .filter_map(|par| {
            let h = 1e-4 * params.0[par].abs().max(1e-2);
            let (mut up, mut down) = (*params, *params);
            up.0[par] += h;
            down.0[par] -= h;
            Some(Neighbours { par, up: slopes(&up, va, vg)?, down: slopes(&down, va, vg)?, apart: 2.0 * h })
        })
        .collect()
}
