//! What there is to work with: people, tubes, vases, money, the venue's rules.

use super::section::{Found, Section};
use crate::error::Problem;
use crate::units::{Allowance, Currency, Moment, Money, Span, Volume};

/// People, material, prices and rules. Every default is common practice, from memory.
#[derive(Debug, Clone, PartialEq)]
pub struct Means {
    /// The most people who can work at one time.
    pub people: u32,
    /// How many of them can wire and work on a ladder.
    pub skilled: u32,
    /// Wage of one of them, money per hour.
    pub hourly: f64,
    /// The shortest time for which one of them is paid, h.
    pub minimum: f64,
    /// Time for walking, looking for things and rest, as a share of the work itself.
    pub slack: f64,
    /// Sizes of tubes, smallest first.
    pub tubes: Vec<Tube>,
    /// Price of the use of a vase.
    pub vase_price: f64,
    /// How many vases there are; `None` for as many as are needed.
    pub vases: Option<u32>,
    /// Whether the venue allows glass.
    pub glass: bool,
    /// Whether the venue allows greens out of water.
    pub dry_greens: bool,
    /// Work that is not placing flowers.
    pub chores: Vec<Chore>,
    /// The currency of all prices.
    pub currency: Currency,
}

/// A size of water tube.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tube {
    /// Nominal volume of the tube, ml.
    pub ml: f64,
    /// Price of one tube.
    pub price: f64,
    /// How many there are; `None` for as many as are needed.
    pub most: Option<u32>,
}

/// Work that is not placing flowers: unloading, an arch's frame, clearing away.
#[derive(Debug, Clone, PartialEq)]
pub struct Chore {
    /// What the work is.
    pub name: String,
    /// Hours of work for one person.
    pub hours: f64,
    /// The hours between which it can be done.
    pub window: (f64, f64),
    /// Whether it takes someone who can wire or work on a ladder.
    pub skilled: bool,
}

/// Defaults of people, wage, shortest paid time (h), slack and price of a vase: common practice, from memory.
const PEOPLE: u32 = 2;
const HOURLY: f64 = 25.0;
const MINIMUM: f64 = 3.0;
const SLACK: f64 = 0.25;
const VASE: f64 = 1.0;
/// Tubes in common use (ml, price): common practice, from memory.
const TUBES: [(f64, f64); 2] = [(10.0, 0.20), (20.0, 0.35)];
const MOST_PEOPLE: u32 = 500;

/// Reads amounts of money, which must all be of one currency.
pub struct Purse {
    currency: Option<Currency>,
}

impl Purse {
    /// A purse that has met no money yet.
    pub fn new() -> Purse {
        Purse { currency: None }
    }

    /// The amount of money under a key; `None` if absent, or wrong and remembered as a problem.
    pub fn amount(&mut self, section: &Section, key: &'static str) -> Option<f64> {
        let Found { value, span } = section.quantity::<Money>(key)?;
        if !value.currency.sign.is_empty() {
            match &self.currency {
                Some(known) if *known != value.currency => {
                    let problem =
                        Problem::new(format!("`{key}` is in another money than the prices above it"))
                            .expected(format!("one money throughout, such as {}", known.show(value.amount)))
                            .help(format!("{key} = \"{}\"", known.show(value.amount)));
                    section.source.wrong(span, problem);
                    return None;
                }
                _ => self.currency = Some(value.currency.clone()),
            }
        }
        Some(value.amount)
    }

    /// The currency of all the amounts.
    pub fn currency(self) -> Currency {
        self.currency.unwrap_or_default()
    }
}

/// Reads `[crew]`, `[[tubes]]`, `[vases]`, `[venue]` and `[[chore]]`.
pub fn means(root: &Section, purse: &mut Purse, doors: f64, assumptions: &mut Vec<String>) -> Means {
    let crew = crew(root, purse, assumptions);
    let tubes = tubes(root, purse);

    let shelf = root.section("vases");
    let vase_price = purse.amount(&shelf, "price").unwrap_or(VASE);
    let vases = number(&shelf, "most", "how many bud vases can be had", 0..=1_000_000);
    shelf.finish();

    let venue = root.section("venue");
    let glass = venue.flag("glass").unwrap_or(true);
    let dry_greens = venue.flag("dry_greens").unwrap_or(true);
    venue.finish();

    let chores = root.sections("chore").iter().filter_map(|section| chore(section, doors)).collect();
    Means {
        people: crew.people,
        skilled: crew.skilled,
        hourly: crew.hourly,
        minimum: crew.minimum,
        slack: crew.slack,
        tubes,
        vase_price,
        vases,
        glass,
        dry_greens,
        chores,
        currency: Currency::default(),
    }
}

/// What `[crew]` says, or the defaults.
struct Crew {
    people: u32,
    skilled: u32,
    hourly: f64,
    minimum: f64,
    slack: f64,
}

fn crew(root: &Section, purse: &mut Purse, assumptions: &mut Vec<String>) -> Crew {
    let crew = root.section("crew");
    let people =
        number(&crew, "people", "how many people place things", 1..=MOST_PEOPLE).unwrap_or_else(|| {
            if !crew.has("people") {
                assumptions.push("two people place things: add [crew] people".to_string());
            }
            PEOPLE
        });
    let skilled = number(&crew, "skilled", "how many of them can wire and work on a ladder", 0..=people);
    let hourly = purse.amount(&crew, "hourly");
    if hourly.is_none() {
        assumptions.push(format!(
            "an hour of one person costs {HOURLY} in your money, a guess from memory: add `hourly` to [crew]"
        ));
    }
    // Where people are paid by the minute there is no minimum, which a span of time cannot say.
    let none = crew.text("minimum").is_some_and(|f| ["0", "0 h", "0h", "none"].contains(&f.value.trim()));
    let minimum = match none {
        true => 0.0,
        false => crew.quantity::<Span>("minimum").map_or(MINIMUM, |s| s.value.hours),
    };
    let slack = crew.quantity::<Allowance>("slack").map_or(SLACK, |a| a.value.percent / 100.0);
    crew.finish();
    Crew { people, skilled: skilled.unwrap_or(people), hourly: hourly.unwrap_or(HOURLY), minimum, slack }
}

/// The sizes of tubes, smallest first: those of the file, or those in common use.
fn tubes(root: &Section, purse: &mut Purse) -> Vec<Tube> {
    let mut tubes: Vec<Tube> = Vec::new();
    for kit in root.sections("tubes") {
        let ml = kit.quantity::<Volume>("volume").map_or(TUBES[0].0, |v| v.value.millilitres);
        let usual = TUBES.iter().rev().find(|t| t.0 <= ml).unwrap_or(&TUBES[0]).1;
        let price = purse.amount(&kit, "price").unwrap_or(usual);
        let most = number(&kit, "most", "how many of these tubes can be had", 0..=1_000_000);
        kit.finish();
        tubes.push(Tube { ml, price, most });
    }
    if tubes.is_empty() {
        tubes = TUBES.iter().map(|&(ml, price)| Tube { ml, price, most: None }).collect();
    }
    tubes.sort_by(|a, b| a.ml.total_cmp(&b.ml));
    tubes
}

/// Reads one `[[chore]]`, which must be done by the time the doors open unless it says otherwise.
fn chore(section: &Section, doors: f64) -> Option<Chore> {
    let name = section.required_text("name", "what you call this work", "\"unload the van\"");
    let work = section.required::<Span>("work", "how long one person takes", "\"45 min\"");
    let from = section.quantity::<Moment>("from").map_or(f64::NEG_INFINITY, |m| m.value.hours);
    let to = section.quantity::<Moment>("to").map_or(doors, |m| m.value.hours);
    if from >= to {
        let problem = Problem::new(format!(
            "this chore cannot begin at {} and be done by {}",
            Moment::at(from),
            Moment::at(to)
        ));
        let key = if section.has("to") { "to" } else { "from" };
        section.source.wrong(
            section.place_of(key),
            problem
                .expected("a `to` after the `from`; without `to`, a chore is done by the time the doors open")
                .help("swap from and to, or name the day, such as \"day before 18:00\""),
        );
    }
    let skilled = section.flag("skilled").unwrap_or(false);
    section.finish();
    Some(Chore { name: name?.value, hours: work?.value.hours, window: (from, to), skilled })
}

/// A whole number in a range; `what` says in a problem what it counts.
fn number(
    section: &Section,
    key: &'static str,
    what: &str,
    range: std::ops::RangeInclusive<u32>,
) -> Option<u32> {
    let Found { value, span } = section.text(key)?;
    match value.parse::<u32>() {
        Ok(n) if range.contains(&n) => Some(n),
        _ => {
            let example = 2.clamp(*range.start(), *range.end());
            let problem = Problem::new(format!("`{key}` cannot be {value}"))
                .expected(format!("{what}, from {} to {}", range.start(), range.end()))
                .help(format!("{key} = {example}"));
            section.source.wrong(span, problem);
            None
        }
    }
}
