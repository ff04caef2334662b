//! How often a fault in a strip gives a wrong value of which nothing tells: the table of `tests/faults/README.md`.
//!
//! `cargo bench --bench faults -- --seed 1 --strips 5000`; `--show` lists the silent values too.

#[path = "../tests/faults/harness.rs"]
mod harness;

use harness::{Chance, Department, Fault, Redundancy, measure};

fn number(args: &[String], name: &str, otherwise: u64) -> u64 {
    let at = args.iter().position(|arg| arg == name);
    at.and_then(|at| args.get(at + 1)?.parse().ok())
        .unwrap_or(otherwise)
}

fn main() {
    let args: Vec<String> = std::env::args().collect();
    let seed = number(&args, "--seed", 1);
    let n_strips = number(&args, "--strips", 1_000) as usize;
    println!("seed {seed}, at least {n_strips} strips with a fault in each row");
    println!(
        "| strip has | fault | strips | faults | wrong, told by the strip | by log and other strips | by a rule | wrong and silent | strips with one | lost, told | lost and silent |"
    );
    println!("| --- | --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
    for redundancy in Redundancy::ALL {
        let department = Department::simulate(seed, 14, redundancy);
        assert_eq!(
            department.n_strips(),
            department.n_printed,
            "every strip that was printed is there"
        );
        for fault in Fault::ALL {
            let row = measure(&department, fault, n_strips, &mut Chance::new(seed));
            println!(
                "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
                redundancy.word(),
                fault.word(),
                row.n_strips,
                row.n_faults,
                row.n_wrong_told_by_strip,
                row.n_wrong_told_by_history,
                row.n_wrong_told_by_judge,
                row.n_wrong_silent,
                row.n_strips_silent,
                row.n_lost_told,
                row.n_lost_silent,
            );
            if args.iter().any(|arg| arg == "--show") {
                row.silent.iter().for_each(|fact| println!("    {fact}"));
            }
        }
    }
}
