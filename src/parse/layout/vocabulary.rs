//! Common trade words, English and German, by which a draft guesses what a printer's labels and words may mean. Common
//! practice, no source. A guess is only ever proposed, never read by. Read [`label_meaning`] first.

use super::field::UnitOf;

/// What a label may announce.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Guess {
    /// The start: its date, its time or both.
    Start,
    /// The end.
    End,
    /// The time from start to end.
    Total,
    /// The outcome.
    Outcome,
    /// The cause of the outcome.
    Cause,
    /// What the cycle was run for.
    Purpose,
    /// A field of one kind, by the name of its placeholder.
    Field(&'static str),
}

const LABELS: &[(&str, Guess)] = &[
    ("cycle no", Guess::Field("counter")),
    ("cycle nr", Guess::Field("counter")),
    ("cycle number", Guess::Field("counter")),
    ("cycle count", Guess::Field("counter")),
    ("cycle counter", Guess::Field("counter")),
    ("cycle", Guess::Field("counter")),
    ("run no", Guess::Field("counter")),
    ("run number", Guess::Field("counter")),
    ("run", Guess::Field("counter")),
    ("counter", Guess::Field("counter")),
    ("lauf", Guess::Field("counter")),
    ("lauf nr", Guess::Field("counter")),
    ("zyklus", Guess::Field("counter")),
    ("number", Guess::Field("counter")),
    ("no", Guess::Field("counter")),
    ("sequence", Guess::Field("counter")),
    ("unit", Guess::Field("unit")),
    ("chamber", Guess::Field("unit")),
    ("device", Guess::Field("unit")),
    ("gerät", Guess::Field("unit")),
    ("sterilizer", Guess::Field("unit")),
    ("serial", Guess::Field("serial")),
    ("serial no", Guess::Field("serial")),
    ("serial number", Guess::Field("serial")),
    ("s/n", Guess::Field("serial")),
    ("sn", Guess::Field("serial")),
    ("software", Guess::Field("software")),
    ("version", Guess::Field("software")),
    ("firmware", Guess::Field("software")),
    ("place", Guess::Field("place")),
    ("site", Guess::Field("place")),
    ("location", Guess::Field("place")),
    ("department", Guess::Field("place")),
    ("ort", Guess::Field("place")),
    ("program", Guess::Field("program")),
    ("programme", Guess::Field("program")),
    ("programm", Guess::Field("program")),
    ("mode", Guess::Field("program")),
    ("type", Guess::Field("program")),
    ("recipe", Guess::Field("program")),
    ("kind", Guess::Field("program")),
    ("load", Guess::Field("load")),
    ("load no", Guess::Field("load")),
    ("load number", Guess::Field("load")),
    ("batch", Guess::Field("load")),
    ("charge", Guess::Field("load")),
    ("operator", Guess::Field("operator")),
    ("oper", Guess::Field("operator")),
    ("user", Guess::Field("operator")),
    ("staff", Guess::Field("operator")),
    ("by", Guess::Field("operator")),
    ("started by", Guess::Field("operator")),
    ("bediener", Guess::Field("operator")),
    ("pulses", Guess::Field("pulses")),
    ("readings", Guess::Field("readings")),
    ("lines", Guess::Field("readings")),
    ("rows", Guess::Field("readings")),
    ("sterilant lot", Guess::Field("sterilant lot")),
    ("agent lot", Guess::Field("sterilant lot")),
    ("sterilant expiry", Guess::Field("sterilant expiry")),
    ("agent expiry", Guess::Field("sterilant expiry")),
    ("bi lot", Guess::Field("bi lot")),
    ("ci lot", Guess::Field("ci lot")),
    ("start", Guess::Start),
    ("started", Guess::Start),
    ("begin", Guess::Start),
    ("began", Guess::Start),
    ("beginn", Guess::Start),
    ("date", Guess::Start),
    ("time", Guess::Start),
    ("datum", Guess::Start),
    ("zeit", Guess::Start),
    ("on", Guess::Start),
    ("end", Guess::End),
    ("ended", Guess::End),
    ("finish", Guess::End),
    ("finished", Guess::End),
    ("stop", Guess::End),
    ("ende", Guess::End),
    ("schluss", Guess::End),
    ("total", Guess::Total),
    ("total time", Guess::Total),
    ("duration", Guess::Total),
    ("length", Guess::Total),
    ("dauer", Guess::Total),
    ("result", Guess::Outcome),
    ("outcome", Guess::Outcome),
    ("status", Guess::Outcome),
    ("verdict", Guess::Outcome),
    ("state", Guess::Outcome),
    ("purpose", Guess::Purpose),
    ("art", Guess::Purpose),
    ("stage", Guess::Field("outcome stage")),
    ("stopped in", Guess::Field("outcome stage")),
    ("stöße", Guess::Field("pulses")),
    ("ergebnis", Guess::Outcome),
    ("cause", Guess::Cause),
    ("reason", Guess::Cause),
    ("because", Guess::Cause),
    ("grund", Guess::Cause),
];

/// What a label may announce.
pub fn label_meaning(label: &str) -> Option<Guess> {
    let label = plain(label);
    LABELS
        .iter()
        .find(|(known, _)| *known == label)
        .map(|(_, guess)| *guess)
}

/// Letters small, dots and doubled spaces left out.
fn plain(text: &str) -> String {
    let text = text.to_lowercase().replace(['.', '#', '_'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Words for units that are not loadbook's own symbols: how printers write them, the quantity, and the unit with its
/// datum.
const UNITS: &[(&str, &str, &str)] = &[
    ("psig", "pressure", "psi gauge"),
    ("psia", "pressure", "psi absolute"),
    ("in hg", "pressure", "inHg gauge"),
    ("inhg", "pressure", "inHg"),
    ("mm hg", "pressure", "Torr"),
    ("mmhg", "pressure", "Torr"),
    ("hpa", "pressure", "mbar"),
    ("barg", "pressure", "bar gauge"),
    ("bara", "pressure", "bar absolute"),
    ("bar ü", "pressure", "bar gauge"),
    ("kpag", "pressure", "kPa gauge"),
    ("kpaa", "pressure", "kPa absolute"),
    ("degc", "temperature", "C"),
    ("degf", "temperature", "F"),
    ("grad", "temperature", "C"),
    ("%rh", "humidity", "%"),
    ("watt", "power", "W"),
];

/// The quantity and unit that a printed unit may mean.
pub fn unit_meaning(printed: &str) -> Option<(&'static str, String)> {
    let bare = printed.trim_start_matches('°').trim_end_matches('.');
    if bare.is_empty() {
        return None;
    }
    let word = plain(bare);
    let listed = UNITS.iter().find(|(known, _, _)| *known == word);
    if let Some((_, quantity, unit)) = listed {
        return Some((quantity, (*unit).to_owned()));
    }
    let all = UnitOf::all();
    let (symbol, unit) = all
        .iter()
        .find(|(symbol, _)| symbol.eq_ignore_ascii_case(bare))?;
    Some((unit.kind().word(), symbol.clone()))
}

/// Whether a word announces an alarm.
pub fn is_alarm_word(word: &str) -> bool {
    let word = plain(word.trim_end_matches([':', '!']));
    matches!(
        word.as_str(),
        "alarm" | "fault" | "error" | "warning" | "störung" | "fehler" | "alert"
    ) || word == "!!"
}

/// Whether a word announces a stage.
pub fn is_stage_announcement(word: &str) -> bool {
    let word = plain(word.trim_end_matches(':'));
    matches!(
        word.as_str(),
        "stage" | "phase" | "step" | "abschnitt" | "schritt"
    )
}

/// The first entry one of whose words begins a word of the text.
fn by_stem(text: &str, stems: &[(&str, &'static str)]) -> Option<&'static str> {
    let text = plain(text);
    stems
        .iter()
        .find(|(stem, _)| {
            text.match_indices(stem).any(|(at, _)| {
                let before = text.get(..at).and_then(|before| before.chars().next_back());
                before.is_none_or(|c| !c.is_alphanumeric())
            })
        })
        .map(|(_, meaning)| *meaning)
}

/// The stage that a printer's word may mean.
pub fn stage_meaning(word: &str) -> Option<&'static str> {
    by_stem(
        word,
        &[
            ("steriliz", "expose"),
            ("sterilis", "expose"),
            ("expos", "expose"),
            ("plateau", "expose"),
            ("dwell", "expose"),
            ("halten", "expose"),
            ("air removal", "condition"),
            ("condition", "condition"),
            ("purge", "condition"),
            ("pulse", "condition"),
            ("pre-vac", "condition"),
            ("prevac", "condition"),
            ("humid", "condition"),
            ("entlüft", "condition"),
            ("inject", "inject"),
            ("dose", "inject"),
            ("dosing", "inject"),
            ("diffus", "diffuse"),
            ("soak", "diffuse"),
            ("spread", "diffuse"),
            ("plasma", "plasma"),
            ("glow", "plasma"),
            ("exhaust", "exhaust"),
            ("blow", "exhaust"),
            ("ablass", "exhaust"),
            ("release", "exhaust"),
            ("aerat", "aerate"),
            ("dry", "dry"),
            ("trock", "dry"),
            ("settle", "settle"),
            ("settling", "settle"),
            ("equalis", "settle"),
            ("vent", "vent"),
            ("belüft", "vent"),
            ("air in", "vent"),
            ("warm", "warm"),
            ("heat", "warm"),
            ("evac", "evacuate"),
            ("vacuum", "evacuate"),
            ("pump", "evacuate"),
            ("air out", "evacuate"),
            ("hold", "hold"),
        ],
    )
}

/// The cause that a printer's words may mean.
pub fn alarm_meaning(words: &str) -> Option<&'static str> {
    by_stem(
        words,
        &[
            ("wet", "moisture"),
            ("moist", "moisture"),
            ("feucht", "moisture"),
            ("expired", "sterilant-expired"),
            ("out of date", "sterilant-expired"),
            ("empty", "sterilant-empty"),
            ("used up", "sterilant-empty"),
            ("no vacuum", "pressure-not-reached"),
            ("pressure not", "pressure-not-reached"),
            ("pressure", "pressure-lost"),
            ("too cold", "temperature-low"),
            ("temperature low", "temperature-low"),
            ("too hot", "temperature-high"),
            ("temperature high", "temperature-high"),
            ("too dry", "humidity-low"),
            ("air not", "air-present"),
            ("air left", "air-present"),
            ("door", "door-open"),
            ("tür", "door-open"),
            ("mains", "power-lost"),
            ("power", "power-lost"),
            ("stop", "operator-stopped"),
            ("water", "supply-fault"),
            ("steam", "supply-fault"),
            ("dampf", "supply-fault"),
            ("supply", "supply-fault"),
            ("probe", "sensor-fault"),
            ("sensor", "sensor-fault"),
        ],
    )
}

/// The purpose that a printer's words may mean.
pub fn purpose_meaning(words: &str) -> Option<&'static str> {
    by_stem(
        words,
        &[
            ("leak", "leak-test"),
            ("chamber check", "leak-test"),
            ("dicht", "leak-test"),
            ("air removal", "air-removal-test"),
            ("air test", "air-removal-test"),
            ("entlüftung", "air-removal-test"),
            ("warm", "warm-up"),
        ],
    )
}

/// The outcome that a printer's words may mean.
pub fn outcome_meaning(words: &str) -> Option<&'static str> {
    by_stem(
        words,
        &[
            ("running", "running"),
            ("not started", "rejected"),
            ("not begun", "rejected"),
            ("not accepted", "rejected"),
            ("refused", "rejected"),
            ("rejected", "rejected"),
            ("nicht begonnen", "rejected"),
            ("incomplete", "aborted"),
            ("abort", "aborted"),
            ("stopped", "aborted"),
            ("interrupted", "aborted"),
            ("cancel", "aborted"),
            ("broken off", "aborted"),
            ("abgebrochen", "aborted"),
            ("not passed", "failed"),
            ("nicht bestanden", "failed"),
            ("fail", "failed"),
            ("leak", "failed"),
            ("pass", "passed"),
            ("tight", "passed"),
            ("bestanden", "passed"),
            ("complete", "completed"),
            ("finished", "completed"),
            ("done", "completed"),
            ("ok", "completed"),
            ("good", "completed"),
            ("vollständig", "completed"),
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_told_by_how_they_begin() {
        assert_eq!(stage_meaning("STERILIZING 134"), Some("expose"));
        assert_eq!(stage_meaning("Air removal"), Some("condition"));
        // `prevent` does not begin with `vent`.
        assert_eq!(stage_meaning("prevent"), None);
        assert_eq!(outcome_meaning("CYCLE INCOMPLETE"), Some("aborted"));
        assert_eq!(outcome_meaning("Cycle complete"), Some("completed"));
        assert_eq!(alarm_meaning("LOAD TOO WET"), Some("moisture"));
        assert_eq!(label_meaning("Cycle No."), Some(Guess::Field("counter")));
        assert_eq!(label_meaning("patient"), None);
    }

    #[test]
    fn words_that_announce_are_known_in_any_letters() {
        for word in [
            "ALARM", "alarm:", "Fault!", "error", "Warning", "Störung", "FEHLER", "alert",
        ] {
            assert!(is_alarm_word(word), "{word}");
        }
        for word in ["alarms", "stage", "", "ok"] {
            assert!(!is_alarm_word(word), "{word}");
        }
        for word in ["Stage", "PHASE:", "step", "Abschnitt", "schritt"] {
            assert!(is_stage_announcement(word), "{word}");
        }
        for word in ["stages", "alarm", ""] {
            assert!(!is_stage_announcement(word), "{word}");
        }
        for (words, purpose) in [
            ("Leak test", Some("leak-test")),
            ("CHAMBER CHECK", Some("leak-test")),
            ("Dichtheit", Some("leak-test")),
            ("air removal", Some("air-removal-test")),
            ("Entlüftungstest", Some("air-removal-test")),
            ("WARM UP", Some("warm-up")),
            ("wrapped 134", None),
        ] {
            assert_eq!(purpose_meaning(words), purpose, "{words}");
        }
    }

    #[test]
    fn printed_unit_is_one_of_ours_or_one_that_means_it() {
        for (printed, meaning) in [
            ("kPa", Some(("pressure", "kPa"))),
            ("KPA", Some(("pressure", "kPa"))),
            ("psig", Some(("pressure", "psi gauge"))),
            ("bar Ü", Some(("pressure", "bar gauge"))),
            ("mm.Hg", Some(("pressure", "Torr"))),
            ("°C", Some(("temperature", "C"))),
            ("C.", Some(("temperature", "C"))),
            ("degF", Some(("temperature", "F"))),
            ("%", Some(("humidity", "%"))),
            ("Watt", Some(("power", "W"))),
            ("°", None),
            ("", None),
            ("apples", None),
        ] {
            let expected = meaning.map(|(quantity, unit)| (quantity, unit.to_owned()));
            assert_eq!(unit_meaning(printed), expected, "{printed}");
        }
    }
}
