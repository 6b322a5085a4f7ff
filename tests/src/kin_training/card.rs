//! The card beside the model.

use std::fmt::Write as _;

use sweepbook_core::kin::features::FEATURES;

use super::{TRAINED, TRIED, TRIED_SEED, Tally, Trained};
use crate::study::tables::Table;

/// The card, in Markdown.
pub fn card(trained: &Trained, tried: &Tally, per: usize, rows: usize) -> String {
    let model = &trained.model;
    let laws = TRAINED.map(|l| l.name()).join(", ");
    let mut out = format!(
        "# The kin model

Made by `cargo run --release -p sweepbook-tests --bin kin-train -- --seed {} --per {per}`; do not edit.

**What it is.** A class for sound sections, one for sound sections beside a faulty one, and one
for each of {} faults. Each class is a mixture of normal distributions over {} features of a
section; components share one matrix of correlations. linfa finds the components on the features
that every row of a class has; our own expectation and maximisation goes on with all of them,
missing ones marginalised. Densities are evaluated by logarithms.

**Trained on** {rows} simulated tubes under five laws ({laws}), {per} of each fault under each
law at three levels, a third as many sound ones; sixteen types, all benches of the virtual bench,
seed {}. Faults that physics does not let be told from their sweep teach nothing and are left out.

**Set on laws left out in turn** (fitted to four of the five, tried on the fifth): the temper
{:.2}, by which log-probabilities are multiplied; the stretch {:.2} of the distance from which on
a section is unlike anything known, so that one known section in a thousand is; and who may speak.

**Tried on** {} tubes under {}, a law that is in none of it, seed {TRIED_SEED}: nothing was chosen on them.

",
        model.seed,
        model.classes.len() - 2,
        FEATURES.len(),
        model.seed,
        model.temper,
        model.stretch,
        tried.strange.of,
        TRIED.name(),
    );
    out += "## How it fares\n\nA fault counts as named by the model when it is the likeliest of all that could be so, in the\nright section; by the rules as in the cross-check. \"Together\" is what the program does: the rules'\nfindings, and where they see nothing the objection of a model that is sure and may speak.\n\n";
    let mut table = Table::new(["", "model alone", "rules alone", "together"]);
    let mut section = |name: &str, t: &Tally| {
        let row = |what: &str| format!("{what}, {name}");
        table.row([
            &row("strong and medium, decidable"),
            &t.model.1.with_interval(),
            &t.rules.1.with_interval(),
            &t.together.1.with_interval(),
        ]);
        table.row([
            &row("strong and medium, all"),
            &t.model.0.with_interval(),
            &t.rules.0.with_interval(),
            &t.together.0.with_interval(),
        ]);
        table.row([
            &row("false alarms on sound tubes"),
            &t.model_alarms.with_interval(),
            &t.rules_alarms.with_interval(),
            &t.together_alarms.with_interval(),
        ]);
    };
    section("tried law", tried);
    section("laws left out", &trained.left_out);
    out += &table.text();
    out.push('\n');
    let b = tried.both;
    let _ = writeln!(
        out,
        "Of the decidable strong and medium faults under the tried law, {} are named by both, {} by the rules alone,\n{} by the model alone, {} by neither. {} tubes have a section called unlike anything known.\n",
        b[1][1],
        b[1][0],
        b[0][1],
        b[0][0],
        tried.strange.with_interval()
    );
    let gain = tried.together.1.value() - tried.rules.1.value();
    let _ = writeln!(
        out,
        "Together they name {:+.1} % of decidable strong and medium faults over the rules alone. Its false alarms are why it is\nnot given more: where it alone sees a fault it is wrong too often, and it is shown, not followed.\n",
        100.0 * gain
    );
    out += "## Its role\n\n";
    out += &role(trained, tried);
    out += "## Named, by fault\n\nDecidable strong and medium ones under the tried law, and what the others were taken for.\n\n";
    let mut table = Table::new(["fault", "named", "taken for"]);
    for (fault, share) in &tried.by_fault {
        let taken: Vec<String> = tried
            .confused
            .iter()
            .filter(|(pair, _)| pair.0 == *fault)
            .map(|(pair, n)| format!("{} {n}", pair.1))
            .collect();
        table.row([fault.as_str(), &format!("{}/{}", share.yes, share.of), &taken.join(", ")]);
    }
    out += &table.text();
    out.push('\n');
    out += "## The features\n\nPure numbers; \"soft\" is the inverse hyperbolic sine. One that a sweep cannot give is left out.\n\n";
    let mut table = Table::new(["feature", "range", "meaning"]);
    for f in FEATURES {
        table.row([f.name, &format!("{} to {}", f.range.0, f.range.1), f.meaning]);
    }
    out += &table.text();
    out.push('\n');
    out += "## What it must not be used for\n\nIt has seen no real tube. It sets no size and no limit, turns no tube away, and never overrules a\nfinding. A probability of it is one among the classes it knows: a fault that is in none of them\nlooks like the nearest, or like nothing known. Diodes, pentodes and sweeps with several heater\nvoltages were not in the training.\n";
    out
}

fn role(trained: &Trained, tried: &Tally) -> String {
    let speaks: Vec<&str> = trained.model.classes.iter().filter(|c| c.speaks).map(|c| c.name.as_str()).collect();
    let mut out = if speaks.is_empty() {
        "It may speak of no fault: on laws left out, its sure claims beside silent rules were not right in\nnine of ten for any fault that it claimed at least five times. It is shown beside the rules and changes no verdict.\n\n".to_owned()
    } else {
        format!(
            "It may send a tube back to be measured again where the rules find nothing (every finding below 20 %)\nand it is at least 95 % sure of one of: {}. For these its claims beside silent rules were right in nine\nof ten on laws left out, at least five times. Otherwise it is shown beside the rules and changes no verdict.\n\n",
            speaks.join(", ")
        )
    };
    let mut table = Table::new(["claims beside silent rules", "laws left out", "tried law"]);
    let names: std::collections::BTreeSet<&String> =
        trained.left_out.claims.keys().chain(tried.claims.keys()).collect();
    for name in names {
        let cell = |t: &Tally| t.claims.get(name).map_or_else(String::new, |(right, all)| format!("{right}/{all}"));
        table.row([name.as_str(), &cell(&trained.left_out), &cell(tried)]);
    }
    out += &table.text();
    out.push('\n');
    out
}
