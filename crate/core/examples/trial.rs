//! Healthy simulated tubes of several laws: what is said of them.
use std::collections::BTreeMap;
use sweepbook_core::lesson::{self, LawChoice, VirtualBench};
use sweepbook_core::report::Verdict;

fn main() {
    let n: u64 = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(20);
    let types = ["12AX7", "12AU7", "6SN7GTB", "6DJ8", "12AT7", "6SL7GT", "12AY7", "6CG7", "300B", "12BH7A"];
    for law in LawChoice::ALL {
        let (mut all, mut accepted) = (0, 0);
        let mut said: BTreeMap<String, usize> = BTreeMap::new();
        let mut misfit = Vec::new();
        for name in types {
            let Some(kind) = sweepbook_core::handbook::find(name) else { continue };
            for seed in 0..n {
                let Some(tube) = lesson::specimen(kind, law, seed) else { continue };
                let Some(mut bench) = VirtualBench::usual(kind) else { continue };
                bench.grid_source_resistance = [0.0, 1e3, 1e4][seed as usize % 3];
                let sweep = lesson::measure(&tube, &bench, seed);
                let report = sweepbook_core::triage(&sweep);
                let e = sweepbook_core::evidence::gather(&sweep, None);
                if let Some(l) = &e.laws {
                    misfit.push(l.fit.chi2 / l.fit.rows as f64);
                }
                all += 1;
                accepted += usize::from(report.verdict == Verdict::Accept);
                for f in report.findings.iter().filter(|f| f.confidence > 0.3) {
                    *said.entry(format!("{} {name}", f.fault)).or_default() += 1;
                }
            }
        }
        misfit.sort_by(f64::total_cmp);
        println!(
            "{law:?}: {accepted}/{all} accepted; chi2/row median {:.2} 90% {:.2}; {said:?}",
            misfit[misfit.len() / 2],
            misfit[misfit.len() * 9 / 10]
        );
    }
}
