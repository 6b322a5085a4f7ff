//! What a check at one operating point would have caught of the same tubes.
//!
//! The check is given every advantage: its own sound meters, the handbook's typical point
//! exactly, a grid driven directly, a reading of reverse grid current whether or not the
//! sweep had one, and a comparison of the two sections.

use std::collections::BTreeMap;

use sweepbook_core::faults;
use sweepbook_core::handbook::{self, Handbook};
use sweepbook_core::lesson::{Dice, Drive, GridState, VirtualSection};
use sweepbook_core::report::Verdict;

use super::interval::Share;
use super::population::{Case, Population};
use super::score;
use super::tables::Table;
use crate::corpus::kinds::{KINDS, Level};

/// How far readings may be from the sheet, as shares of it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Window {
    /// Plate current.
    ia: f64,
    /// Transconductance.
    gm: f64,
}

/// The window of the study: single tubes of consumer types spread by ±30 % in plate current
/// (H. M. Knoll, radiomuseum.org forum, thread 383722); manufacturers' end of life is 65 to
/// 80 % of the bogey transconductance (from memory).
const USUAL: Window = Window { ia: 0.30, gm: 0.20 };
/// Tighter and wider ones, to show what the choice does (common practice, no source).
const OTHERS: [Window; 3] = [Window { ia: 0.15, gm: 0.10 }, USUAL, Window { ia: 0.50, gm: 0.35 }];
/// A lamp or a comparator between any two electrodes shows a path below this, ohm; simple
/// ones show 0.3 MΩ (common practice, no source).
const LAMP: f64 = 1e6;
/// The less sensitive lamp, ohm.
const DULL_LAMP: f64 = 0.3e6;
/// Sections whose plate currents at the point are within this share are called matched
/// (dealers' practice, reference 3.6).
const MATCHED: f64 = 0.10;
/// Gain error of the check's own meters, standard deviation (2 % class; common practice).
const METER: f64 = 0.01;
/// Grid swing for the transconductance, as a share of Ia/gm: small enough to be a slope.
const SWING: f64 = 0.02;

/// What one section reads.
#[derive(Debug, Clone, Copy)]
struct Reading {
    /// Plate current over the sheet's.
    ia: f64,
    /// Transconductance over the sheet's.
    gm: f64,
    /// Reverse grid current, A.
    reverse: f64,
    /// Lowest resistance between two electrodes, ohm.
    path: f64,
}

/// What the check reads of one tube.
#[derive(Debug, Clone)]
struct Check {
    sections: Vec<Reading>,
    /// Largest reverse grid current of this type, A.
    most_reverse: f64,
    /// Whether the sections should agree.
    equal: bool,
}

impl Check {
    /// Takes the readings. `None` where the handbook has no complete point, which no type
    /// of the corpora lacks.
    fn of(case: &Case) -> Option<Self> {
        let kind = handbook::find(&case.item.truth.label)?;
        let mut dice = Dice::new(1, &format!("one point {} {}", case.item.truth.model, case.told.file));
        let mut sections = Vec::new();
        for (i, section) in case.item.tube.sections.iter().enumerate() {
            let point = kind.section(i)?.points.iter().find(|p| p.ia.is_some() && p.gm.is_some() && p.vg2.is_none())?;
            let (ia, gm) = (point.ia.as_ref()?.value, point.gm.as_ref()?.value);
            sections.push(read(section, (point.va, point.vg, ia, gm), &mut dice));
        }
        let most_reverse = Handbook::shipped().limits(kind).grid_current.map_or(f64::INFINITY, |v| v.value);
        Some(Self { sections, most_reverse, equal: kind.has_equal_sections() })
    }

    fn by_current(&self, window: Window) -> bool {
        self.sections.iter().any(|s| (s.ia - 1.0).abs() > window.ia)
    }

    fn by_transconductance(&self, window: Window) -> bool {
        self.sections.iter().any(|s| (s.gm - 1.0).abs() > window.gm)
    }

    fn by_grid_current(&self) -> bool {
        self.sections.iter().any(|s| s.reverse > self.most_reverse)
    }

    fn by_lamp(&self, shows: f64) -> bool {
        self.sections.iter().any(|s| s.path < shows)
    }

    fn by_sections(&self) -> bool {
        let [a, b] = self.sections.as_slice() else { return false };
        self.equal && (a.ia - b.ia).abs() > MATCHED * 0.5 * (a.ia + b.ia)
    }

    fn refuses(&self, window: Window) -> bool {
        self.by_current(window)
            || self.by_transconductance(window)
            || self.by_grid_current()
            || self.by_lamp(LAMP)
            || self.by_sections()
    }
}

fn read(section: &VirtualSection, (va, vg, ia, gm): (f64, f64, f64, f64), dice: &mut Dice) -> Reading {
    let at = |vs: f64| section.leads(&Drive { va, vs, points: 100.0, ..Drive::default() });
    let swing = SWING * ia / gm;
    let slope = (at(vg + swing).ia - at(vg - swing).ia) / (2.0 * swing);
    let (mut gain_ia, mut gain_gm) = (1.0 + METER * dice.normal_within(2.0), 1.0 + METER * dice.normal_within(2.0));
    // A contact that comes and goes is met with the chance of its share.
    let d = &section.defects;
    let unlucky = dice.unit();
    if let Some(i) = d.intermittent.filter(|i| unlucky < i.share) {
        (gain_ia, gain_gm) = (gain_ia * i.factor, gain_gm * i.factor);
    }
    let tied = if let GridState::Tied(ohm) = d.grid { Some(ohm) } else { None };
    let paths = [d.plate_cathode, d.plate_grid, d.grid_cathode, d.plate_heater, d.grid_heater, d.heater_cathode, tied];
    Reading {
        ia: at(vg).ia / ia * gain_ia,
        gm: slope / gm * gain_gm,
        reverse: -at(vg).ig,
        path: paths.into_iter().flatten().fold(f64::INFINITY, f64::min),
    }
}

/// Faults of the tube: a bench that is wrong spoils the sweep, not this check.
fn tube_kinds() -> Vec<&'static str> {
    KINDS.into_iter().filter(|k| faults::explain(k).is_some_and(|e| !e.bench)).collect()
}

/// The page, in Markdown.
pub fn page(p: &Population) -> String {
    let kinds = tube_kinds();
    let sound = checked(p.healthy());
    let faulty = checked(p.faulty().filter(|c| kinds.contains(&c.told.kind.as_str())));
    let mut out = introduction(sound.len(), faulty.len());
    out += &overall(&sound, &faulty);
    out += &by_kind(&kinds, &faulty);
    out += &by_check(&kinds, &sound, &faulty);
    out += &by_window(&sound, &faulty);
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

fn checked<'a>(cases: impl Iterator<Item = &'a Case>) -> Vec<(&'a Case, Check)> {
    cases.filter_map(|c| Some((c, Check::of(c)?))).collect()
}

fn introduction(sound: usize, faulty: usize) -> String {
    format!(
        "# A check at one operating point

Made by `cargo run --release -p sweepbook-tests --bin one-point-study`, compared with it by
the option `--check`; do not edit.

The same tubes as in the cross-check ([confusion.md](confusion.md)), {sound} sound ones and {faulty} with
one fault of the tube; faults of the bench are left out, since they spoil the sweep and not this
check. Each is checked at the handbook's typical point, as is common practice (no source for the
practice as a whole):

- plate current within ±{:.0} % of the sheet (unit spread of consumer types, Knoll; seen) and
  transconductance within ±{:.0} % (maker's end of life at 65 to 80 % of bogey; from memory);
- one reading of reverse grid current there, against the handbook's limit (0.3 µA, power types 3 µA;
  from memory, unverified);
- a lamp that shows paths below {:.0} MΩ between any two electrodes (0.3 to 1 MΩ is common practice,
  no source; this is the more sensitive end);
- plate currents of the two sections within {:.0} % of each other (dealers' practice, seen).

The check is given every advantage: meters of its own, good to {:.0} % (standard deviation), the exact
point, the grid driven directly, grid current read also of tubes whose sweep had none. The sweep
is what the drawn bench made of it, with meters good and poor, half without grid current. What one
reading refuses, it does not name.

",
        100.0 * USUAL.ia,
        100.0 * USUAL.gm,
        LAMP / 1e6,
        100.0 * MATCHED,
        100.0 * METER,
    )
}

fn refused(pairs: &[(&Case, Check)]) -> Share {
    Share::count(pairs, |(_, check)| check.refuses(USUAL))
}

fn overall(sound: &[(&Case, Check)], faulty: &[(&Case, Check)]) -> String {
    let mut table = Table::new(["", "one point", "sweep", "sweep names it"]);
    let caught = |pairs: &[(&Case, Check)]| Share::count(pairs, |(c, _)| c.report.verdict != Verdict::Accept);
    for level in Level::ALL {
        let here: Vec<(&Case, Check)> =
            faulty.iter().filter(|(c, _)| c.told.level.as_deref() == Some(level.name())).cloned().collect();
        table.row([
            &format!("{} faults caught", level.name()),
            &refused(&here).with_interval(),
            &caught(&here).with_interval(),
            &Share::count(&here, |(c, _)| c.outcome.named).with_interval(),
        ]);
    }
    table.row([
        "all faults caught",
        &refused(faulty).with_interval(),
        &caught(faulty).with_interval(),
        &Share::count(faulty, |(c, _)| c.outcome.named).with_interval(),
    ]);
    table.row([
        "sound tubes not passed",
        &refused(sound).with_interval(),
        &caught(sound).with_interval(),
        &format!("finding or reject: {}", Share::count(sound, |(c, _)| score::is_false_alarm(&c.report)).plain()),
    ]);
    let only = |one: bool| {
        Share::count(faulty, |(c, check)| {
            let sweep = c.report.verdict != Verdict::Accept;
            check.refuses(USUAL) == one && sweep != one
        })
    };
    format!(
        "## Caught\n\n{}Caught by the sweep alone: {}; by the one point alone: {}.\n\n",
        table.text(),
        only(false).with_interval(),
        only(true).with_interval()
    )
}

fn by_kind(kinds: &[&str], faulty: &[(&Case, Check)]) -> String {
    let mut table = Table::new([
        "fault",
        "strong: point",
        "sweep",
        "named",
        "medium: point",
        "sweep",
        "named",
        "weak: point",
        "sweep",
        "named",
    ]);
    for kind in kinds {
        let mut cells = vec![(*kind).to_owned()];
        for level in Level::ALL {
            let here =
                || faulty.iter().filter(|(c, _)| c.told.kind == *kind && c.told.level.as_deref() == Some(level.name()));
            cells.push(Share::count(here(), |(_, check)| check.refuses(USUAL)).plain());
            cells.push(Share::count(here(), |(c, _)| c.report.verdict != Verdict::Accept).plain());
            cells.push(Share::count(here(), |(c, _)| c.outcome.named).plain());
        }
        table.row(cells);
    }
    format!("## By fault and level\n\n{}", table.text())
}

fn by_check(kinds: &[&str], sound: &[(&Case, Check)], faulty: &[(&Case, Check)]) -> String {
    type Test = (&'static str, fn(&Check) -> bool);
    const TESTS: [Test; 6] = [
        ("plate current", |c| c.by_current(USUAL)),
        ("transconductance", |c| c.by_transconductance(USUAL)),
        ("grid current", Check::by_grid_current),
        ("lamp", |c| c.by_lamp(LAMP)),
        ("lamp of 0.3 MΩ", |c| c.by_lamp(DULL_LAMP)),
        ("sections", Check::by_sections),
    ];
    let mut headings = vec!["", "tubes"];
    headings.extend(TESTS.map(|t| t.0));
    let mut table = Table::new(headings);
    let mut groups: BTreeMap<usize, (&str, Vec<&Check>)> = BTreeMap::new();
    groups.insert(0, ("sound", sound.iter().map(|(_, check)| check).collect()));
    for (n, kind) in kinds.iter().enumerate() {
        let here = faulty.iter().filter(|(c, _)| c.told.kind == *kind).map(|(_, check)| check);
        groups.insert(n + 1, (kind, here.collect()));
    }
    for (name, checks) in groups.into_values() {
        let mut cells = vec![name.to_owned(), checks.len().to_string()];
        cells.extend(TESTS.map(|(_, test)| match checks.iter().filter(|c| test(c)).count() {
            0 => "·".to_owned(),
            n => n.to_string(),
        }));
        table.row(cells);
    }
    format!("## Which reading refuses\n\nA tube may be refused by several.\n\n{}", table.text())
}

fn by_window(sound: &[(&Case, Check)], faulty: &[(&Case, Check)]) -> String {
    let mut table = Table::new(["plate current", "transconductance", "sound tubes refused", "faulty tubes refused"]);
    for window in OTHERS {
        table.row([
            &format!("±{:.0} %", 100.0 * window.ia),
            &format!("±{:.0} %", 100.0 * window.gm),
            &Share::count(sound, |(_, check)| check.refuses(window)).with_interval(),
            &Share::count(faulty, |(_, check)| check.refuses(window)).with_interval(),
        ]);
    }
    format!("## Other windows\n\nThe other readings unchanged.\n\n{}", table.text())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test may fail")]

    use super::*;
    use sweepbook_core::lesson::{LawChoice, specimen, typical};

    const POINT: (f64, f64, f64, f64) = (250.0, -8.5, 10.5e-3, 2.2e-3);

    /// A section at the mean of its type.
    fn mean() -> VirtualSection {
        let kind = handbook::find("12AU7").unwrap();
        let mut section = specimen(kind, LawChoice::Strips, 3).unwrap().sections.swap_remove(0);
        section.form = typical(kind, LawChoice::Strips).unwrap()[0];
        section
    }

    fn check(section: &VirtualSection) -> Check {
        let mut dice = Dice::new(1, "test");
        Check { sections: vec![read(section, POINT, &mut dice)], most_reverse: 0.3e-6, equal: true }
    }

    #[test]
    fn a_mean_tube_passes_and_each_reading_refuses_what_it_can_see() {
        let kind = handbook::find("12AU7").unwrap();
        let at = &kind.section(0).unwrap().points[0];
        assert_eq!((at.va, at.vg), (POINT.0, POINT.1));
        let sound = mean();
        assert!(!check(&sound).refuses(USUAL), "{:?}", check(&sound));

        let mut worn = sound.clone();
        worn.defects.perveance = Some(0.6);
        assert!(check(&worn).by_current(USUAL) && check(&worn).by_transconductance(USUAL));

        let mut gassy = sound.clone();
        gassy.defects.gas = Some(1e-3);
        assert!(check(&gassy).by_grid_current() && !check(&gassy).by_current(USUAL));

        let mut leaky = sound.clone();
        leaky.defects.plate_cathode = Some(0.5e6);
        assert!(check(&leaky).by_lamp(LAMP) && !check(&leaky).by_lamp(DULL_LAMP));
        // Ten times the resistance passes: 50 µA beside 10 mA.
        leaky.defects.plate_cathode = Some(5e6);
        assert!(!check(&leaky).refuses(USUAL));
    }

    #[test]
    fn sections_are_compared_where_they_should_agree() {
        let mut check = check(&mean());
        let mut other = check.sections[0];
        other.ia *= 1.15;
        check.sections.push(other);
        assert!(check.by_sections() && check.refuses(USUAL));
        check.equal = false;
        assert!(!check.by_sections());
    }

    #[test]
    fn bench_faults_are_left_out() {
        let kinds = tube_kinds();
        assert!(kinds.contains(&"gas") && !kinds.contains(&"supply-sag"));
        assert!(kinds.len() >= 14);
    }
}
