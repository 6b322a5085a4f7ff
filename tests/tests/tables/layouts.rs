//! Long and wide tables, sections beside each other, and their headings.

use super::case::{Case, asks, reads, refuses};

const TWO: &str = "1: 100 -1 0.5; 100 -2 0.25";

/// A row a point.
pub fn long() -> Vec<Case> {
    vec![
        reads("long", "section,Va [V],Vg [V],Ia [mA]\n1,100,-1,0.5\n1,100,-2,0.25\n", TWO),
        reads(
            "long-every-column",
            "section,Va [V],Vg [V],Ia [mA],Ig [uA],Vg2 [V],Ig2 [mA],Ik [mA],Vh [V],Ih [A],time [s],repeat\n\
             1,100,-1,0.5,-0.1,250,1,1.5,6.3,0.6,0,1\n1,100,-2,0.25,,250,0.8,1.05,6.3,0.6,1,1\n",
            TWO,
        )
        .also(|t| {
            let p = &t.sections[0].points;
            let has = |c: &Option<Vec<f64>>, v: f64| c.as_ref().is_some_and(|c| (c[0] - v).abs() < 1e-12);
            has(&p.ig, -1e-7)
                && has(&p.vg2, 250.0)
                && has(&p.ig2, 1e-3)
                && has(&p.ik, 1.5e-3)
                && has(&p.vh, 6.3)
                && has(&p.ih, 0.6)
                && has(&p.time, 0.0)
                && has(&p.repeat, 1.0)
                && p.ig_at(1).is_none()
        }),
        reads(
            "long-two-sections",
            "section,Va,Vg,Ia [mA]\n1,100,-1,0.5\n2,100,-1,0.4\n",
            "1: 100 -1 0.5 | 2: 100 -1 0.4",
        ),
        reads("long-two-tubes", "tube,Va,Vg,Ia [mA]\nA,100,-1,0.5\nB,100,-1,0.4\n", "1: 100 -1 0.5 | 1: 100 -1 0.4")
            .also(|t| t.name == "A"),
        reads("long-other-column", "operator,Va,Vg,Ia [mA]\nAnna,100,-1,0.5\nBo,100,-2,0.25\n", TWO),
        refuses("long-no-plate-current", "Va [V],Vg [V]\n100,-1\n", (1, 0), "no column for the plate current"),
        refuses("long-no-plate-voltage", "Vg [V],Ia [mA]\n-1,0.5\n", (1, 0), "no column for the plate voltage"),
        reads("long-plate-voltage-said", "# plate_voltage: 100 V\nVg [V],Ia [mA]\n-1,0.5\n-2,0.25\n", TWO),
        reads("long-plate-voltage-option", "Vg [V],Ia [mA]\n-1,0.5\n-2,0.25\n", TWO).with(&["va=100 V"]),
        refuses(
            "long-empty-cell",
            "Va,Vg,Ia [mA]\n100,-1,0.5\n100,-2,\n",
            (3, 3),
            "cell for the plate current is empty",
        ),
        reads(
            "american",
            "Eb [V],Ec [V],Ib [mA],Ic [uA],Ef,If [A]\n100,-1,0.5,0,6.3,0.6\n100,-2,0.25,0,6.3,0.6\n",
            TWO,
        )
        .also(|t| t.sections[0].points.vh.is_some() && t.sections[0].points.ih.is_some()),
        reads("american-plate", "Ep,Eg,Ip (mA)\n100,-1,0.5\n100,-2,0.25\n", TWO),
        reads("continental", "Ua,Ug1,Ia/mA,Ug2\n100,-1,0.5,250\n100,-2,0.25,250\n", TWO),
        reads("plain-words", "Plate voltage,Grid voltage,Plate current (mA)\n100,-1,0.5\n100,-2,0.25\n", TWO),
        reads("plain-words-in", "plate volts;grid volts;plate current in mA\n100;-1;0.5\n100;-2;0.25\n", TWO),
        reads("electrode-and-unit", "Anode V,Grid V,Anode mA\n100,-1,0.5\n100,-2,0.25\n", TWO),
        refuses("heading-twice", "Va,Eb,Vg,Ia [mA]\n100,100,-1,0.5\n", (1, 2), "both read as the plate voltage"),
        refuses("heading-unknown", "alpha,beta,gamma\n100,-1,0.5\n", (0, 0), "have no heading"),
        refuses("heading-none", "100,-1,0.5\n100,-2,0.25\n", (0, 0), "the rows of 3 numbers have no heading"),
        reads("heading-none-given", "100,-1,0.5\n100,-2,0.25\n", TWO).with(&["columns=Va [V];Vg [V];Ia [mA]"]),
        reads("separator-given", "100,-1,0.5\n100,-2,0.25\n", TWO)
            .with(&["columns=Va [V];Vg [V];Ia [mA]", "separator=comma"]),
        refuses("separator-not-there", "100,-1,0.5\n100,-2,0.25\n", (0, 0), "the heading has 3")
            .with(&["columns=Va [V];Vg [V];Ia [mA]", "separator=semicolon"]),
        // Between blanks it is a heading, between semicolons one name.
        reads("separator-of-a-heading", "Va Vg Ia [mA]\n100 -1 0.5\n100 -2 0.25\n", TWO).with(&["separator=blanks"]),
        refuses("separator-of-no-heading", "Va Vg Ia [mA]\n100 -1 0.5\n100 -2 0.25\n", (0, 0), "no heading")
            .with(&["separator=semicolon"]),
        reads("heading-foreign-given", "Spannung,x,Gitter,Strom\n100,7,-1,0.5\n100,7,-2,0.25\n", TWO)
            .with(&["columns=Va [V];-;Vg [V];Ia [mA]"]),
        reads("unit-brackets", "Va [V],Vg [mV],Ia [uA]\n100,-1000,500\n100,-2000,250\n", TWO),
        reads("unit-parentheses", "Va (kV),Vg (V),Ia (A)\n0.1,-1,0.0005\n0.1,-2,0.00025\n", TWO),
        reads("unit-underscore", "Va_V,Vg_V,Ia_nA\n100,-1,500000\n100,-2,250000\n", TWO),
        reads("unit-slash", "Va/V,Vg/V,Ia/µA\n100,-1,500\n100,-2,250\n", TWO),
        reads("unit-row", "Va,Vg,Ia\nV,V,mA\n100,-1,0.5\n100,-2,0.25\n", TWO),
        reads("unit-row-brackets", "Va;Vg;Ia\n[V];[V];[mA]\n100;-1;0.5\n100;-2;0.25\n", TWO),
        reads("unit-in-cell", "Va,Vg,Ia [mA]\n100 V,-1 V,500 uA\n100 V,-2 V,0.25 mA\n", TWO),
        refuses("unit-wrong", "Va [V],Vg [V],Ia [V]\n100,-1,0.5\n", (1, 3), "which is not a unit of current"),
        refuses("unit-row-wrong", "Va,Vg,Ia\nV,mA,V\n100,-1,0.5\n", (2, 2), "which is not a unit of voltage"),
        refuses("unit-unknown", "Va [furlong],Vg,Ia [mA]\n100,-1,0.5\n", (1, 1), "furlong"),
        reads(
            "uneven-unsorted-far",
            "Va,Vg,Ia [mA]\n100,-2,0.25\n100,-1,0.5\n317,-7.3,0.01\n",
            "1: 100 -2 0.25; 100 -1 0.5; 317 -7.3 0.01",
        ),
        reads(
            "up-and-down-repeated",
            "Va,Vg,Ia [mA]\n100,-2,0.25\n100,-1,0.5\n100,-1,0.51\n100,-2,0.26\n100,-2,0.27\n",
            "1: 100 -2 0.25; 100 -1 0.5; 100 -1 0.51; 100 -2 0.26; 100 -2 0.27",
        ),
        reads("diode", "# type: 5U4GB\nVa [V],Ia [mA]\n10,20\n20,60\n", "1: 10 0 20; 20 0 60"),
    ]
}

const CURVES: &str = "1: 100 -1 0.5; 100 -2 0.25; 200 -1 1.5; 200 -2 1.25";
const PLATES: &str = "1: 100 -1 0.5; 200 -1 1.5; 100 -2 0.25; 200 -2 1.25";

/// A current column a curve.
pub fn wide() -> Vec<Case> {
    vec![
        reads("wide-grid", "Vg [V],Va=100 V [mA],Va=200 V [mA]\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads("wide-plate", "Va [V],Vg=-1 V [mA],Vg=-2 V [mA]\n100,0.5,0.25\n200,1.5,1.25\n", PLATES),
        reads("wide-at", "Vg [V],Ia [mA] @ 100 V,Ia [mA] @ 200 V\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads("wide-parentheses", "Vg/V;Ia(100V) [mA];Ia(200V) [mA]\n-1;0,5;1,5\n-2;0,25;1,25\n", CURVES),
        reads("wide-underscore", "Vg_V,Ia_mA_100V,Ia_mA_200V\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads("wide-american", "Ec\tIb at Eb=100 V [mA]\tIb at Eb=200 V [mA]\n-1\t0.5\t1.5\n-2\t0.25\t1.25\n", CURVES),
        reads("wide-bare-levels", "Vg [V],100,200\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES).with(&["unit.ia=mA"]),
        reads("wide-levels-above", "Va [V],100,200\nVg [V],Ia [mA],Ia [mA]\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads("wide-unit-once", "Vg,Ia [mA] @ 100 V,Ia @ 200 V\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads("wide-unit-row", "Vg,100 V,200 V\nV,mA,mA\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES),
        reads(
            "wide-corner",
            "Vg,Va=100 V [mA],Va=200 V [mA]\n-1,0.5,1.5\n-2,0.25,\n",
            "1: 100 -1 0.5; 100 -2 0.25; 200 -1 1.5",
        ),
        reads("wide-unnamed-negative", "x;-1 V;-2 V\n100;0.5;0.25\n200;1.5;1.25\n", PLATES).with(&["unit.ia=mA"]),
        reads("wide-held-named", "x,Va=100,Va=200\n-1,0.5,1.5\n-2,0.25,1.25\n", CURVES).with(&["unit.ia=mA"]),
        reads(
            "wide-grid-current",
            "Vg,Ia [mA] @100V,Ia [mA] @200V,Ig [uA] @100V,Ig [uA] @200V\n-1,0.5,1.5,-0.1,-0.2\n-2,0.25,1.25,0,0\n",
            CURVES,
        )
        .also(|t| (t.sections[0].points.ig_at(2).unwrap_or(0.0) + 0.2e-6).abs() < 1e-15),
        reads(
            "wide-two-sections",
            "Vg,Ia1 [mA] @100V,Ia2 [mA] @100V\n-1,0.5,0.4\n-2,0.25,0.2\n",
            "1: 100 -1 0.5; 100 -2 0.25 | 2: 100 -1 0.4; 100 -2 0.2",
        ),
        refuses(
            "wide-held-runs",
            "Vg [V],Vg=-1 V [mA],Vg=-2 V [mA]\n100,0.5,0.25\n",
            (1, 0),
            "no column for the plate voltage",
        ),
        refuses("wide-no-level", "Vg [V],Ia [mA],Ia [mA]\n-1,0.5,1.5\n", (1, 3), "both read as the plate current"),
        refuses("wide-ragged", "Vg,Va=100 V [mA],Va=200 V [mA]\n-1,0.5,1.5\n-2,0.25\n", (3, 0), "this row has 2 cells"),
        asks("wide-no-unit", "Vg [V],100 V,200 V\n-1,0.05,0.15\n-2,0.025,0.125\n", &["unit.ia=mA", "unit.ia=A"]),
        asks("wide-unnamed", "x,100 V,200 V\n1,0.5,1.5\n2,0.25,1.25\n", &["first=vg", "first=va"])
            .with(&["unit.ia=mA"]),
    ]
}

const BOTH: &str = "1: 100 -1 0.5; 100 -2 0.25 | 2: 100 -1 0.4; 100 -2 0.2";

/// Several sections in one row.
pub fn sections() -> Vec<Case> {
    vec![
        reads("beside-currents", "Va,Vg,Ia1 [mA],Ia2 [mA]\n100,-1,0.5,0.4\n100,-2,0.25,0.2\n", BOTH),
        reads(
            "beside-words",
            "section 1 Va,section 1 Vg,section 1 Ia [mA],section 2 Va,section 2 Vg,section 2 Ia [mA]\n\
             100,-1,0.5,100,-1,0.4\n100,-2,0.25,100,-2,0.2\n",
            BOTH,
        ),
        reads("beside-primes", "Va,Vg,Ia' [mA],Ia'' [mA]\n100,-1,0.5,0.4\n100,-2,0.25,0.2\n", BOTH),
        reads(
            "beside-banner",
            "section 1,,,section 2,,\nVa,Vg,Ia [mA],Va,Vg,Ia [mA]\n100,-1,0.5,100,-1,0.4\n100,-2,0.25,100,-2,0.2\n",
            BOTH,
        ),
        reads(
            "beside-shorter",
            "Va,Vg,Ia1 [mA],Ia2 [mA]\n100,-1,0.5,0.4\n100,-2,0.25,\n",
            "1: 100 -1 0.5; 100 -2 0.25 | 2: 100 -1 0.4",
        ),
        reads(
            "beside-blocks-of-type",
            "# type: 12AX7\nVa,Vg,Ia [mA],,Va,Vg,Ia [mA]\n100,-1,0.5,,100,-1,0.4\n100,-2,0.25,,100,-2,0.2\n",
            BOTH,
        ),
        asks(
            "beside-blocks",
            "Va,Vg,Ia [mA],,Va,Vg,Ia [mA]\n100,-1,0.5,,100,-1,0.4\n100,-2,0.25,,100,-2,0.2\n",
            &["blocks=sections", "blocks=repeats"],
        ),
        reads(
            "beside-blocks-repeats",
            "Va,Vg,Ia [mA],,Va,Vg,Ia [mA]\n100,-1,0.5,,100,-1,0.51\n100,-2,0.25,,100,-2,0.26\n",
            "1: 100 -1 0.5; 100 -2 0.25; 100 -1 0.51; 100 -2 0.26",
        )
        .with(&["blocks=repeats"])
        .also(|t| t.sections[0].points.repeat.as_ref().is_some_and(|r| r == &[1.0, 1.0, 2.0, 2.0])),
        asks(
            "beside-second-grid",
            "Va,Vg1,Vg2,Ia1 [mA],Ia2 [mA]\n100,-1,-1,0.5,0.4\n100,-2,-2,0.25,0.2\n",
            &["vg2=section", "vg2=screen"],
        ),
        reads(
            "beside-second-grid-of-type",
            "# type: 6SN7GTB\nVa,Vg1,Vg2,Ia1 [mA],Ia2 [mA]\n100,-1,-1,0.5,0.4\n100,-2,-2,0.25,0.2\n",
            BOTH,
        ),
        refuses("beside-twice", "Va,Vg,Ia [mA],Ia [mA]\n100,-1,0.5,0.4\n", (1, 4), "both read as the plate current"),
    ]
}
