//! A tube's sheet: what the report says, ready to be put into the document.

use serde::Serialize;
use sweepbook_core::faults::{Explanation, Part};
use sweepbook_core::figure::{CurrentAxis, fitting_axis};
use sweepbook_core::kin::agreement::Agreement;
use sweepbook_core::report::{self, Blind, Finding, Limit, Mark, TubeReport, Verdict, likelihood, percent};
use sweepbook_core::sweep::Tube;

use crate::words;

/// A tube's sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// The tube's name.
    pub tube: String,
    /// The files it was read from.
    pub source: Vec<String>,
    /// The type on the label.
    pub kind: Option<String>,
    /// What to do with it.
    pub verdict: Verdict,
    /// Why, a sentence each.
    pub reasons: Vec<String>,
    /// The surest finding in a few words, for the list.
    pub brief: Option<String>,
    /// What was found, surest first.
    pub findings: Vec<FindingSheet>,
    /// Figures of the sections; `None` where none could be measured.
    pub figures: Option<FiguresSheet>,
    /// Rules and kin model side by side, a row a section.
    pub second: Vec<SecondSheet>,
    /// What this sweep cannot show.
    pub blind: Vec<BlindSheet>,
    /// The smallest of each fault that it would have shown.
    pub limits: Vec<LimitSheet>,
    /// Remarks.
    pub notes: Vec<String>,
    /// Number of measured points.
    pub points: usize,
    /// Whether the grid current was measured anywhere.
    pub grid_current: bool,
}

/// One finding as a card.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingSheet {
    /// Its title.
    pub title: String,
    /// Whether it is the bench's and not the tube's.
    pub bench: bool,
    /// The section's name; `None` for the whole tube or the bench.
    pub section: Option<String>,
    /// The section's place in the tube, for its shape and colour.
    pub section_index: Option<usize>,
    /// How sure, in words.
    pub sure: &'static str,
    /// How sure, in percent.
    pub percent: String,
    /// Whether it is more likely than not.
    pub likely: bool,
    /// What was measured, its value, and its interval.
    pub value: Option<ValueSheet>,
    /// What it rests on.
    pub evidence: String,
    /// What would settle it.
    pub confirm: String,
    /// What else it could be.
    pub alternatives: Vec<AlternativeSheet>,
    /// The headed parts of its explanation.
    pub parts: Vec<Part>,
    /// The points it rests on.
    pub marks: Vec<Mark>,
    /// Number of those points.
    pub marked: usize,
    /// The current axis on which they can be told from zero.
    pub axis: CurrentAxis,
}

/// A value with its interval.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ValueSheet {
    /// What it is.
    pub quantity: String,
    /// Best estimate with unit.
    pub value: String,
    /// 95 % interval in words.
    pub interval: Option<String>,
}

/// Another explanation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AlternativeSheet {
    /// Its title.
    pub title: String,
    /// How sure, in words.
    pub sure: &'static str,
    /// How sure, in percent.
    pub percent: String,
}

/// The figures of all sections, a column each.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FiguresSheet {
    /// Name and operating point of each section.
    pub sections: Vec<FiguresHead>,
    /// gm, mu, rp and Ia.
    pub rows: Vec<FiguresRow>,
}

/// The head of a section's column.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FiguresHead {
    /// The section's name.
    pub section: String,
    /// Its operating point; `None` where nothing was measured.
    pub at: Option<String>,
}

/// One quantity over the sections.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FiguresRow {
    /// Its letter symbol.
    pub symbol: &'static str,
    /// Its name.
    pub name: &'static str,
    /// A cell each section; `None` where it could not be measured.
    pub cells: Vec<Option<FiguresCell>>,
}

/// One figure.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FiguresCell {
    /// Best estimate with unit.
    pub value: String,
    /// 95 % interval.
    pub interval: String,
    /// Its operating point where it is not the column's.
    pub at: Option<String>,
}

/// What rules and kin model say of one section.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SecondSheet {
    /// The section's name.
    pub section: String,
    /// What the rules found there.
    pub rules: String,
    /// What the section is most like.
    pub like: String,
    /// How sure the model is, in percent; `None` where it knows nothing like it.
    pub percent: Option<String>,
    /// How the two stand to each other, in words.
    pub agreement: &'static str,
}

/// Something the sweep cannot show.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BlindSheet {
    /// The fault's title.
    pub title: String,
    /// Why not.
    pub why: String,
    /// The smallest it would have shown; `None` for not at any size.
    pub smallest: Option<String>,
    /// What to measure to see it.
    pub measure: String,
}

/// How small a fault would have been seen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct LimitSheet {
    /// The fault's title.
    pub title: String,
    /// What is measured of it.
    pub quantity: String,
    /// The size, with its unit.
    pub size: String,
}

impl Sheet {
    /// The sheet of a report.
    pub fn new(tube: &Tube, report: &TubeReport, known: &[Explanation]) -> Self {
        let findings: Vec<FindingSheet> = report.findings.iter().map(|f| finding(tube, f, known)).collect();
        Self {
            tube: report.tube.clone(),
            source: report.source.clone(),
            kind: report.kind.clone(),
            verdict: report.verdict,
            reasons: report.reasons.clone(),
            brief: findings.first().filter(|f| f.likely).map(|f| match &f.section {
                Some(section) => format!("{}, section {section}", f.title),
                None => f.title.clone(),
            }),
            findings,
            figures: figures(report),
            second: second(report, known),
            blind: report.blind.iter().map(|b| blind(b, known)).collect(),
            limits: report.limits.iter().map(|l| limit(l, known)).collect(),
            notes: report.notes.clone(),
            points: tube.point_count(),
            grid_current: tube.sections.iter().any(|s| s.points.ig.is_some()),
        }
    }
}

fn title(fault: &str, known: &[Explanation]) -> String {
    known.iter().find(|e| e.name == fault).map_or_else(|| words::plain(fault), |e| e.title.clone())
}

fn finding(tube: &Tube, f: &Finding, known: &[Explanation]) -> FindingSheet {
    let explanation = known.iter().find(|e| e.name == f.fault);
    let alternative = |a: &report::Alternative| AlternativeSheet {
        title: title(&a.fault, known),
        sure: likelihood(a.confidence),
        percent: words::tied(&percent(a.confidence)),
    };
    FindingSheet {
        title: title(&f.fault, known),
        bench: explanation.is_some_and(|e| e.bench),
        section: f.section.clone(),
        section_index: f.section.as_ref().and_then(|name| tube.sections.iter().position(|s| s.name == *name)),
        sure: likelihood(f.confidence),
        percent: words::tied(&percent(f.confidence)),
        likely: f.confidence > 0.5,
        value: f.value.as_ref().map(|v| ValueSheet {
            quantity: v.quantity.clone(),
            value: words::number(v.estimate, &v.unit),
            interval: words::interval(v),
        }),
        evidence: f.evidence.clone(),
        confirm: f.confirm.clone(),
        alternatives: f.alternatives.iter().map(alternative).collect(),
        parts: explanation.map_or_else(Vec::new, |e| e.parts.clone()),
        marked: f.marks.iter().map(|m| m.points.len()).sum(),
        axis: fitting_axis(tube, &f.marks),
        marks: f.marks.clone(),
    }
}

fn figures(report: &TubeReport) -> Option<FiguresSheet> {
    type Pick = fn(&report::Figures) -> Option<&report::Figure>;
    const ROWS: [(&str, &str, Pick); 4] = [
        ("gm", "transconductance", |f| f.gm.as_ref()),
        ("mu", "amplification factor", |f| f.mu.as_ref()),
        ("rp", "plate resistance", |f| f.rp.as_ref()),
        ("Ia", "plate current", |f| f.ia.as_ref()),
    ];
    let heads: Vec<FiguresHead> = report
        .sections
        .iter()
        .map(|s| {
            let at = ROWS.iter().find_map(|(_, _, pick)| pick(&s.figures)).map(|f| words::at(&f.at));
            FiguresHead { section: s.section.clone(), at }
        })
        .collect();
    heads.iter().any(|h| h.at.is_some()).then(|| {
        let row = |(symbol, name, pick): &(&'static str, &'static str, Pick)| {
            let cell = |(section, head): (&report::SectionReport, &FiguresHead)| {
                pick(&section.figures).map(|f| FiguresCell {
                    value: words::number(f.estimate, &f.unit),
                    interval: words::figure_interval(f),
                    at: Some(words::at(&f.at)).filter(|at| head.at.as_ref() != Some(at)),
                })
            };
            FiguresRow { symbol, name, cells: report.sections.iter().zip(&heads).map(cell).collect() }
        };
        let rows = ROWS.iter().map(row).collect();
        FiguresSheet { sections: heads.clone(), rows }
    })
}

fn second(report: &TubeReport, known: &[Explanation]) -> Vec<SecondSheet> {
    let row = |s: &report::SectionReport| {
        let (kin, agreement) = (s.kin.as_ref()?, s.agreement?);
        let here = |f: &&Finding| f.confidence >= 0.5 && f.section.as_ref().is_none_or(|name| *name == s.section);
        let said: Vec<String> = report.findings.iter().filter(here).map(|f| title(&f.fault, known)).collect();
        Some(SecondSheet {
            section: s.section.clone(),
            rules: if said.is_empty() { "nothing".into() } else { said.join(", ") },
            like: words::like(&kin.nearest, known),
            percent: (agreement != Agreement::Unknown).then(|| words::tied(&percent(kin.weight))),
            agreement: words::agreement(agreement),
        })
    };
    report.sections.iter().filter_map(row).collect()
}

fn blind(b: &Blind, known: &[Explanation]) -> BlindSheet {
    BlindSheet {
        title: title(&b.fault, known),
        why: b.why.clone(),
        smallest: b.smallest.as_ref().map(|v| format!("{} {}", v.quantity, words::number(v.estimate, &v.unit))),
        measure: b.measure.clone(),
    }
}

fn limit(l: &Limit, known: &[Explanation]) -> LimitSheet {
    LimitSheet {
        title: title(&l.fault, known),
        quantity: l.smallest.quantity.clone(),
        size: words::number(l.smallest.estimate, &l.smallest.unit),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use sweepbook_core::intake;
    use sweepbook_core::report::{Alternative, At, Figure, Figures, SectionReport, Value};

    const TABLE: &str = "section,Va [V],Vg [V],Ia [mA]\n1,100,-9,0.1\n1,100,-1,10\n2,100,-9,0\n2,100,-1,10\n";

    fn tube() -> Tube {
        intake::read("x.csv", TABLE.as_bytes()).unwrap().remove(0)
    }

    fn leaky() -> TubeReport {
        let figure = |estimate: f64, va| Figure {
            estimate,
            low: 0.9 * estimate,
            high: 1.1 * estimate,
            unit: "S".into(),
            at: At { va, vg: -8.0 },
        };
        TubeReport {
            verdict: Verdict::Reject,
            reasons: vec!["It leaks.".into()],
            findings: vec![Finding {
                fault: "plate-cathode-leakage".into(),
                section: Some("2".into()),
                confidence: 0.97,
                value: Some(Value {
                    quantity: "leakage resistance".into(),
                    unit: "ohm".into(),
                    estimate: 661e3,
                    low: Some(640e3),
                    high: Some(684e3),
                }),
                evidence: "A floor.".into(),
                confirm: "Measure cold.".into(),
                alternatives: vec![Alternative { fault: "zero-offset".into(), confidence: 0.02 }],
                marks: vec![Mark { section: 1, points: vec![0] }],
            }],
            sections: vec![
                SectionReport {
                    section: "1".into(),
                    figures: Figures {
                        gm: Some(figure(2.6e-3, 250.0)),
                        rp: Some(figure(7700.0, 200.0)),
                        ..Figures::default()
                    },
                    kin: None,
                    agreement: None,
                },
                SectionReport { section: "2".into(), figures: Figures::default(), kin: None, agreement: None },
            ],
            blind: vec![Blind {
                fault: "gas".into(),
                why: "no grid current".into(),
                smallest: None,
                measure: "Ig".into(),
            }],
            ..sweepbook_core::triage(&tube())
        }
    }

    #[test]
    fn a_finding_becomes_words_and_numbers() {
        let sheet = Sheet::new(&tube(), &leaky(), &[]);
        let f = &sheet.findings[0];
        assert_eq!(
            (f.title.as_str(), f.sure, f.percent.as_str()),
            ("Plate cathode leakage", "very likely", "97\u{a0}%")
        );
        assert_eq!(f.section_index, Some(1));
        let value = f.value.as_ref().unwrap();
        assert_eq!(
            (value.value.as_str(), value.interval.as_deref()),
            ("661\u{a0}kΩ", Some("640\u{a0}kΩ to 684\u{a0}kΩ"))
        );
        assert_eq!(sheet.brief.as_deref(), Some("Plate cathode leakage, section 2"));
        assert_eq!(f.axis, CurrentAxis::Decades);
        assert_eq!(f.alternatives[0].title, "Zero offset");
    }

    #[test]
    fn figures_have_a_column_for_every_section() {
        let figures = Sheet::new(&tube(), &leaky(), &[]).figures.unwrap();
        assert_eq!(figures.sections[0].at.as_deref(), Some("Va\u{a0}250\u{a0}V, Vg\u{a0}−8\u{a0}V"));
        assert_eq!(figures.sections[1].at, None);
        let gm = &figures.rows[0];
        assert_eq!(gm.cells[0].as_ref().unwrap().value, "2.60\u{a0}mS");
        assert_eq!(gm.cells[1], None);
        assert_eq!(
            figures.rows[2].cells[0].as_ref().unwrap().at.as_deref(),
            Some("Va\u{a0}200\u{a0}V, Vg\u{a0}−8\u{a0}V")
        );
    }
}
