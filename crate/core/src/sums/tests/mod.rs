//! The sums against closed forms, identities and their own monotony.

mod asked;
mod elevation;
mod heaters;
mod source;
mod supply;

use super::Answer;

/// What holds of every answer: finite figures with words, and texts that are there.
fn sound(answer: &Answer) {
    assert!(!answer.figures.is_empty());
    for figure in &answer.figures {
        assert!(figure.value.is_finite(), "{figure:?}");
        assert!(!figure.name.is_empty() && !figure.says.is_empty(), "{figure:?}");
        assert!(["V", "A", "ohm", "W", "s", "1"].contains(&figure.unit), "{figure:?}");
    }
    assert!(![&answer.formula, &answer.source, &answer.leaves_out].into_iter().any(String::is_empty));
    assert!(answer.cautions.iter().any(|c| c.contains("kill")));
    if let Some(curve) = &answer.curve {
        assert!(curve.points.len() > 1 && curve.points.iter().flatten().all(|v| v.is_finite()));
        assert!(curve.points.is_sorted_by(|a, b| a[0] < b[0]), "{}", curve.x_name);
    }
}
