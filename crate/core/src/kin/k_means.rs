//! k-means with several seeded starts (Lloyd; the starts after Arthur and Vassilvitskii,
//! "k-means++", SODA 2007).

use crate::lesson::Dice;

/// What k-means found.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// The group of each row.
    pub of: Vec<usize>,
    /// The middles of the groups.
    pub middles: Vec<Vec<f64>>,
    /// Sum of the squared distances of the rows to their group's middle.
    pub inertia: f64,
}

/// Most rounds of one start.
const ROUNDS: usize = 300;

/// The best of `starts` starts; `None` for fewer rows than groups, or for rows that are
/// not finite. The same rows and seed give the same groups.
pub fn k_means(rows: &[Vec<f64>], groups: usize, starts: usize, seed: u64) -> Option<Groups> {
    if groups == 0 || rows.len() < groups || rows.iter().flatten().any(|v| !v.is_finite()) {
        return None;
    }
    let mut dice = Dice::new(seed, "k-means");
    let runs = (0..starts.max(1)).map(|_| settle(rows, begin(rows, groups, &mut dice)));
    runs.min_by(|a, b| a.inertia.total_cmp(&b.inertia))
}

fn distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b) * (a - b)).sum()
}

/// Middles drawn from the rows, each in proportion to its squared distance to those before.
fn begin(rows: &[Vec<f64>], groups: usize, dice: &mut Dice) -> Vec<Vec<f64>> {
    let mut middles = vec![rows[dice.below(rows.len())].clone()];
    let mut apart: Vec<f64> = rows.iter().map(|r| distance(r, &middles[0])).collect();
    while middles.len() < groups {
        let mut left = dice.unit() * apart.iter().sum::<f64>();
        let drawn = apart.iter().position(|d| {
            left -= d;
            left < 0.0
        });
        let next = rows[drawn.unwrap_or_else(|| dice.below(rows.len()))].clone();
        for (d, row) in apart.iter_mut().zip(rows) {
            *d = d.min(distance(row, &next));
        }
        middles.push(next);
    }
    middles
}

fn settle(rows: &[Vec<f64>], mut middles: Vec<Vec<f64>>) -> Groups {
    let mut of = Vec::new();
    for _ in 0..ROUNDS {
        let now: Vec<usize> = rows.iter().map(|r| nearest(r, &middles)).collect();
        if now == of {
            break;
        }
        of = now;
        for (k, middle) in middles.iter_mut().enumerate() {
            let mine: Vec<&Vec<f64>> = rows.iter().zip(&of).filter(|(_, at)| **at == k).map(|(r, _)| r).collect();
            // A group that lost all its rows stays where it is.
            if !mine.is_empty() {
                for (j, m) in middle.iter_mut().enumerate() {
                    *m = mine.iter().map(|r| r[j]).sum::<f64>() / mine.len() as f64;
                }
            }
        }
    }
    let inertia = rows.iter().zip(&of).map(|(r, &k)| distance(r, &middles[k])).sum();
    Groups { of, middles, inertia }
}

fn nearest(row: &[f64], middles: &[Vec<f64>]) -> usize {
    let closer = |a: &usize, b: &usize| distance(row, &middles[*a]).total_cmp(&distance(row, &middles[*b]));
    (0..middles.len()).min_by(closer).unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn three_heaps_are_found_and_bad_rows_refused() {
        let rows: Vec<Vec<f64>> =
            (0..30).map(|i| vec![f64::from(i % 3) * 10.0 + 0.1 * f64::from(i / 3), f64::from(i % 3)]).collect();
        let groups = k_means(&rows, 3, 5, 1).unwrap();
        assert!((0..30).all(|i| groups.of[i] == groups.of[i % 3]));
        assert!(k_means(&rows[..2], 3, 5, 1).is_none());
        assert!(k_means(&[vec![f64::NAN]], 1, 5, 1).is_none());
        assert_eq!(k_means(&vec![vec![1.0]; 5], 2, 3, 1).map(|g| g.inertia), Some(0.0));
    }
}
