//! `sums`: the sums of the bench.

use super::program::run;

const HEATERS: [&str; 6] = ["sums", "heaters", "--supply", "117V", "--heaters", "12AX7@12.6V; 2x 35V/150mA"];
const SUPPLY: [&str; 12] = [
    "sums",
    "supply",
    "--secondary",
    "9V",
    "--reservoir",
    "10000u",
    "--filter-resistor",
    "0R47",
    "--filter-capacitor",
    "10000µF",
    "--load-current",
    "1.2A",
];
const SOURCE: [&str; 14] = [
    "sums",
    "source",
    "--current",
    "5mA",
    "--pinch-off-min",
    "-1.5V",
    "--pinch-off-max",
    "-3V",
    "--idss-min",
    "8mA",
    "--idss-max",
    "20mA",
    "--voltage",
    "100V",
];
const ELEVATION: [&str; 8] =
    ["sums", "elevation", "--cathodes", "12AX7=1.5V; V2=150V±40V", "--limit", "150V", "--supply", "300V"];

#[test]
fn every_sum_follows_its_contract_as_json() {
    let dir = tempfile::tempdir().unwrap();
    for line in [&HEATERS[..], &SUPPLY, &SOURCE, &ELEVATION] {
        let json = run(dir.path(), &[line, &["--json"]].concat());
        assert_eq!((json.code, json.stderr.as_str()), (Some(0), ""), "{line:?}");
        let document: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
        assert_eq!((&document["schema"], &document["sum"]), (&"sweepbook/sums/1".into(), &line[1].into()));
        assert_eq!(document["asked"][line[2].trim_start_matches('-')], line[3]);
        for figure in document["figures"].as_array().unwrap() {
            assert!(figure["name"].is_string() && figure["value"].is_f64(), "{figure}");
            assert!(["V", "A", "ohm", "W", "s", "1"].contains(&figure["unit"].as_str().unwrap()), "{figure}");
        }
        for text in ["formula", "source", "leaves_out"] {
            assert!(document[text].is_string(), "{text}");
        }
        assert!(document["cautions"].as_array().is_some_and(|c| !c.is_empty()));
    }
    // And its numbers: 117 V less 82.6 V at 150 mA.
    let json = run(dir.path(), &[&HEATERS[..], &["--json"]].concat());
    let document: serde_json::Value = serde_json::from_str(&json.stdout).unwrap();
    let first = &document["figures"][0];
    assert_eq!(first["name"], "dropping resistor");
    assert!((first["value"].as_f64().unwrap() - 34.4 / 0.15).abs() < 1e-6, "{first}");
}

#[test]
fn the_words_name_formula_source_and_cautions() {
    let dir = tempfile::tempdir().unwrap();
    for (line, parts) in [
        (&HEATERS[..], ["dropping resistor: 229 Ω", "current at switch-on, most", "Gano and Sandy"]),
        (&SUPPLY, ["mean voltage at the load: ", "ripple by rule of thumb", "peak diode current"]),
        (&SOURCE, ["trimmer: ", "least voltage across the source: 3.00 V", "Zener diode"]),
        (&ELEVATION, ["highest elevation: ", "cathode 2: V2", "The limit of 180 V for 12AX7"]),
    ] {
        let words = run(dir.path(), line).stdout.split_whitespace().collect::<Vec<_>>().join(" ");
        for part in parts.into_iter().chain(["Formula ", "Source ", "Left out ", "Caution ", "mains kill"]) {
            assert!(words.contains(part), "{part}: {words}");
        }
    }
}

#[test]
fn what_is_wrong_is_wrong_usage_with_its_mend() {
    let dir = tempfile::tempdir().unwrap();
    for (line, said) in [
        (&["sums"][..], "Usage"),
        (&["sums", "soup"], "soup"),
        (&["sums", "heaters", "--volts", "3"], "--volts"),
        (&["sums", "heaters"], "--supply: it is missing. Write it as 117V."),
        (&["sums", "heaters", "--supply", "117V", "--heaters", "XX99Z"], "NAME=6.3V/300mA"),
        (&["sums", "heaters", "--supply", "5V", "--heaters", "6.3V/300mA"], "Take a supply of 6.30 V or more"),
        (&["sums", "supply", "--secondary", "9V", "--reservoir", "100mF", "--load-current", "1A"], "4700u"),
        (&["sums", "source", "--current", "5"], "--pinch-off-min"),
        (&["sums", "elevation", "--cathodes", "V2=150V"], "--limit"),
    ] {
        let run = run(dir.path(), line);
        assert_eq!((run.code, run.stdout.as_str()), (Some(2), ""), "{line:?}");
        assert!(run.stderr.contains(said), "{line:?}: {}", run.stderr);
    }
}
