//! Where two readings fit, and the twins where only one does.

use super::case::{Case, asks, reads};

const FALLING: &str = "Va,Vg,Ia [mA]\n100,1,0.5\n100,2,0.25\n100,3,0.1\n";

/// A curve of a sound 12AX7, in a unit and times a factor.
fn sound(unit: &str, times: f64) -> String {
    let rows = [(-4.0, 0.01), (-3.0, 0.02), (-2.0, 0.25), (-1.5, 0.6), (-1.0, 1.0), (-0.5, 2.0), (0.0, 3.0)];
    let rows: String = rows.iter().map(|(vg, ia)| format!("250,{vg},{}\n", ia * times)).collect();
    format!("# type: 12AX7\nVa [V],Vg [V],Ia [{unit}]\n{rows}")
}

const SOUND: &str = "1: 250 -4 0.01; 250 -3 0.02; 250 -2 0.25; 250 -1.5 0.6; 250 -1 1; 250 -0.5 2; 250 0 3";
const SOUND_WORN: &str =
    "1: 250 -4 0.0003; 250 -3 0.0006; 250 -2 0.0075; 250 -1.5 0.018; 250 -1 0.03; 250 -0.5 0.06; 250 0 0.09";
const SOUND_AS_WRITTEN: &str =
    "1: 250 -4 0.00001; 250 -3 0.00002; 250 -2 0.00025; 250 -1.5 0.0006; 250 -1 0.001; 250 -0.5 0.002; 250 0 0.003";
const SHORTED: &str = "# type: 12AX7\nVa [V],Vg [V],Ia [mA]\n100,-3,150\n100,-2,150\n100,-1,150\n100,0,150\n";
const DEAD: &str =
    "1: 250 -4 0.0001; 250 -3 0.001; 250 -2 0; 250 -1.5 0.001; 250 -1 0.0002; 250 -0.5 0.0009; 250 0 0.0001";

/// Noise of a tube that conducts nothing.
fn dead() -> String {
    let rows = DEAD[3..].split("; ").map(|row| format!("{}\n", row.replace(' ', ",")));
    format!("# type: 12AX7\nVa [V],Vg [V],Ia [mA]\n{}", rows.collect::<String>())
}

pub fn all() -> Vec<Case> {
    let grouped = "Va;Vg;Ia [uA]\n100;-1;1,234\n100;-2;1,111\n";
    vec![
        asks("comma-either", grouped, &["decimal=comma", "decimal=point"]),
        reads("comma-either-comma", grouped, "1: 100 -1 0.001234; 100 -2 0.001111").with(&["decimal=comma"]),
        reads("comma-either-point", grouped, "1: 100 -1 1.234; 100 -2 1.111").with(&["decimal=point"]),
        reads("comma-settled-by-nought", grouped.replace("1,111", "0,435"), "1: 100 -1 0.001234; 100 -2 0.000435"),
        reads("comma-settled-by-place", grouped.replace("1,111", "1,1"), "1: 100 -1 0.001234; 100 -2 0.0011"),
        // As thousands it would be more than any receiving tube's current.
        reads("comma-settled-by-size", "Va;Vg;Ia [mA]\n100;-1;9,234\n100;-2;8,111\n", "1: 100 -1 9.234; 100 -2 8.111"),
        asks("no-unit", "Va,Vg,Ia\n100,-1,0.5\n100,-2,0.25\n", &["unit.ia=mA", "unit.ia=A"]),
        reads("no-unit-said", "Va,Vg,Ia\n100,-1,0.5\n100,-2,0.25\n", "1: 100 -1 0.5; 100 -2 0.25")
            .with(&["unit.ia=mA"]),
        reads("no-unit-said-micro", "Va,Vg,Ia\n100,-1,500\n", "1: 100 -1 0.5").with(&["unit.ia=uA"]),
        reads("no-unit-settled-by-size", "Va,Vg,Ia\n100,-1,12\n100,-2,8\n", "1: 100 -1 12; 100 -2 8"),
        reads(
            "no-unit-settled-by-type",
            "# type: 12AX7\nVa,Vg,Ia\n100,-1,0.5\n100,-2,0.25\n",
            "1: 100 -1 0.5; 100 -2 0.25",
        )
        .also(|t| t.notes.iter().any(|n| n.contains("unit.ia=mA"))),
        asks("no-unit-small", "# type: 12AX7\nVa,Vg,Ia\n100,-1,0.0005\n100,-2,0.00025\n", &["unit.ia=mA", "unit.ia=A"]),
        asks("unit-stated-a-thousand-times-too-large", sound("mA", 1e3), &["despite.ia=uA", "despite.ia=as-written"]),
        asks("unit-stated-a-thousand-times-too-small", sound("mA", 1e-3), &["despite.ia=A", "despite.ia=as-written"]),
        reads("unit-stated-and-right", sound("mA", 1.0), SOUND),
        reads("unit-stated-and-worn", sound("mA", 0.03), SOUND_WORN),
        reads("unit-stated-too-large-said", sound("mA", 1e3), SOUND).with(&["despite.ia=uA"]),
        reads("unit-stated-too-small-kept", sound("mA", 1e-3), SOUND_AS_WRITTEN).with(&["despite.ia=as-written"]),
        // A dead tube's noise, and a short that the bench ends, are in the stated unit.
        reads("unit-stated-and-no-current", dead(), DEAD),
        reads("unit-stated-and-shorted", SHORTED, "1: 100 -3 150; 100 -2 150; 100 -1 150; 100 0 150"),
        asks("grid-current-no-unit", "Va,Vg,Ia [mA],Ig\n100,-1,0.5,0.1\n", &["unit.ig=uA", "unit.ig=mA"]),
        asks("grid-sign", FALLING, &["vg=negative", "vg=as-written"]),
        reads("grid-sign-negative", FALLING, "1: 100 -1 0.5; 100 -2 0.25; 100 -3 0.1").with(&["vg=negative"]),
        reads("grid-sign-as-written", FALLING, "1: 100 1 0.5; 100 2 0.25; 100 3 0.1").with(&["vg=as-written"]),
        reads(
            "grid-driven-positive",
            "Va,Vg,Ia [mA]\n100,1,0.5\n100,2,0.75\n100,3,1\n",
            "1: 100 1 0.5; 100 2 0.75; 100 3 1",
        ),
        asks(
            "plate-current-sign",
            "Va,Vg,Ia [mA]\n100,-1,-0.5\n100,-2,-0.25\n100,-3,-0.1\n",
            &["ia=negative", "ia=as-written"],
        ),
        reads(
            "plate-current-turned",
            "Va,Vg,Ia [mA]\n100,-1,-0.5\n100,-2,-0.25\n100,-3,-0.1\n",
            "1: 100 -1 0.5; 100 -2 0.25; 100 -3 0.1",
        )
        .with(&["ia=negative"]),
        reads(
            "plate-current-noise",
            "Va,Vg,Ia [mA]\n100,-1,0.5\n100,-8,-0.002\n100,-9,-0.001\n",
            "1: 100 -1 0.5; 100 -8 -0.002; 100 -9 -0.001",
        ),
        reads(
            "columns-swapped-are-for-the-diagnosis",
            "Va,Vg,Ia [mA]\n-1,100,0.5\n-2,100,0.25\n-3,100,0.1\n",
            "1: -1 100 0.5; -2 100 0.25; -3 100 0.1",
        ),
    ]
}
