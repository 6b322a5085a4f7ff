//! The figures of the cross-check taken apart.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use sweepbook_core::report::Verdict;

use super::{level_is, of, said, surest};
use crate::corpus::kinds::KINDS;
use crate::study::calibration;
use crate::study::interval::Share;
use crate::study::population::{Case, LAWS, Population};
use crate::study::score::{self, counted};
use crate::study::separability::Why;
use crate::study::tables::Table;
use crate::study::truth;

/// What was said of sound tubes.
pub(super) fn alarms(p: &Population) -> String {
    let mut found: BTreeMap<&str, usize> = BTreeMap::new();
    for case in p.healthy() {
        for f in counted(&case.report) {
            *found.entry(&f.fault).or_default() += 1;
        }
    }
    let mut out = "## Sound tubes\n\n".to_owned();
    let mut table = Table::new(["verdict", "tubes"]);
    for (verdict, name) in [
        (Verdict::Accept, "accept"),
        (Verdict::Restrict, "restrict"),
        (Verdict::Retest, "retest"),
        (Verdict::Reject, "reject"),
    ] {
        table.row([name, &of(p.healthy(), |c| c.report.verdict == verdict).with_interval()]);
    }
    out += &table.text();
    if found.is_empty() {
        out += "No finding of even odds on any of them.\n\n";
    } else {
        let said: Vec<String> = found.iter().map(|(fault, n)| format!("{fault} {n}")).collect();
        let _ = write!(out, "Findings of at least even odds on them: {}.\n\n", said.join(", "));
    }
    out
}

/// Named by kind and level.
pub(super) fn levels(p: &Population) -> String {
    let named = |kind: &str, level: &str| {
        let here = || p.faulty().filter(|c| c.told.kind == kind && level_is(c, &[level]));
        let all = of(here(), |c| c.outcome.named);
        let told = of(here().filter(|c| c.is_decidable()), |c| c.outcome.named);
        if all == told { all.plain() } else { format!("{} ({})", all.plain(), told.plain()) }
    };
    let mut table = Table::new(["fault", "strong", "medium", "weak", "ranked first", "caught"]);
    for kind in KINDS {
        let here = || p.faulty().filter(|c| c.told.kind == kind);
        table.row([
            kind,
            &named(kind, "strong"),
            &named(kind, "medium"),
            &named(kind, "weak"),
            &of(here(), |c| c.outcome.first).plain(),
            &of(here(), |c| c.outcome.caught).plain(),
        ]);
    }
    format!(
        "## Named, by fault and level

Over all tubes and, in brackets where it differs, over decidable ones. Caught: not simply accepted.

{}",
        table.text()
    )
}

/// Truth against the surest finding.
pub(super) fn confusion(p: &Population) -> String {
    let mut rows: Vec<&str> = vec!["healthy"];
    rows.extend(KINDS);
    // Every fault that can be found has a column if it is a surest finding anywhere.
    let mut columns: Vec<&str> = KINDS.to_vec();
    for case in &p.cases {
        if let Some(fault) = surest(case)
            && !columns.contains(&fault)
        {
            columns.push(fault);
        }
    }
    columns.retain(|c| p.cases.iter().any(|case| surest(case) == Some(c)));
    let mut headings = vec!["built in".to_owned(), "n".into(), "none".into()];
    headings.extend(columns.iter().map(|c| short(c)));
    let mut table = Table::new(headings);
    for truth in rows {
        let here = || p.cases.iter().filter(|c| c.told.kind == truth);
        let count = |found: Option<&str>| {
            let n = here().filter(|c| surest(c) == found).count();
            if n == 0 { "·".to_owned() } else { n.to_string() }
        };
        let mut cells = vec![truth.to_owned(), here().count().to_string(), count(None)];
        cells.extend(columns.iter().map(|c| count(Some(c))));
        table.row(cells);
    }
    let key: Vec<String> = columns.iter().map(|c| format!("{} {c}", short(c))).collect();
    format!(
        "## Confusion

Rows: what was built in. Columns: the surest finding, if it has even odds or more.

{}Columns: {}.

",
        table.text(),
        key.join(", ")
    )
}

/// `plate-grid-leakage` → `pgl`.
fn short(fault: &str) -> String {
    match fault {
        "grid-cathode-leakage" => "gkl".into(),
        "plate-cathode-leakage" => "pkl".into(),
        "heater-cathode-leakage" => "hkl".into(),
        "coarse-resolution" => "crs".into(),
        "gas" | "intermittent" | "oscillation" => fault.chars().take(3).collect(),
        _ => {
            let initials: String = fault.split('-').filter_map(|w| w.chars().next()).collect();
            if initials.chars().count() > 1 { initials } else { fault.to_owned() }
        }
    }
}

/// What was found beside what was built in.
pub(super) fn beside(p: &Population) -> String {
    let mut pairs: BTreeMap<(&str, &str), (usize, usize)> = BTreeMap::new();
    for case in p.faulty() {
        for f in counted(&case.report).filter(|f| f.fault != case.told.kind) {
            let entry = pairs.entry((&case.told.kind, &f.fault)).or_default();
            entry.0 += 1;
            entry.1 += usize::from(truth::is_true(&case.item, &case.told, f));
        }
    }
    let mut sorted: Vec<_> = pairs.into_iter().collect();
    sorted.sort_by_key(|(names, (n, _))| (std::cmp::Reverse(*n), *names));
    let mut table = Table::new(["built in", "also found", "findings", "of them true of the tube or bench"]);
    for ((truth, found), (n, right)) in sorted {
        table.row([truth, found, &n.to_string(), &right.to_string()]);
    }
    format!(
        "## Found beside it

Findings of even odds or more of another kind than was built in.

{}",
        table.text()
    )
}

/// What physics does not let be told.
pub(super) fn undecidable(p: &Population) -> String {
    let mut table = Table::new(["rule (reference notes)", "tubes", "named all the same", "of which faults"]);
    for why in Why::ALL {
        let here: Vec<&Case> = p.faulty().filter(|c| c.undecidable == Some(why)).collect();
        let mut kinds: BTreeMap<&str, usize> = BTreeMap::new();
        for case in &here {
            *kinds.entry(&case.told.kind).or_default() += 1;
        }
        let kinds: Vec<String> = kinds.iter().map(|(k, n)| format!("{k} {n}")).collect();
        let named = Share::count(&here, |c| c.outcome.named);
        table.row([why.rule(), &here.len().to_string(), &named.plain(), &kinds.join(", ")]);
    }
    let all = of(p.faulty(), |c| !c.is_decidable());
    format!(
        "## Not decidable

{} of the faulty tubes, by these rules, asked in this order. They look at the circuit, the bench
and the size that was built in, not at the report (`tests/src/study/separability.rs`). The generator
passes over benches that show nothing at all, so rules of that kind stay empty.

{}",
        all.with_interval(),
        table.text()
    )
}

/// One line for some part of the tubes.
fn line(table: &mut Table, name: &str, p: &Population, test: &dyn Fn(&Case) -> bool) {
    let told = |levels: &[&str]| {
        of(p.faulty().filter(|c| test(c) && c.is_decidable() && level_is(c, levels)), |c| c.outcome.named).plain()
    };
    let here = said(p.cases.iter().filter(|c| test(c)));
    table.row([
        name,
        &of(p.healthy().filter(|c| test(c)), |c| score::is_false_alarm(&c.report)).with_interval(),
        &told(&["strong"]),
        &told(&["medium"]),
        &told(&["weak"]),
        &of(p.faulty().filter(|c| test(c)), |c| c.outcome.named).with_interval(),
        &format!("{:.3}", calibration::error(&here)),
    ]);
}

fn parts(title: &str) -> Table {
    Table::new([
        title,
        "false alarms",
        "strong, decidable",
        "medium, decidable",
        "weak, decidable",
        "named, all",
        "calibration error",
    ])
}

/// By law and by bench.
pub(super) fn by_law_and_bench(p: &Population) -> String {
    let mut laws = parts("law");
    for law in LAWS {
        line(&mut laws, law.name(), p, &|c| c.item.truth.model == law.name());
    }
    let mut benches = parts("bench");
    let rs = |c: &Case| c.item.truth.rs;
    let ig = |c: &Case| c.item.truth.grid_current;
    line(&mut benches, "no grid current, Rs = 0", p, &|c| !ig(c) && rs(c) == 0.0);
    line(&mut benches, "no grid current, 1 kΩ", p, &|c| !ig(c) && rs(c) == 1e3);
    line(&mut benches, "no grid current, 10 to 100 kΩ", p, &|c| !ig(c) && rs(c) > 1e3);
    line(&mut benches, "grid current, Rs = 0", p, &|c| ig(c) && rs(c) == 0.0);
    line(&mut benches, "grid current, 1 kΩ", p, &|c| ig(c) && rs(c) == 1e3);
    line(&mut benches, "grid current, 10 to 100 kΩ", p, &|c| ig(c) && rs(c) > 1e3);
    let plate_family =
        |c: &Case| c.item.bench.plan.iter().any(|f| matches!(f, sweepbook_core::lesson::Family::Plate { .. }));
    line(&mut benches, "transfer families", p, &|c| !plate_family(c));
    line(&mut benches, "plate families", p, &plate_family);
    let cathode = |c: &Case| c.item.bench.meter == sweepbook_core::sweep::MeterPlace::CathodeLead;
    line(&mut benches, "meter in the plate lead", p, &|c| !cathode(c));
    line(&mut benches, "meter in the cathode lead", p, &cathode);
    line(&mut benches, "one section", p, &|c| c.item.tube.sections.len() < 2);
    line(&mut benches, "two sections", p, &|c| c.item.tube.sections.len() > 1);
    format!("## By law\n\n{}## By bench\n\n{}", laws.text(), benches.text())
}
