//! Does no other unit's load carry the same number at about the same time?

use crate::judge::case::Case;
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};

/// Does no other unit's load carry the same number at about the same time?
pub static RULE: Rule = Rule {
    id: RuleId("load-number-on-two-units"),
    question: "Does no other unit's load carry the same number at about the same time?",
    sources: &[Source::CommonPractice],
    effect: Effect::Hold,
    floor: None,
    parameters: &[HOURS],
    evaluate,
};

/// How far apart in time two loads of one number on two units are taken for a mistake.
const HOURS: Parameter = Parameter::number(
    "hours",
    "h",
    36.0,
    (0.0, 8760.0),
    "how far apart in time two loads of one number on two units are taken for a mistake",
    Source::CommonPractice,
);

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(began), Some(unit)) = (case.began(), case.load.unit.as_ref()) else {
        return Verdict::NotAsked;
    };
    let hours = case.number(&RULE, &HOURS);
    let same = case.index.loads_by_number.get(&case.load.number);
    let others = same.into_iter().flatten().filter(|ix| **ix != case.ix);
    let findings = others.filter_map(|ix| {
        let other = case.index.load(*ix)?;
        let at = case.index.load_began(other)?;
        let other_unit = other.unit.as_ref().filter(|name| *name != unit)?;
        let near = at.signed_duration_since(began).abs().as_seconds_f64() <= hours * 3_600.0;
        (near && case.had_come(Some(at))).then(|| {
            let span = other
                .cycles
                .last()
                .and_then(|ix| case.index.cycle(*ix))
                .map(|known| known.cycle.opening);
            Finding::new(
                format!(
                    "a load of {other_unit} carries the same number {}",
                    case.load.number
                ),
                span.map_or_else(
                    || Evidence::absent("the log alone knows it"),
                    |span| Evidence::at(span, "the other printout"),
                ),
                "find out which records belong to which of the two, and correct the number of one",
            )
        })
    });
    Verdict::found_or_not_asked(findings.collect())
}

#[cfg(test)]
mod tests {
    use super::RULE;
    use crate::judge::trial::{PLASMA, assert_found, assert_silent};

    #[test]
    fn number_of_one_unit_is_silent() {
        assert_silent(&RULE, PLASMA, &[]);
    }

    #[test]
    fn number_of_a_second_unit_is_found() {
        assert_found(
            &RULE,
            PLASMA,
            &[(
                "loadbook log 1",
                "loadbook printout 1\nunit: PL-2\nprocess: plasma\ncounter: 77\nload: P1-0312-01\nstarted: 2026-03-12 09:10:00\nended: 09:12:00\noutcome: completed\nend\nloadbook log 1",
            )],
        );
    }
}
