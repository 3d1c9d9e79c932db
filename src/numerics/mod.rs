//! Numerical tools that know nothing of flowers: elementary functions and random numbers that give the same bits on every
//! machine ([`elementary`], [`random`]), the standard normal distribution ([`normal`]), and loops compiled for wider
//! instructions ([`dispatch`]).

pub mod dispatch;
pub mod elementary;
pub mod normal;
pub mod random;
