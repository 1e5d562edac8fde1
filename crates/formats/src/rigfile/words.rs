//! Words for people: near names, lists.

/// The candidate nearest to `wanted`, if it is near enough to be a slip of the hand.
pub fn nearest<'a>(wanted: &str, candidates: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = wanted.to_lowercase();
    candidates
        .map(|c| (distance(&wanted, &c.to_lowercase()), c))
        .min_by_key(|(d, _)| *d)
        .filter(|(d, c)| *d <= (wanted.chars().count().max(c.chars().count()) / 3).max(1))
        .map(|(_, c)| c)
}

/// The `count` candidates nearest to `wanted`, nearest first.
pub(crate) fn nearest_few<'a>(
    wanted: &str,
    candidates: impl Iterator<Item = &'a str>,
    count: usize,
) -> Vec<&'a str> {
    let wanted = wanted.to_lowercase();
    let mut all: Vec<_> = candidates.map(|c| (distance(&wanted, &c.to_lowercase()), c)).collect();
    all.sort_by_key(|(d, _)| *d);
    all.into_iter().take(count).map(|(_, c)| c).collect()
}

/// Edits (insert, delete, replace, swap of neighbours) between two words; long words are compared by their head.
fn distance(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().take(64).collect();
    let b: Vec<char> = b.chars().take(64).collect();
    let mut before = vec![0; b.len() + 1];
    let mut above: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let replace = above[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = replace.min(above[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut above, row);
    }
    above[b.len()]
}

/// "\"a\", \"b\" and 3 more".
pub(crate) fn quoted_list(names: &[String], most: usize) -> String {
    let shown: Vec<String> = names.iter().take(most).map(|n| format!("\"{n}\"")).collect();
    match names.len().saturating_sub(most) {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_hand_are_seen_and_other_words_are_not() {
        let names = ["target", "up", "plate", "load_floor_n"];
        assert_eq!(nearest("taregt", names.into_iter()), Some("target"));
        assert_eq!(nearest("load_flor_n", names.into_iter()), Some("load_floor_n"));
        assert_eq!(nearest("weather", names.into_iter()), None);
        assert_eq!(nearest_few("plat", names.into_iter(), 2), vec!["plate", "up"]);
    }
}
