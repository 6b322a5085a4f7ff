//! The features: what of a section's evidence the model looks at.
//!
//! All are pure numbers that do not depend on the size of the tube. What can run over
//! decades goes through `soft`, which is linear near zero and a logarithm far from it,
//! so that one wild figure does not outweigh the rest. A figure that a sweep cannot give
//! is `None`, and the model leaves it out; none is ever made up.

use crate::evidence::{Departure, Drive, Evidence, Found, Path, SURE, SectionEvidence, State};
use crate::law::Par;
use crate::numerics::{Estimate, logit};
use crate::sweep::MeterPlace;

/// One feature.
pub struct Feature {
    /// Short name, as the model file has it.
    pub name: &'static str,
    /// What it is, in words.
    pub meaning: &'static str,
    /// Lowest and highest value it can take.
    pub range: (f64, f64),
    read: fn(&View<'_>) -> Option<f64>,
}

/// A section among its evidence.
struct View<'e> {
    evidence: &'e Evidence<'e>,
    at: usize,
}

/// ln(z + √(z² + 1)), odd: linear near zero, a logarithm far from it.
pub(super) fn soft(z: f64) -> f64 {
    libm::asinh(z)
}

/// Features of a section, in the order of [`FEATURES`], kept inside their ranges.
pub fn of(evidence: &Evidence<'_>, section: usize) -> Vec<Option<f64>> {
    let view = View { evidence, at: section };
    FEATURES.iter().map(|f| (f.read)(&view).filter(|v| !v.is_nan()).map(|v| v.clamp(f.range.0, f.range.1))).collect()
}

impl<'e> View<'e> {
    fn s(&self) -> &'e SectionEvidence<'e> {
        &self.evidence.sections[self.at]
    }

    /// The other section of a tube with two.
    fn twin(&self) -> Option<usize> {
        (self.evidence.sections.len() == 2).then(|| 1 - self.at)
    }

    fn top(&self) -> f64 {
        self.s().gross.top.max(f64::MIN_POSITIVE)
    }

    fn highest_plate(&self) -> f64 {
        self.s().points.va.iter().copied().fold(1.0, f64::max)
    }

    fn par(&self, par: Par) -> Option<f64> {
        Some(self.evidence.params(self.at)?.get(par))
    }

    /// A parameter's difference to the twin's.
    fn differs(&self, par: Par) -> Option<f64> {
        let twin = self.evidence.params(self.twin()?)?;
        Some(self.par(par)? - twin.get(par))
    }

    /// Log-odds of a path of the floor or the grid current.
    fn odds(&self, path: Path) -> Option<f64> {
        let leaks = &self.s().leaks;
        leaks.estimate(path)?;
        let p = leaks.probability(path).clamp(1e-9, 1.0 - 1e-9);
        Some(soft(logit(p)))
    }

    /// Log-odds that at least one of some paths is there.
    fn odds_of_any(&self, paths: &[Path]) -> Option<f64> {
        let leaks = &self.s().leaks;
        paths.iter().find_map(|p| leaks.estimate(*p))?;
        Some(soft(logit(leaks.probability_of_any(paths).clamp(1e-9, 1.0 - 1e-9))))
    }

    /// What reading of the evidence the twin has.
    fn of_twin(&self, read: fn(&View<'_>) -> Option<f64>) -> Option<f64> {
        read(&View { evidence: self.evidence, at: self.twin()? })
    }

    fn size(&self, path: Path) -> Option<Estimate> {
        self.s().leaks.estimate(path)
    }

    fn law(&self) -> Option<&'e crate::evidence::Laws> {
        self.s().law_index.and(self.evidence.laws.as_ref())
    }

    /// Departures found in this section, or in all alike.
    fn found(&self) -> impl Iterator<Item = &'e Found> {
        let at = self.at;
        self.law().into_iter().flat_map(|l| &l.found).filter(move |f| f.section.is_none_or(|s| s == at))
    }

    /// Log-odds of a departure: as found, as a rival of one found, or none.
    fn departure(&self, which: &[Departure]) -> Option<f64> {
        self.law()?;
        let mut best = 0.0_f64;
        for f in self.found() {
            if which.contains(&f.departure) {
                best = best.max(f.log_odds.min(SURE));
            }
            for (_, behind) in f.rivals.iter().filter(|r| which.contains(&r.0)) {
                best = best.max((f.log_odds - behind).min(SURE));
            }
        }
        Some(soft(best))
    }

    /// By how much the surest departure here leads its nearest rival of another kind.
    fn lead(&self) -> Option<f64> {
        self.law()?;
        let surest = self.found().max_by(|a, b| a.log_odds.total_cmp(&b.log_odds));
        let Some(f) = surest else { return Some(0.0) };
        let nearest = f.rivals.iter().map(|r| r.1).fold(f.log_odds.min(SURE), f64::min);
        Some(soft(nearest))
    }

    fn departs(&self, which: Departure) -> bool {
        self.found().any(|f| f.departure == which)
    }
}

/// Departures whose size is zero where they were not found.
fn sized(v: &View<'_>, which: Departure, size: impl Fn(&View<'_>) -> Option<f64>) -> Option<f64> {
    v.law()?;
    if v.departs(which) { size(v) } else { Some(0.0) }
}

/// Mean residual of the first lively readings less that of the rest, per cent and standard
/// deviations.
fn start(v: &View<'_>) -> Option<(f64, f64)> {
    /// Readings below this share of the top say more of the tail than of the order.
    const LIVELY: f64 = 0.05;
    /// The beginning, as a share of the readings, and fewest of them.
    const BEGINNING: (usize, usize) = (8, 3);
    let (laws, at) = (v.law()?, v.s().law_index?);
    let o = &laws.observed[at];
    let left: Vec<f64> = (0..o.len())
        .filter(|&i| o.ia[i] > LIVELY * v.top())
        .map(|i| -laws.fit.residuals[at][i] * o.sigma[i] / o.ia[i])
        .collect();
    let first = left.len() / BEGINNING.0;
    if first < BEGINNING.1 {
        return None;
    }
    let mean = |part: &[f64]| part.iter().sum::<f64>() / part.len() as f64;
    let (a, b) = (mean(&left[..first]), mean(&left[first..]));
    let spread = (left[first..].iter().map(|r| (r - b).powi(2)).sum::<f64>() / (left.len() - first) as f64).sqrt();
    let sd = (spread / (first as f64).sqrt()).max(1e-6);
    Some((soft(100.0 * (a - b)), soft((a - b) / sd)))
}

const FLOORS: [Path; 3] = [Path::PlateOffset, Path::PlateCathode, Path::PlateGrid];
const REVERSE: [Path; 5] = [Path::PlateGrid, Path::GridCathode, Path::Ions, Path::GridOffset, Path::Emission];
const CONSTANTS: [Path; 2] = [Path::GridOffset, Path::Emission];

fn share_of(values: usize, of: usize) -> f64 {
    values as f64 / of.max(1) as f64
}

fn drives(drive: &Drive) -> f64 {
    drive.volts.iter().copied().fold(1.0, f64::max)
}

macro_rules! features {
    ($($name:literal, $meaning:literal, $low:literal .. $high:literal, $read:expr;)+) => {
        &[$(Feature { name: $name, meaning: $meaning, range: ($low, $high), read: $read }),+]
    };
}

/// Every feature. `soft` is the inverse hyperbolic sine.
pub const FEATURES: &[Feature] = features![
    // Whether it conducts at all.
    "control", "share of the current that the grid controls, soft of per cent", 0.0..6.0,
        |v| Some(soft(100.0 * (1.0 - v.s().gross.control)));
    "strength", "ln of the top current over the strongest section's or the type's", -8.0..3.0, |v| {
        let strongest = v.evidence.sections.iter().map(|s| s.gross.top).fold(0.0, f64::max);
        let s = v.s();
        let typical = s.likeness.as_ref().map_or(1.0, |l| l.current_ratio.min(1.0));
        Some(libm::log(v.top() / strongest.max(f64::MIN_POSITIVE)) + libm::log(typical))
    };
    "plate exponent", "exponent of the top current in the plate voltage", -1.0..4.0, |v| v.s().gross.plate_exponent;
    "deep exponent", "exponent of the lowest current in the plate voltage", -2.0..8.0, |v| v.s().gross.deep_exponent;
    "lowest", "ln of the lowest reading's share of the top", -12.0..0.0,
        |v| Some(libm::log(v.s().reach.lowest_share.max(1e-6)));
    "lawless", "conducts without its grid's control, or not at all: 0 or 1", 0.0..1.0,
        |v| Some(f64::from(u8::from(!matches!(v.s().state, State::Controlled | State::Diode))));
    // The curves.
    "exponent", "exponent of the fitted law", 0.8..2.2, |v| v.par(Par::X);
    "top bend", "exponent at the top less the law's", -1.5..1.5,
        |v| Some(v.s().top_exponent?.value - v.par(Par::X)?);
    "tail", "ln of the tail index", -2.0..5.0, |v| Some(libm::log(v.s().tail_index?.value.max(0.1)));
    "order", "last less first quarter of the readings, soft of per cent", -5.0..5.0,
        |v| Some(soft(100.0 * v.s().order_effect?.value));
    "order known", "the same in standard deviations, soft", -5.0..5.0, |v| Some(soft(v.s().order_effect?.z()));
    "law error", "ln of the law's own relative error", -9.0..-2.0, |v| Some(libm::log(v.law()?.law_error.max(1e-4)));
    "misfit", "ln of the residuals at the top over their noise", -3.0..6.0, |v| {
        let noise = v.s().noise.sd(v.top()) / v.top();
        Some(libm::log(v.law()?.misfit.max(1e-6) / noise.max(1e-6)))
    };
    "strangeness", "ln of how far the shape is from published laws", -3.0..6.0,
        |v| Some(libm::log(v.law()?.strangeness.max(0.05)));
    "ceiling", "log-odds of an emission ceiling, soft", 0.0..7.0, |v| v.departure(&[Departure::Ceiling]);
    "ceiling size", "top current over the ceiling, soft of tenths", 0.0..5.0,
        |v| sized(v, Departure::Ceiling, |v| Some(soft(10.0 * v.par(Par::Ceiling)? * v.top())));
    "degeneration", "log-odds of a resistance in the cathode, soft", 0.0..7.0, |v| v.departure(&[Departure::Degeneration]);
    "degeneration size", "resistance by transconductance at the top, soft of tenths", 0.0..5.0, |v| {
        sized(v, Departure::Degeneration, |v| {
            let gm = v.evidence.params(v.at)?.law().slopes(drives(&v.s().drive), 0.0).gm;
            Some(soft(10.0 * v.par(Par::Ri)? * gm))
        })
    };
    "unevenness", "log-odds of a coarser part of the grid, soft", 0.0..7.0, |v| v.departure(&[Departure::Unevenness]);
    "unevenness size", "share under the coarser part, soft of hundredths", 0.0..5.0,
        |v| sized(v, Departure::Unevenness, |v| Some(soft(100.0 * v.par(Par::Share)?)));
    "warm-up", "log-odds of a warm-up, soft", 0.0..7.0, |v| v.departure(&[Departure::WarmUp, Departure::WarmUpOnce]);
    "warm-up size", "share missing at the start, soft of hundredths", 0.0..5.0, |v| {
        v.law()?;
        Some(soft(100.0 * v.par(Par::Deficit)?))
    };
    "lead", "log-odds of the surest departure against its nearest rival, soft", -3.0..7.0, |v| v.lead();
    "wild", "readings that jump off their curve, soft of their number", 0.0..5.0, |v| {
        let laws = v.law()?;
        Some(soft(laws.wild[v.s().law_index?].len() as f64))
    };
    // The floor and the grid current.
    "offset", "log-odds of a constant on the plate meter, soft", -5.0..5.0, |v| v.odds(Path::PlateOffset);
    "offset size", "that constant over the top current, soft of hundredths of a per cent", -8.0..8.0,
        |v| Some(soft(1e4 * v.size(Path::PlateOffset)?.value / v.top()));
    "offset of twin", "log-odds of a constant on the plate meter in the other section, soft", -5.0..5.0,
        |v| v.of_twin(|t| t.odds(Path::PlateOffset));
    "floor", "log-odds of any floor, soft", -5.0..5.0, |v| v.odds_of_any(&FLOORS);
    "floor of twin", "the same in the other section", -5.0..5.0, |v| v.of_twin(|t| t.odds_of_any(&FLOORS));
    "cathode lead", "whether the current meter is in the cathode lead: 0 or 1", 0.0..1.0,
        |v| Some(f64::from(u8::from(v.evidence.meter == MeterPlace::CathodeLead)));
    "plate-cathode", "log-odds of a path from plate to cathode, soft", -5.0..5.0, |v| v.odds(Path::PlateCathode);
    "plate-cathode size", "its current over the top current, soft of hundredths of a per cent", -8.0..9.0,
        |v| Some(soft(1e4 * v.size(Path::PlateCathode)?.value * v.highest_plate() / v.top()));
    "plate-grid", "log-odds of a path from plate to grid, soft", -5.0..5.0, |v| v.odds(Path::PlateGrid);
    "plate-grid size", "its current over the top current, soft of hundredths of a per cent", -8.0..9.0,
        |v| Some(soft(1e4 * v.size(Path::PlateGrid)?.value * v.highest_plate() / v.top()));
    "coarse tail", "log-odds of what a coarse part lets through past cutoff, soft", -5.0..5.0, |v| v.odds(Path::CoarseTail);
    "grid-cathode", "log-odds of a path from grid to cathode, soft", -5.0..5.0, |v| v.odds(Path::GridCathode);
    "grid-cathode size", "its current at the most negative grid over the top current, soft of millionths", -9.0..16.0, |v| {
        let deepest = v.s().points.vg.iter().copied().fold(-1.0, f64::min);
        Some(soft(-1e6 * v.size(Path::GridCathode)?.value * deepest / v.top()))
    };
    "reverse current", "log-odds of any current out of the grid, soft", -5.0..5.0, |v| v.odds_of_any(&REVERSE);
    "grid constant", "log-odds of a constant current out of the grid or on its meter, soft", -5.0..5.0,
        |v| v.odds_of_any(&CONSTANTS);
    "grid constant of twin", "the same in the other section", -5.0..5.0, |v| v.of_twin(|t| t.odds_of_any(&CONSTANTS));
    "grid constant size", "that current over the top current, soft of millionths", -16.0..16.0, |v| {
        let leaks = &v.s().leaks;
        let (e, o) = (leaks.probability(Path::Emission), leaks.probability(Path::GridOffset));
        let emitted = v.size(Path::Emission).or(v.size(Path::GridOffset))?;
        let offset = v.size(Path::GridOffset).map_or(0.0, |o| -o.value);
        Some(soft(1e6 * if e >= o { emitted.value } else { offset } / v.top()))
    };
    "ions", "log-odds of ions, soft", -5.0..5.0, |v| v.odds(Path::Ions);
    "ion ratio", "ions per electron, soft of millionths", -5.0..12.0, |v| Some(soft(1e6 * v.size(Path::Ions)?.value));
    "grid offset", "log-odds of a constant on the grid meter, soft", -5.0..5.0, |v| v.odds(Path::GridOffset);
    "emission", "log-odds of electrons from the grid, soft", -5.0..5.0, |v| v.odds(Path::Emission);
    // The bench.
    "clipped", "share of the curves with a flat top at one level", 0.0..1.0, |v| {
        let s = v.s();
        Some(s.plateau.as_ref().map_or(0.0, |p| share_of(p.curves, s.curves.len())))
    };
    "clipped readings", "share of the readings at that level, soft of per cent", 0.0..6.0, |v| {
        let s = v.s();
        Some(s.plateau.as_ref().map_or(0.0, |p| soft(100.0 * share_of(p.points.len(), s.points.len()))))
    };
    "clipped of twin", "share of the other section's curves with a flat top", 0.0..1.0, |v| {
        v.of_twin(|t| Some(t.s().plateau.as_ref().map_or(0.0, |p| share_of(p.curves, t.s().curves.len()))))
    };
    "behind a resistance", "whether the grid is driven through a resistance: 0 or 1", 0.0..1.0,
        |v| Some(f64::from(u8::from(v.evidence.rs > 0.0)));
    "start", "what the law leaves of the first eighth of the readings less the rest, soft of per cent", -6.0..6.0,
        |v| Some(start(v)?.0);
    "start known", "the same in standard deviations, soft", -6.0..6.0, |v| Some(start(v)?.1);
    "noise", "ln of the relative noise", -12.0..0.0, |v| Some(libm::log(v.s().noise.relative.max(1e-5)));
    "noise floor", "ln of the constant noise over the top current", -17.0..0.0,
        |v| Some(libm::log((v.s().noise.floor / v.top()).max(1e-7)));
    "step", "ln of the meter's step over the top current", -17.0..0.0, |v| {
        let step = v.s().noise.step;
        (step > 0.0).then(|| libm::log(step / v.top()))
    };
    "unrest", "ln of the scatter above some transconductance over that below", -3.0..5.0,
        |v| Some(libm::log(v.s().unrest.as_ref()?.excess.max(0.1)));
    "unrest known", "the same less what chance gives", -3.0..5.0, |v| Some(v.s().unrest.as_ref()?.at_least);
    "sag", "fall of the plate voltage that was read, soft of hundredths", 0.0..5.0, |v| {
        let s = v.s();
        s.reads_plate_voltage.then(|| s.sag.map_or(0.0, |sag| soft(100.0 * sag.share)))
    };
    // Against the twin and the handbook.
    "contrast", "ln of the current over the twin's, soft of per cent", -6.0..6.0, |v| {
        let c = v.evidence.contrast.as_ref()?;
        let sign = if v.at == 0 { 1.0 } else { -1.0 };
        Some(soft(100.0 * sign * c.ratio.value))
    };
    "unlike twin", "the same without its sign, in tenths", 0.0..4.0,
        |v| Some(10.0 * v.evidence.contrast.as_ref()?.ratio.value.abs());
    "unlike twin known", "the same in standard deviations, soft", 0.0..6.0,
        |v| Some(soft(v.evidence.contrast.as_ref()?.ratio.z().abs()));
    "bend differs", "exponent at the top less the twin's", -1.5..1.5,
        |v| Some(v.s().top_exponent?.value - v.of_twin(|t| Some(t.s().top_exponent?.value))?);
    "tail differs", "ln of the tail index over the twin's", -4.0..4.0, |v| {
        let tail = |v: &View<'_>| Some(libm::log(v.s().tail_index?.value.max(0.1)));
        Some(tail(v)? - v.of_twin(tail)?)
    };
    "wild of twin", "readings of the other section that jump off their curve, soft of their number", 0.0..5.0,
        |v| v.of_twin(|t| Some(soft(t.law()?.wild[t.s().law_index?].len() as f64)));
    "scale mismatch", "log-odds that the sections differ by themselves, soft", -5.0..5.0,
        |v| Some(soft(logit(v.s().scale.as_ref()?.mismatch.clamp(1e-9, 1.0 - 1e-9))));
    "ceiling elsewhere", "log-odds of the surest departure of the other section alone, soft", 0.0..7.0, |v| {
        let twin = v.twin()?;
        let laws = v.law()?;
        let odds = laws.found.iter().filter(|f| f.section == Some(twin)).map(|f| f.log_odds).fold(0.0, f64::max);
        Some(soft(odds))
    };
    "perveance differs", "ln of the perveance over the twin's, soft of per cent", -6.0..6.0,
        |v| Some(soft(100.0 * v.differs(Par::LnP)?));
    "mu differs", "ln of mu over the twin's, soft of per cent", -6.0..6.0, |v| Some(soft(100.0 * v.differs(Par::LnMu)?));
    "contact differs", "contact potential less the twin's over the grid's base, soft of per cent", -6.0..6.0, |v| {
        let base = drives(&v.s().drive) / libm::exp(v.par(Par::LnMu)?);
        Some(soft(100.0 * v.differs(Par::Phi)? / base))
    };
    "grid scale", "log-odds of a scaled grid axis, soft", -5.0..5.0,
        |v| Some(soft(logit(v.s().scale.as_ref()?.probability.clamp(1e-9, 1.0 - 1e-9))));
    "strength of twin", "ln of the top current over the twin's", -8.0..8.0, |v| {
        let twin = v.evidence.sections[v.twin()?].gross.top.max(f64::MIN_POSITIVE);
        Some(libm::log(v.top() / twin))
    };
    "label", "log-odds that the label is right, soft", -5.0..5.0,
        |v| Some(soft(logit(v.s().likeness.as_ref()?.label.clamp(1e-9, 1.0 - 1e-9))));
    "mu", "ln of mu over the type's, soft of per cent", -6.0..6.0,
        |v| Some(soft(100.0 * libm::log(v.s().likeness.as_ref()?.mu_ratio.value.max(1e-3))));
    "perveance", "ln of the current over the type's at the sheet's point", -4.0..4.0,
        |v| Some(libm::log(v.s().likeness.as_ref()?.current_ratio.max(1e-3)));
    // Currents from the heater.
    "heater", "current between heater and cathode over the handbook's limit at 100 V, soft of tenths", 0.0..9.0, |v| {
        let limit = v.evidence.heater_cathode_limit?;
        let most = v.evidence.heater_cathode.iter().map(|h| (h.amperes / h.volts).abs() * 100.0).fold(f64::NAN, f64::max);
        Some(soft(10.0 * most / limit))
    };
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn features_have_names_of_their_own_and_ranges() {
        let names: std::collections::BTreeSet<&str> = FEATURES.iter().map(|f| f.name).collect();
        assert_eq!(names.len(), FEATURES.len());
        assert!(FEATURES.iter().all(|f| f.range.0 < f.range.1 && !f.meaning.is_empty()));
    }

    #[test]
    fn a_sample_has_features_in_range_and_gaps_where_nothing_was_measured() {
        let table = "section,Va [V],Vg [V],Ia [mA]\n1,100,-9,0.1\n1,100,-1,10\n";
        let tube = crate::intake::read("x.csv", table.as_bytes()).unwrap().remove(0);
        let evidence = crate::evidence::gather(&tube, None, &[]);
        let row = of(&evidence, 0);
        assert_eq!(row.len(), FEATURES.len());
        for (value, feature) in row.iter().zip(FEATURES) {
            assert!(value.is_none_or(|v| v >= feature.range.0 && v <= feature.range.1), "{}", feature.name);
        }
        let missing = |name: &str| row[FEATURES.iter().position(|f| f.name == name).unwrap()].is_none();
        assert!(missing("emission") && missing("contrast") && missing("label"));
    }
}
