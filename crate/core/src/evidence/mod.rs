//! Everything computed from a tube once, before any rule looks at it.

mod bench_marks;
mod contrast;
mod drive;
mod fits;
mod grid;
mod gross;
mod heater_cathode;
mod leaks;
mod likeness;
mod noise;
mod pairs;
mod plateau;
mod scale;
mod shape;
mod start;

pub use bench_marks::{Sag, Unrest};
pub use contrast::Contrast;
pub use drive::{Connection, Drive};
pub use fits::{Departure, Found, Laws, SURE, Seat, Shown};
pub use grid::GridReadings;
pub use gross::{Ends, Gross};
pub use leaks::{Leaks, Path};
pub use likeness::Likeness;
pub use noise::Noise;
pub use pairs::{Activity, GridFromPair, Pairs, Repeat};
pub use plateau::Plateau;
pub use scale::Scale;

use crate::handbook::Type;
use crate::law::{Applied, Par, Params};
use crate::numerics::{Estimate, Gram};
use crate::sweep::{Curve, HeaterCathode, MeterPlace, Points, Running, Tube};

/// What is known of one tube, all figures computed once.
#[derive(Debug, Clone)]
pub struct Evidence<'a> {
    /// The tube.
    pub tube: &'a Tube,
    /// Grid source resistance, ohm.
    pub rs: f64,
    /// Place of the plate-current meter.
    pub meter: MeterPlace,
    /// The type on the label, where the handbook knows it.
    pub kind: Option<&'static Type>,
    /// Currents measured between heater and cathode, the largest of each polarity.
    pub heater_cathode: Vec<HeaterCathode>,
    /// The handbook's limit of heater–cathode leakage at 100 V for it, A.
    pub heater_cathode_limit: Option<f64>,
    /// A section each.
    pub sections: Vec<SectionEvidence<'a>>,
    /// The law fitted to all sections that conduct under their grid's control.
    pub laws: Option<Laws>,
    /// First against second section, where there are two that conduct.
    pub contrast: Option<Contrast>,
}

/// What is known of one section.
#[derive(Debug, Clone)]
pub struct SectionEvidence<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its points.
    pub points: &'a Points,
    /// Its curves.
    pub curves: Vec<Curve>,
    /// Noise of the plate-current readings.
    pub noise: Noise,
    /// Noise of the grid-current readings, where there are any.
    pub grid_noise: Option<Noise>,
    /// Ends of the curves.
    pub gross: Gross,
    /// Whether it conducts and obeys its grid.
    pub state: State,
    /// A flat top.
    pub plateau: Option<Plateau>,
    /// Floor and grid current taken apart.
    pub leaks: Leaks,
    /// Place of this section in [`Evidence::laws`].
    pub law_index: Option<usize>,
    /// Exponent at the top.
    pub top_exponent: Option<Estimate>,
    /// Steepness of the tail.
    pub tail_index: Option<Estimate>,
    /// What the order of measurement did.
    pub order_effect: Option<Estimate>,
    /// How far the curves come down.
    pub reach: Reach,
    /// Whether its grid axis is scaled against its twin's: only behind a source
    /// resistance, without a grid meter, and with a twin.
    pub scale: Option<Scale>,
    /// Whether the plate voltages were read and not only set.
    pub reads_plate_voltage: bool,
    /// A plate voltage that was read to fall as the current rises.
    pub sag: Option<Sag>,
    /// A region of restless readings.
    pub unrest: Option<Unrest>,
    /// What other sweeps of it say.
    pub pairs: Pairs,
    /// What drives its space charge.
    pub drive: Drive,
    /// Plate voltages between which a tetrode's plate current falls as the plate
    /// rises.
    pub kink: Option<(f64, f64)>,
    /// How it compares with the handbook, where the label's type is known.
    pub likeness: Option<Likeness>,
}

/// Whether a section conducts and obeys its grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// A triode.
    Controlled,
    /// Conducts as a diode does, whatever the grid is told.
    Uncontrolled,
    /// Carries nothing but, at most, leaks.
    Dead,
    /// A diode or rectifier that conducts.
    Diode,
    /// Carries one and the same current at every setting, as an instrument in
    /// its limit does.
    Limited,
}

/// How far the curves come down.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Different plate voltages (transfer) or grid voltages (plate family).
    pub curves: usize,
    /// Curves that reach cutoff.
    pub cut_off: usize,
    /// Lowest reading over the highest, of the curve that comes down furthest.
    pub lowest_share: f64,
}

impl SectionEvidence<'_> {
    /// What was applied at a point, as the fitted law takes it, the tube warm.
    pub fn applied(&self, i: usize) -> Applied {
        self.drive.applied(self.points, i, self.points.vg[i])
    }
}

impl Evidence<'_> {
    /// The fitted parameters of a section.
    pub fn params(&self, section: usize) -> Option<&Params> {
        let at = self.sections[section].law_index?;
        self.laws.as_ref().map(|l| &l.fit.params[at])
    }

    /// Whether the grid current of a section is known, by a meter or by two sweeps.
    pub fn has_grid_current(&self, section: usize) -> bool {
        !self.sections[section].leaks.grid_rows.is_empty()
    }
}

/// Below this share of what the other section (or the handbook) carries, a
/// section is dead: a triode worn to a hundredth is of no use (by construction).
const DEAD_SHARE: f64 = 0.01;
/// A grid that changes the current by less than this share has no say: the
/// weakest grid of any receiving triode, swept to cutoff or over a third of the
/// way there, changes it severalfold (by construction).
const NO_SAY: f64 = 0.1;
/// Exponent in plate voltage below which a current that ignores its grid is an
/// ohmic path (1): space charge has 3/2, or down to 1.09 with the contact
/// potential of a type with high mu at low plate voltage (computed from the laws
/// of reference 1.4).
const OHMIC_BELOW: f64 = 1.04;
/// And below which it does not depend on the plate voltage at all.
const LIMITED_BELOW: f64 = 0.3;
/// Grid more positive than this draws electrons; with a source resistance and
/// no grid meter, its pin voltage is then not known (reference 4.3 item 5).
const PIN_KNOWN_BELOW: f64 = -0.5;

/// What a handbook says was to be expected of a tube. Only used to begin a fit
/// and to recognise a section that is dead; no finding rests on it.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Expected {
    /// Plate current at the sweep's most positive grid and plate, A.
    top: Option<f64>,
    /// Amplification factor.
    mu: Option<f64>,
}

impl Expected {
    /// Looks it up for the type on the label.
    fn of(tube: &Tube, kind: Option<&Type>) -> Self {
        let Some(section) = kind.and_then(|k| k.section(0)) else { return Self::default() };
        let largest = |pick: fn(&Points) -> &Vec<f64>| {
            tube.sections.iter().flat_map(|s| pick(&s.points)).copied().fold(f64::NEG_INFINITY, f64::max)
        };
        let (va, vg) = (largest(|p| &p.va), largest(|p| &p.vg));
        let top =
            section.law.as_ref().map(|l| l.plate_current(va, vg.min(0.0), tube.bench.screen_voltage.or(Some(va))));
        Self {
            top: top.filter(|t| t.is_finite()),
            mu: section.points.iter().find_map(|p| p.mu.as_ref()).map(|m| m.value),
        }
    }
}

/// Gathers the evidence of a tube. `others` are other sweeps of the same tube.
pub fn gather<'a>(tube: &'a Tube, kind: Option<&'static Type>, others: &[&Tube]) -> Evidence<'a> {
    let expected = Expected::of(tube, kind);
    let mu_hint = expected.mu;
    let rs = tube.bench.rs();
    let meter = tube.bench.meter();
    let mut raw: Vec<Raw<'a>> = tube
        .sections
        .iter()
        .enumerate()
        .map(|(i, s)| Raw::of(&s.name, &s.points, Drive::of(&s.points, &tube.bench, kind.and_then(|k| k.section(i)))))
        .collect();
    drop_exceeded(&mut raw);
    let pairs: Vec<Pairs> =
        raw.iter().zip(&tube.sections).map(|(r, s)| pairs::pairs(tube, s, &r.curves, &r.noise, others)).collect();
    let strongest = raw.iter().map(|r| r.gross.top).fold(0.0, f64::max).max(expected.top.unwrap_or(0.0));
    let mut states: Vec<State> = raw.iter().map(|r| r.state(strongest)).collect();
    let bridged: Vec<usize> = (0..raw.len()).filter(|s| is_bridged(&raw, &states, *s)).collect();
    bridged.into_iter().for_each(|s| states[s] = State::Dead);
    let mut pins: Vec<Vec<f64>> = raw.iter().map(|r| r.pin(rs)).collect();

    let filament = kind.filter(|k| k.directly_heated).and_then(|k| k.heaters.first()).map_or(0.0, |h| h.voltage.value);
    let context = Context { rs, mu_hint, filament };
    let mut laws = fit_all(&raw, &states, &pins, context);
    let mut leaks = decompose(&raw, &states, &pins, laws.as_ref(), meter, &pairs);
    // A plate–grid leak pulls the grid up through its source resistance: with
    // its size known from the floor, the pin voltage is put right and the law
    // fitted again (reference 4.2).
    if rs > 0.0 {
        let mut moved = false;
        for (s, r) in raw.iter().enumerate() {
            if r.points.ig.is_none()
                && leaks[s].probability(Path::PlateGrid) > 0.5
                && let Some(g) = leaks[s].estimate(Path::PlateGrid)
            {
                let g = g.value.max(0.0);
                for (i, pin) in pins[s].iter_mut().enumerate() {
                    *pin = (r.points.vg[i] + rs * g * r.points.va[i]) / (1.0 + rs * g);
                }
                moved = true;
            }
        }
        if moved {
            laws = fit_all(&raw, &states, &pins, context);
            leaks = decompose(&raw, &states, &pins, laws.as_ref(), meter, &pairs);
        }
    }

    let contrast = match (raw.as_slice(), states.as_slice()) {
        ([a, b], [State::Controlled, State::Controlled] | [State::Diode, State::Diode]) => {
            contrast::contrast((a.points, &a.curves), (b.points, &b.curves))
        }
        _ => None,
    };
    // Neither a departure nor a leak of one section is a mismatch.
    let leaky = leaks.iter().any(|l| l.probability_of_any(&[Path::PlateCathode, Path::PlateGrid]) > 0.5);
    let contrast = contrast.map(|c| match &laws {
        Some(laws) if (leaky || !laws.found.is_empty()) && laws.sections.len() == 2 => {
            c.of_laws(laws, &pins[0], &raw[0].drive.volts)
        }
        _ => c,
    });
    let sections = raw
        .into_iter()
        .zip(leaks)
        .zip(pairs)
        .enumerate()
        .map(|(s, ((r, leaks), pairs))| {
            let place = Place { section: s, kind, laws: laws.as_ref(), pin: &pins[s], rs };
            r.finish(place, states[s], leaks, pairs)
        })
        .collect();
    let heater_cathode = heater_cathode::readings(tube);
    let heater_cathode_limit = kind.and_then(|k| k.limits.heater_cathode.as_ref()).map(|v| v.value);
    Evidence { tube, rs, meter, kind, heater_cathode, heater_cathode_limit, sections, laws, contrast }
}

/// Whether most of a section's current does not pass its grid: it still flows where
/// another section is cut off at the same voltages, and no faster than in proportion to
/// the plate voltage. What the grid turns on beside it says little of the tube.
fn is_bridged(raw: &[Raw<'_>], states: &[State], s: usize) -> bool {
    /// Share of the current that the grid may still control.
    const LITTLE_SAY: f64 = 0.5;
    let section = &raw[s].gross;
    let cut_off = |t: usize| raw[t].reach().cut_off == raw[t].curves.len() && !raw[t].curves.is_empty();
    states[s] == State::Controlled
        && section.control < LITTLE_SAY
        && section.deep_exponent.is_some_and(|p| p < OHMIC_BELOW)
        && (0..raw.len()).any(|t| t != s && states[t] == State::Controlled && cut_off(t))
}

/// A flat top that another section goes beyond on the same bench in the same
/// sweep is not the bench's limit: it is left to the law.
fn drop_exceeded(raw: &mut [Raw<'_>]) {
    /// A limit acts to within about this share in all sections.
    const SAME: f64 = 1.05;
    let tops: Vec<f64> = raw.iter().map(|r| r.gross.top).collect();
    for (s, r) in raw.iter_mut().enumerate() {
        let exceeded = |level: f64| tops.iter().enumerate().any(|(t, top)| t != s && *top > SAME * level);
        if r.plateau.as_ref().is_some_and(|p| exceeded(p.level)) {
            r.plateau = None;
        }
    }
}

/// What all sections of a tube have in common.
#[derive(Debug, Clone, Copy)]
struct Context {
    rs: f64,
    mu_hint: Option<f64>,
    filament: f64,
}

fn fit_all(raw: &[Raw<'_>], states: &[State], pins: &[Vec<f64>], context: Context) -> Option<Laws> {
    let Context { rs, mu_hint, filament } = context;
    let inputs: Vec<fits::Input<'_>> = raw
        .iter()
        .enumerate()
        .filter(|(s, _)| matches!(states[*s], State::Controlled | State::Diode))
        .map(|(s, r)| fits::Input {
            section: s,
            points: r.points,
            drive: &r.drive,
            noise: r.noise,
            left_out: r.plateau.as_ref().map_or(Vec::new(), |p| p.points.clone()),
            pin: pins[s].clone(),
            most_positive: if rs > 0.0 && r.points.ig.is_none() { PIN_KNOWN_BELOW } else { 0.05 },
            floors: r.lowest_share() < 0.05 || r.ends_in_a_floor(),
            filament,
            before: raw[..s].iter().map(|r| r.points.len() as f64).sum(),
            mu_hint,
        })
        .collect();
    if inputs.is_empty() { None } else { fits::search(inputs) }
}

fn decompose(
    raw: &[Raw<'_>],
    states: &[State],
    pins: &[Vec<f64>],
    laws: Option<&Laws>,
    meter: MeterPlace,
    pairs: &[Pairs],
) -> Vec<Leaks> {
    raw.iter()
        .enumerate()
        .map(|(s, r)| {
            let at = laws.and_then(|l| l.sections.iter().position(|at| *at == s));
            let law = laws.zip(at).map(|(l, at)| &l.fit.params[at]);
            let wild = laws.zip(at).map_or(&[][..], |(l, at)| &l.wild[at]);
            let clipped = r.plateau.as_ref().map_or(&[][..], |p| &p.points);
            let grid = match (r.points.ig.as_ref(), r.grid_noise, law, pairs[s].grid.as_ref()) {
                // A column that never moves has no known step: it says nothing.
                (Some(ig), Some(noise), ..) if noise.floor > 0.0 => Some(GridReadings::measured(ig, noise)),
                (None, _, Some(law), Some(pair)) => Some(GridReadings::of_pair(pair, r.points, &r.drive, law, r.noise)),
                _ => None,
            };
            Leaks::of(&leaks::LeakInput {
                points: r.points,
                drive: &r.drive,
                curves: &r.curves,
                plate_noise: r.noise,
                grid: grid.as_ref(),
                law,
                dead: states[s] == State::Dead,
                pin: &pins[s],
                meter,
                left_out: &[clipped, wild].concat(),
            })
        })
        .collect()
}

/// Where a section stands in its tube.
struct Place<'e> {
    section: usize,
    kind: Option<&'static Type>,
    laws: Option<&'e Laws>,
    pin: &'e [f64],
    rs: f64,
}

/// What needs no other section.
struct Raw<'a> {
    name: &'a str,
    points: &'a Points,
    curves: Vec<Curve>,
    noise: Noise,
    grid_noise: Option<Noise>,
    gross: Gross,
    plateau: Option<Plateau>,
    drive: Drive,
}

impl<'a> Raw<'a> {
    fn of(name: &'a str, points: &'a Points, drive: Drive) -> Self {
        let curves = points.curves();
        let noise = Noise::of(&points.ia, points, &curves);
        let grid_noise = points.ig.as_ref().map(|ig| Noise::of(ig, points, &curves));
        let gross = Gross::of(points, &curves, &noise);
        // Past its knee a pentode's plate curve is flat by nature.
        let rising = |c: &&Curve| drive.connection != Connection::Pentode || c.running == Running::Grid;
        let could_clip: Vec<Curve> = curves.iter().filter(rising).cloned().collect();
        let plateau = plateau::plateau(points, &could_clip, &noise);
        Self { name, points, curves, noise, grid_noise, gross, plateau, drive }
    }

    fn state(&self, strongest: f64) -> State {
        let g = &self.gross;
        let seen = g.top > 10.0 * self.noise.floor;
        if !seen || g.top < DEAD_SHARE * strongest {
            return State::Dead;
        }
        if self.drive.connection == Connection::Diode {
            return State::Diode;
        }
        // A curve that is clipped over its whole length says nothing of the grid.
        if g.control > NO_SAY || self.plateau.as_ref().is_some_and(|p| p.curves == self.curves.len()) {
            return State::Controlled;
        }
        match g.plate_exponent {
            // The plate has little say in a pentode, whatever its grid does.
            _ if self.drive.connection == Connection::Pentode => State::Uncontrolled,
            Some(p) if p < LIMITED_BELOW => State::Limited,
            Some(p) if p < OHMIC_BELOW => State::Dead,
            _ => State::Uncontrolled,
        }
    }

    fn pin(&self, rs: f64) -> Vec<f64> {
        (0..self.points.len()).map(|i| self.points.vg[i] - rs * self.points.ig_at(i).unwrap_or(0.0)).collect()
    }

    fn lowest_share(&self) -> f64 {
        self.reach().lowest_share
    }

    /// Whether a transfer curve has come to rest at its deep end while the grid still
    /// went on: on a floor, however high, of a strong leak or a meter off zero.
    fn ends_in_a_floor(&self) -> bool {
        /// Deep end of a curve, as a share of its readings, and fewest of them.
        const DEEP: (f64, usize) = (0.25, 5);
        /// Slope there over the curve's mean slope. A 3/2 law that ends at a twentieth
        /// of its top has 0.67 there, and more the higher it ends (computed).
        const AT_REST: f64 = 0.1;
        let flat = |curve: &Curve| {
            let count = (DEEP.0 * curve.index.len() as f64) as usize;
            let (first, last) = (curve.index[0], curve.index[curve.index.len() - 1]);
            let rise = self.points.ia[last] - self.points.ia[first];
            if curve.running != Running::Grid || count < DEEP.1 || rise < NO_SAY * self.points.ia[last] {
                return false;
            }
            let mut gram = Gram::new(2);
            for &i in &curve.index[..count] {
                gram.add(&[1.0, self.points.vg[i] - self.points.vg[first]], self.points.ia[i], 1.0);
            }
            let mean = rise / (self.points.vg[last] - self.points.vg[first]);
            gram.solve(&[0, 1]).is_some_and(|line| line.beta[1] < AT_REST * mean)
        };
        self.curves.iter().any(flat)
    }

    /// A curve reaches cutoff where its lowest reading is below this share of
    /// the section's top: a floor of a strong leak may stand that high.
    fn reach(&self) -> Reach {
        const CUT_OFF: f64 = 0.01;
        let top = self.gross.top.max(f64::MIN_POSITIVE);
        let lows: Vec<f64> = self
            .curves
            .iter()
            .map(|c| c.index.iter().map(|&i| self.points.ia[i]).fold(f64::INFINITY, f64::min) / top)
            .collect();
        Reach {
            curves: self.curves.len(),
            cut_off: lows.iter().filter(|l| **l < CUT_OFF).count(),
            lowest_share: lows.iter().copied().fold(f64::INFINITY, f64::min),
        }
    }

    fn finish(self, place: Place<'_>, state: State, leaks: Leaks, pairs: Pairs) -> SectionEvidence<'a> {
        let Place { section, kind, laws, pin, rs } = place;
        let law_index = laws.and_then(|l| l.sections.iter().position(|at| *at == section));
        let mut reach = self.reach();
        reach.cut_off = reach.cut_off.max(self.curves_past_cutoff(&leaks.plate_rows));
        let twin =
            laws.filter(|l| l.sections.len() == 2).zip(law_index).filter(|_| rs > 0.0 && self.points.ig.is_none());
        let scale = twin.and_then(|(laws, at)| scale::scale(laws, at, 1 - at));
        let (mut top_exponent, mut tail_index, mut order_effect) = (None, None, None);
        let (mut likeness, mut unrest) = (None, None);
        if let (Some(laws), Some(at)) = (laws, law_index) {
            let params = &laws.fit.params[at];
            let floor = |i: usize| {
                params.get(Par::I0)
                    + params.get(Par::Gak) * self.points.va[i]
                    + params.get(Par::Gga) * (self.points.va[i] - pin[i])
            };
            top_exponent = shape::top_exponent(&laws.observed[at], &laws.fit, at);
            tail_index = shape::tail_index(self.points, &self.curves, &self.noise, params.law().mu, floor);
            order_effect = shape::order_effect(&laws.observed[at], &laws.fit, at);
            let mu_sd = laws.fit.estimate(at, Par::LnMu).sd;
            let triode = self.drive.connection == Connection::Triode;
            likeness = kind.filter(|_| triode).and_then(|k| likeness::likeness(self.points, params, mu_sd, k, section));
            let clipped = self.plateau.as_ref().map_or(&[][..], |p| &p.points);
            let left_out = [clipped, &laws.wild[at]].concat();
            unrest = bench_marks::unrest(self.points, &self.drive.volts, &self.curves, &params.law(), &left_out);
        }
        let tetrode = self.drive.connection == Connection::Pentode;
        let kink = drive::kink(self.points, &self.curves, |i| self.noise.sd(i)).filter(|_| tetrode);
        let reads_plate_voltage = bench_marks::reads_plate_voltage(self.points, &self.curves);
        let sag = bench_marks::sag(self.points, &self.curves).filter(|_| reads_plate_voltage);
        SectionEvidence {
            name: self.name,
            points: self.points,
            curves: self.curves,
            noise: self.noise,
            grid_noise: self.grid_noise,
            gross: self.gross,
            state,
            plateau: self.plateau,
            leaks,
            law_index,
            top_exponent,
            tail_index,
            order_effect,
            reach,
            scale,
            reads_plate_voltage,
            sag,
            unrest,
            pairs,
            likeness,
            kink,
            drive: self.drive,
        }
    }

    /// Curves with readings past cutoff: a curve that ends on the floor of a
    /// strong leak is cut off too.
    fn curves_past_cutoff(&self, rows: &[usize]) -> usize {
        const FEWEST: usize = 3;
        self.curves.iter().filter(|c| c.index.iter().filter(|i| rows.contains(i)).count() >= FEWEST).count()
    }
}
