//! Does the load hold nothing that a peroxide process must not take?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Finding, Known, Parameter, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Process;

/// Does the load hold nothing that a peroxide process must not take?
pub static RULE: Rule = Rule {
    id: RuleId("contents-unfit-for-plasma"),
    question: "Does the load hold nothing that a peroxide process must not take?",
    sources: &[Source::seen(
        CDC_2008,
        2008,
        "Table 6: cellulose (paper), linens and liquids cannot be processed (via copy)",
    )],
    effect: Effect::Reject,
    floor: None,
    parameters: &[WORDS],
    evaluate,
};

/// Words in set or packaging that name what cannot be processed.
const WORDS: Parameter = Parameter::words(
    "words",
    &[
        "cellulose",
        "paper",
        "linen",
        "linens",
        "cotton",
        "textile",
        "textiles",
        "gauze",
        "liquid",
        "liquids",
        "powder",
        "powders",
    ],
    check_word,
    "words in set or packaging that name what cannot be processed",
    Source::Published {
        title: CDC_2008,
        year: Some(2008),
        section: "Table 6: cellulose, linens, liquids (seen via copy); powders seen on a training page; cotton, textiles and gauze as kinds of cellulose: common practice",
        known: Known::Seen,
    },
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(Process::Plasma) = case.process() else {
        return Verdict::NotAsked;
    };
    let words = case.words(&RULE, &WORDS);
    let mut findings = Vec::new();
    let mut listed = Vec::new();
    for content in case.contents() {
        let parts = [content.says.set.as_ref(), content.says.packaging.as_ref()];
        let mut fit = true;
        for part in parts.into_iter().flatten() {
            let named = names_in(&part.value);
            let is_named = |word: &&str| named.iter().any(|name| name.eq_ignore_ascii_case(word));
            if let Some(word) = words.iter().copied().find(is_named) {
                fit = false;
                findings.push(Finding::new(
                    format!("the load holds `{word}`, which a peroxide process cannot take"),
                    Evidence::at(part.span, "as the log has it"),
                    "process it by a method that its instructions for use allow; if the log's word is wrong, correct it",
                ));
            }
        }
        if fit {
            listed.push(content.span());
        }
    }
    if findings.is_empty() && listed.is_empty() {
        return Verdict::NotAsked;
    }
    Verdict::found_or_met(findings, || {
        Evidence::at_all(
            listed,
            "nothing listed is of a kind that the process cannot take",
        )
    })
}

fn check_word(word: &str) -> Result<(), String> {
    match word.chars().all(|c| c.is_alphanumeric() || c == '-') && !word.is_empty() {
        true => Ok(()),
        false => Err(format!("`{word}` is not one word")),
    }
}

/// The words of a text. `non-linen` and `linen-free` are whole words, and name what is not there.
fn names_in(text: &str) -> Vec<&str> {
    text.split(|c: char| !(c.is_alphanumeric() || c == '-'))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, STEAM, assert_found, assert_silent};

    #[test]
    fn linen_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[("set ENT scope 4, items 14", "set Theatre linen 2, items 14")],
        );
    }

    #[test]
    fn paper_pouch_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "packaging pouch, lot W310",
                "packaging paper pouch, lot W310",
            )],
        );
    }

    #[test]
    fn linen_in_steam_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[(
                "set Minor basic 3, items 31",
                "set Theatre linen 2, items 31",
            )],
        );
    }

    #[test]
    fn pouch_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
