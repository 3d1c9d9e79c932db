//! How long does one flower last in one room, and does water help? `cargo run --example one_flower`

use headwater::climate::Air;
use headwater::climate::room::Room;
use headwater::decide::quick::{Question, answer};
use headwater::flower::catalogue::Catalogue;
use headwater::flower::treatment::Handling;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let question = Question {
        flower: Catalogue::shipped().find("dahlia")?,
        handling: Handling::default(),
        air: Room::find("warm barn")?.afternoon(Air::SEA_LEVEL),
        until: 6.0,
        tube_ml: 10.0,
        seed: 1,
    };
    println!("{} after {} h in a warm barn:", question.flower.name(), question.until);
    for answer in answer(&question) {
        let share = answer.presentable_at_until;
        println!(
            "{}: {:.0} % presentable ({:.0} to {:.0} %)",
            answer.method,
            100.0 * share.p50,
            100.0 * share.p05,
            100.0 * share.p95
        );
    }
    Ok(())
}
