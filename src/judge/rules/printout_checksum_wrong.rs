//! Do the lines of the printout give the checksum that it prints?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Rule, RuleId, Source, Verdict};
use crate::record::cycle::Checksum;

/// Do the lines of the printout give the checksum that it prints?
pub static RULE: Rule = Rule {
    id: RuleId("printout-checksum-wrong"),
    question: "Do the lines of the printout give the checksum that it prints?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[],
    evaluate,
};

fn evaluate(case: &Case<'_>) -> Verdict {
    let Some(known) = case.last() else {
        return Verdict::NotAsked;
    };
    match known.cycle.checksum {
        Checksum::Absent => Verdict::NotAsked,
        Checksum::Agrees { span, .. } => {
            Verdict::Met(Evidence::at(span, "the lines give this checksum"))
        }
        Checksum::Differs {
            printed,
            computed,
            span,
        } => Verdict::found(
            "the lines of the printout do not give the checksum that it prints",
            Evidence::at(
                span,
                format!("printed {printed:08X}, the lines give {computed:08X}"),
            ),
            "compare the printout with the original strip, or print it again",
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn changed_strip_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "outcome: completed\n",
                "outcome: completed\nchecksum: 00000000\n",
            )],
        );
    }

    #[test]
    fn strip_without_checksum_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }
}
