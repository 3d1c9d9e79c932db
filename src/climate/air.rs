//! Moist air.
