//! Saturated steam: pressure of a temperature and temperature of a pressure.

use super::case::{Cases, Within};
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::measure::quantity::AbsolutePressure;
use crate::measure::steam::{saturation_celsius, saturation_pressure};

/// Runs the cases.
pub fn run(references: &References, cases: &mut Cases) {
    let megapascal = |kelvin: f64| Some(saturation_pressure(kelvin - 273.15)?.pascal() / 1e6);
    let kelvin = |megapascal: f64| {
        let pressure = AbsolutePressure::from_pascal(megapascal * 1e6);
        Some(saturation_celsius(pressure)? + 273.15)
    };
    let source = "IAPWS R7-97(2012), Table 35 (values seen; the table's number from memory)";
    let name = "pressures of 300, 500 and 600 K in MPa";
    cases.add(name, source, Known::Seen, |case| {
        for (at, expected) in [
            (300.0, 0.353_658_941e-2),
            (500.0, 0.263_889_776e1),
            (600.0, 0.123_443_146e2),
        ] {
            let found = megapascal(at);
            case.near(format!("{at} K"), found, expected, Within::share(2e-9));
        }
        Some(())
    });
    let source = "IAPWS R7-97(2012), Table 36";
    let name = "temperatures of 0.1, 1 and 10 MPa in K";
    cases.add(name, source, Known::Memory, |case| {
        for (at, expected) in [
            (0.1, 0.372_755_919e3),
            (1.0, 0.453_035_632e3),
            (10.0, 0.584_149_488e3),
        ] {
            let found = kelvin(at);
            case.near(format!("{at} MPa"), found, expected, Within::of(1e-6));
        }
        Some(())
    });
    let data = references.rows("steam_saturation.csv");
    let source = "Python library iapws 1.5.5 (IAPWS R7-97, region 4)";
    let name = "the whole line from 1 C on, both ways";
    cases.add(name, source, Known::Calculated, |case| {
        for row in data.iter() {
            let (celsius, pascal) = (row.number("celsius")?, row.number("pascal")?);
            let found = saturation_pressure(celsius).map(AbsolutePressure::pascal);
            let what = format!("Pa at {celsius} C");
            case.near(what, found, pascal, Within::share(1e-9));
            let back = saturation_celsius(AbsolutePressure::from_pascal(pascal));
            let what = format!("C at {pascal} Pa");
            case.near(what, back, celsius, Within::of(1e-6));
        }
        Some(())
    });
    sterilizing(cases);
}

fn sterilizing(cases: &mut Cases) {
    let source = "IAPWS R7-97(2012), calculated by other code to the digits given";
    let name = "pressures of the temperatures that sterilizers run at, in kPa";
    cases.add(name, source, Known::Calculated, |case| {
        for (celsius, kilopascal) in [
            (100.0, 101.42),
            (115.0, 169.18),
            (121.0, 205.04),
            (124.0, 225.17),
            (126.0, 239.46),
            (129.0, 262.27),
            (132.0, 286.82),
            (134.0, 304.20),
            (135.0, 313.20),
            (137.0, 331.85),
        ] {
            let found = saturation_pressure(celsius).map(|found| found.pascal() / 1_000.0);
            let what = format!("{celsius} C");
            case.near(what, found, kilopascal, Within::of(0.005_1));
        }
        Some(())
    });
    let name = "temperatures of the pressures that sterilizers run at, in C";
    cases.add(name, source, Known::Calculated, |case| {
        for (kilopascal, celsius) in [
            (200.0, 120.21),
            (210.0, 121.76),
            (240.0, 126.07),
            (300.0, 133.53),
            (304.0, 133.98),
            (310.0, 134.65),
            (320.0, 135.74),
        ] {
            let found = saturation_celsius(AbsolutePressure::from_pascal(kilopascal * 1_000.0));
            let what = format!("{kilopascal} kPa");
            case.near(what, found, celsius, Within::of(0.005_1));
        }
        Some(())
    });
}
