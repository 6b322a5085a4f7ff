//! What to do with a tube: accept, restrict, retest or reject, a plain sentence
//! for each reason. Never better than the data.

mod figures;

pub use figures::figures;
pub(crate) use figures::working_point;

use crate::evidence::{Evidence, State};
use crate::faults::{self, BALANCE};
use crate::report::{Finding, Verdict, engineering, percent};
use crate::sorting::sort_by;

/// From this confidence on a finding decides.
const DECIDES: f64 = 0.5;
/// From this confidence on a finding that does not decide is mentioned.
const POSSIBLE: f64 = 0.2;
/// From this confidence on a finding is certain enough to turn a tube away; one
/// between the two is measured again first.
const TURNS_AWAY: f64 = 0.8;
/// Change of plate current that a grid current may cause through the grid
/// resistor (physics.md: 10 % is usual, practice).
const SHIFT: f64 = 0.10;
/// A grid resistor below this cannot be used in ordinary RC-coupled stages, ohm
/// (reference 3.7 lists sheet maxima of 0.1 to 2.2 MΩ; from memory there).
const SMALLEST_GRID_RESISTOR: f64 = 100e3;
/// A floor below this share of the working current does not matter to a class-A
/// stage by itself (physics.md: its trend does).
const HARMLESS_FLOOR: f64 = 0.02;
/// A zero offset below this share of the working current does not touch a verdict.
const HARMLESS_OFFSET: f64 = 1e-3;

/// A verdict with its reasons.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// What to do.
    pub verdict: Verdict,
    /// Why, a sentence each, the decisive ones first.
    pub reasons: Vec<String>,
}

/// Judges a tube by what was found. `objection` is a fault, with its section, of which the
/// kin model is sure while the rules see nothing: the sweep cannot tell who is right.
pub fn judge(evidence: &Evidence<'_>, found: &[Finding], objection: Option<&(String, Option<String>)>) -> Judgement {
    let mut reasons: Vec<(Verdict, String)> =
        found.iter().filter(|f| f.confidence >= DECIDES).map(|f| consequence(evidence, f)).collect();
    if evidence.sections.is_empty() {
        reasons.push((Verdict::Retest, "There is no section in this sweep.".into()));
    }
    if evidence.laws.is_none() && reasons.is_empty() {
        reasons.push((Verdict::Retest, "The points do not form curves that a law could be fitted to.".into()));
    }
    if let Some((fault, section)) = objection {
        let place = section.as_ref().map_or_else(String::new, |name| format!(" in section {name}"));
        reasons.push((
            Verdict::Retest,
            format!(
                "The rules find nothing, but the readings are most like {}{place} among simulated tubes: measure again.",
                title(fault).to_lowercase()
            ),
        ));
    }
    if let Some(f) = found.iter().find(|f| (POSSIBLE..DECIDES).contains(&f.confidence)) {
        reasons.push(undecided(f));
    }
    let verdict = strictest(reasons.iter().map(|r| r.0));
    if verdict == Verdict::Accept {
        reasons.insert(0, (Verdict::Accept, "Nothing wrong that this sweep can show.".into()));
    }
    sort_by(&mut reasons, |a, b| rank(b.0).cmp(&rank(a.0)));
    Judgement { verdict, reasons: reasons.into_iter().map(|r| r.1).collect() }
}

/// A finding that does not decide by itself. With its rivals it may: that one of two leaks is
/// there can be sure where neither is.
fn undecided(f: &Finding) -> (Verdict, String) {
    let of_tube = |name: &str| faults::named(name).is_some_and(|f| !f.is_bench());
    let rivals: Vec<_> = f.alternatives.iter().filter(|a| of_tube(&a.fault) && a.confidence >= POSSIBLE).collect();
    let together = f.confidence + rivals.iter().map(|a| a.confidence).sum::<f64>();
    if !of_tube(&f.fault) || together < DECIDES {
        let text = format!("{} is possible ({}) but not likely: {}", title(&f.fault), percent(f.confidence), f.confirm);
        return (Verdict::Accept, text);
    }
    let mut either = format!("{} ({})", title(&f.fault), percent(f.confidence));
    for rival in rivals {
        either += &format!(" or {} ({})", title(&rival.fault).to_lowercase(), percent(rival.confidence));
    }
    (Verdict::Retest, format!("Something is wrong that this sweep cannot tell apart: {either}. {}", f.confirm))
}

/// What is seen and is as it should be, said so that nobody wonders.
pub fn remarks(evidence: &Evidence<'_>) -> Vec<String> {
    let place = |name: &str| if evidence.sections.len() > 1 { format!("Section {name}: ") } else { String::new() };
    let mut out = Vec::new();
    for s in &evidence.sections {
        if let Some((low, high)) = s.kink {
            out.push(format!(
                "{}between {low:.0} and {high:.0} V the plate current falls as the plate voltage rises: secondary emission, normal in a tetrode below its screen voltage.",
                place(s.name)
            ));
        }
        if let Some(share) = s.drive.screen_share {
            out.push(format!(
                "{}the screen takes {:.0} % of the current in the working region.",
                place(s.name),
                100.0 * share
            ));
        }
    }
    out
}

/// Reject before retest before restrict before accept: a certain fault of the
/// tube stands whatever else the sweep lacks; a sweep that cannot tell comes
/// before limits that it would set.
fn rank(verdict: Verdict) -> u8 {
    match verdict {
        Verdict::Accept => 0,
        Verdict::Restrict => 1,
        Verdict::Retest => 2,
        Verdict::Reject => 3,
    }
}

fn strictest(verdicts: impl Iterator<Item = Verdict>) -> Verdict {
    verdicts.max_by_key(|v| rank(*v)).unwrap_or(Verdict::Accept)
}

fn title(fault: &str) -> String {
    faults::named(fault).map_or_else(|| fault.to_owned(), |f| f.title().to_owned())
}

fn section_index(evidence: &Evidence<'_>, finding: &Finding) -> usize {
    let name = finding.section.as_deref();
    evidence.sections.iter().position(|s| Some(s.name) == name).unwrap_or(0)
}

/// What one finding means for the tube, with its sentence.
fn consequence(evidence: &Evidence<'_>, f: &Finding) -> (Verdict, String) {
    let s = section_index(evidence, f);
    let place = f.section.as_ref().map_or_else(String::new, |name| format!(" in section {name}"));
    let size = f.value.as_ref().map_or(f64::NAN, |v| v.estimate);
    let (verdict, text) = match f.fault.as_str() {
        "current-limit" => (
            Verdict::Retest,
            format!(
                "The bench stopped the current at {}; what lies above it was not measured.",
                engineering(size, "A")
            ),
        ),
        "zero-offset" => offset(evidence, size),
        "short-range" => (Verdict::Retest, f.evidence.clone()),
        "no-conduction" => (Verdict::Reject, format!("No current flows{place}.")),
        "no-grid-control" => (Verdict::Reject, format!("The grid has no control{place}.")),
        "plate-cathode-leakage" => floor(evidence, s, size, &place),
        "plate-grid-leakage" | "grid-cathode-leakage" | "gas" | "grid-emission" => grid(evidence, s, f, size, &place),
        "low-emission" => {
            if faults::ceiling_is_below_working(evidence, s, size) {
                (
                    Verdict::Reject,
                    format!(
                        "The cathode{place} is worn: its ceiling of {} is within reach of a stage.",
                        engineering(size, "A")
                    ),
                )
            } else {
                (
                    Verdict::Restrict,
                    format!(
                        "The cathode{place} nears a ceiling of {}; keep peak currents well below it.",
                        engineering(size, "A")
                    ),
                )
            }
        }
        "supply-sag" if evidence.sections.iter().any(|s| s.reads_plate_voltage) => {
            (Verdict::Accept, "The plate supply sags; the voltages were read, so the curves stand.".into())
        }
        "supply-sag" => {
            (Verdict::Retest, "The plate supply sags: read the plate voltage at the pin and sweep again.".into())
        }
        "warm-up-drift" => (Verdict::Retest, "The sweep began before the tube was warm: sweep it again.".into()),
        "coarse-resolution" => (
            Verdict::Retest,
            format!("The meter's steps of {} hide what is to be seen: use a lower range.", engineering(size, "A")),
        ),
        "oscillation" => {
            (Verdict::Retest, format!("The tube oscillated on the bench{place}: fit a grid stopper and sweep again."))
        }
        "swapped-columns" => (Verdict::Retest, f.evidence.clone()),
        "intermittent" => (
            Verdict::Retest,
            format!("Readings jump{place}: clean the pins and repeat; if they jump again, turn the tube away."),
        ),
        "electrode-short" => {
            (Verdict::Reject, format!("Plate and cathode are joined by {}{place}.", engineering(size, "ohm")))
        }
        "heater-cathode-leakage" => (
            Verdict::Restrict,
            format!(
                "Heater–cathode leakage of {}: only where the cathode is grounded for signal.",
                engineering(size, "ohm")
            ),
        ),
        "cathode-interface" if faults::interface_is_severe(evidence, s, size) => (
            Verdict::Reject,
            format!(
                "A resistance of {} in the cathode{place} takes a third of the gain or more.",
                engineering(size, "ohm")
            ),
        ),
        "cathode-interface" => (
            Verdict::Restrict,
            format!(
                "A resistance of {} in the cathode{place} lowers the gain; it often grows.",
                engineering(size, "ohm")
            ),
        ),
        "uneven-grid" => (
            Verdict::Restrict,
            format!("The grid{place} is uneven: a long tail and more distortion; not where the stage must cut off."),
        ),
        "type-mismatch" => (Verdict::Reject, format!("It is not what the label says. {}", f.evidence)),
        "section-mismatch" => (
            Verdict::Restrict,
            format!("The sections differ by more than {:.0} %: not for a balanced stage.", 100.0 * BALANCE),
        ),
        _ => (Verdict::Retest, f.evidence.clone()),
    };
    if verdict == Verdict::Reject && f.confidence < TURNS_AWAY {
        return (
            Verdict::Retest,
            format!("{} ({} sure: settle it first. {})", text.trim_end_matches('.'), percent(f.confidence), f.confirm),
        );
    }
    (verdict, text)
}

fn working_current(evidence: &Evidence<'_>, s: usize) -> f64 {
    let own = evidence.sections[s].gross.top;
    let best =
        evidence.sections.iter().filter(|s| s.state == State::Controlled).map(|s| s.gross.top).fold(own, f64::max);
    faults::WORKING_OF_TOP * best
}

fn offset(evidence: &Evidence<'_>, size: f64) -> (Verdict, String) {
    let working = (0..evidence.sections.len()).map(|s| working_current(evidence, s)).fold(0.0, f64::max);
    if size.abs() < HARMLESS_OFFSET * working {
        (
            Verdict::Accept,
            format!(
                "The current meter is off zero by {}, too little to matter; it has been taken into account.",
                engineering(size, "A")
            ),
        )
    } else {
        (
            Verdict::Retest,
            format!("The current meter is off zero by {}: set it and sweep again.", engineering(size, "A")),
        )
    }
}

fn floor(evidence: &Evidence<'_>, s: usize, ohm: f64, place: &str) -> (Verdict, String) {
    let va = evidence.sections[s].points.va.iter().copied().fold(0.0, f64::max);
    let share = va / ohm / working_current(evidence, s).max(f64::MIN_POSITIVE);
    let leak = engineering(ohm, "ohm");
    if share > HARMLESS_FLOOR {
        (
            Verdict::Reject,
            format!(
                "A path of {leak} from plate to cathode{place} carries {:.0} % of the working current.",
                100.0 * share
            ),
        )
    } else {
        (
            Verdict::Restrict,
            format!(
                "A path of {leak} from plate to cathode{place}: no harm in class A yet, but such paths grow; not where the stage must cut off."
            ),
        )
    }
}

/// Reverse grid current: what counts is the grid resistor it still allows.
fn grid(evidence: &Evidence<'_>, s: usize, f: &Finding, size: f64, place: &str) -> (Verdict, String) {
    let what = match f.fault.as_str() {
        "gas" => format!("Gas{place}"),
        "grid-emission" => format!("The grid{place} emits {}", engineering(size, "A")),
        "plate-grid-leakage" => format!("A path of {} from plate to grid{place}", engineering(size, "ohm")),
        _ => format!("A path of {} from grid to cathode{place}", engineering(size, "ohm")),
    };
    let figures = working_point(evidence, s);
    let Some((va, vg, ia, gm)) = figures else {
        return (Verdict::Reject, format!("{what}."));
    };
    let current = match f.fault.as_str() {
        "gas" => size * ia,
        "grid-emission" => size,
        "plate-grid-leakage" => (va - vg) / size,
        _ => vg.abs() / size,
    };
    let largest = SHIFT * ia / (gm * current);
    if largest < SMALLEST_GRID_RESISTOR {
        (
            Verdict::Reject,
            format!(
                "{what}: even {} in the grid circuit would shift the plate current by more than {:.0} %.",
                engineering(SMALLEST_GRID_RESISTOR, "ohm"),
                100.0 * SHIFT
            ),
        )
    } else {
        (
            Verdict::Restrict,
            format!(
                "{what}: only with at most {} in the grid circuit, for a shift of {:.0} % in plate current.",
                engineering(largest, "ohm"),
                100.0 * SHIFT
            ),
        )
    }
}
