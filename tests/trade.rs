//! What the trade knows: common practice without a source, written down from memory. A plan that contradicts it would
//! be laughed at, however sound its arithmetic.

mod common;

use common::{event, flower, planned, share};
use headwater::climate::Air;
use headwater::climate::room::Room;
use headwater::decide::plan::{Plan, Settings, plan};
use headwater::flower::treatment::Method::{BudVase, Tucked, WaterTube, Wired};
use headwater::physics::transpiration::water_loss;
use headwater::report::facts::Facts;
use headwater::report::words::called;

/// An evening in one room. `pieces` are the pieces, in the space "here".
fn evening(room: &str, access: &[(&str, &str)], pieces: &str) -> String {
    let access: String =
        access.iter().map(|(from, to)| format!("[[access]]\nfrom = \"{from}\"\nto = \"{to}\"\n")).collect();
    format!(
        "[event]\nname = \"Evening\"\ndate = 2027-08-14\ndoors = \"18:00\"\nend = \"23:00\"\n{access}\
         [[space]]\nname = \"here\"\nroom = \"{room}\"\n{pieces}"
    )
}

/// A runner before guests, judged from across the table.
fn runner(flower: &str, extra: &str) -> String {
    format!(
        "[[piece]]\nname = \"guest runner\"\nspace = \"here\"\nuntil = \"23:00\"\ncounts = \"wilted\"\n\
         [[piece.flower]]\nflower = \"{flower}\"\nheads = 40\n{extra}"
    )
}

const NIGHT_BEFORE: (&str, &str) = ("day before 18:00", "day before 20:00");
const AFTERNOON: (&str, &str) = ("14:00", "17:30");

fn dry(plan: &Plan, at: f64) -> f64 {
    share(&plan.orders[0], Tucked, at)
}

// Common practice, no source: roses tucked dry an hour or two before an evening party in a cooled room last the night.
#[test]
fn roses_tucked_shortly_before_last_a_cooled_evening() {
    let plan = planned(&evening("cooled ballroom", &[AFTERNOON], &runner("rose", "")));
    for at in [16.0, 17.0] {
        assert!(dry(&plan, at) >= 0.9, "{} placed at {at}", dry(&plan, at));
    }
}

// Common practice, no source: dahlias tucked dry the night before are gone by the party.
#[test]
fn dahlias_tucked_the_night_before_are_gone() {
    for room in ["cooled ballroom", "warm barn", "ordinary room"] {
        let plan = planned(&evening(room, &[NIGHT_BEFORE, AFTERNOON], &runner("dahlia", "")));
        assert!(dry(&plan, -6.0) < 0.2, "{room}: {}", dry(&plan, -6.0));
    }
}

// Common practice, no source: dry dahlias do for dinner, in a cooled room and placed shortly before; not from the
// morning, and not in a heat wave.
#[test]
fn dry_dahlias_are_for_cooled_rooms_and_short_evenings() {
    let at = |room: &str, hour: f64| {
        let dinner = runner("dahlia", "").replace("until = \"23:00\"", "until = \"20:00\"");
        dry(&planned(&evening(room, &[("09:00", "17:30")], &dinner)), hour)
    };
    let (cooled, cooled_early) = (at("cooled ballroom", 17.5), at("cooled ballroom", 9.0));
    let (hot, hot_early) = (at("barn in a heat wave", 17.5), at("barn in a heat wave", 9.0));
    assert!(cooled > 0.9, "{cooled}");
    assert!(hot_early < 0.2, "{hot_early}");
    assert!(cooled_early < 0.4 && hot < cooled - 0.05, "{cooled_early} {hot}");
}

// Common practice, no source: fresh hydrangea wants water; tucked dry it collapses.
#[test]
fn fresh_hydrangea_wants_water() {
    let plan =
        planned(&evening("warm barn", &[("12:00", "17:00")], &runner("hydrangea", "tube = \"30 ml\"\n")));
    let flower = &plan.orders[0];
    assert_eq!(plan.event.order(flower.id).1.flower.id(), "hydrangea-fresh");
    for at in [12.0, 15.0, 17.0] {
        let (tucked, tube, vase) =
            (share(flower, Tucked, at), share(flower, WaterTube, at), share(flower, BudVase, at));
        assert!(tube > tucked + 0.3 && vase > tucked + 0.3, "{at}: {tucked} {tube} {vase}");
        assert!(tucked < 0.4, "{at}: {tucked}");
    }
    assert!(flower.recommended().treatment.method > Wired);
}

// Common practice, no source: when heads cannot be placed late, dahlias stand in bud vases beside the runner.
#[test]
fn dahlias_that_must_be_early_stand_in_vases() {
    for access in [&[NIGHT_BEFORE][..], &[NIGHT_BEFORE, ("08:00", "10:00")]] {
        let text = evening("warm barn", access, &runner("dahlia", "tube = \"10 ml\"\n"))
            + "[target]\npresentable = \"80 %\"\nassurance = \"90 %\"\n";
        let plan = planned(&text);
        let flower = &plan.orders[0];
        assert_eq!(flower.recommended().treatment.method, BudVase, "{access:?}: {:?}", flower.recommended());
        assert!(flower.lasts(), "{:?}", flower.recommended());
    }
}

// Common practice, no source: wire holds a head, it does not water it; and it takes longer.
#[test]
fn wire_changes_the_work_and_not_the_clock() {
    let plan = planned(&evening(
        "warm barn",
        &[AFTERNOON],
        &runner("rose", "treatments = [\"tucked\", \"wired\"]\n"),
    ));
    let flower = &plan.orders[0];
    let (tucked, wired): (Vec<_>, Vec<_>) =
        (flower.of_method(Tucked).collect(), flower.of_method(Wired).collect());
    assert!(tucked.len() > 5 && tucked.len() == wired.len());
    for (a, b) in tucked.iter().zip(&wired) {
        assert_eq!((a.place_at, a.share), (b.place_at, b.share));
    }
    let spread = tucked[tucked.len() - 1].share.p05 - tucked[0].share.p05;
    assert!(spread > 0.0, "the clock does not move: {spread}");
    let minutes = |method| plan.event.means.minutes.a_head(method, 0.0);
    assert!(minutes(Wired) > 2.0 * minutes(Tucked));
    assert_eq!(flower.recommended().treatment.method, Tucked, "the simpler of two equals");
    // Filling and hiding a tube takes longest, tucking is quickest.
    assert!(minutes(WaterTube) > minutes(BudVase) && minutes(BudVase) > minutes(Tucked));
}

// Common practice, no source.
#[test]
fn the_catalogue_says_what_a_colleague_would() {
    assert_eq!(flower("italian ruscus").stems_per_bunch(), 10);
    assert_eq!(flower("rose").stems_per_bunch(), 25);
    let says = |name: &str, word: &str| {
        let f = flower(name);
        let all = format!("{} {}", f.placing_note(), f.caution()).to_lowercase();
        assert!(all.contains(word), "{name}: {all:?} says nothing of {word:?}");
    };
    says("dahlia", "face up");
    says("rose", "thorn");
    says("lily", "cats");
    says("lily of the valley", "poison");
    says("foxglove", "poison");
}

/// An arch that stands in the sun from 15:00 and goes indoors at 18:00, and one that is indoors all the time.
/// Roses are ordered by colour, and last alike in each.
#[test]
fn colours_are_lines_of_their_own_on_the_order() {
    let both = runner("white roses", "") + "[[piece.flower]]\nflower = \"roses (dusty pink)\"\nheads = 40\n";
    let plan = planned(&evening("cooled ballroom", &[("14:00", "17:30")], &both));
    let facts = Facts::of(&plan);
    let names: Vec<String> = facts.bill.lines.iter().map(|line| called(&line.sort)).collect();
    assert_eq!(names, ["white standard rose", "dusty pink standard rose"]);
    let [white, pink] = &facts.orders[..] else { panic!("two orders") };
    assert_eq!(white.called(), "white standard rose");
    assert_eq!(white.options.len(), pink.options.len());
    assert!(white.options.iter().zip(pink.options.iter()).all(|(a, b)| a.share == b.share));
}

fn arches(flower: &str) -> String {
    let piece = |name: &str, space: &str, moves: &str| {
        format!(
            "[[piece]]\nname = \"{name}\"\nspace = \"{space}\"\nuntil = \"22:00\"\n{moves}\
             [[piece.flower]]\nflower = \"{flower}\"\nheads = 60\ntreatments = [\"tucked\", \"water tube\"]\n"
        )
    };
    format!(
        "[event]\nname = \"Arch\"\ndate = 2027-07-10\nlatitude = 51.0\ndoors = \"15:00\"\nend = \"22:00\"\n\
         [[access]]\nfrom = \"12:00\"\nto = \"15:00\"\n\
         [[space]]\nname = \"lawn\"\nlow = \"14 C\"\nhigh = \"26 C\"\nhumidity = \"45 %\"\nsun = \"full\"\noutdoors = true\n\
         [[space]]\nname = \"hall\"\nroom = \"cooled ballroom\"\n{}{}{}",
        piece("stays in", "hall", ""),
        piece("moves in", "lawn", "[[piece.move]]\nat = \"18:00\"\nto = \"hall\"\n"),
        piece("stays out", "lawn", ""),
    )
}

// Common practice, no source: an arch that stood in the sun is worse in the evening than one that never did, and
// better than one left out.
#[test]
fn an_hour_in_the_sun_is_paid_for_in_the_hall() {
    for name in ["rose", "garden rose", "lisianthus"] {
        let plan = planned(&arches(name));
        let at = |piece: usize| share(&plan.orders[piece], Tucked, 15.0);
        let (inside, moved, outside) = (at(0), at(1), at(2));
        // A lawn's evening may be kinder than the dry air of a cooled room.
        let tolerance = 0.01;
        assert!(inside > moved + 0.02 && moved >= outside - tolerance, "{name}: {inside} {moved} {outside}");
        for method in [Tucked, WaterTube] {
            for place_at in [12.0, 13.0, 14.0, 15.0] {
                let at = |piece: usize| share(&plan.orders[piece], method, place_at);
                assert!(
                    at(1) <= at(0) + tolerance && at(2) <= at(1) + tolerance,
                    "{name} {method} at {place_at}"
                );
            }
        }
    }
}

// Common practice, no source: a barn's night is kinder than its afternoon; a shut marquee in the sun is worse than an
// open one; the cool store is kindest of all.
#[test]
fn rooms_rank_as_florists_rank_them() {
    let skin = flower("rose").skin();
    let at = |room: &str, hour: f64| {
        let climate = Room::find(room)
            .expect("a room")
            .climate(Air::SEA_LEVEL, |h| f64::from((8.0..18.0).contains(&h)));
        water_loss(&climate.at(hour), &skin, 1.2).relative
    };
    assert!(at("warm barn", 3.0) < 0.3 * at("warm barn", 15.0));
    for pair in [
        "cool store",
        "workshop",
        "cooled ballroom",
        "warm barn",
        "barn in a heat wave",
        "shut marquee",
        "glasshouse shut in sun",
    ]
    .windows(2)
    {
        let (a, b) = (at(pair[0], 15.0), at(pair[1], 15.0));
        assert!(a < b, "{} {a}, {} {b}", pair[0], pair[1]);
    }
    assert!(at("marquee with sides up in shade", 15.0) < at("marquee shut in sun", 15.0));
    assert!(at("outdoor shade", 15.0) < at("outdoor full sun", 15.0));
    // The same hours out of water, by night and by day, in the same barn.
    let spent = |from: &str, to: &str, doors: &str, end: &str| {
        let text = format!(
            "[event]\nname = \"Barn\"\ndate = 2027-08-14\ndoors = \"{doors}\"\nend = \"{end}\"\n\
             [[access]]\nfrom = \"{from}\"\nto = \"{to}\"\n[[space]]\nname = \"here\"\nroom = \"warm barn\"\n\
             [[piece]]\nname = \"table\"\nspace = \"here\"\n[[piece.flower]]\nflower = \"dahlia\"\nheads = 20\n"
        );
        planned(&text).orders[0].of_method(Tucked).next().expect("a placing").share.p50
    };
    let night = spent("00:00", "00:30", "00:30", "06:00");
    let afternoon = spent("12:00", "12:30", "12:30", "18:00");
    assert!(night > afternoon + 0.2, "{night} by night, {afternoon} by day");
}

// Common practice, no source: a larger tube runs dry later.
#[test]
fn larger_tubes_run_empty_later() {
    let empty = |tube: &str| {
        let text = evening(
            "warm barn",
            &[("day before 18:00", "day before 18:30")],
            &runner("hydrangea", &format!("treatments = [\"water tube\"]\ntube = \"{tube}\"\n")),
        );
        let plan = planned(&text);
        plan.orders[0].tube_empty.as_ref().and_then(|q| q.p25).unwrap_or(f64::INFINITY)
    };
    let sizes = ["2 ml", "4 ml", "8 ml", "20 ml"];
    let hours = sizes.map(empty);
    assert!(hours[0].is_finite(), "{hours:?}");
    for pair in hours.windows(2) {
        assert!(pair[1] > pair[0] || pair[0].is_infinite() && pair[1].is_infinite(), "{hours:?}");
    }
}

// Common practice, no source: five degrees more, and everything dry goes sooner.
#[test]
fn a_hotter_day_is_worse_for_everything_dry() {
    let text = evening(
        "warm barn",
        &[("10:00", "17:00")],
        &["rose", "dahlia", "lisianthus", "peony", "hydrangea", "ranunculus"]
            .map(|f| runner(f, "").replace("guest runner", f))
            .concat(),
    );
    let hotter = plan(event(&text), Settings { hotter: 5.0, ..Settings::default() }).expect("a plan");
    let mut worse = 0;
    for (a, b) in planned(&text).orders.iter().zip(&hotter.orders) {
        for (a, b) in a.of_method(Tucked).zip(b.of_method(Tucked)) {
            assert!(b.share.p50 <= a.share.p50);
            worse += usize::from(b.share.p50 < a.share.p50);
        }
    }
    assert!(worse > 20, "{worse} placings are worse");
}

/// A lawn typed at one temperature, without sun or in full sun, and a hall with the lawn's moisture.
#[test]
fn sun_and_moisture_reach_a_space_that_is_the_same_at_all_hours() {
    let event = |sun: &str| {
        format!(
            "[event]\nname = \"Lawn\"\ndate = 2027-07-10\nlatitude = 51.0\ndoors = \"15:00\"\nend = \"22:00\"\n\
             [[access]]\nfrom = \"12:00\"\nto = \"15:00\"\n\
             [[space]]\nname = \"lawn\"\ntemperature = \"26 C\"\nhumidity = \"50 %\"\noutdoors = true\n{sun}\
             [[piece]]\nname = \"arch\"\nspace = \"lawn\"\nuntil = \"17:00\"\nshape = \"arch\"\n\
             [[piece.flower]]\nflower = \"rose\"\nheads = 60\n"
        )
    };
    let dry = |sun: &str| share(&planned(&event(sun)).orders[0], Tucked, 12.0);
    assert!(dry("") > dry("sun = \"full\"\n") + 0.2);
}

/// No piece is placed after its own hour, and flowers straight from the box do not make up for it in a bucket.
#[test]
fn a_piece_is_not_placed_after_its_hour_nor_a_dry_box_made_good_on_the_way() {
    let event = |conditioning: &str| {
        format!(
            "[event]\nname = \"Two days\"\ndate = 2027-07-10\ndoors = \"17:00\"\nend = \"22:00\"\n\
             [[access]]\nfrom = \"day before 10:00\"\nto = \"day before 12:00\"\n\
             [[access]]\nfrom = \"10:00\"\nto = \"16:30\"\n\
             [[space]]\nname = \"hall\"\nroom = \"cooled ballroom\"\n\
             [[piece]]\nname = \"breakfast\"\nspace = \"hall\"\nuntil = \"09:00\"\n\
             [[piece.flower]]\nflower = \"rose\"\nheads = 60\n\
             [[piece]]\nname = \"supper\"\nspace = \"hall\"\nuntil = \"22:00\"\n\
             [[piece.flower]]\nflower = \"rose\"\nheads = 60\n{conditioning}"
        )
    };
    let plan = planned(&event(""));
    assert!(plan.orders[0].options.iter().all(|c| c.place_at <= 9.0));
    let boxed = planned(&event("conditioning = \"straight from the box\"\n"));
    let at = |plan: &Plan| share(&plan.orders[1], Tucked, 16.0);
    assert!(at(&boxed) < at(&plan) - 0.2, "{} {}", at(&boxed), at(&plan));
}
