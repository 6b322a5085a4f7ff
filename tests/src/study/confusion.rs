//! The page of the cross-check.

mod breakdown;
mod listing;

use std::fmt::Write as _;

use sweepbook_core::report::Verdict;

pub use listing::misses;

use super::calibration::{self, Said};
use super::interval::{Share, percent};
use super::population::{Case, Population};
use super::score::{self, counted};
use super::tables::Table;
use super::truth;

/// The page, in Markdown; the same population gives the same bytes.
pub fn page(p: &Population) -> String {
    let mut out = introduction(p);
    out += &headline(p);
    out += &breakdown::alarms(p);
    out += &breakdown::levels(p);
    out += &breakdown::confusion(p);
    out += &breakdown::beside(p);
    out += &resistance(p);
    out += &reliability(p);
    out += &breakdown::undecidable(p);
    out += &breakdown::by_law_and_bench(p);
    while out.ends_with("\n\n") {
        out.pop();
    }
    out
}

fn introduction(p: &Population) -> String {
    let (faulty, healthy) = (p.faulty().count(), p.healthy().count());
    let passed = match p.passed_over {
        0 => String::new(),
        n => format!(" ({n} more were wished for that no drawn bench could show)"),
    };
    format!(
        "# Cross-check of the diagnosis

Made by `cargo run --release -p sweepbook-tests --bin cross-check`, compared with it by
the option `--check`; do not edit. \"a/b p % (low–high)\" is a count with its 95 % interval
(Clopper and Pearson).

{} simulated tubes{passed}, {healthy} of them sound, {faulty} with one fault each, under four
space-charge laws of which the fitted law holds none as measured (Dempwolf and Zölzer; Rydel;
Child and Langmuir with an exponential tail; strips under an uneven grid). Sixteen types, all
kinds of fault at three levels, transfer and plate families, with and without grid current, grid
driven directly or through 1 to 100 kΩ, meters good and poor. Each is written as a table, read
back and diagnosed the way a user's file is. Seeds {} to {}.

The rules were frozen on other seeds: no threshold, prior or confidence was chosen on these
tubes, the generator does not write them out, and nobody looks at one of them while rules are
changed (the totals on this page were seen each time that it was made). A change is tried on development seeds (`--seed N`, below 900000); this page is only
made again afterwards.

**How confidences come about.** Noise is measured from the readings, the error of the law is
estimated from what a fit leaves. Departures of the curves (a ceiling, a resistance in the
cathode, a second grid, a warm-up) and paths past cutoff and in the grid lead are rival models
of the same readings; each is weighed against its absence and its rivals by the Bayesian
information criterion and prior odds, and the log-odds become a probability. Where a size
decides (a balance limit, a step, a sag) it is the probability that the estimate, with its
standard error, lies beyond the limit. Last, 0.2 is taken from the log-odds, which
were too sure of themselves, and they are stated in whole percent, 98 at most. Priors, limits and
this correction are named constants in `crate/core/src/faults` and `evidence`, set on development
seeds and not on these. \"Calibration\" below is the check of them, not a fit.

",
        p.cases.len(),
        p.seeds.0,
        p.seeds.1,
    )
}

/// A share over some cases.
fn of<'a>(cases: impl Iterator<Item = &'a Case>, test: impl Fn(&Case) -> bool) -> Share {
    Share::count(cases, |c| test(c))
}

fn level_is(case: &Case, levels: &[&str]) -> bool {
    case.told.level.as_deref().is_some_and(|l| levels.contains(&l))
}

fn headline(p: &Population) -> String {
    let alarms = of(p.healthy(), |c| score::is_false_alarm(&c.report));
    let accepted = of(p.healthy(), |c| c.report.verdict == Verdict::Accept);
    let mut table = Table::new(["figure", "all", "decidable", "aim"]);
    table.row(["false alarms on sound tubes", &alarms.with_interval(), "", "≤ 1 %"]);
    table.row(["sound tubes accepted", &accepted.with_interval(), "", ""]);
    let mut both = |name: &str, levels: &[&str], aim: &str, test: &dyn Fn(&Case) -> bool| {
        let all = of(p.faulty().filter(|c| level_is(c, levels)), test);
        let told = of(p.faulty().filter(|c| level_is(c, levels) && c.is_decidable()), test);
        table.row([name, &all.with_interval(), &told.with_interval(), aim]);
    };
    both("strong faults named", &["strong"], "100 %", &|c| c.outcome.named);
    both("medium faults named", &["medium"], "≥ 98 %", &|c| c.outcome.named);
    both("weak faults named", &["weak"], "≥ 75 %", &|c| c.outcome.named);
    both("strong and medium ranked first", &["strong", "medium"], "≥ 95 %", &|c| c.outcome.first);
    both("faulty tubes not simply accepted", &["strong", "medium", "weak"], "", &|c| c.outcome.caught);
    let script = |cases: &mut dyn Iterator<Item = &Case>| {
        format!("{:.3}", score::public(cases.map(|c| (&c.told, &c.report))).calibration_error)
    };
    let decidable = &mut p.cases.iter().filter(|c| c.is_decidable());
    table.row(["calibration error, public script", &script(&mut p.cases.iter()), &script(decidable), "≤ 0.05"]);
    let all = calibration::error(&said(p.cases.iter()));
    let told = calibration::error(&said(p.cases.iter().filter(|c| c.is_decidable())));
    table.row(["calibration error, all findings", &format!("{all:.3}"), &format!("{told:.3}"), "≤ 0.05"]);
    format!(
        "## Figures

A fault is named when a finding of at least even odds gives it, or lists it as an alternative,
in the right section. Aims are those of the public corpus. What is decidable is decided by
physics beforehand (see below), not by the outcome.

{}",
        table.text()
    )
}

/// Every finding and whether it is true.
fn said<'a>(cases: impl Iterator<Item = &'a Case>) -> Vec<Said> {
    let of_case =
        |c: &'a Case| c.report.findings.iter().map(move |f| (f.confidence, truth::is_true(&c.item, &c.told, f)));
    cases.flat_map(of_case).collect()
}

fn resistance(p: &Population) -> String {
    let mut table = Table::new(["fault", "n", "median error", "90 % within"]);
    let errors = |kind: Option<&str>| -> Vec<f64> {
        p.faulty().filter(|c| kind.is_none_or(|k| c.told.kind == k)).filter_map(|c| c.outcome.resistance_off).collect()
    };
    let mut kinds: Vec<&str> = p.faulty().filter(|c| c.told.ohm().is_some()).map(|c| c.told.kind.as_str()).collect();
    kinds.sort_unstable();
    kinds.dedup();
    let mut row = |name: &str, mut off: Vec<f64>| {
        let mut at = |share| score::quantile(&mut off, share).map_or("–".into(), |e: f64| percent(e.exp_m1()));
        let (middle, most) = (at(0.5), at(0.9));
        if !off.is_empty() {
            table.row([name, &off.len().to_string(), &middle, &most]);
        }
    };
    for kind in kinds {
        row(kind, errors(Some(kind)));
    }
    row("all", errors(None));
    format!(
        "## Resistances

Found over built in, or built in over found, whichever is larger, less 1; of faults given
themselves, not as an alternative, and with a resistance. A plate supply's and an interface's are
resistances too. Aim for the median: within 5 %.

{}",
        table.text()
    )
}

fn reliability(p: &Population) -> String {
    let all = said(p.cases.iter());
    let mut table = Table::new(["confidence", "findings", "mean confidence", "true"]);
    for bin in calibration::bins(&all) {
        table.row([
            &format!("{:.2}–{:.2}", bin.from, bin.to),
            &bin.right.of.to_string(),
            &format!("{:.3}", bin.mean),
            &bin.right.with_interval(),
        ]);
    }
    let counted_only: Vec<Said> = all.iter().copied().filter(|s| s.0 >= score::COUNTS).collect();
    let mut out = String::new();
    let _ = write!(
        out,
        "## Calibration

All findings on all tubes, whatever their confidence (they are listed from 0.05 on). True is
the fault that was built in, in its section, or one that the simulated tube or bench really has
beside it: a limit that a short trips, sections whose laws differ by more than 10 %, a sweep
that ends above 1 % of its top, the meter's own offset to a factor of two, a step above 1/150 of
the top.

{}Expected calibration error over these bins {:.3}, of findings from 0.5 on {:.3}; Brier score {:.3}.
The public script counts findings from 0.5 on, on faulty tubes, in ten bins, and takes as right only the
kind that was built in, in whatever section: {:.3}.

",
        table.text(),
        calibration::error(&all),
        calibration::error(&counted_only),
        calibration::brier(&all),
        score::public(p.cases.iter().map(|c| (&c.told, &c.report))).calibration_error,
    );
    out
}

/// The surest finding that counts, or that there is none.
fn surest(case: &Case) -> Option<&str> {
    counted(&case.report).next().map(|f| f.fault.as_str())
}
