//! The `[[piece.flower]]` sections: which flower, how many heads, how prepared, and what may be done with them.

use super::means::{Means, Purse};
use super::model::{Criterion, Order, ROSE, Shape, Sort, StemPrice};
use super::section::{Found, Section};
use crate::error::{Problem, nearest};
use crate::flower::boxes::Boxes;
use crate::flower::catalogue::{Catalogue, Flower, Kind};
use crate::flower::treatment::{Conditioning, Handling, Lying, Method, Stage};
use crate::units::{Span, Volume, whole_number};

/// Words for what counts as still good.
pub const COUNTS: &[(&str, Criterion)] = &[("flagging", Criterion::Flagging), ("wilted", Criterion::Wilted)];

/// What a piece says of all its flowers.
#[derive(Clone, Copy)]
pub struct Asked {
    /// What counts as still good, unless a flower says otherwise.
    pub counts: Option<Criterion>,
    /// What kind of piece it is.
    pub shape: Shape,
    /// Whether heads may be counted from the length and the look of the piece.
    pub by_look: bool,
    /// How many such pieces there are: what the file says is for one of them.
    pub count: u32,
    /// Whether all flowers stand in a vessel.
    pub in_vessel: bool,
}

/// The most heads of an order.
const MOST: u32 = 100_000;

/// One flower of a piece; `None` where it is wrong, the problems remembered.
pub fn order(section: &Section, means: &Means, purse: &mut Purse, asked: Asked) -> Option<Order> {
    let sort = sort(section);
    let flower = sort.as_ref().map(|sort| sort.flower);
    let handling = handling(section, flower);
    let heads =
        heads(section, flower, &handling, asked.by_look).and_then(|n| in_all(section, n, asked.count));
    let lot = section.text("lot").map(|f| f.value);
    let greens = flower.is_some_and(|f| f.kind() == Kind::Foliage);
    let methods = match asked.in_vessel {
        true => in_vessel(section),
        false => methods(section, means, greens, asked.shape),
    };
    // Greens do their work until they are limp, even where heads are looked at closely.
    let usual = if greens { Criterion::Wilted } else { asked.counts.unwrap_or(Criterion::Flagging) };
    let counts = section.option("counts", COUNTS).unwrap_or(usual);
    let refills = section.moments("refill").into_iter().map(|m| m.value.hours).collect();
    let tubes = match section.quantity::<Volume>("tube") {
        Some(one) => vec![one.value.millilitres],
        None => means.tubes.iter().map(|t| t.ml).collect(),
    };
    let price = purse.amount(section, "price");
    section.finish();
    let Sort { flower, own_name, colour } = sort?;
    let usual = || means.prices.iter().find(|(f, _)| f.id() == flower.id() && own_name.is_none());
    let own = price.or_else(|| usual().map(|(_, price)| *price));
    Some(Order {
        flower,
        own_name,
        colour,
        heads: heads?,
        counts,
        lot,
        handling,
        methods,
        refills,
        tubes,
        vessel_ml: 0.0,
        price: StemPrice { own, rose: ROSE },
    })
}

/// The flower in its colour, or what the florist calls it where she says which flower of the catalogue it is like.
fn sort(section: &Section) -> Option<Sort> {
    let catalogue = Catalogue::shipped();
    let what = "a flower of the catalogue, which `headwater flowers` lists";
    let name = section.required_text("flower", what, "\"dahlia\"");
    let Some(like) = section.text("like") else {
        let Found { value, span } = name?;
        let or_like = format!("say which flower it is like: like = \"{}\"", catalogue.like_what(&value));
        let unknown = |p: Problem| section.source.wrong(span, p.or(&or_like));
        let flower = catalogue.find(&value).map_err(unknown).ok()?;
        return Some(Sort { flower, own_name: None, colour: catalogue.colour_in(&value) });
    };
    let unknown = |p| section.source.wrong(like.span, p);
    let flower = catalogue.find(&like.value).map_err(unknown).ok();
    Some(Sort { flower: flower?, own_name: Some(name?.value.trim().to_string()), colour: None })
}

/// How many heads there are, which the florist may give as stems; 0 where the look of the piece is to give them, once
/// all its flowers are read.
fn heads(section: &Section, flower: Option<&Flower>, handling: &Handling, by_look: bool) -> Option<u32> {
    if section.has("heads") && section.has("stems") {
        let problem = Problem::new("`heads` and `stems` are both given")
            .expected("one of them: heads are what is seen, stems what is bought")
            .help("take one of the two out");
        section.source.wrong(section.place_of("stems"), problem);
    }
    match section.text("stems") {
        Some(stems) if !section.has("heads") => {
            let parts = handling.split.map(std::num::NonZeroU32::get);
            whole(section, "stems", stems).zip(flower).map(|(n, f)| n * parts.unwrap_or(f.faces_per_stem()))
        }
        None if by_look && !section.has("heads") => Some(0),
        _ => section
            .required_text("heads", "how many heads are seen, or `stems`: how many are bought", "40")
            .and_then(|heads| whole(section, "heads", heads)),
    }
}

/// The heads of all pieces alike; `None` if they are too many, which is remembered.
fn in_all(section: &Section, heads: u32, count: u32) -> Option<u32> {
    let all = heads.checked_mul(count).filter(|n| *n <= MOST);
    if all.is_none() {
        let key = if section.has("stems") { "stems" } else { "heads" };
        let problem = Problem::new(format!("{heads} heads in each of {count} pieces"))
            .expected(format!("at most {MOST} heads in all of them"))
            .help(format!("{key} = {}", MOST / count));
        section.source.wrong(section.place_of(key), problem);
    }
    all
}

/// A whole number of heads or stems.
fn whole(section: &Section, key: &str, Found { value, span }: Found<String>) -> Option<u32> {
    let reads = |text: &str| text.replace('_', "").parse().ok().filter(|n| (1..=MOST).contains(n));
    let number = reads(&value);
    if number.is_none() {
        let meant = whole_number(&value).iter().find_map(|text| reads(text)).unwrap_or(40);
        let problem = Problem::new(format!("`{key}` cannot be {value}"))
            .expected(format!("a whole number of {key}, from 1 to {MOST}"))
            .help(format!("{key} = {meant}"));
        section.source.wrong(span, problem);
    }
    number
}

fn handling(section: &Section, flower: Option<&Flower>) -> Handling {
    let conditioning = word(section, "conditioning", Conditioning::from_words, Conditioning::WORDS);
    let stage = word(section, "stage", Stage::from_words, Stage::WORDS);
    let lying = word(section, "lying", Lying::from_words, Lying::WORDS);
    let nested = section.flag("nested").unwrap_or(false);
    Handling {
        conditioning: conditioning.unwrap_or_default(),
        stage: stage.unwrap_or_default(),
        leaves_on: section.option("leaves", &[("off", false), ("on", true)]).unwrap_or(false),
        cultivar_known: section.flag("cultivar_known").unwrap_or(false),
        lying: lying.unwrap_or(if nested { Lying::Nested } else { Lying::OnTop }),
        boxes: Boxes::default(),
        own_dry_hours: section.quantity::<Span>("dry_hours").map(|s| s.value.hours),
        learned: None,
        split: split(section, flower),
    }
}

/// Into how many parts each head is cut; only flowers with one head to a stem can be cut.
fn split(section: &Section, flower: Option<&Flower>) -> Option<std::num::NonZeroU32> {
    let parts = super::means::number(section, "split", "into how many parts each head is cut", 1..=20)?;
    if let Some(flower) = flower.filter(|f| f.faces_per_stem() > 1) {
        let (faces, name) = (flower.faces_per_stem(), flower.name());
        let problem = Problem::new(format!("{name} is not cut apart: a stem bears about {faces} heads"))
            .expected("`split` where one head is cut into parts, as a hydrangea is")
            .help("take split out, and count `heads` or `stems`");
        section.source.wrong(section.place_of("split"), problem);
        return None;
    }
    std::num::NonZeroU32::new(parts)
}

/// What flowers in a vessel are done with: nothing else may be asked for.
fn in_vessel(section: &Section) -> Vec<Method> {
    if let Some(other) = named_methods(section).iter().find(|m| **m != Method::Vessel) {
        let problem =
            Problem::new(format!("`treatments` asks for {other:?}, but the piece stands in a vessel"))
                .expected("flowers that all stand in the vessel's water")
                .help("take treatments out, or make a piece of its own for what stands beside the vessel");
        section.source.wrong(section.place_of("treatments"), problem);
    }
    vec![Method::Vessel]
}

/// A word out of a table whose rows each begin with the word that is shown; `None` if absent, or wrong and remembered.
fn word<T>(
    section: &Section,
    key: &'static str,
    from_words: impl Fn(&str) -> Option<T>,
    table: &[&[&str]],
) -> Option<T> {
    let Found { value, span } = section.text(key)?;
    let found = from_words(&value);
    if found.is_none() {
        let all: Vec<&str> = table.iter().map(|row| row[0]).collect();
        let near = nearest(&value, all.iter().copied()).unwrap_or(all[0]);
        let problem = Problem::new(format!("`{key}` cannot be {value:?}"))
            .expected(format!("one of: {}", all.join(", ")))
            .help(format!("{key} = \"{near}\""));
        section.source.wrong(span, problem);
    }
    found
}

/// What may be done with the heads: what the florist asks for, or what is usual, as far as the venue allows it.
fn methods(section: &Section, means: &Means, greens: bool, shape: Shape) -> Vec<Method> {
    let mut methods = named_methods(section);
    if methods.contains(&Method::Vessel) {
        let problem = Problem::new("`treatments` asks for a vessel, but the piece has none")
            .expected("the vessel under [[piece]], for all its flowers")
            .help("vessel = \"bowl\" under [[piece]], or treatments = [\"bud vase\"]");
        section.source.wrong(section.place_of("treatments"), problem);
        methods.clear();
    }
    let forbidden = |method: &Method| match method {
        Method::BudVase if !means.glass => Some(("glass", "treatments = [\"tucked\", \"water tube\"]")),
        dry if dry.is_dry() && greens && !means.dry_greens => {
            Some(("greens out of water", "treatments = [\"water tube\"]"))
        }
        _ => None,
    };
    if let Some((what, help)) = methods.iter().find_map(forbidden) {
        let problem = Problem::new(format!("the venue allows no {what}, but `treatments` asks for it"))
            .expected("a treatment that [venue] allows")
            .help(help);
        section.source.wrong(section.place_of("treatments"), problem);
    }
    if methods.is_empty() {
        // Greens get no vase, and nothing but a table has room for one beside it.
        methods = vec![Method::Tucked, Method::WaterTube];
        if !greens && shape == Shape::Table {
            methods.push(Method::BudVase);
        }
        methods.retain(|method| forbidden(method).is_none());
        if methods.is_empty() {
            methods.push(Method::WaterTube);
        }
    }
    methods
}

/// The methods that the florist asks for, each once.
fn named_methods(section: &Section) -> Vec<Method> {
    let mut methods = Vec::new();
    for Found { value, span } in section.texts("treatments") {
        match value.parse::<Method>() {
            Ok(method) => methods.push(method),
            Err(near) => {
                let problem = Problem::new(format!("{value:?} is not a treatment"))
                    .expected("tucked, wired, water tube or bud vase")
                    .help(format!("\"{near}\""));
                section.source.wrong(span, problem);
            }
        }
    }
    methods.sort_unstable();
    methods.dedup();
    methods
}
