//! The rules, one a file: question, source, effect, parameters, evaluation, and as tests the smallest case that fires
//! and the nearest that doesn't.
//!
//! A rule knows one load by its [`Case`](super::case::Case), and neither other rules nor the decision. The table of all
//! of them is [`RULES`](super::rulebook::RULES).

#[cfg(test)]
mod answers;
#[cfg(test)]
mod edges;

pub mod air_removal_test_missing;
pub mod air_removal_test_not_passed;
pub mod alarm_in_completed_cycle;
pub mod bi_control_missing;
pub mod bi_control_no_growth;
pub mod bi_control_not_read;
pub mod bi_control_of_other_lot;
pub mod bi_growth;
pub mod bi_growth_in_unit;
pub mod bi_incubation_unknown;
pub mod bi_not_read;
pub mod bi_overdue;
pub mod bi_read_too_early;
pub mod bi_read_too_late;
pub mod bi_role_not_stated;
pub mod bi_schedule_not_kept;
pub mod ci_endpoint_not_reached;
pub mod ci_external_missing;
pub mod ci_internal_missing;
pub mod ci_type_not_accepted;
pub mod ci_type_not_stated;
pub mod ci_unreadable;
pub mod clock_changed_in_cycle;
pub mod clocks_disagree;
pub mod contents_not_listed;
pub mod contents_unfit_for_plasma;
pub mod cycle_not_completed;
pub mod cycle_time_unknown;
pub mod eo_aeration_short;
pub mod eo_concentration_outside_range;
pub mod eo_exposure_long;
pub mod eo_exposure_short;
pub mod eo_gas_not_recorded;
pub mod eo_humidity_outside_range;
pub mod eo_temperature_not_recorded;
pub mod eo_temperature_outside_range;
pub mod held_by_person;
pub mod implant_bi_not_read;
pub mod implant_left_before_bi_read;
pub mod implant_not_stated;
pub mod implant_without_bi;
pub mod leak_rate_above_limit;
pub mod leak_test_missing;
pub mod leak_test_not_passed;
pub mod load_not_in_log;
pub mod load_number_near_miss;
pub mod load_number_on_two_units;
pub mod load_run_again;
pub mod log_contradicts_printout;
pub mod lot_expired;
pub mod lot_not_stated;
pub mod lot_open_too_long;
pub mod lot_opening_not_logged;
pub mod lot_past_its_uses;
pub mod lot_used_after_finished;
pub mod lot_used_before_opened;
pub mod not_signed;
pub mod outcome_not_printed;
pub mod plasma_cycle_length_unusual;
pub mod plasma_temperature_high;
pub mod policy_none_in_force;
pub mod printout_checksum_wrong;
pub mod printout_lines_unread;
pub mod printout_missing;
pub mod printout_reprinted;
pub mod printout_torn;
pub mod printout_totals_differ;
pub mod process_not_known;
pub mod reading_outside_band;
pub mod recalled_by_person;
pub mod released_before_evidence;
pub mod stage_length_unknown;
pub mod stage_missing;
pub mod stage_reading_missing;
pub mod stage_too_long;
pub mod stage_too_short;
pub mod steam_bi_growth_in_unit;
pub mod steam_f0_low;
pub mod steam_holding_time_short;
pub mod steam_not_saturated;
pub mod steam_temperature_outside_band;
