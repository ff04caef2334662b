//! The placeholders of a layout: what a `{…}` stands for, and what each may be followed by.
//!
//! Knows nothing of text; how a field's value is read is `lexicon`'s. Read [`Field::parse`] first.

use crate::measure::quantity::{
    Concentration, Conductivity, Datum, Power, Pressure, RelativeHumidity, Temperature,
};
use crate::measure::unit::{
    ConcentrationUnit, ConductivityUnit, DurationUnit, HumidityUnit, LeakRateUnit, PowerUnit,
    PressureUnit, TemperatureUnit,
};
use crate::parse::suggest::suggest;
use crate::record::consumable::ConsumableKind;
use crate::record::cycle::{Bound, Measured, QuantityKind};

/// A unit of a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnitOf {
    /// Of pressure, measured from vacuum or from the ambient pressure.
    Pressure(PressureUnit, Datum),
    /// Of temperature.
    Temperature(TemperatureUnit),
    /// Of concentration.
    Concentration(ConcentrationUnit),
    /// Of relative humidity.
    Humidity(HumidityUnit),
    /// Of power.
    Power(PowerUnit),
    /// Of conductivity.
    Conductivity(ConductivityUnit),
}

impl UnitOf {
    /// The unit of a quantity with this text: a symbol, and for a pressure `gauge` or `absolute` after it.
    pub fn parse(kind: QuantityKind, text: &str) -> Option<Self> {
        let mut words = text.split_whitespace();
        let symbol = words.next()?.as_bytes();
        let datum = words.next();
        if words.next().is_some() || datum.is_some() && kind != QuantityKind::Pressure {
            return None;
        }
        let datum = match datum {
            None => Datum::Absolute,
            Some(word) if word.eq_ignore_ascii_case("absolute") => Datum::Absolute,
            Some(word) if word.eq_ignore_ascii_case("gauge") => Datum::Gauge,
            Some(_) => return None,
        };
        Some(match kind {
            QuantityKind::Pressure => UnitOf::Pressure(PressureUnit::from_symbol(symbol)?, datum),
            QuantityKind::Temperature => UnitOf::Temperature(TemperatureUnit::from_symbol(symbol)?),
            QuantityKind::Concentration => {
                UnitOf::Concentration(ConcentrationUnit::from_symbol(symbol)?)
            }
            QuantityKind::Humidity => UnitOf::Humidity(HumidityUnit::from_symbol(symbol)?),
            QuantityKind::Power => UnitOf::Power(PowerUnit::from_symbol(symbol)?),
            QuantityKind::Conductivity => {
                UnitOf::Conductivity(ConductivityUnit::from_symbol(symbol)?)
            }
        })
    }

    /// Every unit of every quantity, with its text.
    pub fn all() -> Vec<(String, UnitOf)> {
        let mut all = Vec::new();
        for &unit in PressureUnit::ALL {
            let symbol = unit.symbol();
            all.push((symbol.to_owned(), UnitOf::Pressure(unit, Datum::Absolute)));
            all.push((
                format!("{symbol} absolute"),
                UnitOf::Pressure(unit, Datum::Absolute),
            ));
            all.push((
                format!("{symbol} gauge"),
                UnitOf::Pressure(unit, Datum::Gauge),
            ));
        }
        for unit in [TemperatureUnit::Celsius, TemperatureUnit::Fahrenheit] {
            all.push((unit.symbol().to_owned(), UnitOf::Temperature(unit)));
            all.push((format!("°{}", unit.symbol()), UnitOf::Temperature(unit)));
        }
        macro_rules! push {
            ($unit:ident, $variant:ident) => {
                for &unit in $unit::ALL {
                    all.push((unit.symbol().to_owned(), UnitOf::$variant(unit)));
                }
            };
        }
        push!(ConcentrationUnit, Concentration);
        push!(HumidityUnit, Humidity);
        push!(PowerUnit, Power);
        push!(ConductivityUnit, Conductivity);
        all
    }

    /// The quantity it measures.
    pub fn kind(self) -> QuantityKind {
        match self {
            UnitOf::Pressure(..) => QuantityKind::Pressure,
            UnitOf::Temperature(_) => QuantityKind::Temperature,
            UnitOf::Concentration(_) => QuantityKind::Concentration,
            UnitOf::Humidity(_) => QuantityKind::Humidity,
            UnitOf::Power(_) => QuantityKind::Power,
            UnitOf::Conductivity(_) => QuantityKind::Conductivity,
        }
    }

    /// A number in this unit.
    pub fn measure(self, number: f64) -> Measured {
        match self {
            UnitOf::Pressure(unit, datum) => Measured::Pressure(Pressure::new(number, unit, datum)),
            UnitOf::Temperature(unit) => Measured::Temperature(Temperature::new(number, unit)),
            UnitOf::Concentration(unit) => Concentration::new(number, unit).into(),
            UnitOf::Humidity(unit) => RelativeHumidity::new(number, unit).into(),
            UnitOf::Power(unit) => Power::new(number, unit).into(),
            UnitOf::Conductivity(unit) => Conductivity::new(number, unit).into(),
        }
    }
}

/// A part of a consumable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LotPart {
    /// Its lot.
    Lot,
    /// Its expiry.
    Expiry,
    /// Which use it is, of how many.
    Use,
    /// A scanned label.
    Scan,
}

/// What a placeholder stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Field {
    /// The name of the unit.
    Unit,
    /// Its serial number.
    Serial,
    /// Its software version.
    Software,
    /// The place.
    Place,
    /// The zone of its clock.
    Zone,
    /// The process.
    Process,
    /// What the cycle was run for.
    Purpose,
    /// The program.
    Program,
    /// The cycle counter.
    Counter,
    /// The load number.
    Load,
    /// The operator.
    Operator,
    /// The ambient pressure.
    Ambient(Option<UnitOf>),
    /// The date of the start.
    StartDate,
    /// The time of the start.
    StartTime,
    /// The date of the end.
    EndDate,
    /// The time of the end.
    EndTime,
    /// The date of the cycles below this line.
    Day,
    /// The date of this line's time.
    Date,
    /// The time of this line.
    Time,
    /// The time of this line, counted from the start.
    Elapsed,
    /// A stage of the table of words.
    Stage,
    /// A stage, whatever it is called.
    AnyStage,
    /// The stage in which the outcome came about, of the table of words.
    OutcomeStage,
    /// The same, whatever it is called.
    AnyOutcomeStage,
    /// The number of pulses of a stage.
    Pulses,
    /// A reading.
    Reading(QuantityKind, Option<UnitOf>),
    /// A limit of the stage.
    Limit(QuantityKind, Option<UnitOf>, Bound),
    /// A limit of the stage's length.
    DurationLimit(Option<DurationUnit>, Bound),
    /// An alarm of the table of words.
    Alarm,
    /// An alarm, whatever it is called.
    AnyAlarm,
    /// What happened, or what is said beside an alarm.
    Text,
    /// An outcome of the table of words.
    Outcome,
    /// The cause in an outcome, of the table of words.
    Cause,
    /// The cause in an outcome, whatever it is called.
    AnyCause,
    /// A part of a consumable.
    Consumable(ConsumableKind, LotPart),
    /// The leak rate found.
    Leak(Option<LeakRateUnit>),
    /// The leak rate allowed.
    LeakLimit(Option<LeakRateUnit>),
    /// The time from start to end.
    Total(Option<DurationUnit>),
    /// The number of lines with readings.
    Readings,
}

/// The placeholders that nothing may follow.
const PLAIN: &[(&str, Field)] = &[
    ("unit", Field::Unit),
    ("serial", Field::Serial),
    ("software", Field::Software),
    ("place", Field::Place),
    ("zone", Field::Zone),
    ("process", Field::Process),
    ("purpose", Field::Purpose),
    ("program", Field::Program),
    ("counter", Field::Counter),
    ("load", Field::Load),
    ("operator", Field::Operator),
    ("start date", Field::StartDate),
    ("start time", Field::StartTime),
    ("end date", Field::EndDate),
    ("end time", Field::EndTime),
    ("day", Field::Day),
    ("date", Field::Date),
    ("time", Field::Time),
    ("elapsed", Field::Elapsed),
    ("stage", Field::Stage),
    ("any stage", Field::AnyStage),
    ("outcome stage", Field::OutcomeStage),
    ("any outcome stage", Field::AnyOutcomeStage),
    ("pulses", Field::Pulses),
    ("alarm", Field::Alarm),
    ("any alarm", Field::AnyAlarm),
    ("text", Field::Text),
    ("outcome", Field::Outcome),
    ("cause", Field::Cause),
    ("any cause", Field::AnyCause),
    ("readings", Field::Readings),
];

/// The parts of a consumable, by their word.
const LOT_PARTS: &[(&str, LotPart)] = &[
    ("lot", LotPart::Lot),
    ("expiry", LotPart::Expiry),
    ("use", LotPart::Use),
    ("scan", LotPart::Scan),
];

impl Field {
    /// The placeholder with this text, such as `counter`, `pressure kPa gauge`, `temperature C min`, `sterilant lot`.
    ///
    /// # Errors
    /// What is wrong with it, in a sentence; and what it may have meant.
    pub fn parse(text: &str) -> Result<Field, (String, Option<String>)> {
        let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
        let lower = text.to_lowercase();
        if let Some((_, field)) = PLAIN.iter().find(|(name, _)| *name == lower) {
            return Ok(*field);
        }
        let (first, rest) = text.split_once(' ').unwrap_or((&text, ""));
        let kind = first.to_lowercase();
        if let Some(kind) = QuantityKind::ALL.iter().find(|known| known.word() == kind) {
            let (unit, bound) = bounded(rest);
            let unit = if unit.is_empty() {
                None
            } else {
                let unit_of = UnitOf::parse(*kind, unit);
                Some(
                    unit_of
                        .ok_or_else(|| (format!("`{unit}` is no unit of {}", kind.word()), None))?,
                )
            };
            return Ok(match bound {
                Some(bound) => Field::Limit(*kind, unit, bound),
                None => Field::Reading(*kind, unit),
            });
        }
        if let Some(kind) = ConsumableKind::ALL
            .iter()
            .find(|known| known.word() == kind)
            && let Some((_, part)) = LOT_PARTS
                .iter()
                .find(|(word, _)| rest.eq_ignore_ascii_case(word))
        {
            return Ok(Field::Consumable(*kind, *part));
        }
        let no_unit = |unit: &str, of: &str| (format!("`{unit}` is no unit of {of}"), None);
        match kind.as_str() {
            "ambient" => {
                let unit = UnitOf::parse(QuantityKind::Pressure, rest);
                match (unit, rest) {
                    (None, "") => Ok(Field::Ambient(None)),
                    (Some(unit), _) => Ok(Field::Ambient(Some(unit))),
                    (None, unit) => Err(no_unit(unit, "pressure")),
                }
            }
            "duration" => {
                let (unit, bound) = bounded(rest);
                let Some(bound) = bound else {
                    return Err((
                        "a duration is a limit: write `min` or `max` last".to_owned(),
                        None,
                    ));
                };
                match (DurationUnit::from_symbol(unit.as_bytes()), unit) {
                    (None, "") => Ok(Field::DurationLimit(None, bound)),
                    (Some(unit), _) => Ok(Field::DurationLimit(Some(unit), bound)),
                    (None, unit) => Err(no_unit(unit, "time")),
                }
            }
            "total" => match (DurationUnit::from_symbol(rest.as_bytes()), rest) {
                (None, "") => Ok(Field::Total(None)),
                (Some(unit), _) => Ok(Field::Total(Some(unit))),
                (None, unit) => Err(no_unit(unit, "time")),
            },
            "leak" => {
                let (is_limit, unit) = match rest.strip_suffix("max") {
                    Some(unit) => (true, unit.trim()),
                    None => (false, rest),
                };
                let stated = match (LeakRateUnit::from_symbol(unit.as_bytes()), unit) {
                    (None, "") => None,
                    (Some(unit), _) => Some(unit),
                    (None, unit) => return Err(no_unit(unit, "a leak rate")),
                };
                Ok(if is_limit {
                    Field::LeakLimit(stated)
                } else {
                    Field::Leak(stated)
                })
            }
            _ => {
                let names = Field::names();
                let known: Vec<&str> = names.iter().map(String::as_str).collect();
                let near = suggest(&lower, &known).map(|near| format!("{{{near}}}"));
                Err((format!("there is no placeholder {{{text}}}"), near))
            }
        }
    }

    /// The names of all placeholders, without units.
    pub fn names() -> Vec<String> {
        let mut names: Vec<String> = PLAIN.iter().map(|(name, _)| (*name).to_owned()).collect();
        names.extend(QuantityKind::ALL.iter().map(|kind| kind.word().to_owned()));
        names.extend(["ambient", "duration", "total", "leak"].map(str::to_owned));
        for kind in ConsumableKind::ALL {
            for (part, _) in LOT_PARTS {
                names.push(format!("{} {part}", kind.word()));
            }
        }
        names
    }

    /// Its name without its unit, as `layout try` shows it.
    pub fn name(self) -> String {
        if let Some((name, _)) = PLAIN.iter().find(|(_, field)| *field == self) {
            return (*name).to_owned();
        }
        let side = |bound: Bound| match bound {
            Bound::Min => "min",
            Bound::Max => "max",
        };
        match self {
            Field::Reading(kind, _) => kind.word().to_owned(),
            Field::Limit(kind, _, bound) => format!("{} {}", kind.word(), side(bound)),
            Field::DurationLimit(_, bound) => format!("duration {}", side(bound)),
            Field::Ambient(_) => "ambient".to_owned(),
            Field::Leak(_) => "leak".to_owned(),
            Field::LeakLimit(_) => "leak max".to_owned(),
            Field::Total(_) => "total".to_owned(),
            Field::Consumable(kind, part) => {
                let word = LOT_PARTS.iter().find(|(_, known)| *known == part);
                format!("{} {}", kind.word(), word.map_or("", |(word, _)| word))
            }
            _ => String::new(),
        }
    }

    /// How its text is told from what follows it.
    pub fn extent(self) -> Extent {
        match self {
            Field::Unit
            | Field::Load
            | Field::Operator
            | Field::Zone
            | Field::Consumable(_, LotPart::Lot) => Extent::Name,
            Field::Serial
            | Field::Software
            | Field::Place
            | Field::Program
            | Field::AnyStage
            | Field::AnyOutcomeStage
            | Field::AnyAlarm
            | Field::AnyCause
            | Field::Text
            | Field::Consumable(_, LotPart::Scan) => Extent::Text,
            _ => Extent::Own,
        }
    }
}

/// How a field's text is told from what follows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// By its own form: a number, a date, a word of a table.
    Own,
    /// It has no white space, and ends where what follows it begins.
    Name,
    /// It ends where what follows it begins.
    Text,
}

/// A text with `min` or `max` taken off its end.
fn bounded(text: &str) -> (&str, Option<Bound>) {
    for (word, bound) in [("min", Bound::Min), ("max", Bound::Max)] {
        if let Some(rest) = text.strip_suffix(word)
            && (rest.is_empty() || rest.ends_with(' '))
        {
            return (rest.trim_end(), Some(bound));
        }
    }
    (text, None)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_placeholder_says_its_quantity_unit_datum_and_side() {
        let pressure = |unit, datum| Some(UnitOf::Pressure(unit, datum));
        for (text, field) in [
            ("counter", Field::Counter),
            ("Start  Time", Field::StartTime),
            ("pressure", Field::Reading(QuantityKind::Pressure, None)),
            (
                "pressure kPa gauge",
                Field::Reading(
                    QuantityKind::Pressure,
                    pressure(PressureUnit::Kilopascal, Datum::Gauge),
                ),
            ),
            (
                "temperature F min",
                Field::Limit(
                    QuantityKind::Temperature,
                    Some(UnitOf::Temperature(TemperatureUnit::Fahrenheit)),
                    Bound::Min,
                ),
            ),
            // `min` alone is the side; the minute before it is the unit.
            (
                "duration min max",
                Field::DurationLimit(Some(DurationUnit::Minute), Bound::Max),
            ),
            ("duration min", Field::DurationLimit(None, Bound::Min)),
            (
                "bi lot",
                Field::Consumable(ConsumableKind::Bi, LotPart::Lot),
            ),
            (
                "leak mbar/min",
                Field::Leak(Some(LeakRateUnit::MillibarPerMinute)),
            ),
            ("leak max", Field::LeakLimit(None)),
            ("total min", Field::Total(Some(DurationUnit::Minute))),
        ] {
            assert_eq!(Field::parse(text), Ok(field), "{text}");
        }
    }

    #[test]
    fn a_slip_in_a_placeholder_is_named_with_what_it_may_mean() {
        assert_eq!(
            Field::parse("countr").unwrap_err().1.as_deref(),
            Some("{counter}")
        );
        assert!(
            Field::parse("pressure C")
                .unwrap_err()
                .0
                .contains("`C` is no unit of pressure")
        );
        assert!(Field::parse("temperature C gauge").is_err());
        assert!(Field::parse("").is_err());
    }

    #[test]
    fn placeholder_is_named_without_its_unit() {
        for (text, name) in [
            ("counter", "counter"),
            ("start time", "start time"),
            ("pressure kPa gauge", "pressure"),
            ("temperature F min", "temperature min"),
            ("temperature max", "temperature max"),
            ("duration min max", "duration max"),
            ("duration min", "duration min"),
            ("ambient kPa", "ambient"),
            ("ambient", "ambient"),
            ("leak mbar/min", "leak"),
            ("leak mbar/min max", "leak max"),
            ("total min", "total"),
            ("bi lot", "bi lot"),
            ("ci expiry", "ci expiry"),
            ("sterilant use", "sterilant use"),
        ] {
            assert_eq!(Field::parse(text).unwrap().name(), name, "{text}");
        }
        // Each name that is told when asked for is one that is read.
        for name in Field::names() {
            let name = match name.as_str() {
                "duration" => "duration max".to_owned(),
                _ => name,
            };
            assert_eq!(Field::parse(&name).unwrap().name(), name);
        }
    }

    #[test]
    fn pressure_alone_has_a_datum() {
        let of = |text: &str| UnitOf::parse(QuantityKind::Pressure, text);
        let kpa = |datum| Some(UnitOf::Pressure(PressureUnit::Kilopascal, datum));
        assert_eq!(of("kPa"), kpa(Datum::Absolute));
        assert_eq!(of("kPa Absolute"), kpa(Datum::Absolute));
        assert_eq!(of("kPa GAUGE"), kpa(Datum::Gauge));
        for text in ["kPa other", "kPa gauge gauge", "gauge", "", "C"] {
            assert_eq!(of(text), None, "{text}");
        }
        assert_eq!(UnitOf::parse(QuantityKind::Temperature, "C absolute"), None);
        for (text, unit) in UnitOf::all() {
            let text = text.trim_start_matches('°');
            assert_eq!(UnitOf::parse(unit.kind(), text), Some(unit), "{text}");
        }
    }

    #[test]
    fn unit_that_is_none_of_its_quantity_is_told() {
        for (text, said) in [
            ("ambient C", "`C` is no unit of pressure"),
            ("duration C max", "`C` is no unit of time"),
            ("duration min min min", "`min min` is no unit of time"),
            (
                "duration h",
                "a duration is a limit: write `min` or `max` last",
            ),
            ("total C", "`C` is no unit of time"),
            ("leak C", "`C` is no unit of a leak rate"),
            ("leak C max", "`C` is no unit of a leak rate"),
            ("something else", "there is no placeholder {something else}"),
        ] {
            assert_eq!(Field::parse(text).unwrap_err().0, said, "{text}");
        }
        for (text, taken) in [
            ("5 min", ("5", Some(Bound::Min))),
            ("max", ("", Some(Bound::Max))),
            ("5min", ("5min", None)),
            ("5", ("5", None)),
        ] {
            assert_eq!(bounded(text), taken);
        }
    }
}
