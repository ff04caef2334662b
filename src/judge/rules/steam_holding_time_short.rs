//! Was the temperature held for the least time of its band?

use crate::diagnose::Span;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::publication::{CDC_2008, EN_285, HTM_01_01};
use crate::judge::rulebook::{Effect, Known, Parameter, Rule, RuleId, Source, Verdict};
use crate::judge::stages::{say_seconds, stages_named};
use crate::judge::steam_band::{Pair, held_seconds};
use crate::record::cycle::{Process, StageName};

/// Was the temperature held for the least time of its band?
pub static RULE: Rule = Rule {
    id: RuleId("steam-holding-time-short"),
    question: "Was the temperature held for the least time of its band?",
    sources: &[
        Source::memory(EN_285, 2015, "sterilization temperature bands"),
        Source::memory(HTM_01_01, 2016, "part C: 134-137, 126-129, 121-124 C"),
        Source::seen(CDC_2008, 2008, "Table 7: 4 min at 132 C in prevacuum"),
    ],
    effect: Effect::Reject,
    floor: None,
    parameters: &[PAIRS],
    evaluate,
};

/// The bands of exposure with the least time in each.
const PAIRS: Parameter = Parameter::words(
    "pairs",
    &[
        "134-137 C 3 min",
        "132-135 C 4 min",
        "126-129 C 10 min",
        "121-124 C 15 min",
    ],
    check_pair,
    "the bands of exposure with the least time in each",
    Source::Published {
        title: CDC_2008,
        year: Some(2008),
        section: "Table 7 (132 C, 4 min: seen); 134/3, 126/10 and 121/15: Medical Research Council pairs in the Central Sterilising Club handbook, Table 10.2 (seen); the bands of 3 K: HTM 01-01 part C (from memory)",
        known: Known::Seen,
    },
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(known), Some(Process::Steam)) = (case.completed(), case.process()) else {
        return Verdict::NotAsked;
    };
    let cycle = &known.cycle;
    let pairs: Vec<Pair> = case
        .words(&RULE, &PAIRS)
        .iter()
        .filter_map(|word| Pair::read(word))
        .collect();
    let mut longest: Option<(f64, Held)> = None;
    for (at, stage) in stages_named(cycle, &StageName::Expose) {
        for pair in &pairs {
            let seconds = held_seconds(cycle, at, stage, pair.band);
            let share = seconds / pair.seconds;
            if longest.as_ref().is_none_or(|(best, _)| share > *best) {
                longest = Some((
                    share,
                    Held {
                        pair: *pair,
                        seconds,
                        span: stage.span,
                    },
                ));
            }
        }
    }
    let Some((share, held)) = longest else {
        return Verdict::NotAsked;
    };
    let said = format!(
        "{} within {} to {} C",
        say_seconds(held.seconds),
        held.pair.band.least,
        held.pair.band.most
    );
    if share >= 1.0 {
        return Verdict::Met(Evidence::at(held.span, format!("held for {said}")));
    }
    Verdict::found(
        format!(
            "the temperature was held for {said}, less than the {} that this band asks",
            say_seconds(held.pair.seconds)
        ),
        Evidence::at(held.span, "the exposure as printed"),
        "have the unit looked at and process the load again",
    )
}

struct Held {
    pair: Pair,
    seconds: f64,
    span: Span,
}

fn check_pair(word: &str) -> Result<(), String> {
    Pair::read(word)
        .map(|_| ())
        .ok_or_else(|| format!("`{word}` is not a pair such as `134-137 C 3 min`"))
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{STEAM, assert_found, assert_silent};

    #[test]
    fn hold_of_two_minutes_fifty_nine_is_found() {
        assert_found(
            &RULE,
            STEAM,
            &[
                (
                    "limit duration 3 min min\n07:52:15",
                    "limit duration 2 min min\n07:52:15",
                ),
                (
                    "07:55:15 pressure 3.1400 bar, temperature 135.2 C\nstage: exhaust, at 07:55:20",
                    "07:55:08 pressure 3.1400 bar, temperature 135.2 C\nstage: exhaust, at 07:55:09",
                ),
            ],
        );
    }

    #[test]
    fn hold_of_three_minutes_is_silent() {
        assert_silent(
            &RULE,
            STEAM,
            &[(
                "07:55:15 pressure 3.1400 bar, temperature 135.2 C\nstage: exhaust, at 07:55:20",
                "07:55:08 pressure 3.1400 bar, temperature 135.2 C\nstage: exhaust, at 07:55:10",
            )],
        );
    }
}
