//! How quickly a table of a million rows is read: this program natively, on one core, and
//! in Chromium, the plain csv crate, and pandas (`read_csv`, C engine) on the same file in
//! one run; and how quickly hostile files are refused. Needs what `tests/run` installs.
//!
//!     cargo run --release -p sweepbook-tests --bin read-speed

use std::fmt::Write as _;
use std::process::ExitCode;
use std::time::Instant;

use sweepbook_core::intake;
use sweepbook_tests::in_browser::{self, Planned};
use sweepbook_tests::{ask_python, end, workloads};
use sweepbook_timed::points_read;

/// Rows of the file.
const ROWS: usize = 1_000_000;
/// Rounds in which each reader takes its turn, so that none has the quiet minute for itself.
const ROUNDS: usize = 5;
/// Runs of each reader in a round; the fastest of all counts, as the least disturbed.
const RUNS: usize = 3;

/// Seconds of the fastest run.
fn fastest(mut run: impl FnMut() -> Result<usize, String>) -> Result<f64, String> {
    let mut best = f64::INFINITY;
    for _ in 0..RUNS {
        let start = Instant::now();
        let rows = run()?;
        best = best.min(start.elapsed().as_secs_f64());
        if rows != ROWS {
            return Err(format!("{rows} rows were read of {ROWS}"));
        }
    }
    Ok(best)
}

fn plain_csv(bytes: &[u8], numbers: bool) -> Result<usize, String> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(bytes);
    let mut record = csv::ByteRecord::new();
    let (mut rows, mut sum) = (0, 0.0);
    while reader.read_byte_record(&mut record).map_err(|e| e.to_string())? {
        rows += 1;
        if numbers {
            for cell in &record {
                let text = std::str::from_utf8(cell).map_err(|e| e.to_string())?;
                sum += text.parse::<f64>().map_err(|e| e.to_string())?;
            }
        }
    }
    std::hint::black_box(sum);
    Ok(rows)
}

fn run() -> Result<String, String> {
    let text = workloads::long_table(ROWS);
    let bytes = text.as_bytes();
    let folder = tempfile::tempdir().map_err(|e| e.to_string())?;
    let path = folder.path().join("speed.csv");
    std::fs::write(&path, bytes).map_err(|e| e.to_string())?;

    let asked = serde_json::json!({ "path": path.to_string_lossy(), "runs": RUNS });
    in_browser::compiled(folder.path())?;
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().map_err(|e| e.to_string())?;
    let [mut ours, mut alone, mut browser, mut cells, mut numbers, mut pandas] = [f64::INFINITY; 6];
    for _ in 0..ROUNDS {
        ours = ours.min(fastest(|| Ok(points_read(bytes)))?);
        alone = alone.min(one.install(|| fastest(|| Ok(points_read(bytes))))?);
        let plan = Planned { what: "points_read".to_owned(), file: path.clone(), expected: ROWS, runs: RUNS };
        browser = browser.min(in_browser::timed(folder.path(), &[plan])?[0].fastest);
        cells = cells.min(fastest(|| plain_csv(bytes, false))?);
        numbers = numbers.min(fastest(|| plain_csv(bytes, true))?);
        let answer = ask_python("read_csv.py", &asked)?;
        if answer["rows"].as_u64() != Some(ROWS as u64) {
            return Err(format!("pandas read {} rows", answer["rows"]));
        }
        pandas = pandas.min(answer["seconds"].as_f64().ok_or("pandas gave no time")?);
    }
    let mut said = format!("{ROWS} rows, {:.1} MB, fastest of {} runs\n", bytes.len() as f64 / 1e6, ROUNDS * RUNS);
    for (what, seconds) in [
        ("sweepbook, bytes to sweeps", ours),
        ("the same on one core", alone),
        ("the same in Chromium", browser),
        ("csv crate, bytes to cells", cells),
        ("csv crate, cells to numbers too", numbers),
        ("pandas read_csv, C engine", pandas),
    ] {
        let _ = writeln!(said, "  {what:32} {:7.1} ms   {:5.2} times sweepbook", seconds * 1e3, seconds / ours);
    }
    said.push_str(&hostile());
    Ok(said)
}

/// Seconds until each file that is made to hurt is refused.
fn hostile() -> String {
    let head = "Va,Vg,Ia [mA]\n";
    let files = [
        ("a million columns", format!("{head}{}\n", "1,".repeat(1_000_000))),
        ("100 MB of one line", "9".repeat(100_000_000)),
        ("100 MB of one cell", format!("{head}{}", "9".repeat(100_000_000))),
        ("100 MB in a quotation", format!("{head}\"{}", "9".repeat(100_000_000))),
        ("100 MB of line ends", format!("{head}{}", "\n".repeat(100_000_000))),
        ("100 MB of #", "#".repeat(100_000_000)),
        ("100 MB of comment lines", "#\n".repeat(50_000_000)),
        ("100 MB of commas", format!("{head}{}", ",".repeat(100_000_000))),
        ("more points than are read", format!("{head}{}", "100,-3,0.1\n".repeat(intake::MOST_POINTS + 1))),
    ];
    let mut said = String::from("refused after\n");
    for (what, text) in files {
        let start = Instant::now();
        let refused = intake::read("x.csv", text.as_bytes()).err();
        let why = refused.map_or_else(|| "NOT REFUSED".to_owned(), |unread| unread.what);
        let _ = writeln!(said, "  {what:32} {:7.1} ms   {why}", start.elapsed().as_secs_f64() * 1e3);
    }
    said
}

fn main() -> ExitCode {
    end(run())
}
