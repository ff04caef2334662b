//! What must hold of any records: evidence against a load never improves its decision, missing evidence never lets it
//! go, and without a printout nothing is released.
//!
//! Scenes are made from choices, written as text, and read by the real parser. The three rules are the project's own
//! promise ("nothing that lacks evidence is ever shown as release"); they need no decision to be known.

use chrono::{NaiveDate, NaiveDateTime};
use loadbook::judge::decision::Decision;
use loadbook::judge::judge_history;
use loadbook::judge::policy::{PolicyBook, Preset};
use loadbook::parse::{Strictness, read_bytes};
use loadbook::reconcile::{Site, join_history};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// A biological indicator of a load.
#[derive(Debug, Clone, Copy)]
struct Vials {
    test: Vial,
    control: Vial,
    hours: u32,
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Vial {
    None,
    Incubating,
    NoGrowth,
    Growth,
}

/// One load.
#[derive(Debug, Clone)]
struct Scene {
    unit: usize,
    day: u32,
    completed: bool,
    closed: bool,
    printed: bool,
    program: usize,
    implant: bool,
    external: Option<&'static str>,
    internal: Option<&'static str>,
    vials: Vials,
    released: bool,
    held: bool,
    lot_opened: bool,
}

fn vial() -> impl Strategy<Value = Vial> {
    prop_oneof![
        2 => Just(Vial::None),
        1 => Just(Vial::Incubating),
        4 => Just(Vial::NoGrowth),
        2 => Just(Vial::Growth),
    ]
}

fn endpoint() -> impl Strategy<Value = Option<&'static str>> {
    prop_oneof![
        1 => Just(None),
        12 => Just(Some("reached")),
        1 => Just(Some("not reached")),
        1 => Just(Some("unreadable")),
    ]
}

prop_compose! {
    fn vials()(
        test in vial(),
        control in prop_oneof![3 => Just(Vial::Growth), 2 => vial(), 1 => Just(Vial::None)],
        hours in prop_oneof![5 => Just(24_u32), 1 => 1_u32..200],
    ) -> Vials {
        Vials { test, control, hours }
    }
}

prop_compose! {
    fn scene()(
        unit in prop_oneof![4 => Just(0_usize), 1 => Just(1_usize)],
        day in 2_u32..14,
        completed in prop::bool::weighted(0.9),
        closed in prop::bool::weighted(0.95),
        printed in prop::bool::weighted(0.95),
        program in 0_usize..2,
        implant in prop::bool::weighted(0.2),
        external in endpoint(),
        internal in endpoint(),
        vials in vials(),
        (released, held, lot_opened) in (any::<bool>(), prop::bool::weighted(0.1), any::<bool>()),
    ) -> Scene {
        Scene { unit, day, completed, closed, printed, program, implant, external, internal, vials, released, held, lot_opened }
    }
}

/// Whether a record is evidence for a load, or something else.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Side {
    /// It speaks for the load: taking it away takes away evidence.
    For,
    /// It speaks against the load, or asks for more.
    Other,
}

/// A record as text, with its place in time left to the sorting of the history.
#[derive(Debug, Clone)]
struct Record {
    side: Side,
    /// The load whose printout it is.
    printout_of: Option<String>,
    text: String,
}

const UNITS: [&str; 2] = ["PL-1", "PL-2"];
const PROGRAMS: [&str; 2] = ["standard", "lumen"];

fn number(at: usize) -> String {
    format!("L-{at}-{}", at + 40)
}

fn records(scenes: &[Scene]) -> Vec<Record> {
    let mut all = Vec::new();
    for (at, scene) in scenes.iter().enumerate() {
        let load = number(at);
        let (unit, program) = (UNITS[scene.unit], PROGRAMS[scene.program]);
        // Each load of a day has its own hour and its own counter, in the order of time.
        let (day, hour) = (format!("2026-03-{:02}", scene.day), 6 + at);
        let counter = scene.day * 20 + at as u32;
        let mut push = |side, printout_of: Option<&str>, text: String| {
            all.push(Record {
                side,
                printout_of: printout_of.map(str::to_owned),
                text,
            });
        };
        if scene.printed {
            let mut strip = format!(
                "loadbook printout 1\nunit: {unit}\nprocess: plasma\nprogram: {program}\ncounter: {counter}\n\
                 load: {load}\nstarted: {day} {hour:02}:01:00\n\
                 stage: evacuate, at {hour:02}:01:10\n{hour:02}:09:00 pressure 50 Pa\n\
                 stage: inject, at {hour:02}:10:00\n{hour:02}:11:00 concentration 6.0 mg/L\n\
                 stage: diffuse, at {hour:02}:12:00\n{hour:02}:15:00 concentration 5.5 mg/L\n\
                 stage: plasma, at {hour:02}:20:00\n{hour:02}:21:00 power 400 W\n\
                 stage: vent, at {hour:02}:30:00\nended: {hour:02}:40:00\n"
            );
            let outcome = match scene.completed {
                true => "outcome: completed\n",
                false => "outcome: aborted, stage plasma\n",
            };
            strip.push_str(outcome);
            if scene.closed {
                strip.push_str("end\n");
            }
            let side = match scene.completed {
                true => Side::For,
                false => Side::Other,
            };
            push(side, Some(&load), strip);
        }
        let mut log = |side, text: String| push(side, None, text);
        log(
            Side::For,
            format!(
                "{day} {hour:02}:00 load: {load}, unit {unit}, counter {counter}, program {program}\n"
            ),
        );
        let implant = if scene.implant { "yes" } else { "no" };
        // A set asks for an internal indicator, and an implant for a biological one.
        log(
            Side::Other,
            format!(
                "{day} {hour:02}:00 content: {load}, set Set {at}, packaging container, implant {implant}\n"
            ),
        );
        for (position, ci_type, endpoint) in [
            ("external", 1, scene.external),
            ("internal", 4, scene.internal),
        ] {
            let Some(endpoint) = endpoint else { continue };
            let side = match endpoint {
                "reached" => Side::For,
                _ => Side::Other,
            };
            log(
                side,
                format!(
                    "{day} {hour:02}:45 ci: {load}, position {position}, type {ci_type}, set Set {at}, endpoint {endpoint}\n"
                ),
            );
        }
        for (role, vial) in [("test", scene.vials.test), ("control", scene.vials.control)] {
            write_vial(&mut log, scene, &load, (role, vial), hour);
        }
        if scene.held {
            log(
                Side::Other,
                format!("2026-04-01 {hour:02}:00 hold: {load}\n"),
            );
        }
        if scene.released {
            log(
                Side::For,
                format!("2026-03-25 {hour:02}:00 release: {load}\n"),
            );
        }
        if scene.lot_opened {
            log(
                Side::For,
                "2026-03-01 06:00 lot: bi, lot B771, action opened\n".to_owned(),
            );
        }
    }
    all
}

fn write_vial(
    log: &mut impl FnMut(Side, String),
    scene: &Scene,
    load: &str,
    (role, vial): (&str, Vial),
    hour: usize,
) {
    let day = NaiveDate::from_ymd_opt(2026, 3, scene.day).unwrap();
    let put = day.and_hms_opt(hour as u32, 50, 0).unwrap();
    let read = put + chrono::TimeDelta::hours(i64::from(scene.vials.hours));
    let (put, read) = (put.format("%Y-%m-%d %H:%M"), read.format("%Y-%m-%d %H:%M"));
    if vial == Vial::None {
        return;
    }
    log(
        Side::For,
        format!("{put} bi: {load}, role {role}, lot B771, incubated {put}\n"),
    );
    let (word, side) = match (vial, role) {
        (Vial::NoGrowth, "test") => ("no growth", Side::For),
        (Vial::Growth, "control") => ("growth", Side::For),
        (Vial::NoGrowth, _) => ("no growth", Side::Other),
        (Vial::Growth, _) => ("growth", Side::Other),
        _ => return,
    };
    log(
        side,
        format!(
            "{read} bi: {load}, role {role}, lot B771, incubated {put}, read {read}, result {word}\n"
        ),
    );
}

/// The decision for each load by its number.
fn decide<'r>(
    records: impl Iterator<Item = &'r Record>,
    preset: Preset,
) -> BTreeMap<String, Decision> {
    let (mut strips, mut log) = (
        String::new(),
        "loadbook log 1\nzone: Europe/London\n".to_owned(),
    );
    for record in records {
        let to = match record.printout_of {
            Some(_) => &mut strips,
            None => &mut log,
        };
        let _ = write!(to, "{}", record.text);
    }
    let text = strips + &log;
    let read = read_bytes(text.as_bytes(), Strictness::Infer);
    assert!(read.unread.is_empty(), "{:?}", read.unread);
    let (history, _) = join_history(read.cycles, read.entries, Site::default());
    // One moment for all, so that taking a record away does not turn back the day.
    let as_of = NaiveDateTime::parse_from_str("2026-04-30 12:00", "%Y-%m-%d %H:%M").unwrap();
    let book = PolicyBook::of_preset(preset);
    let judgements = judge_history(&history, &book, Some(as_of));
    judgements
        .loads
        .iter()
        .map(|one| (history.loads[one.load.0].number.0.clone(), one.decision))
        .collect()
}

fn presets() -> impl Strategy<Value = Preset> {
    prop::sample::select(Preset::ALL)
}

proptest! {
    #![proptest_config(crate::proptest_settings(400))]

    #[test]
    fn failing_indicator_never_improves_a_decision(
        scenes in prop::collection::vec(scene(), 1..5),
        preset in presets(),
        position in prop::sample::select(&["external", "internal", "test-pack"][..]),
        at in any::<prop::sample::Index>(),
    ) {
        let mut all = records(&scenes);
        let before = decide(all.iter(), preset);
        let at = at.index(scenes.len());
        let (load, scene) = (number(at), &scenes[at]);
        all.push(Record {
            side: Side::Other,
            printout_of: None,
            text: format!(
                "2026-03-{:02} {:02}:46 ci: {load}, position {position}, type 4, set Set {at}, endpoint not reached\n",
                scene.day, 6 + at,
            ),
        });
        let after = decide(all.iter(), preset);
        for (number, decision) in &before {
            if *number == load {
                prop_assert!(after[number] >= *decision, "{number} {decision} {}", after[number]);
                prop_assert!(after[number] >= Decision::Reject);
            } else {
                prop_assert_eq!(after[number], *decision);
            }
        }
    }

    #[test]
    fn taking_evidence_away_never_releases(
        scenes in prop::collection::vec(scene(), 1..5),
        preset in presets(),
        at in any::<prop::sample::Index>(),
    ) {
        let all = records(&scenes);
        let before = decide(all.iter(), preset);
        let evidence: Vec<usize> = (0..all.len()).filter(|at| all[*at].side == Side::For).collect();
        let gone = evidence[at.index(evidence.len())];
        let left = all.iter().enumerate().filter(|(at, _)| *at != gone).map(|(_, record)| record);
        let after = decide(left, preset);
        for (number, decision) in &after {
            if *decision == Decision::Release {
                prop_assert_eq!(before[number], Decision::Release, "{} without {}", number, all[gone].text);
            }
        }
    }

    #[test]
    fn without_its_printout_no_load_is_released(
        scenes in prop::collection::vec(scene(), 1..5),
        preset in presets(),
        at in any::<prop::sample::Index>(),
    ) {
        let all = records(&scenes);
        let load = number(at.index(scenes.len()));
        let left = all.iter().filter(|record| record.printout_of.as_deref() != Some(load.as_str()));
        let after = decide(left, preset);
        prop_assert!(after[&load] > Decision::Release);
    }
}

#[test]
fn scenes_reach_every_decision() {
    // The properties above would hold of scenes that are all held; these are not.
    use proptest::strategy::ValueTree;
    use proptest::test_runner::{Config, RngAlgorithm, TestRng, TestRunner};
    let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &[7; 32]);
    let mut runner = TestRunner::new_with_rng(Config::default(), rng);
    let mut n_seen: BTreeMap<Decision, usize> = BTreeMap::new();
    for _ in 0..900 {
        let scenes = prop::collection::vec(scene(), 1..5);
        let scenes = scenes.new_tree(&mut runner).unwrap().current();
        for decision in decide(records(&scenes).iter(), Preset::Cdc2008).values() {
            *n_seen.entry(*decision).or_default() += 1;
        }
    }
    for decision in Decision::ALL {
        let n = n_seen.get(decision).copied().unwrap_or(0);
        assert!(n >= 10, "{decision}: {n_seen:?}");
    }
}
