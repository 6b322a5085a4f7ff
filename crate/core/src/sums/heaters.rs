//! Heaters in series from one supply, with a resistor that takes the rest of its voltage.
//!
//! Formula: R = (supply − Σ heater voltages)/I, its power I²·R. All heaters of a chain carry
//! one current; one that is rated for another gets V = V_rated·(I/I_rated)^(13/7), the law of
//! a tungsten wire that radiates ([`super::warm_up`]), or a resistor beside it that takes the
//! difference: V_rated/(I − I_rated). Switched on cold: I = supply/(R + Σ R_hot/ratio), with a
//! ratio of 5 to 10.
//!
//! Source: Ohm's law; the sources of the wire stand in [`super::warm_up`].
//!
//! Limits: voltages are rms on AC. The law of a heater holds near its rating, about half to
//! one and a half times its current.
//!
//! Cautions: a chain without a transformer is on the mains with every part; one heater that
//! opens has the whole supply across it.

use serde::Serialize;

use super::answer::{Answer, Curve, Figure, Wrong, percent, rising_root, shown, within};
use super::standard::{POWER_MARGIN, nearest, rating};
use super::warm_up::{HOT_OVER_COLD, VOLTS_OVER_AMPERES, Wire, middle_ratio};

/// Supplies the sum is made for, V (by construction).
const SUPPLIES: (f64, f64) = (0.5, 2000.0);
/// Heater voltages it is made for, V (by construction).
const VOLTAGES: (f64, f64) = (0.5, 300.0);
/// Heater and chain currents it is made for, A (by construction).
const CURRENTS: (f64, f64) = (1e-3, 100.0);
/// Most heaters of a chain (by construction).
pub(super) const MOST_HEATERS: usize = 40;
/// Currents that differ by less than this share are one current (judgement: a tenth of what
/// new heaters of a type differ).
const SAME_CURRENT: f64 = 0.005;
/// How far a heater's voltage may be off its rating, a share (a Brimar text seen in reprint
/// calls ±10 % tolerable, reference notes 3.3; common practice for 6.3 V types).
const TOLERANCE: f64 = 0.1;
/// How far a supply is off at most, a share (mains ±10 %, EN 50160, from memory).
const SUPPLY_OFF: f64 = 0.1;
/// Current over the running one at which a chain counts as warm (judgement).
const SETTLED: f64 = 0.05;
/// Step of the warm-up, s: a fiftieth of a cold heater's own time (by construction).
const STEP: f64 = 0.02;
/// Steps of the warm-up: two minutes (by construction).
const STEPS: usize = 6000;
/// Steps from one point of the curve to the next (by construction).
const EVERY: usize = 20;

/// One heater.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heater {
    /// What it is called.
    pub name: String,
    /// Rated voltage, V.
    pub voltage: f64,
    /// Rated current, A.
    pub current: f64,
    /// Where the rating is from; `None` for the user's own.
    pub rating_from: Option<String>,
}

/// Heaters in series.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Chain {
    /// Supply, V (rms on AC).
    pub supply: f64,
    /// The heaters, from the resistor down to the grounded end.
    pub heaters: Vec<Heater>,
    /// Current of the chain, A; `None` for the smallest rated one, with shunts the largest.
    pub current: Option<f64>,
    /// Whether a heater of less current gets a resistor beside it.
    pub shunted: bool,
}

/// One heater of a chain at work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct InChain {
    /// Voltage across it, V.
    pub voltage: f64,
    /// Current through it, A.
    pub current: f64,
    /// Resistor beside it, ohm.
    pub shunt: Option<f64>,
    /// Voltage over the rated one, with the supply 10 % low and 10 % high.
    pub of_rated_when_off: (f64, f64),
}

/// A chain at work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ChainWorked {
    /// Current of the chain, A.
    pub current: f64,
    /// Dropping resistor, ohm; 0 where the heaters take the whole supply.
    pub resistor: f64,
    /// Its power, W.
    pub power: f64,
    /// Each heater, in the chain's order.
    pub each: Vec<InChain>,
    /// Current when switched on cold, A: at the smallest and largest ratio of hot to cold.
    pub inrush: (f64, f64),
    /// Until the current is within 5 % of the running one, s; `None` past two minutes.
    pub settles: Option<f64>,
    /// Time after switch-on and current, s and A.
    pub warm_up: Vec<[f64; 2]>,
}

impl Heater {
    fn hot(&self) -> f64 {
        self.voltage / self.current
    }

    /// Voltage across it, V, where `current` runs through it and its shunt together.
    fn at(&self, current: f64, shunt: Option<f64>) -> f64 {
        let alone = self.voltage * libm::pow(current / self.current, VOLTS_OVER_AMPERES);
        let Some(shunt) = shunt else { return alone };
        let through = |v: f64| self.current * libm::pow(v / self.voltage, 1.0 / VOLTS_OVER_AMPERES) + v / shunt;
        rising_root(0.0, alone.min(current * shunt), |v| through(v) - current)
    }
}

/// Two resistances, the second perhaps not there, side by side.
fn beside(ohm: f64, shunt: Option<f64>) -> f64 {
    shunt.map_or(ohm, |s| ohm * s / (ohm + s))
}

impl Chain {
    /// The numbers.
    ///
    /// # Errors
    /// A value out of bounds, no heater, or heaters that want more than the supply.
    pub fn worked(&self) -> Result<ChainWorked, Wrong> {
        within("supply", self.supply, SUPPLIES, "V")?;
        if self.heaters.is_empty() || self.heaters.len() > MOST_HEATERS {
            let what = format!("{} heaters are no chain that this sum is made for", self.heaters.len());
            return Err(Wrong::new("heaters", what, format!("Give 1 to {MOST_HEATERS}.")));
        }
        for heater in &self.heaters {
            within("heaters", heater.voltage, VOLTAGES, "V")?;
            within("heaters", heater.current, CURRENTS, "A")?;
        }
        let rated = || self.heaters.iter().map(|h| h.current);
        let usual = if self.shunted { rated().fold(0.0, f64::max) } else { rated().fold(f64::INFINITY, f64::min) };
        let current = within("current", self.current.unwrap_or(usual), CURRENTS, "A")?;
        let shunt = |h: &Heater| {
            let rest = current - h.current;
            (self.shunted && rest > SAME_CURRENT * current).then(|| h.voltage / rest)
        };
        let shunts: Vec<Option<f64>> = self.heaters.iter().map(shunt).collect();
        let chain = || self.heaters.iter().zip(&shunts);
        let sum = |i: f64| chain().map(|(h, s)| h.at(i, *s)).sum::<f64>();
        let wanted = sum(current);
        // The last digits of a sum of decimals are no lack.
        let left = if (self.supply - wanted).abs() < 1e-9 * self.supply { 0.0 } else { self.supply - wanted };
        if left < 0.0 {
            let (all, i) = (shown(wanted, "V"), shown(current, "A"));
            return Err(Wrong::new(
                "supply",
                format!("at {i} the heaters want {all}, and the supply gives {}", shown(self.supply, "V")),
                format!("Take a supply of {all} or more, a smaller current, or heaters off the chain."),
            ));
        }
        let resistor = left / current;
        let off = |supply: f64| rising_root(0.0, 2.0 * current, |i| i * resistor + sum(i) - supply);
        let (low, high) = (off(self.supply * (1.0 - SUPPLY_OFF)), off(self.supply * (1.0 + SUPPLY_OFF)));
        let each = chain()
            .map(|(h, s)| {
                let voltage = h.at(current, *s);
                let share = |i: f64| h.at(i, *s) / h.voltage;
                let current = current - s.map_or(0.0, |s| voltage / s);
                InChain { voltage, current, shunt: *s, of_rated_when_off: (share(low), share(high)) }
            })
            .collect();
        let cold =
            |ratio: f64| self.supply / (resistor + chain().map(|(h, s)| beside(h.hot() / ratio, *s)).sum::<f64>());
        let (warm_up, settles) = self.warm_up(resistor, &shunts, current);
        Ok(ChainWorked {
            current,
            resistor,
            power: current * current * resistor,
            each,
            inrush: (cold(HOT_OVER_COLD.0), cold(HOT_OVER_COLD.1)),
            settles,
            warm_up,
        })
    }

    /// The current from a cold start, and when it is within 5 % of the running one.
    fn warm_up(&self, resistor: f64, shunts: &[Option<f64>], running: f64) -> (Vec<[f64; 2]>, Option<f64>) {
        let wire = Wire::new(middle_ratio());
        let mut warmth = vec![wire.cold; self.heaters.len()];
        let now = |warmth: &[f64]| {
            let parts: Vec<f64> = self.heaters.iter().zip(warmth).map(|(h, t)| h.hot() * wire.resistance(*t)).collect();
            let all: f64 = parts.iter().zip(shunts).map(|(r, s)| beside(*r, *s)).sum();
            (self.supply / (resistor + all), parts)
        };
        let (mut points, mut settles) = (Vec::new(), None);
        for step in 0..=STEPS {
            let (current, parts) = now(&warmth);
            if step % EVERY == 0 {
                points.push([step as f64 * STEP, current]);
            }
            if (current / running - 1.0).abs() > SETTLED {
                settles = None;
            } else if settles.is_none() {
                settles = Some(step as f64 * STEP);
            }
            for (((t, h), r), s) in warmth.iter_mut().zip(&self.heaters).zip(&parts).zip(shunts) {
                let through = s.map_or(current, |s| current * s / (s + r));
                *t = (*t + STEP * wire.rises(*t, through / h.current)).clamp(wire.cold, HOTTEST);
            }
        }
        // The rest of the curve is a straight line.
        let end = settles.map_or(points.len(), |s| (3.0 * s / (STEP * EVERY as f64)) as usize + 10);
        points.truncate(end.max(2));
        (points, settles)
    }

    /// The numbers as figures.
    ///
    /// # Errors
    /// As for [`Chain::worked`].
    pub fn answer(&self) -> Result<Answer, Wrong> {
        let w = self.worked()?;
        let sold = nearest(w.resistor);
        let sold_says = if w.resistor > 0.0 {
            format!(
                "takes the {} that the heaters leave; the nearest value sold is {}",
                shown(w.resistor * w.current, "V"),
                shown(sold, "ohm")
            )
        } else {
            "the heaters take the whole supply: none is needed".to_owned()
        };
        let mut figures = vec![
            Figure::new("dropping resistor", w.resistor, "ohm", sold_says),
            Figure::new("power in the resistor", w.power, "W", "while the chain runs"),
            Figure::new(
                "rating to buy",
                if w.power > 0.0 { rating(w.power) } else { 0.0 },
                "W",
                format!("the next that is sold above {POWER_MARGIN:.0} times the power (common practice, no source)"),
            ),
            Figure::new("chain current", w.current, "A", self.current_says()),
        ];
        let mut above = w.each.iter().map(|e| e.voltage).sum::<f64>();
        for (i, (heater, at)) in self.heaters.iter().zip(&w.each).enumerate() {
            let says = format!(
                "{} of its {} and {} of its {}; its upper end stands {} above the grounded end",
                percent(at.voltage / heater.voltage),
                shown(heater.voltage, "V"),
                percent(at.current / heater.current),
                shown(heater.current, "A"),
                shown(above, "V"),
            );
            above -= at.voltage;
            figures.push(Figure::new(format!("heater {}: {}", i + 1, heater.name), at.voltage, "V", says));
            if let Some(shunt) = at.shunt {
                let watt = at.voltage * at.voltage / shunt;
                let says = format!("beside it, {} in it: buy {}", shown(watt, "W"), shown(rating(watt), "W"));
                figures.push(Figure::new(format!("shunt of heater {}", i + 1), shunt, "ohm", says));
            }
        }
        let times = |i: f64| format!("{:.1} times the running current, if the hot resistance is", i / w.current);
        let least = format!("{} {:.0} times the cold one", times(w.inrush.0), HOT_OVER_COLD.0);
        let most = format!("{} {:.0} times the cold one", times(w.inrush.1), HOT_OVER_COLD.1);
        figures.push(Figure::new("current at switch-on, least", w.inrush.0, "A", least));
        figures.push(Figure::new("current at switch-on, most", w.inrush.1, "A", most));
        let hot = w.inrush.1 * w.inrush.1 * w.resistor;
        figures.push(Figure::new(
            "power in the resistor at switch-on, most",
            hot,
            "W",
            "for the first moment; a wirewound one bears it",
        ));
        if let Some(settles) = w.settles {
            figures.push(Figure::new(
                "time to settle",
                settles,
                "s",
                "until the current is within 5 % of the running one, by the model",
            ));
        }
        let low = w.each.iter().map(|e| e.of_rated_when_off.0).fold(f64::INFINITY, f64::min);
        let high = w.each.iter().map(|e| e.of_rated_when_off.1).fold(0.0, f64::max);
        figures.push(Figure::new("lowest heater, supply 10 % low", low, "1", "its voltage over its rated one"));
        figures.push(Figure::new("highest heater, supply 10 % high", high, "1", "its voltage over its rated one"));
        Ok(Answer {
            figures,
            formula: "Resistor = (supply − sum of the heaters' voltages)/current; its power = current² × resistor. A \
                heater at another current than its own gets its rated voltage × (current/rated current)^1.86; a shunt \
                beside it is its voltage/(chain current − its current). At switch-on: supply/(resistor + sum of the \
                hot resistances/5 … 10)."
                .into(),
            source: "Ohm's law. Hot over cold resistance 5 to 10: Gano and Sandy, IRE Trans. Electronic Computers \
                EC-7 (1958) 61 (abstract read). Exponent: tungsten's resistance as T^1.2 (Jones, Phys. Rev. 28 (1926) \
                202, from memory) and radiation as T^4. Time constant: the usual warm-up test of 11 s."
                .into(),
            leaves_out: "What heaters of one type differ among themselves, their different speed of warming up (the \
                quick ones get more than their share for some seconds), the transformer's own resistance, and what \
                the resistor's heat does to its neighbours."
                .into(),
            cautions: self.cautions(&w),
            curve: Some(Curve {
                x_name: "time after switch-on",
                x_unit: "s",
                y_name: "chain current",
                y_unit: "A",
                points: w.warm_up,
            }),
        })
    }

    fn current_says(&self) -> String {
        match (self.current, self.shunted) {
            (Some(_), _) => "as you gave it".into(),
            (None, false) => "the smallest rated current of the chain, so that no heater has too much".into(),
            (None, true) => "the largest rated current of the chain; the others have a shunt".into(),
        }
    }

    fn cautions(&self, w: &ChainWorked) -> Vec<String> {
        let mut cautions = Vec::new();
        for (i, (heater, at)) in self.heaters.iter().zip(&w.each).enumerate() {
            let (volts, amperes) = (at.voltage / heater.voltage - 1.0, at.current / heater.current - 1.0);
            if amperes.abs() <= SAME_CURRENT {
                continue;
            }
            let side = if volts > 0.0 { "over" } else { "under" };
            let bad = if volts.abs() > TOLERANCE {
                ", more than the ±10 % that heaters are usually allowed"
            } else {
                ", within the ±10 % that heaters are usually allowed"
            };
            cautions.push(format!(
                "A chain needs equal currents: heater {} ({}) runs {side} its rating, {} off in current and {} off in voltage{bad}. {}",
                i + 1,
                heater.name,
                percent(amperes.abs()),
                percent(volts.abs()),
                if volts > 0.0 { "Put a resistor beside it (shunts: yes), or take a smaller current." } else { "Raise the chain's current and put resistors beside the others (shunts: yes)." },
            ));
        }
        let worst = w.each.iter().map(|e| e.of_rated_when_off);
        if worst.clone().any(|(low, high)| low < 1.0 - TOLERANCE || high > 1.0 + TOLERANCE) && cautions.is_empty() {
            cautions.push("With the supply 10 % off a heater leaves the ±10 % that it is usually allowed.".into());
        }
        cautions.push("The ±10 % are those of a Brimar text seen in reprint, and common practice for 6.3 V types; series heaters are usually held closer.".into());
        cautions.push(format!("A heater that opens has the whole {} across it.", shown(self.supply, "V")));
        cautions.push("Heater and cathode stand far apart in voltage at the upper end of a chain: hold each against its heater–cathode limit.".into());
        cautions.push("A chain without a transformer puts every part of the set on the mains.".into());
        let mut told: Vec<&str> = Vec::new();
        for heater in &self.heaters {
            if let Some(from) = heater.rating_from.as_deref().filter(|_| !told.contains(&heater.name.as_str())) {
                told.push(&heater.name);
                cautions.push(format!("The rating of the {} is the handbook's: {from}.", heater.name));
            }
        }
        cautions.push(super::KILLS.into());
        cautions
    }
}

/// Temperature over the rated one that no heater is followed beyond: tungsten melts near
/// twice and a half that of a heater (by construction).
const HOTTEST: f64 = 2.5;
