//! Where dry stops being enough, and a day that nobody knows yet: how long the answers take, against asking one air at a time
//! and against planning for one day, in the same run.

mod common;

use common::spent;
use headwater::climate::Air;
use headwater::decide::hours::{Question, answer};
use headwater::decide::limits::{Asked, hours};
use headwater::decide::plan::{Settings, finish};
use headwater::decide::prospects::prospects;
use headwater::event::{EXAMPLES, Event};
use headwater::flower::catalogue::Catalogue;
use std::fmt::Write;
use std::hint::black_box;

/// Hours of the summers of some years, as invented as they are regular.
fn summers(years: i32) -> String {
    let mut text = String::from("time,temperature C,humidity %,wind m/s\n");
    for year in 2001..2001 + years {
        for (month, days) in [(7, 31), (8, 31)] {
            for day in 1..=days {
                for hour in 0..24 {
                    let odd = f64::from((year * 31 + month * 17 + day * 7) % 23) / 2.0;
                    let t = 16.0 + odd + 5.0 * (f64::from(hour - 15) * std::f64::consts::PI / 12.0).cos();
                    writeln!(text, "{year}-{month:02}-{day:02} {hour:02}:00,{t:.1},50,2").expect("text");
                }
            }
        }
    }
    text
}

/// The harvest supper, ten orders, in the weather of some years; of none it meets the one day that it gives.
fn supper(years: i32) -> Event {
    let (_, _, text) = EXAMPLES.iter().find(|(name, ..)| *name == "harvest-supper").expect("the example");
    let weather = "weather = \"summers.csv\"";
    let own = "low = \"14 C\"\nhigh = \"27 C\"\nhumidity = \"48 %\"";
    let text = match years {
        0 => (*text).to_string(),
        _ => {
            text.replace("room = \"warm barn\"", &format!("{weather}\nsun = \"shade\"")).replace(own, weather)
        }
    };
    let record = summers(years.max(1));
    Event::read("supper.toml", &text, &|_| Ok(record.clone())).unwrap_or_else(|e| panic!("{e}"))
}

fn main() {
    let dahlia = Catalogue::shipped().find("dahlia").expect("dahlias");
    let airs: Vec<Air> = (0..1000)
        .map(|i| Air::indoors(12.0 + f64::from(i % 40) * 0.7, 0.3 + f64::from(i / 40) * 0.02).expect("air"))
        .collect();
    let asked = Asked::new(dahlia);
    let thousand = spent(|| {
        black_box(hours(&asked, &airs).expect("hours"));
    });
    let one = spent(|| {
        black_box(answer(&Question::new(dahlia, airs[500], 6.0)).expect("an answer"));
    });
    println!(
        "a thousand airs of one flower: {:.2} s by the clock, {:.1} times as long as the answer for one air ({:.0} ms)",
        thousand.clock,
        thousand.clock / one.clock,
        1000.0 * one.clock
    );
    let given = supper(0);
    let plan_once = |event: &Event| {
        black_box(finish(prospects(event.clone(), Settings::default()).expect("settings")).lasts());
    };
    let single = spent(|| plan_once(&given));
    println!("ten orders on one given day: {:.2} s by the clock", single.clock);
    let mut before: Option<(f64, f64)> = None;
    for years in [5, 10, 19] {
        let event = supper(years);
        let whole = spent(|| plan_once(&event));
        let days = event.met.len() as f64;
        let slope = before.map_or(String::new(), |(d, t)| {
            format!(", with the days to the power of {:.1}", (whole.processor / t).ln() / (days / d).ln())
        });
        println!(
            "on {days} days, with a rule for the eve: {:.2} s by the clock, {:.1} times as long as for one day{slope}",
            whole.clock,
            whole.clock / single.clock
        );
        before = Some((days, whole.processor));
    }
    let planned = finish(prospects(supper(19), Settings::default()).expect("settings"));
    if let Some(found) = planned.rule {
        println!("the rule: above {:.0} C; {:?}", found.above_c, found.found);
    }
}
