//! `look`: how full a runner is, from which heads and sprigs are counted where the florist gives only its length.

use super::model::Order;
use crate::flower::catalogue::Kind;
use crate::units::Length;

/// How full a runner looks.
#[derive(Debug, Clone, Copy)]
pub struct Look {
    words: &'static str,
    sprigs_a_foot: f64,
    heads_a_metre: f64,
}

/// Sprigs of soft ruscus to the foot, heads to the metre. Common practice, from memory: 1, 2 and 3 to 4 sprigs; 4 to 6,
/// 8 to 12 and 16 to 24 heads.
pub const LOOKS: &[(&str, Look)] = &[
    ("thin", Look { words: "thin", sprigs_a_foot: 1.0, heads_a_metre: 5.0 }),
    ("standard", Look { words: "standard", sprigs_a_foot: 2.0, heads_a_metre: 10.0 }),
    ("lush", Look { words: "lush", sprigs_a_foot: 3.5, heads_a_metre: 20.0 }),
];
/// One foot, m.
const FOOT: f64 = 0.3048;

impl Look {
    /// Fills in the counts that the florist left to the look, in equal parts among the greens and among the flowers,
    /// and says what it took; `None` where every count is given.
    pub fn fill(&self, orders: &mut [Order], (length, count): (&Length, u32), piece: &str) -> Option<String> {
        let mut told = Vec::new();
        for greens in [true, false] {
            let mut open: Vec<&mut Order> = orders
                .iter_mut()
                .filter(|o| o.heads == 0 && (o.flower.kind() == Kind::Foliage) == greens)
                .collect();
            if open.is_empty() {
                continue;
            }
            let all = match greens {
                true => length.metres / FOOT * self.sprigs_a_foot,
                false => length.metres * self.heads_a_metre,
            };
            let each = (all / open.len() as f64).ceil().max(1.0);
            open.iter_mut().for_each(|o| o.heads = each as u32 * count);
            told.push(match greens {
                true => format!("{:.0} sprigs, {} to the foot", each * open.len() as f64, self.sprigs_a_foot),
                false => {
                    format!("{:.0} heads, {} to the metre", each * open.len() as f64, self.heads_a_metre)
                }
            });
        }
        (!told.is_empty()).then(|| {
            format!(
                "a {} look over the {length} of {piece} takes {}{} (common practice, no source)",
                self.words,
                if count > 1 { "for each " } else { "" },
                told.join(", and ")
            )
        })
    }
}
