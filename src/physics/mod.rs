//! What the air does to a flower: heat, water and age.
pub mod ageing;
pub mod leaf;
