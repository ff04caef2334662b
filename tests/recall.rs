//! Recall scopes, held against an oracle that knows nothing but a flat list of cycles, and against cases worked out by
//! hand from the wording of the guideline.
//!
//! CDC, Guideline for Disinfection and Sterilization in Healthcare Facilities, 2008, recommendations on biological
//! indicators (seen via copy): "treat as nonsterile all items that have been processed in that sterilizer, dating from
//! the sterilization cycle having the last negative biologic indicator to the next cycle showing satisfactory biologic
//! indicator results"; Table 12 (seen via copy) for steam.

use super::proptest_settings;
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use loadbook::judge::decision::Decision;
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::judge::recall::{
    Call, End, Path, Per, Recall, Row, Start, WhyEverything, WhyNotEnding, find_recalls,
};
use loadbook::judge::rulebook::{RuleId, Value};
use loadbook::parse::{Strictness, read_bytes};
use loadbook::reconcile::history::History;
use loadbook::reconcile::{Site, join_history};
use proptest::prelude::*;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;

/// What a cycle of a flat list did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Did {
    Completed,
    Aborted,
    Torn,
    /// The log has the load, and no printout is there.
    LogOnly,
    /// Neither printout nor log.
    Lost,
}

/// What became of the biological indicator of a cycle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Test {
    None,
    Grew,
    Negative,
    DeadControl,
    NoControl,
    ControlOfOtherLot,
    ReadTooEarly,
    ReadTooLate,
    NotRead,
}

/// A cycle of a flat list.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Flat {
    unit: usize,
    program: usize,
    did: Did,
    test: Test,
    implant: bool,
}

const UNITS: [&str; 2] = ["PL-1", "PL-2"];
const PROGRAMS: [&str; 2] = ["standard", "lumen"];

fn flat(test: Test) -> Flat {
    Flat {
        unit: 0,
        program: 0,
        did: Did::Completed,
        test,
        implant: false,
    }
}

fn start_of(at: usize) -> NaiveDateTime {
    let first = NaiveDate::from_ymd_opt(2026, 3, 2)
        .unwrap()
        .and_hms_opt(7, 0, 0)
        .unwrap();
    first + TimeDelta::hours(3 * at as i64)
}

/// The number of a load. No two are a slip of the hand apart.
fn number(at: usize) -> String {
    format!(
        "{}{}-LOAD",
        char::from(b'A' + (at / 26) as u8),
        char::from(b'A' + (at % 26) as u8)
    )
    .repeat(2)
}

fn stamp(at: NaiveDateTime) -> String {
    at.format("%Y-%m-%d %H:%M").to_string()
}

/// The records of a list of cycles, as printouts and log. Counters run on for each unit, also through lost cycles.
fn records(list: &[Flat], process: &str) -> String {
    let mut strips = String::new();
    let mut entries: Vec<(NaiveDateTime, String)> = Vec::new();
    let mut counters = [100_u32; 2];
    for (at, one) in list.iter().enumerate() {
        let began = start_of(at);
        let (unit, program, load) = (UNITS[one.unit], PROGRAMS[one.program], number(at));
        counters[one.unit] += 1;
        let counter = counters[one.unit];
        if !matches!(one.did, Did::LogOnly | Did::Lost) {
            let clock = |minutes: i64| (began + TimeDelta::minutes(minutes)).format("%H:%M:%S");
            write!(
                strips,
                "loadbook printout 1\nunit: {unit}\nzone: Europe/London\nprocess: {process}\nprogram: {program}\n\
                 counter: {counter}\nload: {load}\nstarted: {}\n",
                began.format("%Y-%m-%d %H:%M:%S")
            )
            .unwrap();
            if process == "steam" {
                // Saturated steam at 134.5 °C is 309.1 kPa (IAPWS R7-97, region 4); six minutes of it lack nothing.
                write!(
                    strips,
                    "stage: condition, at {}\n{} pressure 101.0 kPa, temperature 90.0 C\n",
                    clock(1),
                    clock(2)
                )
                .unwrap();
                writeln!(strips, "stage: expose, at {}", clock(10)).unwrap();
                for minute in 10..=16 {
                    writeln!(
                        strips,
                        "{} pressure 309.1 kPa, temperature 134.5 C",
                        clock(minute)
                    )
                    .unwrap();
                }
                write!(
                    strips,
                    "stage: exhaust, at {}\nstage: dry, at {}\n",
                    clock(16),
                    clock(18)
                )
                .unwrap();
            } else {
                writeln!(strips, "stage: evacuate, at {}", clock(1)).unwrap();
            }
            match one.did {
                Did::Torn => {}
                Did::Aborted => {
                    write!(strips, "ended: {}\noutcome: aborted\nend\n", clock(40)).unwrap()
                }
                _ => write!(strips, "ended: {}\noutcome: completed\nend\n", clock(40)).unwrap(),
            }
        }
        if one.did == Did::Lost {
            continue;
        }
        let implant = if one.implant { "yes" } else { "no" };
        entries.push((
            began,
            format!("load: {load}, unit {unit}, counter {counter}, program {program}, by HB"),
        ));
        entries.push((began, format!("content: {load}, set Tray {at}, items 3, packages 2, implant {implant}, to theatre 1")));
        let put = began + TimeDelta::hours(1);
        let (hours, growth, control) = match one.test {
            Test::None => continue,
            Test::Grew => (Some(30), "growth", Some(("", "growth"))),
            Test::Negative => (Some(30), "no growth", Some(("", "growth"))),
            Test::DeadControl => (Some(30), "no growth", Some(("", "no growth"))),
            Test::NoControl => (Some(30), "no growth", None),
            Test::ControlOfOtherLot => (Some(30), "no growth", Some(("X", "growth"))),
            Test::ReadTooEarly => (Some(2), "no growth", Some(("", "growth"))),
            Test::ReadTooLate => (Some(24 * 9), "no growth", Some(("", "growth"))),
            Test::NotRead => (None, "", None),
        };
        // A lot for each load, so that no load's control serves another.
        let lot = format!("B{at}");
        match hours {
            None => {
                for role in ["test", "control"] {
                    let vial = format!(
                        "bi: {load}, role {role}, lot {lot}, incubated {}, by HB",
                        stamp(put)
                    );
                    entries.push((put, vial));
                }
            }
            Some(hours) => {
                let read = put + TimeDelta::hours(hours);
                let vial = |role: &str, lot: &str, result: &str| {
                    format!(
                        "bi: {load}, role {role}, lot {lot}, incubated {}, read {}, result {result}, by HB",
                        stamp(put),
                        stamp(read)
                    )
                };
                entries.push((read, vial("test", &lot, growth)));
                if let Some((other, result)) = control {
                    entries.push((read, vial("control", &format!("{lot}{other}"), result)));
                }
            }
        }
    }
    entries.sort_by_key(|(at, _)| *at);
    let mut text = strips;
    text.push_str("loadbook log 1\nzone: Europe/London\n");
    for (at, entry) in entries {
        writeln!(text, "{} {entry}", stamp(at)).unwrap();
    }
    text
}

fn history(text: &str) -> History {
    let read = read_bytes(text.as_bytes(), Strictness::Infer);
    assert!(read.unread.is_empty(), "{:?}\n{text}", read.unread);
    join_history(read.cycles, read.entries, Site::default()).0
}

fn book(parameters: &[(&'static str, &str)]) -> PolicyBook {
    let mut book = PolicyBook::of_preset(Preset::Cdc2008);
    for policy in &mut book.policies {
        let setting = policy.rules.get_mut(&RuleId("bi-growth-in-unit")).unwrap();
        for (name, word) in parameters {
            setting
                .parameters
                .insert(name, Value::Words(vec![(*word).to_owned()]));
        }
    }
    book
}

fn recalls(list: &[Flat], process: &str, book: &PolicyBook) -> (History, Vec<Recall>) {
    let history = history(&records(list, process));
    let recalls = find_recalls(&history, book, None);
    (history, recalls)
}

/// The places in the list of the loads that a recall calls so.
fn called(history: &History, recall: &Recall, call: Call) -> BTreeSet<usize> {
    let numbers: BTreeMap<String, usize> = (0..200).map(|at| (number(at), at)).collect();
    recall
        .rows
        .iter()
        .filter_map(|row| match row {
            Row::Run { run, pieces, .. } if pieces.iter().any(|piece| piece.call == call) => {
                run.load
            }
            _ => None,
        })
        .map(|load| numbers[&history.loads[load.0].number.0])
        .collect()
}

/// The oracle: a cycle is in the scope of a growth when it is of its unit (and program), was processed or may have
/// been, and no cycle with a satisfactory indicator is it or lies between the two. It looks at pairs in the flat list
/// and shares nothing with the code.
fn in_scope(list: &[Flat], growth: usize, other: usize, by_program: bool) -> bool {
    let (a, b) = (list[growth], list[other]);
    let same = |c: &Flat| c.unit == a.unit && (!by_program || c.program == a.program);
    let bounds = |c: &Flat| same(c) && c.did == Did::Completed && c.test == Test::Negative;
    let (first, last) = (growth.min(other), growth.max(other));
    same(&b)
        && !matches!(b.did, Did::Lost | Did::Aborted)
        && !bounds(&b)
        && !list[first..=last].iter().any(bounds)
}

fn is_growth(one: &Flat) -> bool {
    one.test == Test::Grew && one.did != Did::Lost
}

fn any_flat() -> impl Strategy<Value = Flat> {
    let did = prop_oneof![
        10 => Just(Did::Completed),
        1 => Just(Did::Aborted),
        1 => Just(Did::Torn),
        1 => Just(Did::LogOnly),
        1 => Just(Did::Lost),
    ];
    let test = prop_oneof![
        6 => Just(Test::None),
        3 => Just(Test::Grew),
        6 => Just(Test::Negative),
        1 => Just(Test::DeadControl),
        1 => Just(Test::NoControl),
        1 => Just(Test::ControlOfOtherLot),
        1 => Just(Test::ReadTooEarly),
        1 => Just(Test::ReadTooLate),
        1 => Just(Test::NotRead),
    ];
    (0..2usize, 0..2usize, did, test, any::<bool>()).prop_map(
        |(unit, program, did, test, implant)| Flat {
            unit,
            program,
            did,
            test,
            implant,
        },
    )
}

proptest! {
    #![proptest_config(proptest_settings(300))]

    /// Not steam: each load to be got back is in the oracle's scope of a growth, and each of the oracle's is got back.
    #[test]
    fn scopes_are_those_of_the_oracle(list in proptest::collection::vec(any_flat(), 1..30), by_program in any::<bool>()) {
        let book = if by_program { book(&[("scope", "program")]) } else { book(&[]) };
        let (history, recalls) = recalls(&list, "plasma", &book);
        let growths: Vec<usize> = (0..list.len()).filter(|at| is_growth(&list[*at])).collect();
        let mut found = BTreeSet::new();
        for recall in &recalls {
            let grown: BTreeSet<usize> = recall.growths.iter().map(|growth| {
                let load = &history.loads[growth.load.unwrap().0];
                (0..list.len()).find(|at| number(*at) == load.number.0).unwrap()
            }).collect();
            let back = called(&history, recall, Call::Back);
            // All growing indicators of one sheet have the same scope.
            for growth in &grown {
                let truth: BTreeSet<usize> =
                    (0..list.len()).filter(|other| in_scope(&list, *growth, *other, by_program)).collect();
                prop_assert_eq!(&back, &truth, "growth at {} of {:?}", growth, list);
                found.insert(*growth);
            }
        }
        prop_assert_eq!(found.into_iter().collect::<Vec<_>>(), growths);
    }

    /// A lost cycle between two printed ones of the unit is said in a scope exactly when it lies in it.
    #[test]
    fn gaps_within_a_scope_are_said(list in proptest::collection::vec(any_flat(), 1..30)) {
        let (history, recalls) = recalls(&list, "plasma", &book(&[]));
        for recall in &recalls {
            let unit = UNITS.iter().position(|unit| recall.unit.as_deref() == Some(unit)).unwrap();
            let growth = &history.loads[recall.growths[0].load.unwrap().0].number.0;
            let growth = (0..list.len()).find(|at| number(*at) == *growth).unwrap();
            let of_unit = |one: &Flat| one.unit == unit;
            let printed = |one: &Flat| of_unit(one) && !matches!(one.did, Did::Lost | Did::LogOnly);
            let bounds = |one: &Flat| of_unit(one) && one.did == Did::Completed && one.test == Test::Negative;
            let mut n_truth = 0;
            for (at, one) in list.iter().enumerate() {
                let (first, last) = (growth.min(at), growth.max(at));
                let has_neighbours = list[..at].iter().any(printed) && list[at..].iter().any(printed);
                if of_unit(one) && !printed(one) && has_neighbours && !list[first..=last].iter().any(bounds) {
                    n_truth += 1;
                }
            }
            let n_said: u32 = recall.rows.iter().map(|row| match row {
                Row::Missing(missing) => missing.n_missing(),
                Row::Run { .. } => 0,
            }).sum();
            prop_assert_eq!(n_said, n_truth, "{:?}", list);
        }
    }

    /// Taking a satisfactory indicator away never makes a scope smaller, and nothing in a scope counts as a release.
    #[test]
    fn fewer_negatives_never_make_a_scope_smaller(
        list in proptest::collection::vec(any_flat(), 1..20),
        taken in any::<prop::sample::Index>(),
    ) {
        let book = book(&[]);
        let (before, scopes) = recalls(&list, "plasma", &book);
        let mut fewer = list.clone();
        let at = taken.index(list.len());
        if fewer[at].test == Test::Negative {
            fewer[at].test = Test::DeadControl;
        }
        let (after, wider) = recalls(&fewer, "plasma", &book);
        let all = |history: &History, recalls: &[Recall]| -> BTreeSet<usize> {
            recalls.iter().flat_map(|recall| called(history, recall, Call::Back)).collect()
        };
        prop_assert!(all(&before, &scopes).is_subset(&all(&after, &wider)));
        let judgements = judge_history(&before, &book, None);
        for load in scopes.iter().flat_map(Recall::loads_back) {
            let decision = judgements.of(load).map(|judgement| judgement.decision);
            prop_assert_ne!(decision, Some(Decision::Release));
        }
    }

    /// The sheet and the rules that judge single loads draw the same scope: every load to be got back has a growing
    /// indicator of its own or is found by the rule of the unit, and no other load is. Loads without a printout are left
    /// out: their place is known less well, and they are held for it.
    #[test]
    fn sheet_and_rule_agree(
        list in proptest::collection::vec(any_flat(), 1..24),
        words in (prop_oneof![Just("unit"), Just("program")], prop_oneof![Just("outside"), Just("inside")]),
    ) {
        let book = book(&[("scope", words.0), ("last-negative", words.1)]);
        let (history, recalls) = recalls(&list, "plasma", &book);
        let judgements = judge_history(&history, &book, None);
        let back: BTreeSet<usize> = recalls.iter().flat_map(|recall| called(&history, recall, Call::Back)).collect();
        for judgement in &judgements.loads {
            let load = &history.loads[judgement.load.0];
            let at = (0..list.len()).find(|at| number(*at) == load.number.0).unwrap();
            if !matches!(list[at].did, Did::Completed | Did::Torn) {
                continue;
            }
            let found = judgement.hits.iter().any(|hit| ["bi-growth", "bi-growth-in-unit"].contains(&hit.rule.0));
            prop_assert_eq!(found, back.contains(&at), "load {} of {:?}", at, list);
        }
    }

    /// Steam, by the preset: the oracle counts rows of three satisfactory indicators in the flat list.
    #[test]
    fn steam_follows_the_table_of_repeats(list in proptest::collection::vec(any_flat(), 1..24)) {
        let mut list = list;
        for one in &mut list {
            // Program and lost cycles are other tests' matter; what speaks against a load beside its BI is too.
            one.program = 0;
            if matches!(one.did, Did::Torn | Did::Aborted) && one.test == Test::Grew {
                one.test = Test::None;
            }
        }
        let (history, recalls) = recalls(&list, "steam", &book(&[]));
        for recall in &recalls {
            let growths: Vec<usize> = recall.growths.iter().map(|growth| {
                let load = &history.loads[growth.load.unwrap().0].number.0;
                (0..list.len()).find(|at| number(*at) == *load).unwrap()
            }).collect();
            // Cycles of the unit alone, with their places in the list.
            let own: Vec<usize> = (0..list.len()).filter(|at| list[*at].unit == list[growths[0]].unit).collect();
            // A lost cycle at the end of a unit's records leaves no gap in its counters.
            let last_printed = own.iter().rposition(|at| !matches!(list[*at].did, Did::Lost | Did::LogOnly));
            let known: Vec<usize> = own.iter().enumerate()
                .filter(|(n, at)| list[**at].did != Did::Lost || last_printed.is_some_and(|last| *n < last))
                .map(|(_, at)| *at).collect();
            let negative = |at: usize| list[at].did == Did::Completed && list[at].test == Test::Negative;
            // Whether three satisfactory ones stand in a row strictly between two places of `known`.
            let three = |from: usize, to: usize| {
                known.get(from..to).unwrap_or_default().windows(3).any(|w| w.iter().all(|at| negative(*at)))
            };
            let places: Vec<usize> = growths.iter().map(|at| known.iter().position(|own| own == at).unwrap()).collect();
            let others: Vec<usize> = known.iter().enumerate().filter(|(_, at)| is_growth(&list[**at])).map(|(n, _)| n).collect();
            let again = places.iter().any(|place| others.iter().any(|other| {
                let (first, last) = (*place.min(other), *place.max(other));
                other != place && !three(first + 1, last)
            }));
            let back = called(&history, recall, Call::Back);
            let scope: BTreeSet<usize> = (0..list.len()).filter(|other| in_scope(&list, growths[0], *other, false)).collect();
            let at_once: BTreeSet<usize> = scope.iter().copied()
                .filter(|at| list[*at].implant || growths.contains(at)).collect();
            if again {
                prop_assert_eq!(&recall.path, &Path::Everything(WhyEverything::GrewAgain), "{:?}", list);
                prop_assert_eq!(back, scope);
            } else if three(places[0] + 1, known.len()) {
                prop_assert!(matches!(recall.path, Path::Cleared { .. }), "{:?} {:?}", recall.path, list);
                prop_assert_eq!(back, at_once);
            } else {
                let is_repeats = matches!(recall.path, Path::Repeats { .. });
                prop_assert!(is_repeats, "{:?} {:?}", recall.path, list);
                prop_assert_eq!(&back, &at_once);
                let waits = called(&history, recall, Call::Wait);
                prop_assert_eq!(waits, scope.difference(&at_once).copied().collect::<BTreeSet<_>>());
            }
        }
    }
}

/// The wording of the guideline, cycle by cycle: negative, loads without an indicator, growth, loads, negative.
#[test]
fn scope_reaches_from_the_last_negative_to_the_next_satisfactory() {
    let list = [
        Test::None,
        Test::Negative,
        Test::None,
        Test::Grew,
        Test::None,
        Test::Negative,
        Test::None,
    ]
    .map(flat);
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    assert_eq!(found.len(), 1);
    let recall = &found[0];
    assert_eq!(
        called(&history, recall, Call::Back),
        BTreeSet::from([2, 3, 4])
    );
    let cycle_of = |at: usize| {
        history
            .loads
            .iter()
            .find(|load| load.number.0 == number(at))
            .unwrap()
            .cycles[0]
    };
    assert_eq!(recall.start, Start::After(cycle_of(1)));
    assert_eq!(recall.end, End::Before(cycle_of(5)));
    assert_eq!(recall.per, Per::Unit);
    assert!(!recall.is_open());
}

/// "Dating from the sterilization cycle having the last negative": the other reading takes that cycle in.
#[test]
fn policy_may_take_in_the_load_with_the_last_negative() {
    let list = [Test::Negative, Test::None, Test::Grew, Test::Negative].map(flat);
    let (history, found) = recalls(&list, "plasma", &book(&[("last-negative", "inside")]));
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([0, 1, 2])
    );
    assert!(matches!(found[0].start, Start::At(_)));
}

/// MMWR 52(RR-17), 2003, VI.F.6 (seen): test and control are of one lot, and a control that does not grow makes the
/// test invalid; a vial read outside its times is common practice, no source.
#[test]
fn test_that_proves_nothing_ends_no_scope() {
    for test in [
        Test::DeadControl,
        Test::NoControl,
        Test::ControlOfOtherLot,
        Test::ReadTooEarly,
        Test::ReadTooLate,
        Test::NotRead,
    ] {
        let list = [Test::Negative, Test::Grew, test, Test::None, Test::Negative].map(flat);
        let (history, found) = recalls(&list, "plasma", &book(&[]));
        assert_eq!(
            called(&history, &found[0], Call::Back),
            BTreeSet::from([1, 2, 3]),
            "{test:?}"
        );
        assert_eq!(found[0].not_ending.len(), 1, "{test:?}");
    }
}

#[test]
fn scope_without_a_later_negative_is_open_and_names_the_vial_it_waits_for() {
    let list = [Test::Negative, Test::Grew, Test::None, Test::NotRead].map(flat);
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    let last = history
        .loads
        .iter()
        .find(|load| load.number.0 == number(3))
        .unwrap();
    assert_eq!(
        found[0].end,
        End::Open {
            awaits: Some(last.cycles[0])
        }
    );
    assert_eq!(found[0].not_ending[0].why, WhyNotEnding::Pending);
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 2, 3])
    );
    assert!(found[0].is_open());
}

#[test]
fn scope_without_an_earlier_negative_begins_with_the_first_record() {
    let list = [Test::None, Test::Grew, Test::Negative].map(flat);
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    assert_eq!(found[0].start, Start::FirstRecord);
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([0, 1])
    );
}

/// A load that only the log knows is in the scope, and its indicator does not end it, for nothing shows its cycle.
#[test]
fn load_without_a_printout_widens_the_scope() {
    let mut list = [
        Test::Negative,
        Test::Grew,
        Test::Negative,
        Test::None,
        Test::Negative,
    ]
    .map(flat);
    list[2].did = Did::LogOnly;
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 2, 3])
    );
    assert_eq!(found[0].not_ending[0].why, WhyNotEnding::NoPrintout);
    assert_eq!(
        found[0]
            .rows
            .iter()
            .filter(|row| matches!(row, Row::Missing(_)))
            .count(),
        1
    );
}

/// Aborted cycles are shown and their packages are not counted: nothing of them was processed.
#[test]
fn aborted_cycle_is_shown_and_not_counted() {
    let mut list = [Test::Negative, Test::None, Test::Grew, Test::Negative].map(flat);
    list[1].did = Did::Aborted;
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    assert_eq!(called(&history, &found[0], Call::Back), BTreeSet::from([2]));
    assert_eq!(found[0].rows.len(), 2);
}

#[test]
fn other_unit_is_in_no_scope() {
    let mut list = [Test::None, Test::Grew, Test::Negative, Test::None].map(flat);
    list[0].unit = 1;
    list[2].unit = 1;
    let (history, found) = recalls(&list, "plasma", &book(&[]));
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 3])
    );
}

/// Records later than the moment asked for are not seen: before the vial was read there is no recall, and before the
/// next one was read the scope is open.
#[test]
fn moment_asked_for_moves_the_scope() {
    let list = [Test::Negative, Test::Grew, Test::None, Test::Negative].map(flat);
    let history = history(&records(&list, "plasma"));
    let book = book(&[]);
    let at =
        |hours: i64| find_recalls(&history, &book, Some(start_of(0) + TimeDelta::hours(hours)));
    // Its load began after 3 hours, went to incubation after 4 and was read after 34; the next negative after 40.
    assert!(at(33).is_empty());
    assert!(matches!(at(35)[0].end, End::Open { .. }));
    assert!(matches!(at(41)[0].end, End::Before(_)));
}

/// CDC 2008, Table 12, step 2: a single positive; implants at once, three consecutive repeats decide about the rest.
#[test]
fn single_positive_in_steam_calls_back_implants_and_waits_for_three_repeats() {
    let mut list = [
        Test::Negative,
        Test::None,
        Test::None,
        Test::Grew,
        Test::Negative,
        Test::Negative,
    ]
    .map(flat);
    list[1].implant = true;
    let (history, found) = recalls(&list, "steam", &book(&[]));
    assert_eq!(found[0].path, Path::Repeats { in_a_row: 2 });
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 3])
    );
    assert_eq!(called(&history, &found[0], Call::Wait), BTreeSet::from([2]));
    assert!(found[0].is_open());

    let third: Vec<Flat> = list.iter().copied().chain([flat(Test::Negative)]).collect();
    let (history, found) = recalls(&third, "steam", &book(&[]));
    assert!(matches!(&found[0].path, Path::Cleared { by } if by.len() == 3));
    assert_eq!(
        called(&history, &found[0], Call::Cleared),
        BTreeSet::from([2])
    );
    assert!(!found[0].is_open());
}

/// The same step: "if additional spore tests remain positive … supplies processed since the last acceptable (negative)
/// biological indicator should be recalled".
#[test]
fn further_positive_in_steam_calls_back_everything() {
    let list = [
        Test::Negative,
        Test::None,
        Test::Grew,
        Test::Negative,
        Test::Grew,
        Test::None,
    ]
    .map(flat);
    let (history, found) = recalls(&list, "steam", &book(&[]));
    assert_eq!(found.len(), 2);
    for recall in &found {
        assert_eq!(recall.path, Path::Everything(WhyEverything::GrewAgain));
    }
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 2])
    );
    assert_eq!(
        called(&history, &found[1], Call::Back),
        BTreeSet::from([4, 5])
    );
}

/// The same step: "unless the sterilizer or the sterilization procedure is defective". Here the exposure lasts a minute,
/// where 134 °C ask for three (pairs of the Medical Research Council, seen), or a leak test was failed in between.
#[test]
fn positive_with_another_fault_in_steam_calls_back_everything() {
    let list = [Test::Negative, Test::None, Test::Grew].map(flat);
    let text = records(&list, "steam");
    let fault_of = |text: &str| {
        let history = history(text);
        let mut found = find_recalls(&history, &book(&[]), None);
        let back = called(&history, &found[0], Call::Back);
        assert_eq!(back, BTreeSet::from([1, 2]), "{:?}", found[0].path);
        match found.remove(0).path {
            Path::Everything(WhyEverything::Fault { rules, tests }) => (rules.len(), tests.len()),
            other => panic!("{other:?}"),
        }
    };
    // The third cycle began at 13:00.
    let mut short = text.replace("stage: exhaust, at 13:16:00", "stage: exhaust, at 13:11:00");
    for minute in 12..=16 {
        short = short.replace(
            &format!("13:{minute}:00 pressure 309.1 kPa, temperature 134.5 C\n"),
            "",
        );
    }
    let (n_rules, n_tests) = fault_of(&short);
    assert!(n_rules > 0 && n_tests == 0);
    let leak = "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: steam\npurpose: leak-test\n\
        started: 2026-03-02 11:30:00\nleak: 2.0 mbar/min, limit 1.3 mbar/min\nended: 11:50:00\noutcome: failed\nend\n";
    let (_, n_tests) = fault_of(&format!("{leak}{text}"));
    assert_eq!(n_tests, 1);
}

/// MMWR 52(RR-17), 2003 (seen): the "more conservative approach" recalls at once; the preset every-load takes it.
#[test]
fn stricter_preset_calls_back_steam_loads_at_once() {
    let list = [Test::Negative, Test::None, Test::Grew, Test::Negative].map(flat);
    let (history, found) = recalls(&list, "steam", &PolicyBook::of_preset(Preset::EveryLoad));
    assert_eq!(found[0].path, Path::Everything(WhyEverything::Policy));
    assert_eq!(
        called(&history, &found[0], Call::Back),
        BTreeSet::from([1, 2])
    );
}

/// A load that is run again to the end, without having left in between, counts by its last run; one that had left is
/// looked for.
#[test]
fn load_that_was_run_again_counts_where_it_went_last() {
    let list = [
        Test::Negative,
        Test::None,
        Test::Grew,
        Test::Negative,
        Test::None,
    ]
    .map(flat);
    let text = records(&list, "plasma").replace(&number(4), &number(1));
    let found = |text: &str| {
        let history = history(text);
        let recalls = find_recalls(&history, &book(&[]), None);
        called(&history, &recalls[0], Call::Back)
    };
    assert_eq!(found(&text), BTreeSet::from([2]));
    let left = format!(
        "{text}{} release: {}, by HB\n",
        stamp(start_of(1) + TimeDelta::hours(1)),
        number(1)
    );
    assert_eq!(found(&left), BTreeSet::from([1, 2]));
}

/// Growth of a load whose unit no record gives is not lost.
#[test]
fn growth_without_a_unit_is_a_sheet_of_its_own() {
    let text = "loadbook log 1\nzone: Europe/London\n\
        2026-03-12 09:00 bi: A-1, role test, lot B1, incubated 2026-03-11 08:00, read 2026-03-12 09:00, result growth, by HB\n";
    let history = history(text);
    let found = find_recalls(&history, &book(&[]), None);
    assert_eq!(found.len(), 1);
    assert_eq!(
        (found[0].unit.as_deref(), found[0].loads_back().len()),
        (None, 1)
    );
}

/// Growth of a control is what has to be.
#[test]
fn growing_control_calls_back_nothing() {
    let list = [Test::Negative, Test::None].map(flat);
    assert!(recalls(&list, "plasma", &book(&[])).1.is_empty());
}
