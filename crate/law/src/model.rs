//! The law with what a fault or the bench does to it, as a function of its
//! parameters, with all derivatives.
//!
//! Terms that feed the measured current back into the voltages (a resistance in
//! the cathode lead) use the reading itself: the equation that would have to be
//! solved at every point becomes explicit, at the price of the reading's noise,
//! which is small against the current.

use fearless_simd::{Level, Simd, dispatch, prelude::*};

use super::lanes::{self, Four, Lanes, WIDTH, exp, level, ln, ln_1p};
use super::observed::Observed;
use super::space_charge::{AtPlate, LawLanes, SpaceCharge};

/// The parameters of one section's model, as indices into [`Params`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[repr(usize)]
pub enum Par {
    /// ln of the perveance.
    LnP,
    /// ln of the amplification factor.
    LnMu,
    /// Contact potential, V.
    Phi,
    /// Exponent.
    X,
    /// Width of the bend, V.
    W0,
    /// Relative spread of the grid: w1·mu.
    Spread,
    /// Hold of the grid at low plate voltage, V².
    Kvb,
    /// The same in proportion to the plate voltage, V.
    Kvl,
    /// Reciprocal of the emission ceiling, 1/A; 0 without one.
    Ceiling,
    /// ln of the exponent with which the ceiling is approached.
    LnSharp,
    /// Resistance in the cathode lead, ohm.
    Ri,
    /// ln of the scale of the grid axis.
    LnKappa,
    /// Share of the cathode under the coarser part of the grid.
    Share,
    /// ln of the coarser part's mu over the mu of the rest.
    LnRatio,
    /// Constant added to the reading, A.
    I0,
    /// Plate–cathode conductance, S.
    Gak,
    /// Plate–grid conductance, S.
    Gga,
    /// Share of the current missing when the sweep began: a tube not yet warm.
    Deficit,
    /// ln of the time constant with which it is made up, in points.
    LnTau,
    /// Relative rise of a pentode's current per volt of plate beyond screen, 1/V.
    Plate,
    /// 1 where the sections were taken one after the other without a pause, 0
    /// where each began anew. Never fitted.
    Continued,
}

/// Number of parameters.
pub const PARS: usize = 21;

/// What was applied at a point, and what the model needs of the reading itself.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Applied {
    /// Voltage that drives the space charge, V: the plate's, or a pentode's screen's.
    pub va: f64,
    /// Plate voltage, V: what leaks from the plate feel.
    pub anode: f64,
    /// Grid voltage at the pin, V.
    pub vg: f64,
    /// How far the plate is beyond the screen in a pentode, V; 0 otherwise.
    pub plate: f64,
    /// Plate current that was read, A: used in feedback terms.
    pub reading: f64,
    /// Points of this section taken before this one.
    pub time: f64,
    /// Points of other sections taken before this section.
    pub before: f64,
}

/// Values of all parameters of one section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Params(pub [f64; PARS]);

impl Params {
    /// A healthy section with this law.
    pub fn healthy(law: &SpaceCharge) -> Self {
        let mut p = [0.0; PARS];
        p[Par::LnP as usize] = law.ln_p;
        p[Par::LnMu as usize] = libm::log(law.mu);
        p[Par::Phi as usize] = law.phi;
        p[Par::X as usize] = law.x;
        p[Par::W0 as usize] = law.w0;
        p[Par::Spread as usize] = law.w1 * law.mu;
        p[Par::Kvb as usize] = law.kvb;
        p[Par::Kvl as usize] = law.kvl;
        p[Par::LnSharp as usize] = libm::log(3.0);
        p[Par::LnRatio as usize] = libm::log(0.5);
        Self(p)
    }

    /// One value.
    pub fn get(&self, par: Par) -> f64 {
        self.0[par as usize]
    }

    /// Sets one value.
    pub fn set(&mut self, par: Par, value: f64) {
        self.0[par as usize] = value;
    }

    /// The space-charge law alone.
    pub fn law(&self) -> SpaceCharge {
        self.law_with(self.get(Par::LnMu), libm::exp(-self.get(Par::LnMu)))
    }

    /// The law of a part of the cathode; `thin` is 1/mu of the whole.
    fn law_with(&self, ln_mu: f64, thin: f64) -> SpaceCharge {
        SpaceCharge {
            ln_p: self.get(Par::LnP),
            mu: libm::exp(ln_mu),
            phi: self.get(Par::Phi),
            x: self.get(Par::X),
            w0: self.get(Par::W0),
            // One grid, one width of the bend: the coarse part shares it.
            w1: self.get(Par::Spread) * thin,
            kvb: self.get(Par::Kvb),
            kvl: self.get(Par::Kvl),
        }
    }

    /// Computes once what is the same at all points; the derivatives by the parameters that are
    /// `wanted` will be right.
    #[inline(always)]
    pub(super) fn ready<S: Simd>(&self, simd: S, wanted: impl Fn(Par) -> bool) -> Ready<S> {
        let all = |value| Lanes::splat(simd, value);
        let there = |par: Par| self.get(par) != 0.0 || wanted(par);
        let per_mu = libm::exp(-self.get(Par::LnMu));
        let coarse = self.get(Par::LnMu) + self.get(Par::LnRatio);
        Ready {
            par: self.0.map(all),
            kappa: all(libm::exp(self.get(Par::LnKappa))),
            sharp: all(libm::exp(self.get(Par::LnSharp))),
            per_tau: all(libm::exp(-self.get(Par::LnTau))),
            per_mu: all(per_mu),
            fine: LawLanes::of(simd, &self.law_with(self.get(Par::LnMu), per_mu)),
            coarse: (self.get(Par::Share) != 0.0).then(|| LawLanes::of(simd, &self.law_with(coarse, per_mu))),
            limited: self.get(Par::Ceiling) != 0.0,
            warming: self.get(Par::Deficit) != 0.0,
            in_lead: there(Par::Ri),
            pulled: there(Par::Plate),
            scaled: wanted(Par::LnKappa),
        }
    }

    /// The current that the plate meter should read, A, and its derivative by every parameter.
    pub fn predict(&self, at: &Applied, gradient: &mut [f64; PARS]) -> f64 {
        dispatch!(Level::baseline(), simd => {
            let mut by = [Lanes::splat(simd, 0.0); PARS];
            let i = self.ready(simd, |_| true).predict::<true>(&AppliedFour::of([*at; WIDTH]), &mut None, &mut by);
            *gradient = by.map(|g| g[0]);
            i[0]
        })
    }

    /// The currents that the plate meter should read at many points, A.
    pub fn currents(&self, at: impl ExactSizeIterator<Item = Applied>) -> Vec<f64> {
        let points = at.len();
        plain(&self.read(&packed(at)), points)
    }

    /// The currents that it should read at a section's points, A.
    pub fn currents_of(&self, section: &Observed) -> Vec<f64> {
        plain(&self.read(&AppliedFour::all(section)), section.len())
    }

    /// The same four by four.
    pub(super) fn read(&self, at: &[AppliedFour]) -> Vec<Four> {
        let mut out = Vec::with_capacity(at.len());
        dispatch!(level(), simd => {
            let (ready, mut along) = (self.ready(simd, |_| false), None);
            let mut unused = [Lanes::splat(simd, 0.0); PARS];
            for four in at {
                out.push(ready.predict::<false>(four, &mut along, &mut unused).to_array());
            }
        });
        out
    }
}

/// What acts on the currents of a space charge, apart from it.
impl Params {
    /// What the ceiling leaves of currents, A.
    pub fn limited(&self, currents: &[f64]) -> Vec<f64> {
        let mut fours = lanes::packed(currents, 0.0);
        dispatch!(level(), simd => {
            let (ready, mut unused) = (self.ready(simd, |_| false), [Lanes::splat(simd, 0.0); PARS]);
            for four in &mut fours {
                let mut i = Lanes::load_array(simd, *four);
                ready.limit::<false>(&mut i, &mut unused);
                *four = i.to_array();
            }
        });
        plain(&fours, currents.len())
    }

    /// What flows of currents while the tube warms up, A; `time` counts the points of the
    /// section before each, `before` those of other sections.
    pub fn warming(&self, currents: &[f64], time: &[f64], before: f64) -> Vec<f64> {
        let mut fours = lanes::packed(currents, 0.0);
        let time = lanes::packed(time, 0.0);
        dispatch!(level(), simd => {
            let ready = self.ready(simd, |_| false);
            let before = ready.get(Par::Continued) * before;
            for (four, time) in fours.iter_mut().zip(&time) {
                let warm = ready.warm(Lanes::load_array(simd, *time) + before).0;
                *four = (Lanes::load_array(simd, *four) * warm).to_array();
            }
        });
        plain(&fours, currents.len())
    }
}

/// So many values of fours.
fn plain(fours: &[Four], points: usize) -> Vec<f64> {
    let mut out = fours.as_flattened().to_vec();
    out.truncate(points);
    out
}

/// [`Applied`] at four points.
#[derive(Debug, Clone, Copy)]
pub(super) struct AppliedFour {
    va: Four,
    anode: Four,
    vg: Four,
    plate: Four,
    reading: Four,
    time: Four,
    before: f64,
}

impl AppliedFour {
    /// What was applied at all points of a section; the last one stands for what is missing
    /// from the last four.
    pub(super) fn all(data: &Observed) -> Vec<Self> {
        let column = |values: &[f64], k: usize| -> Four {
            let from = k * WIDTH;
            match values.get(from..from + WIDTH) {
                Some(four) => [four[0], four[1], four[2], four[3]],
                None => std::array::from_fn(|i| values[(from + i).min(values.len() - 1)]),
            }
        };
        // A voltage that is not given apart is that of the space charge, and 0 beyond the screen.
        let or = |values: &[f64], k: usize, other: Four| if values.is_empty() { other } else { column(values, k) };
        let four = |k: usize| {
            let va = column(&data.va, k);
            Self {
                va,
                anode: or(&data.anode, k, va),
                vg: column(&data.vg, k),
                plate: or(&data.plate, k, [0.0; WIDTH]),
                reading: column(&data.ia, k),
                time: column(&data.time, k),
                before: data.before,
            }
        };
        (0..data.len().div_ceil(WIDTH)).map(four).collect()
    }

    /// Of four points of one section.
    fn of(at: [Applied; WIDTH]) -> Self {
        let four = |of: fn(&Applied) -> f64| at.each_ref().map(of);
        Self {
            va: four(|a| a.va),
            anode: four(|a| a.anode),
            vg: four(|a| a.vg),
            plate: four(|a| a.plate),
            reading: four(|a| a.reading),
            time: four(|a| a.time),
            before: at[0].before,
        }
    }
}

/// Points of one section four by four; the last one stands for what is missing from the last
/// four.
fn packed(mut at: impl Iterator<Item = Applied>) -> Vec<AppliedFour> {
    let fours = std::iter::from_fn(move || {
        let mut four = [at.next()?; WIDTH];
        for i in 1..WIDTH {
            four[i] = at.next().unwrap_or(four[i - 1]);
        }
        Some(AppliedFour::of(four))
    });
    fours.collect()
}

/// Parameters ready to predict many points.
#[derive(Clone, Copy)]
pub(super) struct Ready<S: Simd> {
    par: [Lanes<S>; PARS],
    /// Scale of the grid axis.
    kappa: Lanes<S>,
    /// Exponent with which the ceiling is approached.
    sharp: Lanes<S>,
    /// Reciprocal of the time constant of the warm-up, 1/point.
    per_tau: Lanes<S>,
    /// 1/mu of the whole grid.
    per_mu: Lanes<S>,
    /// The law of the finer part of the grid, and of the coarser where there is one.
    fine: LawLanes<S>,
    coarse: Option<LawLanes<S>>,
    /// Whether there is a ceiling, and a warm-up.
    limited: bool,
    warming: bool,
    /// Whether there is a resistance in the cathode lead, and a plate beyond a screen, or may be.
    in_lead: bool,
    pulled: bool,
    /// Whether the scale of the grid axis is sought.
    scaled: bool,
}

/// What is the same for all points of one plate voltage.
#[derive(Clone, Copy)]
pub(super) struct Along<S: Simd> {
    /// Voltage at the cathode's plate, V.
    va: Lanes<S>,
    fine: AtPlate<S>,
    coarse: Option<(LawLanes<S>, AtPlate<S>)>,
}

impl<S: Simd> Ready<S> {
    #[inline(always)]
    fn get(&self, par: Par) -> Lanes<S> {
        self.par[par as usize]
    }

    /// The current that the plate meter should read, A, and (with `SLOPES`) its derivative
    /// by every parameter. What is the same along a curve is handed on in `along`.
    #[inline(always)]
    pub(super) fn predict<const SLOPES: bool>(
        &self,
        at: &AppliedFour,
        along: &mut Option<Along<S>>,
        by: &mut [Lanes<S>; PARS],
    ) -> Lanes<S> {
        let all = |value| Lanes::splat(self.kappa.simd, value);
        let load = |four: &Four| Lanes::load_array_ref(self.kappa.simd, four);
        let (va, anode, vg) = (load(&at.va), load(&at.anode), load(&at.vg));
        let (plate, reading) = (load(&at.plate), load(&at.reading));
        let time = load(&at.time) + self.get(Par::Continued) * at.before;
        let drop = self.get(Par::Ri) * reading;
        let inner_vg = self.kappa * vg - drop;
        // A plate driven below the cathode by the feedback term draws nothing more.
        let inner_va = (va - drop).max(0.0);

        let along = match along {
            Some(same) if same.va.simd_eq(inner_va).all_true() => same,
            _ => along.insert(Along {
                va: inner_va,
                fine: self.fine.at_plate(inner_va),
                coarse: self.coarse.map(|law| (law, law.at_plate(inner_va))),
            }),
        };
        let mut base = self.space_charge::<SLOPES>(along, inner_vg, by);
        let mut factor = all(1.0);
        if self.pulled {
            factor += self.get(Par::Plate) * plate;
        }
        if SLOPES {
            if self.pulled {
                by[Par::Plate as usize] = base.i * plate;
            }
            if self.in_lead {
                by[Par::Ri as usize] = -(base.by_vg + base.by_va) * reading;
            }
            if self.scaled {
                by[Par::LnKappa as usize] = base.by_vg * self.kappa * vg;
            }
        }
        base.i *= factor;
        // What follows acts on the current as it is, and on its derivatives alike.
        let mut after = all(1.0);
        if self.limited {
            after *= self.limit::<SLOPES>(&mut base.i, by);
        }
        if self.warming {
            let (warm, left) = self.warm(time);
            if SLOPES {
                by[Par::Deficit as usize] = -base.i * left;
                by[Par::LnTau as usize] = -base.i * self.get(Par::Deficit) * left * time * self.per_tau;
                by[Par::Ceiling as usize] *= warm;
                by[Par::LnSharp as usize] *= warm;
            }
            base.i *= warm;
            after *= warm;
        }
        if SLOPES {
            if self.pulled || self.limited || self.warming {
                factor *= after;
                for par in OF_SPACE_CHARGE {
                    by[par as usize] *= factor;
                }
                by[Par::Plate as usize] *= after;
            }
            by[Par::I0 as usize] = all(1.0);
            by[Par::Gak as usize] = anode;
            by[Par::Gga as usize] = anode - vg;
        }
        base.i + self.get(Par::I0) + self.get(Par::Gak) * anode + self.get(Par::Gga) * (anode - vg)
    }

    /// The space charge of the whole cathode.
    #[inline(always)]
    fn space_charge<const SLOPES: bool>(&self, along: &Along<S>, vg: Lanes<S>, by: &mut [Lanes<S>; PARS]) -> Base<S> {
        let fine = self.part::<SLOPES>(&self.fine, along.va, &along.fine, vg);
        let Some((law, plate)) = &along.coarse else {
            if SLOPES {
                for (par, value) in OF_PART.into_iter().zip(fine.by) {
                    by[par as usize] = value;
                }
            }
            return fine.base;
        };
        let coarse = self.part::<SLOPES>(law, along.va, plate, vg);
        let share = self.get(Par::Share);
        let rest = 1.0 - share;
        if SLOPES {
            for ((par, a), b) in OF_PART.into_iter().zip(fine.by).zip(coarse.by) {
                by[par as usize] = rest * a + share * b;
            }
            by[Par::LnRatio as usize] = share * coarse.by_own_mu;
            by[Par::Share as usize] = coarse.base.i - fine.base.i;
        }
        let both = |of: fn(&Base<S>) -> Lanes<S>| rest * of(&fine.base) + share * of(&coarse.base);
        Base { i: both(|b| b.i), by_vg: both(|b| b.by_vg), by_va: both(|b| b.by_va) }
    }

    #[inline(always)]
    fn part<const SLOPES: bool>(&self, law: &LawLanes<S>, va: Lanes<S>, plate: &AtPlate<S>, vg: Lanes<S>) -> Part<S> {
        let k = law.inner::<SLOPES>(plate, vg);
        if !SLOPES {
            let none = Lanes::splat(vg.simd, 0.0);
            let base = Base { i: k.i, by_vg: none, by_va: none };
            return Part { base, by_own_mu: none, by: [none; OF_PART.len()] };
        }
        let hold_slope = law.hold_slope(plate, va);
        let by_own_mu = -(k.du * va * law.per_mu);
        let by_spread = k.dw * va * self.per_mu;
        let by_kvb = -0.5 * k.du * vg * va * plate.thin_cubed;
        let by_mu = by_own_mu - k.dw * va * law.w1;
        Part {
            base: Base {
                i: k.i,
                by_vg: k.du * plate.hold,
                by_va: k.du * (law.per_mu + vg * hold_slope) + k.dw * law.w1,
            },
            by_own_mu,
            by: [k.i, k.du, k.i * k.ln_e, k.dw, by_spread, by_mu, by_kvb, by_kvb * va],
        }
    }

    /// The share of the current that flows at a time, and what is still left of the warm-up.
    #[inline(always)]
    fn warm(&self, time: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
        let left = exp(-(time * self.per_tau));
        (1.0 - self.get(Par::Deficit) * left, left)
    }

    /// Bends the current towards the ceiling: I/(1 + (I·s)ⁿ)^(1/n); the slope of the bend.
    #[inline(always)]
    fn limit<const SLOPES: bool>(&self, i: &mut Lanes<S>, by: &mut [Lanes<S>; PARS]) -> Lanes<S> {
        /// Share of the ceiling below which it is not felt: d/ds of I·(1 − (I·s)ⁿ/n) vanishes
        /// with s for n > 1, so that the fit starts from a ceiling that is felt.
        const UNFELT: f64 = 1e-9;
        let (n, s) = (self.sharp, self.get(Par::Ceiling));
        let load = *i * s.abs();
        let felt = load.simd_ge(UNFELT);
        let ln_load = ln(load.max(UNFELT));
        // Beyond this the current is the ceiling to the last digit.
        let power = exp((n * ln_load).min(MOST_LN_POWER));
        let per_base = 1.0 / (1.0 + power);
        let ln_base = ln_1p(power);
        let bent = exp(-(ln_base / n));
        let out = *i * bent;
        if SLOPES {
            by[Par::Ceiling as usize] = felt.select(-out * power * per_base / s, Lanes::splat(load.simd, 0.0));
            // d ln(out)/dn = ln(base)/n² − power·ln(load)/(n·base); by ln n times n.
            let sharper = out * (ln_base / n - power * ln_load * per_base);
            by[Par::LnSharp as usize] = felt.select(sharper, Lanes::splat(load.simd, 0.0));
        }
        *i = felt.select(out, *i);
        felt.select(bent * per_base, Lanes::splat(load.simd, 1.0))
    }
}

/// Logarithm of (I/ceiling)ⁿ up to which it is computed: e³⁰⁰ is far beyond any current.
const MOST_LN_POWER: f64 = 300.0;

/// The parameters of the space charge of one part of the grid, in the order of [`Part::by`].
const OF_PART: [Par; 8] = [Par::LnP, Par::Phi, Par::X, Par::W0, Par::Spread, Par::LnMu, Par::Kvb, Par::Kvl];
/// Those whose derivatives go with everything that acts on the current of the space charge.
const OF_SPACE_CHARGE: [Par; 12] = [
    Par::LnP,
    Par::Phi,
    Par::X,
    Par::W0,
    Par::Spread,
    Par::LnMu,
    Par::Kvb,
    Par::Kvl,
    Par::Share,
    Par::LnRatio,
    Par::Ri,
    Par::LnKappa,
];

/// The space charge's current and what the voltages do to it.
#[derive(Clone, Copy)]
struct Base<S: Simd> {
    i: Lanes<S>,
    by_vg: Lanes<S>,
    by_va: Lanes<S>,
}

/// One part of the cathode: its current and derivatives.
struct Part<S: Simd> {
    base: Base<S>,
    /// By ln of this part's own mu, the width of the bend held.
    by_own_mu: Lanes<S>,
    by: [Lanes<S>; OF_PART.len()],
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_gradient_is_the_derivative(
            ln_mu in 1.2..4.6f64, x in 1.2..1.6f64, phi in -0.2..0.6f64, spread in 0.05..0.3f64, w0 in 0.02..0.3f64,
            kvb in 5.0..900.0f64, kvl in 0.0..20.0f64, ceiling in 30.0..300.0f64, ln_n in 0.8..2.0f64, ri in 0.0..300.0f64,
            ln_kappa in -0.4..0.0f64, share in 0.01..0.4f64, ln_ratio in -1.0..-0.3f64,
            va in 60.0..300.0f64, depth in 0.0..1.2f64, deficit in 0.05..0.5f64, time in 0.0..100.0f64,
        ) {
            let mut p = Params([0.0; PARS]);
            for (par, v) in [
                (Par::LnP, -6.0), (Par::LnMu, ln_mu), (Par::Phi, phi), (Par::X, x), (Par::W0, w0),
                (Par::Spread, spread), (Par::Kvb, kvb), (Par::Kvl, kvl), (Par::Ceiling, ceiling), (Par::LnSharp, ln_n), (Par::Ri, ri),
                (Par::LnKappa, ln_kappa), (Par::Share, share), (Par::LnRatio, ln_ratio), (Par::I0, 1e-6),
                (Par::Gak, 1e-7), (Par::Gga, 2e-7), (Par::Deficit, deficit), (Par::LnTau, 3.5), (Par::Plate, 3e-4),
            ] {
                p.set(par, v);
            }
            let vg = -depth * va / libm::exp(ln_mu);
            let reading = 3e-3;
            let mut g = [0.0; PARS];
            let at = Applied { va, anode: 1.2 * va, vg, plate: 40.0, reading, time, before: 0.0 };
            let i = p.predict(&at, &mut g);
            for (j, g) in g.iter().enumerate() {
                let h = 1e-6 * p.0[j].abs().max(1e-3);
                let (mut up, mut down, mut unused) = (p, p, [0.0; PARS]);
                up.0[j] += h;
                down.0[j] -= h;
                let slope = (up.predict(&at, &mut unused) - down.predict(&at, &mut unused)) / (2.0 * h);
                prop_assert!(
                    (slope - g).abs() <= 2e-4 * slope.abs() + 1e-6 * i.abs() + 1e-12,
                    "parameter {j}: {slope} against {g}"
                );
            }
        }
    }

    #[test]
    fn a_section_at_once_is_its_points_one_by_one() {
        let law = SpaceCharge { ln_p: -6.2, mu: 20.0, phi: 0.2, x: 1.4, w0: 0.05, w1: 0.006, kvb: 300.0, kvl: 0.0 };
        let mut data = Observed { before: 7.0, ..Observed::default() };
        for k in 0..11 {
            let (va, vg) = (100.0 + 50.0 * f64::from(k / 4), -0.5 * f64::from(k % 4));
            (data.va.push(va), data.vg.push(vg), data.time.push(f64::from(k)), data.index.push(k as usize));
            (data.ia.push(law.current(va, vg)), data.sigma.push(1e-6));
        }
        let sound = Params::healthy(&law);
        let mut faulty = sound;
        for (par, v) in [(Par::Ceiling, 90.0), (Par::Deficit, 0.2), (Par::LnTau, 1.5), (Par::Continued, 1.0)] {
            faulty.set(par, v);
        }
        let one_by_one: Vec<f64> = data.applied().map(|at| faulty.predict(&at, &mut [0.0; PARS])).collect();
        assert_eq!(faulty.currents_of(&data), one_by_one);
        assert_eq!(faulty.currents(data.applied()), one_by_one);
        // What acts on the current, apart from the space charge.
        let acted = faulty.warming(&faulty.limited(&sound.currents_of(&data)), &data.time, data.before);
        assert_eq!(acted, one_by_one);
        assert!(sound.currents_of(&data).iter().zip(&acted).all(|(sound, acted)| acted < sound));
    }
}
