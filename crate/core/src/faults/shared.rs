//! Small pieces that several faults use.

use crate::evidence::{Departure, Evidence, Found, Path, SectionEvidence, State};
use crate::numerics::{Estimate, logistic, normal_below};
use crate::report::{Alternative, Mark, Value, engineering};
use crate::sorting::sort_by;

/// What stands for the working current of a section: the largest current is
/// reached with the grid near the cathode's potential, a stage works at about a
/// quarter of it (from the operating points of reference section 2.1: 0.13 to 0.3
/// of the zero-bias current).
pub(crate) const WORKING_OF_TOP: f64 = 0.25;

/// Insulation below which a path counts as a leak, ohm: 100 MΩ between
/// electrodes of a new small tube (from memory of military sheets, reference 3.2:
/// unverified). A path above it is left unnamed however well it is measured.
pub(crate) const INSULATION: f64 = 100e6;

/// A path from plate to cathode of less than this leaves the grid no say in any
/// receiving tube and is called a short, ohm (by construction: below the plate
/// resistance of all but power triodes).
pub(crate) const SHORT: f64 = 20e3;

/// The resistance of a short from plate to cathode, ohm; `None` where there is none.
pub(super) fn shorted(section: &SectionEvidence<'_>) -> Option<Estimate> {
    match section.state {
        // The grid has no say, and the current is in proportion to the plate voltage. A
        // supply in its limit makes a short look larger than it is, never smaller.
        State::Dead => {
            let carried = section.gross.ends.iter().filter(|e| e.low > 0.0 && e.va > 0.0);
            let least = carried.min_by(|a, b| (a.va / a.low).total_cmp(&(b.va / b.low)))?;
            let ohm = least.va / least.low;
            (ohm < SHORT).then(|| Estimate::new(ohm, ohm * section.noise.sd(least.low) / least.low))
        }
        State::Controlled => {
            let conductance = section.leaks.estimate(Path::PlateCathode)?;
            let short = conductance.value > 1.0 / SHORT && section.leaks.probability(Path::PlateCathode) > 0.5;
            short.then(|| Estimate::new(conductance.value.recip(), conductance.sd / conductance.value.powi(2)))
        }
        _ => None,
    }
}

/// The departures of one kind that the fit found: with the section's index in the
/// tube and among the fitted.
pub(super) fn of_departure<'e>(
    evidence: &'e Evidence<'_>,
    departure: Departure,
) -> impl Iterator<Item = (&'e Found, usize, usize)> {
    let found = evidence.laws.iter().flat_map(|l| &l.found).filter(move |f| f.departure == departure);
    found.filter_map(|f| {
        let s = f.section?;
        Some((f, s, evidence.sections[s].law_index?))
    })
}

/// The probability of a departure against its absence and its rivals, and the
/// rivals' own.
pub(super) fn weighed(found: &Found) -> (f64, Vec<Alternative>) {
    let rivals: Vec<(&'static str, f64)> =
        found.rivals.iter().map(|(d, advantage)| (d.fault_name(), logistic(-advantage))).collect();
    let all = 1.0 + rivals.iter().map(|r| r.1).sum::<f64>();
    let name = found.departure.fault_name();
    // The other form of a fault is no rival to its name.
    let (own, others): (Vec<_>, Vec<_>) = rivals.into_iter().partition(|r| r.0 == name);
    let own = (1.0 + own.iter().map(|r| r.1).sum::<f64>()) / all;
    (logistic(found.log_odds) * own, alternatives(others.into_iter().map(|(rival, p)| (rival, p / all))))
}

/// Whether a fault before this one has been found in a section (or in the whole
/// tube) with at least even odds.
pub(super) fn explained(found: &[crate::report::Finding], section: &str, faults: &[&str]) -> bool {
    found.iter().any(|f| {
        f.confidence >= 0.5 && faults.contains(&f.fault.as_str()) && f.section.as_deref().is_none_or(|s| s == section)
    })
}

/// A conductance as a leakage resistance with its interval.
pub(super) fn resistance(conductance: Estimate) -> Value {
    let (estimate, low, high) = conductance.reciprocal();
    Value { quantity: "leakage resistance".into(), unit: "ohm".into(), estimate, low, high }
}

/// An estimate as a reported value; a bound that nothing is known of is left out.
pub(super) fn value(quantity: &str, unit: &str, e: Estimate) -> Value {
    let known = |bound: f64| bound.is_finite().then_some(bound);
    Value {
        quantity: quantity.into(),
        unit: unit.into(),
        estimate: e.value,
        low: known(e.low()),
        high: known(e.high()),
    }
}

/// A bound without interval.
pub(super) fn bound(quantity: &str, unit: &str, size: f64) -> Value {
    Value { quantity: quantity.into(), unit: unit.into(), estimate: size, low: None, high: None }
}

/// Probability that an estimated quantity lies above a limit.
pub(super) fn above(e: Estimate, limit: f64) -> f64 {
    if e.sd > 0.0 { normal_below((e.value - limit) / e.sd) } else { f64::from(u8::from(e.value > limit)) }
}

/// Alternatives with at least this probability are listed.
const WORTH_LISTING: f64 = 0.01;

/// Sorted alternatives, those too unlikely left out.
pub(super) fn alternatives(list: impl IntoIterator<Item = (&'static str, f64)>) -> Vec<Alternative> {
    let mut out: Vec<Alternative> = list
        .into_iter()
        .filter(|(_, p)| *p >= WORTH_LISTING)
        .map(|(fault, confidence)| Alternative { fault: fault.into(), confidence: confidence.min(1.0) })
        .collect();
    sort_by(&mut out, |a, b| b.confidence.total_cmp(&a.confidence));
    out
}

/// Marks some points of one section; nothing for no points.
pub(super) fn marks(section: usize, points: &[usize]) -> Vec<Mark> {
    if points.is_empty() { Vec::new() } else { vec![Mark { section, points: points.to_vec() }] }
}

/// Highest plate voltage of a section, V.
pub(super) fn highest_plate(evidence: &Evidence<'_>, section: usize) -> f64 {
    evidence.sections[section].points.va.iter().copied().fold(0.0, f64::max)
}

/// A value in words.
pub(super) fn say(value: f64, unit: &str) -> String {
    engineering(value, unit)
}

/// Sections to which a law was fitted: they conduct, and obey their grid if they
/// have one.
pub(super) fn controlled<'e>(evidence: &'e Evidence<'_>) -> impl Iterator<Item = usize> + 'e {
    (0..evidence.sections.len()).filter(|s| matches!(evidence.sections[*s].state, State::Controlled | State::Diode))
}

/// The largest of the sections' smallest detectable sizes: what the sweep would
/// have shown in every section. `None` where some section would show nothing.
pub(super) fn worst(sizes: impl IntoIterator<Item = Option<f64>>) -> Option<f64> {
    sizes.into_iter().try_fold(0.0f64, |worst, size| size.map(|s| worst.max(s))).filter(|s| *s > 0.0)
}

/// The largest resistance of a path that the readings of every section would
/// have shown.
pub(super) fn path_limit(evidence: &Evidence<'_>, path: Path) -> Option<Value> {
    let conductance = worst(evidence.sections.iter().map(|s| s.leaks.smallest(path)))?;
    // A path above the limit of insulation is not named, however well it is seen.
    Some(bound("leakage resistance", "ohm", (1.0 / conductance).min(INSULATION)))
}

/// A sentence about a section: `Section 1: past cutoff …`, or without the name
/// for a tube of one section.
pub(super) fn sentence(evidence: &Evidence<'_>, section: usize, text: &str) -> String {
    if evidence.sections.len() > 1 {
        return format!("Section {}: {text}", evidence.sections[section].name);
    }
    let mut chars = text.chars();
    chars.next().map(|c| c.to_uppercase().chain(chars).collect()).unwrap_or_default()
}
