//! The answers of the rules for one load, kept from one moment to the next for as long as they hold.
//!
//! A load is judged anew whenever a record comes that may move its decision, which is some fifty times for a load of a
//! busy unit; most of those records are of other loads, and most rules never look at them. So each answer is kept with
//! the moment until which it [holds](Holds), which the [`Case`] knows from what the rule asked it: the earliest record
//! that was looked for and had not come yet. No rule declares anything, and none can forget to.
//!
//! Knows no rule by name but [`cycle_not_completed`], without whose answer in favour nothing is released. Read
//! [`Hearing`] first.

use super::case::{Case, Holds};
use super::decision::{Decision, Evidence, RuleHit, RuleMet};
use super::policy::Policy;
use super::rulebook::{Effect, RULES, Rule, RuleId, Verdict};
use super::rules::cycle_not_completed;
use chrono::NaiveDateTime;

/// What every rule that a policy has answers about one load.
pub struct Hearing {
    answers: Vec<Answer>,
    /// Up to when records counted. `None` before anything was asked.
    asked_at: Option<Option<NaiveDateTime>>,
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

impl Hearing {
    /// A hearing by the rules of a policy, in the order of the rule book. Nothing is asked yet.
    pub fn under(policy: &Policy) -> Self {
        let answers = RULES.iter().filter_map(|rule| {
            Some(Answer {
                rule,
                effect: policy.effect(rule.id)?,
                verdict: Verdict::NotAsked,
                holds: Holds::Now,
            })
        });
        Hearing {
            answers: answers.collect(),
            asked_at: None,
        }
    }

    /// Asks every rule whose answer no longer holds, and weighs the answers. Every case of a hearing is of the same load.
    pub fn ask(&mut self, case: &Case<'_>) -> (Decision, Vec<RuleId>) {
        // What held at a moment says nothing of an earlier one.
        let is_later = match (self.asked_at, case.cutoff()) {
            (None, _) | (Some(None), Some(_)) => false,
            (Some(Some(before)), Some(now)) => before <= now,
            (Some(_), None) => true,
        };
        for answer in &mut self.answers {
            if !(is_later && answer.holds.at(case.cutoff())) {
                (answer.verdict, answer.holds) = case.ask(answer.rule);
            }
        }
        self.asked_at = Some(case.cutoff());
        self.weigh(case)
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
        let (mut hits, mut met) = (Vec::new(), Vec::new());
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
                seen: "no printout shows that the cycle was completed".to_owned(),
                evidence: vec![Evidence::absent("no completed cycle for the load")],
                remedy: "find the printout of the load's cycle".to_owned(),
            });
        }
        hits.sort_by_key(|hit| std::cmp::Reverse(hit.effect));
        (hits, met)
    }
}
