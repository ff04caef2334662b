//! While a load is judged from moment to moment, an answer is kept for as long as the case says that it holds. Against
//! all rules asked afresh at each of those moments, which is what keeping is to save.

use chrono::NaiveDateTime;
use loadbook::judge::bi_course::is_completed;
use loadbook::judge::bi_test::{Nothing, Standing, find_tests_of};
use loadbook::judge::case::{Case, Index, role};
use loadbook::judge::decision::{DecisionStep, RecordIx};
use loadbook::judge::hearing::{Hearing, asked_by};
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::judge::sight::Sight;
use loadbook::parse::{Strictness, read_inputs};
use loadbook::reconcile::history::{History, Load};
use loadbook::reconcile::{Site, join_history};
use loadbook::record::entry::{BiGrowth, BiRole, EntryBody};
use loadbook::simulate::{Plan, RecordSink, write_practice};
use loadbook::source::gather::Input;
use std::collections::{BTreeMap, BTreeSet};
use std::io;

/// Long enough for indicators that are read after the weekend, for overdue ones, and for growth with what follows.
const N_DAYS: u32 = 24;

#[derive(Default)]
struct Files(BTreeMap<String, Vec<u8>>);

impl RecordSink for Files {
    fn append(&mut self, file: &str, bytes: &[u8]) -> io::Result<()> {
        let file = self.0.entry(file.to_owned()).or_default();
        file.extend_from_slice(bytes);
        Ok(())
    }
}

fn practice() -> History {
    let mut files = Files::default();
    let plan = Plan {
        n_days: N_DAYS,
        ..Plan::of_samples()
    };
    write_practice(&plan, &mut files).unwrap();
    let files = files.0.iter();
    let inputs = files.map(|(name, bytes)| Input::from_bytes(name, bytes));
    let (_, records) = read_inputs(inputs.collect(), Strictness::Infer, |_| ());
    join_history(records.cycles, records.entries, Site::default()).0
}

/// When records of the load itself came: its decision is found at each of these.
fn own_moments(index: &Index<'_>, load: &Load) -> BTreeSet<NaiveDateTime> {
    let entries = [&load.starts, &load.contents, &load.cis, &load.bis];
    let more = [&load.superseded_bis, &load.decisions, &load.remarks];
    let entries = entries.into_iter().chain(more).flatten();
    let entries = entries.map(|ix| RecordIx::Entry(*ix));
    let cycles = load.cycles.iter().map(|ix| RecordIx::Cycle(*ix));
    let records = cycles.chain(entries);
    records.filter_map(|record| index.came(record)).collect()
}

#[test]
fn kept_answers_are_those_of_rules_asked_afresh() {
    let history = practice();
    let index = Index::of(&history);
    let mut n_moments = 0;
    for preset in Preset::ALL {
        let book = PolicyBook::of_preset(*preset);
        for judgement in judge_history(&history, &book, None).loads {
            let load = &history.loads[judgement.load.0];
            let day = index.load_began(load).map(|began| began.date());
            let (policy, in_force) = day.map_or(book.newest(), |day| book.find_policy(day));
            let policy = (&book.policies[policy.0], in_force);
            let steps = &judgement.history;
            let before = |at: NaiveDateTime| {
                let earlier = |step: &&DecisionStep| step.since.is_some_and(|since| since < at);
                steps.iter().filter(earlier).cloned().collect::<Vec<_>>()
            };
            let since = steps.iter().filter_map(|step| step.since);
            let moments = since.chain(own_moments(&index, load));
            for at in moments.collect::<BTreeSet<_>>() {
                let earlier = before(at);
                let case = Case::at(&index, policy, judgement.load, load, Some(at), earlier);
                let (decision, rules) = Hearing::by(&asked_by(policy.0)).ask(&case);
                let stands = steps
                    .iter()
                    .rfind(|step| step.since.is_some_and(|since| since <= at));
                let stands = stands.unwrap();
                assert_eq!(
                    (stands.decision, &stands.rules),
                    (decision, &rules),
                    "{} at {at}",
                    load.number
                );
                n_moments += 1;
            }
            let case = Case::at(&index, policy, judgement.load, load, None, steps.clone());
            let mut afresh = Hearing::by(&asked_by(policy.0));
            assert_eq!(afresh.ask(&case).0, judgement.decision);
            let (hits, met) = afresh.into_answers();
            assert_eq!(
                (hits, met),
                (judgement.hits, judgement.met),
                "{}",
                load.number
            );
        }
    }
    assert!(n_moments > 2_000, "{n_moments} moments are too few to tell");
}

/// Against the tests of each load weighed afresh, at each moment at which a record of an indicator came.
#[test]
fn kept_tests_of_a_unit_are_those_weighed_afresh() {
    let mut history = practice();
    // Those days have neither growth nor a vial that no one reads.
    let vials = history
        .entries
        .iter_mut()
        .filter_map(|known| match &mut known.entry.body {
            EntryBody::Bi(bi) if role(bi) == Some(BiRole::Test) && bi.growth.is_some() => Some(bi),
            _ => None,
        });
    for (at, vial) in vials.enumerate() {
        match at % 7 {
            3 => vial.growth.as_mut().unwrap().value = BiGrowth::Growth,
            5 => (vial.growth, vial.read) = (None, None),
            _ => {}
        }
    }
    let index = Index::of(&history);
    let moments: BTreeSet<_> = history
        .loads
        .iter()
        .flat_map(|load| load.bis.iter().chain(&load.superseded_bis))
        .filter_map(|ix| index.came(RecordIx::Entry(*ix)))
        .collect();
    let (mut n_grown, mut n_satisfactory, mut n_late) = (0, 0, 0);
    for preset in Preset::ALL {
        let book = PolicyBook::of_preset(*preset);
        for (process, schedule) in &book.policies[0].bi {
            for (unit, of_unit) in &index.bi_loads_of_unit {
                if index.units[*unit].process != Some(*process) {
                    continue;
                }
                let kept = of_unit.courses(&index, Some(schedule));
                let kept = kept.get().unwrap();
                let all = 0..of_unit.loads.len();
                let turning: Vec<_> = kept.turning(all.clone()).collect();
                let covering: Vec<_> = kept.covering(all).collect();
                let at_last = moments.iter().copied().map(Some).chain([None]);
                for moment in at_last {
                    let sight = Sight::at(&index, moment);
                    for (_, ix) in &of_unit.loads {
                        let load = &history.loads[ix.0];
                        let afresh = find_tests_of(&sight, Some(schedule), load);
                        let afresh: Vec<_> = afresh
                            .iter()
                            .map(|(test, standing)| (test.ix, standing))
                            .collect();
                        for those in [&turning, &covering] {
                            let Some(of) = those.iter().find(|of| of.ix() == *ix) else {
                                continue;
                            };
                            let tests = of.tests(&sight, Some(schedule));
                            let tests: Vec<_> = tests
                                .iter()
                                .map(|(test, standing)| (test.ix, standing))
                                .collect();
                            assert_eq!(tests, afresh, "{} at {moment:?}", load.number);
                        }
                        let has = |is: fn(&Standing) -> bool| afresh.iter().any(|(_, of)| is(of));
                        let grew = has(|of| *of == Standing::Growth);
                        let bounds =
                            is_completed(&index, load) && has(|of| *of == Standing::Satisfactory);
                        let turned = turning.iter().find(|of| of.ix() == *ix);
                        if grew || bounds {
                            assert!(turned.is_some_and(|of| of.has_turned(&sight)));
                        }
                        if has(|of| !matches!(of, Standing::Proves(_))) {
                            assert!(covering.iter().any(|of| of.ix() == *ix));
                        }
                        n_grown += usize::from(grew);
                        n_satisfactory += usize::from(bounds);
                        n_late +=
                            usize::from(has(|of| *of == Standing::Proves(Nothing::NeverRead)));
                    }
                }
            }
        }
    }
    assert!(
        n_grown > 0 && n_satisfactory > 0,
        "{n_grown}, {n_satisfactory}"
    );
    assert!(n_late > 0, "one that no one read became overdue");
}
