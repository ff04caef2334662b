//! The known word that a mistyped one is nearest to.

/// The one word within two slips of the hand, if there is exactly one nearest; transposed neighbours are one slip.
pub fn suggest<'a>(typed: &str, known: &[&'a str]) -> Option<&'a str> {
    if typed.len() > 40 {
        return None;
    }
    let typed = typed.to_ascii_lowercase();
    let allowed = if typed.chars().count() <= 3 { 1 } else { 2 };
    let distance = |word: &&str| strsim::osa_distance(&typed, word);
    let best = known
        .iter()
        .map(&distance)
        .min()
        .filter(|&best| best <= allowed)?;
    let mut nearest = known.iter().copied().filter(|word| distance(word) == best);
    let found = nearest.next();
    if nearest.next().is_some() {
        None
    } else {
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_put_right_and_a_stranger_is_not() {
        let known = ["counter", "unit", "outcome", "program"];
        assert_eq!(suggest("coutner", &known), Some("counter"));
        assert_eq!(suggest("Outcom", &known), Some("outcome"));
        assert_eq!(suggest("humidity", &known), None);
        assert_eq!(suggest("ab", &["ac", "ad"]), None);
    }

    #[test]
    fn short_words_may_have_one_slip_and_longer_ones_two() {
        let known = ["end", "outcome", "ended"];
        for (typed, found) in [
            ("end", Some("end")),
            ("edn", Some("end")),
            ("xnx", None),
            // Two of four letters: `endx` is one slip from `end`, and two from `ended`.
            ("endx", Some("end")),
            ("outcmoe", Some("outcome")),
            ("outcxxe", Some("outcome")),
            ("oxxxome", None),
            ("", None),
        ] {
            assert_eq!(suggest(typed, &known), found, "{typed}");
        }
        // Two that are equally near are none.
        assert_eq!(suggest("endd", &["enda", "endb"]), None);
        assert_eq!(suggest("enda", &["enda", "endb"]), Some("enda"));
        // No key is so long.
        let (forty, more) = ("a".repeat(40), "a".repeat(41));
        assert_eq!(suggest(&forty, &[&forty]), Some(forty.as_str()));
        assert_eq!(suggest(&more, &[&more]), None);
    }
}
