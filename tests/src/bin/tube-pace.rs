use std::time::Instant;
use sweepbook_tests::workloads;
fn main() {
    let n: usize = std::env::args().nth(1).and_then(|a| a.parse().ok()).unwrap_or(24);
    let runs: usize = std::env::args().nth(2).and_then(|a| a.parse().ok()).unwrap_or(9);
    let mut all = vec![];
    for k in 0..n {
        let w = workloads::twin_triode(k).unwrap();
        let mut t = vec![];
        let mut found = String::new();
        for _ in 0..runs {
            let s = Instant::now();
            let tubes = sweepbook_core::intake::read("x.csv", w.text.as_bytes()).unwrap();
            let r = sweepbook_core::triage(&tubes[0]);
            t.push(s.elapsed().as_secs_f64());
            found = r.findings.iter().map(|f| format!("{} {:.2};", f.fault, f.confidence)).collect();
        }
        t.sort_by(f64::total_cmp);
        println!("{:34} {:7.2} ms  {found}", w.name, t[runs / 2] * 1e3);
        all.push(t[runs / 2]);
    }
    all.sort_by(f64::total_cmp);
    println!("median {:.2} ms, max {:.2}", all[n / 2] * 1e3, all[n - 1] * 1e3);
}
