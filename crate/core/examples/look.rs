//! Prints the evidence of files, for those who write rules.
use sweepbook_core::evidence::{Path, gather};
use sweepbook_core::law::Par;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for file in std::env::args().skip(1) {
        let bytes = std::fs::read(&file)?;
        for tube in sweepbook_core::intake::read(&file, &bytes)? {
            let t = std::time::Instant::now();
            let e = gather(&tube, tube.kind.as_deref().and_then(sweepbook_core::handbook::find), &[]);
            let dt = t.elapsed();
            println!("== {} {:?} rs {} {:.1?}", tube.name, tube.kind, e.rs, dt);
            for (i, s) in e.sections.iter().enumerate() {
                println!(
                    " [{}] {:?} noise {:.2e} {:.2e} step {:.1e} top {:.3e} control {:.2} exp {:?} cut {}/{} plateau {:?}",
                    s.name,
                    s.state,
                    s.noise.floor,
                    s.noise.relative,
                    s.noise.step,
                    s.gross.top,
                    s.gross.control,
                    s.gross.plate_exponent.map(|v| (v * 100.0).round() / 100.0),
                    s.reach.cut_off,
                    s.reach.curves,
                    s.plateau.as_ref().map(|p| (p.level, p.curves, p.points.len()))
                );
                if let Some(p) = e.params(i) {
                    let l = p.law();
                    println!(
                        "     mu {:.2} P {:.3e} phi {:.3} x {:.3} w0 {:.3} spread {:.3} kvb {:.1} | 1/ceil {:.2} n {:.1} ri {:.1} share {:.3} ratio {:.2} | i0 {:.2e} gak {:.2e} gga {:.2e}",
                        l.mu,
                        libm::exp(l.ln_p),
                        l.phi,
                        l.x,
                        l.w0,
                        l.w1 * l.mu,
                        l.kvb,
                        p.get(Par::Ceiling),
                        libm::exp(p.get(Par::LnSharp)),
                        p.get(Par::Ri),
                        p.get(Par::Share),
                        libm::exp(p.get(Par::LnRatio)),
                        p.get(Par::I0),
                        p.get(Par::Gak),
                        p.get(Par::Gga)
                    );
                }
                print!("     leaks rows {}/{} :", s.leaks.plate_rows.len(), s.leaks.grid_rows.len());
                for path in [
                    Path::PlateOffset,
                    Path::PlateCathode,
                    Path::PlateGrid,
                    Path::CoarseTail,
                    Path::GridCathode,
                    Path::Ions,
                    Path::GridOffset,
                ] {
                    let p = s.leaks.probability(path);
                    if p > 0.02 {
                        print!(
                            " {path:?} p={p:.3} {:.3e}±{:.1e}",
                            s.leaks.estimate(path).map_or(0.0, |e| e.value),
                            s.leaks.estimate(path).map_or(0.0, |e| e.sd)
                        );
                    }
                }
                println!(
                    "  | topexp {:?} tail {:?} order {:?}",
                    s.top_exponent.map(|e| e.value),
                    s.tail_index.map(|e| e.value),
                    s.order_effect.map(|e| (e.value, e.sd))
                );
            }
            if let Some(l) = &e.laws {
                println!(
                    "   wild {:?} chi2/rows {:.2} misfit {:.4} found {:?}",
                    l.wild,
                    l.fit.chi2 / l.fit.rows as f64,
                    l.misfit,
                    l.found
                );
            }
            for f in sweepbook_core::triage(&tube).findings {
                println!("   >> {} {:?} {:.3} {:?}", f.fault, f.section, f.confidence, f.alternatives);
            }
            if let Some(c) = &e.contrast {
                println!("   contrast {:.4} ± {:.4}", c.ratio.value, c.ratio.sd);
            }
        }
    }
    Ok(())
}
