//! What is timed, the same natively and in the browser: each piece of work gives a number
//! that a wrong run would not give.

mod bench;
mod fitted;

use sweepbook_core::intake;
use wasm_bindgen::prelude::wasm_bindgen;

pub use bench::{Bench, WORKS, lot};
pub use fitted::{PRIORS, Task, task};

/// Reads a table; how many points it holds, nought where it cannot be read.
#[wasm_bindgen]
pub fn points_read(bytes: &[u8]) -> usize {
    intake::read("timed.csv", bytes).map_or(0, |tubes| tubes.iter().map(|t| t.point_count()).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &[u8] = b"Va [V],Vg [V],Ia [mA]\n100,-1,0.5\n100,-2,0.2\n";

    #[test]
    fn a_table_that_is_read_has_points_and_another_none() {
        assert_eq!(points_read(TABLE), 2);
        assert_eq!(points_read(b"nothing"), 0);
    }

    #[test]
    fn every_work_gives_the_same_twice_and_an_unknown_one_nothing() {
        let mut text = String::from(
            "# tube: timed\n# type: 12AU7\n# grid_source_resistance: 0 ohm\nsection,Va [V],Vg [V],Ia [mA]\n",
        );
        for section in [1, 2] {
            for va in [100.0f64, 200.0] {
                for k in 0..40 {
                    let vg = -0.4 * f64::from(k);
                    let e = vg + 0.3 + va / 18.0;
                    let ia = 1.3 * (1.0 + (e / 0.4).exp()).ln().powf(1.4) * 0.3;
                    text += &format!("{section},{va},{vg:.1},{ia:.4}\n");
                }
            }
        }
        let mut bench = Bench::new(text.as_bytes()).unwrap();
        for work in WORKS {
            let gave = bench.run(work);
            assert!(gave > 0, "{work}");
            assert_eq!(bench.run(work), gave, "{work}");
        }
        assert_eq!(bench.run("no such work"), 0);
        assert!(Bench::new(b"nothing").is_none());
    }
}
