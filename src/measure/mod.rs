//! Quantities that can't be mixed up: pressure, temperature, concentration, humidity, power, conductivity, leak rate.
//!
//! Each quantity keeps its value in one unit of the SI (or the trade's usual multiple of it) together with the unit in
//! which it was printed, so that a report can show what stands on the strip. The conversion factors are those of NIST
//! Special Publication 811 (2008), Appendix B; each stands beside its unit. Beside them stand the saturation line of steam
//! and the lethality of moist heat, and counts that never wrap. This module knows nothing of sterilizers.

pub mod count;
pub mod decimal;
pub mod lethality;
pub mod quantity;
pub mod steam;
pub mod unit;
