//! From the handbook's JSON to typed entries.
//!
//! A file holds `sources`, `types` and `limits`, each of them optional. A figure is
//! `[number, "source"]`, or `[number, "source", percent]` where the source is a fit:
//! the figure is from memory and the fit is that far off. Figures stand in the units of
//! data sheets, so that they can be compared by eye, and become SI here:
//!
//! | key | what | unit |
//! |---|---|---|
//! | `v`, `i` | heater | V, A |
//! | `at` | source, plate, grid and screen voltage against the cathode | V |
//! | `from` | the sheet's circuit: supply, cathode resistor, grid and screen supply | V, Ω |
//! | `ia`, `ig2`, `gm`, `mu`, `rp` | operating point | mA, mA, mS, 1, kΩ |
//! | `va`, `vg2`, `hk`, `vg`, `piv` | largest voltages | V |
//! | `pa`, `pg2`, `pa_all` | largest dissipations | W |
//! | `ik`, `io` | largest cathode and output current | mA |
//! | `self`, `fixed` | grid resistor with cathode and with fixed bias | MΩ |
//! | `ig`, `ig_end`, `ihk` | limits: grid current, heater–cathode leakage | µA |
//! | `insulation`, `insulation_end` | limits | MΩ |
//! | `balance`, `end` | limits: section balance, end of life | % |

use std::{collections::HashMap, sync::Arc};

use serde::Serializer;

use super::{
    error::{HandbookError, Mistake},
    kinds::{CathodeBias, GridResistor, Heater, Name, Origin, Point, Ratings, Section, SectionKind, SourceOf, Type},
    law::{Form, Law},
    limits::Limits,
    raw,
    value::{Source, SourceKind, Strength, Value},
};

/// Sources by their short names.
pub(super) type Sources = HashMap<String, Arc<Source>>;

/// Largest difference between the voltages of a point and those that its circuit gives, V.
/// Two decimals are kept, so rounding alone stays below this.
const CIRCUIT_ROUNDING: f64 = 0.02;

/// A mistake on its way up: each level puts its place before it.
struct At(String, Mistake);

impl At {
    fn within(self, place: &str) -> Self {
        if self.0.is_empty() { Self(place.into(), self.1) } else { Self(format!("{place}, {}", self.0), self.1) }
    }
}

impl From<Mistake> for At {
    fn from(mistake: Mistake) -> Self {
        Self(String::new(), mistake)
    }
}

type Read<T> = Result<T, At>;

/// Takes the text apart, without looking at what the figures mean.
pub(super) fn parse(json: &str) -> Result<raw::File, HandbookError> {
    crate::read_json(json).map_err(|e| {
        let place = format!("line {}, column {}", e.line(), e.column());
        let said = e.to_string();
        let what = said.split(" at line ").next().unwrap_or_default().to_owned();
        HandbookError { place, mistake: Mistake::Json(what) }
    })
}

/// Adds sources to those known.
pub(super) fn sources(known: &mut Sources, file: &mut raw::File) -> Result<(), HandbookError> {
    for source in file.sources.drain(..) {
        if known.contains_key(&source.id) {
            return Err(HandbookError { place: "sources".into(), mistake: Mistake::SourceTwice(source.id) });
        }
        known.insert(source.id.clone(), Arc::new(source));
    }
    Ok(())
}

/// Reads one type.
pub(super) fn tube_type(sources: &Sources, raw: raw::Type, origin: Origin) -> Result<Type, HandbookError> {
    let place = format!("type \"{}\"", raw.name);
    Reader { sources }.tube_type(raw, origin).map_err(|at| at.within(&place)).map_err(finish)
}

/// Reads a table of limits; `place` says whose.
pub(super) fn limits(sources: &Sources, raw: &raw::Limits, place: &str) -> Result<Limits, HandbookError> {
    Reader { sources }.limits(raw).map_err(|at| at.within(place)).map_err(finish)
}

fn finish(At(place, mistake): At) -> HandbookError {
    HandbookError { place, mistake }
}

/// Serializes a source as its short name.
pub(super) fn only_id<S: Serializer>(source: &Arc<Source>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&source.id)
}

/// Reads figures against the known sources.
struct Reader<'a> {
    sources: &'a Sources,
}

/// What a figure is allowed to be.
#[derive(Clone, Copy)]
enum Want {
    Positive,
    NotNegative,
}

impl Reader<'_> {
    fn source(&self, id: &str) -> Read<Arc<Source>> {
        self.sources.get(id).cloned().ok_or_else(|| Mistake::NoSource(id.into()).into())
    }

    fn value(&self, raw: &raw::Value, scale: Scale, want: Want) -> Read<Value> {
        let source = self.source(&raw.source)?;
        let value = scale.to_si(raw.number);
        let (ok, says) = match want {
            Want::Positive => (value.is_finite() && value > 0.0, "above 0"),
            Want::NotNegative => (value.is_finite() && value >= 0.0, "0 or more"),
        };
        if !ok {
            return Err(Mistake::BadNumber { value: raw.number, want: says }.into());
        }
        let strength = match (source.kind, raw.off) {
            (SourceKind::Fit, Some(percent)) => Strength::Checked { off: percent / 100.0 },
            (SourceKind::Fit, None) => return Err(Mistake::NoOffset.into()),
            (_, Some(_)) => return Err(Mistake::StrayOffset.into()),
            (SourceKind::Sheet | SourceKind::Text, None) => Strength::Seen,
            (SourceKind::Memory, None) => Strength::Memory,
            (SourceKind::User, None) => Strength::Stated,
        };
        Ok(Value { value, source, strength })
    }

    fn some(&self, field: &str, raw: Option<&raw::Value>, scale: Scale) -> Read<Option<Value>> {
        raw.map(|r| self.value(r, scale, Want::Positive)).transpose().map_err(|at| at.within(field))
    }

    fn tube_type(&self, raw: raw::Type, origin: Origin) -> Read<Type> {
        if !super::label::key(&raw.name).bytes().any(|b| b.is_ascii_digit()) {
            return Err(Mistake::BadName(raw.name).into());
        }
        if raw.sections.is_empty() {
            return Err(Mistake::NoSection.into());
        }
        let mut other_names = Vec::new();
        for (id, labels) in raw.aka {
            let source = self.source(&id).map_err(|at| at.within("aka"))?;
            other_names.extend(labels.into_iter().map(|label| Name { label, source: Arc::clone(&source) }));
        }
        let mut heaters = Vec::new();
        for h in &raw.heater {
            let read = |v, f| self.value(v, Scale::One, Want::Positive).map_err(|at| at.within(f));
            heaters.push(Heater { voltage: read(&h.v, "heater v")?, current: read(&h.i, "heater i")? });
        }
        let mut groups = Vec::new();
        for (index, s) in raw.sections.into_iter().enumerate() {
            groups.push(self.section(s).map_err(|at| at.within(&format!("section {}", index + 1)))?);
        }
        Ok(Type {
            name: raw.name,
            other_names,
            directly_heated: raw.direct,
            heaters,
            groups,
            plate_dissipation_all: self.some("pa_all", raw.pa_all.as_ref(), Scale::One)?,
            limits: self.limits(&raw.limits).map_err(|at| at.within("limits"))?,
            note: raw.note,
            origin,
        })
    }

    fn section(&self, raw: raw::Section) -> Read<Section> {
        if raw.n == 0 {
            return Err(Mistake::BadNumber { value: 0.0, want: "at least 1 section" }.into());
        }
        let mut points = Vec::new();
        for (index, p) in raw.points.into_iter().enumerate() {
            points.push(self.point(raw.kind, p).map_err(|at| at.within(&format!("point {}", index + 1)))?);
        }
        let m = &raw.max;
        let system = match &m.sys {
            Some((system, id)) => Some((*system, SourceOf(self.source(id).map_err(|at| at.within("sys"))?))),
            None => None,
        };
        let ratings = Ratings {
            system,
            plate_voltage: self.some("va", m.va.as_ref(), Scale::One)?,
            screen_voltage: self.some("vg2", m.vg2.as_ref(), Scale::One)?,
            plate_dissipation: self.some("pa", m.pa.as_ref(), Scale::One)?,
            screen_dissipation: self.some("pg2", m.pg2.as_ref(), Scale::One)?,
            cathode_current: self.some("ik", m.ik.as_ref(), Scale::Milli)?,
            heater_cathode: self.some("hk", m.hk.as_ref(), Scale::One)?,
            grid_negative: self.some("vg", m.vg.as_ref(), Scale::One)?,
            peak_inverse: self.some("piv", m.piv.as_ref(), Scale::One)?,
            output_current: self.some("io", m.io.as_ref(), Scale::Milli)?,
        };
        let grid_resistor = GridResistor {
            cathode_bias: self.some("rg self", raw.rg.cathode.as_ref(), Scale::Mega)?,
            fixed_bias: self.some("rg fixed", raw.rg.fixed.as_ref(), Scale::Mega)?,
        };
        let law = raw.law.map(|l| self.law(raw.kind, l)).transpose().map_err(|at| at.within("law"))?;
        Ok(Section { count: raw.n, kind: raw.kind, label: raw.label, points, ratings, grid_resistor, law })
    }

    fn point(&self, kind: SectionKind, raw: raw::Point) -> Read<Point> {
        let raw::Bias { source, va, vg, vg2 } = raw.at;
        let screened = matches!(kind, SectionKind::Pentode | SectionKind::BeamTetrode);
        if screened != vg2.is_some() {
            return Err(Mistake::Screen.into());
        }
        for (value, ok, want) in [
            (va, va.is_finite() && va > 0.0, "a plate voltage above 0"),
            (vg, vg.is_finite(), "a grid voltage"),
            (vg2.unwrap_or(1.0), vg2.is_none_or(|v| v.is_finite() && v > 0.0), "a screen voltage above 0"),
        ] {
            if !ok {
                return Err(Mistake::BadNumber { value, want }.into());
            }
        }
        let point = Point {
            va,
            vg,
            vg2,
            source: self.source(&source).map_err(|at| at.within("at"))?,
            circuit: raw.from.map(|f| CathodeBias {
                supply: f.supply,
                resistor: f.resistor,
                grid_supply: f.grid_supply,
                screen_supply: f.screen_supply,
            }),
            ia: self.some("ia", raw.ia.as_ref(), Scale::Milli)?,
            ig2: self.some("ig2", raw.ig2.as_ref(), Scale::Milli)?,
            gm: self.some("gm", raw.gm.as_ref(), Scale::Milli)?,
            mu: self.some("mu", raw.mu.as_ref(), Scale::One)?,
            rp: self.some("rp", raw.rp.as_ref(), Scale::Kilo)?,
            note: raw.note,
        };
        if point.circuit.is_some_and(|c| !follows(&point, c)) {
            return Err(Mistake::Circuit.into());
        }
        Ok(point)
    }

    fn law(&self, kind: SectionKind, raw: raw::Law) -> Read<Law> {
        let source = self.source(&raw.by)?;
        let form = match (raw.mu, raw.ex, raw.kg1, raw.kg2, raw.kp, raw.kvb, raw.vct, raw.g) {
            (Some(mu), Some(ex), Some(kg1), None, Some(kp), Some(kvb), Some(vct), None) => {
                Form::Triode { mu, ex, kg1, kp, kvb, vct }
            }
            (Some(mu), Some(ex), Some(kg1), Some(kg2), Some(kp), Some(kvb), None, None) => {
                Form::Pentode { mu, ex, kg1, kg2, kp, kvb }
            }
            (None, None, None, None, None, None, None, Some(g)) => Form::Diode { g },
            _ => return Err(Mistake::BadLaw.into()),
        };
        let (constants, fits): (Vec<f64>, bool) = match form {
            Form::Triode { mu, ex, kg1, kp, kvb, .. } => {
                (vec![mu, ex, kg1, kp, kvb], matches!(kind, SectionKind::Triode | SectionKind::DirectlyHeatedTriode))
            }
            Form::Pentode { mu, ex, kg1, kg2, kp, kvb } => {
                (vec![mu, ex, kg1, kg2, kp, kvb], matches!(kind, SectionKind::Pentode | SectionKind::BeamTetrode))
            }
            Form::Diode { g } => (vec![g], matches!(kind, SectionKind::Diode | SectionKind::Rectifier)),
        };
        if !fits {
            return Err(Mistake::BadLaw.into());
        }
        if let Some(&value) = constants.iter().find(|c| !(c.is_finite() && **c > 0.0)) {
            return Err(Mistake::BadNumber { value, want: "above 0" }.into());
        }
        Ok(Law { fit: raw.fit, sheet: raw.sheet, form, source })
    }

    fn limits(&self, raw: &raw::Limits) -> Read<Limits> {
        let share = |field, raw: &Option<raw::Value>| {
            raw.as_ref()
                .map(|r| self.value(r, Scale::Percent, Want::NotNegative))
                .transpose()
                .map_err(|at: At| at.within(field))
        };
        Ok(Limits {
            grid_current: self.some("ig", raw.ig.as_ref(), Scale::Micro)?,
            grid_current_end: self.some("ig_end", raw.ig_end.as_ref(), Scale::Micro)?,
            insulation: self.some("insulation", raw.insulation.as_ref(), Scale::Mega)?,
            insulation_end: self.some("insulation_end", raw.insulation_end.as_ref(), Scale::Mega)?,
            heater_cathode: self.some("ihk", raw.ihk.as_ref(), Scale::Micro)?,
            balance: share("balance", &raw.balance)?,
            end_of_life: share("end", &raw.end)?,
        })
    }
}

/// Whether the voltages of a point are those that its circuit gives at its currents.
fn follows(point: &Point, c: CathodeBias) -> bool {
    let Some(ia) = &point.ia else { return false };
    let ik = ia.value + point.ig2.as_ref().map_or(0.0, |i| i.value);
    let vk = ik * c.resistor;
    let near = |a: f64, b: f64| (a - b).abs() <= CIRCUIT_ROUNDING;
    near(point.va, c.supply - vk)
        && near(point.vg, c.grid_supply - vk)
        && match (point.vg2, c.screen_supply) {
            (Some(vg2), Some(supply)) => near(vg2, supply - vk),
            (None, None) => true,
            _ => false,
        }
}

/// From a data sheet's unit to SI. Powers of ten are divided, not multiplied by a
/// fraction, so that 1.2 mA becomes the double that prints as 0.0012.
#[derive(Clone, Copy)]
enum Scale {
    One,
    Kilo,
    Mega,
    Milli,
    Micro,
    Percent,
}

impl Scale {
    fn to_si(self, number: f64) -> f64 {
        match self {
            Self::One => number,
            Self::Kilo => number * 1e3,
            Self::Mega => number * 1e6,
            Self::Milli => number / 1e3,
            Self::Micro => number / 1e6,
            Self::Percent => number / 1e2,
        }
    }
}
