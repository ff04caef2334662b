//! A printout whose heading is unlike those of its unit just before and just after it, which agree.
//!
//! A unit prints its serial number, place and zone on every strip, and its checksum and totals too: what one strip alone
//! says otherwise was changed, or the strip is another unit's. Knows cycles in order of unit and time. Read
//! [`find_unlike`].

use super::history::KnownCycle;
use super::said::cycle_said;
use crate::diagnose::codes::Code;
use crate::diagnose::{Diagnostic, Span};
use crate::record::cycle::{Checksum, Cycle};
use std::collections::BTreeMap;

/// What a heading says under one keyword, and where.
type Said = Option<(String, Span)>;

/// A thing that a unit says on every strip.
struct Constant {
    name: &'static str,
    read: fn(&Cycle) -> Said,
    /// Whether it may change for good, as software does: then the newest and the oldest strip are not held against the
    /// others.
    changes: Changes,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Changes {
    Never,
    ForGood,
}

const CONSTANTS: &[Constant] = &[
    Constant {
        name: "serial number",
        read: |cycle| cycle.serial.as_ref().map(|f| (f.value.clone(), f.span)),
        changes: Changes::Never,
    },
    Constant {
        name: "process",
        read: |cycle| {
            cycle
                .process
                .as_ref()
                .map(|f| (f.value.word().to_owned(), f.span))
        },
        changes: Changes::Never,
    },
    Constant {
        name: "place",
        read: |cycle| cycle.place.as_ref().map(|f| (f.value.clone(), f.span)),
        changes: Changes::ForGood,
    },
    Constant {
        name: "zone",
        read: |cycle| {
            cycle
                .zone
                .as_ref()
                .map(|f| (f.value.name().to_owned(), f.span))
        },
        changes: Changes::ForGood,
    },
    Constant {
        name: "software",
        read: |cycle| cycle.software.as_ref().map(|f| (f.value.clone(), f.span)),
        changes: Changes::ForGood,
    },
];

/// Says which printouts are unlike their neighbours.
pub(super) fn find_unlike(cycles: &[KnownCycle], diagnostics: &mut Vec<Diagnostic>) {
    let unit = |known: &KnownCycle| known.cycle.unit.as_ref().map(|unit| unit.value.clone());
    for of_unit in cycles.chunk_by(|a, b| unit(a) == unit(b)) {
        if of_unit
            .first()
            .is_none_or(|known| known.cycle.unit.is_none())
        {
            continue;
        }
        let whole: Vec<&Cycle> = of_unit.iter().map(|known| &known.cycle).collect();
        for constant in CONSTANTS {
            find_other_value(&whole, constant, diagnostics);
        }
        let closed: Vec<&Cycle> = whole.iter().copied().filter(|cycle| cycle.closed).collect();
        for (before, own, after) in triples(&closed) {
            let lacks = |has: fn(&Cycle) -> bool| has(before) && has(after) && !has(own);
            let mut say = |what: &str| {
                diagnostics.push(
                    Diagnostic::at(
                        Code::UnlikeNeighbours,
                        own.opening,
                        format!(
                            "{} prints no {what}, which the printouts before and after it have",
                            cycle_said(own)
                        ),
                    )
                    .label(before.opening, "the printout before it")
                    .label(after.opening, "the printout after it"),
                );
            };
            if lacks(|cycle| cycle.checksum != Checksum::Absent) {
                say("checksum");
            }
            if lacks(|cycle| cycle.total.is_some()) {
                say("totals");
            }
        }
    }
    find_shared_serials(cycles, diagnostics);
}

/// Each cycle that lies between two.
fn triples<'c, 'a>(
    cycles: &'c [&'a Cycle],
) -> impl Iterator<Item = (&'a Cycle, &'a Cycle, &'a Cycle)> + 'c {
    cycles.windows(3).filter_map(|three| match three {
        [before, own, after] => Some((*before, *own, *after)),
        _ => None,
    })
}

fn find_other_value(cycles: &[&Cycle], constant: &Constant, diagnostics: &mut Vec<Diagnostic>) {
    let said: Vec<(&Cycle, (String, Span))> = cycles
        .iter()
        .filter_map(|cycle| Some((*cycle, (constant.read)(cycle)?)))
        .collect();
    let Some(last) = said.len().checked_sub(1).filter(|last| *last >= 2) else {
        return;
    };
    for (ix, (cycle, (value, span))) in said.iter().enumerate() {
        let at_end = ix == 0 || ix == last;
        if at_end && constant.changes != Changes::Never {
            continue;
        }
        // At an end of the row the two nearest stand for the neighbours.
        let (a, b) = match ix {
            0 => (1, 2),
            _ if ix == last => (last.saturating_sub(1), last.saturating_sub(2)),
            _ => (ix.saturating_sub(1), ix.saturating_add(1)),
        };
        let (Some((_, (one, at_one))), Some((_, (other, at_other)))) = (said.get(a), said.get(b))
        else {
            continue;
        };
        if one == other && one != value {
            diagnostics.push(
                Diagnostic::at(
                    Code::UnlikeNeighbours,
                    *span,
                    format!(
                        "{} says another {} than the unit's printouts beside it",
                        cycle_said(cycle),
                        constant.name
                    ),
                )
                .label(*at_one, "said on the one side of it")
                .label(*at_other, "and on the other"),
            );
        }
    }
}

/// A serial number belongs to one unit. Those of a unit that has it less often than another are pointed at.
fn find_shared_serials(cycles: &[KnownCycle], diagnostics: &mut Vec<Diagnostic>) {
    let mut by_serial: BTreeMap<&str, BTreeMap<&str, Vec<&Cycle>>> = BTreeMap::new();
    for cycle in cycles.iter().map(|known| &known.cycle) {
        if let (Some(serial), Some(unit)) = (&cycle.serial, &cycle.unit) {
            let units = by_serial.entry(&serial.value).or_default();
            units.entry(unit.value.as_str()).or_default().push(cycle);
        }
    }
    for (serial, units) in by_serial {
        let most = units.values().map(Vec::len).max().unwrap_or(0);
        for (unit, own) in &units {
            let Some((first, other)) = own
                .first()
                .zip(
                    units
                        .iter()
                        .find(|(name, list)| *name != unit && list.len() == most),
                )
                .filter(|_| own.len() < most)
            else {
                continue;
            };
            let Some(span) = first.unit.as_ref().map(|unit| unit.span) else {
                continue;
            };
            let mut diagnostic = Diagnostic::at(
                Code::UnlikeNeighbours,
                span,
                format!(
                    "{} has the serial number {serial}, which is that of {}",
                    cycle_said(first),
                    other.0
                ),
            );
            for more in own
                .iter()
                .skip(1)
                .take(8)
                .filter_map(|cycle| cycle.unit.as_ref())
            {
                diagnostic = diagnostic.label(more.span, "so has this one");
            }
            diagnostics.push(diagnostic);
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::diagnose::codes::Code;
    use crate::reconcile::case::{cycle, london, with};
    use crate::reconcile::join_history;
    use crate::record::Spanned;
    use crate::record::cycle::{Checksum, Cycle, Total};

    fn row(serials: [&str; 5]) -> Vec<Cycle> {
        (1..)
            .zip(serials)
            .map(|(n, serial)| {
                cycle(20 * n, "PL-1", n, &format!("2026-03-12 0{n}:00"))
                    .serial(serial)
                    .done()
            })
            .collect()
    }

    fn headlines(cycles: Vec<Cycle>) -> Vec<String> {
        let (_, said) = join_history(cycles, Vec::new(), london());
        with(&said, Code::UnlikeNeighbours)
            .iter()
            .map(|said| said.headline.clone())
            .collect()
    }

    #[test]
    fn one_other_serial_number_is_found_and_a_change_of_it_is_found_once() {
        let other = "PL-1 cycle 3 says another serial number than the unit's printouts beside it";
        assert_eq!(headlines(row(["1", "1", "2", "1", "1"])), [other]);
        assert!(headlines(row(["1", "1", "1", "2", "2"])).is_empty());
        assert_eq!(headlines(row(["1", "1", "1", "1", "2"])).len(), 1);
    }

    #[test]
    fn software_may_change_for_good() {
        let cycles = (1..6).map(|n| {
            let software = if n < 5 { "4.2" } else { "4.3" };
            cycle(20 * n, "PL-1", n, &format!("2026-03-12 0{n}:00"))
                .software(software)
                .done()
        });
        assert!(headlines(cycles.collect()).is_empty());
    }

    #[test]
    fn serial_number_of_another_unit_is_found() {
        let mut cycles = row(["1", "1", "1", "1", "1"]);
        cycles.push(cycle(200, "PL-7", 6, "2026-03-12 08:00").serial("1").done());
        assert_eq!(
            headlines(cycles),
            ["PL-7 cycle 6 has the serial number 1, which is that of PL-1"]
        );
    }

    fn three(change: impl Fn(&mut [Cycle; 3])) -> Vec<String> {
        let mut cycles =
            [1, 2, 3].map(|n| cycle(20 * n, "PL-1", n, &format!("2026-03-12 0{n}:00")).done());
        change(&mut cycles);
        headlines(cycles.to_vec())
    }

    #[test]
    fn checksum_or_totals_that_one_printout_lacks_are_missed() {
        let with_checksum = |cycle: &mut Cycle| {
            cycle.checksum = Checksum::Agrees {
                crc32: 7,
                span: cycle.opening,
            };
        };
        let with_total = |cycle: &mut Cycle| {
            let total = Total {
                seconds: 2_445,
                n_reading_lines: None,
            };
            cycle.total = Some(Spanned::new(total, cycle.opening));
        };
        for (name, put) in [
            ("checksum", &with_checksum as &dyn Fn(&mut Cycle)),
            ("totals", &with_total),
        ] {
            let lacking = |has: [bool; 3]| {
                three(|cycles| {
                    for (cycle, has) in cycles.iter_mut().zip(has) {
                        if has {
                            put(cycle);
                        }
                    }
                })
            };
            let said = format!(
                "PL-1 cycle 2 prints no {name}, which the printouts before and after it have"
            );
            assert_eq!(lacking([true, false, true]), [said]);
            for has in [
                [false, false, false],
                [true, true, true],
                [true, false, false],
                [false, false, true],
                [false, true, false],
            ] {
                assert!(lacking(has).is_empty(), "{name} {has:?}");
            }
            // What was torn off may have had it.
            let torn = three(|cycles| {
                put(&mut cycles[0]);
                put(&mut cycles[2]);
                cycles[1].closed = false;
            });
            assert!(torn.is_empty());
        }
    }

    #[test]
    fn first_and_last_serial_number_are_held_against_the_two_beside_them() {
        assert_eq!(
            headlines(row(["2", "1", "1", "1", "1"])),
            ["PL-1 cycle 1 says another serial number than the unit's printouts beside it"]
        );
        assert_eq!(
            headlines(row(["1", "1", "1", "1", "2"])),
            ["PL-1 cycle 5 says another serial number than the unit's printouts beside it"]
        );
        assert!(headlines(row(["1", "2", "3", "4", "5"])).is_empty());
    }

    #[test]
    fn software_that_one_printout_in_the_middle_has_is_found() {
        let said = three(|cycles| {
            for (cycle, software) in cycles.iter_mut().zip(["4.2", "4.3", "4.2"]) {
                cycle.software = Some(Spanned::new(software.to_owned(), cycle.opening));
            }
        });
        assert_eq!(
            said,
            ["PL-1 cycle 2 says another software than the unit's printouts beside it"]
        );
        let at_end = three(|cycles| {
            for (cycle, software) in cycles.iter_mut().zip(["4.1", "4.2", "4.2"]) {
                cycle.software = Some(Spanned::new(software.to_owned(), cycle.opening));
            }
        });
        assert!(at_end.is_empty());
    }

    #[test]
    fn units_are_not_neighbours_of_one_another() {
        let cycles = [("PL-1", 1), ("PL-1", 2), ("PL-2", 3), ("PL-2", 4)].map(|(unit, n)| {
            cycle(20 * n, unit, n, &format!("2026-03-12 0{n}:00"))
                .serial(unit)
                .done()
        });
        assert!(headlines(cycles.to_vec()).is_empty());
        // Of no named unit nothing is constant.
        let mut nameless = row(["1", "1", "2", "1", "1"]);
        for cycle in &mut nameless {
            cycle.unit = None;
        }
        assert!(headlines(nameless).is_empty());
    }

    #[test]
    fn serial_number_that_two_units_have_equally_often_accuses_neither() {
        let shared = |n_first: u32, n_second: u32| {
            let first = (1..=n_first).map(|n| (n, "PL-1"));
            let second = (1..=n_second).map(|n| (n, "PL-7"));
            let cycles = first.chain(second).zip(1..).map(|((n, unit), line)| {
                cycle(20 * line, unit, n, &format!("2026-03-12 0{n}:00"))
                    .serial("1")
                    .done()
            });
            headlines(cycles.collect())
        };
        assert!(shared(2, 2).is_empty());
        assert_eq!(
            shared(3, 2),
            ["PL-7 cycle 1 has the serial number 1, which is that of PL-1"]
        );
        assert_eq!(
            shared(2, 3),
            ["PL-1 cycle 1 has the serial number 1, which is that of PL-7"]
        );
    }
}
