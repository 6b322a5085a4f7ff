//! A stage with every section of a lot: what the spread asks of a trimmer.

use serde::Serialize;

use super::{Point, Shift, Signal, Stage, Unworkable, point, shifts, signal};
use crate::Judged;
use crate::handbook::{self, SectionKind};
use crate::law::SpaceCharge;

/// How far the trim may go to either side, V: beyond it no triode is biased (judgement).
const REACH: f64 = 300.0;

/// One section in the stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AtWork {
    /// The tube's name.
    pub tube: String,
    /// The section's name.
    pub section: String,
    /// Where it works; why not, where it does not.
    #[serde(flatten)]
    pub works: Works,
}

/// How a section works.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "works")]
pub enum Works {
    /// It does.
    Yes(Box<Working>),
    /// It does not.
    No {
        /// Why.
        why: String,
    },
}

/// A section that works.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Working {
    /// Where.
    pub point: Point,
    /// The plate current's 95 % interval from that of the measured current, A.
    pub ia_between: Option<(f64, f64)>,
    /// What it does with a signal.
    pub signal: Signal,
    /// The plate's heat over the type's rating; `None` where the handbook has none.
    pub of_rating: Option<f64>,
    /// What findings do to the point.
    pub shifts: Vec<Shift>,
    /// Grid voltage at which it would draw the stage's middle current at its own plate
    /// voltage, V.
    pub trim: Option<f64>,
}

/// Least and most of a figure over the lot.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Spread {
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
}

/// The stage over a lot.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Across {
    /// Each section, in the order of the lot.
    pub sections: Vec<AtWork>,
    /// Plate current of those that work, A.
    pub ia: Option<Spread>,
    /// Gain of those that work.
    pub gain: Option<Spread>,
    /// Grid voltages that set all of them to the middle current, V: what a trimmer has to cover.
    pub trim: Option<Spread>,
}

/// A stage with all sections of several tubes.
pub fn across(judged: &[&Judged], stage: &Stage, swing: Option<f64>) -> Across {
    let mut sections: Vec<(AtWork, Option<SpaceCharge>)> =
        judged.iter().flat_map(|one| of_tube(one, stage, swing)).collect();
    let currents: Vec<f64> = working(&sections).map(|w| w.point.ia).collect();
    let middle = crate::numerics::median(&mut currents.clone());
    for (at, law) in &mut sections {
        if let (Works::Yes(working), Some(law)) = (&mut at.works, law) {
            working.trim = law.grid_for(working.point.va, middle, REACH);
        }
    }
    Across {
        ia: spread(currents.into_iter()),
        gain: spread(working(&sections).map(|w| w.signal.gain)),
        trim: spread(working(&sections).filter_map(|w| w.trim)),
        sections: sections.into_iter().map(|(at, _)| at).collect(),
    }
}

fn working(sections: &[(AtWork, Option<SpaceCharge>)]) -> impl Iterator<Item = &Working> {
    sections
        .iter()
        .filter_map(|(at, _)| if let Works::Yes(working) = &at.works { Some(working.as_ref()) } else { None })
}

fn spread(values: impl Iterator<Item = f64>) -> Option<Spread> {
    values.fold(None, |spread, v| {
        let Spread { least, most } = spread.unwrap_or(Spread { least: v, most: v });
        Some(Spread { least: least.min(v), most: most.max(v) })
    })
}

fn of_tube(judged: &Judged, stage: &Stage, swing: Option<f64>) -> Vec<(AtWork, Option<SpaceCharge>)> {
    let Judged { report, member } = judged;
    let kind = report.kind.as_deref().and_then(handbook::find);
    let measured = member.laws.len() == report.sections.len();
    let one = |(place, section): (usize, &crate::report::SectionReport)| {
        let published = kind.and_then(|k| k.section(place));
        let triode = published.is_none_or(|s| s.kind == SectionKind::Triode);
        let law = member.laws.get(place).filter(|_| measured && triode).copied();
        let why = if triode { "its curves could not be measured in every section" } else { "it is no triode" };
        let works = match law.ok_or_else(|| why.to_owned()).and_then(|law| {
            let (point, signal) = work(&law, stage, swing).map_err(|unworkable| unworkable.to_string())?;
            Ok((law, point, signal))
        }) {
            Err(why) => Works::No { why },
            Ok((law, point, signal)) => {
                let rating = published.and_then(|s| s.ratings.plate_dissipation.as_ref());
                Works::Yes(Box::new(Working {
                    point,
                    ia_between: between(&law, stage, section.figures.ia.as_ref()),
                    signal,
                    of_rating: rating.map(|r| point.dissipation / r.value),
                    shifts: shifts(report, &section.section, &law, stage, &point),
                    trim: None,
                }))
            }
        };
        (AtWork { tube: report.tube.clone(), section: section.section.clone(), works }, law)
    };
    report.sections.iter().enumerate().map(one).collect()
}

fn work(law: &SpaceCharge, stage: &Stage, swing: Option<f64>) -> Result<(Point, Signal), Unworkable> {
    let at = point(law, stage)?;
    Ok((at, signal(law, stage, &at, swing)))
}

/// The current's interval: that of the measured one, carried through the stage.
fn between(law: &SpaceCharge, stage: &Stage, ia: Option<&crate::report::Figure>) -> Option<(f64, f64)> {
    let ia = ia.filter(|f| f.estimate > 0.0 && f.low > 0.0)?;
    let with = |times: f64| point(&SpaceCharge { ln_p: law.ln_p + libm::log(times), ..*law }, stage).ok().map(|p| p.ia);
    Some((with(ia.low / ia.estimate)?, with(ia.high / ia.estimate)?))
}
