//! The catalogue of flowers and foliage: every value with its unit, spread, source and tag.

use super::loss::{CLOSED_AT, LossCurve};
use super::naming::{colours, plain, readings, says_none, several};
use super::support::{Confidence, LEVEL_SD, Shares, Support, significant};
use super::trade::{Colour, Colours, Months, PRICES, days_before, spare_share};
use crate::climate::air::WATER_MOLAR_MASS;
use crate::error::{Problem, nearest};
use crate::numerics::elementary::{exp, ln};
use crate::numerics::normal::Z90;
use crate::physics::transpiration::Skin;
use std::collections::BTreeMap;
use std::sync::LazyLock;

/// Conductance of petals, mol m-2 s-1, both faces together, and the standard deviation of its logarithm between flowers.
/// Source: geometric mean of carnation (`carnation-wax`), cosmos (`buschhaus-2015`), hydrangea (`kitamura-ueno-2015`) and poppy
/// (`poppy-porometer`), computed; the deviation (a factor of 1.8) is judgement, of four kinds.
const PETALS: (f64, f64) = (0.0041, 0.588);
/// The same of flowers whose own petals were measured, by the sources above; the deviation is judgement, for cultivars and for
/// how it was measured. Of carnations the abstract does not say whether one face is meant or both: the middle of 1.5 and 2.9.
const OWN_PETALS: [(&str, f64); 5] = [
    ("hydrangea-fresh", 0.0030),
    ("hydrangea-antique", 0.0030),
    ("carnation", 0.0021),
    ("carnation-spray", 0.0021),
    ("cosmos", 0.0041),
];
const OWN_PETALS_SD: f64 = 0.3;

/// A quantity that the catalogue holds for every flower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Deserialize, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Hours to flagging, cut short and tucked dry, in the reference air (h).
    DryHours,
    /// Fresh mass of one head (g).
    FreshMass,
    /// Fresh mass per projected area of petal or leaf (g m-2).
    MassPerArea,
    /// Share of that area that meets still room air.
    ExposedShare,
    /// Share of fresh mass lost when it first looks tired.
    FlaggingLoss,
    /// Life in a vase at 20 C (d).
    VaseDays,
    /// How many times the demand of the reference air its stem can supply at the flagging deficit.
    SupplyMargin,
    /// Share of stems that do not drink at all although they stand in water.
    AirLockShare,
    /// Width of the face, or usable length of a foliage (cm).
    Size,
}

impl Quantity {
    /// What the quantity is, in plain words.
    pub fn words(self) -> &'static str {
        match self {
            Quantity::DryHours => "dry hours",
            Quantity::FreshMass => "fresh mass of a head",
            Quantity::MassPerArea => "fresh mass per area of petal or leaf",
            Quantity::ExposedShare => "share of that area that meets the air",
            Quantity::FlaggingLoss => "share of its mass lost at the first softening",
            Quantity::VaseDays => "life in a vase at 20 C",
            Quantity::SupplyMargin => "how many times its ordinary thirst the stem can supply",
            Quantity::AirLockShare => "share of stems that do not drink",
            Quantity::Size => "size",
        }
    }
}

/// The citation behind the id of a source, or "no source".
pub fn source(id: &str) -> &'static str {
    static SOURCES: LazyLock<BTreeMap<String, String>> = LazyLock::new(|| {
        csv::Reader::from_reader(include_str!("../../reference-data/sources.csv").as_bytes())
            .records()
            .map(|row| row.map(|r| (r[0].to_string(), r[1].to_string())))
            .collect::<Result<_, _>>()
            .expect("the shipped table of sources reads")
    });
    SOURCES.get(id).map_or("no source", String::as_str)
}

/// What kind of knowledge a value is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize, serde::Serialize)]
pub enum Tag {
    /// Read in the source that is named.
    #[serde(rename = "published")]
    Published,
    /// Arithmetic on published values.
    #[serde(rename = "computed")]
    Computed,
    /// Knowledge of the trade, with no source.
    #[serde(rename = "common practice")]
    CommonPractice,
    /// Judgement or an unverified memory.
    #[serde(rename = "from memory")]
    FromMemory,
}

impl std::fmt::Display for Tag {
    fn fmt(&self, f: &mut std::fmt::Formatter) -> std::fmt::Result {
        f.write_str(match self {
            Tag::Published => "published",
            Tag::Computed => "computed",
            Tag::CommonPractice => "common practice",
            Tag::FromMemory => "from memory",
        })
    }
}

/// A value with its spread and its provenance.
#[derive(Debug, Clone, PartialEq, serde::Deserialize)]
pub struct Parameter {
    id: String,
    /// The quantity that it is a value of.
    pub quantity: Quantity,
    /// Unit of the values.
    pub unit: String,
    /// The 10 % point of its distribution.
    pub low: f64,
    /// The median of its distribution.
    pub value: f64,
    /// The 90 % point of its distribution.
    pub high: f64,
    /// What kind of knowledge it is.
    pub tag: Tag,
    /// The id of its source, for [`source`].
    pub source: String,
    /// What to know about it.
    pub note: String,
}

impl Parameter {
    /// The standard deviation of its logarithm, from its 10 and 90 % points.
    pub fn ln_sd(&self) -> f64 {
        ln(self.high / self.low) / (2.0 * Z90)
    }
}

/// Whether an entry is a flower or foliage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Kind {
    /// A flower, whose heads are looked at.
    Flower,
    /// Foliage, which the trade calls greens.
    Foliage,
}

#[derive(Debug, Clone, serde::Deserialize)]
struct Row {
    id: String,
    common_name: String,
    botanical: String,
    kind: Kind,
    aliases: String,
    confidence: Confidence,
    stems_per_bunch: u32,
    faces_per_stem: u32,
    form: String,
    surface: String,
    ethylene: String,
    holding_c: f64,
    colours: Colours,
    months: Months,
    price_level: u8,
    placing_note: String,
    caution: String,
    trade_note: String,
}

/// One flower or foliage of the catalogue.
#[derive(Debug, Clone)]
pub struct Flower {
    row: Row,
    parameters: BTreeMap<Quantity, Parameter>,
    trade_hours: Parameter,
    softening: Parameter,
    support: Support,
    shares: Shares,
}

/// What water loss says of dry hours.
#[derive(Debug, Clone, Copy)]
pub struct ByWater {
    /// Logarithm of the hours after which a petal in the reference air has lost what softens it.
    pub ln_hours: f64,
    /// Logarithm of that loss, on the drying clock.
    pub ln_loss: f64,
    /// Standard deviation of the logarithm of that loss.
    pub loss_sd: f64,
    /// Standard deviation of the logarithm of the loss in an hour.
    pub rate_sd: f64,
}

impl ByWater {
    /// The 10, 50 and 90 % points of the hours, h.
    pub fn hours(&self) -> [f64; 3] {
        let sd = libm::hypot(self.loss_sd, self.rate_sd);
        [-Z90, 0.0, Z90].map(|z| exp(self.ln_hours + z * sd))
    }
}

impl Flower {
    /// Short name that does not change, such as `dahlia-ball`.
    pub fn id(&self) -> &str {
        &self.row.id
    }
    /// The common name that the trade uses.
    pub fn name(&self) -> &str {
        &self.row.common_name
    }
    /// The botanical name of the species or group.
    pub fn botanical(&self) -> &str {
        &self.row.botanical
    }
    /// Whether it is a flower or foliage.
    pub fn kind(&self) -> Kind {
        self.row.kind
    }
    /// Other words for it, as florists use them.
    pub fn aliases(&self) -> impl Iterator<Item = &str> {
        self.row.aliases.split(';').map(str::trim).filter(|a| !a.is_empty())
    }
    /// How well the trade agrees on its dry hours.
    pub fn confidence(&self) -> Confidence {
        self.row.confidence
    }
    /// Number of stems in a bunch (common practice).
    pub fn stems_per_bunch(&self) -> u32 {
        self.row.stems_per_bunch
    }
    /// Number of usable heads on a stem (common practice).
    pub fn faces_per_stem(&self) -> u32 {
        self.row.faces_per_stem
    }
    /// The shape of the head, in a word.
    pub fn form(&self) -> &str {
        &self.row.form
    }
    /// Which published range its skin must lie in: `petal`, `leaf` or `dry`.
    pub fn surface(&self) -> &str {
        &self.row.surface
    }
    /// Whether ethylene ages it: `sensitive`, `insensitive` or `unknown`.
    pub fn ethylene(&self) -> &str {
        &self.row.ethylene
    }
    /// The temperature at which a cool store holds it, C.
    pub fn holding_c(&self) -> f64 {
        self.row.holding_c
    }
    /// The colours it is offered in, dyed ones left out (common practice, no source, from memory).
    pub fn colours(&self) -> &[Colour] {
        &self.row.colours.0
    }
    /// When it is in season (common practice, no source, from memory).
    pub fn months(&self) -> Months {
        self.row.months
    }
    /// What a stem costs, from 1 (least) to 5; a standard rose is 3 (common practice, no source, from memory).
    pub fn price_level(&self) -> u8 {
        self.row.price_level
    }
    /// What a stem costs beside a standard rose: 0.4, 0.7, 1, 2 or 4 times as much by its level (from memory).
    ///
    /// A price list of the florist's own is better: markets, weeks and grades differ by more than a level.
    pub fn relative_price(&self) -> f64 {
        PRICES[usize::from(self.row.price_level).clamp(1, PRICES.len()) - 1]
    }
    /// Share of heads that the trade buys as spares, 0.05 to 0.25 by how long it lasts dry (common practice, no source,
    /// from memory).
    pub fn spare_share(&self) -> f64 {
        spare_share(self.median(Quantity::DryHours))
    }
    /// How many days before the event it should be there, the fewest and the most: to stand overnight, and to open.
    pub fn days_before(&self) -> (u8, u8) {
        days_before(self.id())
    }
    /// What a colleague would say while tucking it.
    pub fn placing_note(&self) -> &str {
        &self.row.placing_note
    }
    /// A caution, or nothing. Nothing never means safe.
    pub fn caution(&self) -> &str {
        &self.row.caution
    }
    /// What the trade says of it.
    pub fn trade_note(&self) -> &str {
        &self.row.trade_note
    }

    /// The value of a quantity, with its spread and provenance.
    pub fn parameter(&self, quantity: Quantity) -> &Parameter {
        &self.parameters[&quantity]
    }

    /// The trade's memory of its dry hours, before any public statement.
    pub fn trade_hours(&self) -> &Parameter {
        &self.trade_hours
    }

    /// What is known of the middle of its dry hours.
    pub fn support(&self) -> &Support {
        &self.support
    }

    /// How the variance of its dry hours divides.
    pub fn shares(&self) -> Shares {
        self.shares
    }

    /// All its values, in the order of [`Quantity`].
    pub fn parameters(&self) -> impl Iterator<Item = &Parameter> {
        self.parameters.values()
    }

    /// The median of a quantity, in its unit.
    pub fn median(&self, quantity: Quantity) -> f64 {
        self.parameters[&quantity].value
    }

    /// How loss of fresh mass follows the drying clock, in a median lot.
    pub fn loss_curve(&self) -> LossCurve {
        if self.surface() == "leaf" { LossCurve::Closing(CLOSED_AT[1]) } else { LossCurve::Passive }
    }

    /// Share of fresh mass at which parts like its own soften, whatever else may end it before; shared by a class of flowers.
    pub fn softening(&self) -> &Parameter {
        &self.softening
    }

    /// What water loss says of its dry hours: `None` where no petal like its own was measured, or the loss that softens it is not
    /// published.
    ///
    /// # Formula
    /// `H = c(y) M / (g w_m d phi)`: loss on the drying clock at softening times fresh mass per area, over conductance, molar
    /// mass of water, mole-fraction deficit of the reference air and exposed share.
    pub fn by_water(&self) -> Option<ByWater> {
        if self.softening.tag != Tag::Published {
            return None;
        }
        let own = OWN_PETALS.iter().find(|(id, _)| *id == self.id());
        let (conductance, sd) = own.map_or(PETALS, |(_, conductance)| (*conductance, OWN_PETALS_SD));
        let lost = self.loss_curve().clock(self.softening.value);
        let [mass, exposed] =
            [Quantity::MassPerArea, Quantity::ExposedShare].map(|q| self.parameter(q).ln_sd());
        Some(ByWater {
            ln_hours: ln(lost / (conductance * self.leak())),
            ln_loss: ln(lost),
            loss_sd: self.softening.ln_sd(),
            rate_sd: (sd * sd + mass * mass + exposed * exposed).sqrt(),
        })
    }

    /// What a skin that lets through 1 mol m-2 s-1 loses in an hour of the reference air, as a share of fresh mass.
    fn leak(&self) -> f64 {
        let air = crate::climate::Air::reference();
        let per_area = 3600.0 * WATER_MOLAR_MASS * air.vapour_pressure_deficit() / air.pressure
            * self.median(Quantity::ExposedShare);
        per_area / (self.median(Quantity::MassPerArea) / 1000.0)
    }

    /// The conductance of the skin that its dry hours and the loss by then imply.
    ///
    /// # Formula
    /// That of [`Flower::by_water`], for the conductance.
    pub fn skin(&self) -> Skin {
        let lost = self.loss_curve().clock(self.median(Quantity::FlaggingLoss));
        Skin {
            conductance: lost / (self.median(Quantity::DryHours) * self.leak()),
            exposed_share: self.median(Quantity::ExposedShare),
            shelter: 1.0,
        }
    }
}

/// What is known of dry hours of which nobody speaks in public: the trade's memory.
fn of_memory(trade: &Parameter) -> Support {
    let ln_sd = trade.ln_sd();
    Support {
        id: trade.id.clone(),
        said_hours: trade.value,
        said_ln_sd: ln_sd,
        groups: 0,
        by_water: None,
        dry_hours: trade.value,
        ln_sd: libm::hypot(ln_sd, LEVEL_SD),
        softening_loss: None,
        softening_ln_sd: None,
    }
}

/// The trade's dry hours pooled with what is said in public, and how their variance divides.
fn pooled(trade: &Parameter, support: &Support, confidence: Confidence) -> (Parameter, Shares) {
    let ([low, value, high], shares) = support.points([trade.low, trade.value, trade.high], confidence);
    let said = match support.groups {
        0 => format!("the trade's memory of {} h", trade.value),
        _ => format!("public statements and the trade's memory of {} h", trade.value),
    };
    let (tag, source, note) = match (support.groups, support.by_water) {
        (0, None) => (trade.tag, trade.source.as_str(), trade.note.clone()),
        (0, Some(_)) => {
            (Tag::Computed, "water-loss-of-petals", format!("{said}, beside water loss of petals"))
        }
        (_, None) => (Tag::Computed, "public-statements", format!("pooled from {said}")),
        (_, Some(_)) => {
            (Tag::Computed, "public-statements", format!("pooled from {said}, beside water loss of petals"))
        }
    };
    (Parameter { low, value, high, tag, source: source.to_string(), note, ..trade.clone() }, shares)
}

/// The loss at which a head first looks tired: where its petals soften, or what is gone when something else ends it before.
fn lost_by_then(softening: &Parameter, support: &Support) -> Parameter {
    let (Some(value), Some(unknown)) = (support.softening_loss, support.softening_ln_sd) else {
        return softening.clone();
    };
    let sd = softening.ln_sd().max(unknown);
    let at = |z: f64| significant(value * exp(z * sd));
    let note = format!(
        "what water loss takes until then; petals by themselves soften at {} %",
        100.0 * softening.value
    );
    Parameter { low: at(-Z90), value, high: at(Z90), tag: Tag::Computed, note, ..softening.clone() }
}

/// All flowers and foliage that are known.
#[derive(Debug)]
pub struct Catalogue {
    flowers: Vec<Flower>,
    /// Where each name stands, in small letters: id, common name, other words, and a botanical name that is of one alone.
    by_name: BTreeMap<String, usize>,
}

/// Where each name stands; the first flower of a name has it, and any other name goes before a botanical one.
fn index(flowers: &[Flower]) -> BTreeMap<String, usize> {
    let mut by_name = BTreeMap::new();
    for (at, flower) in flowers.iter().enumerate() {
        for name in flower.aliases().chain([flower.id(), flower.name()]) {
            by_name.entry(name.to_lowercase()).or_insert(at);
        }
    }
    let mut botanical: BTreeMap<String, Vec<usize>> = BTreeMap::new();
    for (at, flower) in flowers.iter().enumerate() {
        botanical.entry(flower.botanical().to_lowercase()).or_default().push(at);
    }
    for (name, all) in botanical {
        if let [one] = all[..] {
            by_name.entry(name).or_insert(one);
        }
    }
    by_name
}

static SHIPPED: LazyLock<Catalogue> = LazyLock::new(|| {
    Catalogue::read(
        include_str!("../../reference-data/flowers.csv"),
        include_str!("../../reference-data/flower-parameters.csv"),
        include_str!("../../reference-data/dry-hours.csv"),
    )
    .expect("the shipped catalogue reads")
});

impl Catalogue {
    /// The catalogue that comes with the program.
    pub fn shipped() -> &'static Catalogue {
        &SHIPPED
    }

    fn read(flowers: &str, parameters: &str, dry_hours: &str) -> Result<Catalogue, csv::Error> {
        let supports: BTreeMap<String, Support> = csv::Reader::from_reader(dry_hours.as_bytes())
            .deserialize()
            .map(|row| row.map(|support: Support| (support.id.clone(), support)))
            .collect::<Result<_, _>>()?;
        let mut values: BTreeMap<String, BTreeMap<Quantity, Parameter>> = BTreeMap::new();
        for row in csv::Reader::from_reader(parameters.as_bytes()).deserialize() {
            let parameter: Parameter = row?;
            values.entry(parameter.id.clone()).or_default().insert(parameter.quantity, parameter);
        }
        let flowers: Vec<Flower> = csv::Reader::from_reader(flowers.as_bytes())
            .deserialize()
            .map(|row| {
                let row: Row = row?;
                let mut parameters = values.remove(&row.id).unwrap_or_default();
                let trade_hours = parameters[&Quantity::DryHours].clone();
                let support = supports.get(&row.id).cloned().unwrap_or_else(|| of_memory(&trade_hours));
                let (pooled, shares) = pooled(&trade_hours, &support, row.confidence);
                parameters.insert(Quantity::DryHours, pooled);
                let softening = parameters[&Quantity::FlaggingLoss].clone();
                parameters.insert(Quantity::FlaggingLoss, lost_by_then(&softening, &support));
                Ok(Flower { row, parameters, trade_hours, softening, support, shares })
            })
            .collect::<Result<_, csv::Error>>()?;
        let by_name = index(&flowers);
        Ok(Catalogue { flowers, by_name })
    }

    /// All flowers and foliage, in the order of the table.
    pub fn all(&self) -> &[Flower] {
        &self.flowers
    }

    /// The colour in a name that [`Catalogue::find`] passes over: which of these flowers to buy.
    ///
    /// ```
    /// use headwater::flower::catalogue::Catalogue;
    /// let colour = |name: &str| Catalogue::shipped().colour_in(name);
    /// assert_eq!(colour("Hydrangeas (blue)").as_deref(), Some("blue"));
    /// assert_eq!(colour("chocolate cosmos"), None); // a flower of its own
    /// ```
    pub fn colour_in(&self, name: &str) -> Option<String> {
        let (found, _) = self.named(name)?;
        let colours = colours(name);
        let passed_over =
            !colours.is_empty() && !colours.iter().any(|colour| found.contains(colour.as_str()));
        passed_over.then(|| colours.join(" "))
    }

    /// The first reading of a name that is one of the catalogue, and the number of its flower.
    fn named(&self, name: &str) -> Option<(&str, usize)> {
        let wanted = name.trim().to_lowercase();
        let known = |name: &String| self.by_name.get_key_value(name).map(|(name, at)| (name.as_str(), *at));
        known(&wanted).or_else(|| readings(&wanted).iter().find_map(known))
    }

    /// Which word to take for what a flower that is not in the catalogue is like: the last of its own that names one, or else
    /// any that does.
    ///
    /// ```
    /// use headwater::flower::catalogue::Catalogue;
    /// assert_eq!(Catalogue::shipped().like_what("quicksand rose"), "rose");
    /// assert_eq!(Catalogue::shipped().like_what("moon flower"), "ranunculus");
    /// ```
    pub fn like_what<'a>(&self, name: &'a str) -> &'a str {
        name.split_whitespace().rev().find(|word| self.find(word).is_ok()).unwrap_or("ranunculus")
    }

    /// The flower meant by a name: its id, common or botanical name, or another word for it, with any colour before it.
    ///
    /// # Errors
    /// If there is no such flower: the problem names the nearest.
    ///
    /// ```
    /// use headwater::flower::catalogue::Catalogue;
    /// let catalogue = Catalogue::shipped();
    /// assert_eq!(catalogue.find("Dahlia").unwrap().id(), "dahlia-ball");
    /// assert!(catalogue.find("hidrangea").unwrap_err().help.unwrap().contains("hydrangea"));
    /// ```
    pub fn find(&self, name: &str) -> Result<&Flower, Problem> {
        if let Some((_, at)) = self.named(name) {
            return Ok(&self.flowers[at]);
        }
        let unknown = Problem::new(format!("\"{}\" is not a flower known here", name.trim()));
        if several(name).iter().any(|part| self.find(part).is_ok()) {
            return Err(unknown
                .expected("one flower, by its common or botanical name")
                .help("give each flower a [[piece.flower]] of its own"));
        }
        if says_none(name) {
            return Err(unknown
                .expected("which flower it is: how long it lasts goes by its kind")
                .help("`headwater flowers` lists all that are known"));
        }
        let wanted = plain(name);
        let names = self.flowers.iter().flat_map(|f| f.aliases().chain([f.name(), f.id()]));
        let help = match nearest(&wanted, names) {
            Some(near) => near.to_string(),
            None => {
                "`headwater flowers` lists all that are known, `headwater flowers WORD` searches".to_string()
            }
        };
        Err(unknown
            .expected("a flower or foliage of the catalogue, by its common or botanical name")
            .help(help))
    }

    /// Those that a name may mean: the one it finds, and all with it as a word of their own in their common name.
    pub fn meant(&self, name: &str) -> Vec<&Flower> {
        let wanted = name.trim().to_lowercase();
        let exact = self.find(name).ok();
        let is_word = |f: &Flower| {
            f.name().to_lowercase().split(|c: char| !c.is_alphanumeric()).any(|word| word == wanted)
        };
        self.flowers.iter().filter(|f| is_word(f) || exact.is_some_and(|e| e.id() == f.id())).collect()
    }

    /// Those that all the words speak of: a part of a name, a shape, a colour, or a month in which they are in season.
    ///
    /// ```
    /// use headwater::flower::catalogue::Catalogue;
    /// let found = |words: &[&str]| {
    ///     Catalogue::shipped().search(&words.iter().map(ToString::to_string).collect::<Vec<_>>())
    /// };
    /// assert!(found(&["blue", "spike", "june"]).iter().any(|f| f.id() == "delphinium"));
    /// assert!(found(&["lilac"]).len() > found(&["lilac", "august"]).len());
    /// ```
    pub fn search(&self, words: &[String]) -> Vec<&Flower> {
        let has = |f: &Flower, word: &str| {
            let word = word.to_lowercase();
            let mut names = [f.id(), f.name(), f.botanical()].into_iter().chain(f.aliases());
            let is_named = names.any(|n| n.to_lowercase().contains(&word));
            let is_shape = f.form().split(' ').any(|shape| shape == word);
            let is_colour = Colour::named(&word).is_some_and(|colour| f.colours().contains(&colour));
            let in_season = Months::named(&word).is_some_and(|month| f.months().has(month));
            is_named || is_shape || is_colour || in_season
        };
        self.flowers.iter().filter(|f| words.iter().all(|w| has(f, w))).collect()
    }
}
