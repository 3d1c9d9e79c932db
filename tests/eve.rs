//! A day that nobody knows yet: an event on each of the days that it may meet, and the rule for the eve.

mod common;

use common::{LUNCH, event};
use headwater::decide::plan::{Plan, Settings, plan};
use headwater::decide::possible::{Placement, chances, some_days};
use headwater::decide::rule::Rule;
use headwater::event::{EXAMPLES, Event, TEMPLATE};
use headwater::report::eve;
use headwater::report::facts::Facts;
use headwater::report::papers::paper;
use headwater::report::render::{html, json};

/// An event of the examples, or the template, with the air of its first space given in another way.
fn with_air(text: &str, air: &str) -> Event {
    let begin = text.find("\n[[space]]").expect("a space") + 1;
    let rest = &text[begin..];
    let name = rest.lines().find(|l| l.starts_with("name")).expect("a name");
    let end = rest[2..].find("\n[").map_or(rest.len(), |i| i + 2);
    let text = format!("{}[[space]]\n{name}\n{air}\n{}", &text[..begin], &rest[end..]);
    Event::read("e.toml", &text, &|name| Err(std::io::Error::other(name.to_string())))
        .unwrap_or_else(|e| panic!("{e}"))
}

const SETTINGS: Settings = Settings { seed: 1, lots: 200, hotter: 0.0 };
const NORMALS: &str = "normals = \"low 14 C, high 26 C; one day in ten above 31 C; middling\"";

/// A piece more of the lunch.
const ARCH: &str = r#"[[piece]]
name = "arch"
space = "garden"
until = "15:00"
shape = "arch"
[[piece.flower]]
flower = "lisianthus"
heads = 60
"#;

fn lunch(normals: &str) -> Event {
    let own = "low 10 C, high 21 C; one day in ten above 27 C; middling";
    let text = LUNCH.replace(own, normals) + ARCH;
    event(&text)
}

fn supper() -> Event {
    let example = EXAMPLES.iter().find(|(name, ..)| *name == "two-helpers").expect("the example").2;
    with_air(example, NORMALS)
}

fn ways(plan: &Plan) -> Vec<Placement> {
    plan.orders.iter().map(|o| Placement::of(o.recommended(), o.heads)).collect()
}

fn rule(event: &Event) -> Option<Rule> {
    plan(event.clone(), Settings::default()).expect("settings").rule
}

#[test]
fn a_given_day_has_no_days_and_no_rule() {
    let event = Event::read("e.toml", TEMPLATE, &|_| unreachable!("it names no log")).unwrap();
    let plan = plan(event, SETTINGS).unwrap();
    assert!(plan.on_days.is_none() && plan.rule.is_none() && plan.event.met.is_empty());
    assert!(!json::plan(&Facts::of(&plan)).contains("\"least_sure\""));
}

#[test]
fn a_plan_is_as_sure_as_its_days_are_on_average() {
    let event = with_air(TEMPLATE, NORMALS);
    let plan = plan(event, Settings { lots: 320, ..SETTINGS }).unwrap();
    let by_day = chances(&plan.event, plan.settings, &[ways(&plan)], &some_days(&plan.event, 100)).remove(0);
    for (i, order) in plan.orders.iter().enumerate() {
        let mean = by_day.iter().map(|day| day[i]).sum::<f64>() / by_day.len() as f64;
        // Each delivery of the plan meets one day, and 48 meet each here: the rest is chance.
        assert!((mean - order.sure).abs() < 0.06, "order {i}: {mean} by day, {} at once", order.sure);
    }
}

#[test]
fn hot_days_are_the_ones_that_fail_and_are_told() {
    let plan = plan(supper(), SETTINGS).unwrap();
    let days = plan.on_days.as_ref().expect("it has days");
    assert_eq!(days.lasts.len(), 60);
    let half = |from: usize| days.least_sure[from..from + 30].iter().sum::<f64>();
    assert!(half(30) <= half(0), "the hotter half is no surer");
    let words = eve::days_sentence(&Facts::of(&plan)).unwrap();
    let begins = "Of 60 looked at among the 100 days that it may meet, of 26 C in the middle, the plan ";
    assert!(words.starts_with(begins), "{words}");
}

#[test]
fn a_rule_is_never_worse_than_the_best_fixed_plan_where_it_was_found() {
    let seasons = [
        "low 10 C, high 21 C; one day in ten above 27 C; middling",
        "low 10 C, high 22 C; one day in ten above 30 C; middling",
    ];
    let mut found = 0;
    for event in seasons.map(lunch) {
        let Some(rule) = rule(&event) else { continue };
        found += 1;
        let [fixed, with, known] = &rule.found;
        assert!(with.regret <= fixed.regret + 1e-9, "{}: {:?}", event.name, rule.found);
        assert!(known.regret <= with.regret + 1e-9, "{}: {:?}", event.name, rule.found);
        assert!(rule.left_out.is_some() && (0.0..=1.0).contains(&rule.hot_share));
        let (low, high) = (event.met[0].high_c, event.met[event.met.len() - 1].high_c);
        assert!(low <= rule.above_c && rule.above_c <= high);
        assert_eq!(rule.above_c, rule.above_c.round(), "a threshold is a round number");
    }
    assert!(found > 0, "no season is worth a rule");
}

#[test]
fn the_rule_stands_on_plan_client_and_crew_pages() {
    let event = lunch("low 10 C, high 21 C; one day in ten above 27 C; middling");
    let plan = plan(event, Settings::default()).unwrap();
    let facts = Facts::of(&plan);
    let rule = plan.rule.as_ref().expect("a rule");
    let threshold = headwater::report::limits::degrees(rule.above_c, plan.event.scale);
    let crew = html::page(&paper(&facts, "run-sheet").unwrap());
    assert!(crew.find("Forecast on the eve").is_some_and(|at| at < crew.find("Before").unwrap()));
    let client = html::page(&paper(&facts, "client").unwrap());
    assert!(client.contains("of 20 days such as yours may be"), "{client}");
    assert!(
        client.contains(&format!("more than {threshold} is forecast for the afternoon, we ")),
        "{client}"
    );
    let told = json::plan(&facts);
    assert!(told.contains("\"with_rule\"") && told.contains("\"left_out\""));
}

#[test]
fn more_days_take_no_more_than_their_share_of_memory() {
    // Days are kept once a space, by the hour: a hundred of them are a hundred times one, and not more.
    let event = supper();
    let first = &event.spaces[0].climate;
    assert_eq!(first.days().len(), event.met.len());
    assert!(first.days().iter().all(|day| day.days().is_empty()), "no day holds days");
}
