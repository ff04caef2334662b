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
    use crate::record::cycle::Cycle;

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
}
