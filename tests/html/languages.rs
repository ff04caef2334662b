use super::{files_below, report, text_of};
use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use loadbook::analyse::catalogue::FindingKind;
use loadbook::diagnose::codes::Code;
use loadbook::judge::decision::Decision;
use loadbook::judge::rulebook::{Effect, RULES};
use loadbook::record::cause::Cause;
use loadbook::record::cycle::{Process, Purpose, QuantityKind, StageName};
use loadbook::report::attention::NeedKind;
use loadbook::report::lang::{Language, Texts};
use loadbook::report::ranking::METHOD;
use std::collections::{BTreeMap, BTreeSet};

fn variables_of(pattern: &Pattern<&str>, found: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            match expression {
                Expression::Inline(inline) => note(inline, found),
                Expression::Select { selector, variants } => {
                    note(selector, found);
                    for variant in variants {
                        variables_of(&variant.value, found);
                    }
                }
            }
        }
    }
}

fn note(inline: &InlineExpression<&str>, found: &mut BTreeSet<String>) {
    if let InlineExpression::VariableReference { id } = inline {
        found.insert(id.name.to_owned());
    }
}

/// The messages of a language, each with its variables. A file that can't be read in full fails.
fn messages(language: Language) -> BTreeMap<String, BTreeSet<String>> {
    let resource = fluent_syntax::parser::parse(language.source())
        .unwrap_or_else(|(_, errors)| panic!("{}: {errors:?}", language.tag()));
    let mut all = BTreeMap::new();
    for entry in resource.body {
        if let Entry::Message(message) = entry {
            let mut variables = BTreeSet::new();
            variables_of(
                message.value.as_ref().expect("a message has a text"),
                &mut variables,
            );
            let twice = all.insert(message.id.name.to_owned(), variables);
            assert!(
                twice.is_none(),
                "{}: {} stands twice",
                language.tag(),
                message.id.name
            );
        }
    }
    all
}

#[test]
fn both_languages_have_the_same_messages_with_the_same_variables() {
    let english = messages(Language::English);
    for &language in Language::ALL {
        let other = messages(language);
        let keys =
            |all: &BTreeMap<String, BTreeSet<String>>| all.keys().cloned().collect::<Vec<_>>();
        assert_eq!(keys(&english), keys(&other), "{}", language.tag());
        for (key, variables) in &english {
            assert_eq!(Some(variables), other.get(key), "{}: {key}", language.tag());
        }
    }
}

/// Keys that the sources name in full: what stands between quotation marks after a call that takes a key.
fn keys_in_sources() -> BTreeSet<String> {
    let mut keys = BTreeSet::new();
    let known = messages(Language::English);
    for file in files_below("src/report")
        .into_iter()
        .chain(files_below("src/cli"))
        .chain(files_below("src/analyse"))
    {
        if file.extension().is_none_or(|extension| extension != "rs") {
            continue;
        }
        let text = std::fs::read_to_string(&file).expect("a source file");
        // Tests may ask for what is not there.
        let text = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (before, after) in text.split('"').zip(text.split('"').skip(1)) {
            let calls = ["say(", "with(", "find(", "Phrase::of("];
            let is_of_text = ["starts_with(", "ends_with("]
                .iter()
                .any(|call| before.ends_with(call));
            if calls.iter().any(|call| before.trim_end().ends_with(call))
                && !is_of_text
                && after.starts_with(|c: char| c.is_ascii_lowercase())
                && after.chars().all(|c| c.is_ascii_alphanumeric() || c == '-')
            {
                keys.insert(after.to_owned());
            }
            if known.contains_key(after) {
                keys.insert(after.to_owned());
            }
        }
    }
    keys
}

/// Beginnings of keys that the sources complete by a word of a table.
const TABLES: &[&str] = &[
    "month-",
    "need-",
    "code-",
    "cause-",
    "stage-",
    "process-",
    "purpose-",
    "quantity-",
    "consumable-",
    "position-",
    "endpoint-",
    "role-",
    "growth-",
    "lot-action-",
    "severity-",
    "check-",
    "fact-",
    "use-",
    "entry-",
    "columns-",
    "aborts-",
    "rejections-",
    "rule-",
    "decision-",
    "effect-",
    // Of findings: kinds, and the terms and messages that are completed by a word.
    "finding-",
    "shift-",
    "sort-",
    "shown-",
    "process-word-",
    "quantity-word-",
    "allowed-",
    "strength-",
    "evidence-",
    "lot-said-",
    "curve-moved-",
    "curve-since-",
    "abort-factor-",
    "rejection-factor-",
];

#[test]
fn every_key_that_is_asked_for_is_there_and_every_message_is_asked_for() {
    let known = messages(Language::English);
    let asked = keys_in_sources();
    assert!(
        asked.len() > 200,
        "the sources were searched: {}",
        asked.len()
    );
    let lacking: Vec<&String> = asked
        .iter()
        .filter(|key| !known.contains_key(*key))
        .collect();
    assert!(lacking.is_empty(), "asked for and not there: {lacking:?}");
    let idle: Vec<&String> = known
        .keys()
        .filter(|key| !asked.contains(*key) && !TABLES.iter().any(|table| key.starts_with(table)))
        .collect();
    assert!(idle.is_empty(), "there and not asked for: {idle:?}");
}

/// What the terminal says and what a report says in English are the same words.
#[test]
fn english_messages_of_tables_say_what_the_tables_say() {
    let texts = Texts::of(Language::English);
    for &kind in NeedKind::ALL {
        assert_eq!(texts.say(&format!("need-{}", kind.id())), kind.said());
        assert_eq!(texts.say(&format!("need-{}-next", kind.id())), kind.next());
    }
    for &code in Code::ALL {
        assert_eq!(texts.say(&format!("code-{}", code.id())), code.meaning());
    }
    for cause in Cause::ALL {
        assert_eq!(texts.name("cause", cause.word()), cause.said());
    }
    for kind in FindingKind::ALL {
        let said = |what: &str| texts.say(&format!("finding-{}{what}", kind.id()));
        assert_eq!(said(""), kind.about());
        assert_eq!(said("-question"), kind.question());
        assert_eq!(said("-method"), kind.method());
        assert_eq!(said("-cannot-tell"), kind.cannot_tell());
        for (n, next) in (1..).zip(kind.next()) {
            assert_eq!(said(&format!("-next-{n}")), *next);
        }
        let one_more = format!("finding-{}-next-{}", kind.id(), kind.next().len() + 1);
        assert_eq!(texts.find(&one_more, &[]), None);
    }
    assert_eq!(texts.say("rank-method"), METHOD);
}

#[test]
fn every_word_of_every_table_has_a_name_in_every_language() {
    let words = |kind: &str, words: Vec<&str>| -> Vec<String> {
        words
            .into_iter()
            .map(|word| format!("{kind}-{}", word.replace(' ', "-")))
            .collect()
    };
    let keys = [
        words("rule", RULES.iter().map(|rule| rule.id.0).collect()),
        words(
            "decision",
            Decision::ALL
                .iter()
                .map(|decision| decision.word())
                .collect(),
        ),
        words(
            "decision-means",
            Decision::ALL
                .iter()
                .map(|decision| decision.word())
                .collect(),
        ),
        words(
            "effect",
            Effect::ALL.iter().map(|effect| effect.word()).collect(),
        ),
        words("cause", Cause::ALL.iter().map(Cause::word).collect()),
        words("check", Cause::ALL.iter().map(Cause::word).collect()),
        words(
            "stage",
            StageName::ALL.iter().map(StageName::word).collect(),
        ),
        words(
            "process",
            Process::ALL.iter().map(|process| process.word()).collect(),
        ),
        words(
            "purpose",
            Purpose::ALL.iter().map(|purpose| purpose.word()).collect(),
        ),
        words(
            "quantity",
            QuantityKind::ALL.iter().map(|kind| kind.word()).collect(),
        ),
    ]
    .concat();
    for &language in Language::ALL {
        let texts = Texts::of(language);
        for key in &keys {
            assert!(texts.find(key, &[]).is_some(), "{}: {key}", language.tag());
        }
    }
}

fn without(html: &str, opens: &str, closes: &str) -> String {
    let mut rest = html;
    let mut own = String::new();
    while let Some((before, after)) = rest.split_once(opens) {
        own.push_str(before);
        rest = after.split_once(closes).map_or("", |(_, after)| after);
    }
    own + rest
}

/// English words of two languages that are spelt alike don't tell them apart; these do.
#[test]
fn german_report_holds_no_english_sentence() {
    for args in [
        &["review", "samples/fennmarsh", "--lang", "de"][..],
        &["monthly", "samples/fennmarsh", "--lang", "de"],
        &["service", "samples/fennmarsh", "--lang", "de"],
        &[
            "investigation",
            "PL-2:2558",
            "samples/fennmarsh",
            "--lang",
            "de",
        ],
    ] {
        let html = report(args);
        assert!(html.contains("<html lang=\"de\">"));
        // What is quoted from the records is English, and stands in `code`; a publication has its own title.
        let own = without(&without(&html, "<code>", "</code>"), "<cite", "</cite>");
        let text = text_of(&own);
        for word in [
            " the ",
            " and ",
            " not ",
            " read ",
            " of ",
            " with ",
            " records ",
        ] {
            if let Some(at) = text.find(word) {
                let from = text[..at]
                    .char_indices()
                    .rev()
                    .nth(60)
                    .map_or(0, |(at, _)| at);
                let to = text[at..]
                    .char_indices()
                    .nth(60)
                    .map_or(text.len(), |(n, _)| at + n);
                // A remark of the log in quotation marks is the writer's own.
                let around = &text[from..to];
                assert!(
                    around.contains('“') || around.contains('”'),
                    "{args:?}: …{around}…"
                );
            }
        }
        assert!(!text.contains('«'), "{args:?}: a key without a text");
    }
}
