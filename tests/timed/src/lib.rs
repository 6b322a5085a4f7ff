//! What is timed, the same natively and in the browser: each takes its input and returns a
//! number that a wrong run would not give.

use sweepbook_core::intake;
use wasm_bindgen::prelude::wasm_bindgen;

/// Reads a table; how many points it holds, nought where it cannot be read.
#[wasm_bindgen]
pub fn points_read(bytes: &[u8]) -> usize {
    intake::read("timed.csv", bytes).map_or(0, |tubes| tubes.iter().map(|t| t.point_count()).sum())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_that_is_read_has_points_and_another_none() {
        assert_eq!(points_read(b"Va [V],Vg [V],Ia [mA]\n100,-1,0.5\n100,-2,0.2\n"), 2);
        assert_eq!(points_read(b"nothing"), 0);
    }
}
