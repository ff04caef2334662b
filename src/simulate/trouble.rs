//! The planted troubles: what goes wrong where and on which day, so that a review has something to find.
//!
//! Days are counted from the first, which is day 0. Only the first unit of each name has troubles; units that are added
//! for a larger department run without. What each trouble did is told in the answer sheet. Read [`Troubles`] first.

/// Whether troubles are planted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Troubles {
    /// They are.
    Planted,
    /// They are not: every unit runs as it should, with the usual rate of faults.
    None,
}

/// By how much the pump-down of PL-2 grows each week.
pub const PUMP_DOWN_GROWTH: f64 = 0.015;
/// How often a load aborts for moisture.
pub const MOISTURE_RATE: f64 = 0.022;
/// The same for a load with an ENT scope on the late shift.
pub const MOISTURE_RATE_ENT_LATE: f64 = 0.11;
/// How often an internal indicator does not reach its endpoint.
pub const CI_FAULT_RATE: f64 = 0.002;
/// The same for the bad lot.
pub const CI_FAULT_RATE_BAD_LOT: f64 = 0.085;
/// Which lot of internal plasma indicators of the General is bad, counted from 0 on the first day.
pub const BAD_CI_LOT_INDEX: u32 = 3;
/// The day on which the BI of PL-1 grows.
pub const BI_GROWTH_DAY: u32 = 57;
/// The day on which the control BI of PL-2 does not grow.
pub const CONTROL_DAY: u32 = 71;
/// The day on which an implant of ST-2 is released before its BI is read.
pub const EARLY_RELEASE_DAY: u32 = 50;
/// The day on whose late shift no load is signed.
pub const UNSIGNED_DAY: u32 = 78;
/// The day whose late page stands in the log after the next day's.
pub const PAGE_DAY: u32 = 37;
/// The day of the service of PL-3, with new software.
pub const SOFTWARE_DAY: u32 = 30;
/// The day of the service of ST-1, after which its counter begins again.
pub const RESET_DAY: u32 = 58;
/// The day on which an aeration of EO-1 is stopped by hand.
pub const AERATION_STOPPED_DAY: u32 = 24;
/// The day on which an aeration of EO-1 ends early and is printed as completed.
pub const AERATION_SHORT_DAY: u32 = 66;

impl Troubles {
    fn planted(self) -> bool {
        self == Troubles::Planted
    }

    /// By what factor the pump-down of a unit is longer than that of a dry load in a sound unit.
    pub fn pump_down_factor(self, unit: &str, day: u32) -> f64 {
        if self.planted() && unit == "PL-2" {
            // From week to week without powers, whose last place may differ between computers. After two years the
            // pump would have been replaced.
            let weeks = day.min(91);
            let growth = PUMP_DOWN_GROWTH * f64::from(weeks) / 7.0;
            1.12 * (1.0 + growth + growth * growth / 2.0)
        } else {
            1.0
        }
    }

    /// The rise of pressure in a leak test, in pascal per minute.
    pub fn leak_rate(self, unit: &str, day: u32) -> f64 {
        if self.planted() && unit == "ST-2" {
            46.0 + 0.83 * f64::from(day.min(91))
        } else {
            44.0
        }
    }

    /// How many loads PL-3 rejects for an obstructed sensor on a day.
    pub fn n_sensor_rejections(self, unit: &str, day: u32) -> u32 {
        match (self.planted() && unit == "PL-3", day) {
            (true, 64 | 66 | 67) => 1,
            (true, 65) => 2,
            _ => 0,
        }
    }

    /// Whether a trouble that has a day happens to this unit today.
    pub fn strikes(self, unit: &str, day: u32, at_unit: &str, on_day: u32) -> bool {
        self.planted() && unit == at_unit && day == on_day
    }

    /// Whether the loads of these days must run as planned, so that the scope of the recall is clear.
    pub fn keeps_clear(self, unit: &str, day: u32) -> bool {
        self.planted()
            && match unit {
                "PL-1" => (BI_GROWTH_DAY - 2..=BI_GROWTH_DAY + 3).contains(&day),
                "PL-2" => day == CONTROL_DAY,
                "ST-2" => day == EARLY_RELEASE_DAY,
                _ => false,
            }
    }
}
