//! The parts of which a scope is made, each on its own; whole scopes are held against an oracle in `tests/recall.rs`.

use super::*;
use crate::judge::policy::Preset;
use crate::judge::trial::{history, moment, unit_log};
use crate::record::Spanned;

/// A run of the unit as its printout shows it.
fn run(at: usize, bi: Bi) -> Run {
    Run {
        cycle: Some(CycleIx(at)),
        load: Some(LoadIx(at)),
        process: None,
        program: Some("standard".to_owned()),
        began: None,
        placed: Placed::Printout,
        end: RunEnd::Completed,
        bi,
        without_role: Vec::new(),
    }
}

fn grew() -> Bi {
    Bi::Growth(vec![EntryIx(0)])
}

fn of_program(program: &str) -> Per {
    Per::Program(program.to_owned())
}

fn missing() -> Step {
    Step::Missing(MissingPrintouts {
        unit: crate::record::name::UnitName("PL-1".to_owned()),
        after: CycleIx(0),
        before: CycleIx(1),
        first: 1,
        last: 1,
        n_without_counter: 0,
    })
}

#[test]
fn words_of_a_policy_are_one_of_those_that_make_sense() {
    assert_eq!(one_of("unit", &["unit", "program"]), Ok(()));
    assert_eq!(
        one_of("load", &["unit", "program"]),
        Err("`load` is none of `unit`, `program`".to_owned())
    );
}

#[test]
fn moment_lies_in_a_scope_with_its_boundaries() {
    let (from, to) = (moment("2026-03-12 08:00"), moment("2026-03-13 08:00"));
    for (at, days, lies) in [
        ("2026-03-12 07:59", (Some(from), Some(to)), false),
        ("2026-03-12 08:00", (Some(from), Some(to)), true),
        ("2026-03-13 08:00", (Some(from), Some(to)), true),
        ("2026-03-13 08:01", (Some(from), Some(to)), false),
        // A side that is open holds everything.
        ("2026-03-12 07:59", (None, Some(to)), true),
        ("2026-03-13 08:01", (None, Some(to)), false),
        ("2026-03-13 08:01", (Some(from), None), true),
        ("2026-03-12 07:59", (Some(from), None), false),
        ("2026-03-12 07:59", (None, None), true),
    ] {
        assert_eq!(lies_in(Some(moment(at)), days), lies, "{at} {days:?}");
    }
    // What has no moment may lie in any.
    assert!(lies_in(None, (Some(from), Some(to))));
}

#[test]
fn scope_reaches_from_the_run_before_it_to_the_run_after_it() {
    let at = |began: &str| {
        let mut run = run(0, Bi::None);
        run.began = Some(moment(began));
        Step::Run(run)
    };
    let undated = Step::Run(run(0, Bi::None));
    let test = Step::Test {
        cycle: CycleIx(9),
        failed: true,
    };
    let before = [
        at("2026-03-10 08:00"),
        at("2026-03-11 08:00"),
        undated.clone(),
        test.clone(),
    ];
    let after = [
        test,
        undated,
        at("2026-03-13 08:00"),
        at("2026-03-14 08:00"),
    ];
    let around = Around {
        within: &[],
        before: &before,
        after: &after,
    };
    assert_eq!(
        days_of(&around),
        (
            Some(moment("2026-03-11 08:00")),
            Some(moment("2026-03-13 08:00"))
        )
    );
    let open = Around {
        within: &before,
        before: &[],
        after: &[],
    };
    assert_eq!(days_of(&open), (None, None));
}

#[test]
fn run_lies_in_the_scope_of_its_program_and_in_that_of_its_unit() {
    let mut unknown = run(0, Bi::None);
    unknown.program = None;
    for (per, own, of_unknown) in [
        (Per::Unit, true, true),
        (of_program("Standard"), true, true),
        // A run of unknown program may be of any.
        (of_program("lumen"), false, true),
        (Per::UnitForWantOfProgram, true, true),
    ] {
        assert_eq!(is_in(&run(0, Bi::None), &per), own, "{per:?}");
        assert_eq!(is_in(&unknown, &per), of_unknown, "{per:?}");
        let steps = [
            Step::Run(run(0, Bi::None)),
            missing(),
            Step::Run(unknown.clone()),
        ];
        let n = usize::from(own) + usize::from(of_unknown);
        assert_eq!(runs_in(&steps, &per).count(), n);
    }
}

#[test]
fn satisfactory_indicator_bounds_a_scope_only_where_its_run_is_proven() {
    let of = |change: fn(&mut Run)| {
        let mut run = run(3, Bi::Satisfactory);
        change(&mut run);
        run
    };
    for (run, per, why) in [
        (of(|_| ()), Per::Unit, None),
        (of(|_| ()), of_program("standard"), None),
        (
            of(|run| run.cycle = None),
            Per::Unit,
            Some(WhyNotEnding::NoPrintout),
        ),
        (
            of(|run| run.end = RunEnd::Unproven),
            Per::Unit,
            Some(WhyNotEnding::NotCompleted),
        ),
        (
            of(|run| run.end = RunEnd::NotProcessed),
            Per::Unit,
            Some(WhyNotEnding::NotCompleted),
        ),
        (
            of(|run| run.placed = Placed::Nowhere),
            Per::Unit,
            Some(WhyNotEnding::NoDate),
        ),
        (of(|run| run.placed = Placed::Counter), Per::Unit, None),
        (of(|run| run.program = None), Per::Unit, None),
        (
            of(|run| run.program = None),
            of_program("standard"),
            Some(WhyNotEnding::NoProgram),
        ),
    ] {
        assert_eq!(why_not(&run, &per), why);
        assert_eq!(ends(&Step::Run(run.clone()), &per), why.is_none());
        let load = LoadIx(3);
        assert_eq!(
            why_not_ending(&run, &per),
            why.map(|why| NotEnding { load, why })
        );
    }
    // It bounds no scope of another program, and what is not satisfactory bounds none.
    assert!(!ends(
        &Step::Run(run(3, Bi::Satisfactory)),
        &of_program("lumen")
    ));
    for bi in [Bi::None, Bi::Pending, grew(), Bi::Proves(Nothing::Timing)] {
        assert!(!ends(&Step::Run(run(3, bi)), &Per::Unit));
    }
    assert!(!ends(&missing(), &Per::Unit));
    let test = Step::Test {
        cycle: CycleIx(9),
        failed: false,
    };
    assert!(!ends(&test, &Per::Unit));
}

#[test]
fn test_that_ends_no_scope_says_why() {
    let mut without_role = run(3, Bi::None);
    without_role.without_role = vec![EntryIx(7)];
    let mut no_load = run(3, Bi::Pending);
    no_load.load = None;
    for (run, why) in [
        (run(3, grew()), None),
        (run(3, Bi::Pending), Some(WhyNotEnding::Pending)),
        (
            run(3, Bi::Proves(Nothing::Control)),
            Some(WhyNotEnding::Proves(Nothing::Control)),
        ),
        (run(3, Bi::None), None),
        (without_role, Some(WhyNotEnding::NoRole)),
        (no_load, None),
    ] {
        let told = why_not_ending(&run, &Per::Unit).map(|one| one.why);
        assert_eq!(told, why, "{:?}", run.bi);
    }
}

/// Table 12 of the CDC's guideline of 2008 (seen via copy): three consecutive cycles.
#[test]
fn three_satisfactory_ones_in_a_row_clear_and_a_further_growth_does_not() {
    let read = |steps: &[Step], per: &Per| match read_repeats(steps.iter(), per) {
        Repeats::GrewAgain => "grew again".to_owned(),
        Repeats::Cleared(by) => format!("cleared by {by:?}"),
        Repeats::Open(n) => format!("{n} in a row"),
    };
    let good = |at| Step::Run(run(at, Bi::Satisfactory));
    let grown = || Step::Run(run(9, grew()));
    let bare = || Step::Run(run(9, Bi::None));
    let other = |bi| {
        let mut run = run(9, bi);
        run.program = Some("lumen".to_owned());
        Step::Run(run)
    };
    let test = || Step::Test {
        cycle: CycleIx(9),
        failed: true,
    };
    let cleared = "cleared by [CycleIx(1), CycleIx(2), CycleIx(3)]";
    for (steps, said) in [
        (vec![], "0 in a row"),
        (vec![good(1), good(2)], "2 in a row"),
        (vec![good(1), good(2), good(3)], cleared),
        (vec![good(1), good(2), good(3), grown()], cleared),
        (vec![good(1), grown(), good(2), good(3)], "grew again"),
        // What is not proven breaks the row; a test of the unit does not.
        (vec![good(1), bare(), good(2)], "1 in a row"),
        (vec![good(1), missing(), good(2), good(3)], "2 in a row"),
        (vec![good(1), test(), good(2), test(), good(3)], cleared),
        (vec![other(Bi::None), good(1), good(2), good(3)], "3"),
    ] {
        let said = match said {
            "3" => cleared,
            other => other,
        };
        assert_eq!(read(&steps, &Per::Unit), said, "{steps:?}");
    }
    // Of another program neither growth nor its lack counts.
    let steps = [good(1), other(grew()), good(2), other(Bi::None), good(3)];
    assert_eq!(read(&steps, &of_program("standard")), cleared);
    assert_eq!(read(&steps, &Per::Unit), "grew again");
}

fn content(implant: Option<bool>) -> Content {
    let text = "loadbook log 1\ndate: 2026-03-12\n08:00 content: AA-LOAD, set ENT 4\n";
    let history = history(text);
    let EntryBody::Content(mut content) = history.entries[0].entry.body.clone() else {
        panic!("no content");
    };
    content.implant = implant.map(|implant| Spanned::new(implant, history.entries[0].entry.span));
    *content
}

#[test]
fn implant_is_called_back_at_once_and_other_sets_wait_for_the_repeats() {
    let everything = Path::Everything(WhyEverything::Policy);
    let repeats = Path::Repeats { in_a_row: 1 };
    let cleared = Path::Cleared { by: Vec::new() };
    for (path, grew, implant, call) in [
        (&everything, false, Some(Some(false)), Call::Back),
        (&repeats, false, Some(Some(true)), Call::Back),
        (&repeats, false, Some(Some(false)), Call::Wait),
        (&repeats, true, Some(Some(false)), Call::Back),
        // Where it is not written, it may be an implant.
        (&repeats, false, Some(None), Call::Back),
        (&repeats, false, None, Call::Back),
        (&cleared, false, Some(Some(false)), Call::Cleared),
        (&cleared, false, Some(Some(true)), Call::Back),
        (&cleared, true, Some(Some(false)), Call::Back),
    ] {
        let content = implant.map(content);
        let told = call_of(path, grew, content.as_ref());
        assert_eq!(told, call, "{path:?} {grew} {implant:?}");
    }
}

fn recall(start: Start, end: End) -> Recall {
    Recall {
        growths: Vec::new(),
        unit: Some("PL-1".to_owned()),
        per: Per::Unit,
        policy: PolicyIx(0),
        start,
        end,
        path: Path::Everything(WhyEverything::Policy),
        rows: Vec::new(),
        not_ending: Vec::new(),
        strays: Vec::new(),
        services: Vec::new(),
    }
}

#[test]
fn growths_share_a_scope_where_no_boundary_lies_between_them() {
    let open = |awaits| End::Open { awaits };
    let first = recall(Start::FirstRecord, open(None));
    let mut other_unit = first.clone();
    other_unit.unit = None;
    let mut other_per = first.clone();
    other_per.per = of_program("standard");
    let bounded = |ix| recall(Start::FirstRecord, End::Before(CycleIx(ix)));
    for (a, b, same) in [
        (&first, &first, true),
        // The vial that an open scope waits for is no boundary.
        (
            &first,
            &recall(Start::FirstRecord, open(Some(CycleIx(4)))),
            true,
        ),
        (&first, &recall(Start::After(CycleIx(1)), open(None)), false),
        (&first, &bounded(4), false),
        (&bounded(4), &bounded(4), true),
        (&bounded(4), &bounded(5), false),
        (&first, &other_unit, false),
        (&first, &other_per, false),
    ] {
        assert_eq!(is_same_scope(a, b), same, "{a:?} {b:?}");
    }
    // Open is also what waits for repeats, whatever comes after it.
    assert!(first.is_open() && !bounded(4).is_open());
    let mut waits = bounded(4);
    waits.path = Path::Repeats { in_a_row: 0 };
    assert!(waits.is_open());
}

#[test]
fn loads_to_get_back_are_told_once_each() {
    let row = |load: Option<usize>, calls: &[Call]| {
        let mut run = run(0, Bi::None);
        run.load = load.map(LoadIx);
        let piece = |call: &Call| Piece {
            content: None,
            call: *call,
        };
        Row::Run {
            run,
            not_counted: None,
            pieces: calls.iter().map(piece).collect(),
        }
    };
    let mut recall = recall(Start::FirstRecord, End::Before(CycleIx(9)));
    recall.rows = vec![
        row(Some(3), &[Call::Wait, Call::Back]),
        row(Some(1), &[Call::Wait]),
        row(Some(2), &[Call::Back]),
        row(Some(3), &[Call::Back]),
        row(None, &[Call::Back]),
        row(Some(4), &[]),
    ];
    assert_eq!(recall.loads_back(), [LoadIx(3), LoadIx(2)]);
}

/// A completed cycle of the unit PL-1.
fn printout(number: &str, began: &str, counter: u32, process: &str) -> String {
    let at = moment(began);
    let end = (at + chrono::TimeDelta::minutes(40)).format("%H:%M:%S");
    format!(
        "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: {process}\nprogram: standard\ncounter: {counter}\n\
         load: {number}\nstarted: {began}:00\nended: {end}\noutcome: completed\nend\n"
    )
}

fn recalls(text: &str, as_of: Option<&str>) -> (History, Vec<Recall>) {
    let history = history(text);
    let book = PolicyBook::of_preset(Preset::Cdc2008);
    let recalls = find_recalls(&history, &book, as_of.map(moment));
    (history, recalls)
}

/// Why the first run of load BC is not counted in the scope of the growth in load DE.
fn not_counted(between: &str, again: &str, as_of: Option<&str>) -> Option<NotCounted> {
    let text = format!(
        "{}{}{}{}{}",
        printout("BC-LOAD", "2026-03-12 08:00", 11, "plasma"),
        printout("DE-LOAD", "2026-03-12 10:00", 12, "plasma"),
        again,
        unit_log(&[
            ("BC-LOAD", "2026-03-12 08:00", ""),
            ("DE-LOAD", "2026-03-12 10:00", "grew control"),
        ]),
        between
    );
    let (history, recalls) = recalls(&text, as_of);
    assert_eq!(recalls.len(), 1);
    let first = recalls[0].rows.iter().find_map(|row| match row {
        Row::Run {
            run, not_counted, ..
        } if history.loads[run.load.unwrap().0].number.0 == "BC-LOAD" => Some(*not_counted),
        _ => None,
    });
    first.unwrap()
}

#[test]
fn load_that_was_run_again_before_it_left_counts_where_it_went_last() {
    let again = printout("BC-LOAD", "2026-03-12 12:00", 13, "plasma");
    let released = |at: &str| format!("2026-03-12 {at} release: BC-LOAD, by MK\n");
    let counts = |between: &str, again: &str, as_of| not_counted(between, again, as_of).is_none();
    assert!(counts("", "", None));
    assert!(!counts("", &again, None));
    // Released between the two runs, the minutes of both taken in, it had left; not before and not after.
    for (at, counted) in [
        ("07:59", false),
        ("08:00", true),
        ("10:00", true),
        ("12:00", true),
        ("12:01", false),
    ] {
        assert_eq!(counts(&released(at), &again, None), counted, "{at}");
    }
    assert!(!counts(
        "2026-03-12 10:00 hold: BC-LOAD, by MK\n",
        &again,
        None
    ));
    // Only a whole printout of a completed cycle counts, and only once it had come.
    let torn = again.replace("outcome: completed\nend\n", "outcome: completed\n");
    assert!(counts(
        "",
        &format!("{torn}loadbook printout 1\nunit: PL-9\n"),
        None
    ));
    let aborted = again.replace(
        "outcome: completed",
        "outcome: aborted, stage vent, cause operator-stopped",
    );
    assert!(counts("", &aborted, None));
    // A growth that is read before the second run: what began later than the moment asked for is not seen.
    let early = "2026-03-12 11:00 bi: DE-LOAD, role test, lot B2, incubated 2026-03-12 10:45, read 2026-03-12 11:00, result growth\n";
    assert!(counts(early, &again, Some("2026-03-12 11:59")));
    assert!(!counts(early, &again, Some("2026-03-12 12:00")));
}

#[test]
fn loads_without_a_unit_and_services_of_those_days_are_told() {
    let text = |stray: &str, service: &str| {
        format!(
            "{}{}{}{}2026-03-12 {stray} content: ZZ-STRAY, set ENT 4\n2026-03-12 {service} service: PL-1, by MK\n",
            printout("BC-LOAD", "2026-03-12 08:00", 11, "plasma"),
            printout("DE-LOAD", "2026-03-12 10:00", 12, "plasma"),
            printout("FG-LOAD", "2026-03-12 12:00", 13, "plasma"),
            unit_log(&[
                ("BC-LOAD", "2026-03-12 08:00", "well control"),
                ("DE-LOAD", "2026-03-12 10:00", "grew control"),
                ("FG-LOAD", "2026-03-12 12:00", "well control"),
            ]),
        )
    };
    let n = |stray, service, as_of| {
        let (_, recalls) = recalls(&text(stray, service), as_of);
        (recalls[0].strays.len(), recalls[0].services.len())
    };
    // The scope reaches from the satisfactory indicator of eight o'clock to that of twelve.
    assert_eq!(n("08:00", "08:00", None), (1, 1));
    assert_eq!(n("12:00", "12:00", None), (1, 1));
    assert_eq!(n("07:59", "07:59", None), (0, 0));
    assert_eq!(n("12:01", "12:01", None), (0, 0));
    assert_eq!(n("09:00", "12:01", None), (1, 0));
    // A load that may be a slip for one with a printout is left to that load.
    let slip = text("09:00", "09:00").replace("ZZ-STRAY", "DE-L0AD");
    let (history, told) = recalls(&slip, None);
    assert_eq!(history.near_misses.len(), 1);
    assert!(told[0].strays.is_empty());
}

#[test]
fn fault_beside_a_growth_in_steam_calls_everything_back() {
    let text = |more: &str, result: &str| {
        let log = unit_log(&[("DE-LOAD", "2026-03-12 10:00", "grew control")]);
        format!(
            "{}{more}{log}2026-03-12 11:00 ci: DE-LOAD, position external, type 1, endpoint {result}, by MK\n",
            printout("DE-LOAD", "2026-03-12 10:00", 12, "steam"),
        )
    };
    let path = |more: &str, result: &str| recalls(&text(more, result), None).1.remove(0).path;
    let steam = |more: &str| path(more, "reached");
    // The base's exposure of no length is a fault of its own: what is looked for is which rules are told with it.
    let Path::Everything(WhyEverything::Fault { rules, tests }) = path("", "not reached") else {
        panic!("no fault");
    };
    assert!(
        rules.contains(&RuleId("ci-endpoint-not-reached")),
        "{rules:?}"
    );
    assert!(
        !rules.iter().any(|rule| rule.0.starts_with("bi-")),
        "{rules:?}"
    );
    assert!(tests.is_empty());
    let recalled = "loadbook log 1\n2026-03-14 08:00 recall: DE-LOAD, by MK\n";
    assert_eq!(steam(recalled), steam(""));
}

#[test]
fn what_was_signed_last_says_where_the_packages_are() {
    let text = "loadbook log 1\nzone: Europe/London\ndate: 2026-03-12\n08:00 load: AA-LOAD, unit PL-1, by HB\n\
        09:00 release: AA-LOAD, by MK\n10:00 hold: AA-LOAD, by MK\n11:00 recall: AA-LOAD, by MK\n";
    let history = history(text);
    let whereabouts = |as_of: Option<&str>| {
        find_whereabouts(&history.loads[0], &history.entries, as_of.map(moment))
    };
    for (as_of, expected) in [
        (Some("2026-03-12 08:59"), Whereabouts::NotSigned),
        (Some("2026-03-12 09:00"), Whereabouts::Released(EntryIx(1))),
        (Some("2026-03-12 10:00"), Whereabouts::OnHold(EntryIx(2))),
        (
            Some("2026-03-12 11:00"),
            Whereabouts::CalledBack(EntryIx(3)),
        ),
        (None, Whereabouts::CalledBack(EntryIx(3))),
    ] {
        assert_eq!(whereabouts(as_of), expected, "{as_of:?}");
    }
}

/// Four cycles of the unit, each with its vials, and the scopes that a policy with these lines draws.
fn scopes(process: &str, vials: [&str; 4], programs: [&str; 4], toml: &str) -> Vec<Recall> {
    let numbers = ["AA-LOAD", "BC-LOAD", "DE-LOAD", "FG-LOAD"];
    let began = ["08:00", "10:00", "12:00", "14:00"].map(|time| format!("2026-03-12 {time}"));
    let mut text = String::new();
    let mut log = Vec::new();
    for (at, (number, began)) in numbers.iter().zip(&began).enumerate() {
        let counter = 11 + u32::try_from(at).unwrap();
        let strip = printout(number, began, counter, process);
        text += &strip.replace("program: standard", &format!("program: {}", programs[at]));
        log.push((*number, began.as_str(), vials[at]));
    }
    let history = history(&format!("{text}{}", unit_log(&log)));
    let policy = format!("preset = \"cdc-2008\"\n{toml}");
    let book = PolicyBook::read_policies(&[("site.toml", &policy)]).unwrap();
    find_recalls(&history, &book, None)
}

const INSIDE: &str = "[rules.bi-growth-in-unit]\nlast-negative = [\"inside\"]\n";
const PROGRAM: &str = "[rules.bi-growth-in-unit]\nscope = [\"program\"]\n";
const ALIKE: [&str; 4] = ["standard"; 4];

#[test]
fn scope_begins_after_the_last_satisfactory_one_or_with_it() {
    let good = "well control";
    let n_rows = |recall: &Recall| recall.rows.len();
    for (toml, start, n) in [
        ("", Start::After(CycleIx(0)), 2),
        (INSIDE, Start::At(CycleIx(0)), 3),
    ] {
        let scopes = scopes("plasma", [good, "", "grew control", good], ALIKE, toml);
        assert_eq!(scopes.len(), 1);
        assert_eq!(scopes[0].start, start);
        assert_eq!(scopes[0].end, End::Before(CycleIx(3)));
        assert_eq!(n_rows(&scopes[0]), n);
        assert_eq!(scopes[0].per, Per::Unit);
    }
    let first = scopes("plasma", ["", "grew control", good, ""], ALIKE, INSIDE);
    assert_eq!(first[0].start, Start::FirstRecord);
    assert_eq!(n_rows(&first[0]), 2);
}

#[test]
fn open_scope_waits_for_the_first_vial_in_incubation_that_it_concerns() {
    let waits = |vials, programs, toml| {
        let scopes = scopes("plasma", vials, programs, toml);
        match scopes[0].end {
            End::Open { awaits } => awaits.map(|ix| ix.0),
            End::Before(_) => panic!("it has ended"),
        }
    };
    let put = "put control";
    let grew = "grew control";
    assert_eq!(waits([grew, "", put, put], ALIKE, ""), Some(2));
    assert_eq!(waits([grew, "", "", ""], ALIKE, ""), None);
    let other = ["standard", "lumen", "lumen", "standard"];
    assert_eq!(waits([grew, "", put, put], other, ""), Some(2));
    assert_eq!(waits([grew, "", put, put], other, PROGRAM), Some(3));
    // Loads of the other program are no part of the scope.
    let rows = scopes("plasma", [grew, "", put, put], other, PROGRAM)[0]
        .rows
        .len();
    assert_eq!(rows, 2);
}

#[test]
fn growths_without_a_satisfactory_one_between_them_are_one_scope() {
    let (good, grew) = ("well control", "grew control");
    let ends = |vials, process| {
        let scopes = scopes(process, vials, ALIKE, "");
        let told = |recall: &Recall| (recall.growths.len(), recall.start, recall.end);
        scopes.iter().map(told).collect::<Vec<_>>()
    };
    assert_eq!(
        ends([grew, "", grew, good], "plasma"),
        [(2, Start::FirstRecord, End::Before(CycleIx(3)))]
    );
    assert_eq!(
        ends([grew, good, grew, ""], "plasma"),
        [
            (1, Start::FirstRecord, End::Before(CycleIx(1))),
            (1, Start::After(CycleIx(1)), End::Open { awaits: None }),
        ]
    );
    // What reaches further counts: of two in steam the later makes the earlier one a positive that came again.
    let steam = scopes("steam", [grew, "", grew, ""], ALIKE, "");
    assert_eq!(steam.len(), 1);
    assert!(
        matches!(steam[0].path, Path::Everything(_)),
        "{:?}",
        steam[0].path
    );
    assert_eq!(steam[0].loads_back().len(), 4);
}

#[test]
fn single_growth_without_another_fault_waits_for_repeats_and_a_fault_calls_everything_back() {
    use crate::judge::trial::{STEAM, edited};
    let path = |edits: &[(&str, &str)]| {
        let text = edited(STEAM, edits);
        recalls(&text, None).1.remove(0).path
    };
    let grew = ("result no growth, by HB", "result growth, by HB");
    assert_eq!(path(&[grew]), Path::Repeats { in_a_row: 0 });
    // The unit's air-removal test of that morning, its second cycle, was not passed.
    let failed = ("07:05:00\noutcome: passed", "07:05:00\noutcome: failed");
    let Path::Everything(WhyEverything::Fault { tests, .. }) = path(&[grew, failed]) else {
        panic!("no fault");
    };
    assert_eq!(tests, [CycleIx(1)]);

    // The same load on the next day grows too: of the two ways the one with a fault counts, whichever it is.
    let next_day = |text: &str| {
        let later = text.replace("2026-03-13", "2026-03-14");
        let later = later.replace("2026-03-12", "2026-03-13");
        later
            .replace("S1-0312-01", "S1-0313-07")
            .replace("counter: 512", "counter: 513")
            .replace("counter 5122", "counter 5132")
    };
    let ci = (
        "lot C5018, expiry 2027-01-31, endpoint reached",
        "lot C5018, expiry 2027-01-31, endpoint not reached",
    );
    let sound = edited(STEAM, &[grew]);
    let faulty = edited(STEAM, &[grew, ci]);
    for (first, second, has_fault) in [
        (&sound, &sound, false),
        (&faulty, &sound, true),
        (&sound, &faulty, true),
    ] {
        let (_, recalls) = recalls(&format!("{first}{}", next_day(second)), None);
        assert_eq!(recalls.len(), 1);
        assert_eq!(recalls[0].growths.len(), 2);
        let expected = match has_fault {
            true => WhyEverything::Fault {
                rules: vec![RuleId("ci-endpoint-not-reached")],
                tests: Vec::new(),
            },
            false => WhyEverything::GrewAgain,
        };
        assert_eq!(recalls[0].path, Path::Everything(expected));
    }
}
