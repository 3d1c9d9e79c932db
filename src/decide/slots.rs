//! The time in which people can be on site, cut into slots.

use super::solve::model::Slot;
use crate::event::Event;

/// The length of a slot, h, and the number of slots above which they are made longer.
const SLOT: f64 = 0.5;
const MOST_SLOTS: f64 = 40.0;

/// The time in which people can be on site as slots, in order, each call by itself: the access up to the doors, then the
/// times of `duties` that fall outside it. They are cut wherever the placing of a piece or a duty begins or ends.
pub fn slots(event: &Event, duties: &[(f64, f64)]) -> Vec<Slot> {
    let access: Vec<(f64, f64)> =
        event.access.iter().map(|(a, b)| (*a, b.min(event.doors))).filter(|(a, b)| a < b).collect();
    let length = (access.iter().map(|(a, b)| b - a).sum::<f64>() / MOST_SLOTS / SLOT).ceil().max(1.0) * SLOT;
    let mut slots = Vec::new();
    for (call, &(from, to)) in access.iter().enumerate() {
        let mut cuts = vec![from, to];
        for (a, b) in event.pieces.iter().flat_map(|p| event.windows(p)).chain(duties.iter().copied()) {
            cuts.extend([a, b].into_iter().filter(|t| *t > from && *t < to));
        }
        cuts.sort_unstable_by(f64::total_cmp);
        cuts.dedup();
        for cut in cuts.windows(2) {
            // Slots of full length first, then a shorter one for the rest.
            let n = ((cut[1] - cut[0]) / length - 1e-9).ceil() as usize;
            slots.extend((0..n).map(|i| {
                let from = cut[0] + i as f64 * length;
                Slot { from, to: (from + length).min(cut[1]), call }
            }));
        }
    }
    outside(event, duties, slots)
}

/// Adds slots for the duties that fall outside the access. Whoever is on site may stay for one that begins within the
/// shortest time paid; for a later one people come anew.
fn outside(event: &Event, duties: &[(f64, f64)], mut slots: Vec<Slot>) -> Vec<Slot> {
    let mut open: Vec<(f64, f64)> =
        duties.iter().copied().filter(|d| between(&slots, d.0, d.1).is_none()).collect();
    let within =
        |at: f64| event.access.iter().any(|(a, b)| *a - 1e-9 <= at && at < b.min(event.doors) - 1e-9);
    open.retain(|(from, to)| from.is_finite() && from < to && !within(*from));
    open.sort_by(|a, b| a.partial_cmp(b).expect("times are numbers"));
    for (from, to) in open {
        let last = slots.last().copied();
        let reached = last.map_or(f64::NEG_INFINITY, |s| s.to);
        let (from, to) = (from.max(reached), to);
        if from >= to - 1e-9 {
            continue;
        }
        let stays = last.filter(|_| from - reached <= event.means.minimum.max(SLOT) + 1e-9);
        let call = match (stays, last) {
            (Some(last), _) => last.call,
            (None, last) => last.map_or(0, |s| s.call + 1),
        };
        if stays.is_some() && from > reached + 1e-9 {
            slots.push(Slot { from: reached, to: from, call });
        }
        let n = ((to - from) / SLOT - 1e-9).ceil() as usize;
        slots.extend((0..n).map(|i| {
            let from = from + i as f64 * SLOT;
            Slot { from, to: (from + SLOT).min(to), call }
        }));
    }
    slots
}

/// The slots that lie wholly between two hours, as the first and the one after the last; `None` if there are none.
pub fn between(slots: &[Slot], from: f64, to: f64) -> Option<(usize, usize)> {
    let inside = |s: &Slot| s.from >= from - 1e-9 && s.to <= to + 1e-9;
    let first = slots.iter().position(inside)?;
    let last = slots.iter().rposition(inside)?;
    Some((first, last + 1))
}

/// The slots in the `hours` before `at`, as the first and the one after the last; `None` if nobody is on site at `at`.
pub fn before(slots: &[Slot], at: f64, hours: f64) -> Option<(usize, usize)> {
    let end = slots.iter().rposition(|s| s.from < at && at <= s.to + 1e-9)?;
    let call = slots[end].call;
    let first = (0..=end).find(|i| slots[*i].call == call && slots[*i].from >= at - hours - 1e-9);
    Some((first.unwrap_or(end), end + 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::event::invented;

    fn cut(access: &str, duties: &[(f64, f64)]) -> Vec<(f64, f64, usize)> {
        let event = invented(access, "[[piece.flower]]\nflower = \"rose\"\nheads = 9\n");
        slots(&event, duties).iter().map(|s| (s.from, s.to, s.call)).collect()
    }

    const CREW: &str = "[crew]\nminimum = \"3 h\"\n";
    const MORNING: &str = "[[access]]\nfrom = \"09:00\"\nto = \"10:15\"\n";

    /// Half hours and a rest; a duty that begins within cuts them, and the doors end them.
    #[test]
    fn access_is_cut_into_half_hours() {
        assert_eq!(cut(MORNING, &[]), [(9.0, 9.5, 0), (9.5, 10.0, 0), (10.0, 10.25, 0)]);
        assert_eq!(cut(MORNING, &[(9.25, 9.75)]), [(9.0, 9.25, 0), (9.25, 9.75, 0), (9.75, 10.25, 0)]);
        let late = cut("[[access]]\nfrom = \"15:30\"\nto = \"18:00\"\n", &[]);
        assert_eq!(late, [(15.5, 16.0, 0)], "nobody sets up after the doors");
    }

    /// After the access, within three paid hours, the same people stay; later others come.
    #[test]
    fn who_is_there_stays_for_a_duty_soon_after() {
        let morning = CREW.to_string() + MORNING;
        let soon = cut(&morning, &[(12.0, 12.75)]);
        assert_eq!(soon[2..], [(10.0, 10.25, 0), (10.25, 12.0, 0), (12.0, 12.5, 0), (12.5, 12.75, 0)]);
        let late = cut(&morning, &[(14.0, 14.5)]);
        assert_eq!(late[2..], [(10.0, 10.25, 0), (14.0, 14.5, 1)]);
        // Up to three hours later, no more; from the doors on, though there is access.
        let call = |from: f64| cut(&morning, &[(from, from + 0.5)]).last().unwrap().2;
        assert_eq!([call(13.25), call(13.5)], [0, 1]);
        let open = CREW.to_string() + "[[access]]\nfrom = \"15:00\"\nto = \"18:00\"\n";
        assert_eq!(cut(&open, &[(16.0, 16.5)])[1..], [(15.5, 16.0, 0), (16.0, 16.5, 0)]);
        // One after another, and what the first takes is not taken again.
        let two = cut(&morning, &[(12.0, 12.5), (12.25, 13.0), (17.0, 17.25)]);
        assert_eq!(two[4..], [(12.0, 12.5, 0), (12.5, 13.0, 0), (17.0, 17.25, 1)]);
        // What has no length, or begins while there is access, adds nothing outside.
        assert_eq!(cut(&morning, &[(14.0, 14.0)]).len(), 3);
    }

    #[test]
    fn whole_slots_are_found_between_and_before() {
        let event = invented(MORNING, "[[piece.flower]]\nflower = \"rose\"\nheads = 9\n");
        let slots = slots(&event, &[]);
        assert_eq!(between(&slots, 9.0, 10.0), Some((0, 2)));
        assert_eq!(between(&slots, 9.1, 10.25), Some((1, 3)));
        assert_eq!(between(&slots, 9.1, 9.4), None);
        assert_eq!(before(&slots, 10.0, 0.5), Some((1, 2)));
        assert_eq!(before(&slots, 10.25, 5.0), Some((0, 3)));
        assert_eq!(before(&slots, 11.0, 1.0), None);
    }
}
