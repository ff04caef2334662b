//! The rules' answers → one decision for each load, how it moved as records came, and what would change it.
//!
//! Knows no rule by name; [`hearing`](super::hearing) asks and weighs them. Read [`judge_loads`] first.

use super::bi_test::{loads_around, week_before};
use super::case::{Case, InForce, Index};
use super::decision::{Decision, DecisionStep, Judgement, Judgements, RecordIx, RuleHit};
use super::hearing::{Hearing, asked_by};
use super::policy::{Policy, PolicyBook, PolicyIx};
use super::rulebook::{Effect, Rule, RuleId};
use crate::parallel::Threads;
use crate::reconcile::history::{History, Load, LoadIx};
use crate::record::cycle::Purpose;
use crate::record::name::LotNumber;
use chrono::{NaiveDateTime, TimeDelta};
use std::collections::BTreeMap;

/// Judges every load of which a record had come by `as_of`, on so many threads.
pub fn judge_loads(
    history: &History,
    book: &PolicyBook,
    as_of: Option<NaiveDateTime>,
    threads: Threads,
) -> Judgements {
    let index = Index::of(history);
    let rules: Vec<_> = book.policies.iter().map(asked_by).collect();
    let judge = |at| judge_load(&index, (book, &rules), LoadIx(at), as_of);
    let loads = threads.map_in_order(history.loads.len(), judge);
    Judgements {
        as_of: as_of.or(index.newest),
        loads: loads.into_iter().flatten().collect(),
    }
}

/// Judges one load, by policies and the rules that each has asked. `None` when no record of it had come by `as_of`.
fn judge_load(
    index: &Index<'_>,
    (book, rules): (&PolicyBook, &[Vec<(&'static Rule, Effect)>]),
    ix: LoadIx,
    as_of: Option<NaiveDateTime>,
) -> Option<Judgement> {
    let load = index.load(ix)?;
    let day = index.load_began(load).map(|began| began.date());
    let (policy_ix, in_force) = match day {
        Some(day) => book.find_policy(day),
        // A load without a day is held for it; the newest policy says what else it lacks.
        None => book.newest(),
    };
    let policy = book.policies.get(policy_ix.0)?;

    let records = records_by_moment(index, ix, load, as_of);
    let (first, _) = records.first()?;
    let mut case = Case::at(index, (policy, in_force), ix, load, *first, Vec::new());
    let mut hearing = Hearing::by(rules.get(policy_ix.0)?);
    for of_moment in records.chunk_by(|one, other| one.0 == other.0) {
        let Some((moment, _)) = of_moment.first() else {
            continue;
        };
        // Most records are looked at by no rule.
        if hearing.holds_at(*moment) {
            continue;
        }
        case.go_on_to(*moment);
        let (decision, rules) = hearing.ask(&case);
        note_if_moved(&mut case, *moment, decision, rules, of_moment);
    }
    // Time alone may have moved it since: an indicator that no one read becomes overdue.
    case.go_on_to(as_of);
    let (decision, rules) = hearing.ask(&case);
    let since = case.sight.latest_moment();
    note_if_moved(&mut case, since, decision, rules, &[]);
    let released_by = case.releases().iter().map(|one| one.ix).collect();
    let (hits, met) = hearing.into_answers();
    Some(Judgement {
        load: ix,
        policy: (in_force == InForce::Yes).then_some(policy_ix),
        decision,
        would_change: would_change(decision, &hits),
        hits,
        met,
        history: case.into_decisions(),
        released_by,
    })
}

fn note_if_moved(
    case: &mut Case<'_>,
    since: Option<NaiveDateTime>,
    decision: Decision,
    rules: Vec<RuleId>,
    moved_by: &[(Option<NaiveDateTime>, RecordIx)],
) {
    let moved = case
        .earlier()
        .last()
        .is_none_or(|before| (before.decision, &before.rules) != (decision, &rules));
    if moved {
        case.note_decision(DecisionStep {
            since,
            decision,
            rules,
            moved_by: moved_by.iter().map(|(_, record)| *record).collect(),
        });
    }
}

/// The records that may move the decision with the moments at which they came, oldest first; none before the first
/// record of the load itself.
fn records_by_moment(
    index: &Index<'_>,
    ix: LoadIx,
    load: &Load,
    as_of: Option<NaiveDateTime>,
) -> Vec<(Option<NaiveDateTime>, RecordIx)> {
    let had_come = |moment: NaiveDateTime| as_of.is_none_or(|as_of| moment <= as_of);
    let came = |record: RecordIx| (index.came(record), record);
    let mut records: Vec<_> = own_records(load).map(came).collect();
    let timed = records.iter().filter_map(|(moment, _)| *moment);
    let Some(first) = timed.filter(|moment| had_come(*moment)).min() else {
        // Records without a time alone can't be put in order; they count all at once.
        records.retain(|(moment, _)| moment.is_none());
        return records;
    };
    records.extend(near_records(index, ix, load).into_iter().map(came));
    for (moment, _) in &mut records {
        *moment = Some(moment.unwrap_or(first).max(first));
    }
    records.retain(|(moment, _)| moment.is_none_or(had_come));
    records.sort_unstable();
    records.dedup();
    records
}

fn own_records(load: &Load) -> impl Iterator<Item = RecordIx> + '_ {
    let cycles = load.cycles.iter().map(|ix| RecordIx::Cycle(*ix));
    let entries = load.entries().map(RecordIx::Entry);
    cycles.chain(entries)
}

/// Records of others that a rule may look at: tests of the unit that day, biological indicators of its loads around,
/// controls of the same lots, and the lots that were used.
fn near_records(index: &Index<'_>, ix: LoadIx, load: &Load) -> Vec<RecordIx> {
    let mut records = Vec::new();
    let Some(began) = index.load_began(load) else {
        return records;
    };
    let week = week_before(began);
    for purpose in [Purpose::LeakTest, Purpose::AirRemovalTest] {
        let tests = load
            .unit
            .as_ref()
            .and_then(|unit| index.tests_of_unit.get(&(unit, purpose)))
            .map_or(&[][..], Vec::as_slice);
        let from = tests.partition_point(|(at, _)| *at < week);
        let to = tests.partition_point(|(at, _)| *at <= began);
        let tests = tests.get(from..to).unwrap_or(&[]);
        records.extend(tests.iter().map(|(_, ix)| RecordIx::Cycle(*ix)));
    }
    let around = load
        .unit
        .as_ref()
        .and_then(|unit| index.bi_loads_of_unit.get(unit))
        .map(|of| loads_around(index, &of.loads, began, ix))
        .unwrap_or_default();
    // A control belongs to tests that were put to incubation within a day of it, and those soon after their load began.
    let near = TimeDelta::hours(48);
    let mut lots: BTreeMap<&LotNumber, Vec<NaiveDateTime>> = BTreeMap::new();
    for (at, of) in std::iter::once((began, ix)).chain(around) {
        if let Some(other) = index.load(of)
            && other.number != load.number
        {
            let vials = other.bis.iter().chain(&other.superseded_bis);
            records.extend(vials.map(|ix| RecordIx::Entry(*ix)));
        }
        let vials = index.vials_of(of);
        for lot in vials.map_or(&[][..], |vials| vials.lots.as_slice()) {
            lots.entry(lot).or_default().push(at);
        }
    }
    for (lot, mut times) in lots {
        let Some(controls) = index.controls.get(lot) else {
            continue;
        };
        // Many loads around share a control, which is looked at once.
        times.sort_unstable();
        let timed = controls.near_any(&times, near);
        let all = timed.chain(controls.untimed().iter().copied());
        records.extend(all.map(RecordIx::Entry));
    }
    records
}

fn effect_of(decision: Decision) -> Option<Effect> {
    match decision {
        Decision::Release => None,
        Decision::Quarantine => Some(Effect::Quarantine),
        Decision::Hold => Some(Effect::Hold),
        Decision::Reject | Decision::Recall => Some(Effect::Reject),
    }
}

/// What would change a decision, in plain sentences.
fn would_change(decision: Decision, hits: &[RuleHit]) -> Vec<String> {
    let effect = effect_of(decision);
    let mut said: Vec<String> = Vec::new();
    let mut say = |text: String| {
        if !said.contains(&text) {
            said.push(text);
        }
    };
    match decision {
        Decision::Release => {
            say("Growth of a biological indicator of this load, or any other evidence against it, would turn this into a recall once the load has left.".to_owned());
            return said;
        }
        Decision::Recall => say(
            "No record lets this load count as released: get its packages back, process them again, and judge the new cycle."
                .to_owned(),
        ),
        Decision::Reject => say(
            "The load has to be processed again; the new cycle is judged by its own records."
                .to_owned(),
        ),
        Decision::Quarantine | Decision::Hold => {}
    }
    for hit in hits.iter().filter(|hit| Some(hit.effect) == effect) {
        say(sentence(&hit.remedy));
    }
    let mut left: Vec<&str> = Vec::new();
    let weaker = hits
        .iter()
        .filter(|hit| Some(hit.effect) < effect && hit.effect > Effect::Note);
    for hit in weaker {
        if !left.contains(&hit.rule.0) {
            left.push(hit.rule.0);
        }
    }
    if !left.is_empty() {
        say(format!(
            "After that there still remains: {}.",
            left.join(", ")
        ));
    }
    said
}

fn sentence(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    let mut sentence = format!("{}{}", first.unwrap_or_default(), chars.as_str());
    if !sentence.ends_with(['.', '!', '?']) {
        sentence.push('.');
    }
    sentence
}

impl PolicyBook {
    /// The policy for a day, and whether it is in force on it.
    pub fn find_policy(&self, day: chrono::NaiveDate) -> (PolicyIx, InForce) {
        let holds = |policy: &Policy| {
            policy.from.is_none_or(|from| from <= day) && policy.to.is_none_or(|to| day < to)
        };
        match self.policies.iter().position(holds) {
            Some(at) => (PolicyIx(at), InForce::Yes),
            // Before the first or after the last: the one nearest in time.
            None => {
                let before_all = self
                    .policies
                    .first()
                    .and_then(|first| first.from)
                    .is_some_and(|from| day < from);
                match before_all {
                    true => (PolicyIx(0), InForce::No),
                    false => (self.newest().0, InForce::No),
                }
            }
        }
    }

    /// The newest policy.
    pub fn newest(&self) -> (PolicyIx, InForce) {
        (
            PolicyIx(self.policies.len().saturating_sub(1)),
            InForce::Yes,
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::policy::Preset;
    use chrono::NaiveDate;

    fn hit(rule: &'static str, effect: Effect, remedy: &'static str) -> RuleHit {
        RuleHit {
            rule: RuleId(rule),
            effect,
            seen: "seen".into(),
            evidence: Vec::new(),
            remedy: remedy.into(),
        }
    }

    #[test]
    fn what_would_change_a_decision_is_said_for_its_own_rules_first() {
        let hits = [
            hit("bi-growth", Effect::Reject, "quarantine the unit"),
            hit("lot-expired", Effect::Hold, "find the box"),
            hit("lot-not-stated", Effect::Hold, "find the box"),
            hit("not-signed", Effect::Hold, "sign it!"),
            hit("bi-not-read", Effect::Quarantine, "read it"),
            hit("bi-not-read", Effect::Quarantine, "read the other"),
            hit("load-run-again", Effect::Note, "look"),
        ];
        assert_eq!(
            would_change(Decision::Reject, &hits),
            [
                "The load has to be processed again; the new cycle is judged by its own records.",
                "Quarantine the unit.",
                // Each rule once, in their order; what is only noted does not remain.
                "After that there still remains: lot-expired, lot-not-stated, not-signed, bi-not-read.",
            ]
        );
        let recall = would_change(Decision::Recall, &hits);
        assert!(recall[0].starts_with("No record lets this load count as released"));
        assert_eq!(recall[1], "Quarantine the unit.");
        assert_eq!(
            would_change(Decision::Hold, &hits[1..]),
            [
                "Find the box.",
                "Sign it!",
                "After that there still remains: bi-not-read.",
            ]
        );
        // What is stronger than the decision is no part of what comes after it.
        assert_eq!(
            would_change(Decision::Quarantine, &hits),
            ["Read it.", "Read the other."]
        );
        let release = would_change(Decision::Release, &hits[6..]);
        assert_eq!(release.len(), 1);
        assert!(release[0].starts_with("Growth of a biological indicator of this load"));
    }

    #[test]
    fn sentence_begins_in_a_capital_and_ends_once() {
        for (text, said) in [
            ("", "."),
            ("ä", "Ä."),
            ("find it", "Find it."),
            ("find it.", "Find it."),
            ("found?", "Found?"),
            ("find it!", "Find it!"),
        ] {
            assert_eq!(sentence(text), said);
        }
    }

    #[test]
    fn policy_is_in_force_from_its_first_day_to_the_day_before_its_last() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let policy = |from: &str, to: &str| {
            let mut policy = Preset::Cdc2008.policy();
            policy.from = from.parse().ok();
            policy.to = to.parse().ok();
            policy
        };
        let book = PolicyBook {
            policies: vec![
                policy("2025-01-01", "2026-01-01"),
                policy("2026-01-01", "2027-01-01"),
            ],
        };
        for (of, at, in_force) in [
            ("2024-12-31", 0, InForce::No),
            ("2025-01-01", 0, InForce::Yes),
            ("2025-12-31", 0, InForce::Yes),
            ("2026-01-01", 1, InForce::Yes),
            ("2026-12-31", 1, InForce::Yes),
            ("2027-01-01", 1, InForce::No),
        ] {
            assert_eq!(book.find_policy(day(of)), (PolicyIx(at), in_force), "{of}");
        }
        assert_eq!(book.newest(), (PolicyIx(1), InForce::Yes));
        let always = PolicyBook::of_preset(Preset::Cdc2008);
        assert_eq!(
            always.find_policy(day("1970-01-01")),
            (PolicyIx(0), InForce::Yes)
        );
    }

    #[test]
    fn effect_of_a_decision_is_that_of_the_rules_that_made_it() {
        for (decision, effect) in [
            (Decision::Release, None),
            (Decision::Quarantine, Some(Effect::Quarantine)),
            (Decision::Hold, Some(Effect::Hold)),
            (Decision::Reject, Some(Effect::Reject)),
            (Decision::Recall, Some(Effect::Reject)),
        ] {
            assert_eq!(effect_of(decision), effect);
        }
    }

    /// The steps of the base's load: since when, the decision, and how the lines begin that moved it.
    fn steps(text: &str, as_of: Option<&str>) -> Vec<(String, &'static str, Vec<String>)> {
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let judgement = crate::judge::trial::judge(text, &book, as_of.map(moment));
        let history = crate::judge::trial::history(text);
        let line = |record: &RecordIx| {
            let line = match record {
                RecordIx::Cycle(ix) => history.cycles[ix.0].cycle.opening.line,
                RecordIx::Entry(ix) => history.entries[ix.0].entry.span.line,
            };
            let line = text.lines().nth(line as usize - 1).unwrap();
            line.split(',').next().unwrap().to_owned()
        };
        let steps = judgement.history.iter().map(|step| {
            let since = step.since.map(|since| since.format("%d %H:%M").to_string());
            let moved_by = step.moved_by.iter().map(line).collect();
            (since.unwrap_or_default(), step.decision.word(), moved_by)
        });
        steps.collect()
    }

    use crate::judge::trial::{PLASMA, STEAM, edited, moment};

    fn owned(steps: &[(&str, &'static str, &[&str])]) -> Vec<(String, &'static str, Vec<String>)> {
        let texts = |texts: &[&str]| texts.iter().map(|text| (*text).to_owned()).collect();
        let steps = steps.iter();
        steps
            .map(|(since, decision, by)| ((*since).to_owned(), *decision, texts(by)))
            .collect()
    }

    #[test]
    fn decision_moves_with_each_record_that_it_waited_for() {
        // The log's order: load, content, strip, both chemical indicators, the vials, their readings on the next day.
        assert_eq!(
            steps(PLASMA, None),
            owned(&[
                ("12 07:35", "hold", &["07:35 load: P1-0312-01"]),
                ("12 07:36", "hold", &["07:36 content: P1-0312-01"]),
                ("12 08:22", "hold", &["loadbook printout 1"]),
                ("12 08:25", "hold", &["08:25 ci: P1-0312-01"]),
                ("12 08:31", "hold", &["08:31 ci: P1-0312-01"]),
                ("12 08:40", "quarantine", &["08:40 bi: P1-0312-01"]),
                (
                    "13 08:45",
                    "quarantine",
                    &["2026-03-13 08:45 bi: P1-0312-01"]
                ),
                ("13 08:46", "release", &["2026-03-13 08:46 bi: P1-0312-01"]),
            ])
        );
        // Records up to the moment asked for count, that moment taken in.
        let last = |as_of| steps(PLASMA, Some(as_of)).pop().unwrap().1;
        assert_eq!(last("2026-03-13 08:45"), "quarantine");
        assert_eq!(last("2026-03-13 08:46"), "release");
        assert_eq!(steps(PLASMA, Some("2026-03-12 07:35")).len(), 1);
        // Before its first record there is no load to judge.
        let history = crate::judge::trial::history(PLASMA);
        let book = PolicyBook::of_preset(Preset::Cdc2008);
        let as_of = Some(moment("2026-03-12 07:34"));
        assert!(
            crate::judge::judge_history(&history, &book, as_of)
                .loads
                .is_empty()
        );
    }

    #[test]
    fn tests_of_the_unit_in_the_week_before_move_its_loads() {
        let leak = "started: 2026-03-12 06:10:00\nstage: evacuate, at 06:10:05, limit pressure 70 mbar max\n06:15:05 pressure 48.0 mbar\nstage: settle, at 06:15:10\n06:20:10 pressure 50.1 mbar\nstage: hold, at 06:20:10\n06:30:10 pressure 55.3 mbar\nleak: 0.52 mbar/min, limit 1.3 mbar/min\nended: 06:31:00";
        let n_first = |started: &str, ended: &str| {
            let to = format!(
                "started: {started}\nleak: 0.52 mbar/min, limit 1.3 mbar/min\nended: {ended}"
            );
            let text = edited(STEAM, &[(leak, &to)]);
            steps(&text, None)[0].2.len()
        };
        // The load began on 12 March at 07:41:20. With both tests its entry is the third record of the first moment.
        assert_eq!(n_first("2026-03-12 06:10:00", "06:31:00"), 3);
        assert_eq!(n_first("2026-03-05 07:41:20", "08:00:00"), 3);
        assert_eq!(n_first("2026-03-05 07:41:19", "08:00:00"), 2);
    }

    #[test]
    fn records_of_other_loads_move_a_decision_at_their_moment() {
        // The control lies with another load of the log.
        let elsewhere = edited(
            PLASMA,
            &[
                ("08:41 bi: P1-0312-01", "08:41 bi: P1-0312-09"),
                ("08:46 bi: P1-0312-01", "08:46 bi: P1-0312-09"),
            ],
        );
        assert_eq!(
            steps(&elsewhere, None).pop(),
            owned(&[("13 08:46", "release", &["2026-03-13 08:46 bi: P1-0312-09"])]).pop()
        );
        // Another load of the unit grows, and the load has no indicator of its own.
        let other = "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\nprogram: standard\nload: X9-LOAD\n\
            started: 2026-03-12 09:41:20\nended: 09:50:00\noutcome: completed\nend\nloadbook log 1\nzone: Europe/London\n\
            2026-03-12 10:00 bi: X9-LOAD, role test, lot B9, incubated 2026-03-12 10:00\n\
            2026-03-14 10:00 bi: X9-LOAD, role test, lot B9, incubated 2026-03-12 10:00, read 2026-03-14 10:00, result growth\n";
        let without = [
            (
                "08:40 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, by HB\n",
                "",
            ),
            (
                "2026-03-13 08:45 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no growth, by MK\n",
                "",
            ),
        ];
        let text = edited(&format!("{PLASMA}{other}"), &without);
        // It was released by a person on the 13th: evidence against it makes a recall.
        assert_eq!(
            steps(&text, None).pop(),
            owned(&[("14 10:00", "recall", &["2026-03-14 10:00 bi: X9-LOAD"])]).pop()
        );
        let unsigned = text.replace("2026-03-13 09:00 release: P1-0312-01, by MK\n", "");
        assert_eq!(steps(&unsigned, None).pop().unwrap().1, "reject");
    }

    #[test]
    fn policy_that_was_not_in_force_is_not_named() {
        let judged = |to: &str| {
            let text = format!("preset = \"cdc-2008\"\n{to}");
            let book = PolicyBook::read_policies(&[("site.toml", &text)]).unwrap();
            crate::judge::trial::judge(PLASMA, &book, None).policy
        };
        // The base's load is of 12 March 2026.
        assert_eq!(judged(""), Some(PolicyIx(0)));
        assert_eq!(judged("to = 2026-03-13\n"), Some(PolicyIx(0)));
        assert_eq!(judged("to = 2026-03-12\n"), None);
        assert_eq!(judged("from = 2026-03-13\n"), None);
    }
}
