//! F0, the lethality of moist heat.

use super::case::{Cases, Within};
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::measure::lethality::{Between, F0Reference, lethality};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    traces(references, cases);
    held(cases);
    let source = "trapezoid rule, worked by hand (reference 121.1 C)";
    let name = "twelve readings a minute apart";
    cases.add(name, source, Known::Calculated, |case| {
        let celsius = [
            100.0, 105.0, 110.0, 115.0, 118.0, 121.0, 121.5, 121.5, 121.0, 118.0, 110.0, 100.0,
        ];
        let readings: Vec<(f64, f64)> = (0..).map(f64::from).zip(celsius).collect();
        let found = lethality(&readings, F0Reference::Usp, Between::StraightLethality);
        case.near("minutes", found.minutes, 5.560, Within::of(5e-4));
        Some(())
    });
    let source = "integral of the formula: 9 / ln 10 min; trapezoid on its ends: 5.5 min";
    let name = "ten minutes from 111.1 to 121.1 C";
    cases.add(name, source, Known::Calculated, |case| {
        let ramp = [(0.0, 111.1), (10.0, 121.1)];
        for (what, between, expected) in [
            (
                "exact",
                Between::StraightTemperature,
                9.0 / std::f64::consts::LN_10,
            ),
            ("trapezoid", Between::StraightLethality, 5.5),
        ] {
            let found = lethality(&ramp, F0Reference::Usp, between).minutes;
            case.near(what, found, expected, Within::of(1e-9));
        }
        Some(())
    });
}

fn traces(references: &References, cases: &mut Cases) {
    let traces = references.rows("f0_traces.csv");
    let values = references.rows("f0_values.csv");
    for row in values.iter() {
        let text = |column: &str| row.text(column).unwrap_or("?");
        let (trace, reference, method) = (text("trace"), text("reference_celsius"), text("method"));
        let name = format!("trace {trace}, reference {reference} C, {method}");
        let source = "NumPy, by the formula of USP <1229.2> and Ph. Eur. 5.1.5";
        cases.add(name, source, Known::Calculated, |case| {
            let minutes = traces.series("trace", trace, "minute")?;
            let celsius = traces.series("trace", trace, "temp_c")?;
            let readings: Vec<(f64, f64)> = minutes.into_iter().zip(celsius).collect();
            let reference = match reference {
                "121.1" => F0Reference::Usp,
                "121.0" => F0Reference::PhEur,
                _ => return None,
            };
            let between = match method {
                "trapezoid" => Between::StraightLethality,
                "linear_exact" => Between::StraightTemperature,
                _ => return None,
            };
            let found = lethality(&readings, reference, between).minutes;
            let expected = row.number("minutes");
            case.near("minutes", found, expected, Within::share(1e-9));
            Some(())
        });
    }
}

fn held(cases: &mut Cases) {
    let check = |between, held: f64, celsius: f64, reference| {
        let readings = [(0.0, celsius), (held, celsius)];
        lethality(&readings, reference, between).minutes
    };
    let both = [Between::StraightLethality, Between::StraightTemperature];
    let source =
        "a published note: 15 min at 111 C is 1.5 min, at 121 C 15 min (reference 121 C; seen)";
    let name = "fifteen minutes at 111 and at 121 C";
    cases.add(name, source, Known::Seen, |case| {
        for (celsius, expected) in [(111.0, 1.5), (121.0, 15.0)] {
            for between in both {
                let found = check(between, 15.0, celsius, F0Reference::PhEur);
                case.near(format!("{celsius} C"), found, expected, Within::of(1e-9));
            }
        }
        Some(())
    });
    let source = "the formula, worked for both reference temperatures";
    let name = "times at a temperature that is held";
    cases.add(name, source, Known::Calculated, |case| {
        for (minutes, celsius, usp, ph_eur) in [
            (15.0, 121.0, 14.659, 15.000),
            (10.0, 126.0, 30.90, 31.62),
            (4.0, 132.0, 49.21, 50.36),
            (3.0, 134.0, 58.50, 59.86),
            (18.0, 134.0, 350.97, 359.15),
            (15.0, 111.0, 1.4659, 1.5),
        ] {
            for (reference, expected) in [(F0Reference::Usp, usp), (F0Reference::PhEur, ph_eur)] {
                for between in both {
                    let found = check(between, minutes, celsius, reference);
                    let reference = reference.celsius();
                    let what = format!("{minutes} min at {celsius} C, reference {reference:.1} C");
                    case.near(what, found, expected, Within::of(0.005_1));
                }
            }
        }
        // A tenth of the lethality at a reference ten kelvin higher: exactly.
        let found = check(both[1], 15.0, 111.1, F0Reference::Usp);
        case.near("15 min at 111.1 C", found, 1.5, Within::of(1e-9));
        Some(())
    });
}
