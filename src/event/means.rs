//! What there is to work with: people, tubes, vases, money, the venue's rules.

use super::habits::{self, Over};
use super::section::{Found, Section};
use super::vessel_words::name_of;
use crate::error::Problem;
use crate::flower::catalogue::Flower;
use crate::flower::treatment::Method;
use crate::units::{Allowance, Currency, Moment, Money, Span, Volume, whole_number};

/// People, material, prices and rules. Every default is common practice, from memory.
#[derive(Debug, Clone)]
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
    /// Minutes of work.
    pub minutes: Minutes,
    /// Price of the use of a vase.
    pub vase_price: f64,
    /// How many vases there are; `None` for as many as are needed.
    pub vases: Option<u32>,
    /// Vessels with a price or a limited number.
    pub vessels: Vec<VesselStock>,
    /// The florist's prices of stems.
    pub prices: Vec<(&'static Flower, f64)>,
    /// The florist's usual spares, as a share of what is ordered, 0 to 1.
    pub spares: Vec<(&'static Flower, f64)>,
    /// The prices that are not the florist's but guessed.
    pub guessed: Guessed,
    /// Whether the venue allows glass.
    pub glass: bool,
    /// Whether the venue allows greens out of water.
    pub dry_greens: bool,
    /// Work that is not placing flowers.
    pub chores: Vec<Chore>,
    /// The currency of all prices.
    pub currency: Currency,
}

/// Which prices are guesses, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Guessed {
    /// The wage.
    pub wage: bool,
    /// Tubes without a price.
    pub tubes: bool,
    /// Bud vases.
    pub vases: bool,
    /// Stems without a price of their own.
    pub stems: Stems,
}

impl Guessed {
    /// Whether the florist has given no price at all, so that money means nothing.
    pub fn everything(&self) -> bool {
        self.wage && self.tubes && self.vases && self.stems == Stems::Guessed
    }
}

/// Where the prices of stems that the florist does not give come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stems {
    /// All stems have prices of the florist.
    Given,
    /// From the catalogue's order of prices, scaled to the florist's own.
    Scaled,
    /// From that order and a guess.
    #[default]
    Guessed,
}

/// Minutes of work for one person. The defaults are the middle of the usual range (common practice, no source): 30 to 45 s
/// to tuck a head, 75 s for a tube with its filling and hiding, 1.5 to 2.5 min to wire, a minute for a bud vase with its
/// filling. A made-up vessel takes 3 min: 75 min to set 24 centrepieces (`centrepieces-set`, sources.csv).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Minutes {
    /// To tuck a head.
    pub tucked: f64,
    /// To wire and tuck a head.
    pub wired: f64,
    /// To fill a tube, push a head in and hide it.
    pub tube: f64,
    /// To fill a bud vase and place it with its head.
    pub vase: f64,
    /// To set a vessel that is made up.
    pub vessel: f64,
    /// To fill up a tube in its piece (judgement).
    pub refill: f64,
}

impl Default for Minutes {
    fn default() -> Self {
        Minutes { tucked: 0.65, wired: 2.0, tube: 1.25, vase: 1.0, vessel: 3.0, refill: 0.25 }
    }
}

impl Minutes {
    /// The minutes for each head, of which `vessels` vessels hold each one's share.
    pub fn a_head(&self, method: Method, vessels: f64) -> f64 {
        match method {
            Method::Tucked => self.tucked,
            Method::Wired => self.wired,
            Method::WaterTube => self.tube,
            Method::BudVase => self.vase,
            Method::Vessel => self.vessel * vessels,
        }
    }
}

/// Vessels of one kind that the florist has.
#[derive(Debug, Clone, PartialEq)]
pub struct VesselStock {
    /// What it is called.
    pub name: String,
    /// Price of the use of one.
    pub price: f64,
    /// How many there are; `None` for as many as are needed.
    pub most: Option<u32>,
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

/// Whether two names of money are one, however they are placed.
fn same_money(a: &Currency, b: &Currency) -> bool {
    a.sign == b.sign
}

impl Purse {
    /// A purse that has met no money yet.
    pub fn new() -> Purse {
        Purse { currency: None }
    }

    /// The amount of money under a key; `None` if absent, or wrong and remembered as a problem.
    pub fn amount(&mut self, section: &Section, key: &'static str) -> Option<f64> {
        let Found { value, span } = section.quantity::<Money>(key)?;
        self.checked(section, key, value, span)
    }

    /// The amount, unless it is in another money than those before.
    fn checked(
        &mut self,
        section: &Section,
        key: &str,
        value: Money,
        span: std::ops::Range<usize>,
    ) -> Option<f64> {
        if !value.currency.sign.is_empty() {
            match &self.currency {
                Some(known) if !same_money(known, &value.currency) => {
                    let problem =
                        Problem::new(format!("`{key}` is in another money than the prices above it"))
                            .expected(format!("one money throughout, such as {}", known.show(value.amount)))
                            .help(format!("{key} = \"{}\"", known.show(value.amount)));
                    section.source.wrong(span, problem);
                    return None;
                }
                Some(_) => {}
                None => self.currency = Some(value.currency.clone()),
            }
        }
        Some(value.amount)
    }

    /// The currency of all the amounts.
    pub fn currency(self) -> Currency {
        self.currency.unwrap_or_default()
    }
}

/// Reads `[crew]`, `[minutes]`, `[[tubes]]`, `[vases]`, `[[vessels]]`, `[prices]`, `[spares]`, `[venue]` and `[[chore]]`;
/// what the event does not say is taken from the habits.
pub(super) fn means(
    root: &Section,
    habits: &Section,
    purse: &mut Purse,
    doors: f64,
    assumptions: &mut Vec<String>,
) -> Means {
    let crew = crew(&Over::new(root, habits, "crew"), purse, assumptions);
    let minutes = minutes(&Over::new(root, habits, "minutes"));
    let (tubes, guessed_tubes) = tubes(&habits::sections(root, habits, "tubes"), purse);

    let shelf = Over::new(root, habits, "vases");
    let vase_price = purse.amount(shelf.of("price"), "price");
    let vases = number(shelf.of("most"), "most", "how many bud vases can be had", 0..=1_000_000);
    shelf.finish();
    let vessels = vessels(&habits::sections(root, habits, "vessels"), purse);
    let spares = habits::spares(root, habits);
    let prices = habits::prices(root, habits, |section, found| {
        let money = habits::money(&found, section)?;
        purse.checked(section, "prices", money, found.span)
    });

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
        minutes,
        vase_price: vase_price.unwrap_or(VASE),
        vases,
        vessels,
        prices,
        spares,
        guessed: Guessed {
            wage: crew.guessed,
            tubes: guessed_tubes,
            vases: vase_price.is_none(),
            stems: Stems::Guessed,
        },
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
    /// Whether the wage is a guess.
    guessed: bool,
}

fn crew(crew: &Over, purse: &mut Purse, assumptions: &mut Vec<String>) -> Crew {
    let people = number(crew.of("people"), "people", "how many people place things", 1..=MOST_PEOPLE)
        .unwrap_or_else(|| {
            if !crew.has("people") {
                assumptions.push("two people place things: add [crew] people".to_string());
            }
            PEOPLE
        });
    let what = "how many of them can wire and work on a ladder";
    let skilled = number(crew.of("skilled"), "skilled", what, 0..=people);
    let hourly = purse.amount(crew.of("hourly"), "hourly");
    // Where people are paid by the minute there is no minimum, which a span of time cannot say.
    let none = crew
        .of("minimum")
        .text("minimum")
        .is_some_and(|f| ["0", "0 h", "0h", "none"].contains(&f.value.trim()));
    let minimum = match none {
        true => 0.0,
        false => crew.of("minimum").quantity::<Span>("minimum").map_or(MINIMUM, |s| s.value.hours),
    };
    let slack = crew.of("slack").quantity::<Allowance>("slack").map_or(SLACK, |a| a.value.percent / 100.0);
    crew.finish();
    Crew {
        people,
        skilled: skilled.unwrap_or(people),
        hourly: hourly.unwrap_or(HOURLY),
        minimum,
        slack,
        guessed: hourly.is_none(),
    }
}

/// Reads `[minutes]`: how long each kind of work takes for one head.
fn minutes(section: &Over) -> Minutes {
    let usual = Minutes::default();
    let minutes = |key: &'static str, usual: f64| {
        section.of(key).quantity::<Span>(key).map_or(usual, |span| 60.0 * span.value.hours)
    };
    let own = Minutes {
        tucked: minutes("tucked", usual.tucked),
        wired: minutes("wired", usual.wired),
        tube: minutes("water_tube", usual.tube),
        vase: minutes("bud_vase", usual.vase),
        vessel: minutes("vessel", usual.vessel),
        refill: minutes("refill", usual.refill),
    };
    section.finish();
    own
}

/// Reads `[[vessels]]`.
fn vessels(sections: &[Section], purse: &mut Purse) -> Vec<VesselStock> {
    let vessel = |section: &Section| {
        let name = section.required_text("name", "what you call this vessel", "\"bowl\"");
        let price = purse.amount(section, "price").unwrap_or(0.0);
        let most = number(section, "most", "how many of these vessels can be had", 0..=1_000_000);
        section.finish();
        Some(VesselStock { name: name_of(&name?.value), price, most })
    };
    sections.iter().filter_map(vessel).collect()
}

/// The sizes of tubes, smallest first, and whether all their prices are guesses: those of the file, or those in common use.
fn tubes(sections: &[Section], purse: &mut Purse) -> (Vec<Tube>, bool) {
    let mut tubes: Vec<Tube> = Vec::new();
    let mut guessed = true;
    for kit in sections {
        let ml = kit.quantity::<Volume>("volume").map_or(TUBES[0].0, |v| v.value.millilitres);
        let usual = TUBES.iter().rev().find(|t| t.0 <= ml).unwrap_or(&TUBES[0]).1;
        let price = purse.amount(kit, "price").inspect(|_| guessed = false).unwrap_or(usual);
        let most = number(kit, "most", "how many of these tubes can be had", 0..=1_000_000);
        kit.finish();
        tubes.push(Tube { ml, price, most });
    }
    if tubes.is_empty() {
        tubes = TUBES.iter().map(|&(ml, price)| Tube { ml, price, most: None }).collect();
    }
    tubes.sort_by(|a, b| a.ml.total_cmp(&b.ml));
    (tubes, guessed)
}

/// Reads one `[[chore]]`, which must be done by the time the doors open unless it says otherwise.
fn chore(section: &Section, doors: f64) -> Option<Chore> {
    let name = section.required_text("name", "what you call this work", "\"unload the van\"");
    let work = section.required::<Span>("work", "how long one person takes", "\"45 min\"");
    let from = section.moment("from").map_or(f64::NEG_INFINITY, |m| m.value.hours);
    let to = section.moment("to").map_or(doors, |m| m.value.hours);
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
pub(super) fn number(
    section: &Section,
    key: &'static str,
    what: &str,
    range: std::ops::RangeInclusive<u32>,
) -> Option<u32> {
    let Found { value, span } = section.text(key)?;
    match value.parse::<u32>() {
        Ok(n) if range.contains(&n) => Some(n),
        _ => {
            // Of "2 or 3" the fewer: the plan then holds with either.
            let meant = whole_number(&value).iter().rev().find_map(|text| text.parse().ok());
            let example =
                meant.filter(|n| range.contains(n)).unwrap_or(2.clamp(*range.start(), *range.end()));
            let problem = Problem::new(format!("`{key}` cannot be {value}"))
                .expected(format!("{what}, from {} to {}", range.start(), range.end()))
                .help(format!("{key} = {example}"));
            section.source.wrong(span, problem);
            None
        }
    }
}
