//! The tables, as they were read.

use super::Plan;

/// Acceptable quality levels of the table, percent of faulty tubes.
pub const AQLS: [f64; 8] = [0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0, 15.0];

/// Largest batch of each code letter at general level II, the last without end; its letter
/// and sample size.
const LETTERS: [(usize, char, usize); 15] = [
    (8, 'A', 2),
    (15, 'B', 3),
    (25, 'C', 5),
    (50, 'D', 8),
    (90, 'E', 13),
    (150, 'F', 20),
    (280, 'G', 32),
    (500, 'H', 50),
    (1200, 'J', 80),
    (3200, 'K', 125),
    (10_000, 'L', 200),
    (35_000, 'M', 315),
    (150_000, 'N', 500),
    (500_000, 'P', 800),
    (usize::MAX, 'Q', 1250),
];

/// Rejection numbers by letter and level; [`DOWN`] and [`UP`] are the table's arrows.
const REJECT: [[u8; 8]; 15] = [
    [DOWN, DOWN, DOWN, DOWN, DOWN, 1, UP, DOWN],
    [DOWN, DOWN, DOWN, DOWN, 1, UP, DOWN, 2],
    [DOWN, DOWN, DOWN, 1, UP, DOWN, 2, 3],
    [DOWN, DOWN, 1, UP, DOWN, 2, 3, 4],
    [DOWN, 1, UP, DOWN, 2, 3, 4, 6],
    [1, UP, DOWN, 2, 3, 4, 6, 8],
    [UP, DOWN, 2, 3, 4, 6, 8, 11],
    [DOWN, 2, 3, 4, 6, 8, 11, 15],
    [2, 3, 4, 6, 8, 11, 15, 22],
    [3, 4, 6, 8, 11, 15, 22, UP],
    [4, 6, 8, 11, 15, 22, UP, UP],
    [6, 8, 11, 15, 22, UP, UP, UP],
    [8, 11, 15, 22, UP, UP, UP, UP],
    [11, 15, 22, UP, UP, UP, UP, UP],
    [15, 22, UP, UP, UP, UP, UP, UP],
];

/// Use the first plan below.
const DOWN: u8 = 0;
/// Use the first plan above; in the first row, which has none above, the first below.
const UP: u8 = u8::MAX;

/// The plan for a batch of so many tubes at a level of [`AQLS`]; `None` for another level or
/// a batch of fewer than two.
pub fn plan(batch: usize, aql: f64) -> Option<Plan> {
    let level = AQLS.iter().position(|a| *a == aql)?;
    if batch < 2 {
        return None;
    }
    let mut row = LETTERS.iter().position(|l| batch <= l.0)?;
    let mut step: isize = 0;
    while matches!(REJECT[row][level], DOWN | UP) {
        if step == 0 {
            step = if REJECT[row][level] == UP && row > 0 { -1 } else { 1 };
        }
        row = row.checked_add_signed(step).filter(|r| *r < REJECT.len())?;
    }
    let (_, letter, sample) = LETTERS[row];
    let accept = usize::from(REJECT[row][level]) - 1;
    Some(Plan { letter, sample: sample.min(batch), accept, whole: sample >= batch })
}
