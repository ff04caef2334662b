//! The one table of diagnostic codes: id, severity, what it means, what to do next.
//!
//! Documentation and `loadbook read --explain CODE` derive from it. An id is never reused; a retired one would be
//! kept here pointing to its successor.

use super::Severity;
use serde::{Serialize, Serializer};

macro_rules! codes {
    ($($variant:ident, $id:literal, $severity:ident, $meaning:literal, $help:literal;)*) => {
        /// What a diagnostic is about.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code {
            $(#[doc = $meaning] $variant,)*
        }

        impl Code {
            /// Every code, in the order of the table.
            pub const ALL: &'static [Code] = &[$(Code::$variant,)*];

            /// The id that is printed, such as `line-unknown`.
            pub fn id(self) -> &'static str {
                match self { $(Code::$variant => $id,)* }
            }

            /// The severity it has unless the stage that made it says otherwise.
            pub fn severity(self) -> Severity {
                match self { $(Code::$variant => Severity::$severity,)* }
            }

            /// What it means, in a sentence or two.
            pub fn meaning(self) -> &'static str {
                match self { $(Code::$variant => $meaning,)* }
            }

            /// What to do next, unless the stage that made it knows better.
            pub fn help(self) -> &'static str {
                match self { $(Code::$variant => $help,)* }
            }
        }
    };
}

impl Code {
    /// Whether it says that a whole file, of a folder or of an archive, could not be read as it should be.
    pub fn is_of_unreadable_file(self) -> bool {
        matches!(self, Code::FileUnreadable | Code::ArchiveDamaged)
    }
}

codes! {
    // Files.
    FileUnreadable, "file-unreadable", Error,
        "A path could not be opened or read.",
        "check that the file exists and that you may read it; the other files were read";
    FileEmpty, "file-empty", Warning,
        "A file holds no bytes.",
        "print or save the file again if it should hold records";
    FileNotText, "file-not-text", Error,
        "A file is not text: it holds bytes that no printout or log has.",
        "if this is a scan or a picture, type or export its text and read that";
    FileSkipped, "file-skipped", Note,
        "A path inside a folder was passed over: it is hidden, not a regular file, or a loop of links.",
        "name the file itself if it should be read";
    FileChanged, "file-changed", Warning,
        "A file changed while it was being read, so its last lines may be missing.",
        "read it again when nothing is writing to it";
    ArchiveDamaged, "archive-damaged", Error,
        "Something in the archive is not as it was added: it was changed, or is missing.",
        "let `loadbook archive verify` name all that is damaged, and put it back from a copy of the archive";
    EncodingInferred, "encoding-inferred", Note,
        "A file is not UTF-8; its bytes were read as Windows-1252.",
        "check names with accents; save the file as UTF-8 if they are wrong";
    LineTooLong, "line-too-long", Error,
        "A line is longer than any record's line can be.",
        "find out what wrote it; the lines around it were read";

    // Lines.
    LineOutsideRecord, "line-outside-record", Error,
        "A line stands before any opening line, so it belongs to no record.",
        "begin the record with `loadbook printout 1` or `loadbook log 1`";
    LineUnknown, "line-unknown", Error,
        "A line of a record has none of the forms that its format knows.",
        "compare it with the original strip and correct the file, or put `#` before it if it is a comment";
    LineCut, "line-cut", Error,
        "A line ends in the middle of a value, at a width where printers and captures cut lines.",
        "read the value from the original strip; widen the capture";
    VersionUnknown, "version-unknown", Error,
        "An opening line names a version of the format that this loadbook does not know.",
        "use a newer loadbook, or save the file in version 1";
    KeyUnknown, "key-unknown", Error,
        "A line has a keyword that its format does not know.",
        "see the keywords in grammars/; a slip of one letter is proposed where there is one";
    ValueInvalid, "value-invalid", Error,
        "A value does not have the form that its keyword asks for.",
        "correct the value from the original record";
    ValueMissing, "value-missing", Error,
        "A keyword has no value, or a line lacks a value that it can't do without.",
        "add the value from the original record";
    UnitUnknown, "unit-unknown", Error,
        "A number stands without a unit, or with one that does not measure this quantity.",
        "write one of the units listed for the quantity in grammars/cycle-printout.md";
    NumberAmbiguous, "number-ambiguous", Error,
        "A number can be read in two ways: its comma may mark decimals or thousands.",
        "write the number with a point for decimals and without thousands marks";
    NumberOutOfRange, "number-out-of-range", Error,
        "A number lies outside what the quantity can have at all (such as below absolute zero).",
        "compare it with the original strip";
    DateInvalid, "date-invalid", Error,
        "A date or time does not exist in the calendar or on the clock.",
        "write dates as YYYY-MM-DD and times as HH:MM:SS";
    FieldRepeated, "field-repeated", Error,
        "A record says the same thing twice with two different values; the first was kept.",
        "find out which of the two is right and correct the file";
    PatientData, "patient-data", Error,
        "A line looks like patient data, which has no place here. It is counted and not repeated.",
        "remove the line from the file; loadbook needs no patient's name, number or date of birth";
    CheckDigitWrong, "check-digit-wrong", Error,
        "A scanned GTIN has a wrong check digit, so at least one digit was misread.",
        "scan the label again, or type lot and expiry";
    ScanInvalid, "scan-invalid", Error,
        "A scanned element string does not follow the GS1 General Specifications.",
        "scan the label again, or type lot and expiry";
    CsvRowUneven, "csv-row-uneven", Error,
        "A row of a CSV log has more cells than its header has columns.",
        "put the cell that holds the separator in quotation marks";
    CsvHeaderUnknown, "csv-header-unknown", Warning,
        "A column of a CSV log has a heading that the format does not know; its cells were left.",
        "see the columns in grammars/indicator-log.md";
    StrictRefused, "strict-refused", Error,
        "In strict mode a line was refused because reading it would have meant inferring something.",
        "correct the line, or read without --strict and check what was inferred";

    // Records.
    PrintoutTorn, "printout-torn", Warning,
        "A printout ends before its `end` line: the strip was torn off, or the capture stopped.",
        "find the rest of the strip; until then the cycle's outcome is not proven";
    ChecksumWrong, "checksum-wrong", Warning,
        "The lines of a printout do not give the checksum that it prints: something in it was changed, lost or added.",
        "compare the printout with the original strip";
    TotalWrong, "total-wrong", Warning,
        "A printout's total does not agree with its own lines: a line was lost, added or changed.",
        "compare the printout with the original strip";
    LineRepeated, "line-repeated", Warning,
        "A line stands twice in a row, the same to the last digit: one of the two may be a copy.",
        "compare it with the original strip; put `#` before the copy if it is one";
    LinesMerged, "lines-merged", Warning,
        "A text holds a keyword with its colon: two lines may have run together. It was kept as it stands.",
        "put the line end back where it is missing";
    WordNearMiss, "word-near-miss", Warning,
        "A word is a slip away from one that the format knows. It was kept as it stands.",
        "compare it with the original strip and correct it if it is a slip";
    FieldMissing, "field-missing", Warning,
        "A printout lacks a line that every printout has.",
        "compare it with the original strip";
    DecimalComma, "decimal-comma", Note,
        "A comma was read as the decimal mark.",
        "nothing, if the printer writes decimals so";
    MidnightPassed, "midnight-passed", Note,
        "The clock went from late to early within a cycle, read as passing midnight.",
        "nothing, if the cycle ran over midnight";
    ClockSteppedBack, "clock-stepped-back", Note,
        "The clock went back by an hour within a cycle, read as the change from summer time.",
        "check the date: the change from summer time should fall on it";
    ClockWentBack, "clock-went-back", Warning,
        "A time is earlier than the one before it, and neither midnight nor the change from summer time explains it.",
        "compare the times with the original strip; durations across this line are not used";
    ClockLost, "clock-lost", Warning,
        "A cycle carries a date from before such records were kept: the unit's clock lost its setting.",
        "set the unit's clock; tie the cycle to its load by counter and load number";
    TimeInferred, "time-inferred", Note,
        "A line has no time of its own, and its printer's layout knows none: it was taken from the line after or before it.",
        "nothing, if the printer prints a reading at that moment; else the time may be off by one reading's interval";
    DateInferred, "date-inferred", Note,
        "A cycle's date does not stand in its own printout; it was taken from a date printed above it.",
        "check the date of the first cycle after midnight";
    SlipRepaired, "slip-repaired", Note,
        "A character that a scan had misread was put right, because what stands there can be read in one way only.",
        "compare the line with the original strip";

    // Layouts.
    LayoutInvalid, "layout-invalid", Error,
        "A layout does not say what it should, or says it in a way that loadbook does not know.",
        "see grammars/layout.md; `loadbook layout check` reads the layout alone";
    LayoutAmbiguous, "layout-ambiguous", Error,
        "Several layouts fit a file equally well, so that none of them was used.",
        "name the right one with --layout";

    // History.
    ReprintKeptOnce, "reprint-kept-once", Note,
        "The same cycle was printed more than once; one is counted.",
        "nothing";
    ReprintDiffers, "reprint-differs", Warning,
        "Two printouts claim to be the same cycle and differ; both are kept apart.",
        "compare both with the unit's own memory";
    UnlikeNeighbours, "unlike-neighbours", Warning,
        "A printout says something else than the unit's printouts before and after it, which agree.",
        "compare it with the original strip; if it is right, nothing";
    CourseDiffers, "course-differs", Warning,
        "A completed cycle has other stages or other limits than nearly all cycles of its unit and program.",
        "compare it with the original strip: a line was lost or changed, or the program was";
    ReadingSpike, "reading-spike", Warning,
        "A reading lies far from those just before and just after it, farther than a chamber moves and comes back.",
        "compare it with the original strip; if it is right, have the sensor looked at";
    PrintoutMissing, "printout-missing", Warning,
        "The cycle counter skips numbers: printouts of those cycles are missing.",
        "print them again from the unit's memory, or find the strips";
    CounterReset, "counter-reset", Note,
        "The cycle counter began again, as it does after service.",
        "check that service is entered in the log for that day";
    LoadWithoutPrintout, "load-without-printout", Warning,
        "The log names a load for which there is no printout.",
        "find the strip, or correct the load number in the log";
    CycleWithoutLog, "cycle-without-log", Warning,
        "A printout names a load of which the log says nothing.",
        "find the log page, or correct the load number";
    CycleWithoutLoad, "cycle-without-load", Warning,
        "A printout of a processed load carries no load number.",
        "write the load number on the strip and in the file";
    LoadNumberNearMiss, "load-number-near-miss", Warning,
        "Two load numbers differ by a slip of the hand and may be the same load; they were not joined.",
        "compare both with the load record; if it is a slip, correct it in the log";
    LoadNumberReused, "load-number-reused", Warning,
        "The same load number stands on cycles of different units or days.",
        "find out which cycle the load belongs to";
    LogContradictsPrintout, "log-contradicts-printout", Warning,
        "The log gives another unit or cycle counter for a load than its printout does.",
        "find out which is right; evidence of the wrong unit proves nothing";
    ClocksDisagree, "clocks-disagree", Warning,
        "A unit's clock and the clock of the log differ by more than people's habits explain.",
        "set the unit's clock";
    LocalHourSkipped, "local-hour-skipped", Warning,
        "A local time does not exist: clocks skipped it when summer time began.",
        "check the unit's clock setting";
    LocalHourDoubled, "local-hour-doubled", Note,
        "A local time came twice, because clocks went back; which of the two is meant is inferred.",
        "write the offset from UTC after the time";
    ZoneUnknown, "zone-unknown", Note,
        "No time zone is given, so local times are compared as they stand.",
        "give the site's zone with --zone or a `zone:` line";
}

impl std::fmt::Display for Code {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.id())
    }
}

impl Serialize for Code {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.id())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ids_are_unique_and_every_code_says_what_to_do() {
        let mut ids: Vec<_> = Code::ALL.iter().map(|code| code.id()).collect();
        ids.sort_unstable();
        ids.dedup();
        assert_eq!(ids.len(), Code::ALL.len());
        for code in Code::ALL {
            assert!(
                code.meaning().ends_with('.'),
                "{code}: the meaning is a sentence"
            );
            assert!(!code.help().is_empty(), "{code}: the help names an action");
            assert!(
                code.id()
                    .bytes()
                    .all(|b| b.is_ascii_lowercase() || b == b'-'),
                "{code}"
            );
        }
    }
}
