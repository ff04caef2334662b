//! What each rule says, and by which lines it proves it: read off the strips and logs of `tests/decisions/bases` by hand.
//! The numbers in the words are worked out beside each case. Whether a rule finds something at all is the question of the
//! tests beside it and of `tests/decisions/cases`.

use crate::judge::trial::{EO, Edit, PLASMA, STEAM, answers};

/// The rule gives exactly these answers: the words, and how the cited lines begin.
#[track_caller]
pub(super) fn assert_answers(
    rule: &str,
    base: &str,
    edits: &[Edit<'_>],
    toml: &str,
    expected: &[(&str, &str, &[&str])],
) {
    let given = answers(rule, base, edits, toml);
    let same = given.len() == expected.len()
        && given
            .iter()
            .zip(expected)
            .all(|(given, (how, words, lines))| {
                given.how == *how
                    && given.words == *words
                    && given.lines.len() == lines.len()
                    && (given.lines.iter().zip(*lines)).all(|(line, start)| line.starts_with(start))
            });
    assert!(same, "{rule}: {given:#?}");
}

#[track_caller]
pub(super) fn assert_met(rule: &str, base: &str, words: &str, lines: &[&str]) {
    assert_answers(rule, base, &[], "", &[("met", words, lines)]);
}

#[track_caller]
pub(super) fn assert_says(rule: &str, base: &str, edits: &[Edit<'_>], words: &str, lines: &[&str]) {
    assert_answers(rule, base, edits, "", &[("found", words, lines)]);
}

#[test]
fn plasma_load_that_lacks_nothing_is_proven_by_these_lines() {
    for (rule, words, lines) in [
        (
            "printout-missing",
            "the printout of the cycle",
            &["loadbook printout 1"][..],
        ),
        (
            "stage-missing",
            "every stage is there, in order",
            &[
                "stage: evacuate",
                "stage: inject",
                "stage: diffuse",
                "stage: plasma",
            ],
        ),
        (
            "stage-too-short",
            "no stage was shorter than its limit",
            &["stage: diffuse"],
        ),
        (
            "stage-too-long",
            "no stage was longer than its limit",
            &["stage: evacuate"],
        ),
        (
            "reading-outside-band",
            "every reading kept the printed limits",
            &["stage: evacuate", "stage: diffuse", "stage: plasma"],
        ),
        (
            "plasma-temperature-high",
            "every temperature is below 50 C",
            &["loadbook printout 1"],
        ),
        (
            "printout-totals-differ",
            "the total agrees with the lines",
            &["total: "],
        ),
        (
            "log-contradicts-printout",
            "log and printout name the same cycle",
            &["program: standard"],
        ),
        (
            "contents-unfit-for-plasma",
            "nothing listed is of a kind that the process cannot take",
            &["07:36 content"],
        ),
        (
            "ci-endpoint-not-reached",
            "every chemical indicator reached its endpoint",
            &["08:25 ci", "08:31 ci"],
        ),
        (
            "ci-internal-missing",
            "the internal chemical indicators",
            &["08:31 ci"],
        ),
        (
            "bi-not-read",
            "the biological indicator was read",
            &["2026-03-13 08:45 bi"],
        ),
        (
            "bi-control-no-growth",
            "the control grew, as it must",
            &["2026-03-13 08:46 bi"],
        ),
        (
            "bi-schedule-not-kept",
            "the load has a biological indicator of its own",
            &["2026-03-13 08:45 bi"],
        ),
        (
            "lot-past-its-uses",
            "no supply was past its uses",
            &["consumable: "],
        ),
    ] {
        assert_met(rule, PLASMA, words, lines);
    }
}

#[test]
fn steam_load_that_lacks_nothing_is_proven_by_these_lines() {
    for (rule, words, lines) in [
        (
            "air-removal-test-missing",
            "the unit's air-removal test of the day",
            &["loadbook printout 1"][..],
        ),
        (
            "air-removal-test-not-passed",
            "the unit's last air-removal test was passed",
            &["outcome: passed"],
        ),
        (
            "leak-rate-above-limit",
            "0.52 mbar/min, at most 1.3",
            &["leak: 0.52"],
        ),
        // From 07:52:10 to 07:55:20, every reading within the band.
        (
            "steam-holding-time-short",
            "held for 3 min 10 s within 134 to 137 C",
            &["stage: expose"],
        ),
        (
            "steam-temperature-outside-band",
            "every temperature of the exposure lies in one band",
            &["stage: expose"],
        ),
        (
            "steam-not-saturated",
            "temperature and pressure agree with saturated steam within 2 K",
            &["stage: expose"],
        ),
    ] {
        assert_met(rule, STEAM, words, lines);
    }
}

#[test]
fn stage_tells_its_length_and_limit() {
    // 07:56:10 to 08:02:09.
    let short = [
        ("08:02:10 p", "08:02:00 p"),
        ("plasma, at 08:04:10", "plasma, at 08:02:09"),
    ];
    assert_says(
        "stage-too-short",
        PLASMA,
        &short,
        "the stage diffuse lasted 5 min 59 s, shorter than its limit of 6 min",
        &["stage: diffuse"],
    );
    // 07:30:10 to 07:50:10 is exactly twenty minutes; a second more is too long.
    let exactly = [
        ("evacuate, at 07:41:30", "evacuate, at 07:30:10"),
        (
            "started: 2026-03-12 07:41:20",
            "started: 2026-03-12 07:30:00",
        ),
        ("total: 00:40:45", "total: 00:52:05"),
    ];
    assert_answers(
        "stage-too-long",
        PLASMA,
        &exactly,
        "",
        &[(
            "met",
            "no stage was longer than its limit",
            &["stage: evacuate"],
        )],
    );
    let long = [
        ("evacuate, at 07:41:30", "evacuate, at 07:30:09"),
        exactly[1],
        exactly[2],
    ];
    assert_says(
        "stage-too-long",
        PLASMA,
        &long,
        "the stage evacuate lasted 20 min 1 s, longer than its limit of 20 min",
        &["stage: evacuate"],
    );
}

#[test]
fn reading_tells_itself_its_limit_and_its_line() {
    assert_says(
        "reading-outside-band",
        PLASMA,
        &[("power 402 W", "power 349.5 W")],
        "in the stage plasma power 349.5 W was read, and its limit is at least power 350 W, although the unit printed that the cycle was completed",
        &["stage: plasma", "08:05:10"],
    );
    // What works towards its limit has to have come there at its end.
    assert_says(
        "reading-outside-band",
        PLASMA,
        &[("pressure 51.2 Pa", "pressure 53.1 Pa")],
        "in the stage evacuate pressure 53.1 Pa was read, and its limit is at most pressure 53 Pa, although the unit printed that the cycle was completed",
        &["stage: evacuate", "07:49:30"],
    );
    assert_says(
        "plasma-temperature-high",
        PLASMA,
        &[("47.0 C", "50.0 C")],
        "50.0 C was read; the process stays below 50 C",
        &["loadbook printout 1", "08:05:10"],
    );
}

#[test]
fn limit_is_kept_by_its_own_number_and_broken_by_the_next_in_every_quantity() {
    // Each limit as printed in the ethylene-oxide base: least and most kept exactly, and one step past it.
    for (from, kept, broken) in [
        ("humidity 56 %", "humidity 40 %", "humidity 39.9 %"),
        ("humidity 56 %", "humidity 80 %", "humidity 80.1 %"),
        (
            "concentration 670 mg/L",
            "concentration 450 mg/L",
            "concentration 449 mg/L",
        ),
        (
            "temperature 55.1 C",
            "temperature 63.0 C",
            "temperature 63.1 C",
        ),
        (
            "temperature 55.1 C",
            "temperature 37.0 C",
            "temperature 36.9 C",
        ),
    ] {
        let how = |to: &str| answers("reading-outside-band", EO, &[(from, to)], "")[0].how;
        assert_eq!(
            (how(kept), how(broken)),
            ("met", "found"),
            "{kept}, {broken}"
        );
    }
    for (from, kept, broken) in [
        ("pressure 51.2 Pa", "pressure 53 Pa", "pressure 53.1 Pa"),
        (
            "concentration 5.7 mg/L",
            "concentration 3.5 mg/L",
            "concentration 3.4 mg/L",
        ),
        ("power 402 W", "power 350 W", "power 349 W"),
    ] {
        let how = |to: &str| answers("reading-outside-band", PLASMA, &[(from, to)], "")[0].how;
        assert_eq!(
            (how(kept), how(broken)),
            ("met", "found"),
            "{kept}, {broken}"
        );
    }
}

#[test]
fn totals_tell_how_many_lines_of_readings_there_should_be() {
    assert_says(
        "printout-totals-differ",
        PLASMA,
        &[("readings 6", "readings 7")],
        "the printout should hold 7 lines of readings and holds 6",
        &["total: "],
    );
}

#[test]
fn stage_tells_whether_it_is_missing_or_out_of_order() {
    assert_says(
        "stage-missing",
        PLASMA,
        &[("stage: plasma, at 08:04:10", "stage: hold, at 08:04:10")],
        "the printout has no stage plasma",
        &["loadbook printout 1"],
    );
    let swapped = [
        ("stage: inject, at", "stage: hold, at"),
        ("stage: plasma, at", "stage: inject, at"),
        ("stage: vent, at", "stage: plasma, at"),
    ];
    assert_says(
        "stage-missing",
        PLASMA,
        &swapped,
        "the stage diffuse is out of its order",
        &["stage: diffuse"],
    );
}

#[test]
fn log_and_printout_that_differ_are_both_told() {
    for (from, to, words, log, strip) in [
        (
            "counter 1042,",
            "counter 1043,",
            "the log gives counter 1043 and the printout 1042",
            "07:35 load",
            "counter: 1042",
        ),
        (
            "program standard,",
            "program lumen,",
            "the log gives program lumen and the printout standard",
            "07:35 load",
            "program: standard",
        ),
    ] {
        assert_says(
            "log-contradicts-printout",
            PLASMA,
            &[(from, to)],
            words,
            &[log, strip],
        );
    }
}

#[test]
fn lot_tells_its_days_and_uses() {
    let edit = [(
        "expiry 2026-09-30, use 3 of 10",
        "expiry 2026-03-11, use 3 of 10",
    )];
    assert_says(
        "lot-expired",
        PLASMA,
        &edit,
        "lot K4471 (sterilant) expired on 2026-03-11 and was used on 2026-03-12",
        &["consumable: "],
    );
    assert_says(
        "lot-past-its-uses",
        PLASMA,
        &[("use 3 of 10", "use 11 of 10")],
        "lot K4471 (sterilant) was used for the 11th of 10 times",
        &["consumable: "],
    );
    // Opened on 1 March, used on 12 March: eleven days. A policy of eleven allows them, one of ten does not.
    let opened = [("07:00 lot: sterilant", "2026-03-01 07:00 lot: sterilant")];
    let days = |n: u32| format!("[rules.lot-open-too-long]\nsterilant-days = {n}");
    assert_answers(
        "lot-open-too-long",
        PLASMA,
        &opened,
        &days(11),
        &[("met", "no lot had been open too long", &["consumable: "])],
    );
    assert_answers(
        "lot-open-too-long",
        PLASMA,
        &opened,
        &days(10),
        &[(
            "found",
            "lot K4471 (sterilant) had been open for 11 days, and the policy allows 10",
            &["consumable: ", "2026-03-01 07:00 lot"],
        )],
    );
    let finished = [(
        "07:35 load: P1",
        "07:30 lot: sterilant, lot K4471, action finished, by HB\n07:35 load: P1",
    )];
    assert_says(
        "lot-used-after-finished",
        PLASMA,
        &finished,
        "lot K4471 (sterilant) was finished on 2026-03-12 07:30 and used on 2026-03-12 07:41",
        &["consumable: ", "07:30 lot"],
    );
}

#[test]
fn lot_of_each_kind_has_days_of_its_own() {
    // All lots of the base are opened on the day; ten days before, one of them at a time.
    for (kind, key) in [
        ("sterilant", "sterilant-days"),
        ("ci", "ci-days"),
        ("bi", "bi-days"),
    ] {
        let opened = format!("07:00 lot: {kind}");
        let before = format!("2026-03-02 07:00 lot: {kind}");
        for (days, how) in [(9, "found"), (10, "met")] {
            let toml = format!("[rules.lot-open-too-long]\n{key} = {days}");
            let given = answers("lot-open-too-long", PLASMA, &[(&opened, &before)], &toml);
            assert_eq!(
                given.first().map(|one| one.how),
                Some(how),
                "{kind} {days} {given:?}"
            );
        }
    }
}

#[test]
fn chemical_indicator_tells_where_it_lay() {
    assert_says(
        "ci-endpoint-not-reached",
        PLASMA,
        &[(
            "lot C2240, expiry 2027-01-31, endpoint reached",
            "lot C2240, expiry 2027-01-31, endpoint not reached",
        )],
        "the internal indicator with ENT scope 4 did not reach its endpoint",
        &["08:31 ci"],
    );
    assert_says(
        "ci-endpoint-not-reached",
        PLASMA,
        &[(
            "lot C2231, expiry 2027-01-31, endpoint reached",
            "lot C2231, expiry 2027-01-31, endpoint not reached",
        )],
        "the external indicator did not reach its endpoint",
        &["08:25 ci"],
    );
    assert_says(
        "ci-internal-missing",
        PLASMA,
        &[("type 4, set ENT scope 4", "type 4, set ENT scope 5")],
        "there is no result of an internal chemical indicator for ENT scope 4",
        &["07:36 content"],
    );
    // One indicator that names no set may be any one's, but only one's: of two sets the second lacks one.
    let two = [
        ("type 4, set ENT scope 4", "type 4"),
        (
            "08:25 ci: P1",
            "07:37 content: P1-0312-01, set Rasp 2, items 3, packages 1, packaging pouch, lot W310, implant no, to theatre 2\n08:25 ci: P1",
        ),
    ];
    assert_says(
        "ci-internal-missing",
        PLASMA,
        &two,
        "there is no result of an internal chemical indicator for Rasp 2",
        &["07:37 content"],
    );
}

#[test]
fn contents_tell_the_word_that_is_unfit() {
    assert_says(
        "contents-unfit-for-plasma",
        PLASMA,
        &[(
            "packaging pouch, lot W310, implant",
            "packaging linen, lot W310, implant",
        )],
        "the load holds `linen`, which a peroxide process cannot take",
        &["07:36 content"],
    );
}

#[test]
fn waiting_vial_is_late_only_when_its_longest_incubation_has_passed() {
    let vial = (
        "2026-03-13 08:45 bi: P1-0312-01, role test",
        "2026-03-13 08:45 bi: P1-0312-02, role test",
    );
    let why = "no other load of the unit in the seven days before has a BI that counts";
    assert_says(
        "bi-not-read",
        PLASMA,
        &[vial],
        &format!("the BI of lot B771 is not read; {why}"),
        &["08:40 bi"],
    );
    // The longest incubation of the preset is 168 h.
    let later = (
        "2026-03-13 09:00 release: P1-0312-01, by MK",
        "2026-04-13 09:00 remark: four weeks on",
    );
    assert_says(
        "bi-not-read",
        PLASMA,
        &[vial, later],
        &format!("the BI of lot B771 is not read, and the longest incubation has passed; {why}"),
        &["08:40 bi"],
    );
    assert_says(
        "bi-overdue",
        PLASMA,
        &[vial, later],
        "the BI of lot B771 was not read within its longest incubation",
        &["08:40 bi"],
    );
}

#[test]
fn reading_too_late_tells_its_hours() {
    // From 08:40 on the 12th to 08:52 on the 19th: seven days and a fifth of an hour.
    let late = [(
        "incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no",
        "incubated 2026-03-12 08:40, read 2026-03-19 08:52, result no",
    )];
    assert_says(
        "bi-read-too-late",
        PLASMA,
        &late,
        "no growth was read after 168.2 h of incubation, and the longest is 168 h",
        &["2026-03-13 08:45 bi"],
    );
}

#[test]
fn dead_control_is_told_once() {
    let dead = [("result growth, by MK", "result no growth, by MK")];
    assert_says(
        "bi-control-no-growth",
        PLASMA,
        &dead,
        "the control of the biological indicator did not grow, so that the test proves nothing",
        &["2026-03-13 08:46 bi"],
    );
}

#[test]
fn growth_elsewhere_in_the_unit_names_its_load() {
    // The next load of the unit grew, and the base's load has lost its own indicator.
    let other = "loadbook printout 1\nunit: PL-1\nzone: Europe/London\nprocess: plasma\nprogram: standard\ncounter: 1043\nload: P1-0312-02\nstarted: 2026-03-12 09:41:20\nended: 10:22:05\noutcome: completed\nend\n\
        loadbook log 1\nplace: Fennmarsh General\nzone: Europe/London\ndate: 2026-03-12\n\
        10:40 bi: P1-0312-02, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 10:40, by HB\n\
        2026-03-13 10:45 bi: P1-0312-02, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 10:40, read 2026-03-13 10:45, result growth, by MK\n";
    let text = format!("{PLASMA}{other}");
    let no_test = [
        (
            "08:40 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, by HB\n",
            "",
        ),
        (
            "2026-03-13 08:45 bi: P1-0312-01, role test, lot B771, expiry 2026-12-31, incubated 2026-03-12 08:40, read 2026-03-13 08:45, result no growth, by MK\n",
            "",
        ),
    ];
    let given = answers("bi-growth-in-unit", &text, &no_test, "");
    let words: Vec<&str> = given.iter().map(|one| one.words.as_str()).collect();
    assert_eq!(words.len(), 1, "{given:?}");
    assert!(
        words[0].contains("the BI of lot B771 of load P1-0312-02"),
        "{given:?}"
    );
    assert!(
        given[0]
            .lines
            .iter()
            .any(|line| line.starts_with("2026-03-13 10:45 bi: P1-0312-02")),
        "{given:?}"
    );
    // The load with its own satisfactory indicator is in no doubt.
    assert!(
        answers("bi-growth-in-unit", &text, &[], "")
            .iter()
            .all(|one| one.how == "met")
    );
}

#[test]
fn steam_that_is_off_tells_by_how_much_and_which_way() {
    // tests/reference/steam_saturation.csv (IAPWS-IF97, region 4): 135.0 C at 3.13201 bar, 134.5 C at 3.08673 bar; so between
    // them 134.98 C, said as 135.0, at 3.13 bar.
    let exposed = |to: &'static str| [("pressure 3.1300 bar, temperature 135.0 C", to)];
    let lines = ["stage: expose", "07:53:15"];
    assert_says(
        "steam-not-saturated",
        STEAM,
        &exposed("pressure 3.1300 bar, temperature 137.1 C"),
        "137.1 C was read, and saturated steam at the pressure printed with it has 135.0 C: the steam may be superheated, or a sensor is wrong",
        &lines,
    );
    assert_says(
        "steam-not-saturated",
        STEAM,
        &exposed("pressure 3.1300 bar, temperature 132.0 C"),
        "132.0 C was read, and saturated steam at the pressure printed with it has 135.0 C: air may be present, or a sensor is wrong",
        &lines,
    );
    assert_says(
        "steam-temperature-outside-band",
        STEAM,
        &exposed("pressure 3.1300 bar, temperature 137.1 C"),
        "137.1 C was read in the exposure, outside the band of 134 to 137 C",
        &lines,
    );
    assert_says(
        "leak-rate-above-limit",
        STEAM,
        &[("leak: 0.52 mbar/min", "leak: 1.31 mbar/min")],
        "the last leak test rose by 1.31 mbar/min, and the limit is 1.3",
        &["leak: 1.31"],
    );
}

#[test]
fn test_of_the_unit_that_was_not_passed_is_cited() {
    let failed = [("07:05:00\noutcome: passed", "07:05:00\noutcome: failed")];
    assert_says(
        "air-removal-test-not-passed",
        STEAM,
        &failed,
        "the unit's last air-removal test before the load was not passed",
        &["outcome: failed"],
    );
}

#[test]
fn program_that_removes_air_by_gravity_needs_no_test_by_policy() {
    let earlier = [(
        "started: 2026-03-12 06:40:00",
        "started: 2026-03-11 06:40:00",
    )];
    let toml = "[rules.air-removal-test-missing]\nprograms-without = [\"Wrapped 134\"]";
    assert_answers("air-removal-test-missing", STEAM, &earlier, toml, &[]);
    let toml = "[rules.air-removal-test-missing]\nprograms-without = [\"gravity 121\"]";
    assert_eq!(
        answers("air-removal-test-missing", STEAM, &earlier, toml)[0].how,
        "found"
    );
}

#[test]
fn aeration_tells_how_long_it_was_warm() {
    // 11:31 to 19:31, eight hours; a second less is too short.
    let met = answers("eo-aeration-short", EO, &[], "");
    assert!(
        met[0].how == "met" && met[0].words.starts_with("aerated for 480 min at "),
        "{met:?}"
    );
    let short = [("stage: vent, at 19:31:00", "stage: vent, at 19:30:59")];
    let found = answers("eo-aeration-short", EO, &short, "");
    assert!(
        found[0].how == "found"
            && found[0]
                .words
                .starts_with("the printout shows 479 min 59 s of aeration at "),
        "{found:?}"
    );
}
