//! Where two readings fit, and the twins where only one does.

use super::case::{Case, asks, reads};

const FALLING: &str = "Va,Vg,Ia [mA]\n100,1,0.5\n100,2,0.25\n100,3,0.1\n";

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
