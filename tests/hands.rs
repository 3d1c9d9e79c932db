//! The cheapest plan of hands and material: against an independent solver, against trying everything, against greed;
//! and what the crew is told to do.

mod common;

use common::planned;
use headwater::decide::solve::model::{Candidate, Crew, Model, Pack, Part, Shift, Slot, Solution};
use headwater::decide::solve::roster::{Person, Task, roster};
use headwater::numerics::random::Key;
use headwater::report::crew;
use headwater::report::facts::Facts;
use rand::RngExt;
use serde_json::Value;

/// The gap at which the search may stop, and rounding.
const WITHIN: f64 = 0.0051;

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap_or_else(|| panic!("{v} is not a number"))
}

fn whole(v: &Value) -> usize {
    v.as_u64().unwrap_or_else(|| panic!("{v} is not a whole number")) as usize
}

fn list(v: &Value) -> &Vec<Value> {
    v.as_array().unwrap_or_else(|| panic!("{v} is not a list"))
}

fn model(case: &Value) -> Model {
    let slot = |s: &Value| Slot { from: number(&s[0]), to: number(&s[1]), call: whole(&s[2]) };
    let part = |p: &Value| Part {
        first: whole(&p["first"]),
        end: whole(&p["end"]),
        skilled: p["skilled"].as_bool().expect("a flag"),
        hours: number(&p["hours"]),
    };
    let candidate = |c: &Value| Candidate {
        parts: list(&c["parts"]).iter().map(part).collect(),
        cost: number(&c["cost"]),
        regret: 0.0,
        uses: list(&c["uses"]).iter().map(|u| whole(u) as u32).collect(),
        takes: None,
    };
    let crew = &case["crew"];
    Model {
        slots: list(&case["slots"]).iter().map(slot).collect(),
        jobs: list(&case["jobs"]).iter().map(|j| list(j).iter().map(candidate).collect()).collect(),
        crew: Crew {
            people: whole(&crew["people"]) as u32,
            skilled: whole(&crew["skilled"]) as u32,
            hourly: number(&crew["hourly"]),
            minimum: number(&crew["minimum"]),
        },
        stock: list(&case["stock"]).iter().map(|s| s.as_u64().map(|n| n as u32)).collect(),
        packs: Vec::new(),
    }
}

/// Whether some choice with some hands can be done, told by the hours that every set of work can be given at most:
/// for work that any free hand may do, what begins in some stretch and ends in it must fit into it.
///
/// # Source
/// Hall's condition for intervals (Hall 1935, from memory), with the skilled as a second kind of hands.
fn feasible(model: &Model, chosen: &[usize], shifts: &[Shift]) -> bool {
    let parts: Vec<&Part> = model.jobs.iter().zip(chosen).flat_map(|(j, c)| &j[*c].parts).collect();
    let n = model.slots.len();
    let there = |slot: usize, skilled: bool| -> f64 {
        let hours = model.slots[slot].to - model.slots[slot].from;
        let here = shifts.iter().filter(|s| s.first <= slot && slot < s.end && (s.skilled || !skilled));
        hours * here.map(|s| f64::from(s.people)).sum::<f64>()
    };
    let fits = |skilled: (usize, usize), any: (usize, usize)| {
        // Skilled work inside the one stretch and other work inside the other.
        let work: f64 = parts
            .iter()
            .filter(|p| {
                let (a, b) = if p.skilled { skilled } else { any };
                a <= p.first && p.end <= b
            })
            .map(|p| p.hours)
            .sum();
        let room: f64 = (0..n)
            .map(|s| match (skilled.0 <= s && s < skilled.1, any.0 <= s && s < any.1) {
                (_, true) => there(s, false),
                (true, false) => there(s, true),
                _ => 0.0,
            })
            .sum();
        work <= room + 1e-6
    };
    let stretches: Vec<(usize, usize)> = (0..n).flat_map(|a| (a..=n).map(move |b| (a, b))).collect();
    let stock = model.stock.iter().enumerate().all(|(i, stock)| {
        let used: u32 = model.jobs.iter().zip(chosen).map(|(j, c)| j[*c].uses[i]).sum();
        stock.is_none_or(|most| used <= most)
    });
    let hired = (0..n).all(|s| {
        let at = |skilled: bool| -> u32 {
            let here = shifts.iter().filter(|h| h.first <= s && s < h.end && (h.skilled || !skilled));
            here.map(|h| h.people).sum()
        };
        at(false) <= model.crew.people && at(true) <= model.crew.skilled
    });
    stock && hired && stretches.iter().all(|a| stretches.iter().all(|b| fits(*a, *b)))
}

// Source: optima by a general-purpose mixed-integer solver (HiGHS, through SciPy), on a formulation of its own; see
// reference-data/checks/README.md.
#[test]
fn the_cheapest_plan_is_that_of_an_independent_solver() {
    let text = include_str!("../reference-data/checks/assignments.json");
    let file: Value = serde_json::from_str(text).expect("well-formed");
    let cases = list(&file["cases"]);
    assert!(cases.len() >= 25);
    let (mut close, mut all) = (0, 0);
    for (i, case) in cases.iter().enumerate() {
        let model = model(case);
        let found = model.within_means();
        let Some(optimum) = case["optimum"].as_f64() else {
            assert!(found.is_none(), "case {i}: a plan for what cannot be done");
            let stretched = model.at_a_stretch();
            assert!(!stretched.lacking.is_nothing(), "case {i}: nothing is lacking, yet it cannot be done");
            continue;
        };
        let found = found.unwrap_or_else(|| panic!("case {i}: no plan, but one of {optimum} is known"));
        assert!(
            found.cost >= optimum - 1e-4,
            "case {i}: {} is cheaper than the optimum {optimum}",
            found.cost
        );
        // Where the search stopped at its limit it says by how much at most it may be beaten.
        let gap = found.gap.max(WITHIN);
        assert!(
            found.cost * (1.0 - gap) <= optimum + 1e-6 && found.cost <= optimum * 1.02,
            "case {i}: {} for an optimum of {optimum}, a gap of {gap} told",
            found.cost
        );
        close += usize::from(found.cost <= optimum * (1.0 + WITHIN));
        all += 1;
        assert!(model.slots.len() > 10 || feasible(&model, &found.chosen, &found.shifts), "case {i}");
        if let Some(greedy) = model.greedy() {
            assert!(found.cost <= greedy.cost + 1e-6, "case {i}: greed is cheaper");
        }
    }
    assert!(5 * close >= 4 * all, "only {close} of {all} are as good as the optimum");
}

/// The cheapest plan by trying every choice with every crew.
fn by_trying(model: &Model) -> Option<f64> {
    let n = model.slots.len();
    let mut shifts = Vec::new();
    for first in 0..n {
        for end in first + 1..=n {
            if model.slots[first].call == model.slots[end - 1].call {
                shifts.extend([false, true].map(|skilled| Shift { first, end, people: 0, skilled }));
            }
        }
    }
    let mut crews: Vec<Vec<Shift>> = vec![Vec::new()];
    for shift in shifts {
        let more: Vec<Vec<Shift>> = crews
            .iter()
            .flat_map(|crew| {
                (1..=model.crew.people).map(|people| {
                    let mut crew = crew.clone();
                    crew.push(Shift { people, ..shift });
                    crew
                })
            })
            .filter(|crew| {
                // No more people than there are.
                (0..n).all(|s| {
                    let here = crew.iter().filter(|h| h.first <= s && s < h.end);
                    here.map(|h| h.people).sum::<u32>() <= model.crew.people
                })
            })
            .collect();
        crews.extend(more);
    }
    let mut options: Vec<Vec<usize>> = vec![Vec::new()];
    for job in &model.jobs {
        options = options
            .iter()
            .flat_map(|c| (0..job.len()).map(|k| c.iter().copied().chain([k]).collect::<Vec<_>>()))
            .collect();
    }
    let mut best: Option<f64> = None;
    for chosen in &options {
        for crew in &crews {
            let cost = model.cost(chosen, crew);
            if best.is_none_or(|b| cost < b - 1e-9) && feasible(model, chosen, crew) {
                best = Some(cost);
            }
        }
    }
    best
}

/// A small model with random numbers.
fn small(seed: u64) -> Model {
    let mut draw = Key::named(seed, "small matters").generator(0);
    let mut between = |a: f64, b: f64| a + (b - a) * draw.random::<f64>();
    let slots: Vec<Slot> = (0..3)
        .map(|i| Slot { from: f64::from(i), to: f64::from(i) + 1.0, call: usize::from(i == 2) })
        .collect();
    let jobs = (0..3)
        .map(|_| {
            (0..2)
                .map(|_| {
                    let first = between(0.0, 3.0) as usize;
                    let part =
                        Part { first, end: 3, skilled: between(0.0, 1.0) < 0.3, hours: between(0.2, 1.1) };
                    let uses = vec![between(0.0, 12.0) as u32];
                    let takes = Some((between(0.0, 2.0) as usize, between(1.0, 9.0)));
                    Candidate { parts: vec![part], cost: between(0.0, 25.0), regret: 0.0, uses, takes }
                })
                .collect()
        })
        .collect();
    let minimum = between(0.0, 2.0).round();
    Model {
        slots,
        jobs,
        crew: Crew { people: 2, skilled: 1, hourly: 20.0, minimum },
        stock: vec![Some(between(8.0, 30.0) as u32)],
        packs: vec![Pack { holds: 5.0, price: 11.0 }, Pack { holds: 10.0, price: 7.0 }],
    }
}

#[test]
fn nothing_that_can_be_tried_is_cheaper() {
    let (mut possible, mut impossible) = (0, 0);
    for seed in 0..24 {
        let model = small(seed);
        match (model.within_means(), by_trying(&model)) {
            (Some(found), Some(best)) => {
                possible += 1;
                assert!(feasible(&model, &found.chosen, &found.shifts), "{seed}: it cannot be done");
                assert!(
                    found.cost >= best - 1e-6 && found.cost <= best * (1.0 + WITHIN) + 1e-6,
                    "{seed}: {} for {best}",
                    found.cost
                );
            }
            (None, None) => impossible += 1,
            (found, best) => panic!("{seed}: {found:?} for {best:?}"),
        }
    }
    assert!(possible >= 8 && impossible >= 2, "{possible} {impossible}: too few of one kind to tell");
}

/// Work between two slots, at a price beside it.
fn work((first, end): (usize, usize), skilled: bool, hours: f64, cost: f64) -> Candidate {
    Candidate {
        parts: vec![Part { first, end, skilled, hours }],
        cost,
        regret: 0.0,
        uses: Vec::new(),
        takes: None,
    }
}

#[test]
fn skilled_hands_that_there_are_not_are_asked_for_last() {
    // One hour; three people, one of them skilled. Two hours of skilled work ask for one skilled person more, whatever
    // is done. The other hour may be done skilled, or for 1000 more by anybody: another skilled person counts for 200
    // hours at 20, which is 4000, so the 1000 are spent.
    let model = Model {
        slots: vec![Slot { from: 12.0, to: 13.0, call: 0 }],
        jobs: vec![
            vec![work((0, 1), true, 2.0, 0.0)],
            vec![work((0, 1), true, 1.0, 0.0), work((0, 1), false, 1.0, 1000.0)],
        ],
        crew: Crew { people: 3, skilled: 1, hourly: 20.0, minimum: 1.0 },
        stock: Vec::new(),
        packs: Vec::new(),
    };
    assert!(model.within_means().is_none());
    let nearest = model.at_a_stretch();
    assert_eq!((nearest.lacking.people, nearest.lacking.skilled), (0, 1));
    assert_eq!(nearest.chosen, [0, 1]);
    assert!((nearest.cost - 1060.0).abs() < 1e-6, "{}", nearest.cost); // three people for an hour
}

#[test]
fn a_short_shift_is_paid_as_the_shortest_is() {
    // Slots of half an hour, three quarters twice, and a quarter; an hour at 20 is paid at least.
    let slots = [(12.0, 12.5), (12.5, 13.25), (13.25, 14.0), (14.0, 14.25)];
    let cheapest = |work: &[(usize, f64)]| {
        let model = Model {
            slots: slots.map(|(from, to)| Slot { from, to, call: 0 }).to_vec(),
            jobs: work
                .iter()
                .map(|(slot, hours)| vec![self::work((*slot, slot + 1), false, *hours, 0.0)])
                .collect(),
            crew: Crew { people: 2, skilled: 2, hourly: 20.0, minimum: 1.0 },
            stock: Vec::new(),
            packs: Vec::new(),
        };
        model.within_means().expect("one person is enough").cost
    };
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} for {b}");
    // Whoever comes for the first slot or the second alone goes home before the hour is over, and is paid for it. Those
    // who stayed for the next slot too would be there for an hour and a quarter, or and a half.
    close(cheapest(&[(0, 0.5)]), 20.0);
    close(cheapest(&[(1, 0.75)]), 20.0);
    // The last two slots are an hour together.
    close(cheapest(&[(2, 0.75)]), 20.0);
    close(cheapest(&[(3, 0.25)]), 20.0);
    close(cheapest(&[(2, 0.75), (3, 0.25)]), 20.0);
    // An hour and a quarter at a stretch costs less than coming twice; so does an hour and a half.
    close(cheapest(&[(0, 0.5), (1, 0.75)]), 25.0);
    close(cheapest(&[(1, 0.75), (2, 0.75)]), 30.0);
    // The first and the last are two calls of the shortest time: what lies between is longer than a third would be.
    close(cheapest(&[(0, 0.5), (3, 0.25)]), 40.0);
}

#[test]
fn more_to_work_with_is_never_dearer() {
    let mut compared = 0;
    for seed in 100..124 {
        let model = small(seed);
        let Some(Solution { cost, .. }) = model.within_means() else { continue };
        let mut richer = [model.clone(), model.clone(), model.clone()];
        richer[0].crew.people += 1;
        richer[1].crew.skilled += 1;
        richer[2].stock = vec![None];
        for (i, more) in richer.iter().enumerate() {
            let then = more.within_means().expect("what could be done still can");
            assert!(then.cost <= cost * (1.0 + WITHIN), "{seed}, {i}: {} after {cost}", then.cost);
            compared += 1;
        }
    }
    assert!(compared > 30, "{compared}");
}

#[test]
fn a_crew_does_each_thing_once_in_its_time() {
    let (mut dealt, mut again) = (0, 0);
    for seed in 0..40 {
        let model = small(seed);
        let Some(plan) = model.within_means() else { continue };
        let tasks: Vec<Task<usize>> = model
            .jobs
            .iter()
            .zip(&plan.chosen)
            .enumerate()
            .map(|(i, (job, c))| {
                let part = job[*c].parts[0];
                Task {
                    work: i,
                    from: model.slots[part.first].from,
                    wish: model.slots[part.first].from,
                    to: model.slots[part.end - 1].to,
                    skilled: part.skilled,
                    hours: part.hours,
                    rank: 1,
                }
            })
            .collect();
        let roster = roster(&model, &plan, &tasks);
        for person in &roster.people {
            let mut free = person.from;
            for assignment in &person.assignments {
                let task = tasks.iter().find(|t| t.work == assignment.work).expect("one of the tasks");
                assert!(
                    assignment.from >= free - 1e-9 && assignment.to > assignment.from,
                    "{seed}: two things at once"
                );
                assert!(
                    assignment.from >= task.from - 1e-9 && assignment.to <= task.to + 1e-9,
                    "{seed}: not in its time"
                );
                assert!(person.skilled || !task.skilled, "{seed}: skilled work by unskilled hands");
                free = assignment.to;
            }
            assert!(free <= person.to + 1e-9, "{seed}: longer than they stay");
        }
        for (i, person) in roster.people.iter().enumerate() {
            assert!((1..=model.crew.people as usize).contains(&person.number), "{seed}: {}", person.number);
            let own = |other: &&Person<usize>| other.number == person.number;
            assert!(
                roster.people[..i].iter().filter(own).all(|p| p.to <= person.from + 1e-9),
                "{seed}: person {} is in two places",
                person.number
            );
        }
        again += roster.people.len() - roster.people.iter().map(|p| p.number).max().unwrap_or(0);
        let done: f64 = roster.people.iter().flat_map(|p| &p.assignments).map(|s| s.to - s.from).sum::<f64>()
            + roster.left;
        let wanted: f64 = tasks.iter().map(|t| t.hours).sum();
        assert!((done - wanted).abs() < 1e-6, "{seed}: {done} h of {wanted}");
        dealt += 1;
    }
    assert!(dealt > 15 && again > 0, "{dealt} dealt, {again} came again");
}

/// A barn on a warm day with an afternoon's access, and what is written besides.
fn event(access: &str, crew: &str, pieces: &str) -> String {
    format!(
        "[event]\nname = \"Supper\"\ndate = 2027-08-14\ndoors = \"16:00\"\nend = \"23:00\"\n{crew}\n{access}\n\
         [[space]]\nname = \"barn\"\nroom = \"warm barn\"\n\
         [target]\npresentable = \"90 %\"\nassurance = \"80 %\"\n{pieces}"
    )
}

const AFTERNOON: &str = "[[access]]\nfrom = \"12:00\"\nto = \"16:00\"\n";

fn table(name: &str, flower: &str, heads: u32) -> String {
    format!(
        "[[piece]]\nname = \"{name}\"\nspace = \"barn\"\nuntil = \"21:00\"\ncounts = \"wilted\"\n\
         [[piece.flower]]\nflower = \"{flower}\"\nheads = {heads}\n"
    )
}

#[test]
fn what_is_bought_covers_what_is_placed() {
    let pieces = table("one", "rose", 70) + &table("two", "rose", 35) + &table("three", "spray rose", 40);
    let plan = planned(&event(AFTERNOON, "[crew]\npeople = 6\n", &pieces));
    let lines = &plan.bill.lines;
    assert_eq!(lines.len(), 2, "one line a flower over all pieces");
    let roses = &lines[0];
    assert_eq!(roses.heads, 105);
    for line in lines {
        let heads = line.heads + line.spares + line.repairs + line.breakage;
        let faces = line.sort.flower.faces_per_stem();
        assert!(line.stems * faces >= heads && (line.stems - 1) * faces < heads, "{line:?}");
        let bought = line.bunches * line.sort.flower.stems_per_bunch();
        assert!(bought >= line.stems && bought - line.stems == line.left_over, "{line:?}");
        assert!(line.left_over < line.sort.flower.stems_per_bunch(), "{line:?}");
        assert!(line.breakage > 0, "{line:?}");
    }
    let things: u32 = plan.bill.things.iter().map(|t| t.number).sum();
    let wet = plan.orders.iter().filter(|f| !f.recommended().treatment.method.is_dry());
    assert_eq!(things, wet.map(|f| f.heads).sum::<u32>());
    let sum = plan.bill.flowers() + plan.bill.material() + plan.bill.hands;
    assert!((plan.bill.total() - sum).abs() < 1e-9);
    assert!(plan.bill.paid_hours >= plan.bill.work_hours - 1e-6);
}

#[test]
fn spares_make_up_for_what_is_lost() {
    let mut some = 0;
    for heads in [12, 30, 60] {
        let piece = table("one", "dahlia", heads) + "treatments = [\"water tube\"]\ntube = \"10 ml\"\n";
        let text = event(AFTERNOON, "[crew]\npeople = 9\n", &piece).replace("80 %", "90 %");
        let plan = planned(&text);
        let flower = plan.orders.first().expect("a flower");
        if !flower.lasts() {
            continue;
        }
        let option = flower.recommended();
        let now = option.count_of(flower.heads);
        assert!(now.p50 >= f64::from(flower.wanted), "{heads}: {now:?} of {}", flower.heads);
        assert_eq!(option.spares.map(|s| s <= flower.spares), Some(true));
        some += flower.spares;
    }
    assert!(some > 0, "no order wanted a spare: nothing was tested");
}

#[test]
fn the_venue_and_the_shelf_are_obeyed() {
    use headwater::flower::treatment::Method::{BudVase, WaterTube};
    let pieces = table("one", "dahlia", 40) + &table("two", "dahlia", 40);
    let night = "[[access]]\nfrom = \"day before 16:00\"\nto = \"day before 20:00\"\n";
    let crew = "[crew]\npeople = 6\n[[tubes]]\nvolume = \"30 ml\"\nmost = 45\n[vases]\nmost = 45\n";
    let plan = planned(&event(night, crew, &pieces));
    assert!(plan.lacking.is_nothing(), "{:?}", plan.lacking);
    for method in [WaterTube, BudVase] {
        let used: u32 =
            plan.bill.things.iter().filter(|t| t.treatment.method == method).map(|t| t.number).sum();
        assert!((1..=45).contains(&used), "{method}: {used}");
    }
    let no_glass = planned(&event(night, &format!("{crew}[venue]\nglass = false\n"), &pieces));
    assert!(no_glass.orders.iter().all(|f| f.recommended().treatment.method != BudVase));
    assert!(
        !no_glass.lasts() && no_glass.lacking.stock[0] > 0,
        "45 tubes are too few: {:?}",
        no_glass.lacking
    );
}

#[test]
fn what_would_help_does() {
    // Too few hands for what must be late.
    let pieces = table("one", "rose", 200) + &table("two", "dahlia", 150);
    let plan = planned(&event(AFTERNOON, "[crew]\npeople = 1\n", &pieces));
    assert!(!plan.lasts() && plan.lacking.people > 0);
    assert!(!plan.remedies.is_empty());
    for remedy in &plan.remedies {
        assert!(remedy.then.works(), "{remedy:?}");
    }
    let costs: Vec<f64> = plan.remedies.iter().map(|r| r.then.cost).collect();
    assert!(costs.windows(2).all(|w| w[0] <= w[1]), "the cheapest first: {costs:?}");
    // With as many people as it asks for, it is done.
    let people = 1 + plan.lacking.people;
    let helped = planned(&event(AFTERNOON, &format!("[crew]\npeople = {people}\n"), &pieces));
    assert!(helped.lasts(), "{:?}", helped.lacking);
}

/// Chores that nobody can do are told, and the others keep their names.
#[test]
fn every_chore_keeps_its_name() {
    let chore = |name: &str, from: &str, to: &str| {
        format!("[[chore]]\nname = \"{name}\"\nwork = \"10 min\"\nfrom = \"{from}\"\nto = \"{to}\"\n")
    };
    let text = headwater::event::TEMPLATE.to_string()
        + &chore("clear away", "next day 00:00", "next day 01:00")
        + &chore("sweep", "day before 10:00", "day before 11:00")
        + &chore("hang the frame", "12:10", "12:20")
        + &chore("light the stove", "10:00", "11:00");
    let plan = planned(&text);
    let told = |name: &str| plan.event.assumptions.iter().any(|a| a.contains(name));
    assert!(told("sweep") && !told("clear away") && !told("hang the frame") && !told("light the stove"));
    let facts = Facts::of(&plan);
    let assignments = || facts.people.iter().flat_map(|p| &p.assignments);
    for (name, from, to) in [
        ("hang the frame", 12.0 + 1.0 / 6.0, 12.0 + 1.0 / 3.0),
        ("light the stove", 10.0, 11.0),
        ("clear away", 24.0, 25.0),
    ] {
        let done: Vec<_> =
            assignments().filter(|s| crew::work(&facts, s) == name).map(|s| (s.from, s.to)).collect();
        assert!(!done.is_empty(), "{name} is done");
        assert!(done.iter().all(|(a, b)| *a >= from - 1e-9 && *b <= to + 1e-9), "{name}: {done:?}");
    }
    assert!(assignments().all(|s| crew::work(&facts, s) != "sweep"));
    assert!(assignments().any(|s| crew::work(&facts, s) == headwater::decide::work::LAST_LOOK));
}

#[test]
fn the_smallest_job_stands_in_every_list() {
    let piece = |n: usize| {
        format!(
            "[[piece]]\nname = \"cake {n}\"\nspace = \"barn\"\nuntil = \"20:00\"\n\
             [[piece.flower]]\nflower = \"rose\"\nheads = 1\n"
        )
    };
    let text = headwater::event::TEMPLATE.to_string() + &(1..=3).map(piece).collect::<String>();
    let plan = planned(&text);
    let facts = Facts::of(&plan);
    for person in &facts.people {
        let mut free = person.from;
        for assignment in &person.assignments {
            assert!(assignment.from >= free - 1e-9, "two things at once");
            assert!(
                assignment.to > assignment.from + 0.08,
                "{} takes no time",
                crew::work(&facts, assignment)
            );
            free = assignment.to;
        }
        assert!(free <= person.to + 1e-9, "longer than they stay");
    }
    let lines: String =
        facts.people.iter().flat_map(|p| headwater::report::sections::assignments(&facts, p)).collect();
    assert!((1..=3).all(|n| lines.contains(&format!("cake {n}: 1 "))), "{lines}");
}
