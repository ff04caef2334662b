//! While a load is judged from moment to moment, an answer is kept for as long as the case says that it holds. Against
//! all rules asked afresh at each of those moments, which is what keeping is to save.

use chrono::NaiveDateTime;
use loadbook::judge::case::{Case, Index};
use loadbook::judge::decision::{DecisionStep, RecordIx};
use loadbook::judge::hearing::{Hearing, asked_by};
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::parse::{Strictness, read_inputs};
use loadbook::reconcile::history::{History, Load};
use loadbook::reconcile::{Site, join_history};
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
