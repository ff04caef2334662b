//! Was a biological indicator run as often as the policy asks?

use crate::judge::bi_test::find_cover;
use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::policy::BiFrequency;
use crate::judge::publication::CDC_2008;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};

/// Was a biological indicator run as often as the policy asks?
pub static RULE: Rule = Rule {
    id: RuleId("bi-schedule-not-kept"),
    question: "Was a biological indicator run as often as the policy asks?",
    sources: &[
        Source::seen(
            CDC_2008,
            2008,
            "biological indicators: at least weekly, preferably every day (via copy)",
        ),
        Source::memory(CDC_2008, 2008, "ethylene oxide: every load"),
    ],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(frequency) = case.frequency() else {
        return Verdict::NotAsked;
    };
    let own: Vec<_> = case.bi_tests().iter().map(|test| test.span()).collect();
    if frequency == BiFrequency::Never {
        return Verdict::NotAsked;
    }
    if !own.is_empty() {
        return Verdict::Met(Evidence::at_all(
            own,
            "the load has a biological indicator of its own",
        ));
    }
    if let Some(test) = find_cover(case) {
        return Verdict::Met(Evidence::at(
            test.span(),
            format!(
                "the biological indicator of another load keeps the schedule: {}",
                frequency.word()
            ),
        ));
    }
    let seen = match frequency {
        BiFrequency::EveryLoad => {
            "the policy asks for a biological indicator in every load, and this one has none"
        }
        BiFrequency::Daily => "no load of the unit that day has a biological indicator that counts",
        _ => "no load of the unit in the seven days before has a biological indicator that counts",
    };
    Verdict::found(
        seen,
        case.place("no biological indicator keeps the schedule for this load"),
        "find the record of the biological indicator; without one nothing shows that the schedule was kept",
    )
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn unit_without_indicators_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[
                ("08:40 bi: P1-0312-01", "08:40 bi: X-1"),
                ("08:41 bi: P1-0312-01", "08:41 bi: X-1"),
                ("08:45 bi: P1-0312-01", "08:45 bi: X-1"),
                ("08:46 bi: P1-0312-01", "08:46 bi: X-1"),
            ],
        );
    }

    #[test]
    fn load_with_its_own_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
