//! The model at a pack of points at once, with its derivatives.

use std::ops::Range;

use fearless_simd::{Simd, prelude::*};

use super::applied::AppliedLanes;
use super::lanes::{BLOCK, Lanes, at_least, at_most, exp, ln, ln_1p};
use super::model::{PARS, Par, Params};
use super::space_charge::{AtPlate, Inner, LawLanes};

impl Params {
    /// Computes once what is the same at all points; the derivatives by the parameters that are
    /// `wanted` will be right.
    #[inline(always)]
    pub(super) fn ready<S: Simd>(&self, simd: S, wanted: impl Fn(Par) -> bool) -> Ready<S> {
        let all = |value| Lanes::splat(simd, value);
        let there = |par: Par| self.get(par) != 0.0 || wanted(par);
        let per_mu = libm::exp(-self.get(Par::LnMu));
        let (limited, warming) = (self.get(Par::Ceiling) != 0.0, self.get(Par::Deficit) != 0.0);
        let coarse = self.get(Par::LnMu) + self.get(Par::LnRatio);
        Ready {
            par: self.0.map(all),
            kappa: all(libm::exp(self.get(Par::LnKappa))),
            sharp: all(if limited { libm::exp(self.get(Par::LnSharp)) } else { 1.0 }),
            per_tau: all(if warming { libm::exp(-self.get(Par::LnTau)) } else { 1.0 }),
            per_mu: all(per_mu),
            fine: LawLanes::of(simd, &self.law_with(self.get(Par::LnMu), per_mu)),
            coarse: (self.get(Par::Share) != 0.0).then(|| LawLanes::of(simd, &self.law_with(coarse, per_mu))),
            limited,
            warming,
            in_lead: there(Par::Ri),
            pulled: there(Par::Plate),
            scaled: wanted(Par::LnKappa),
        }
    }
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

/// Room for the packs of a block on their way through the law, and what is the same along the curve
/// on which the last one was. There is one plate voltage more than packs.
pub(super) struct Way<S: Simd, const PACKS: usize = BLOCK, const CURVES: usize = { BLOCK + 1 }> {
    /// Grid voltage at the cathode's own, V.
    vg: [Lanes<S>; PACKS],
    /// Which of the plate voltages is each pack's.
    curve: [usize; PACKS],
    /// The plate voltages at the cathode's own that the block meets, V, the one before it first.
    va: [Lanes<S>; CURVES],
    /// The last of them, once there was one.
    last: Option<usize>,
    fine: Under<S, PACKS, CURVES>,
    coarse: Option<Box<Under<S, PACKS, CURVES>>>,
}

/// What is made of a block under one part of the grid.
struct Under<S: Simd, const PACKS: usize, const CURVES: usize> {
    /// What each plate voltage fixes.
    plate: [AtPlate<S>; CURVES],
    /// The currents.
    inner: [Inner<S>; PACKS],
}

impl<S: Simd> Way<S> {
    /// Room for a block.
    #[inline(always)]
    pub(super) fn of_block(simd: S) -> Self {
        Self::empty(simd)
    }
}

impl<S: Simd> Way<S, 1, 2> {
    /// Room for one pack: a block's takes longer to clear than a pack takes on its way.
    #[inline(always)]
    pub(super) fn of_one(simd: S) -> Self {
        Self::empty(simd)
    }
}

impl<S: Simd, const PACKS: usize, const CURVES: usize> Way<S, PACKS, CURVES> {
    #[inline(always)]
    fn empty(simd: S) -> Self {
        let zero = Lanes::splat(simd, 0.0);
        Self {
            vg: [zero; PACKS],
            curve: [0; PACKS],
            va: [zero; CURVES],
            last: None,
            fine: Under::nothing(simd),
            coarse: None,
        }
    }

    /// Another section, or other values of its parameters: what was fixed holds no longer.
    #[inline(always)]
    pub(super) fn anew(&mut self) {
        self.last = None;
    }
}

impl<S: Simd, const PACKS: usize, const CURVES: usize> Under<S, PACKS, CURVES> {
    #[inline(always)]
    fn nothing(simd: S) -> Self {
        Self { plate: [AtPlate::nothing(simd); CURVES], inner: [Inner::nothing(simd); PACKS] }
    }

    #[inline(always)]
    fn lead<const SLOPES: bool>(&mut self, law: &LawLanes<S>, vg: &[Lanes<S>], curve: &[usize]) {
        let plate = &self.plate;
        law.inner::<SLOPES>(|k| (vg[k], &plate[curve[k]]), &mut self.inner[..vg.len()]);
    }
}

impl<S: Simd> Ready<S> {
    #[inline(always)]
    pub(super) fn get(&self, par: Par) -> Lanes<S> {
        self.par[par as usize]
    }

    /// Leads packs, at most as many as there is room for, through the space charge; `at` gives what
    /// was applied.
    #[inline(always)]
    pub(super) fn lead<const SLOPES: bool, const PACKS: usize, const CURVES: usize>(
        &self,
        packs: Range<usize>,
        at: impl Fn(usize) -> AppliedLanes<S>,
        way: &mut Way<S, PACKS, CURVES>,
    ) {
        let many = packs.len().min(PACKS);
        self.enter(packs, at, way);
        let (vg, curve) = (&way.vg[..many], &way.curve[..many]);
        way.fine.lead::<SLOPES>(&self.fine, vg, curve);
        if let (Some(law), Some(coarse)) = (&self.coarse, &mut way.coarse) {
            coarse.lead::<SLOPES>(law, vg, curve);
        }
    }

    /// The currents that the plate meter should read at one of the packs that were led through the
    /// space charge, counted from the first of them, A, and (with `SLOPES`) their derivatives by
    /// every parameter.
    #[inline(always)]
    pub(super) fn predict<'w, const SLOPES: bool, const PACKS: usize, const CURVES: usize>(
        &self,
        pack: usize,
        at: &AppliedLanes<S>,
        way: &'w Way<S, PACKS, CURVES>,
        by: &mut [Lanes<S>; PARS],
    ) -> Lanes<S> {
        let (curve, vg) = (way.curve[pack], way.vg[pack]);
        let of = |part: &'w Under<S, PACKS, CURVES>| (&part.plate[curve], &part.inner[pack]);
        let base = self.space_charge::<SLOPES>(way.va[curve], vg, of(&way.fine), way.coarse.as_deref().map(of), by);
        self.after::<SLOPES>(at, base, by)
    }

    /// What drives the space charge at every pack.
    #[inline(always)]
    fn enter<const PACKS: usize, const CURVES: usize>(
        &self,
        packs: Range<usize>,
        at: impl Fn(usize) -> AppliedLanes<S>,
        way: &mut Way<S, PACKS, CURVES>,
    ) {
        if self.coarse.is_some() && way.coarse.is_none() {
            way.coarse = Some(Box::new(Under::nothing(self.kappa.simd)));
        }
        if let Some(last) = way.last {
            way.va[0] = way.va[last];
            way.fine.plate[0] = way.fine.plate[last];
            if let Some(coarse) = &mut way.coarse {
                coarse.plate[0] = coarse.plate[last];
            }
            way.last = Some(0);
        }
        for (k, pack) in packs.enumerate() {
            let at = at(pack);
            let drop = self.get(Par::Ri) * at.reading;
            way.vg[k] = self.kappa * at.vg - drop;
            // A plate driven below the cathode by the feedback term draws nothing more.
            let va = at_least(at.va - drop, 0.0);
            let curve = match way.last {
                Some(last) if way.va[last].simd_eq(va).all_true() => last,
                last => {
                    let next = last.map_or(0, |last| last + 1);
                    way.va[next] = va;
                    way.fine.plate[next] = self.fine.at_plate(va);
                    if let (Some(law), Some(coarse)) = (&self.coarse, &mut way.coarse) {
                        coarse.plate[next] = law.at_plate(va);
                    }
                    next
                }
            };
            (way.curve[k], way.last) = (curve, Some(curve));
        }
    }

    /// What the plate meter reads of the space charge's current, with what acts on it and what
    /// flows beside it.
    #[inline(always)]
    fn after<const SLOPES: bool>(
        &self,
        at: &AppliedLanes<S>,
        mut base: Base<S>,
        by: &mut [Lanes<S>; PARS],
    ) -> Lanes<S> {
        let all = |value| Lanes::splat(self.kappa.simd, value);
        let AppliedLanes { anode, vg, plate, reading, .. } = *at;
        let time = at.time + self.get(Par::Continued) * at.before;
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
    fn space_charge<const SLOPES: bool>(
        &self,
        va: Lanes<S>,
        vg: Lanes<S>,
        fine: (&AtPlate<S>, &Inner<S>),
        coarse: Option<(&AtPlate<S>, &Inner<S>)>,
        by: &mut [Lanes<S>; PARS],
    ) -> Base<S> {
        let fine = self.part::<SLOPES>(&self.fine, va, vg, fine);
        let (Some(law), Some(coarse)) = (&self.coarse, coarse) else {
            if SLOPES {
                for (par, value) in OF_PART.into_iter().zip(fine.by) {
                    by[par as usize] = value;
                }
            }
            return fine.base;
        };
        let coarse = self.part::<SLOPES>(law, va, vg, coarse);
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
    fn part<const SLOPES: bool>(
        &self,
        law: &LawLanes<S>,
        va: Lanes<S>,
        vg: Lanes<S>,
        (plate, k): (&AtPlate<S>, &Inner<S>),
    ) -> Part<S> {
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
    pub(super) fn warm(&self, time: Lanes<S>) -> (Lanes<S>, Lanes<S>) {
        let left = exp(-(time * self.per_tau));
        (1.0 - self.get(Par::Deficit) * left, left)
    }

    /// Bends the current towards the ceiling: I/(1 + (I·s)ⁿ)^(1/n); the slope of the bend.
    #[inline(always)]
    pub(super) fn limit<const SLOPES: bool>(&self, i: &mut Lanes<S>, by: &mut [Lanes<S>; PARS]) -> Lanes<S> {
        /// Share of the ceiling below which it is not felt: d/ds of I·(1 − (I·s)ⁿ/n) vanishes
        /// with s for n > 1, so that the fit starts from a ceiling that is felt.
        const UNFELT: f64 = 1e-9;
        let (n, s) = (self.sharp, self.get(Par::Ceiling));
        let load = *i * s.abs();
        let felt = load.simd_ge(UNFELT);
        let ln_load = ln(at_least(load, UNFELT));
        // Beyond this the current is the ceiling to the last digit.
        let power = exp(at_most(n * ln_load, MOST_LN_POWER));
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
