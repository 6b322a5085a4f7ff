use sweepbook_core::lesson::{self, LawChoice, VirtualBench};
fn main() {
    let types = ["12AX7", "12AU7", "6SN7GTB", "6DJ8", "12AT7", "6SL7GT", "12AY7", "6CG7", "300B", "12BH7A"];
    let edges = [1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.003, 0.001, 0.0003];
    for law in LawChoice::ALL {
        let mut bins = vec![(0.0f64, 0.0f64); edges.len()];
        let mut rho = vec![];
        for name in types {
            let Some(kind) = sweepbook_core::handbook::find(name) else { continue };
            for seed in 0..6u64 {
                let Some(tube) = lesson::specimen(kind, law, seed) else { continue };
                let Some(bench) = VirtualBench::usual(kind) else { continue };
                let sweep = lesson::measure(&tube, &bench, seed);
                let e = sweepbook_core::evidence::gather(&sweep, None);
                let Some(l) = &e.laws else { continue };
                for (s, o) in l.observed.iter().enumerate() {
                    let top = o.ia.iter().copied().fold(0.0, f64::max);
                    let (mut a, mut b) = (0.0f64, 0.0f64);
                    for i in 0..o.len() {
                        let r = l.fit.residuals[s][i];
                        if i > 0 {
                            a += r * l.fit.residuals[s][i - 1];
                            b += r * r;
                        }
                        let share = o.ia[i] / top;
                        if share < 1e-5 {
                            continue;
                        }
                        let noise = e.sections[s].noise.sd(o.ia[i]) / o.ia[i];
                        let rel = r * o.sigma[i] / o.ia[i];
                        if let Some(k) = edges.iter().position(|x| share > x * 0.999999 && share <= 1.0) {
                            if k > 0 || share >= 0.5 {}
                            bins[k].0 += rel * rel - noise * noise;
                            bins[k].1 += 1.0;
                        }
                    }
                    rho.push(a / b);
                }
            }
        }
        rho.sort_by(f64::total_cmp);
        print!("{law:?} rho {:.2}:", rho[rho.len() / 2]);
        for (k, b) in bins.iter().enumerate() {
            print!(" >{}: {:.4}", edges[k], (b.0 / b.1.max(1.0)).max(0.0).sqrt());
        }
        println!();
    }
}
