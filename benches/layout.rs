//! How much longer reading by a layout takes than reading the same cycles as neutral text, as a ratio within one run:
//! `cargo bench --bench layout`. It is to stay within 4.

use loadbook::parse::layout::compile::compile;
use loadbook::parse::layout::language::LayoutText;
use loadbook::parse::{LayoutChoice, Strictness, read_bytes_by};
use std::fmt::Write;
use std::hint::black_box;
use std::sync::Arc;
use std::time::{Duration, Instant};

const N_CYCLES: u32 = 2_000;
const N_READINGS: u32 = 90;
const N_ROUNDS: usize = 7;

/// The printer of the bench: labels, stages, readings with units printed and without, an alarm that never comes.
const LAYOUT: &str = r#"
layout = 1
name = "bench"
begin = "CYCLE RECORD"
end = "END OF RECORD"
ignore = "----*"
lines = [
    "STARTED {start date} {start time}",
    "AGENT {sterilant lot} UNTIL {sterilant expiry} USE {sterilant use}",
    "{time} {stage}",
    "LIMIT {pressure max}",
    "LIMIT {duration max}",
    "{time} {pressure} {temperature}",
    "{time} {pressure Pa} {temperature C}",
    "{time} ALARM {alarm}",
    "{time} {text}",
    "ENDED {end time}",
    "RESULT {outcome}",
]
[always]
process = "plasma"
[labels]
unit = "UNIT"
serial = "SERIAL"
software = "SOFTWARE"
program = "PROGRAM"
counter = "NUMBER"
load = "LOAD"
operator = "OPERATOR"
[words.stage]
evacuate = "AIR OUT"
inject = "AGENT IN"
vent = "AIR IN"
[words.alarm]
moisture = "TOO WET"
[words.outcome]
completed = "COMPLETE"
aborted = "STOPPED"
"#;

/// The same cycles as neutral text and as the printer of the bench prints them.
fn printouts(with_units: bool) -> (String, String) {
    let (mut neutral, mut strip) = (String::new(), String::new());
    for counter in 1..=N_CYCLES {
        let _ = write!(
            neutral,
            "loadbook printout 1\nunit: PL-1\nserial: 20417\nsoftware: 4.2\nprocess: plasma\nprogram: standard\n\
             counter: {counter}\nload: P1-{counter}\noperator: HB\nstarted: 2026-03-12 07:41:20\n\
             consumable: sterilant, lot K4471, expiry 2026-09-30, use 3 of 10\n\
             stage: evacuate, at 07:41:30, limit pressure 53 Pa max, limit duration 20 min max\n"
        );
        let _ = write!(
            strip,
            "CYCLE RECORD\nUNIT PL-1\nSERIAL 20417\nSOFTWARE 4.2\nPROGRAM standard\n\
             NUMBER {counter}\nLOAD P1-{counter}\nOPERATOR HB\nSTARTED 2026-03-12 07:41:20\n\
             AGENT K4471 UNTIL 2026-09-30 USE 3 of 10\n----------\n\
             07:41:30 AIR OUT\nLIMIT 53 Pa\nLIMIT 20 min\n"
        );
        for n in 0..N_READINGS {
            let (minute, second) = (42 + n / 6, n % 6 * 10);
            let (hour, minute) = (7 + minute / 60, minute % 60);
            let (pressure, tenth) = ((counter * 31 + n * 977) % 9000 + 50, n % 10);
            let (degree, part) = (n % 7, counter % 10);
            let time = format!("{hour:02}:{minute:02}:{second:02}");
            let _ = writeln!(
                neutral,
                "{time} pressure {pressure}.{tenth} Pa, temperature 4{degree}.{part} C"
            );
            let _ = if with_units {
                writeln!(strip, "{time} {pressure:>6}.{tenth} Pa  4{degree}.{part} C")
            } else {
                writeln!(strip, "{time} {pressure:>6}.{tenth}  4{degree}.{part}")
            };
        }
        neutral.push_str("ended: 08:22:05\noutcome: completed\nend\n");
        strip.push_str("ENDED 08:22:05\nRESULT COMPLETE\nEND OF RECORD\n");
    }
    (neutral, strip)
}

fn best<T>(mut run: impl FnMut() -> T) -> Duration {
    (0..N_ROUNDS)
        .map(|_| {
            let start = Instant::now();
            black_box(run());
            start.elapsed()
        })
        .min()
        .unwrap_or_default()
}

fn main() {
    let text = LayoutText {
        name: "bench".to_owned(),
        text: LAYOUT.to_owned(),
    };
    let Ok(layout) = compile(text, &|_| None) else {
        panic!("the layout of the bench does not compile");
    };
    let layout = LayoutChoice::Forced(Arc::new(layout));
    for with_units in [false, true] {
        let (neutral, strip) = printouts(with_units);
        let time = |text: &str, choice: &LayoutChoice| {
            best(|| {
                let records = read_bytes_by(black_box(text.as_bytes()), Strictness::Infer, choice);
                assert!(records.unread.is_empty() && records.cycles.len() == N_CYCLES as usize);
                assert!(
                    records
                        .cycles
                        .iter()
                        .all(|cycle| cycle.n_reading_lines == N_READINGS)
                );
                records
            })
        };
        let (as_neutral, by_layout) = (
            time(&neutral, &LayoutChoice::Neutral),
            time(&strip, &layout),
        );
        let what = if with_units { "printed" } else { "stated" };
        println!(
            "units {what}: neutral {:.1} ms, by layout {:.1} ms, layout / neutral = {:.2}",
            as_neutral.as_secs_f64() * 1e3,
            by_layout.as_secs_f64() * 1e3,
            by_layout.as_secs_f64() / as_neutral.as_secs_f64()
        );
    }
}
