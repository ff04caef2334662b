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
                seen: "no printout shows that the cycle was completed".into(),
                evidence: vec![Evidence::absent("no completed cycle for the load")],
                remedy: "find the printout of the load's cycle".into(),
            });
        }
        hits.sort_by_key(|hit| std::cmp::Reverse(hit.effect));
        (hits, met)
    }
}
