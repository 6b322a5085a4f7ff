//! `sweepbook report`: the report on paper, for a seller or for the files.

use std::fs::OpenOptions;
use std::io::Write as _;
use std::path::PathBuf;

use sweepbook_core::intake::Unread;
use sweepbook_core::report::paper::{Entry, Said, csv, document};
use sweepbook_core::report::{Report, TubeReport, Verdict};
use sweepbook_core::sweep::Lot;

use super::{Ending, Failure};
use crate::screen;

/// Write a report to print, one page a tube with a summary of the lot.
///
/// Each page shows the curves with what marks the fault beside a sound tube of the lot or the
/// published curve, the numbers with their intervals, the published limit, how it was
/// measured, what was ruled out on the bench's side and what cannot be concluded. It is one
/// HTML file that needs nothing else: open it and print it. Exit codes as for `triage`.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    sweeps: super::SweepArgs,
    /// Write into this file; nothing that is there is written over.
    #[arg(short, long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// HTML to print; CSV, a row a finding; JSON as `triage --json` writes it.
    #[arg(long, value_enum, default_value_t = Format::Html)]
    format: Format,
    /// Only this tube; may be given more than once. The others may still be shown beside it.
    #[arg(long, value_name = "NAME")]
    tube: Vec<String>,
    /// Only tubes in which a fault was found (reject and restrict).
    #[arg(long)]
    faulty: bool,
    /// To whom it goes.
    #[arg(long, value_name = "TEXT", default_value = "")]
    seller: String,
    /// The seller's number of the order or the lot.
    #[arg(long, value_name = "TEXT", default_value = "")]
    reference: String,
    /// Date of the report.
    #[arg(long, value_name = "TEXT", default_value = "")]
    date: String,
    /// Who measured.
    #[arg(long, value_name = "TEXT", default_value = "")]
    by: String,
    /// Words of your own; an empty line begins a paragraph.
    #[arg(long, value_name = "TEXT", default_value = "")]
    words: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
enum Format {
    Html,
    Csv,
    Json,
}

pub(super) fn run(args: &Args) -> Result<Ending, Failure> {
    let (tubes, unread) = args.sweeps.read();
    let ending = super::told(&unread);
    let lot = Lot { tubes };
    let missing: Vec<&String> = args.tube.iter().filter(|name| lot.tubes.iter().all(|t| t.name != **name)).collect();
    if let Some(name) = missing.first() {
        let there: Vec<&str> = lot.tubes.iter().map(|t| t.name.as_str()).collect();
        screen::say(&format!("sweepbook: there is no tube {name} in these files. There are: {}.", there.join(", ")));
        return Ok(Ending::WrongUsage);
    }
    let reports = crate::work::each(&lot, sweepbook_core::triage_among);
    let entries: Vec<Entry> = lot.tubes.iter().zip(&reports).map(|(tube, report)| Entry { tube, report }).collect();
    let chosen: Vec<usize> = (0..entries.len()).filter(|&i| args.wants(&entries[i])).collect();
    if chosen.is_empty() {
        screen::say("sweepbook: there is no tube to report on; nothing was written.");
        return Ok(ending);
    }
    let text = args.text(&entries, &chosen, unread)?;
    match &args.out {
        None => screen::print_table(&text)?,
        Some(path) => {
            OpenOptions::new()
                .write(true)
                .create_new(true)
                .open(path)
                .and_then(|mut file| file.write_all(text.as_bytes()))
                .map_err(|error| Failure::Written {
                    path: screen::shown(path),
                    why: crate::lot::reason(Some(error.kind()), &error),
                })?;
            screen::say(&format!("sweepbook: the report is in {}", path.display()));
        }
    }
    Ok(ending)
}

impl Args {
    fn wants(&self, entry: &Entry) -> bool {
        let named = self.tube.is_empty() || self.tube.contains(&entry.tube.name);
        named && (!self.faulty || matches!(entry.report.verdict, Verdict::Reject | Verdict::Restrict))
    }

    fn text(&self, entries: &[Entry], chosen: &[usize], unread: Vec<Unread>) -> Result<String, Failure> {
        let picked: Vec<Entry> = chosen.iter().map(|&i| entries[i]).collect();
        Ok(match self.format {
            Format::Html => {
                let [seller, reference, date, by, words] =
                    [&self.seller, &self.reference, &self.date, &self.by, &self.words].map(Clone::clone);
                document(entries, chosen, &Said { seller, reference, date, by, words })
            }
            Format::Csv => csv(&picked),
            Format::Json => {
                let tubes: Vec<TubeReport> = picked.iter().map(|e| e.report.clone().without_marks()).collect();
                format!("{}\n", serde_json::to_string_pretty(&Report::new(tubes, unread))?)
            }
        })
    }
}
