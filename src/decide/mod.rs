//! From simulated fates to what to do: every placing of every flower, the one to choose, and how long boxes may wait.

pub mod placing;
pub mod plan;
pub mod quick;
