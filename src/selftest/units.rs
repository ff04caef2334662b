//! Units of measure against published factors, and quantities read in one unit and told in another.

use super::case::{Cases, Within};
use super::reference::References;
use crate::judge::rulebook::Known;
use crate::measure::quantity::{Datum, Pressure, STANDARD_ATMOSPHERE, Temperature};
use crate::measure::unit::{LeakRateUnit, PressureUnit, TemperatureUnit};

/// The published factors have seven significant digits, so they are right to half a unit of the last.
const SEVEN_DIGITS: Within = Within::share(5e-7);

/// Runs the cases.
pub fn run(_: &References, cases: &mut Cases) {
    factors(cases);
    readings(cases);
}

fn factors(cases: &mut Cases) {
    let source = "NIST SP 811, 2008, B.8 (seen)";
    let name = "units of pressure in Pa";
    cases.add(name, source, Known::Seen, |case| {
        for (unit, published) in [
            (PressureUnit::Millibar, 1.0e2),
            (PressureUnit::Torr, 1.333_224e2),
            (PressureUnit::Psi, 6.894_757e3),
            (PressureUnit::InchOfMercury, 3.386_389e3),
        ] {
            case.near(unit.symbol(), unit.factor(), published, SEVEN_DIGITS);
        }
        let torr = PressureUnit::Torr.factor() * 760.0;
        case.near("760 Torr", torr, 101_325.0, Within::of(1e-9));
        Some(())
    });
    let source = "decimal multiples, exact; mTorr from NIST SP 811";
    let name = "further units of pressure in Pa";
    cases.add(name, source, Known::Calculated, |case| {
        for (unit, published) in [
            (PressureUnit::Pascal, 1.0),
            (PressureUnit::Kilopascal, 1.0e3),
            (PressureUnit::Bar, 1.0e5),
            (PressureUnit::Millitorr, 1.333_224e-1),
        ] {
            case.near(unit.symbol(), unit.factor(), published, SEVEN_DIGITS);
        }
        // Four there, four here.
        case.same("units of pressure", PressureUnit::ALL.len(), 8);
        let millitorr = PressureUnit::Millitorr.factor() * 760_000.0;
        case.near("760000 mTorr", millitorr, 101_325.0, Within::of(1e-9));
        Some(())
    });
    let source = "NIST SP 811, 2008, B.8, for the pressure of a minute";
    let name = "units of leak rate in Pa/min";
    cases.add(name, source, Known::Calculated, |case| {
        for (unit, published) in [
            (LeakRateUnit::PascalPerMinute, 1.0),
            (LeakRateUnit::KilopascalPerMinute, 1.0e3),
            (LeakRateUnit::MillibarPerMinute, 1.0e2),
            (LeakRateUnit::TorrPerMinute, 1.333_224e2),
            (LeakRateUnit::MillitorrPerMinute, 1.333_224e-1),
        ] {
            case.near(unit.symbol(), unit.factor(), published, SEVEN_DIGITS);
        }
        case.same("units of leak rate", LeakRateUnit::ALL.len(), 5);
        // Not the same as the European limit of 1.3 mbar/min.
        let torr = LeakRateUnit::TorrPerMinute.factor();
        let millibars = torr / LeakRateUnit::MillibarPerMinute.factor();
        case.near("1 mmHg/min in mbar/min", millibars, 1.333, Within::of(5e-4));
        Some(())
    });
}

fn readings(cases: &mut Cases) {
    let celsius = |number| Temperature::new(number, TemperatureUnit::Fahrenheit).celsius();
    let source = "NIST SP 811, 2008, B.8: (F - 32)/1.8";
    let name = "Fahrenheit read as Celsius";
    cases.add(name, source, Known::Calculated, |case| {
        for (fahrenheit, expected) in [
            (250.0, 121.11),
            (270.0, 132.22),
            (275.0, 135.00),
            (122.0, 50.0),
        ] {
            let found = celsius(fahrenheit);
            case.near(
                format!("{fahrenheit} F"),
                found,
                expected,
                Within::of(0.005),
            );
        }
        // The fixed points of water and the one number that both scales share.
        for (fahrenheit, expected) in [(32.0, 0.0), (212.0, 100.0), (-40.0, -40.0)] {
            let found = celsius(fahrenheit);
            case.near(format!("{fahrenheit} F"), found, expected, Within::of(1e-9));
        }
        // The 32 does not come into a difference.
        let difference = celsius(251.0) - celsius(250.0);
        case.near("1 F more", difference, 0.556, Within::of(5e-4));
        Some(())
    });
    let pascal = |number, unit, datum| {
        Pressure::new(number, unit, datum)
            .absolute(STANDARD_ATMOSPHERE)
            .pascal()
    };
    let source = "NIST SP 811, 2008, B.8; ambient 101.325 kPa";
    let name = "gauge pressures read as absolute";
    cases.add(name, source, Known::Calculated, |case| {
        for (number, unit, datum, kilopascal) in [
            (15.0, PressureUnit::Psi, Datum::Gauge, 204.75),
            (-26.0, PressureUnit::InchOfMercury, Datum::Gauge, 13.28),
            (15.0, PressureUnit::Psi, Datum::Absolute, 103.421),
            (400.0, PressureUnit::Millitorr, Datum::Absolute, 0.053_33),
        ] {
            let found = pascal(number, unit, datum) / 1_000.0;
            let what = format!("{number} {} {datum:?}", unit.symbol());
            case.near(what, found, kilopascal, Within::of(0.005));
        }
        Some(())
    });
    let source = "IAPWS R7-97(2012), by other code: each row in kPa, mbar, psi and psi gauge";
    let name = "the steam table in every printed unit";
    cases.add(name, source, Known::Calculated, |case| {
        for (kpa, mbar, psia, psig) in [
            (101.42, 1014.2, 14.71, 0.01),
            (205.04, 2050.4, 29.74, 15.04),
            (205.76, 2057.6, 29.84, 15.15),
            (286.82, 2868.2, 41.60, 26.90),
            (304.20, 3042.0, 44.12, 29.42),
            (331.85, 3318.5, 48.13, 33.44),
        ] {
            // Half of the last digit printed, of both numbers: 5 Pa of kPa; 0.005 psi is 35 Pa.
            for (number, unit, datum, half) in [
                (mbar, PressureUnit::Millibar, Datum::Absolute, 10.0),
                (psia, PressureUnit::Psi, Datum::Absolute, 40.0),
                (psig, PressureUnit::Psi, Datum::Gauge, 40.0),
            ] {
                let found = pascal(number, unit, datum);
                let what = format!("{number} {} {datum:?} in Pa", unit.symbol());
                case.near(what, found, kpa * 1_000.0, Within::of(half));
            }
        }
        Some(())
    });
}
