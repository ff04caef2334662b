//! The publications that rules cite, by title. How each value is known stands with the rule that cites it.

/// CDC/HICPAC, 2008; the copy that was read is the update of May 2019.
pub const CDC_2008: &str =
    "CDC/HICPAC, Guideline for Disinfection and Sterilization in Healthcare Facilities";
/// CDC, 2003.
pub const MMWR_2003: &str =
    "CDC, Guidelines for Infection Control in Dental Health-Care Settings, MMWR 52(RR-17)";
/// CDC, a web page without a year.
pub const CDC_DENTAL: &str =
    "CDC, Best Practices for Sterilization Monitoring in Dental Settings (web page)";
/// AAMI, steam.
pub const ST79: &str = "ANSI/AAMI ST79, steam sterilization in health care facilities";
/// CEN, large steam sterilizers.
pub const EN_285: &str = "EN 285, Sterilization: Steam sterilizers: Large sterilizers";
/// Health Technical Memorandum.
pub const HTM_01_01: &str = "HTM 01-01, Management and decontamination of surgical instruments";
/// Health Technical Memorandum, dental.
pub const HTM_01_05: &str = "HTM 01-05, Decontamination in primary care dental practices";
/// ISO, chemical indicators.
pub const ISO_11140_1: &str = "ISO 11140-1, Chemical indicators: General requirements";
