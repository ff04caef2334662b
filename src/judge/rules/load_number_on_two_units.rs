//! Does no other unit's load carry the same number at about the same time?

use crate::judge::case::{Case, near};
use crate::judge::decision::Evidence;
use crate::judge::rulebook::{Effect, Finding, Parameter, Rule, RuleId, Source, Verdict};
use crate::reconcile::history::LoadIx;

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

/// How many such loads are told one by one.
const MOST_TOLD: usize = 100;

fn evaluate(case: &Case<'_>) -> Verdict {
    let (Some(began), Some(unit)) = (case.began(), case.load.unit.as_ref()) else {
        return Verdict::NotAsked;
    };
    let Some(same) = case.index.loads_by_number.get(&case.load.number) else {
        return Verdict::NotAsked;
    };
    let seconds = case.number(&RULE, &HOURS) * 3_600.0;
    let near = near(same, began, |apart| apart.as_seconds_f64() <= seconds);
    let others = near.filter_map(|(at, ix)| {
        let other_unit = case.index.load(*ix)?.unit.as_ref()?;
        let is_other = *ix != case.ix && other_unit != unit;
        (is_other && case.had_come(Some(*at))).then_some((*ix, other_unit))
    });
    let mut others: Vec<_> = others.take(MOST_TOLD.saturating_add(1)).collect();
    let are_more = others.len() > MOST_TOLD;
    others.truncate(MOST_TOLD);
    others.sort_unstable();
    let number = &case.load.number;
    let told = others.into_iter().map(|(ix, other_unit)| {
        Finding::new(
            format!("a load of {other_unit} carries the same number {number}"),
            find_place(case, ix),
            "find out which records belong to which of the two, and correct the number of one",
        )
    });
    let more = are_more.then(|| {
        Finding::new(
            format!("more than {MOST_TOLD} loads of other units carry the same number {number}"),
            Evidence::absent("the others are not told one by one"),
            "find out what numbers these loads so, and correct the numbers",
        )
    });
    Verdict::found_or_not_asked(told.chain(more).collect())
}

fn find_place(case: &Case<'_>, other: LoadIx) -> Evidence {
    let last = case
        .index
        .load(other)
        .and_then(|load| case.index.cycle(*load.cycles.last()?));
    match last {
        Some(known) => Evidence::at(known.cycle.opening, "the other printout"),
        None => Evidence::absent("the log alone knows it"),
    }
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
