//! No silent wrong value: strips whose truth is known, with a fault in one line of a hundred. What can be known and what
//! can't stands in README.md beside this file, with the rates of a large run of `benches/faults.rs`.

mod harness;

use harness::{Chance, Department, Fault, Redundancy, Row, measure};

const SEED: u64 = 20_260_312;

fn rows(redundancy: Redundancy, n_strips: usize) -> Vec<(Fault, Row)> {
    let department = Department::simulate(SEED, 5, redundancy);
    // The simulation counts what it prints by itself, apart from any reader.
    assert_eq!(department.n_strips(), department.n_printed);
    let mut chance = Chance::new(SEED);
    Fault::ALL
        .into_iter()
        .map(|fault| (fault, measure(&department, fault, n_strips, &mut chance)))
        .collect()
}

#[test]
fn nothing_is_wrong_or_lost_in_silence_where_strips_print_a_checksum() {
    for (fault, row) in rows(Redundancy::Checksum, 40) {
        let word = fault.word();
        assert!(row.n_strips >= 40 && row.n_faults >= row.n_strips, "{word}");
        assert_eq!(row.n_wrong_silent, 0, "{word}: {:?}", row.silent);
        assert_eq!(row.n_lost_silent, 0, "{word}");
        // The faults do something, or this would prove nothing.
        let n_told =
            row.n_wrong_told_by_strip + row.n_wrong_told_by_history + row.n_wrong_told_by_judge;
        assert!(n_told + row.n_lost_told > 0, "{word}");
    }
}

#[test]
fn merged_and_repeated_lines_are_told_without_a_checksum_too() {
    let without = |one: &Redundancy| *one != Redundancy::Checksum;
    for redundancy in Redundancy::ALL.into_iter().filter(without) {
        for (fault, row) in rows(redundancy, 25) {
            if matches!(fault, Fault::Merged | Fault::Repeated) {
                let word = (redundancy.word(), fault.word());
                assert_eq!(row.n_wrong_silent, 0, "{word:?}: {:?}", row.silent);
            }
            if fault == Fault::Digit {
                // A digit that nothing repeats can't be told to be wrong: the harness sees that, or it would see nothing.
                assert!(row.n_wrong_silent > 0);
            }
        }
    }
}
