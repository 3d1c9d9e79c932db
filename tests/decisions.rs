//! Small matters that can be worked out on paper: time cut into slots, journeys, the crew's day, offers, stand-ins.
//!
//! Numbers expected here are worked out by hand, step by step beside each check.

mod common;

use common::{event, flower};
use headwater::climate::Climate;
use headwater::decide::assign::{Assignment, Crew, Lacking, Matter, Shift, Slot};
use headwater::decide::crew::{Rota, Task, Work, rota};
use headwater::decide::options::{Choice, Scene};
use headwater::decide::placing::{grid, placing, times, touched};
use headwater::decide::plan::orders;
use headwater::decide::swaps::{likeness, likest};
use headwater::decide::tasks::{between, chores, matter, offers, slots};
use headwater::event::Event;
use headwater::flower::treatment::{Treatment, Way};
use headwater::simulate::journey::{Leg, Supply};

/// An event in two rooms with a cool store and a van; `access` and `more` go in as they are.
fn supper(access: &[(&str, &str)], more: &str) -> Event {
    let access: String =
        access.iter().map(|(a, b)| format!("[[access]]\nfrom = \"{a}\"\nto = \"{b}\"\n")).collect();
    let room =
        |name: &str| format!("[[space]]\nname = \"{name}\"\ntemperature = \"20 C\"\nhumidity = \"50 %\"\n");
    event(&format!(
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
    ))
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
    let all = slots(&event);
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
    let done = chores(&event, &all);
    let parts: Vec<_> = done.iter().map(|(c, d)| (*c, d.parts[0])).collect();
    assert_eq!(parts.len(), 2);
    assert_eq!((parts[0].0, parts[0].1.first, parts[0].1.end, parts[0].1.skilled), (0, 3, 5, true));
    assert_eq!((parts[1].0, parts[1].1.first, parts[1].1.end, parts[1].1.skilled), (1, 8, 9, false));
    assert!(close(parts[0].1.hours, 1.0 / 3.0) && close(parts[1].1.hours, 2.5 / 60.0));
}

#[test]
fn slots_are_longer_where_there_is_much_time() {
    // 20 h and 14 h: 34 h in half hours would be 68 slots, in hours they are 34, which is fewer than 40.
    let event = supper(&[("day before 00:00", "day before 20:00"), ("02:00", "17:00")], "");
    let all = slots(&event);
    assert_eq!(all.len(), 34);
    assert!(all.iter().all(|s| close(s.to - s.from, 1.0)));
    assert_eq!(all.iter().filter(|s| s.call == 1).count(), 14, "nobody works after the doors");
    assert!(all.iter().all(|s| (s.call == 0) == (s.from < 0.0)));
    // Exactly 20 h are 40 half hours.
    let event = supper(&[("day before 00:00", "day before 16:00"), ("12:00", "16:00")], "");
    assert_eq!(slots(&event).len(), 40);
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

/// The legs with their hours instead of steps.
fn hours(event: &Event, legs: &[Leg]) -> Vec<(usize, f64, f64, Supply)> {
    let grid = grid(event);
    let hour = |step: usize| (grid.hour(step as f64) * 1e6).round() / 1e6;
    legs.iter().map(|l| (l.space, hour(l.from), hour(l.to), l.supply)).collect()
}

#[test]
fn a_journey_is_that_of_the_event() {
    use Supply::{Ample, Dry};
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
        (LORRY, 11.5, 12.0, Dry),
        (PORCH, 12.0, 12.5, Ample),
        (PORCH, 12.5, 13.0, Dry),
    ];
    assert_eq!(hours(&event, &then.before), before);
    assert_eq!(hours(&event, &then.after), after(13.0));
    assert_eq!(then.refills, [grid.index(14.0)]);
    assert_eq!(then.ask, grid.index(21.0));
    // Placed the evening before, as soon as they are there.
    let eve = placing(&event, piece, &grid, -7.0, 0.0, &[]);
    assert_eq!(hours(&event, &eve.before), [(LORRY, -7.5, -7.0, Dry)]);
    assert_eq!(hours(&event, &eve.after), after(-7.0));
    // A longer wait in a box than the crew has been there: they come earlier.
    let boxed = placing(&event, piece, &grid, 12.5, 2.0, &[]);
    let before = [(CELLAR, -7.5, 10.0, Ample), (LORRY, 10.0, 10.5, Dry), (PORCH, 10.5, 12.5, Dry)];
    assert_eq!(hours(&event, &boxed.before), before);
}

/// People who are there from 10:00 on, for so many hours each, and whether they are skilled.
fn dealt(people: &[(usize, bool)], tasks: &[Task]) -> Rota {
    let slots: Vec<Slot> = (0..8)
        .map(|i| Slot { from: 10.0 + 0.5 * f64::from(i), to: 10.5 + 0.5 * f64::from(i), call: 0 })
        .collect();
    let matter = Matter {
        slots,
        jobs: Vec::new(),
        crew: Crew { people: 9, skilled: 9, hourly: 20.0, minimum: 0.0 },
        stock: Vec::new(),
    };
    let shifts = people
        .iter()
        .map(|&(hours, skilled)| Shift { first: 0, end: 2 * hours, people: 1, skilled })
        .collect();
    let hired = Assignment { chosen: Vec::new(), shifts, cost: 0.0, gap: 0.0, lacking: Lacking::default() };
    rota(&matter, &hired, tasks)
}

fn task(work: Work, (from, wish, to): (f64, f64, f64), hours: f64, rank: u32) -> Task {
    Task { work, from, wish, to, skilled: false, hours, rank }
}

#[track_caller]
fn does(rota: &Rota, person: usize, expected: &[(Work, f64, f64)]) {
    let stints = &rota.people[person].stints;
    let alike = stints.len() == expected.len()
        && stints.iter().zip(expected).all(|(s, e)| s.work == e.0 && close(s.from, e.1) && close(s.to, e.2));
    assert!(alike, "{stints:?}");
}

#[test]
fn a_crews_day_is_dealt_by_rule() {
    let [unload, greens, heads, wired] =
        [Work::Chore(0), Work::Place(0, 0), Work::Place(0, 1), Work::Place(1, 0)];
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
    assert_eq!(day.span(Work::Chore(9)), None);
    // By unskilled hands alone the wired heads are left undone.
    let day = dealt(&[(2, false)], &tasks[2..]);
    does(&day, 0, &[(unload, 10.0, 10.5)]);
    assert!(close(day.left, 1.0));
}

#[test]
fn what_is_pressing_interrupts_what_is_not() {
    let [slow, soon, later] = [Work::Chore(0), Work::Chore(1), Work::Chore(2)];
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

#[test]
fn offers_cost_what_they_take() {
    // 40 dahlias at 2.00 a stem, from 12:00 to 14:00; of every delivery the same share is presentable.
    let event = supper(&[("12:00", "14:00")], "");
    let order = orders(&event).next().unwrap();
    let spaces: Vec<Climate> = event.spaces.iter().map(|s| s.climate.clone()).collect();
    let scene = Scene::new(&event, order, &spaces, (1, 8));
    let tried = |way: Way, at: f64, share: f64| scene.choice(way, None, at, vec![share; 8]);
    let tube = |ml: f64| Way::new(Treatment::WaterTube, ml);
    let tucked = Way::new(Treatment::Tucked, 0.0);
    let run = |way: Way, shares: [f64; 5]| -> Vec<Choice> {
        (0..5).zip(shares).map(|(i, share)| tried(way, 12.0 + 0.5 * f64::from(i), share)).collect()
    };
    let time = slots(&event);
    // Dry lasts when placed at 13:00 or later, all of it; in a tube always.
    let choices = [run(tucked, [0.2, 0.3, 1.0, 1.0, 1.0]), run(tube(20.0), [1.0; 5])].concat();
    let all = offers(&event, &time, order, &choices);
    assert_eq!(all.len(), 2, "{all:?}");
    let (dry, wet) = (&all[0], &all[1]);
    assert!(dry.lasts && dry.spares == 0 && close(dry.earliest, 13.0) && close(dry.last, 14.0));
    assert_eq!((dry.first, wet.first), (2, 5));
    // Tucked: 40 heads at 80 an hour and a quarter more; nothing is used.
    let part = dry.candidate.parts[0];
    assert_eq!((part.first, part.end, part.skilled), (2, 4, false));
    assert!(close(part.hours, 0.625) && close(dry.candidate.cost, 0.0));
    assert_eq!(dry.candidate.uses, [0, 0, 0]);
    // In tubes of 20 ml: 40 heads at 62 an hour and a quarter more, 30 cents each.
    let part = wet.candidate.parts[0];
    assert_eq!((part.first, part.end), (0, 4));
    assert!(close(part.hours, 40.0 / 62.0 * 1.25) && close(wet.candidate.cost, 12.0));
    assert_eq!(wet.candidate.uses, [0, 40, 0]);
    // Nothing is lost, so only the hair for trouble is regretted.
    assert!(dry.candidate.regret < 1e-3 && wet.candidate.regret < 1e-3);

    // Of nine in ten 36 of 40 are wanted. At a share of 0.9 they are likely with two, four or six spares only.
    let choices = run(tucked, [0.9; 5]);
    let spares = choices[0].spares.expect("a few more are enough");
    assert!([2, 4, 6].contains(&spares), "{spares}");
    let all = offers(&event, &time, order, &choices);
    let spare = &all[0];
    assert!(spare.lasts && spare.spares == spares && close(spare.earliest, 12.0));
    // Each spare is a stem; of all heads one in ten is lost, at half a stem of 2.00 each.
    let heads = f64::from(40 + spares);
    let stems = f64::from(spares.div_ceil(order.1.flower.faces_per_stem()));
    assert!(close(spare.candidate.cost, 2.0 * stems));
    assert!((spare.candidate.regret - heads * 0.1).abs() < 1e-6, "{}", spare.candidate.regret);
    assert!(close(spare.candidate.parts[0].hours, heads / 80.0 * 1.25));

    // Where nothing lasts, the best is offered, and earlier at three stems for each head that this loses.
    let choices = run(tucked, [0.0, 0.1, 0.2, 0.3, 0.4]);
    let all = offers(&event, &time, order, &choices);
    assert!(all.iter().all(|o| !o.lasts && o.spares == 0));
    let at = |place: f64| all.iter().find(|o| close(choices[o.first].place_at, place)).expect("an offer");
    // At 13:30 four heads fewer than at 14:00 last; at 14:00 itself there is no time left.
    assert!(close(at(13.5).candidate.regret, 3.0 * 4.0 * 2.0), "{}", at(13.5).candidate.regret);
    assert!(close(at(13.0).candidate.regret, 3.0 * 8.0 * 2.0));
    assert!(all.iter().all(|o| choices[o.first].place_at < 14.0));

    // The whole matter: orders, then chores; hands and stock as the event has them.
    let whole = matter(&event, &time, &[all.clone()]);
    assert_eq!(whole.jobs.len(), 2);
    assert_eq!(whole.jobs[0].len(), all.len());
    let crew = Crew { people: 4, skilled: 2, hourly: 20.0, minimum: 2.0 };
    assert_eq!((whole.crew, whole.stock), (crew, vec![Some(100), None, Some(50)]));
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
    // The likest first, of the same kind, and none that is hardly like at all.
    let all = likest(dahlia, month, None, 200);
    assert!(all.windows(2).all(|w| w[0].1.score >= w[1].1.score));
    assert!(all.iter().all(|(f, l)| l.score > 0.02 && f.kind() == dahlia.kind() && f.id() != dahlia.id()));
    let like = |f: &&headwater::flower::catalogue::Flower| likeness(dahlia, f, month, None).score > 0.02;
    let kin = common::flowers().iter().filter(|f| f.kind() == dahlia.kind() && f.id() != dahlia.id());
    assert_eq!(all.len(), kin.filter(like).count());
    assert_eq!(likest(dahlia, month, None, 5).len(), 5);
}
