//! The known word that a misspelt one probably meant.

/// The known word nearest to `written`, if it is near enough to be a slip of the pen: at most two
/// letters wrong, missing, extra or swapped, or a third of the letters of a long word.
///
/// Source: optimal string alignment distance; Damerau, Comm ACM 7:171-176, 1964.
pub(crate) fn nearest<'a>(
    written: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    // A word of a routine or a column is short; a longer one is no slip of the pen.
    if written.chars().count() > 60 {
        return None;
    }
    known
        .into_iter()
        .map(|word| (distance(written, word), word))
        .filter(|(slips, word)| *slips <= 2.max(word.len() / 3) && *slips < word.len())
        .min_by_key(|(slips, _)| *slips)
        .map(|(_, word)| word)
}

fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.to_lowercase().chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    let mut last_a = None;
    for (i, a_char) in a.to_lowercase().chars().enumerate() {
        let mut next = vec![i + 1];
        let mut last_b = None;
        for (j, b_char) in b.iter().copied().enumerate() {
            let at = |row: &[usize], k: usize| row.get(k).copied().unwrap_or(usize::MAX / 2);
            let mut best = (at(&row, j) + usize::from(a_char != b_char))
                .min(at(&row, j + 1) + 1)
                .min(at(&next, j) + 1);
            if last_a == Some(b_char) && last_b == Some(a_char) && j > 0 {
                best = best.min(at(&before, j - 1) + 1);
            }
            next.push(best);
            last_b = Some(b_char);
        }
        before = std::mem::replace(&mut row, next);
        last_a = Some(a_char);
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_of_the_pen_are_found_and_other_words_are_not() {
        let known = ["wrist-extension", "wrist-flexion", "sets", "side"];
        assert_eq!(nearest("wrist-extention", known), Some("wrist-extension"));
        assert_eq!(nearest("Wrist-Flexion", known), Some("wrist-flexion"));
        assert_eq!(nearest("stes", known), Some("sets"));
        assert_eq!(nearest("temperature", known), None);
        assert_eq!(nearest("", known), None);
    }

    #[test]
    fn distances_are_those_of_the_textbook() {
        for (a, b, slips) in [
            ("", "abc", 3),
            ("kitten", "sitting", 3),
            ("ab", "ba", 1),
            ("ca", "abc", 3),
        ] {
            assert_eq!(distance(a, b), slips, "{a} {b}");
        }
    }
}
