//! The `headwater` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    headwater::main()
}
