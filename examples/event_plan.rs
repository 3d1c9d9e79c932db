//! Can this event be done, what is to be done with every flower, and what does it cost?
//! `cargo run --example event_plan [EVENT.toml]`

use headwater::event::{Event, TEMPLATE};
use headwater::plan::{Settings, plan};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    // Without a file the template is planned, which `headwater new` writes.
    let (name, text) = match std::env::args().nth(1) {
        Some(file) => (file.clone(), std::fs::read_to_string(file)?),
        None => ("template.toml".to_string(), TEMPLATE.to_string()),
    };
    let event = Event::read(&name, &text, &|log| std::fs::read_to_string(log))?;
    let plan = plan(event, Settings::default())?;
    println!("{}: every flower lasts: {}", plan.event.name, plan.lasts());
    for (id, piece, order) in plan.event.orders() {
        let (todo, from) = (plan.order(id).recommended(), plan.event.moment(plan.order(id).window.0));
        println!("{}: {}, {}, not before {from}", piece.name, order.flower_name(), todo.treatment.method);
    }
    println!("hands, tubes, vases and flowers: {:.2}", plan.bill.total());
    Ok(())
}
