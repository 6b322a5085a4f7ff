//! Probabilities in words, the same words wherever a report is shown.

/// Lower ends of the steps and their words, from the likelihood scale of the
/// IPCC, Fourth Assessment Report (2007), Working Group II, front matter,
/// section F. Anyone can look up what a word stands for.
const SCALE: [(f64, &str); 6] = [
    (0.99, "virtually certain"),
    (0.90, "very likely"),
    (0.66, "likely"),
    (0.33, "about as likely as not"),
    (0.10, "unlikely"),
    (0.01, "very unlikely"),
];

/// A probability from 0 to 1 in words: `very likely`.
pub fn likelihood(probability: f64) -> &'static str {
    SCALE.iter().find(|(from, _)| probability >= *from).map_or("exceptionally unlikely", |(_, words)| words)
}

/// A probability from 0 to 1 in percent: `97 %`. Never rounded to a certainty.
pub fn percent(probability: f64) -> String {
    match (100.0 * probability).round() {
        p if p >= 100.0 => "over 99 %".to_owned(),
        p if p >= 1.0 => format!("{p} %"),
        _ => "under 1 %".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_and_percent_agree_with_the_scale() {
        for (probability, words, shown) in [
            (1.0, "virtually certain", "over 99 %"),
            (0.99, "virtually certain", "99 %"),
            (0.97, "very likely", "97 %"),
            (0.7, "likely", "70 %"),
            (0.5, "about as likely as not", "50 %"),
            (0.2, "unlikely", "20 %"),
            (0.02, "very unlikely", "2 %"),
            (0.004, "exceptionally unlikely", "under 1 %"),
        ] {
            assert_eq!((likelihood(probability), percent(probability).as_str()), (words, shown));
        }
    }
}
