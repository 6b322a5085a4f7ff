//! Specimens: the mean law of a type with a specimen's own spread.

use super::bench::{Family, Range, VirtualBench};
use super::defects::{Ceiling, Defects};
use super::dice::Dice;
use super::form::Form;
use super::published::{DEMPWOLF_12AX7, LawChoice, Target, mean_law};
use super::tube::{GridDiode, Spread, VirtualSection, VirtualTube};
use crate::handbook;

/// Standard deviation of ln(perveance) between tubes of a type, and the most of it:
/// consumer types are spread by ±30 % (H. M. Knoll, radiomuseum.org forum, thread 383722),
/// read here as two and a half standard deviations.
const PERVEANCE: (f64, f64) = (0.11, 2.5);
/// The same between the sections of one tube: made together, on one cathode batch. Sound
/// twin tubes agree within a few per cent (common practice, no source).
const PERVEANCE_SECTION: (f64, f64) = (0.02, 2.0);
/// Standard deviation of ln(mu) between tubes: three specimens of one paper have 87 to
/// 103 (Dempwolf & Zölzer), which is 9 %; most tubes are closer (common practice).
const MU: (f64, f64) = (0.03, 2.5);
/// The same between sections.
const MU_SECTION: (f64, f64) = (0.008, 2.0);
/// Standard deviation of the contact potential between tubes, V: a few tenths of a volt
/// between extremes (reference 1.8).
const CONTACT: (f64, f64) = (0.08, 2.5);
/// The same between sections, V.
const CONTACT_SECTION: (f64, f64) = (0.012, 2.0);
/// The contact potential's spread is no more than this share of the grid's drive Ia/gm at
/// the handbook point: types with a fine grid are also made more closely (else they would
/// leave the ±30 %). Our own choice, no source.
const CONTACT_SHARE: (f64, f64) = (0.08, 0.012);
/// Standard deviation of ln(width of the bend at cutoff).
const TAIL: (f64, f64) = (0.15, 2.0);
/// A specimen whose current at the handbook point is further from the mean than this is
/// not a sound one (the ±30 % above).
const SOUND: f64 = 0.30;
/// Sections of a sound tube agree at least this well over the working region: well inside
/// the 10 % that is called matched (seller's practice, reference 3.6).
const SOUND_MATCH: f64 = 0.06;
/// Draws before the last one is taken as it is.
const DRAWS: usize = 200;
/// A sound cathode can give this many times the largest current ever asked of it. A fresh
/// oxide cathode has 10 and more (from memory).
const RESERVE: (f64, f64) = (8.0, 25.0);

/// The grid current by which its onset is stated, A (the Philips and Mullard convention).
const ONSET_CURRENT: f64 = 0.3e-6;
/// Grid voltage of the onset at a plate of 100 V, V: −0.26 to −0.35 in the specimens of
/// Dempwolf & Zölzer, here −0.25 to −0.6.
const ONSET: (f64, f64) = (-0.6, -0.25);
/// Earliest onset, V: sheets allow −0.9 V for the ECC83, −1.3 V for others (from memory).
const ONSET_EARLY: f64 = -0.9;
/// Share of tubes whose onset is early (our own choice, no source).
const EARLY: f64 = 0.15;
/// Volt an e-fold below the onset: 0.08 to 0.14 is what cathodes of 1020 K and uneven
/// grids allow (reference 1.8).
const STEEP: (f64, f64) = (0.08, 0.14);
/// Exponent of the grid current, in the middle of published ones (1.16 to 1.44).
const XI: f64 = 1.35;
/// See [`GridDiode::pull`], V: Cohen & Hélie's grid draws more below some tens of volts.
const PULL: f64 = 20.0;

/// The mean law of a type's triode sections, one each; `None` where one is no triode or
/// the handbook knows too little of it.
pub fn typical(kind: &handbook::Type, choice: LawChoice) -> Option<Vec<Form>> {
    (0..kind.section_count()).map(|i| mean_law(&kind.name, kind.section(i)?, choice)).collect()
}

/// A sound specimen of a type. `None` as for [`typical`].
pub fn specimen(kind: &handbook::Type, choice: LawChoice, seed: u64) -> Option<VirtualTube> {
    let mut dice = Dice::new(seed, "specimen");
    let mut means = typical(kind, choice)?;
    if choice == LawChoice::Dempwolf && kind.name == "12AX7" {
        let measured = DEMPWOLF_12AX7[dice.below(DEMPWOLF_12AX7.len())];
        means.fill(measured);
    }
    let mut tube = None;
    for _ in 0..DRAWS {
        let drawn = draw(kind, &means, &mut dice)?;
        let sound = is_sound(kind, &means, &drawn);
        tube = Some(drawn);
        if sound {
            break;
        }
    }
    tube
}

/// What sound tubes have as well: 0.3 to 0.9 ions per million electrons (vacuum factor of
/// run-in oxide-cathode valves, reference 3.2), and insulation of gigaohms.
pub fn trace_impurities(tube: &mut VirtualTube, dice: &mut Dice) {
    for section in &mut tube.sections {
        let mut leak = || dice.chance(0.4).then(|| dice.ratio(1e9, 20e9));
        let (ak, ag, gk) = (leak(), leak(), leak());
        let d = &mut section.defects;
        (d.plate_cathode, d.plate_grid, d.grid_cathode) = (ak, ag, gk);
        d.gas = Some(dice.ratio(3e-7, 9e-7));
    }
}

/// The handbook points at which a section is looked at, or a stand-in.
fn point(kind: &handbook::Type, section: usize) -> Option<Target> {
    kind.section(section)?.points.iter().find_map(Target::of)
}

fn draw(kind: &handbook::Type, means: &[Form], dice: &mut Dice) -> Option<VirtualTube> {
    let mut pick = |(sd, most): (f64, f64)| sd * dice.normal_within(most);
    let (perveance, mu, contact, tail) = (pick(PERVEANCE), pick(MU), pick(CONTACT), pick(TAIL));
    // The ratios of the three sets of Dempwolf & Zölzer are 0.24 to 0.28.
    let (ratio, steep) = (dice.ratio(0.18, 0.35), dice.between(STEEP.0, STEEP.1));
    let onset = if dice.chance(EARLY) { dice.between(ONSET_EARLY, ONSET.0) } else { dice.between(ONSET.0, ONSET.1) };
    let mut sections = Vec::new();
    for (i, mean) in means.iter().enumerate() {
        let mut pick = |(sd, most): (f64, f64)| sd * dice.normal_within(most);
        let drive = point(kind, i).map_or(1.0, |t| t.ia / t.gm);
        let volts = contact.clamp(-CONTACT_SHARE.0 * drive, CONTACT_SHARE.0 * drive)
            + pick(CONTACT_SECTION).clamp(-CONTACT_SHARE.1 * drive, CONTACT_SHARE.1 * drive);
        let spread = Spread {
            perveance: libm::exp(perveance + pick(PERVEANCE_SECTION)),
            mu: libm::exp(mu + pick(MU_SECTION)),
            contact: volts,
            tail: libm::exp(tail),
        };
        let form = mean
            .with_mu_times(spread.mu)
            .with_current_times(spread.perveance)
            .with_contact_higher(spread.contact)
            .with_tail_times(spread.tail);
        let top = form.current(kind_plate(kind, i), 1.0).max(1e-6);
        sections.push(VirtualSection {
            name: (i + 1).to_string(),
            form,
            grid: grid_of(&form, top, ratio, onset - spread.contact, steep),
            reserve: Ceiling { current: top * dice.ratio(RESERVE.0, RESERVE.1), sharpness: 3.0, schottky: 0.012 },
            spread,
            defects: Defects::default(),
        });
    }
    let heater_voltage = kind.heaters.last().map_or(6.3, |h| h.voltage.value);
    Some(VirtualTube {
        name: kind.name.clone(),
        label: Some(kind.name.clone()),
        really: kind.name.clone(),
        heater_voltage,
        sections,
    })
}

/// The grid's electron current: of the size of `ratio` times the cathode's at +1 V, with
/// [`ONSET_CURRENT`] at `onset` volt and e-fold each `steep` volt below.
fn grid_of(form: &Form, top: f64, ratio: f64, onset: f64, steep: f64) -> GridDiode {
    // Against the current at +1 V and a plate at which the cathode's field is like that
    // of a 12AX7 at 100 V, of whose measured specimens the ratio is.
    let like = form.current((form.mu() + 1.0).min(250.0), 1.0).clamp(0.05 * top, top);
    let mut grid = GridDiode { g: 0.5 * ratio * like, xi: XI, c: 1.0 / (XI * steep), shift: 0.0, pull: PULL };
    // The softplus inverted: where the current is the onset's with no shift.
    let unit = grid.g * (1.0 + PULL / (100.0 + PULL));
    let sp = grid.c * libm::pow(ONSET_CURRENT / unit, 1.0 / XI);
    grid.shift = libm::log(libm::expm1(sp)) / grid.c - onset;
    grid
}

/// Highest plate voltage that a section is usually swept at, V.
pub(super) fn kind_plate(kind: &handbook::Type, section: usize) -> f64 {
    let rated = kind.section(section).and_then(|s| s.ratings.plate_voltage.as_ref()).map(|v| v.value);
    let typical = point(kind, section).map_or(250.0, |t| t.va);
    // Fifty-volt marks; not above 1.25 times the handbook's plate voltage, where the
    // plate would glow at no bias.
    let most = rated.unwrap_or(f64::INFINITY).min(1.25 * typical.max(80.0));
    ((most / 50.0).floor() * 50.0).max(50.0)
}

fn is_sound(kind: &handbook::Type, means: &[Form], tube: &VirtualTube) -> bool {
    let near = |(i, s): (usize, &VirtualSection)| {
        let Some(t) = point(kind, i) else { return true };
        let share = s.form.current(t.va, t.vg) / means[i].current(t.va, t.vg);
        (share - 1.0).abs() <= SOUND
    };
    let matched = !kind.has_equal_sections() || mismatch(kind, tube).is_none_or(|m| m <= SOUND_MATCH);
    tube.sections.iter().enumerate().all(near) && matched
}

/// Largest difference of plate current between the first two sections, over their mean,
/// in the working region: 60 and 100 % of the handbook's plate voltage, where the current
/// is between a third of and twice the handbook's. Only the laws are compared, with the
/// factors and shifts among the defects, not leaks or ceilings.
pub fn mismatch(kind: &handbook::Type, tube: &VirtualTube) -> Option<f64> {
    let [a, b, ..] = tube.sections.as_slice() else { return None };
    let t = point(kind, 0)?;
    let current = |s: &VirtualSection, va: f64, vg: f64| {
        let form = s.form.with_mu_times(s.defects.mu.unwrap_or(1.0));
        form.current(va, vg + s.defects.contact) * s.defects.perveance.unwrap_or(1.0)
    };
    let mut most: f64 = 0.0;
    for va in [0.6 * t.va, t.va] {
        for k in 0..=20 {
            let vg = -f64::from(k) / 20.0 * va / t.mu;
            let (ia, ib) = (current(a, va, vg), current(b, va, vg));
            let mean = 0.5 * (ia + ib);
            if (t.ia / 3.0..=2.0 * t.ia).contains(&mean) {
                most = most.max((ia - ib).abs() / mean);
            }
        }
    }
    Some(most)
}

impl VirtualBench {
    /// A good bench with the sweep that one would usually take of a type: three plate
    /// voltages, the grid from well past cutoff to 0 V. `None` where the handbook knows no
    /// triode point.
    pub fn usual(kind: &handbook::Type) -> Option<Self> {
        let t = point(kind, 0)?;
        let top = kind_plate(kind, 0);
        let plates: Vec<f64> = (1..=3).map(|i| (top * f64::from(i) / 3.0 / 10.0).round() * 10.0).collect();
        // Nearly twice the cutoff of an ideal grid, in 30 to 60 steps of 1, 2 or 5.
        let deepest = 1.8 * top / t.mu;
        let step = nice(deepest / 60.0);
        let from = -(deepest / step).ceil() * step;
        Some(Self { plan: vec![Family::Transfer { plates, grid: Range { from, to: 0.0, step } }], ..Self::default() })
    }
}

/// The next of 1, 2, 5 times a power of ten at or above `x`.
pub(super) fn nice(x: f64) -> f64 {
    let decade = libm::pow(10.0, libm::floor(libm::log10(x)));
    let lead = [1.0, 2.0, 5.0, 10.0].into_iter().find(|m| m * decade >= x * (1.0 - 1e-9)).unwrap_or(10.0);
    lead * decade
}
