//! Phrases in the words of a language. Read [`Texts::phrase`] first.

use super::{Manner, Texts, Value};
use crate::analyse::phrase::{Arg, Joining, Phrase};

impl Texts {
    /// A phrase in words.
    pub fn phrase(&self, phrase: &Phrase) -> String {
        let values: Vec<(&str, Value)> = phrase
            .args
            .iter()
            .map(|(name, arg)| (*name, self.value(arg)))
            .collect();
        self.with(&phrase.key, &values)
    }

    /// Sentences one after the other.
    pub fn phrases(&self, phrases: &[Phrase]) -> String {
        let said: Vec<String> = phrases.iter().map(|phrase| self.phrase(phrase)).collect();
        said.join(" ")
    }

    /// A probability: to two digits, and never as nothing.
    pub fn probability(&self, p: f64) -> String {
        match p {
            _ if p < 0.000_1 => self.with("p-below", &[("p", self.number(0.000_1, 4).into())]),
            _ if p < 0.01 => self.number(p, 4),
            _ => self.number(p, 2),
        }
    }

    /// A ratio to two figures; one that the data leave open is said so.
    pub fn ratio(&self, ratio: f64) -> String {
        match ratio {
            _ if ratio.is_infinite() || ratio >= 1000.0 => self.say("ratio-open"),
            _ if ratio >= 10.0 => self.number(ratio, 0),
            _ => self.number(ratio, 1),
        }
    }

    fn value(&self, arg: &Arg) -> Value {
        let words = match arg {
            Arg::Count(n) => return Value::Count(*n),
            Arg::Words(words) => words.clone(),
            Arg::Number(number, decimals) => self.number(number.0, usize::from(*decimals)),
            Arg::Signed(number, decimals) => self.signed(number.0, usize::from(*decimals)),
            Arg::Trimmed(number) => self.trimmed(number.0),
            Arg::Share(n, of) => self.share(*n, *of),
            Arg::Ratio(ratio) => self.ratio(ratio.0),
            Arg::Probability(p) => self.probability(p.0),
            Arg::Day(day) => day.map_or_else(|| "?".to_owned(), |day| self.day(day)),
            Arg::Moment(moment) => self.moment(*moment),
            Arg::Term(table, word) => self.name(table, word),
            Arg::Quoted(arg) => self.quoted(arg),
            Arg::Phrase(phrase) => self.phrase(phrase),
            Arg::Capital(phrase) => capital(&self.phrase(phrase)),
            Arg::List(joining, all) => self.list(*joining, all),
        };
        Value::Words(words)
    }

    fn quoted(&self, arg: &Arg) -> String {
        let words = self.list(Joining::Comma, std::slice::from_ref(arg));
        match self.manner {
            Manner::Page => self.with("phrase-quoted", &[("what", words.into())]),
            Manner::Plain => format!("`{words}`"),
        }
    }

    /// Two decimals at most, and none that say nothing.
    fn trimmed(&self, number: f64) -> String {
        let plain = format!("{number:.2}");
        let plain = plain.trim_end_matches('0').trim_end_matches('.');
        let n_decimals = plain.split_once('.').map_or(0, |(_, after)| after.len());
        match self.manner {
            Manner::Page => self.number(number, n_decimals),
            Manner::Plain => plain.to_owned(),
        }
    }

    fn share(&self, n: u32, of: u32) -> String {
        let counts = [
            ("n", Value::from(u64::from(n))),
            ("of", u64::from(of).into()),
        ];
        if of == 0 {
            return self.with("share-of", &counts);
        }
        let [n_counted, of_all] = counts;
        let percent = self.number(100.0 * f64::from(n) / f64::from(of), 1);
        self.with(
            "phrase-share",
            &[n_counted, of_all, ("percent", percent.into())],
        )
    }

    fn list(&self, joining: Joining, all: &[Arg]) -> String {
        let mut parts: Vec<String> = all
            .iter()
            .map(|arg| match self.value(arg) {
                Value::Count(n) => self.count(n),
                Value::Words(words) => words,
            })
            .collect();
        match joining {
            Joining::Comma => parts.join(", "),
            Joining::Semicolon => parts.join("; "),
            Joining::Sentences => parts.join(" "),
            Joining::And => match parts.pop() {
                Some(last) if !parts.is_empty() => self.with(
                    "phrase-and",
                    &[("first", parts.join(", ").into()), ("last", last.into())],
                ),
                last => last.unwrap_or_default(),
            },
        }
    }
}

/// The same with a capital first letter.
fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::super::Language;
    use super::*;
    use crate::analyse::phrase::{number, probability, signed, trimmed};

    fn shown(texts: &Texts, arg: Arg) -> String {
        texts.phrase(&Phrase::name(arg))
    }

    #[test]
    fn numbers_and_days_are_plain_for_the_terminal_and_of_the_language_on_a_page() {
        let day = chrono::NaiveDate::from_ymd_opt(2026, 3, 5);
        let (plain, german) = (Texts::plain(), Texts::of(Language::German));
        for (arg, in_plain, in_german) in [
            (Arg::Day(day), "2026-03-05", "05.03.2026"),
            (Arg::Day(None), "?", "?"),
            (Arg::Share(7, 60), "7 of 60 (11.7 %)", "7 von 60 (11,7 %)"),
            (Arg::Share(0, 0), "0 of 0", "0 von 0"),
            (signed(-1.25, 2), "-1.25", "\u{2212}1,25"),
            (signed(1.25, 1), "+1.2", "+1,2"),
            (trimmed(1.3), "1.3", "1,3"),
            (trimmed(20.0), "20", "20"),
            (number(12_345.0, 0), "12345", "12.345"),
            (probability(0.000_01), "below 0.0001", "unter 0,0001"),
            (probability(0.004_567), "0.0046", "0,0046"),
            (Arg::Ratio(crate::analyse::phrase::Real(18.8)), "19", "19"),
        ] {
            assert_eq!(shown(&plain, arg.clone()), in_plain);
            assert_eq!(shown(&german, arg), in_german);
        }
        let names = |n: usize| ["a", "b", "c"].into_iter().take(n).map(Arg::from).collect();
        for (n, said) in ["", "a", "a and b", "a, b and c"].into_iter().enumerate() {
            assert_eq!(shown(&plain, Arg::List(Joining::And, names(n))), said);
        }
    }
}
