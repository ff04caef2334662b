//! A cycle: what one printout says.
//!
//! Times within a cycle are kept as seconds since its start, as its own clock tells them ([`Elapsed`]), because a
//! printout prints clock times without a date; passing midnight is allowed for, and a step of the clock is said.

use super::Spanned;
use super::cause::Cause;
use super::consumable::ConsumableUse;
use super::line_set::LineSet;
use super::name::{LoadNumber, Program, StaffMark, UnitName};
use super::stamp::Stamp;
use crate::diagnose::Span;
use crate::measure::quantity::{
    Concentration, Conductivity, Duration, LeakRate, Power, Pressure, RelativeHumidity, Temperature,
};
use chrono_tz::Tz;
use serde::Serialize;

/// The process that a unit runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Process {
    /// Low-temperature hydrogen-peroxide gas plasma.
    Plasma,
    /// Steam (moist heat).
    Steam,
    /// Ethylene oxide.
    Eo,
}

impl Process {
    /// Every process.
    pub const ALL: &'static [Process] = &[Process::Plasma, Process::Steam, Process::Eo];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            Process::Plasma => "plasma",
            Process::Steam => "steam",
            Process::Eo => "eo",
        }
    }
}

/// What a cycle was run for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Purpose {
    /// To process a load. What a printout means that does not name its purpose.
    Load,
    /// To test the chamber for leaks.
    LeakTest,
    /// To test the removal of air from a steam chamber.
    AirRemovalTest,
    /// To warm the chamber.
    WarmUp,
}

impl Purpose {
    /// Every purpose.
    pub const ALL: &'static [Purpose] = &[
        Purpose::Load,
        Purpose::LeakTest,
        Purpose::AirRemovalTest,
        Purpose::WarmUp,
    ];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            Purpose::Load => "load",
            Purpose::LeakTest => "leak-test",
            Purpose::AirRemovalTest => "air-removal-test",
            Purpose::WarmUp => "warm-up",
        }
    }
}

macro_rules! stage_names {
    ($($variant:ident, $word:literal, $said:literal;)*) => {
        /// The name of a stage of a cycle.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum StageName {
            $(#[doc = $said] $variant,)*
            /// A stage that the printout names in a word of its own.
            Other(String),
        }

        impl StageName {
            /// Every stage of the table.
            pub const ALL: &'static [StageName] = &[$(StageName::$variant,)*];

            /// The word in the formats.
            pub fn word(&self) -> &str {
                match self { $(StageName::$variant => $word,)* StageName::Other(word) => word }
            }

            /// The stage with this word; upper and lower case count as the same.
            pub fn from_word(word: &str) -> Self {
                Self::known(word.as_bytes()).unwrap_or_else(|| StageName::Other(word.to_owned()))
            }

            /// The stage of the table with this word, if there is one.
            pub fn known(word: &[u8]) -> Option<Self> {
                $(if word.eq_ignore_ascii_case($word.as_bytes()) { return Some(StageName::$variant); })*
                None
            }
        }
    };
}

stage_names! {
    Warm, "warm", "The chamber and load are warmed.";
    Evacuate, "evacuate", "Air is pumped out.";
    Inject, "inject", "The sterilant is let in and vaporised.";
    Diffuse, "diffuse", "The sterilant spreads through the load.";
    Plasma, "plasma", "Radio-frequency power makes plasma.";
    Condition, "condition", "Air removal by pulses, humidifying, heating up.";
    Expose, "expose", "The load is held at the sterilizing condition.";
    Exhaust, "exhaust", "Steam or gas is let or pumped out.";
    Dry, "dry", "The load is dried under vacuum.";
    Aerate, "aerate", "Ethylene oxide is washed out of the load.";
    Settle, "settle", "The pressure settles before a leak test.";
    Hold, "hold", "The chamber is held closed while its pressure is watched.";
    Vent, "vent", "Air is let in through a filter.";
}

impl Serialize for StageName {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.word())
    }
}

/// Seconds since the cycle's start, as the unit's clock tells them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
pub struct Elapsed(pub i32);

impl Elapsed {
    /// The seconds from another moment of the cycle to this one: negative where the clock went back.
    pub fn since(self, earlier: Elapsed) -> i64 {
        i64::from(self.0).saturating_sub(i64::from(earlier.0))
    }
}

/// A measured value of any quantity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measured {
    /// Chamber pressure.
    Pressure(Pressure),
    /// Chamber temperature.
    Temperature(Temperature),
    /// Concentration of the sterilant.
    Concentration(Concentration),
    /// Relative humidity.
    Humidity(RelativeHumidity),
    /// Radio-frequency power.
    Power(Power),
    /// Conductivity of feed water.
    Conductivity(Conductivity),
}

impl From<Concentration> for Measured {
    fn from(value: Concentration) -> Self {
        Measured::Concentration(value)
    }
}

impl From<RelativeHumidity> for Measured {
    fn from(value: RelativeHumidity) -> Self {
        Measured::Humidity(value)
    }
}

impl From<Power> for Measured {
    fn from(value: Power) -> Self {
        Measured::Power(value)
    }
}

impl From<Conductivity> for Measured {
    fn from(value: Conductivity) -> Self {
        Measured::Conductivity(value)
    }
}

/// Which quantity a value is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum QuantityKind {
    /// Pressure.
    Pressure,
    /// Temperature.
    Temperature,
    /// Concentration of the sterilant.
    Concentration,
    /// Relative humidity.
    Humidity,
    /// Radio-frequency power.
    Power,
    /// Conductivity.
    Conductivity,
}

impl QuantityKind {
    /// Every quantity.
    pub const ALL: &'static [QuantityKind] = &[
        QuantityKind::Pressure,
        QuantityKind::Temperature,
        QuantityKind::Concentration,
        QuantityKind::Humidity,
        QuantityKind::Power,
        QuantityKind::Conductivity,
    ];

    /// The word in the formats.
    pub fn word(self) -> &'static str {
        match self {
            QuantityKind::Pressure => "pressure",
            QuantityKind::Temperature => "temperature",
            QuantityKind::Concentration => "concentration",
            QuantityKind::Humidity => "humidity",
            QuantityKind::Power => "power",
            QuantityKind::Conductivity => "conductivity",
        }
    }
}

impl Measured {
    /// Which quantity it is.
    pub fn kind(&self) -> QuantityKind {
        match self {
            Measured::Pressure(_) => QuantityKind::Pressure,
            Measured::Temperature(_) => QuantityKind::Temperature,
            Measured::Concentration(_) => QuantityKind::Concentration,
            Measured::Humidity(_) => QuantityKind::Humidity,
            Measured::Power(_) => QuantityKind::Power,
            Measured::Conductivity(_) => QuantityKind::Conductivity,
        }
    }

    /// The value in the unit it was printed in.
    pub fn printed_number(&self) -> f64 {
        match self {
            Measured::Pressure(value) => value.printed_number(),
            Measured::Temperature(value) => value.printed_number(),
            Measured::Concentration(value) => value.printed_number(),
            Measured::Humidity(value) => value.printed_number(),
            Measured::Power(value) => value.printed_number(),
            Measured::Conductivity(value) => value.printed_number(),
        }
    }

    /// The symbol of the unit it was printed in.
    pub fn printed_symbol(&self) -> &'static str {
        match self {
            Measured::Pressure(value) => value.printed_unit().symbol(),
            Measured::Temperature(value) => value.printed_unit().symbol(),
            Measured::Concentration(value) => value.printed_unit().symbol(),
            Measured::Humidity(value) => value.printed_unit().symbol(),
            Measured::Power(value) => value.printed_unit().symbol(),
            Measured::Conductivity(value) => value.printed_unit().symbol(),
        }
    }
}

/// One value read at one moment. A line with several values makes several readings.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reading {
    /// When.
    pub at: Elapsed,
    /// The line it stands on, in the cycle's file.
    pub line: u32,
    /// The value.
    pub measured: Measured,
}

/// What a limit binds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum LimitValue {
    /// A value of a measured quantity.
    Measured(Measured),
    /// The length of the stage.
    Duration(Duration),
}

/// Which side a limit is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bound {
    /// At least.
    Min,
    /// At most.
    Max,
}

/// A limit that the printout gives for a stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Limit {
    /// Which side.
    pub bound: Bound,
    /// The value.
    pub value: LimitValue,
}

/// A stage of a cycle.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Stage {
    /// Its name.
    pub name: StageName,
    /// Its line.
    pub span: Span,
    /// When it began.
    pub began: Elapsed,
    /// The limits it had, where printed.
    pub limits: Vec<Limit>,
    /// The number of pulses, where printed.
    pub n_pulses: Option<u32>,
    /// Its readings in the order of the printout.
    pub readings: Vec<Reading>,
}

/// Something that the unit said while it ran.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Event {
    /// When.
    pub at: Elapsed,
    /// Its line.
    pub span: Span,
    /// The cause, if it is an alarm.
    pub alarm: Option<Cause>,
    /// The words, if any.
    pub text: String,
}

/// The result of a leak test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LeakResult {
    /// The rise of pressure.
    pub rate: LeakRate,
    /// The limit that the printout gives for it.
    pub limit: Option<LeakRate>,
}

/// What the printout sums up at its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Total {
    /// From start to end, in seconds.
    pub seconds: u32,
    /// The number of reading lines that the printout should hold.
    pub n_reading_lines: Option<u32>,
}

/// What the unit printed as the result of the cycle.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// All stages ran to their end.
    Completed,
    /// Stopped during a stage.
    Aborted {
        /// The stage, if printed.
        stage: Option<StageName>,
        /// The cause, if printed.
        cause: Option<Cause>,
    },
    /// The load was rejected before the first exposure to the sterilant.
    Rejected {
        /// The cause, if printed.
        cause: Option<Cause>,
    },
    /// A test (leak, air removal) that was passed.
    Passed,
    /// A test (leak, air removal) that was failed.
    Failed,
}

/// Whether the lines of a printout give the checksum that it prints.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Checksum {
    /// None is printed.
    Absent,
    /// They do.
    Agrees {
        /// The checksum.
        crc32: u32,
        /// Its line.
        span: Span,
    },
    /// They don't.
    Differs {
        /// The checksum as printed.
        printed: u32,
        /// The checksum of the lines as they are.
        computed: u32,
        /// Its line.
        span: Span,
    },
}

/// Something that was inferred while the printout was read, and why.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Inference {
    /// Where.
    pub span: Span,
    /// What was inferred, and why, as a sentence.
    pub reason: String,
}

/// What one printout says of one cycle. A field is `None` when the printout does not have it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Cycle {
    /// The lines that it is made of.
    pub lines: LineSet,
    /// Its opening line.
    pub opening: Span,
    /// What it was run for.
    pub purpose: Purpose,
    /// The unit.
    pub unit: Option<Spanned<UnitName>>,
    /// The unit's serial number.
    pub serial: Option<Spanned<String>>,
    /// The unit's software version.
    pub software: Option<Spanned<String>>,
    /// The place: hospital, department, room.
    pub place: Option<Spanned<String>>,
    /// The time zone of the unit's clock.
    pub zone: Option<Spanned<Tz>>,
    /// The process.
    pub process: Option<Spanned<Process>>,
    /// The program.
    pub program: Option<Spanned<Program>>,
    /// The cycle counter.
    pub counter: Option<Spanned<u32>>,
    /// The load number.
    pub load: Option<Spanned<LoadNumber>>,
    /// Who started it.
    pub operator: Option<Spanned<StaffMark>>,
    /// When it began.
    pub started: Option<Spanned<Stamp>>,
    /// The ambient pressure, for gauge pressures.
    pub ambient: Option<Spanned<Pressure>>,
    /// What it used up.
    pub consumables: Vec<ConsumableUse>,
    /// Its stages in order.
    pub stages: Vec<Stage>,
    /// Its events and alarms in order.
    pub events: Vec<Event>,
    /// The result of a leak test.
    pub leak: Option<Spanned<LeakResult>>,
    /// When it ended.
    pub ended: Option<Spanned<Elapsed>>,
    /// What it sums up.
    pub total: Option<Spanned<Total>>,
    /// The number of lines with readings that were read.
    pub n_reading_lines: u32,
    /// The result that the unit printed.
    pub outcome: Option<Spanned<Outcome>>,
    /// The checksum.
    pub checksum: Checksum,
    /// Whether the closing line is there; a printout without it was torn off.
    pub closed: bool,
    /// How many lines within it could not be read.
    pub n_unread_lines: u32,
    /// What was inferred.
    pub inferences: Vec<Inference>,
}

impl Cycle {
    /// A cycle of which only the opening line is known.
    pub fn opened_at(opening: Span) -> Self {
        let mut lines = LineSet::new(opening.file);
        lines.push(opening.line);
        Cycle {
            lines,
            opening,
            purpose: Purpose::Load,
            unit: None,
            serial: None,
            software: None,
            place: None,
            zone: None,
            process: None,
            program: None,
            counter: None,
            load: None,
            operator: None,
            started: None,
            ambient: None,
            consumables: Vec::new(),
            stages: Vec::new(),
            events: Vec::new(),
            leak: None,
            ended: None,
            total: None,
            n_reading_lines: 0,
            outcome: None,
            checksum: Checksum::Absent,
            closed: false,
            n_unread_lines: 0,
            inferences: Vec::new(),
        }
    }

    /// The alarms among its events, in order.
    pub fn alarms(&self) -> impl Iterator<Item = (&Event, &Cause)> {
        self.events
            .iter()
            .filter_map(|event| event.alarm.as_ref().map(|cause| (event, cause)))
    }
}
