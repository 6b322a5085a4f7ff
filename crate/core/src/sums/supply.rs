//! A rectified and filtered supply for heaters.
//!
//! Formula: the winding's sine behind its resistance, less the drops of the diodes, charges
//! the reservoir; what flows on goes to the load, through a resistor and a second capacitor
//! where there is one. Solved cycle by cycle until it repeats itself ([`super::rectified`]).
//! Beside it the rule of thumb ΔV ≈ I/(2·f·C), which takes the capacitor as discharged all
//! the time, and behind a filter divides by √(1 + (4π·f·R·C)²).
//!
//! Source: Kirchhoff's laws; rule of thumb: textbooks (from memory), curves of the exact
//! solution in O. H. Schade, Proc. IRE 31 (1943) 341 (from memory).
//!
//! Limits: a diode is a constant drop; two diodes alike; the winding's stray inductance, which
//! rounds the current's peak, is none; capacitors are pure.
//!
//! Cautions: the winding carries far more than the load's current as rms; capacitors see the
//! peak when nothing is drawn.

use serde::Serialize;

use super::answer::{Answer, Curve, Figure, Wrong, percent, shown, within};
use super::rectified::{Circuit, Drawn, Filter, Moment, NOTHING, Rectifier, STEPS};

/// Windings the sum is made for, V rms (by construction).
const WINDINGS: (f64, f64) = (1.0, 1000.0);
/// Frequencies it is made for, Hz (by construction).
const FREQUENCIES: (f64, f64) = (1.0, 100e3);
/// Drops of a diode it is made for, V (by construction: none to a tube's).
const DROPS: (f64, f64) = (0.0, 50.0);
/// Resistances of a winding it is made for, ohm (by construction: a wire is the least).
const WINDING_RESISTANCES: (f64, f64) = (1e-3, 1e4);
/// Resistances of a filter it is made for, ohm (by construction).
const FILTER_RESISTANCES: (f64, f64) = (1e-3, 1e6);
/// Resistances of a load it is made for, ohm (by construction).
const LOADS: (f64, f64) = (1e-3, 1e7);
/// Capacitors it is made for, F (by construction).
const CAPACITORS: (f64, f64) = (1e-9, 1.0);
/// Load currents it is made for, A (by construction).
const CURRENTS: (f64, f64) = (1e-6, 200.0);
/// Mains at their highest over the usual (EN 50160: 10 %, from memory).
const HIGHEST_MAINS: f64 = 1.1;
/// Points of the curve in half a cycle (by construction).
const POINTS: usize = 128;

/// A supply.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Supply {
    /// Voltage of the winding, V rms; of each half with a centre tap.
    pub winding: f64,
    /// What rectifies.
    pub rectifier: Rectifier,
    /// Drop of one diode, V.
    pub diode: f64,
    /// Mains frequency, Hz.
    pub frequency: f64,
    /// Resistance of the winding with what the primary adds, ohm.
    pub resistance: f64,
    /// Reservoir, F.
    pub reservoir: f64,
    /// What follows it.
    pub filter: Option<Filter>,
    /// What is fed.
    pub load: Drawn,
}

/// A supply at work, in its steady state.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SupplyWorked {
    /// Mean voltage at the load, V.
    pub mean: f64,
    /// Ripple at the load, V peak to peak.
    pub ripple: f64,
    /// The same, V rms.
    pub ripple_rms: f64,
    /// Mean voltage of the reservoir, V.
    pub reservoir: f64,
    /// Its ripple, V peak to peak.
    pub reservoir_ripple: f64,
    /// The rule of thumb for it, V peak to peak.
    pub thumb: f64,
    /// The rule of thumb at the load, V peak to peak.
    pub thumb_load: f64,
    /// Mean current of the load, A.
    pub drawn: f64,
    /// Largest current through a diode, A.
    pub diode_peak: f64,
    /// Share of the time in which a diode conducts.
    pub conducts: f64,
    /// Current of the winding, A rms; of each half with a centre tap.
    pub winding_rms: f64,
    /// Current in and out of the reservoir, A rms.
    pub reservoir_rms: f64,
    /// Power in the filter's resistor, W; 0 without one.
    pub filter_power: f64,
    /// Voltage at the load over one mains cycle, s and V.
    pub wave: Vec<[f64; 2]>,
}

impl Supply {
    fn drops(&self) -> f64 {
        match self.rectifier {
            Rectifier::Bridge => 2.0 * self.diode,
            Rectifier::CentreTap => self.diode,
        }
    }

    fn peak(&self) -> f64 {
        self.winding * std::f64::consts::SQRT_2
    }

    fn circuit(&self) -> Result<Circuit, Wrong> {
        within("secondary", self.winding, WINDINGS, "V")?;
        within("diode-drop", self.diode, DROPS, "V")?;
        within("frequency", self.frequency, FREQUENCIES, "Hz")?;
        within("winding-resistance", self.resistance, WINDING_RESISTANCES, "ohm")?;
        within("reservoir", self.reservoir, CAPACITORS, "F")?;
        if let Some(filter) = self.filter {
            within("filter-resistor", filter.resistor, FILTER_RESISTANCES, "ohm")?;
            within("filter-capacitor", filter.capacitor, CAPACITORS, "F")?;
        }
        match self.load {
            Drawn::Current { ampere } => within("load-current", ampere, CURRENTS, "A")?,
            Drawn::Resistance { ohm } => within("load-resistance", ohm, LOADS, "ohm")?,
        };
        if self.peak() <= self.drops() + NOTHING {
            let what = format!("its peak of {} does not overcome the diodes", shown(self.peak(), "V"));
            return Err(Wrong::new("secondary", what, "Take a winding of more voltage, or diodes of less drop."));
        }
        Ok(Circuit {
            peak: self.peak(),
            drop: self.drops(),
            frequency: self.frequency,
            winding: self.resistance,
            reservoir: self.reservoir,
            filter: self.filter,
            load: self.load,
        })
    }

    /// The numbers.
    ///
    /// # Errors
    /// A value out of bounds, or a load that draws more than the supply can give.
    pub fn worked(&self) -> Result<SupplyWorked, Wrong> {
        let circuit = self.circuit()?;
        if let Drawn::Current { ampere } = self.load
            && ampere >= circuit.most()
        {
            return Err(too_much(ampere));
        }
        let moments = circuit.periodic().ok_or_else(|| {
            let mend = "Check the values: one of them is far from the others.";
            Wrong::new("reservoir", "no steady state was found", mend)
        })?;
        let (low, high) = span(&moments, |m| m.load);
        if let Drawn::Current { ampere } = self.load
            && low < NOTHING
        {
            return Err(too_much(ampere));
        }
        let mean = average(&moments, |m| m.load);
        let (least, most) = span(&moments, |m| m.reservoir);
        let drawn = average(&moments, |m| m.drawn);
        let onward = |m: &Moment| self.filter.map_or(m.drawn, |f| (m.reservoir - m.load) / f.resistor);
        let rms = |f: &dyn Fn(&Moment) -> f64| average(&moments, |m| f(m) * f(m)).max(0.0).sqrt();
        let diode_rms = rms(&|m| m.diode);
        let thumb = drawn / (2.0 * self.frequency * self.reservoir);
        let smoothed = self.filter.map_or(1.0, |f| {
            let turns = 4.0 * std::f64::consts::PI * self.frequency * f.resistor * f.capacitor;
            (1.0 + turns * turns).sqrt()
        });
        Ok(SupplyWorked {
            mean,
            ripple: high - low,
            ripple_rms: rms(&|m| m.load - mean),
            reservoir: average(&moments, |m| m.reservoir),
            reservoir_ripple: most - least,
            thumb,
            thumb_load: thumb / smoothed,
            drawn,
            diode_peak: span(&moments, |m| m.diode).1,
            conducts: average(&moments, |m| f64::from(u8::from(m.diode > 0.0))),
            winding_rms: match self.rectifier {
                Rectifier::Bridge => diode_rms,
                Rectifier::CentreTap => diode_rms * std::f64::consts::FRAC_1_SQRT_2,
            },
            reservoir_rms: rms(&|m| m.diode - onward(m)),
            filter_power: self.filter.map_or(0.0, |f| f.resistor * average(&moments, |m| onward(m) * onward(m))),
            wave: self.wave(&moments),
        })
    }

    /// Both halves of a cycle.
    fn wave(&self, moments: &[Moment]) -> Vec<[f64; 2]> {
        let half = 0.5 / self.frequency;
        let every = STEPS / POINTS;
        let loads = || moments.iter().skip(every - 1).step_by(every).map(|m| m.load);
        let last = moments.last().map(|m| m.load);
        last.into_iter()
            .chain(loads())
            .chain(loads())
            .enumerate()
            .map(|(i, v)| [half * i as f64 / POINTS as f64, v])
            .collect()
    }

    /// The numbers as figures.
    ///
    /// # Errors
    /// As for [`Supply::worked`].
    pub fn answer(&self) -> Result<Answer, Wrong> {
        let w = self.worked()?;
        let halves = self.rectifier == Rectifier::CentreTap;
        let reverse = if halves { 2.0 * self.peak() } else { self.peak() };
        let of_mean = |v: f64| format!("{} of the mean voltage", percent(v / w.mean));
        let mut figures = vec![
            Figure::new(
                "mean voltage at the load",
                w.mean,
                "V",
                format!("{} at {}", shown(w.drawn, "A"), shown(w.mean * w.drawn, "W")),
            ),
            Figure::new("ripple at the load, peak to peak", w.ripple, "V", of_mean(w.ripple)),
            Figure::new("ripple at the load, rms", w.ripple_rms, "V", of_mean(w.ripple_rms)),
            Figure::new(
                "ripple by rule of thumb",
                w.thumb_load,
                "V",
                "at the load, peak to peak: I/(2·f·C), divided by what the filter takes",
            ),
        ];
        if self.filter.is_some() {
            let power = w.filter_power;
            figures.push(Figure::new("mean voltage at the reservoir", w.reservoir, "V", "before the resistor"));
            figures.push(Figure::new(
                "ripple at the reservoir, peak to peak",
                w.reservoir_ripple,
                "V",
                format!("rule of thumb: {}", shown(w.thumb, "V")),
            ));
            figures.push(Figure::new(
                "power in the filter resistor",
                power,
                "W",
                format!(
                    "buy {} (twice the power, common practice, no source)",
                    shown(super::standard::rating(power), "W")
                ),
            ));
        }
        figures.extend([
            Figure::new(
                "peak diode current",
                w.diode_peak,
                "A",
                format!(
                    "{:.1} times the load's current, once in each half cycle; far more at switch-on",
                    w.diode_peak / w.drawn
                ),
            ),
            Figure::new(
                "share of the time in which a diode conducts",
                w.conducts,
                "1",
                "short pulses, which heat winding and diodes",
            ),
            Figure::new(
                if halves { "current of each half winding, rms" } else { "current of the winding, rms" },
                w.winding_rms,
                "A",
                format!("{:.2} times the load's current: choose the transformer by it", w.winding_rms / w.drawn),
            ),
            Figure::new(
                "ripple current of the reservoir, rms",
                w.reservoir_rms,
                "A",
                "the capacitor has to bear it, at its temperature",
            ),
            Figure::new("power in the diodes", w.drawn * self.drops(), "W", "all together"),
            Figure::new(
                "reverse voltage at a diode",
                reverse,
                "V",
                "at the usual mains; choose twice as much (common practice, no source)",
            ),
            Figure::new(
                "voltage of the reservoir with nothing drawn",
                HIGHEST_MAINS * self.peak(),
                "V",
                "with the mains 10 % high, the diodes left out: the least rating of the capacitors",
            ),
        ]);
        Ok(Answer {
            figures,
            formula: "The winding's sine behind its resistance, less the drops of the diodes in the way, charges the \
                reservoir whenever it is higher; the load, or the resistor and second capacitor before it, takes from \
                the reservoir. Solved in 2048 steps of half a cycle until two half cycles are alike. Rule of thumb: \
                ripple ≈ I/(2·f·C), behind the filter divided by √(1 + (4π·f·R·C)²)."
                .into(),
            source: "Kirchhoff's laws, solved. Rule of thumb: textbooks (from memory); curves of the exact solution: \
                O. H. Schade, Proc. IRE 31 (1943) 341 (from memory)."
                .into(),
            leaves_out: "The curved drop of real diodes, stray inductance of the transformer, the capacitors' own \
                resistance and tolerance (−20 % is usual), flat-topped mains, and how heaters change with their \
                voltage."
                .into(),
            cautions: self.cautions(&w),
            curve: Some(Curve {
                x_name: "time",
                x_unit: "s",
                y_name: "voltage at the load",
                y_unit: "V",
                points: w.wave,
            }),
        })
    }

    fn cautions(&self, w: &SupplyWorked) -> Vec<String> {
        let mut cautions = vec![
            "The mean follows the mains, which may be 10 % off: heaters are usually allowed ±10 % in all (common practice, no source). Measure with the tubes in their sockets and adjust.".to_owned(),
            "A winding's printed voltage holds at its rated current into a resistor; with little drawn it gives more.".to_owned(),
        ];
        if w.conducts > 0.99 {
            cautions.push(
                "A diode conducts nearly all the time: the reservoir hardly stores anything at this load.".into(),
            );
        }
        cautions.push(
            "A cold heater draws 5 to 10 times its current (heaters, the sum): a supply at its limit may not start."
                .into(),
        );
        cautions.push(
            "Electrolytic capacitors of the wrong polarity or voltage burst. A fuse belongs into the winding's lead."
                .into(),
        );
        cautions.push(super::KILLS.into());
        cautions
    }
}

fn too_much(ampere: f64) -> Wrong {
    let what = format!("it cannot give {} all the time: the voltage falls to nothing", shown(ampere, "A"));
    Wrong::new("load-current", what, "Draw less, or take larger capacitors, less resistance or more voltage.")
}

fn average(moments: &[Moment], f: impl Fn(&Moment) -> f64) -> f64 {
    moments.iter().map(f).sum::<f64>() / moments.len() as f64
}

fn span(moments: &[Moment], f: impl Fn(&Moment) -> f64) -> (f64, f64) {
    moments.iter().map(f).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}
