//! The answers of the rules for one load, kept from one moment to the next for as long as they hold.
//!
//! A load is judged anew whenever a record comes that may move its decision, which is some fifty times for a load of a
//! busy unit; most of those records are of other loads, and most rules never look at them. So each answer is kept with
//! the moment until which it [holds](Holds), which the [`Case`] knows from what the rule asked it: the earliest record
//! that was looked for and had not come yet. No rule declares anything, and none can forget to.
//!
//! Knows no rule by name but [`cycle_not_completed`], without whose answer in favour nothing is released. Read
//! [`Hearing`] first.

use super::case::Case;
use super::decision::{Decision, Evidence, RuleHit, RuleMet};
use super::holds::{Holds, is_no_earlier};
use super::policy::Policy;
use super::rulebook::{Effect, RULES, Rule, RuleId, Verdict};
use super::rules::cycle_not_completed;
use chrono::NaiveDateTime;

/// What every rule that a policy has answers about one load.
pub struct Hearing {
    answers: Vec<Answer>,
    /// Up to when records counted. `None` before anything was asked.
    asked_at: Option<Option<NaiveDateTime>>,
    /// How long all answers hold, and what was made of them.
    holds: Holds,
}

/// The answer of one rule.
struct Answer {
    rule: &'static Rule,
    effect: Effect,
    verdict: Verdict,
    holds: Holds,
}

impl Answer {
    fn found_something(&self) -> bool {
        matches!(&self.verdict, Verdict::Found(findings) if !findings.is_empty())
    }
}

/// The rules that a policy has asked, with what they do, in the order of the rule book.
pub fn asked_by(policy: &Policy) -> Vec<(&'static Rule, Effect)> {
    RULES
        .iter()
        .filter_map(|rule| Some((*rule, policy.effect(rule.id)?)))
        .collect()
}

impl Hearing {
    /// A hearing by these rules. Nothing is asked yet.
    pub fn by(rules: &[(&'static Rule, Effect)]) -> Self {
        let answers = rules.iter().map(|(rule, effect)| Answer {
            rule,
            effect: *effect,
            verdict: Verdict::NotAsked,
            holds: Holds::Now,
        });
        Hearing {
            answers: answers.collect(),
            asked_at: None,
            holds: Holds::Now,
        }
    }

    /// Whether everything that was last said of the load still holds at a moment.
    pub fn holds_at(&self, moment: Option<NaiveDateTime>) -> bool {
        self.asked_at
            .is_some_and(|before| is_no_earlier(moment, before))
            && self.holds.at(moment)
    }

    /// Asks every rule whose answer no longer holds, and weighs the answers. Every case of a hearing is of the same load.
    pub fn ask(&mut self, case: &Case<'_>) -> (Decision, Vec<RuleId>) {
        let is_later = self
            .asked_at
            .is_some_and(|before| is_no_earlier(case.sight.cutoff(), before));
        let mut all_hold = Holds::ForEver;
        for answer in &mut self.answers {
            if !(is_later && answer.holds.at(case.sight.cutoff())) {
                (answer.verdict, answer.holds) = case.ask(answer.rule);
            }
            all_hold = all_hold.min(answer.holds);
        }
        self.asked_at = Some(case.sight.cutoff());
        let (weighed, holds) = case.note_how_long(|| self.weigh(case));
        self.holds = all_hold.min(holds);
        weighed
    }

    /// The decision, and the rules that made it: those with the most serious effect. Empty for a release.
    fn weigh(&self, case: &Case<'_>) -> (Decision, Vec<RuleId>) {
        let hits = || self.answers.iter().filter(|one| one.found_something());
        let effect = match hits().map(|one| one.effect).max() {
            None | Some(Effect::Note) if self.lacks_completion() => {
                return (Decision::Hold, vec![cycle_not_completed::RULE.id]);
            }
            None | Some(Effect::Note) => return (Decision::Release, Vec::new()),
            Some(effect) => effect,
        };
        let decision = match effect {
            Effect::Note => Decision::Release,
            Effect::Quarantine => Decision::Quarantine,
            Effect::Hold => Decision::Hold,
            Effect::Reject if case.releases().is_empty() => Decision::Reject,
            Effect::Reject => Decision::Recall,
        };
        let rules = hits().filter(|one| one.effect == effect);
        (decision, rules.map(|one| one.rule.id).collect())
    }

    /// Whether nothing speaks against the load, and no printed completion for it.
    fn lacks_completion(&self) -> bool {
        let completed = cycle_not_completed::RULE.id;
        self.answers.iter().all(|one| match one.verdict {
            Verdict::Met(_) => one.rule.id != completed,
            Verdict::NotAsked => true,
            Verdict::Found(_) => !one.found_something() || one.effect == Effect::Note,
        })
    }

    /// What the rules answered when they were last asked: what was found, the most serious effect first, and what was
    /// met.
    pub fn into_answers(self) -> (Vec<RuleHit>, Vec<RuleMet>) {
        let lacks_completion = self.lacks_completion();
        let is_met = |one: &&Answer| matches!(one.verdict, Verdict::Met(_));
        // They are kept for every load, in just the memory that they need.
        let mut met = Vec::with_capacity(self.answers.iter().filter(is_met).count());
        let mut hits = Vec::new();
        for Answer {
            rule,
            effect,
            verdict,
            ..
        } in self.answers
        {
            match verdict {
                Verdict::NotAsked => {}
                Verdict::Met(evidence) => met.push(RuleMet {
                    rule: rule.id,
                    evidence,
                }),
                Verdict::Found(findings) => {
                    hits.extend(findings.into_iter().map(|found| RuleHit {
                        rule: rule.id,
                        effect,
                        seen: found.seen,
                        evidence: found.evidence,
                        remedy: found.remedy,
                    }))
                }
            }
        }
        if lacks_completion {
            // Whatever a policy leaves out: without a printed completion nothing is released.
            hits.push(RuleHit {
                rule: cycle_not_completed::RULE.id,
                effect: Effect::Hold,
                seen: "no printout shows that the cycle was completed".into(),
                evidence: vec![Evidence::absent("no completed cycle for the load")],
                remedy: "find the printout of the load's cycle".into(),
            });
        }
        hits.sort_by_key(|hit| std::cmp::Reverse(hit.effect));
        (hits, met)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::rulebook::{Finding, find_rule};
    use chrono::NaiveDate;

    fn found() -> Verdict {
        Verdict::found("seen", Evidence::absent("nowhere"), "do this")
    }

    fn met() -> Verdict {
        Verdict::Met(Evidence::absent("met"))
    }

    fn hearing(answers: Vec<(&str, Effect, Verdict)>) -> Hearing {
        let answers = answers.into_iter().map(|(id, effect, verdict)| Answer {
            rule: find_rule(id).unwrap(),
            effect,
            verdict,
            holds: Holds::Now,
        });
        Hearing {
            answers: answers.collect(),
            asked_at: None,
            holds: Holds::Now,
        }
    }

    #[test]
    fn completion_is_lacking_where_nothing_is_against_the_load_and_nothing_for_it() {
        let own = "cycle-not-completed";
        for (answers, lacks) in [
            (vec![], true),
            (vec![(own, Effect::Hold, met())], false),
            (vec![(own, Effect::Hold, Verdict::NotAsked)], true),
            (vec![("lot-expired", Effect::Hold, met())], true),
            // What is against it says enough; a remark says nothing against it, and a finding without content nothing at all.
            (vec![("lot-expired", Effect::Hold, found())], false),
            (vec![("lot-expired", Effect::Quarantine, found())], false),
            (vec![("lot-expired", Effect::Note, found())], true),
            (
                vec![("lot-expired", Effect::Hold, Verdict::Found(Vec::new()))],
                true,
            ),
            (
                vec![
                    ("lot-expired", Effect::Note, found()),
                    (own, Effect::Hold, met()),
                ],
                false,
            ),
        ] {
            let hearing = hearing(answers);
            assert_eq!(hearing.lacks_completion(), lacks);
            let (hits, _) = hearing.into_answers();
            let added = hits
                .iter()
                .any(|hit| hit.seen == "no printout shows that the cycle was completed");
            assert_eq!(added, lacks);
        }
    }

    #[test]
    fn most_serious_effect_comes_first_and_of_the_same_the_order_of_the_rules() {
        let findings = vec![
            Finding::new("one", Evidence::absent("-"), "a"),
            Finding::new("two", Evidence::absent("-"), "b"),
        ];
        let (hits, met) = hearing(vec![
            ("lot-expired", Effect::Note, found()),
            ("not-signed", Effect::Hold, Verdict::Found(findings)),
            ("bi-growth", Effect::Reject, found()),
            ("bi-overdue", Effect::Hold, found()),
            ("cycle-not-completed", Effect::Hold, met()),
            ("load-run-again", Effect::Note, Verdict::NotAsked),
        ])
        .into_answers();
        let said: Vec<_> = hits.iter().map(|hit| (hit.rule.0, &*hit.seen)).collect();
        assert_eq!(
            said,
            [
                ("bi-growth", "seen"),
                ("not-signed", "one"),
                ("not-signed", "two"),
                ("bi-overdue", "seen"),
                ("lot-expired", "seen"),
            ]
        );
        assert_eq!(met.len(), 1);
        assert_eq!(met[0].rule.0, "cycle-not-completed");
    }

    #[test]
    fn what_was_said_holds_from_its_moment_until_the_next_record() {
        let at = |hour| {
            let day = NaiveDate::from_ymd_opt(2026, 3, 12).unwrap();
            day.and_hms_opt(hour, 0, 0)
        };
        let mut hearing = hearing(Vec::new());
        // Nothing was asked yet.
        hearing.holds = Holds::ForEver;
        assert!(!hearing.holds_at(at(8)));
        hearing.asked_at = Some(at(8));
        hearing.holds = Holds::Before(at(10).unwrap());
        for (hour, holds) in [(7, false), (8, true), (9, true), (10, false), (11, false)] {
            assert_eq!(hearing.holds_at(at(hour)), holds, "{hour}");
        }
        assert!(!hearing.holds_at(None));
    }

    #[test]
    fn rules_with_the_most_serious_effect_make_the_decision() {
        use crate::judge::case::{InForce, Index};
        use crate::judge::policy::Preset;
        use crate::judge::trial::{PLASMA, history};
        use crate::reconcile::history::LoadIx;
        let released = history(PLASMA);
        let unsigned =
            history(&PLASMA.replace("2026-03-13 09:00 release: P1-0312-01, by MK\n", ""));
        let policy = Preset::Cdc2008.policy();
        let weigh = |history, answers: &[(&str, Effect, bool)]| {
            let index = Index::of(history);
            let policy = (&policy, InForce::Yes);
            let load = &index.history.loads[0];
            let case = Case::at(&index, policy, LoadIx(0), load, None, Vec::new());
            let verdict = |found: bool| if found { self::found() } else { met() };
            let answers = answers
                .iter()
                .map(|(id, effect, found)| (*id, *effect, verdict(*found)));
            let (decision, rules) = hearing(answers.collect()).weigh(&case);
            let rules: Vec<_> = rules.iter().map(|rule| rule.0).collect();
            (decision, rules)
        };
        let own = "cycle-not-completed";
        let reject = ("bi-growth", Effect::Reject, true);
        let holds = [
            ("lot-expired", Effect::Hold, true),
            ("not-signed", Effect::Hold, true),
            ("bi-not-read", Effect::Quarantine, true),
        ];
        let note = ("load-run-again", Effect::Note, true);
        for (answers, decision, rules) in [
            (vec![], Decision::Hold, vec![own]),
            (vec![note], Decision::Hold, vec![own]),
            (vec![(own, Effect::Hold, false)], Decision::Release, vec![]),
            (
                vec![(own, Effect::Hold, false), note],
                Decision::Release,
                vec![],
            ),
            (
                vec![holds[2], note],
                Decision::Quarantine,
                vec!["bi-not-read"],
            ),
            (
                holds.to_vec(),
                Decision::Hold,
                vec!["lot-expired", "not-signed"],
            ),
            (vec![holds[0], reject], Decision::Reject, vec!["bi-growth"]),
        ] {
            assert_eq!(weigh(&unsigned, &answers), (decision, rules.clone()));
            // What a person had let go is called back.
            let decision = match decision {
                Decision::Reject => Decision::Recall,
                other => other,
            };
            assert_eq!(weigh(&released, &answers), (decision, rules));
        }
    }
}
