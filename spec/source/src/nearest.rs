//! The word that was probably meant.

/// Longer words are not compared.
const LONGEST: usize = 64;

/// The candidate nearest to a word, if it is near enough to have been meant.
///
/// Near is a small number of letters left out, added, exchanged or swapped with their neighbour: one in a word
/// of two to four letters, two up to eight, three in longer ones. Case does not count, nor whether `-`, `_`,
/// `.` or a blank stands between parts. If no candidate is near, one that begins with the word is taken. Of
/// equally near ones the first is taken.
///
/// ```
/// # use loadworthy_source::nearest;
/// let words = ["dead_time", "dc_bus", "frequency"];
/// assert_eq!(nearest("deadtime", words.into_iter()), Some("dead_time"));
/// assert_eq!(nearest("freq", words.into_iter()), Some("frequency"));
/// assert_eq!(nearest("coolant", words.into_iter()), None);
/// ```
pub fn nearest<'a>(word: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let word = Letters::of(word)?;
    let mut limit = match word.length {
        0 | 1 => 0,
        2..=4 => 1,
        5..=8 => 2,
        _ => 3,
    };
    let mut best = None;
    let mut longer = None;
    for candidate in candidates {
        let Some(letters) = Letters::of(candidate) else { continue };
        if longer.is_none() && word.length >= 3 && letters.letters().starts_with(word.letters()) {
            longer = Some(candidate);
        }
        if let Some(distance) = word.distance(&letters, limit) {
            best = Some(candidate);
            // Only something nearer replaces it.
            if distance == 0 {
                break;
            }
            limit = distance - 1;
        }
    }
    best.or(longer)
}

/// The candidate that was clearly meant by a word: it is [`nearest`], no other is as near, and what tells entries of one kind apart,
/// which is numbers and single letters, is as it stands.
///
/// ```
/// # use loadworthy_source::clearly_meant;
/// let names = ["front_bridge", "rear_bridge", "leg_1"];
/// assert_eq!(clearly_meant("fornt_bridge", names.into_iter()), Some("front_bridge"));
/// assert_eq!(clearly_meant("leg_2", names.into_iter()), None);
/// ```
pub fn clearly_meant<'a>(word: &str, candidates: impl Iterator<Item = &'a str> + Clone) -> Option<&'a str> {
    let meant = nearest(word, candidates.clone())?;
    let (own, letters) = (Letters::of(word)?, Letters::of(meant)?);
    let distance = own.distance(&letters, own.length);
    let is_longer = |other: &Letters| own.length >= 3 && other.letters().starts_with(own.letters());
    let is_as_near = |other: &&str| {
        *other != meant
            && Letters::of(other).is_some_and(|other| match distance {
                Some(distance) if distance <= MOST_SLIPS => own.distance(&other, distance).is_some(),
                _ => is_longer(&other),
            })
    };
    (!candidates.clone().any(|other| is_as_near(&other)) && !own.is_told_apart(&letters)).then_some(meant)
}

/// Slips of one word.
const MOST_SLIPS: usize = 3;

struct Letters {
    letters: [char; LONGEST],
    length: usize,
}

impl Letters {
    fn of(word: &str) -> Option<Self> {
        let mut letters = ['\0'; LONGEST];
        let mut length = 0;
        for character in word.chars() {
            *letters.get_mut(length)? = match character {
                '-' | '.' | ' ' => '_',
                other => other.to_lowercase().next().unwrap_or(other),
            };
            length += 1;
        }
        Some(Self { letters, length })
    }

    fn letters(&self) -> &[char] {
        &self.letters[..self.length]
    }

    /// Whether it differs from another in what tells entries of one kind apart: a number, or a letter that stands alone.
    fn is_told_apart(&self, other: &Self) -> bool {
        let digits =
            |of: &Self| of.letters().iter().filter(|c| c.is_ascii_digit()).copied().collect::<String>();
        let parts = |of: &Self| of.letters().split(|c| *c == '_').map(<[char]>::to_vec).collect::<Vec<_>>();
        let (own, others) = (parts(self), parts(other));
        let is_single =
            |(one, other): (&Vec<char>, &Vec<char>)| one.len() == 1 && other.len() == 1 && one != other;
        digits(self) != digits(other) || (own.len() == others.len() && own.iter().zip(&others).any(is_single))
    }

    /// The Damerau-Levenshtein distance of aligned strings, or `None` where it is beyond the limit.
    fn distance(&self, other: &Self, limit: usize) -> Option<usize> {
        let (a, b) = (self.letters(), other.letters());
        if a.len().abs_diff(b.len()) > limit {
            return None;
        }
        let mut before_last = [0; LONGEST + 1];
        let mut last = [0; LONGEST + 1];
        let mut row = [0; LONGEST + 1];
        for (column, cell) in last.iter_mut().enumerate() {
            *cell = column;
        }
        for i in 1..=a.len() {
            row[0] = i;
            let mut least = i;
            for j in 1..=b.len() {
                let exchange = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
                let mut cell = exchange.min(last[j] + 1).min(row[j - 1] + 1);
                if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                    cell = cell.min(before_last[j - 2] + 1);
                }
                row[j] = cell;
                least = least.min(cell);
            }
            // A later row can fall below this one by a swap only, and then not below the one before it.
            if least > limit && last[..=b.len()].iter().all(|&cell| cell > limit) {
                return None;
            }
            before_last = last;
            last = row;
        }
        Some(last[b.len()]).filter(|&distance| distance <= limit)
    }
}

#[cfg(test)]
mod tests {
    use super::{clearly_meant, nearest};

    fn of(word: &str, candidates: &[&'static str]) -> Option<&'static str> {
        nearest(word, candidates.iter().copied())
    }

    #[test]
    fn one_slip_is_understood() {
        let words = ["inlet", "flow", "loss", "carrier", "power_factor"];
        assert_eq!(of("inelt", &words), Some("inlet"));
        assert_eq!(of("inle", &words), Some("inlet"));
        assert_eq!(of("innlet", &words), Some("inlet"));
        assert_eq!(of("flaw", &words), Some("flow"));
        assert_eq!(of("Carrier", &words), Some("carrier"));
        assert_eq!(of("power-factor", &words), Some("power_factor"));
        assert_eq!(of("powerfactor", &words), Some("power_factor"));
        assert_eq!(of("power factr", &words), Some("power_factor"));
    }

    #[test]
    fn another_word_is_not_suggested() {
        assert_eq!(of("x", &["y"]), None);
        assert_eq!(of("", &["y"]), None);
        assert_eq!(of("ab", &["cd"]), None);
        assert_eq!(of("voltage", &["current", "resistance"]), None);
        assert_eq!(of("anything", &[]), None);
    }

    #[test]
    fn the_nearest_wins_and_then_the_first() {
        assert_eq!(of("hose_c", &["hose_a", "hose_b"]), Some("hose_a"));
        assert_eq!(of("plates", &["plane", "plate"]), Some("plate"));
        assert_eq!(of("d", &["D"]), Some("D"));
    }

    #[test]
    fn what_may_have_been_another_is_not_clear() {
        let of = |word: &str, candidates: &[&'static str]| clearly_meant(word, candidates.iter().copied());
        assert_eq!(of("hose_c", &["hose_a", "hose_b"]), None);
        assert_eq!(of("hose_c", &["hose_a"]), None);
        assert_eq!(of("leg_3", &["leg_2"]), None);
        assert_eq!(of("bridge_1", &["bridge_12"]), None);
        assert_eq!(of("plats", &["plane", "plate"]), Some("plate"));
        assert_eq!(of("plade", &["plane", "plate"]), None);
        assert_eq!(of("freq", &["frequency"]), Some("frequency"));
        assert_eq!(of("turn", &["turn_on_loss", "turn_off_loss"]), None);
        assert_eq!(of("cabel", &["cable", "busbar", "fuse"]), Some("cable"));
    }

    #[test]
    fn very_long_words_cost_nothing() {
        let long = "x".repeat(1_000_000);
        assert_eq!(nearest(&long, ["x"].into_iter()), None);
        assert_eq!(nearest("frequency", [long.as_str(), "frequence"].into_iter()), Some("frequence"));
    }
}
