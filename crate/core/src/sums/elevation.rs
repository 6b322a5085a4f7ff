//! Elevation of a heater winding against the heater–cathode limits of the tubes on it.
//!
//! Formula: the heater's ends swing about the elevation by its own voltage, so that the
//! largest voltage between heater and cathode is |elevation − cathode| + the heater's part +
//! the cathode's swing. A cathode at V with limit L therefore allows elevations from V − room to
//! V + room, with room = L − the heater's part − swing. Divider: elevation = supply·lower/(upper
//! + lower), current = supply/(upper + lower).
//!
//! Source: Kirchhoff's laws; limits from the handbook (`heater_cathode` of its ratings) or the
//! user.
//!
//! Limits: limits are taken as peaks of either sign; some sheets allow less with the heater
//! positive. The leakage from heater to cathode is taken as small beside the divider's current.
//!
//! Cautions: while the cathodes are cold they stand near nothing, and the elevation is already
//! there if the supply comes up at once.

use serde::Serialize;

use super::answer::{Answer, Figure, Wrong, percent, shown, within};
use super::standard::{nearest, rating};

/// Heater voltages the sum is made for, V (by construction).
const HEATERS: (f64, f64) = (0.0, 300.0);
/// Cathode voltages and elevations it is made for, V (by construction).
const VOLTAGES: (f64, f64) = (-2000.0, 2000.0);
/// Swings of a cathode it is made for, V peak (by construction).
const SWINGS: (f64, f64) = (0.0, 2000.0);
/// Limits it is made for, V (by construction).
const LIMITS: (f64, f64) = (1.0, 5000.0);
/// Supplies it is made for, V (by construction).
const SUPPLIES: (f64, f64) = (1.0, 2000.0);
/// Currents of a divider it is made for, A (by construction).
const CURRENTS: (f64, f64) = (1e-6, 1.0);
/// Resistors of a divider it is made for, ohm (by construction).
const RESISTORS: (f64, f64) = (10.0, 1e8);
/// Most cathodes (by construction).
const MOST_CATHODES: usize = 40;
/// Voltage that an ordinary small resistor bears, V (from memory: 200 to 250 V for a quarter
/// of a watt).
const RESISTOR_BEARS: f64 = 200.0;
/// Most resistance between heater and cathode that sheets usually allow, ohm (from memory).
const RETURN_AT_MOST: f64 = 20e3;

/// How the heaters are fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeaterFeed {
    /// AC, the elevation at the winding's middle (a tap, or two equal resistors).
    AcMiddle,
    /// AC, the elevation at one end.
    AcEnd,
    /// DC, the elevation at the negative end.
    Dc,
}

/// A cathode on the winding.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cathode {
    /// What it is called.
    pub name: String,
    /// Its voltage to ground, V.
    pub voltage: f64,
    /// How far a signal swings it, V peak.
    pub swing: f64,
    /// Heater–cathode limit, V.
    pub limit: f64,
    /// Where the limit is from; `None` for the user's own.
    pub limit_from: Option<String>,
}

/// Where the elevation is from.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "is")]
pub enum Divider {
    /// A voltage that is wanted; `None` for the middle of what all cathodes allow. A divider
    /// for it is told where there is a supply.
    Wanted {
        /// The elevation, V.
        elevation: Option<f64>,
        /// The supply, V.
        supply: Option<f64>,
        /// The divider's current, A.
        current: f64,
    },
    /// Two resistors.
    Resistors {
        /// The supply, V.
        supply: f64,
        /// From the supply to the heater, ohm.
        upper: f64,
        /// From the heater to ground, ohm.
        lower: f64,
    },
}

/// Heaters to be elevated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Elevation {
    /// The heaters' voltage, V (rms on AC).
    pub heater: f64,
    /// How they are fed.
    pub feed: HeaterFeed,
    /// The cathodes.
    pub cathodes: Vec<Cathode>,
    /// Where the elevation is from.
    pub divider: Divider,
}

/// One cathode against its heater.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Hanging {
    /// Most that the heater stands above the cathode, V peak; negative where never.
    pub above: f64,
    /// Most that it stands below, V peak; negative where never.
    pub below: f64,
    /// The larger of the two over the limit.
    pub of_limit: f64,
    /// The same while the cathode is cold and stands at nothing.
    pub of_limit_cold: f64,
}

/// The heaters elevated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Elevated {
    /// Elevation, V; `None` where none was asked for and none suits all cathodes.
    pub elevation: Option<f64>,
    /// Elevations that keep every cathode within its limit, V; `None` where there is none.
    pub range: Option<(f64, f64)>,
    /// Each cathode at that elevation.
    pub each: Vec<Hanging>,
    /// Upper and lower resistor, ohm.
    pub resistors: Option<(f64, f64)>,
    /// The divider's current, A, and the power in upper and lower resistor, W.
    pub divider: Option<(f64, f64, f64)>,
}

impl Elevation {
    /// How far the heater's ends go below and above the point that is elevated, V peak.
    fn ends(&self) -> (f64, f64) {
        let peak = self.heater * std::f64::consts::SQRT_2;
        match self.feed {
            HeaterFeed::AcMiddle => (0.5 * peak, 0.5 * peak),
            HeaterFeed::AcEnd => (peak, peak),
            HeaterFeed::Dc => (0.0, self.heater),
        }
    }

    /// The elevations that one cathode allows, V: empty where the first is above the second.
    fn allows(&self, cathode: &Cathode) -> (f64, f64) {
        let (down, up) = self.ends();
        let room = cathode.limit - cathode.swing;
        (cathode.voltage - room + down, cathode.voltage + room - up)
    }

    fn hanging(&self, cathode: &Cathode, elevation: f64) -> Hanging {
        let (down, up) = self.ends();
        let above = elevation + up + cathode.swing - cathode.voltage;
        let below = cathode.voltage + cathode.swing - elevation + down;
        let cold = (elevation + up).max(down - elevation);
        Hanging { above, below, of_limit: above.max(below) / cathode.limit, of_limit_cold: cold / cathode.limit }
    }

    fn check(&self) -> Result<(), Wrong> {
        within("heater", self.heater, HEATERS, "V")?;
        if self.cathodes.is_empty() || self.cathodes.len() > MOST_CATHODES {
            let what = format!("{} cathodes are not what this sum is made for", self.cathodes.len());
            return Err(Wrong::new("cathodes", what, format!("Give 1 to {MOST_CATHODES}.")));
        }
        for cathode in &self.cathodes {
            within("cathodes", cathode.voltage, VOLTAGES, "V")?;
            within("cathodes", cathode.swing, SWINGS, "V")?;
            within("limit", cathode.limit, LIMITS, "V")?;
        }
        match self.divider {
            Divider::Wanted { elevation, supply, current } => {
                elevation.map_or(Ok(0.0), |v| within("elevation", v, VOLTAGES, "V"))?;
                supply.map_or(Ok(0.0), |v| within("supply", v, SUPPLIES, "V"))?;
                within("divider-current", current, CURRENTS, "A")?;
            }
            Divider::Resistors { supply, upper, lower } => {
                within("supply", supply, SUPPLIES, "V")?;
                within("upper", upper, RESISTORS, "ohm")?;
                within("lower", lower, RESISTORS, "ohm")?;
            }
        }
        Ok(())
    }

    /// The numbers.
    ///
    /// # Errors
    /// A value out of bounds, or an elevation that the supply's divider cannot give.
    pub fn worked(&self) -> Result<Elevated, Wrong> {
        self.check()?;
        let allowed = self.cathodes.iter().map(|c| self.allows(c));
        let (low, high) = allowed.fold((f64::NEG_INFINITY, f64::INFINITY), |(l, h), (a, b)| (l.max(a), h.min(b)));
        let range = (low <= high).then_some((low, high));
        let (elevation, supply, resistors) = match self.divider {
            Divider::Resistors { supply, upper, lower } => {
                (Some(supply * lower / (upper + lower)), Some(supply), Some((upper, lower)))
            }
            Divider::Wanted { elevation, supply, current } => {
                let suggested = range.map(|(l, h)| suggested(l, h, supply));
                let chosen = elevation.or(suggested);
                (chosen, supply, self.divide(chosen, supply, current)?)
            }
        };
        let divider = resistors.zip(supply).map(|((upper, lower), supply)| {
            let current = supply / (upper + lower);
            (current, current * current * upper, current * current * lower)
        });
        let each = elevation.iter().flat_map(|e| self.cathodes.iter().map(|c| self.hanging(c, *e))).collect();
        Ok(Elevated { elevation, range, each, resistors, divider })
    }

    /// The two resistors for an elevation, ohm.
    fn divide(&self, elevation: Option<f64>, supply: Option<f64>, current: f64) -> Result<Option<(f64, f64)>, Wrong> {
        let Some((elevation, supply)) = elevation.zip(supply) else { return Ok(None) };
        if elevation > 0.0 && elevation < supply {
            return Ok(Some(((supply - elevation) / current, elevation / current)));
        }
        let said = matches!(self.divider, Divider::Wanted { elevation: Some(_), .. });
        if !said {
            return Ok(None);
        }
        let what = format!("a divider from {} does not give {}", shown(supply, "V"), shown(elevation, "V"));
        Err(Wrong::new("elevation", what, "Give a voltage between nothing and the supply, or leave the supply out."))
    }

    /// The numbers as figures.
    ///
    /// # Errors
    /// As for [`Elevation::worked`].
    pub fn answer(&self) -> Result<Answer, Wrong> {
        let w = self.worked()?;
        let mut figures = Vec::new();
        if let Some(elevation) = w.elevation {
            let says = match self.divider {
                Divider::Resistors { .. } => "as the two resistors give it",
                Divider::Wanted { elevation: Some(_), .. } => "as you gave it",
                Divider::Wanted { .. } => "the middle of what all cathodes allow, as far as the supply goes",
            };
            figures.push(Figure::new("elevation", elevation, "V", says));
        }
        if let Some((low, high)) = w.range {
            figures.push(Figure::new("lowest elevation", low, "V", "that keeps every cathode within its limit"));
            figures.push(Figure::new("highest elevation", high, "V", "that keeps every cathode within its limit"));
        }
        for (i, (cathode, at)) in self.cathodes.iter().zip(&w.each).enumerate() {
            let side = if at.above >= at.below { "above" } else { "below" };
            let says = format!(
                "peak, heater {side} cathode: {} of {}{}; while the cathode is cold {}",
                percent(at.of_limit),
                shown(cathode.limit, "V"),
                if at.of_limit > 1.0 { ", TOO MUCH" } else { "" },
                percent(at.of_limit_cold),
            );
            figures.push(Figure::new(
                format!("cathode {}: {}", i + 1, cathode.name),
                at.above.max(at.below),
                "V",
                says,
            ));
        }
        if let (Some((upper, lower)), Some((current, up, low))) = (w.resistors, w.divider) {
            let says = |ohm: f64, watt: f64| {
                format!(
                    "nearest sold {}; {} in it: buy {}",
                    shown(nearest(ohm), "ohm"),
                    shown(watt, "W"),
                    shown(rating(watt), "W")
                )
            };
            figures.push(Figure::new("upper resistor", upper, "ohm", says(upper, up)));
            figures.push(Figure::new("lower resistor", lower, "ohm", says(lower, low)));
            if let (Divider::Wanted { supply: Some(supply), .. }, (up, low)) =
                (self.divider, (nearest(upper), nearest(lower)))
            {
                let sold = supply * low / (up + low);
                figures.push(Figure::new(
                    "elevation with the nearest resistors",
                    sold,
                    "V",
                    "as those that are sold give it",
                ));
            }
            figures.push(Figure::new("current of the divider", current, "A", "drawn from the supply all the time"));
            figures.push(Figure::new("power in the upper resistor", up, "W", "while the supply is on"));
            figures.push(Figure::new("power in the lower resistor", low, "W", "while the supply is on"));
        }
        let worst = w.each.iter().map(|e| e.of_limit).fold(0.0, f64::max);
        if !w.each.is_empty() {
            figures.push(Figure::new("largest share of a limit", worst, "1", "of the cathode that is worst off"));
        }
        Ok(Answer {
            figures,
            formula: "Heater to cathode at most = |elevation − cathode| + the heater's own peak (half of it with the \
                middle elevated) + the cathode's swing. A cathode allows elevations from cathode − room to cathode + \
                room, with room = limit − heater's peak − swing. Elevation = supply × lower/(upper + lower); current = \
                supply/(upper + lower); power = current² × resistor."
                .into(),
            source: "Kirchhoff's laws. Limits: the handbook's where a type has one (its source under the cautions), \
                else yours."
                .into(),
            leaves_out: "The leakage from heater to cathode, which is small beside a divider's current; limits that \
                differ with the sign, or allow more for a moment at switch-on; noise and hum."
                .into(),
            cautions: self.cautions(&w),
            curve: None,
        })
    }

    fn cautions(&self, w: &Elevated) -> Vec<String> {
        let mut cautions = Vec::new();
        if w.range.is_none() {
            cautions.push(self.no_range());
        }
        for (cathode, at) in self.cathodes.iter().zip(&w.each) {
            if at.of_limit > 1.0 {
                cautions.push(format!(
                    "{} stands at {} of its heater–cathode limit.",
                    cathode.name,
                    percent(at.of_limit)
                ));
            } else if at.of_limit_cold > 1.0 {
                cautions.push(format!(
                    "{} is beyond its limit until its cathode has warmed up ({}): let the supply rise with the tubes.",
                    cathode.name,
                    percent(at.of_limit_cold)
                ));
            }
        }
        if let (Some((upper, lower)), Some(elevation)) = (w.resistors, w.elevation) {
            let supply = elevation * (upper + lower) / lower;
            if (supply - elevation).max(elevation) > RESISTOR_BEARS {
                cautions.push("More than 200 V stand across one resistor: an ordinary small one does not bear that; take a larger one or two in series (from memory).".into());
            }
            if upper * lower / (upper + lower) > RETURN_AT_MOST {
                cautions.push("Heater and cathode are joined by more than 20 kΩ, which is as much as sheets usually allow (from memory): take more divider current.".into());
            }
            cautions.push("Put a capacitor of some ten microfarads across the lower resistor, of a voltage above the elevation (common practice, no source).".into());
        }
        if w.elevation.is_some_and(|e| self.cathodes.iter().all(|c| e < c.voltage)) {
            cautions.push("The heaters stand below all cathodes: against hum they are usually put 20 to 50 V above (common practice, no source).".into());
        }
        let mut told: Vec<&str> = Vec::new();
        for cathode in &self.cathodes {
            if let Some(from) = cathode.limit_from.as_deref().filter(|_| !told.contains(&cathode.name.as_str())) {
                told.push(&cathode.name);
                cautions.push(format!(
                    "The limit of {} for {} is the handbook's: {from}.",
                    shown(cathode.limit, "V"),
                    cathode.name
                ));
            }
        }
        cautions.push("Elevate the whole winding once: never also ground its middle or an end.".into());
        cautions.push(super::KILLS.into());
        cautions
    }

    /// Why no elevation suits all.
    fn no_range(&self) -> String {
        let lone = self.cathodes.iter().find(|c| {
            let (low, high) = self.allows(c);
            low > high
        });
        if let Some(cathode) = lone {
            return format!(
                "No elevation suits {}: the heater's own voltage and the swing are more than its limit leaves.",
                cathode.name
            );
        }
        let by = |f: fn((f64, f64)) -> f64| {
            move |a: &&Cathode, b: &&Cathode| f(self.allows(a)).total_cmp(&f(self.allows(b)))
        };
        let (top, bottom) = (self.cathodes.iter().max_by(by(|r| r.0)), self.cathodes.iter().min_by(by(|r| r.1)));
        let names = top.zip(bottom).map(|(a, b)| format!("{} and {}", a.name, b.name)).unwrap_or_default();
        format!("No elevation suits all: {names} stand too far apart. They want windings of their own.")
    }
}

/// An elevation to take, V: the middle of the range, or of that part of it that a divider from
/// the supply can give.
fn suggested(low: f64, high: f64, supply: Option<f64>) -> f64 {
    let (floor, ceiling) = supply.map_or((low, high), |supply| (low.max(0.0), high.min(supply)));
    if floor <= ceiling { 0.5 * (floor + ceiling) } else { 0.5 * (low + high) }
}
