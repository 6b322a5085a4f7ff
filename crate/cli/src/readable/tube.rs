//! One tube: its verdict and why, what was found, its figures, and what the
//! sweep cannot show.

use sweepbook_core::report::{Blind, Finding, Limit, TubeReport, likelihood, percent};

use super::figures;
use super::sheet::{Cell, Sheet, tied};
use super::words::{self, Titles, sentence};

/// Width of the labels of a finding, characters.
const LABEL: usize = 10;
/// Most remarks shown; a file can hold thousands.
const MOST_NOTES: usize = 8;

pub(super) fn tube(sheet: &mut Sheet, tube: &TubeReport, titles: &Titles) {
    sheet.rule();
    let name = match &tube.kind {
        Some(kind) => format!("{}, {kind}", tube.tube),
        None => format!("{}, type not stated", tube.tube),
    };
    sheet.ends(&name, &words::verdict_cell(tube.verdict, true));
    sheet.paragraph(0, &tube.source.join(", "));
    sheet.blank();

    sheet.heading("Why");
    if tube.reasons.is_empty() {
        sheet.paragraph(2, "No reason was given.");
    }
    for reason in &tube.reasons {
        sheet.paragraph(2, &sentence(reason));
    }
    sheet.blank();

    sheet.heading("Found");
    if tube.findings.is_empty() {
        sheet.paragraph(2, "No fault that this sweep can show.");
    }
    for (i, finding) in tube.findings.iter().enumerate() {
        self::finding(sheet, i + 1, finding, titles);
    }
    sheet.blank();

    figures::figures(sheet, &tube.sections);
    limits(sheet, &tube.limits, titles);
    blind(sheet, &tube.blind, titles);
    notes(sheet, &tube.notes);
}

fn finding(sheet: &mut Sheet, number: usize, finding: &Finding, titles: &Titles) {
    let title = titles.title(&finding.fault);
    let place = titles.place(&finding.fault, finding.section.as_deref());
    sheet.subheading(2, 3, &format!("{number}. {title}, {}", tied(&place)));
    let mut entry = |label: &str, text: &str| {
        if !text.is_empty() {
            sheet.entry(5, &Cell::plain(label), LABEL, text);
        }
    };
    let sure = format!("{} ({})", likelihood(finding.confidence), tied(&percent(finding.confidence)));
    entry("How sure", &sure);
    entry("Size", &finding.value.as_ref().map(words::value).unwrap_or_default());
    entry("Evidence", &sentence(&finding.evidence));
    let others: Vec<String> = finding
        .alternatives
        .iter()
        .map(|a| format!("{} ({})", titles.title(&a.fault), tied(&percent(a.confidence))))
        .collect();
    entry("Or else", &others.join("; "));
    entry("Measure", &sentence(&finding.confirm));
}

/// How small each fault would have been seen.
fn limits(sheet: &mut Sheet, limits: &[Limit], titles: &Titles) {
    if limits.is_empty() {
        return;
    }
    sheet.heading("How small a fault would have shown");
    for one in limits {
        let text = format!("{}: {}", titles.title(&one.fault), words::size(&one.smallest));
        sheet.entry(2, &Cell::plain("-"), 2, &text);
    }
    sheet.blank();
}

/// What cannot be shown, with what has the same reason and the same way out
/// told together.
fn blind(sheet: &mut Sheet, blind: &[Blind], titles: &Titles) {
    if blind.is_empty() {
        return;
    }
    sheet.heading("What this sweep cannot show");
    let mut told: Vec<(&Blind, Vec<String>)> = Vec::new();
    for one in blind {
        let same = |b: &&Blind| b.why == one.why && b.measure == one.measure && b.smallest.is_none();
        let title = titles.title(&one.fault);
        match told.iter_mut().find(|(b, _)| one.smallest.is_none() && same(b)) {
            Some((_, faults)) => faults.push(title),
            None => told.push((one, vec![title])),
        }
    }
    for (one, faults) in told {
        let mut text = format!("{}: {}", faults.join("; "), sentence(&one.why));
        if let Some(smallest) = &one.smallest {
            text.push_str(&format!(" Smallest that would have shown: {}.", words::size(smallest)));
        }
        if !one.measure.is_empty() {
            text.push_str(&format!(" To see it: {}", sentence(&one.measure)));
        }
        sheet.entry(2, &Cell::plain("-"), 2, &text);
    }
    sheet.blank();
}

fn notes(sheet: &mut Sheet, notes: &[String]) {
    if notes.is_empty() {
        return;
    }
    sheet.heading("Remarks");
    for note in notes.iter().take(MOST_NOTES) {
        sheet.entry(2, &Cell::plain("-"), 2, note);
    }
    if let Some(more) = notes.len().checked_sub(MOST_NOTES).filter(|n| *n > 0) {
        sheet.paragraph(4, &format!("and {more} more in the file"));
    }
    sheet.blank();
}
