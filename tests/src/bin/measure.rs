//! What a diagnosis costs, stage by stage: natively, in Chromium, and beside scipy and pandas, all
//! in one run. Prints the table of DEVELOPERS.md; `--write` puts it there. Needs what
//! `tests/run` installs, and a machine that does nothing else.
//!
//!     cargo run --release -p sweepbook-tests --bin measure

use std::fmt::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use std::time::Instant;

use serde_json::json;
use sweepbook_core::intake;
use sweepbook_tests::in_browser::{self, Planned};
use sweepbook_tests::{ask_python, end, here, workloads};
use sweepbook_timed::{Bench, Task, WORKS, points_read, task};

/// Twin triodes that take turns, half of them sound.
const TUBES: usize = 24;
/// Runs of each stage of each tube; the middle one counts.
const RUNS: usize = 21;
/// Rows of the table that is read beside pandas.
const ROWS: usize = 1_000_000;
/// Runs of that.
const READ_RUNS: usize = 7;
/// Where the table stands in DEVELOPERS.md.
const MARKS: (&str, &str) = ("<!-- measured -->\n", "<!-- /measured -->\n");

fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(f64::NAN)
}

/// Seconds of the middle of so many runs; each must give the same.
fn timed(runs: usize, mut work: impl FnMut() -> usize) -> Result<(f64, usize), String> {
    let expected = work();
    let mut took = Vec::new();
    for _ in 0..runs {
        let start = Instant::now();
        let gave = work();
        took.push(start.elapsed().as_secs_f64());
        if gave != expected || gave == 0 {
            return Err(format!("gave {gave}, and {expected} before"));
        }
    }
    Ok((middle(took), expected))
}

/// The middle of what each tube takes in Chromium over what it takes natively: tubes differ threefold,
/// and the tube in the middle of the one list need not be that of the other.
fn times_native(native: &[f64], browser: &[f64]) -> f64 {
    middle(native.iter().zip(browser).map(|(native, browser)| browser / native).collect())
}

/// One stage over all tubes.
struct Stage {
    what: &'static str,
    native: Vec<f64>,
    browser: Vec<f64>,
}

fn stages() -> Result<Vec<Stage>, String> {
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    in_browser::compiled(folder.path())?;
    let mut plan = Vec::new();
    let mut native = Vec::new();
    for number in 0..TUBES {
        let work = workloads::twin_triode(number).ok_or("the handbook lost a type")?;
        let file = folder.path().join(format!("{number}.csv"));
        std::fs::write(&file, &work.text).map_err(|e| e.to_string())?;
        let mut bench = Bench::new(work.text.as_bytes()).ok_or("a tube could not be read")?;
        for what in WORKS {
            let (seconds, expected) =
                timed(RUNS, || bench.run(what)).map_err(|e| format!("{what} of {}: {e}", work.name))?;
            native.push(seconds);
            plan.push(Planned { what: format!("Bench.{what}"), file: file.clone(), expected, runs: RUNS });
        }
    }
    let browser = in_browser::timed(folder.path(), &plan)?;
    let of = |k: usize| (0..TUBES).map(move |t| t * WORKS.len() + k);
    Ok(WORKS
        .into_iter()
        .enumerate()
        .map(|(k, what)| Stage {
            what,
            native: of(k).map(|i| native[i]).collect(),
            browser: of(k).map(|i| browser[i].middle).collect(),
        })
        .collect())
}

/// Seconds of our fit and of scipy's on the same points, and how far the optima differ.
fn beside_scipy() -> Result<(f64, f64, f64), String> {
    let (mut ours, mut theirs, mut apart) = (Vec::new(), Vec::new(), 0.0_f64);
    // Sound tubes: a law is fitted to what follows one.
    for number in (0..TUBES).step_by(2) {
        let work = workloads::twin_triode(number).ok_or("the handbook lost a type")?;
        let tube = intake::read("x.csv", work.text.as_bytes()).map_err(|e| e.to_string())?.remove(0);
        let task = task(&tube);
        let fit = task.run().ok_or("nothing was fitted")?;
        ours.push(timed(RUNS, || task.run().map_or(0, |f| 1 + f.free))?.0);
        let sections: Vec<_> =
            task.data.iter().map(|o| json!({ "va": o.va, "vg": o.vg, "ia": o.ia, "sigma": o.sigma })).collect();
        let priors: serde_json::Map<_, _> =
            Task::priors().into_iter().map(|(n, mean, sd)| (n.to_owned(), json!([mean, sd]))).collect();
        let b = &task.begin;
        let start = json!({ "x": b.x, "w0": b.w0, "spread": b.w1 * b.mu, "kvb": b.kvb, "ln_p": b.ln_p, "ln_mu": b.mu.ln(), "phi": b.phi });
        let asked = json!({ "sections": sections, "priors": priors, "start": start, "runs": 5 });
        let answer = ask_python("fit_timed.py", &asked)?;
        let chi2 = answer["chi2"].as_f64().ok_or("scipy gave no sum of squares")?;
        theirs.push(answer["seconds"].as_f64().ok_or("scipy gave no time")?);
        apart = apart.max((fit.chi2 / chi2 - 1.0).abs());
    }
    Ok((middle(ours), middle(theirs), apart))
}

/// Seconds in which we and pandas read the same table, the fastest run of each.
fn beside_pandas() -> Result<(f64, f64), String> {
    let file = tempfile::NamedTempFile::new().map_err(|e| e.to_string())?;
    let text = workloads::long_table(ROWS);
    std::fs::write(file.path(), &text).map_err(|e| e.to_string())?;
    let (mut ours, mut rows) = (f64::INFINITY, 0);
    for _ in 0..READ_RUNS {
        let (seconds, read) = timed(1, || points_read(text.as_bytes()))?;
        (ours, rows) = (ours.min(seconds), read);
    }
    let answer = ask_python("read_csv.py", &json!({ "path": file.path().to_string_lossy(), "runs": READ_RUNS }))?;
    if rows != ROWS || answer["rows"].as_u64() != Some(ROWS as u64) {
        return Err("not all rows were read".to_owned());
    }
    Ok((ours, answer["seconds"].as_f64().ok_or("pandas gave no time")?))
}

fn table() -> Result<String, String> {
    let mut said =
        String::from("| work | natively | in Chromium | ratio | slowest tube |\n|---|---:|---:|---:|---:|\n");
    for stage in stages()? {
        let (native, browser) = (middle(stage.native.clone()), middle(stage.browser.clone()));
        let worst = |of: &[f64]| 1e3 * of.iter().copied().fold(0.0, f64::max);
        // Writing to a string cannot fail.
        let _ = writeln!(
            said,
            "| {} | {:.3} ms | {:.3} ms | {:.2} | {:.2} and {:.2} ms |",
            stage.what,
            1e3 * native,
            1e3 * browser,
            times_native(&stage.native, &stage.browser),
            worst(&stage.native),
            worst(&stage.browser)
        );
        if stage.what == "tube" {
            for (what, k) in [("tube, sound", 0), ("tube, with a fault", 1)] {
                let half = |of: &[f64]| of.iter().copied().skip(k).step_by(2).collect::<Vec<_>>();
                let (native, browser) = (half(&stage.native), half(&stage.browser));
                let _ = writeln!(
                    said,
                    "| {what} | {:.3} ms | {:.3} ms | {:.2} | |",
                    1e3 * middle(native.clone()),
                    1e3 * middle(browser.clone()),
                    times_native(&native, &browser)
                );
            }
        }
    }
    let (ours, theirs, apart) = beside_scipy()?;
    let _ = writeln!(
        said,
        "\n| beside | ours | theirs | ratio | |\n|---|---:|---:|---:|---|\n\
         | scipy least_squares, analytic Jacobian, the task `fit` | {:.3} ms | {:.2} ms | {:.0} | sums of squares within {:.4} % |",
        1e3 * ours,
        1e3 * theirs,
        theirs / ours,
        100.0 * apart
    );
    let (ours, theirs) = beside_pandas()?;
    let _ = writeln!(
        said,
        "| pandas read_csv, C engine, a million rows | {:.1} ms | {:.1} ms | {:.2} | |",
        1e3 * ours,
        1e3 * theirs,
        theirs / ours
    );
    Ok(said)
}

fn run() -> Result<String, String> {
    let table = table()?;
    if std::env::args().any(|a| a == "--write") {
        let path: PathBuf = here().join("../DEVELOPERS.md");
        let text = std::fs::read_to_string(&path).map_err(|e| e.to_string())?;
        let (from, to) = text
            .find(MARKS.0)
            .zip(text.find(MARKS.1))
            .ok_or_else(|| format!("{} has no place for the table", path.display()))?;
        let text = format!("{}{table}{}", &text[..from + MARKS.0.len()], &text[to..]);
        std::fs::write(&path, text).map_err(|e| e.to_string())?;
    }
    Ok(table)
}

fn main() -> ExitCode {
    end(run())
}
