//! Times whole diagnoses of files, for those who make them faster: the mean of N (5 unless
//! the variable says otherwise).
fn main() -> Result<(), Box<dyn std::error::Error>> {
    let n: u32 = std::env::var("N").ok().and_then(|n| n.parse().ok()).unwrap_or(5);
    for file in std::env::args().skip(1) {
        let bytes = std::fs::read(&file)?;
        let tubes = sweepbook_core::intake::read(&file, &bytes)?;
        let start = std::time::Instant::now();
        for _ in 0..n {
            for tube in &tubes {
                std::hint::black_box(sweepbook_core::triage(tube));
            }
        }
        println!("{file} {:.2} ms", start.elapsed().as_secs_f64() * 1e3 / f64::from(n));
    }
    Ok(())
}
