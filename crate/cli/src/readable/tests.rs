//! What a report looks like, on invented tubes.

use anstream::adapter::strip_str;
use sweepbook_core::faults::{Explanation, Part};
use sweepbook_core::intake::{Unread, steers};
use sweepbook_core::report::{
    Alternative, At, Blind, Figure, Figures, Finding, Kin, Limit, Report, SectionReport, TubeReport, Value, Verdict,
};

use super::words::Titles;
use super::{Detail, explanation, list, report_with};

fn report(report: &Report, detail: Detail, width: usize) -> String {
    let titles = [
        called("plate-cathode-leakage", "Plate–cathode leakage", false),
        called("plate-grid-leakage", "Plate–grid leakage", false),
        called("gas", "Gas", false),
        called("grid-emission", "Grid emission", false),
        called("zero-offset", "Zero offset", true),
    ];
    report_with(&Titles::of(titles.into()), report, detail, width)
}

fn figure(estimate: f64, unit: &str) -> Option<Figure> {
    let at = At { va: 250.0, vg: -8.0 };
    Some(Figure { estimate, low: 0.96 * estimate, high: 1.04 * estimate, unit: unit.into(), at })
}

fn section(name: &str, scale: f64) -> SectionReport {
    SectionReport {
        section: name.into(),
        figures: Figures {
            gm: figure(2.6e-3 * scale, "S"),
            mu: figure(20.3, "1"),
            rp: figure(7_800.0 / scale, "ohm"),
            ia: figure(9e-3 * scale, "A"),
        },
        kin: None,
        agreement: None,
    }
}

fn blind(fault: &str, why: &str, smallest: Option<Value>, measure: &str) -> Blind {
    Blind { fault: fault.into(), why: why.into(), smallest, measure: measure.into() }
}

fn ohms(estimate: f64, low: Option<f64>, high: Option<f64>) -> Value {
    Value { quantity: "leakage resistance".into(), unit: "ohm".into(), estimate, low, high }
}

/// A double triode with a leak.
fn leaky() -> TubeReport {
    let finding = Finding {
        fault: "plate-cathode-leakage".into(),
        section: Some("1".into()),
        confidence: 0.97,
        value: Some(ohms(1.02e6, Some(0.98e6), Some(1.05e6))),
        evidence:
            "Past cutoff the plate current of section 1 stays at 246 µA at 250 V, does not change with the grid, \
                   and rises in proportion to the plate voltage"
                .into(),
        confirm: "Measure once more with the heater cold; a leak is still there.".into(),
        alternatives: vec![
            Alternative { fault: "plate-grid-leakage".into(), confidence: 0.02 },
            Alternative { fault: "zero-offset".into(), confidence: 0.004 },
        ],
        marks: Vec::new(),
    };
    let mut second = section("2", 1.02);
    second.figures.mu = None;
    TubeReport {
        tube: "B-17".into(),
        source: vec!["lot/b-17.csv".into()],
        kind: Some("6SN7GTB".into()),
        verdict: Verdict::Reject,
        reasons: vec!["Section 1 leaks from plate to cathode".into()],
        findings: vec![finding],
        sections: vec![section("1", 1.0), second],
        blind: vec![
            blind("gas", "no grid current column", None, "measure the grid current in every row"),
            blind("grid-emission", "no grid current column", None, "measure the grid current in every row"),
            blind(
                "plate-grid-leakage",
                "the meter steps by 1 µA",
                Some(ohms(120e6, None, None)),
                "take three more points past cutoff",
            ),
        ],
        limits: vec![Limit { fault: "plate-cathode-leakage".into(), smallest: ohms(215e6, None, None) }],
        notes: vec!["bought as used".into()],
    }
}

fn healthy() -> TubeReport {
    let mut one = section("1", 1.0);
    one.kin = Some(Kin { nearest: "healthy".into(), weight: 0.93 });
    TubeReport {
        tube: "a name that goes on for longer than its column".into(),
        source: vec!["lot/c.csv".into()],
        kind: None,
        verdict: Verdict::Accept,
        reasons: vec!["Nothing is wrong that this sweep can show.".into()],
        findings: Vec::new(),
        sections: vec![one],
        blind: Vec::new(),
        limits: Vec::new(),
        notes: Vec::new(),
    }
}

fn lot() -> Report {
    let unread = Unread::unopened("lot/d.csv", "there is no such file");
    Report::new(vec![leaky(), healthy()], vec![unread])
}

#[test]
fn a_lot_at_80_columns() {
    insta::assert_snapshot!(strip_str(&report(&lot(), Detail::Full, 80)).to_string());
}

#[test]
fn a_tube_at_40_columns() {
    let report = report(&Report::new(vec![leaky()], Vec::new()), Detail::Full, 40);
    insta::assert_snapshot!(strip_str(&report).to_string());
}

#[test]
fn a_lot_in_brief() {
    insta::assert_snapshot!(strip_str(&report(&lot(), Detail::Brief, 80)).to_string());
}

#[test]
fn no_line_is_wider_than_asked_for() {
    for width in 40..=100 {
        let text = strip_str(&report(&lot(), Detail::Full, width)).to_string();
        for line in text.lines() {
            assert!(textwrap::core::display_width(line) <= width, "{width}: {line}");
        }
    }
}

#[test]
fn the_caution_is_there_once_and_only_where_work_is_suggested() {
    let text = |tubes| report(&Report::new(tubes, Vec::new()), Detail::Full, 80);
    assert_eq!(text(vec![leaky(), leaky()]).matches("Plate supplies kill").count(), 1);
    assert!(!text(vec![healthy()]).contains("Plate supplies kill"));
}

#[test]
fn no_word_of_a_file_steers_the_terminal() {
    let evil = "x\u{1b}]0;title\u{7}\u{9b}31m\u{202e}y".to_owned();
    let mut tube = leaky();
    let (finding, blind) = (&mut tube.findings[0], &mut tube.blind[0]);
    for text in [
        &mut tube.tube,
        &mut tube.source[0],
        &mut tube.reasons[0],
        &mut tube.notes[0],
        &mut tube.sections[0].section,
        &mut blind.fault,
        &mut blind.why,
        &mut blind.measure,
        &mut finding.fault,
        &mut finding.evidence,
        &mut finding.confirm,
        &mut finding.alternatives[0].fault,
    ] {
        text.clone_from(&evil);
    }
    tube.kind = Some(evil.clone());
    finding.section = Some(evil.clone());
    for detail in [Detail::Full, Detail::Brief] {
        let text = report(&Report::new(vec![tube.clone(), tube.clone()], Vec::new()), detail, 80);
        // The program's own colours are of this one form.
        let own =
            text.split('\u{1b}').skip(1).all(|s| s.starts_with('[') && s[1..].split('m').next().is_some_and(digits));
        assert!(own, "{text:?}");
        let rest = text.replace('\u{1b}', "");
        assert!(!rest.chars().any(|c| steers(c) && c != '\n'), "{rest:?}");
        assert!(text.contains("x\u{fffd}]0;"));
    }
}

fn digits(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit() || b == b';')
}

#[test]
fn faults_are_listed_by_name() {
    let all = [called("gas", "Gas", false), called("zero-offset", "Zero offset", true)];
    insta::assert_snapshot!(strip_str(&list(&all, 80)).to_string());
}

#[test]
fn an_explanation_in_words() {
    let part = |heading: &str, paragraphs: &[&str]| Part {
        heading: heading.into(),
        paragraphs: paragraphs.iter().map(|&p| p.to_owned()).collect(),
    };
    let mut of = called("zero-offset", "Zero offset", true);
    of.parts = vec![part("What it is", &["The meter reads a little when nothing flows.", "Both sections have it."])];
    of.parts.push(part("Sources", &["Common practice, no source."]));
    insta::assert_snapshot!(strip_str(&explanation(&of, 80)).to_string());
}

fn called(name: &str, title: &str, bench: bool) -> Explanation {
    Explanation { name: name.into(), title: title.into(), bench, parts: Vec::new() }
}
