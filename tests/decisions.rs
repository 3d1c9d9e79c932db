//! Small models that can be worked out on paper: time cut into slots, journeys, the crew's day, offers, stand-ins.
//!
//! Numbers expected here are worked out by hand, step by step beside each check.

#[path = "common/agrees.rs"]
mod agrees;
mod common;

use agrees::agrees;
use common::{event, flower};
use headwater::climate::Climate;
use headwater::decide::again::{meant, soft, with_fewer};
use headwater::decide::duties::{self, besides, duties};
use headwater::decide::offers::{Offer, best, model, offers};
use headwater::decide::options::{PlacingOption, Scene};
use headwater::decide::packs::Kinds;
use headwater::decide::placing::{LONGEST_WAIT, coarse_grid, first_step, grid, placing, times, touched};
use headwater::decide::plan::{Plan, Settings, plan};
use headwater::decide::prospects::prospects;
use headwater::decide::remedies::{Change, Remedy};
use headwater::decide::scenarios::{Factor, Scenario, outcomes, sensitivities};
use headwater::decide::slots::{between, slots};
use headwater::decide::solve::model::{Crew, Lacking, Model, Shift, Slot, Solution};
use headwater::decide::solve::roster::{Roster, Task, roster};
use headwater::decide::swaps::{StandIn, likeness, likest, stand_ins};

use headwater::event::{Event, Order, Piece, Way};
use headwater::flower::treatment::{Conditioning, Method, Treatment};
use headwater::simulate::journey::{Grid, Leg, Supply};
use std::sync::LazyLock;

/// An event in two rooms with a cool store and a van; `access` and `more` go in as they are.
fn supper(access: &[(&str, &str)], more: &str) -> Event {
    event(&supper_text(access, more))
}

fn supper_text(access: &[(&str, &str)], more: &str) -> String {
    let access: String =
        access.iter().map(|(a, b)| format!("[[access]]\nfrom = \"{a}\"\nto = \"{b}\"\n")).collect();
    let room =
        |name: &str| format!("[[space]]\nname = \"{name}\"\ntemperature = \"20 C\"\nhumidity = \"50 %\"\n");
    format!(
        "[event]\nname = \"Supper\"\ndate = 2027-08-14\ndoors = \"16:00\"\nend = \"23:00\"\n\
         [target]\npresentable = \"90 %\"\nassurance = \"80 %\"\n\
         [crew]\npeople = 4\nskilled = 2\nhourly = \"EUR 20\"\nminimum = \"2 h\"\nslack = \"25 %\"\n\
         [[tubes]]\nvolume = \"10 ml\"\nprice = \"EUR 0.20\"\nmost = 100\n\
         [[tubes]]\nvolume = \"20 ml\"\nprice = \"EUR 0.30\"\n\
         [vases]\nprice = \"EUR 0.90\"\nmost = 50\n\
         {access}[travel]\nstore = \"cellar\"\nvan = \"lorry\"\ndrive = \"30 min\"\nvan_in_water = false\n\
         wait_in_water = true\nwait = \"porch\"\n{}{}{}{}{}\
         [[piece]]\nname = \"table\"\nspace = \"barn\"\nuntil = \"21:00\"\n\
         [[piece.flower]]\nflower = \"dahlia\"\nheads = 40\nprice = \"EUR 2.00\"\n{more}",
        room("cellar"),
        room("lorry"),
        room("porch"),
        room("barn"),
        room("garden"),
    )
}

const NOON: (&str, &str) = ("12:00", "15:45");
const EVE: (&str, &str) = ("day before 17:00", "day before 20:00");

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-9
}

#[track_caller]
fn same(found: &[(f64, f64)], expected: &[(f64, f64)]) {
    let alike = |(f, e): (&(f64, f64), &(f64, f64))| close(f.0, e.0) && close(f.1, e.1);
    assert!(found.len() == expected.len() && found.iter().zip(expected).all(alike), "{found:?}");
}

#[test]
fn time_on_site_is_cut_into_slots() {
    // Half hours from 12:00, cut anew where the chore may begin (13:10) and must end (14:00).
    let chore =
        "[[chore]]\nname = \"frame\"\nwork = \"20 min\"\nskilled = true\nfrom = \"13:10\"\nto = \"14:00\"\n";
    let event = supper(&[NOON], chore);
    let all = slots(&event, &duties(&event));
    let (ten_past, forty) = (13.0 + 1.0 / 6.0, 13.0 + 2.0 / 3.0);
    let expected = [
        (12.0, 12.5),
        (12.5, 13.0),
        (13.0, ten_past),
        (ten_past, forty),
        (forty, 14.0),
        (14.0, 14.5),
        (14.5, 15.0),
        (15.0, 15.5),
        (15.5, 15.75),
    ];
    same(&all.iter().map(|s| (s.from, s.to)).collect::<Vec<_>>(), &expected);
    assert_eq!(between(&all, 12.4, 14.2), Some((1, 5)));
    assert_eq!(between(&all, 12.5, 14.0), Some((1, 5)));
    assert_eq!(between(&all, 12.6, 12.9), None);
    // The chore, 20 minutes of skilled work, and the last look: 40 heads at 20 a minute and a quarter more, in the last
    // half hour.
    let done = besides(&event, &all);
    let parts: Vec<_> = done.iter().map(|(c, d)| (*c, d.parts[0])).collect();
    assert_eq!(parts.len(), 2);
    assert_eq!(
        (parts[0].0, parts[0].1.first, parts[0].1.end, parts[0].1.skilled),
        (duties::Work::Chore(0), 3, 5, true)
    );
    assert_eq!(
        (parts[1].0, parts[1].1.first, parts[1].1.end, parts[1].1.skilled),
        (duties::Work::LastLook, 8, 9, false)
    );
    assert!(close(parts[0].1.hours, 1.0 / 3.0) && close(parts[1].1.hours, 2.5 / 60.0));
}

#[test]
fn work_outside_the_access_has_slots_of_its_own() {
    // Taking down from 23:30 to 00:30 is a call of its own, two half hours long; whoever is there at the doors, at 16:00, does
    // not wait for it.
    let event = supper(&[NOON], "");
    let all = slots(&event, &[(23.5, 24.5), (26.0, 26.25)]);
    let late: Vec<_> = all.iter().filter(|s| s.from > 16.0).map(|s| (s.from, s.to)).collect();
    // The next begins an hour and a half later, within the shortest time paid, so that people stay for it.
    same(&late, &[(23.5, 24.0), (24.0, 24.5), (24.5, 26.0), (26.0, 26.25)]);
    assert!(all.iter().filter(|s| s.from > 16.0).all(|s| s.call == 1));
    // Nothing is added twice, nor for work that ends as it begins.
    let inside = slots(&event, &[(13.0, 14.0), (20.0, 20.0)]);
    assert_eq!(inside.len(), slots(&event, &[]).len());
}

#[test]
fn a_grid_covers_its_hours_in_steps() {
    let four = Grid::covering(6.25, 8.0, 0.5);
    assert_eq!((four.steps, four.span()), (4, (6.25, 8.25)));
    assert_eq!([6.0, 6.49, 6.51, 9.0].map(|hour| four.index(hour)), [0, 0, 1, 4]);
    // Where hundreds of days are looked at its steps are half hours of the clock, from when the first van leaves: 11:20.
    let event = supper(&[("11:50", "15:45")], "");
    let coarse = coarse_grid(&event);
    assert_eq!((coarse.start, coarse.step), (11.0, 0.5));
    assert!(coarse.span().1 >= event.span().1);
}

#[test]
fn slots_are_longer_where_there_is_much_time() {
    // 20 h and 14 h: 34 h in half hours would be 68 slots, in hours they are 34, which is fewer than 40.
    let event = supper(&[("day before 00:00", "day before 20:00"), ("02:00", "17:00")], "");
    let all = slots(&event, &duties(&event));
    assert_eq!(all.len(), 34);
    assert!(all.iter().all(|s| close(s.to - s.from, 1.0)));
    assert_eq!(all.iter().filter(|s| s.call == 1).count(), 14, "nobody works after the doors");
    assert!(all.iter().all(|s| (s.call == 0) == (s.from < 0.0)));
    // Exactly 20 h are 40 half hours.
    let event = supper(&[("day before 00:00", "day before 16:00"), ("12:00", "16:00")], "");
    assert_eq!(slots(&event, &duties(&event)).len(), 40);
}

#[test]
fn pieces_are_placed_every_half_hour_and_at_the_last() {
    let at = |access: (&str, &str)| {
        let event = supper(&[access], "");
        times(&event, &event.pieces[0])
    };
    assert_eq!(at(("13:00", "14:45")), [13.0, 13.5, 14.0, 14.5, 14.75]);
    // Five minutes more are not worth a trial of their own.
    assert_eq!(at(("13:00", "14:05")), [13.0, 13.5, 14.0]);
    assert_eq!(at(("15:00", "20:00")), [15.0, 15.5, 16.0], "not after the doors");
    let event = supper(&[EVE, ("15:00", "15:30")], "");
    assert_eq!(times(&event, &event.pieces[0]), [-7.0, -6.5, -6.0, -5.5, -5.0, -4.5, -4.0, 15.0, 15.5]);
}

#[test]
fn no_journey_begins_before_the_first_step() {
    for access in [&[EVE, ("12:00", "15:30")][..], &[("13:00", "14:45")], &[EVE]] {
        let event = supper(access, "");
        let (piece, grid) = (&event.pieces[0], grid(&event));
        let begins = |at: f64, wait: f64| {
            let journey = placing(&event, piece, &grid, at, wait, &[]);
            journey.before.iter().chain(&journey.after).map(|leg| leg.from).min()
        };
        let times = times(&event, piece);
        let boxed = begins(times[times.len() - 1], LONGEST_WAIT);
        let first = times.iter().map(|at| begins(*at, 0.0)).chain([boxed]).min();
        assert_eq!(first, Some(Some(first_step(&event))), "{access:?}");
    }
}

/// The legs with their hours instead of steps.
fn hours(event: &Event, legs: &[Leg]) -> Vec<(usize, f64, f64, Supply)> {
    let grid = grid(event);
    let hour = |step: usize| (grid.hour(step as f64) * 1e6).round() / 1e6;
    legs.iter().map(|l| (l.space, hour(l.from), hour(l.to), l.supply)).collect()
}

#[test]
fn a_journey_is_that_of_the_event() {
    use Supply::{Ample, Boxed, Dry};
    const CELLAR: usize = 0;
    const LORRY: usize = 1;
    const PORCH: usize = 2;
    const BARN: usize = 3;
    const GARDEN: usize = 4;
    let moves = "[[piece.move]]\nat = \"17:00\"\nto = \"garden\"\n";
    let event = supper(&[EVE, ("12:00", "15:30")], moves);
    let (piece, grid) = (&event.pieces[0], grid(&event));
    assert_eq!(touched(&event, piece), [CELLAR, LORRY, PORCH, BARN, GARDEN]);
    // From twelve hours before flowers leave the store to six after the end, in steps of ten minutes.
    let steps = ((23.0 + 6.0 - (-7.5 - 12.0)) * 6.0_f64).round() as usize;
    assert!(close(grid.start, -19.5) && close(grid.step, 1.0 / 6.0) && grid.steps.abs_diff(steps) <= 1);
    let end = grid.hour(grid.steps as f64);
    let after = |from: f64| [(BARN, from, 17.0, Dry), (GARDEN, 17.0, (end * 1e6).round() / 1e6, Dry)];
    // Placed on the second day: brought then, by lorry without water, and half an hour of the wait in a box.
    let then = placing(&event, piece, &grid, 13.0, 0.5, &[14.0]);
    let before = [
        (CELLAR, -7.5, 11.5, Ample),
        (LORRY, 11.5, 12.0, Boxed),
        (PORCH, 12.0, 12.5, Ample),
        (PORCH, 12.5, 13.0, Boxed),
    ];
    assert_eq!(hours(&event, &then.before), before);
    assert_eq!(hours(&event, &then.after), after(13.0));
    assert_eq!(then.refills, [grid.index(14.0)]);
    assert_eq!(then.ask, grid.index(21.0));
    // Placed the evening before, as soon as they are there.
    let eve = placing(&event, piece, &grid, -7.0, 0.0, &[]);
    assert_eq!(hours(&event, &eve.before), [(LORRY, -7.5, -7.0, Boxed)]);
    assert_eq!(hours(&event, &eve.after), after(-7.0));
    // Placed at the first moment of the second day: brought for it, and not the evening before.
    let noon = placing(&event, piece, &grid, 12.0, 0.0, &[]);
    assert_eq!(hours(&event, &noon.before), [(CELLAR, -7.5, 11.5, Ample), (LORRY, 11.5, 12.0, Boxed)]);
    // A longer wait in a box than the crew has been there: they come earlier.
    let boxed = placing(&event, piece, &grid, 12.5, 2.0, &[]);
    let before = [(CELLAR, -7.5, 10.0, Ample), (LORRY, 10.0, 10.5, Boxed), (PORCH, 10.5, 12.5, Boxed)];
    assert_eq!(hours(&event, &boxed.before), before);
}

/// Work by a name: what deals it out knows no more of it.
type Work = &'static str;

/// People who are there from 10:00 on, for so many hours each, and whether they are skilled.
fn dealt(people: &[(usize, bool)], tasks: &[Task<Work>]) -> Roster<Work> {
    let slots: Vec<Slot> = (0..8)
        .map(|i| Slot { from: 10.0 + 0.5 * f64::from(i), to: 10.5 + 0.5 * f64::from(i), call: 0 })
        .collect();
    let skilled = people.iter().filter(|p| p.1).count() as u32;
    let model = Model {
        slots,
        jobs: Vec::new(),
        crew: Crew { people: 9, skilled, hourly: 20.0, minimum: 0.0 },
        stock: Vec::new(),
        packs: Vec::new(),
    };
    let shifts = people
        .iter()
        .map(|&(hours, skilled)| Shift { first: 0, end: 2 * hours, people: 1, skilled })
        .collect();
    let hired = Solution { chosen: Vec::new(), shifts, cost: 0.0, gap: 0.0, lacking: Lacking::default() };
    roster(&model, &hired, tasks)
}

fn task(work: Work, (from, wish, to): (f64, f64, f64), hours: f64, rank: u32) -> Task<Work> {
    Task { work, from, wish, to, skilled: false, hours, rank }
}

#[track_caller]
fn does(roster: &Roster<Work>, person: usize, expected: &[(Work, f64, f64)]) {
    let assignments = &roster.people[person].assignments;
    let alike = assignments.len() == expected.len()
        && assignments
            .iter()
            .zip(expected)
            .all(|(s, e)| s.work == e.0 && close(s.from, e.1) && close(s.to, e.2));
    assert!(alike, "{assignments:?}");
}

#[test]
fn a_crews_day_is_dealt_by_rule() {
    let [unload, greens, heads, wired] = ["unload", "greens", "heads", "wired"];
    let tasks = [
        task(heads, (10.0, 11.0, 12.0), 0.25, 2),
        task(greens, (10.0, 10.0, 12.0), 1.0, 1),
        Task { skilled: true, ..task(wired, (10.0, 10.0, 12.0), 1.0, 2) },
        task(unload, (10.0, 10.0, 12.0), 0.5, 0),
    ];
    // The skilled one is asked first: unloading goes before everything, then what takes skill, in one go. The other
    // begins with greens, half an hour at a time, goes on with them, and sets heads into them.
    let day = dealt(&[(2, false), (2, true)], &tasks);
    assert!(day.people[0].skilled && !day.people[1].skilled);
    does(&day, 0, &[(unload, 10.0, 10.5), (wired, 10.5, 11.5)]);
    does(&day, 1, &[(greens, 10.0, 11.0), (heads, 11.0, 11.25)]);
    assert!(day.left.abs() < 1e-9);
    assert_eq!(day.span(wired), Some((10.5, 11.5)));
    assert_eq!(day.span("none of it"), None);
    // By unskilled hands alone the wired heads are left undone.
    let day = dealt(&[(2, false)], &tasks[2..]);
    does(&day, 0, &[(unload, 10.0, 10.5)]);
    assert!(close(day.left, 1.0));
}

#[test]
fn what_is_pressing_interrupts_what_is_not() {
    let [slow, soon, later] = ["slow", "soon", "later"];
    let tasks = [
        task(slow, (10.0, 10.0, 12.0), 1.0, 0),
        task(soon, (10.5, 10.5, 11.0), 0.5, 0),
        task(later, (13.0, 13.0, 14.0), 0.25, 0),
    ];
    let day = dealt(&[(4, false)], &tasks);
    does(&day, 0, &[(slow, 10.0, 10.5), (soon, 10.5, 11.0), (slow, 11.0, 11.5), (later, 13.0, 13.25)]);
    // Work is not begun after its end, nor by those who have gone.
    let late = dealt(&[(1, false)], &[task(slow, (10.0, 10.0, 10.25), 1.0, 0), tasks[2]]);
    does(&late, 0, &[(slow, 10.0, 10.25)]);
    assert!(close(late.left, 1.0));
    // Half an hour and a scrap of five minutes are one person's; more than that is shared by two.
    let shared = |hours: f64| dealt(&[(2, false), (2, false)], &[task(slow, (10.0, 10.0, 12.0), hours, 0)]);
    does(&shared(0.58), 0, &[(slow, 10.0, 10.58)]);
    does(&shared(0.58), 1, &[]);
    does(&shared(0.75), 0, &[(slow, 10.0, 10.5)]);
    does(&shared(0.75), 1, &[(slow, 10.0, 10.25)]);
    // Among equals the wish decides, and who stays longer is asked first.
    let wished = [task(slow, (10.0, 10.5, 12.0), 0.25, 2), task(soon, (10.0, 10.0, 12.0), 0.25, 2)];
    let day = dealt(&[(1, false), (2, false)], &wished);
    assert!(close(day.people[0].to, 12.0) && close(day.people[1].to, 11.0));
    does(&day, 0, &[(soon, 10.0, 10.25)]);
    does(&day, 1, &[(slow, 10.0, 10.25)]);
}

fn first_order(event: &Event) -> (&Piece, &Order) {
    let (_, piece, order) = event.orders().next().expect("an order");
    (piece, order)
}

#[test]
fn offers_cost_what_they_take() {
    // 40 dahlias at 2.00 a stem, from 12:00 to 14:00; of every delivery the same share is presentable.
    let event = supper(&[("12:00", "14:00")], "");
    let order = first_order(&event);
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let scene = Scene::new(&event, order, &spaces, (1, 8));
    let tried = |treatment: Treatment, at: f64, share: f64| scene.option(treatment, None, at, vec![share; 8]);
    let tube = |ml: f64| Treatment::new(Method::WaterTube, ml);
    let tucked = Treatment::new(Method::Tucked, 0.0);
    let run = |treatment: Treatment, shares: [f64; 5]| -> Vec<PlacingOption> {
        (0..5).zip(shares).map(|(i, share)| tried(treatment, 12.0 + 0.5 * f64::from(i), share)).collect()
    };
    let time = slots(&event, &duties(&event));
    // Dry lasts when placed at 13:00 or later, all of it; in a tube always.
    let options = [run(tucked, [0.2, 0.3, 1.0, 1.0, 1.0]), run(tube(20.0), [1.0; 5])].concat();
    let all = offers(&event, &time, (order.0, order.1, 0), &options);
    assert_eq!(all.len(), 2, "{all:?}");
    let (dry, wet) = (&all[0], &all[1]);
    assert!(dry.lasts && dry.spares == 0 && close(dry.earliest, 13.0) && close(dry.last, 14.0));
    assert_eq!((dry.first, wet.first), (2, 5));
    // Tucked: 40 heads at 39 s and a quarter more; nothing is used but 40 stems and one in twenty more for breakage.
    let part = dry.candidate.parts[0];
    assert_eq!((part.first, part.end, part.skilled), (2, 4, false));
    assert!(close(part.hours, 40.0 * 39.0 / 3600.0 * 1.25) && close(dry.candidate.cost, 0.0));
    let takes = |o: &Offer| o.candidate.takes.expect("stems").1;
    assert!(close(takes(dry), 42.0));
    assert_eq!(dry.candidate.uses, [0, 0, 0]);
    // In tubes of 20 ml: 40 heads at 75 s and a quarter more, 30 cents each.
    let part = wet.candidate.parts[0];
    assert_eq!((part.first, part.end), (0, 4));
    assert!(close(part.hours, 40.0 * 75.0 / 3600.0 * 1.25) && close(wet.candidate.cost, 12.0));
    assert_eq!(wet.candidate.uses, [0, 40, 0]);
    // Nothing is lost, so only the tie-break for trouble is regretted.
    assert!(dry.candidate.regret < 1e-3 && wet.candidate.regret < 1e-3);

    // Of nine in ten 36 of 40 are wanted. At a share of 0.9 they are likely with two, four or six spares only.
    let options = run(tucked, [0.9; 5]);
    let spares = options[0].spares.expect("a few more are enough");
    assert!([2, 4, 6].contains(&spares), "{spares}");
    let all = offers(&event, &time, (order.0, order.1, 0), &options);
    let spare = &all[0];
    assert!(spare.lasts && spare.spares == spares && close(spare.earliest, 12.0));
    // Each spare is a stem; of all heads one in ten is lost, at a fiftieth of a stem of 2.00 each.
    let heads = f64::from(40 + spares);
    assert!(close(spare.candidate.cost, 0.0) && close(takes(spare), heads * 1.05));
    assert!((spare.candidate.regret - heads * 0.004).abs() < 1e-6, "{}", spare.candidate.regret);
    assert!(close(spare.candidate.parts[0].hours, heads * 39.0 / 3600.0 * 1.25));

    // Where nothing lasts, the best is offered, and earlier at three stems for each head that this loses.
    let options = run(tucked, [0.0, 0.1, 0.2, 0.3, 0.4]);
    let all = offers(&event, &time, (order.0, order.1, 0), &options);
    assert!(all.iter().all(|o| !o.lasts && o.spares == 0));
    let at = |place: f64| all.iter().find(|o| close(options[o.first].place_at, place)).expect("an offer");
    // At 13:30 four heads fewer than at 14:00 last; at 14:00 itself there is no time left.
    assert!(close(at(13.5).candidate.regret, 3.0 * 4.0 * 2.0), "{}", at(13.5).candidate.regret);
    assert!(close(at(13.0).candidate.regret, 3.0 * 8.0 * 2.0));
    assert!(all.iter().all(|o| options[o.first].place_at < 14.0));

    // The whole model: orders, then chores; hands and stock as the event has them.
    let whole = model(&event, &time, &Kinds::new(&event), std::slice::from_ref(&all));
    assert_eq!(whole.jobs.len(), 2);
    assert_eq!(whole.jobs[0].len(), all.len());
    let crew = Crew { people: 4, skilled: 2, hourly: 20.0, minimum: 2.0 };
    assert_eq!((whole.crew, whole.stock), (crew, vec![Some(100), None, Some(50)]));
}

#[test]
fn a_later_offer_must_lose_fewer_heads() {
    // Two hours apart, at no cost and without spares either way: all that differs is when, and what is lost.
    let event = supper(&[NOON], "");
    let order = first_order(&event);
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let scene = Scene::new(&event, order, &spaces, (1, 8));
    let offered = |early: f64, late: f64| {
        let tried =
            |at: f64, share: f64| scene.option(Treatment::new(Method::Tucked, 0.0), None, at, vec![share; 8]);
        let all = offers(
            &event,
            &slots(&event, &duties(&event)),
            (order.0, order.1, 0),
            &[tried(12.0, early), tried(14.0, late)],
        );
        assert!(all.iter().all(|o| o.lasts && o.spares == 0 && o.candidate.cost == 0.0));
        all.iter().map(|o| (o.first, o.candidate.regret)).collect::<Vec<_>>()
    };
    let same = |found: &[(usize, f64)], expected: &[(usize, f64)]| {
        assert!(
            found.len() == expected.len()
                && found.iter().zip(expected).all(|(f, e)| f.0 == e.0 && close(f.1, e.1)),
            "{found:?}"
        );
    };
    // Of 40 heads at 2.00 one in a hundred is 0.4 heads, and a fiftieth of a stem for each is 0.016.
    same(&offered(0.97, 0.99), &[(0, 0.048), (1, 0.016)]);
    // Later and more lost, or as much: nothing speaks for it.
    same(&offered(0.99, 0.97), &[(0, 0.016)]);
    same(&offered(0.98, 0.98), &[(0, 0.032)]);
}

#[test]
fn the_best_of_what_falls_short_is_as_early_as_it_loses_no_head() {
    let event = supper(&[NOON], "");
    let order = first_order(&event);
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let scene = Scene::new(&event, order, &spaces, (1, 8));
    // Every half hour from noon, so many of the forty: in the middle, and nineteen times out of twenty.
    let earliest = |counts: &[(f64, f64)]| {
        let tried = |(i, (p50, p05)): (usize, &(f64, f64))| {
            let at = 12.0 + 0.5 * i as f64;
            let mut option = scene.option(Treatment::new(Method::Tucked, 0.0), None, at, vec![0.5; 8]);
            (option.count.p50, option.count.p05) = (*p50, *p05);
            option
        };
        best(&counts.iter().enumerate().map(tried).collect::<Vec<_>>())
    };
    // The third is best; the second and the fourth are worse by a head, the first by two.
    assert_eq!(earliest(&[(28.0, 20.0), (29.0, 20.0), (30.0, 20.0), (29.0, 20.0)]), 1);
    assert_eq!(earliest(&[(30.0, 18.0), (30.0, 19.0), (30.0, 20.0), (30.0, 19.0)]), 1);
    // A later one that is worse by more ends what may be chosen: only the best itself is left.
    assert_eq!(earliest(&[(30.0, 20.0), (30.0, 20.0), (31.0, 20.0), (29.0, 20.0)]), 2);
    assert_eq!(earliest(&[(30.0, 20.0), (30.0, 20.0), (30.0, 21.0), (30.0, 19.0)]), 2);
}

#[test]
fn tubes_that_leak_do_not_count_among_those_that_run_empty() {
    // Two millilitres for a hydrangea in a warm room are soon gone: of every tube that works it is told when, and none
    // that leaked from the beginning stands among them as one that never ran empty.
    let text = supper_text(&[NOON], "treatments = [\"water tube\"]\ntube = \"2 ml\"\n")
        .replace("flower = \"dahlia\"", "flower = \"hydrangea\"")
        .replace(
            "temperature = \"20 C\"\nhumidity = \"50 %\"",
            "temperature = \"30 C\"\nhumidity = \"30 %\"",
        );
    let plan = plan(event(&text), Settings { lots: 16, ..Settings::default() }).expect("a plan");
    let flower = plan.orders.first().unwrap();
    let empty = flower.tube_empty.as_ref().expect("it stands in tubes");
    let told = [empty.p05, empty.p50, empty.p95].map(|q| q.unwrap_or_else(|| panic!("{empty:?}")));
    assert!(flower.recommended().place_at < told[0] && told[0] < told[1] && told[1] < told[2], "{told:?}");
}

#[test]
fn a_flower_is_like_itself_and_likeness_goes_by_rule() {
    let month = 8;
    let (dahlia, rose) = (flower("dahlia"), flower("rose"));
    for f in common::flowers().iter().filter(|f| f.months().has(month)) {
        let itself = likeness(f, f, month, None);
        assert!(close(itself.score, 1.0) && itself.same_shape && itself.in_season, "{}", f.id());
    }
    // There and back: sizes and prices are inverse to each other; out of season counts two fifths.
    let (there, back) = (likeness(dahlia, rose, month, None), likeness(rose, dahlia, month, None));
    assert!(close(there.size * back.size, 1.0) && close(there.price * back.price, 1.0));
    for f in common::flowers() {
        let months: Vec<i8> = (1..=12).filter(|m| f.months().has(*m)).collect();
        let without: Vec<i8> = (1..=12).filter(|m| !f.months().has(*m)).collect();
        if let (Some(with), Some(without)) = (months.first(), without.first()) {
            let score = |month: i8| likeness(dahlia, f, month, None).score;
            assert!(close(score(*without), 0.4 * score(*with)), "{}", f.id());
        }
    }
    // Nothing is liker than the flower itself: larger and smaller, dearer and of other shapes all count against it.
    for f in common::flowers() {
        assert!((0.0..=1.0).contains(&likeness(dahlia, f, month, None).score), "{}", f.id());
    }
    // By size alone, 1.8 times counts for 1/e: where shape, season and price do not count.
    let mut sizes = 0;
    for f in common::flowers() {
        let like = likeness(dahlia, f, month, None);
        let named = headwater::flower::lookalikes::named(dahlia, f).is_some();
        if !named && like.same_shape && like.in_season && like.price <= 1.0 && like.colours > 0.0 {
            let times = like.size.ln().abs() / 1.8_f64.ln();
            assert!(close((like.score / like.colours).ln(), -times), "{}: {like:?}", f.id());
            sizes += u32::from(like.size != 1.0);
        }
    }
    assert!(sizes > 0, "nothing of another size to tell by");
    // The likest first, of the same kind, and none that is hardly like at all.
    let all = likest(dahlia, month, None, 200);
    assert!(all.windows(2).all(|w| w[0].1.score >= w[1].1.score));
    assert!(all.iter().all(|(f, l)| l.score > 0.02 && f.kind() == dahlia.kind() && f.id() != dahlia.id()));
    let like = |f: &&headwater::flower::catalogue::Flower| likeness(dahlia, f, month, None).score > 0.02;
    let kin = common::flowers().iter().filter(|f| f.kind() == dahlia.kind() && f.id() != dahlia.id());
    assert_eq!(all.len(), kin.filter(like).count());
    assert_eq!(likest(dahlia, month, None, 5).len(), 5);
}

#[test]
fn a_hotter_day_warms_all_but_the_cool_store() {
    let settings = |hotter: f64| Settings { lots: 8, hotter, ..Settings::default() };
    let spaces = |hotter: f64| prospects(supper(&[NOON], ""), settings(hotter)).expect("a plan").spaces;
    for (i, (as_is, hot)) in spaces(0.0).iter().zip(spaces(5.0)).enumerate() {
        let warmer = hot.at(14.0).temperature_c - as_is.at(14.0).temperature_c;
        assert!(close(warmer, if i == 0 { 0.0 } else { 5.0 }), "space {i}: {warmer} K");
    }
}

/// The demo events, with few deliveries: what is told of a plan does not hang on how many.
fn demos() -> &'static [Plan] {
    static PLANS: LazyLock<Vec<Plan>> = LazyLock::new(|| {
        [
            include_str!("../reference-data/demo/harvest-supper.toml"),
            include_str!("../reference-data/demo/night-before.toml"),
            include_str!("../reference-data/demo/heat-wave.toml"),
            include_str!("../reference-data/demo/two-helpers.toml"),
        ]
        .map(|text| plan(event(text), Settings { lots: 24, ..Settings::default() }).expect("a plan"))
        .into()
    });
    &PLANS
}

#[test]
fn plans_agree_with_themselves() {
    demos().iter().for_each(agrees);
}

/// Part in water and part dry is offered where water is needed, keeps what is asked, and takes fewer heads in water than all.
#[test]
fn two_ways_and_waits_keep_what_is_asked() {
    let orders = || demos().iter().flat_map(|plan| plan.orders.iter().map(move |order| (plan, order)));
    let two = || orders().filter_map(|(plan, order)| Some((plan, order, order.in_two_ways?)));
    assert!(two().count() > 2, "{}", two().count());
    for (plan, order, two) in two() {
        let method = order.recommended().treatment.method;
        assert!(matches!(method, Method::WaterTube | Method::BudVase), "{method}");
        assert!(two.in_water < order.heads && two.sure >= plan.event.assurance, "{two:?}");
    }
    let waits = || orders().filter_map(|(_, order)| order.dry_wait);
    assert!(waits().any(|wait| wait.hours > 1.0) && waits().any(|wait| wait.untried_beyond));
    // What was not tried beyond is as long as was tried, or as there is time.
    assert!(waits().all(|wait| wait.untried_beyond || wait.hours < 12.0));
}

#[test]
fn the_arch_asks_for_shade() {
    assert!(demos()[2].remedies.iter().any(|r| matches!(r.change, Change::Shade)));
}

#[test]
fn other_ways_do_without_what_they_say() {
    for plan in demos() {
        let own = &plan.alternatives[0];
        let of = |way: Way| plan.alternatives.iter().find(|o| o.way == way);
        let dry = of(Way::AllDry).expect("it is always told");
        assert_eq!((dry.tubes, dry.vases), (0, 0));
        assert_eq!(of(Way::Tubes).expect("it is always told").vases, 0);
        let vases = of(Way::Vases).expect("it is always told");
        // A vase stands beside any piece that takes one; arches and cakes take tubes.
        let no_vase = |o: &Order| !o.methods.contains(&Method::BudVase);
        let tubed: u32 = plan.event.orders().filter(|(.., o)| no_vase(o)).map(|(.., o)| o.heads).sum();
        assert!(vases.tubes <= 2 * tubed, "{} tubes for {tubed} heads", vases.tubes);
        assert_eq!(of(Way::FirstAccess).is_some(), plan.event.access.len() > 1);
        // What works otherwise is no cheaper than what is planned, but for the gap.
        if own.works() {
            assert!(plan.remedies.is_empty());
            let others = plan.alternatives.iter().filter(|o| o.works());
            others
                .for_each(|o| assert!(o.cost >= own.cost * 0.99, "{:?}: {} for {}", o.way, o.cost, own.cost));
        }
        for remedy in &plan.remedies {
            assert!(remedy.then.works(), "{remedy:?}");
        }
        assert!(plan.remedies.windows(2).all(|w| w[0].then.cost <= w[1].then.cost));
    }
}

#[test]
fn the_way_that_is_asked_for_is_the_plan() {
    let text = include_str!("../reference-data/demo/harvest-supper.toml");
    let settings = Settings { lots: 24, ..Settings::default() };
    let free = plan(event(text), settings).expect("a plan");
    let mut planned = 0;
    for way in [Way::FirstAccess, Way::FewestHands, Way::Calm, Way::Tubes] {
        let asked = text.replacen("[event]", &format!("[event]\nway = \"{}\"", way.word()), 1);
        let plan = plan(event(&asked), settings).expect("a plan");
        if way != Way::Calm {
            agrees(&plan); // the work of a calm plan is drawn out, so that it bears a mishap
        }
        let other = free.alternatives.iter().find(|o| o.way == way).expect("it is told of");
        let own = &plan.alternatives[0];
        let is_the_free_one = (own.cost - free.alternatives[0].cost).abs() < 1e-9;
        assert!(own.way == way || is_the_free_one, "{way:?}");
        assert!((own.cost - other.cost).abs() < 1e-9, "{way:?}: {} for {}", own.cost, other.cost);
        let cost: f64 = plan.bill.total();
        assert!((cost - own.cost).abs() < 0.01 * cost, "{way:?}: the bill says {cost}, the way {}", own.cost);
        if way == Way::FirstAccess {
            let (from, to) = plan.event.access[0];
            let placed = plan
                .event
                .orders()
                .filter_map(|(id, ..)| plan.roster.span(headwater::decide::duties::Work::Place(id)));
            let mut seen = 0;
            for (begun, done) in placed {
                assert!(begun >= from - 1e-9 && done <= to + 1e-9, "{begun} to {done}");
                seen += 1;
            }
            // Where the hours are so tight that not all of it could be dealt, that is told.
            let told = plan.roster.left;
            assert!(seen == plan.orders.len() || told > 0.0, "{seen} of {}", plan.orders.len());
            // The others stand beside it, the cheapest first.
            assert_eq!(plan.alternatives[1].way, Way::Cheapest);
        }
        planned += usize::from(own.way == way);
    }
    assert!(planned >= 3, "{planned} of the ways differ from the plan");
}

#[test]
fn more_access_is_asked_for_where_it_fits() {
    // The access ends at 15:00, an hour before the doors: half an hour more is half an hour longer, or at the end.
    let some = "[[piece.flower]]\nflower = \"rose\"\nheads = 50\n\
                [minutes]\ntucked = \"45 s\"\nwater_tube = \"58 s\"\nbud_vase = \"31 s\"\n";
    let text = supper_text(&[("14:00", "15:00")], some)
        .replace("people = 4", "people = 1")
        .replace("skilled = 2\n", "");
    let plan = plan(event(&text), Settings { lots: 16, ..Settings::default() }).expect("a plan");
    assert!(plan.lacking.people > 0 && !plan.lasts());
    let asked: Vec<(f64, f64)> = plan
        .remedies
        .iter()
        .filter_map(|r| if let Change::Access(a, b) = r.change { Some((a, b)) } else { None })
        .collect();
    assert_eq!(asked.len(), 2, "{:?}", plan.remedies);
    for (from, to) in &asked {
        let hours = to - from;
        assert!([0.5, 1.0, 2.0, 3.0].iter().any(|h| close(*h, hours)), "{asked:?}");
        assert!(close(*from, 15.0) || close(*to, 16.0), "{asked:?}");
        assert!(*to <= 16.0 + 1e-9, "{asked:?}");
    }
    // So many more people are the fewest that are enough.
    let people =
        plan.remedies.iter().find_map(|r| if let Change::People(n) = r.change { Some(n) } else { None });
    let more = people.unwrap_or_else(|| panic!("more people would help: {:?}", plan.remedies));
    let with = |n: u32| {
        let text = text.replace("people = 1", &format!("people = {}", 1 + n));
        headwater::decide::plan::plan(event(&text), Settings { lots: 16, ..Settings::default() })
            .expect("a plan")
            .lasts()
    };
    assert!(with(more) && !with(more - 1), "{more} more");
}

#[test]
fn stand_ins_fare_as_they_would_in_an_order() {
    let event = supper(&[EVE, ("12:00", "15:00")], "dry_hours = \"9 h\"\n");
    let (piece, order) = first_order(&event);
    assert!(order.handling.own_dry_hours.is_some());
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let found = stand_ins(&event, (piece, order), &spaces, None, (1, 16), 6);
    assert_eq!(found.len(), 7);
    let (mut last, mut do_not) = (0, 0);
    for (i, stand_in) in found.iter().enumerate() {
        assert_eq!(stand_in.likeness.is_none(), i == 0);
        let mut own = Order { flower: stand_in.flower, ..order.clone() };
        if i > 0 {
            own.handling.own_dry_hours = None;
        }
        let options = Scene::new(&event, (piece, &own), &spaces, (1, 16)).options();
        let of = |treatment: Treatment| {
            options.iter().filter(move |c| c.treatment == treatment && c.top_up.is_none())
        };
        let dry = own.treatments().into_iter().rev().find(|w| w.method.is_dry()).expect("it may be tucked");
        assert_eq!(stand_in.dry, of(dry).next_back().expect("a time").count, "{}", stand_in.flower.id());
        // It lasts where every time from then on is good and there is time left to work in, by the simplest treatment.
        let good =
            |treatment: Treatment, from: f64| of(treatment).all(|c| c.place_at < from || c.spares.is_some());
        let before_last = of(dry).nth_back(1).expect("two times").place_at;
        let simplest = own.treatments().into_iter().find(|treatment| good(*treatment, before_last));
        assert_eq!(stand_in.lasts.map(|l| l.0), simplest, "{}", stand_in.flower.id());
        match stand_in.lasts {
            Some((treatment, from)) => {
                assert!(good(treatment, from));
                let earlier = of(treatment).rfind(|c| c.place_at < from);
                assert!(earlier.is_none_or(|c| c.spares.is_none()), "it could be earlier than {from}");
                last += 1;
            }
            None => do_not += 1,
        }
    }
    assert!(last > 0, "{last} last, {do_not} do not");
    let trouble = |s: &StandIn| s.lasts.map_or(9, |(treatment, _)| treatment.method as u8);
    assert!(found[1..].windows(2).all(|w| trouble(&w[0]) <= trouble(&w[1])));
}

#[test]
fn sensitivities_are_sums_over_other_days() {
    let plan = &demos()[0];
    let sum = |scenario: Scenario| outcomes(plan, scenario).iter().map(|o| o.expected).sum::<f64>();
    let (base, sensitivities) = sensitivities(plan);
    assert!((base - sum(Scenario::None)).abs() < 1e-9);
    assert!(
        sensitivities.windows(2).all(|w| w[0].high - w[0].low >= w[1].high - w[1].low),
        "the strongest first"
    );
    assert!(sensitivities.iter().all(|l| l.low < base && base < l.high));
    for (factor, worse, better) in [
        (Factor::Temperature(3.0), Scenario::Warmer(3.0), Scenario::Warmer(-3.0)),
        (Factor::Humidity(0.15), Scenario::Moister(-0.15), Scenario::Moister(0.15)),
        (Factor::End(1.0), Scenario::Late(1.0), Scenario::Late(-1.0)),
        (Factor::Placing(1.0), Scenario::PlacedEarlier(1.0), Scenario::PlacedEarlier(-1.0)),
    ] {
        let sensitivity =
            sensitivities.iter().find(|s| s.factor == factor).unwrap_or_else(|| panic!("no {factor:?}"));
        assert!(
            (sensitivity.low - sum(worse)).abs() < 1e-9 && (sensitivity.high - sum(better)).abs() < 1e-9,
            "{factor:?}"
        );
    }
    // In the delivery of nineteen in twenty, and of one in twenty: heads times shares.
    for (outcome, flower) in outcomes(plan, Scenario::None).iter().zip(plan.orders.iter()) {
        let (option, heads) = (flower.recommended(), f64::from(flower.heads));
        assert!((outcome.expected - heads * option.expected).abs() < 1e-9);
        let (poor, good) = outcome.delivery;
        assert!(
            (poor - heads * option.share.p05).abs() < 1e-9 && (good - heads * option.share.p95).abs() < 1e-9
        );
        assert_eq!(outcome.lasts, flower.lasts());
    }
}

#[test]
fn placed_much_earlier_is_placed_when_the_doors_first_open() {
    let plan = &demos()[0];
    let then = outcomes(plan, Scenario::PlacedEarlier(500.0));
    for (outcome, (id, piece, _)) in then.iter().zip(plan.event.orders()) {
        let flower = plan.order(id);
        let (option, first) = (flower.recommended(), plan.event.windows(piece)[0].0);
        if option.top_up.is_none() {
            let tried = flower.of(option.treatment).find(|c| c.place_at == first).expect("tried at first");
            assert!((outcome.expected - f64::from(flower.heads) * tried.expected).abs() < 1e-9);
        }
    }
    assert_eq!(then, outcomes(plan, Scenario::PlacedEarlier(400.0)));
}

#[test]
fn a_cooling_that_fails_lets_only_cooled_rooms_drift() {
    // By six kelvin in the end, nearly two thirds of it after two hours: what stays in the cold has nothing to fear.
    let plan = &demos()[2];
    let expected =
        |scenario: Scenario| outcomes(plan, scenario).iter().map(|o| o.expected).collect::<Vec<_>>();
    let (none, early, late) = (
        expected(Scenario::None),
        expected(Scenario::CoolingFails(12.0)),
        expected(Scenario::CoolingFails(17.0)),
    );
    for (i, flower) in plan.orders.iter().enumerate() {
        assert!(
            early[i] <= late[i] + 1e-9 && late[i] <= none[i] + 1e-9,
            "{}",
            plan.event.order(flower.id).1.flower.id()
        );
    }
    assert!(early.iter().sum::<f64>() < late.iter().sum::<f64>());
    assert_eq!(expected(Scenario::CoolingFails(500.0)), none, "it fails when all is over");
    assert!(
        expected(Scenario::Warmer(6.0)).iter().sum::<f64>() < early.iter().sum::<f64>(),
        "all of it at once is worse"
    );
}

#[test]
fn a_later_party_asks_more_of_flowers() {
    let plan = &demos()[3];
    let total = |scenario: Scenario| outcomes(plan, scenario).iter().map(|o| o.expected).sum::<f64>();
    let late: Vec<f64> = [0.0, 1.0, 3.0, 6.0].map(|h| total(Scenario::Late(h))).into();
    assert!(late.windows(2).all(|w| w[1] < w[0]), "{late:?}");
    assert!((late[0] - total(Scenario::None)).abs() < 1e-9);
    assert!(total(Scenario::Moister(0.1)) > late[0] && total(Scenario::Moister(-0.1)) < late[0]);
}

#[test]
fn as_many_things_more_are_asked_for_as_are_lacking() {
    // One tube where forty are wanted, one vase where forty are.
    for (method, scarce) in [("water tube", 0), ("bud vase", 2)] {
        let only =
            format!("treatments = [\"{method}\"]\n{}", if scarce == 0 { "tube = \"10 ml\"\n" } else { "" });
        let text =
            supper_text(&[NOON], &only).replace("most = 100", "most = 1").replace("most = 50", "most = 1");
        let plan = plan(event(&text), Settings { lots: 16, ..Settings::default() }).expect("a plan");
        let heads: u32 = plan.orders.iter().map(|o| o.heads).sum();
        assert_eq!(plan.lacking.stock[scarce], heads - 1, "{method}");
        let things = |r: &Remedy| if let Change::Things(n) = &r.change { Some(n.clone()) } else { None };
        let asked =
            plan.remedies.iter().find_map(things).unwrap_or_else(|| panic!("{method}: {:?}", plan.remedies));
        assert_eq!(asked, plan.lacking.stock);
        let enough = format!("most = {heads}");
        let text = supper_text(&[NOON], &only).replace("most = 100", &enough).replace("most = 50", &enough);
        assert!(
            headwater::decide::plan::plan(event(&text), Settings { lots: 16, ..Settings::default() })
                .expect("a plan")
                .lasts()
        );
    }
}

#[test]
fn access_up_to_the_doors_is_asked_for() {
    // Too much work for one person in half an hour, and an hour that ends with the doors would be enough for it.
    let text = supper_text(&[("14:30", "15:00")], "treatments = [\"water tube\"]\n")
        .replace("people = 4", "people = 1")
        .replace("skilled = 2\n", "")
        .replace("heads = 40", "heads = 31")
        .replace("most = 100\n", "");
    let plan = plan(event(&text), Settings { lots: 16, ..Settings::default() }).expect("a plan");
    assert!(plan.lacking.people > 0, "31 heads at 75 s");
    let asked = |from: f64, to: f64| {
        let same = |r: &Remedy| matches!(r.change, Change::Access(a, b) if close(a, from) && close(b, to));
        plan.remedies.iter().any(same)
    };
    // Half an hour more, at once or before the doors.
    assert!(asked(15.0, 15.5) && asked(15.5, 16.0), "{:?}", plan.remedies);
    // Where the access ends half an hour before the doors these are the same, and told once.
    let text = text.replace("from = \"14:30\"\nto = \"15:00\"", "from = \"15:00\"\nto = \"15:30\"");
    let plan = headwater::decide::plan::plan(event(&text), Settings { lots: 16, ..Settings::default() })
        .expect("a plan");
    let all: Vec<_> = plan.remedies.iter().filter(|r| matches!(r.change, Change::Access(..))).collect();
    assert!(
        all.len() == 1 && matches!(all[0].change, Change::Access(a, b) if close(a, 15.5) && close(b, 16.0)),
        "{all:?}"
    );
}

#[test]
fn access_beyond_the_doors_is_not_asked_for() {
    // 15:15 to 15:45 are too short for 30 tubes; a quarter of an hour more would do, but half an hour goes past the doors.
    let text = supper_text(&[("15:15", "15:45")], "treatments = [\"water tube\"]\n")
        .replace("people = 4", "people = 1")
        .replace("skilled = 2\n", "")
        .replace("heads = 40", "heads = 30");
    let plan = plan(event(&text), Settings { lots: 16, ..Settings::default() }).expect("a plan");
    assert!(plan.lacking.people > 0, "30 heads at 75 s take longer than half an hour");
    let late = |r: &&Remedy| matches!(r.change, Change::Access(_, to) if to > 16.0 + 1e-9);
    assert!(!plan.remedies.iter().any(|r| late(&r)), "{:?}", plan.remedies);
}

#[test]
fn tubes_are_filled_up_in_the_hour_before() {
    // Half hours from 12:00: 14:00 ends the fourth, 14:10 lies in the fifth, an hour before it the third has begun.
    let parts = |access: &[(&str, &str)], at: &str| {
        let event = supper(
            access,
            &format!("treatments = [\"water tube\"]\ntube = \"10 ml\"\nrefill = [\"{at}\"]\n"),
        );
        let order = first_order(&event);
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let scene = Scene::new(&event, order, &spaces, (1, 8));
        let all = [scene.option(Treatment::new(Method::WaterTube, 10.0), None, 12.0, vec![1.0; 8])];
        let offer = offers(&event, &slots(&event, &duties(&event)), (order.0, order.1, 0), &all).remove(0);
        assert!(
            offer
                .candidate
                .parts
                .iter()
                .skip(1)
                .all(|p| close(p.hours, 40.0 * 0.25 / 60.0 * 1.25) && !p.skilled)
        );
        offer.candidate.parts[1..].iter().map(|p| (p.first, p.end)).collect::<Vec<_>>()
    };
    assert_eq!(parts(&[NOON], "14:00"), [(2, 4)]);
    assert_eq!(parts(&[NOON], "14:10"), [(3, 5)]);
    // For five somebody stays, in the half hour before, after the slot in which nothing is done; and nobody fills up in an
    // access what is wanted in the next.
    assert_eq!(parts(&[NOON], "17:00"), [(9, 10)]);
    assert_eq!(parts(&[("12:00", "14:00"), ("14:30", "15:45")], "15:00"), [(4, 5)]);
}

#[test]
fn tubes_of_the_evening_are_filled_up_at_the_end_if_nothing_else_is_said() {
    let filled_up = |access: &[(&str, &str)], more: &str| {
        let event = supper(access, more);
        let order = first_order(&event);
        let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
        let options = Scene::new(&event, order, &spaces, (1, 8)).options();
        assert!(options.iter().all(|c| c.top_up.is_none() || c.treatment.method == Method::WaterTube));
        options.iter().filter_map(|c| Some((c.place_at, c.treatment.tube_ml, c.top_up?))).collect::<Vec<_>>()
    };
    let two = [("day before 17:00", "day before 18:00"), ("12:00", "15:00")];
    let of_size = |ml: f64| [-7.0, -6.5, -6.0].map(|at| (at, ml, 15.0));
    assert_eq!(filled_up(&two, ""), [of_size(10.0), of_size(20.0)].concat());
    assert_eq!(filled_up(&two[1..], ""), []);
    assert_eq!(filled_up(&two, "refill = [\"14:00\"]\n"), []);
}

#[test]
fn an_order_fares_the_same_whatever_else_is_ordered() {
    // The same flower in another state, and another in the same: each as if it were alone.
    let flowers = [
        "flower = \"dahlia\"\nleaves = \"on\"\n",
        "flower = \"rose\"\n",
        "flower = \"rose\"\nleaves = \"on\"\n",
    ];
    let more = |f: &str| format!("[[piece.flower]]\nheads = 20\n{f}");
    let few = Settings { lots: 16, ..Settings::default() };
    let all = prospects(supper(&[NOON], &flowers.map(more).concat()), few).expect("a plan");
    for (i, f) in flowers.iter().enumerate() {
        let alone = prospects(supper(&[NOON], &more(f)), few).expect("a plan");
        let shares = |options: &[PlacingOption]| {
            options.iter().map(|c| (c.place_at, c.share, c.count)).collect::<Vec<_>>()
        };
        assert_eq!(shares(&all.options[i + 1]), shares(&alone.options[1]), "{f}");
    }
}

/// Of 84 stems one in twenty breaks, which leaves 80 heads. Forty are looked at closely, and have theirs; the other forty go to
/// those seen across a room as 30 to 60, that is 13 and 27.
#[test]
fn too_few_stems_go_to_what_is_looked_at_closely() {
    let piece = |name: &str, counts: &str, heads: u32| {
        format!(
            "[[piece]]\nname = \"{name}\"\nspace = \"barn\"\nuntil = \"21:00\"\ncounts = \"{counts}\"\n\
             [[piece.flower]]\nflower = \"rose\"\nheads = {heads}\n"
        )
    };
    let pieces = [("arch", "wilted", 30), ("posy", "flagging", 40), ("swag", "wilted", 60)]
        .map(|(n, c, h)| piece(n, c, h));
    let event = supper(&[NOON], &pieces.concat());
    let rose = &meant(&event, "rose").expect("it has roses");
    let heads = |event: &Event| -> Vec<(String, u32)> {
        event.pieces.iter().map(|p| (p.name.clone(), p.orders.iter().map(|o| o.heads).sum())).collect()
    };
    let named = |list: &[(&str, u32)]| list.iter().map(|(n, h)| (n.to_string(), *h)).collect::<Vec<_>>();
    let (with, thinned) = with_fewer(&event, rose, 84);
    assert_eq!(heads(&with), named(&[("table", 40), ("arch", 13), ("posy", 40), ("swag", 27)]));
    let told: Vec<_> =
        thinned.iter().map(|t| (event.order(t.id).0.name.as_str(), t.ordered, t.gets)).collect();
    assert_eq!(told, [("arch", 30, 13), ("swag", 60, 27)]);
    // Of twenty heads none is left for what is far off, and what has none is not made.
    let (with, thinned) = with_fewer(&event, rose, 21);
    assert_eq!(heads(&with), named(&[("table", 40), ("posy", 20)]));
    assert_eq!(thinned.iter().map(|t| t.gets).collect::<Vec<_>>(), [0, 20, 0]);
    // 137 stems leave 130 heads, which are enough.
    let (with, thinned) = with_fewer(&event, rose, 137);
    assert!(thinned.is_empty() && heads(&with) == heads(&event));
    assert_eq!(with_fewer(&event, rose, 136).1.len(), 1);
    // What she calls otherwise is bought apart, and stems of several heads give as many.
    let own = "[[piece]]\nname = \"wreath\"\nspace = \"barn\"\nuntil = \"21:00\"\n\
               [[piece.flower]]\nflower = \"moon flower\"\nlike = \"rose\"\nheads = 10\n\
               [[piece.flower]]\nflower = \"spray rose\"\nheads = 40\n";
    let all = supper(&[NOON], &(pieces.concat() + own));
    let moon = meant(&all, "Moon Flower").expect("hers");
    let of = |event: &Event, sort: &str| -> Vec<u32> {
        event.orders().filter(|(.., o)| o.flower_name() == sort).map(|(.., o)| o.heads).collect()
    };
    let (with, thinned) = with_fewer(&all, rose, 21);
    assert!(of(&with, "moon flower") == [10] && thinned.iter().all(|t| all.order(t.id).1.own_name.is_none()));
    assert_eq!(of(&with_fewer(&all, &moon, 8).0, "moon flower"), [7]);
    let spray = meant(&all, "spray rose").expect("it has them");
    assert_eq!(of(&with_fewer(&all, &spray, 8).0, "spray rose"), [30], "7.6 unbroken stems of four heads");
    // What came soft is worth what comes straight from the box, and the rest is as it was.
    let soft = soft(&event, rose);
    for ((.., order), (.., before)) in soft.orders().zip(event.orders()) {
        let is_soft = order.handling.conditioning == Conditioning::FromTheBox;
        assert!(is_soft == (order.flower.id() == rose.flower.id()) && order.heads == before.heads);
    }
}
