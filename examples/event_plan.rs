//! Can this event be done, and what does it cost? `cargo run --example event_plan [EVENT.toml]`

use headwater::decide::plan::{Settings, plan};
use headwater::event::{Event, TEMPLATE};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // Without a file the template is planned, which `headwater new` writes.
    let (name, text) = match std::env::args().nth(1) {
        Some(file) => (file.clone(), std::fs::read_to_string(file)?),
        None => ("template.toml".to_string(), TEMPLATE.to_string()),
    };
    let event = Event::read(&name, &text, &|log| std::fs::read_to_string(log))?;
    let plan = plan(event, Settings::default());
    println!("{}: every flower lasts: {}", plan.event.name, plan.lasts());
    println!("hands, tubes, vases and flowers: {:.2}", plan.bill.total());
    Ok(())
}
