//! The same as a table: a row a finding, SI units.

use super::Entry;

/// Column headings, with the units of the JSON report.
const COLUMNS: [&str; 12] = [
    "tube",
    "type",
    "verdict",
    "fault",
    "section",
    "confidence",
    "quantity",
    "unit",
    "estimate",
    "low",
    "high",
    "source",
];

/// A row for each finding, and one for each tube without any. Numbers have a decimal point
/// and no unit of their own.
pub fn csv(entries: &[Entry]) -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut rows: Vec<[String; 12]> = vec![COLUMNS.map(str::to_owned)];
    for Entry { tube, report } in entries {
        let verdict = report.verdict.name();
        let row = |rest: [String; 8]| {
            let [fault, section, confidence, quantity, unit, estimate, low, high] = rest;
            let kind = tube.kind.clone().unwrap_or_default();
            let source = report.source.join(" ");
            [
                plain(&tube.name),
                plain(&kind),
                verdict.to_owned(),
                fault,
                plain(&section),
                confidence,
                quantity,
                unit,
                estimate,
                low,
                high,
                plain(&source),
            ]
        };
        if report.findings.is_empty() {
            rows.push(row(Default::default()));
        }
        for f in &report.findings {
            let number = |v: Option<f64>| v.filter(|v| v.is_finite()).map(|v| v.to_string()).unwrap_or_default();
            let v = f.value.as_ref();
            rows.push(row([
                f.fault.clone(),
                f.section.clone().unwrap_or_default(),
                f.confidence.to_string(),
                v.map(|v| v.quantity.clone()).unwrap_or_default(),
                v.map(|v| v.unit.clone()).unwrap_or_default(),
                number(v.map(|v| v.estimate)),
                number(v.and_then(|v| v.low)),
                number(v.and_then(|v| v.high)),
            ]));
        }
    }
    // Writing to memory cannot fail.
    rows.iter().for_each(|row| drop(writer.write_record(row)));
    writer.into_inner().ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// A name that no spreadsheet takes for a formula (OWASP, "CSV Injection": a cell that begins
/// with one of these marks is one).
fn plain(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::intake;

    #[test]
    fn a_tube_without_findings_has_a_row_and_names_are_no_formulas() {
        let tube = intake::read("=x.csv", b"Va [V],Vg [V],Ia [mA]\n100,-1,1\n200,-1,2\n300,-1,3\n").unwrap().remove(0);
        let mut report = crate::triage(&tube);
        report.findings.clear();
        let text = csv(&[Entry { tube: &tube, report: &report }]);
        let lines: Vec<&str> = text.lines().collect();
        assert_eq!(lines.len(), 2);
        assert!(lines[0].starts_with("tube,type,verdict") && lines[1].starts_with("'=x,,"), "{text}");
    }
}
