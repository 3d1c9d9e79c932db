//! How long does one flower last in one room, and does water help? `cargo run --example one_flower`

use headwater::climate::Air;
use headwater::climate::room::Room;
use headwater::flower::catalogue::Catalogue;
use headwater::hours::{Question, answer};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let barn = Room::find("warm barn")?.afternoon(Air::SEA_LEVEL);
    let question = Question::new(Catalogue::shipped().find("dahlia")?, barn, 6.0);
    println!("{} after {} h in a warm barn:", question.flower.name(), question.until);
    for answer in answer(&question)? {
        // Over deliveries: the middle one, and nine in ten.
        let [low, middle, high] = {
            let share = answer.presentable_at_until;
            [share.p05, share.p50, share.p95].map(|share| 100.0 * share)
        };
        println!("{}: {middle:.0} % presentable ({low:.0} to {high:.0} %)", answer.method);
    }
    Ok(())
}
